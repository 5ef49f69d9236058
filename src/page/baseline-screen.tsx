import { useState } from 'preact/hooks'
import { api } from './api-client.js'
import { BaselineCard } from './baseline-card.js'
import { baselineText } from './baseline-texts.js'
import './charts.css'
import { chartsApi, type BaselineView, type BudgetView, type InsightView } from './charts-client.js'
import { roundText, preferredUnits, timeText } from './format.js'
import { hashOf, useAnswer } from './page-state.js'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'

const GROUPS = ['asking', 'refused', 'learning', 'accepted'] as const
type Group = (typeof GROUPS)[number]

function groupOf({ status }: BaselineView): Group {
  return status === 'provisional' ? 'asking' : status === 'refused' || status === 'accepted' ? status : 'learning'
}

/** What every chart takes for normal: proposals first, then what was refused and why, then the rest. */
export function BaselinesScreen({ language, line, news }: ScreenProps) {
  const [decided, setDecided] = useState(0)
  const { answer, failure } = useAnswer(() => (line === undefined ? Promise.resolve(undefined) : chartsApi.baselines(line.line, language)), [line?.line, language, news.baseline, news.fact, decided])
  const { answer: insights } = useAnswer(() => (line === undefined ? Promise.resolve([]) : chartsApi.insights(line.line)), [line?.line, news.insight])
  if (line === undefined) return null
  const units = preferredUnits()
  return (
    <section aria-labelledby="baselines-title">
      <h2 id="baselines-title">
        {baselineText(language, 'title')}: {line.title}
      </h2>
      <p>
        {baselineText(language, 'intro')} <a href={hashOf({ view: 'charts', line: line.line })}>{baselineText(language, 'to-charts')}</a>
      </p>
      {failure !== undefined && <p class="act">{failure}</p>}
      {answer !== undefined && answer.baselines.length === 0 && <p class="empty">{baselineText(language, 'none')}</p>}
      {answer !== undefined && answer.baselines.length > 0 && (
        <p>
          <strong>{baselineText(language, 'cost.line', { n: roundText(answer.falsePerWeek, language) })}</strong>{' '}
          {baselineText(language, 'cost.textbook', { three: roundText(answer.textbook.threeSigma, language), four: roundText(answer.textbook.fourRules, language) })}
        </p>
      )}
      <BudgetWords insights={insights ?? []} language={language} timeZone={line.timeZone} />
      {GROUPS.map((group) => {
        const members = (answer?.baselines ?? []).filter((baseline) => groupOf(baseline) === group)
        if (members.length === 0) return null
        const list = members.map((baseline) => <BaselineCard key={`${baseline.feature} ${baseline.recipe}`} line={line} baseline={baseline} units={units} language={language} onDecided={() => setDecided(decided + 1)} />)
        return (
          <section key={group} aria-label={baselineText(language, `group.${group}`)}>
            <h3>
              {baselineText(language, `group.${group}`)} <span class="soft">({members.length})</span>
            </h3>
            {['fluxer', 'preheat', 'transport', 'pot', 'line'].map((section) => {
              const here = list.filter((_, index) => members[index]?.section === section)
              return here.length === 0 ? null : (
                <div key={section}>
                  <h4>{text(language, `section.${section}`)}</h4>
                  {group === 'asking' && <AcceptAll line={line.line} baselines={members.filter((member) => member.section === section && !member.signal)} language={language} onDecided={() => setDecided(decided + 1)} />}
                  <div class="charts">{here}</div>
                </div>
              )
            })}
          </section>
        )
      })}
    </section>
  )
}

interface AcceptAllProps {
  readonly line: string
  readonly baselines: readonly BaselineView[]
  readonly language: Language
  readonly onDecided: () => void
}

/** All proposals of a section in one go, those under a signal left out; each decision stands in the journal. */
function AcceptAll({ line, baselines, language, onDecided }: AcceptAllProps) {
  const [by, setBy] = useState('')
  const [outcome, setOutcome] = useState('')
  if (baselines.length < 2) return null
  const accept = async (): Promise<void> => {
    let refused = ''
    for (const { feature, recipe } of baselines) {
      await api.decideBaseline(line, { feature, recipe, decision: 'accept', ...(by.trim() === '' ? {} : { by: by.trim() }) }).catch((error: unknown) => {
        refused = error instanceof Error ? error.message : String(error)
      })
    }
    setOutcome(refused === '' ? baselineText(language, 'said') : `${baselineText(language, 'failed')}: ${refused}`)
    onDecided()
  }
  return (
    <details class="no-print">
      <summary>{baselineText(language, 'accept-all', { n: baselines.length })}</summary>
      <div class="baseline-form">
        <label>
          {baselineText(language, 'by')} <input type="text" maxLength={80} value={by} onInput={(event) => setBy(event.currentTarget.value)} />
        </label>
        <button type="button" class="main" onClick={() => void accept()}>
          {baselineText(language, 'accept')}
        </button>
        <span role="status" class="soft">
          {outcome}
        </span>
      </div>
    </details>
  )
}

/** Signals and suggestions that were to be expected by chance beside those that came. */
function BudgetWords({ insights, language, timeZone }: { readonly insights: readonly InsightView[]; readonly language: Language; readonly timeZone: string }) {
  const audits = insights.filter((insight): insight is BudgetView => insight.type === 'budget').sort((a, b) => a.time.localeCompare(b.time))
  const newest = audits.at(-1)
  if (newest === undefined) return null
  const number = (value: number): string => roundText(value, language)
  const { total } = newest
  const verdict = (['kept', 'over', 'under', 'undecided', 'no-time-observed'] as const).find((known) => known === total.verdict) ?? 'undecided'
  return (
    <details open={verdict === 'over'}>
      <summary>
        {baselineText(language, 'budget.title')}: {baselineText(language, `budget.${verdict}`, { weeks: number(total.weeks), n: total.unexplained, expected: number(total.expectedSignals) })}
      </summary>
      {[...audits].reverse().map((audit) => (
        <p key={`${audit.from} ${audit.complete}`}>
          {baselineText(language, 'budget.week', {
            from: timeText(audit.from, language, timeZone),
            to: timeText(audit.time, language, timeZone),
            hours: Math.round(audit.productionHours),
            signals: audit.signals,
            expected: number(audit.expectedSignals),
            suggestions: audit.suggestions,
            expectedSuggestions: number(audit.expectedSuggestions),
            unexplained: audit.unexplained,
          })}
        </p>
      ))}
    </details>
  )
}
