import type { ComponentChildren } from 'preact'
import { useMemo } from 'preact/hooks'
import type { PointView } from './api-types.js'
import { ControlChartPlot } from './control-chart-plot.js'
import { timeText } from './format.js'
import { historyApi, type FindingChart, type HistoryFindings, type HistoryState } from './own-history-client.js'
import { historyText } from './own-history-texts.js'
import { useAnswer } from './page-state.js'
import { Strokes } from './suggestion-card.js'
import type { Language } from './texts.js'

interface ReportProps {
  readonly state: HistoryState
  readonly language: Language
  readonly back: ComponentChildren
}

/** What a history would have told: findings with their charts beside the textbook's count, and as large what nothing in it can see. */
export function HistoryReport({ state, language, back }: ReportProps) {
  const { answer: findings, failure } = useAnswer(() => historyApi.findings(state.id, language), [state.id, language])
  if (failure !== undefined) return <p class="act">{failure}</p>
  if (findings === undefined) return <p role="status">…</p>
  const say = (key: Parameters<typeof historyText>[1], values?: Readonly<Record<string, string | number>>): string => historyText(language, key, values)
  const number = (value: number): string => new Intl.NumberFormat(language).format(value)
  const production = findings.stateHours['production'] ?? 0
  return (
    <section aria-labelledby="history-title">
      <h2 id="history-title">
        {say('title')}: {state.fileName}
      </h2>
      <p class="soft">
        {findings.from !== undefined && `${say('from')} ${timeText(findings.from, language, findings.timeZone)} ${say('to')} ${timeText(findings.to, language, findings.timeZone)} (${findings.timeZone}) · `}
        {say('taken', { taken: number(findings.readings.taken), read: number(findings.readings.read) })} · {number(Math.round(production))} {say('hours')}
      </p>
      <p class="big">
        {say('textbook-says', { n: number(findings.textbook.episodes), share: Math.round(findings.textbook.share * 100) })}{' '}
        <strong>{findings.found.length === 0 ? say('we-say-none') : findings.found.length === 1 ? say('we-say-one') : say('we-say', { n: findings.found.length })}</strong>
      </p>
      <p class="soft measure">{findings.baselinesLearned === 0 ? say('not-learned') : say('learned', { n: findings.baselinesLearned, all: findings.baselines })}</p>
      <p class="actions no-print">
        <button type="button" onClick={() => print()}>
          {say('print')}
        </button>
        {back}
      </p>
      {findings.found.length === 0 && <p class="empty">{say('found-none')}</p>}
      {findings.found.map((finding) => (
        <Finding key={finding.suggestion.id} finding={finding} timeZone={findings.timeZone} language={language} />
      ))}
      <Unseen findings={findings} language={language} />
      <Notes findings={findings} language={language} />
    </section>
  )
}

function Finding({ finding, timeZone, language }: { readonly finding: HistoryFindings['found'][number]; readonly timeZone: string; readonly language: Language }) {
  const { suggestion, charts } = finding
  return (
    <article class="card suggestion" data-section={suggestion.section}>
      <h3>{suggestion.headline}</h3>
      <p class="soft">
        {historyText(language, 'began')} {timeText(suggestion.onset, language, timeZone)} · {historyText(language, 'said')} {timeText(suggestion.raised, language, timeZone)}
      </p>
      <ul>
        {suggestion.reasons.map((reason) => (
          <li key={reason}>{reason}</li>
        ))}
      </ul>
      <h4>{historyText(language, 'could-be')}</h4>
      <ul class="causes">
        {suggestion.causes
          .filter(({ probability }) => probability >= 0.05)
          .slice(0, 4)
          .map((cause) => (
            <li key={cause.cause}>
              <Strokes share={cause.probability} /> {cause.title}, {cause.words}
            </li>
          ))}
      </ul>
      <p>
        <strong>{historyText(language, 'check-first')}:</strong> {suggestion.checkFirst.title} ({suggestion.checkFirst.minutes} {historyText(language, 'minutes')})
      </p>
      {charts.map((chart) => (
        <FindingPlot key={chart.feature} chart={chart} onset={suggestion.onset} raised={suggestion.raised} timeZone={timeZone} language={language} />
      ))}
    </article>
  )
}

interface FindingPlotProps {
  readonly chart: FindingChart
  readonly onset: string
  readonly raised: string
  readonly timeZone: string
  readonly language: Language
}

function FindingPlot({ chart, onset, raised, timeZone, language }: FindingPlotProps) {
  const { feature, chart: kind, recipe } = chart
  const points = useMemo<readonly PointView[]>(() => chart.points.map((point) => ({ ...point, feature, chart: kind, recipe, state: 'production', statistic: point.value, sigma: 0, n: 1 })), [chart])
  const signals = useMemo(() => [{ time: raised, feature, chart: kind, phase: 'start' as const, side: 'above', onset, shiftSigma: 0, recipe, state: 'production' }], [chart, onset, raised])
  return <ControlChartPlot points={points} signals={signals} ruleHits={[]} shown={{ unit: chart.unit, factor: 1, offset: 0 }} timeZone={timeZone} language={language} label={chart.title} height={220} syncKey={`history ${feature}`} />
}

function Unseen({ findings, language }: { readonly findings: HistoryFindings; readonly language: Language }) {
  if (findings.unseen.causes.length === 0) return null
  return (
    <section class="card unseen">
      <h3>{historyText(language, 'unseen')}</h3>
      <p>{findings.unseen.text}</p>
      <p>{historyText(language, 'unseen-note')}</p>
      <ul>
        {findings.unseen.causes.map(({ cause, title, checks }) => (
          <li key={cause}>
            {title}: {checks.map(({ title: check, minutes }) => `${check} (${minutes} ${historyText(language, 'minutes')})`).join(' · ')}
          </li>
        ))}
      </ul>
    </section>
  )
}

function Notes({ findings, language }: { readonly findings: HistoryFindings; readonly language: Language }) {
  const rejected = Object.entries(findings.readings.rejectedByReason)
  return (
    <details>
      <summary>{historyText(language, 'by-channel')}</summary>
      <p class="soft">{historyText(language, 'textbook-note')}</p>
      <ul>
        {findings.textbook.byChannel.map(({ channel, episodes }) => (
          <li key={channel}>
            {channel}: {episodes}
          </li>
        ))}
      </ul>
      {rejected.length > 0 && (
        <p class="soft">
          {historyText(language, 'rejected')}: {rejected.map(([reason, count]) => `${reason} ${count}`).join(', ')}
        </p>
      )}
      {findings.ignoredColumns.length > 0 && (
        <p class="soft">
          {historyText(language, 'ignored')}: {findings.ignoredColumns.join(', ')}
        </p>
      )}
      <p class="soft">{historyText(language, 'advice')}</p>
    </details>
  )
}
