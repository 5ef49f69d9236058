import { useState } from 'preact/hooks'
import { api } from './api-client.js'
import type { FeatureSummary, LineSummary, StateView } from './api-types.js'
import { ControlChartPlot } from './control-chart-plot.js'
import { hashOf, useAnswer, usePoints } from './page-state.js'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'

/** Points a plot shows at most: a shift and more of ten-minute windows, weeks of hourly ones. */
const POINTS_SHOWN = 1500
const SECTIONS = ['fluxer', 'preheat', 'transport', 'pot', 'line'] as const

interface ChartsViewProps {
  readonly line: LineSummary
  readonly lines: readonly LineSummary[]
  readonly onlyFeatures: readonly string[] | undefined
  readonly language: Language
  /** Changes when there are new points, signals or baselines. */
  readonly news: number
}

/** The charts of the line in the address. */
export function ChartsScreen({ language, route, lines, line, news }: ScreenProps) {
  if (line === undefined) return null
  return <ChartsView line={line} lines={lines ?? []} onlyFeatures={route.features} language={language} news={news.point + news.signal + news.baseline} />
}

/** Every charted feature of a line, section by section in the order a board travels. */
function ChartsView({ line, lines, onlyFeatures, language, news }: ChartsViewProps) {
  const [showRules, setShowRules] = useState(false)
  const [showSums, setShowSums] = useState(false)
  const { answer: features, failure } = useAnswer(() => api.features(line.line, language), [line.line, language, news])
  const { answer: states } = useAnswer(() => api.states(line.line), [line.line, news])
  const say = (key: string): string => text(language, key)
  const shown = (features ?? []).filter((feature) => onlyFeatures === undefined || onlyFeatures.includes(feature.feature))
  return (
    <section aria-labelledby="charts-title">
      <h2 id="charts-title">
        {say('charts.title')}: {line.title}
      </h2>
      <p class="actions">
        {lines.length > 1 &&
          lines.map((other) => (
            <a key={other.line} class={other.line === line.line ? 'button chosen' : 'button'} href={hashOf({ view: 'charts', line: other.line })}>
              {other.title}
            </a>
          ))}
        {onlyFeatures !== undefined && (
          <a class="button" href={hashOf({ view: 'charts', line: line.line })}>
            {say('charts.all')}
          </a>
        )}
        <label class="choice">
          <input type="checkbox" checked={showRules} onChange={(event) => setShowRules(event.currentTarget.checked)} /> {say('charts.show-rules')}
        </label>
        <label class="choice">
          <input type="checkbox" checked={showSums} onChange={(event) => setShowSums(event.currentTarget.checked)} /> {say('charts.show-cusum')}
        </label>
      </p>
      <p class="soft">
        {say('charts.times-in')} {line.timeZone}
        {line.simulated && ` · ${say('page.simulated')}`}
      </p>
      {failure !== undefined && <p class="act">{failure}</p>}
      {features !== undefined && shown.length === 0 && <p class="empty">{say('charts.none')}</p>}
      {SECTIONS.filter((section) => shown.some((feature) => feature.section === section)).map((section) => (
        <section key={section}>
          <h3>{say(`section.${section}`)}</h3>
          <div class="charts">
            {shown
              .filter((feature) => feature.section === section)
              .map((feature) => (
                <FeatureChart key={`${line.line} ${feature.feature}`} line={line} feature={feature} states={states ?? []} showRules={showRules} showSums={showSums} language={language} news={news} />
              ))}
          </div>
        </section>
      ))}
    </section>
  )
}

interface FeatureChartProps {
  readonly line: LineSummary
  readonly feature: FeatureSummary
  readonly states: readonly StateView[]
  readonly showRules: boolean
  readonly showSums: boolean
  readonly language: Language
  readonly news: number
}

function FeatureChart({ line, feature, states, showRules, showSums, language, news }: FeatureChartProps) {
  const when = [line.line, feature.feature, news]
  const [refusal, setRefusal] = useState('')
  const decide = (decision: 'accept' | 'refit'): void => {
    api.decideBaseline(line.line, { feature: feature.feature, decision }).then(
      () => setRefusal(''),
      (error: unknown) => setRefusal(error instanceof Error ? error.message : String(error)),
    )
  }
  const { points } = usePoints(line.line, feature.feature, 3 * POINTS_SHOWN, news)
  const { answer: signals } = useAnswer(() => api.signals(line.line, feature.feature), when)
  const { answer: hits } = useAnswer(async () => (showRules ? api.ruleHits(line.line, feature.feature) : []), [...when, showRules])
  const { status, n, target, reason } = feature.baseline
  const rests = text(language, `baseline.${status}`, { n: Math.floor(n), target })
  const kinds = [...new Set((points ?? []).map((point) => point.chart))]
  const sums = kinds.filter((kind) => kind.startsWith('cusum'))
  const main = kinds.filter((kind) => !kind.startsWith('cusum'))
  return (
    <div class="card feature" data-feature={feature.feature}>
      <h4>{feature.title}</h4>
      <p class="soft">
        {text(language, 'charts.points-rest')}: {rests}
        {reason !== undefined && ` (${text(language, reason)})`}
      </p>
      {points !== undefined && points.length === 0 && <p class="empty">{text(language, 'charts.no-points')}</p>}
      {[...main, ...(showSums ? sums : [])].map((kind) => (
        <ControlChartPlot
          key={kind}
          points={(points ?? []).filter((point) => point.chart === kind).slice(-POINTS_SHOWN)}
          signals={(signals ?? []).filter((signal) => signal.chart === kind || kind === main[0])}
          ruleHits={(hits ?? []).filter((hit) => hit.chart === kind)}
          states={states}
          unit={kind.startsWith('cusum') ? 'σ' : feature.unit}
          timeZone={line.timeZone}
          language={language}
          label={text(language, `chart.${kind}`)}
          height={kind.startsWith('cusum') ? 150 : 220}
          syncKey={line.line}
        />
      ))}
      {status === 'provisional' && (
        <p class="actions">
          <button type="button" onClick={() => decide('accept')}>
            {text(language, 'baseline.accept')}
          </button>
          <button type="button" onClick={() => decide('refit')}>
            {text(language, 'baseline.refit')}
          </button>
        </p>
      )}
      {refusal !== '' && (
        <p class="act" role="alert">
          {text(language, 'reply.failed')}: {refusal}
        </p>
      )}
    </div>
  )
}
