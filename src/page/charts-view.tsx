import { useMemo, useState } from 'preact/hooks'
import './charts.css'
import { api } from './api-client.js'
import type { FeatureSummary, LineSummary } from './api-types.js'
import { DerivedPlot, FeatureChart } from './chart-feature.js'
import { rangeStartMs } from './chart-range.js'
import { ChartTools, SECTIONS, type ChartView } from './chart-tools.js'
import { chartsApi } from './charts-client.js'
import { chartsText } from './charts-texts.js'
import type { TimeSpan } from './control-chart-plot.js'
import { preferredUnits } from './format.js'
import { useAnswer } from './page-state.js'
import type { ScreenProps } from './screen.js'
import { text, type Language } from './texts.js'

interface ChartsViewProps {
  readonly line: LineSummary
  readonly lines: readonly LineSummary[]
  readonly onlyFeatures: readonly string[] | undefined
  readonly language: Language
  readonly news: ScreenProps['news']
}

/** The charts of the line in the address. */
export function ChartsScreen({ language, route, lines, line, news }: ScreenProps) {
  if (line === undefined) return null
  return <ChartsView line={line} lines={lines ?? []} onlyFeatures={route.features} language={language} news={news} />
}

const FIRST_VIEW: Omit<ChartView, 'units'> = { range: 'all', section: 'all', shown: { rules: false, cusum: false, ewma: false, spread: false, sigma: false }, live: true, span: undefined }
const WEEK_MS = 7 * 24 * 3_600_000
const NONE: readonly never[] = []

/** Every charted feature of a line, section by section in the order a board travels. */
function ChartsView({ line, lines, onlyFeatures, language, news }: ChartsViewProps) {
  const [view, setView] = useState<ChartView>(() => ({ ...FIRST_VIEW, units: preferredUnits() }))
  const points = view.live ? news.point : 0
  const { answer: features, failure } = useAnswer(() => api.features(line.line, language), [line.line, language, points, news.baseline])
  const { answer: shifts = NONE } = useAnswer(() => chartsApi.shifts(line.line, language), [line.line])
  const { answer: marks = NONE } = useAnswer(() => chartsApi.marks(line.line, language), [line.line, language, news.fact])
  const say = (key: string): string => text(language, key)
  const chosen = (features ?? []).filter((feature) => (onlyFeatures === undefined || onlyFeatures.includes(feature.feature)) && (view.section === 'all' || feature.section === view.section))
  const nowMs = Math.floor(Date.parse(line.dataTime ?? new Date().toISOString()) / 60_000) * 60_000
  const starts = useMemo(() => new Map<string, number | undefined>(SECTIONS.map((section) => [section, rangeStartMs(view.range, { nowMs, timeZone: line.timeZone, shifts, marks, section })])), [view.range, nowMs, shifts, marks])
  const change = (next: Partial<ChartView>): void => setView((before) => ({ ...before, ...next }))
  const move = (step: (span: TimeSpan) => TimeSpan): void => change({ span: step(view.span ?? [(starts.get('preheat') ?? nowMs - WEEK_MS) / 1000, nowMs / 1000]) })
  return (
    <section aria-labelledby="charts-title">
      <h2 id="charts-title">
        {say('charts.title')}: {line.title}
      </h2>
      <ChartTools line={line} lines={lines} isPart={onlyFeatures !== undefined} view={view} language={language} onChange={change} onMove={move} />
      <p class="soft">
        {say('charts.times-in')} {line.timeZone}
        {line.simulated && ` · ${say('page.simulated')}`}
        <span class="no-print"> · {chartsText(language, 'zoom.help')}</span>
      </p>
      {failure !== undefined && <p class="act">{failure}</p>}
      {features !== undefined && chosen.length === 0 && <p class="empty">{say('charts.none')}</p>}
      <Sections line={line} features={chosen} marks={marks} starts={starts} nowMs={nowMs} view={view} isPart={onlyFeatures !== undefined} language={language} news={news} onSpan={(span) => change({ span })} />
    </section>
  )
}

interface SectionsProps {
  readonly line: LineSummary
  readonly features: readonly FeatureSummary[]
  readonly marks: Parameters<typeof FeatureChart>[0]['marks']
  /** Begin of the range by section, ms UTC. */
  readonly starts: ReadonlyMap<string, number | undefined>
  readonly nowMs: number
  readonly view: ChartView
  readonly isPart: boolean
  readonly language: Language
  readonly news: ScreenProps['news']
  readonly onSpan: (span: TimeSpan | undefined) => void
}

function Sections({ line, features, marks, starts, nowMs, view, isPart, language, news, onSpan }: SectionsProps) {
  const { live, range, shown, units } = view
  const points = live ? news.point : 0
  const { answer: states = NONE } = useAnswer(() => chartsApi.states(line.line), [line.line, live ? news.state : 0])
  const { answer: signals = NONE } = useAnswer(() => chartsApi.signals(line.line), [line.line, live ? news.signal : 0])
  // The same stretch stays the same object: plots then have nothing to move.
  const spans = useMemo(() => new Map(SECTIONS.map((section) => [section as string, spanOf(view.span, starts.get(section), nowMs)])), [view.span, starts, nowMs])
  const { answer: insights = NONE } = useAnswer(() => chartsApi.insights(line.line), [line.line, news.insight])
  return (
    <>
      {SECTIONS.filter((section) => features.some((feature) => feature.section === section)).map((section) => {
        const start = starts.get(section)
        const from = start === undefined ? undefined : new Date(start).toISOString()
        const span = spans.get(section)
        const note = range === 'cleaning' && start === undefined ? chartsText(language, 'range.no-cleaning') : undefined
        return (
          <section key={section}>
            <h3>{text(language, `section.${section}`)}</h3>
            {!isPart && (section === 'preheat' || section === 'line') && <Together line={line} of={section === 'preheat' ? 'zones' : 'defects'} from={from} span={span} onSpan={onSpan} language={language} news={points} />}
            <div class="charts">
              {features
                .filter((feature) => feature.section === section)
                .map((feature) => (
                  <FeatureChart key={`${line.line} ${feature.feature}`} line={line} feature={feature} states={states} marks={marks} signals={signals} insights={insights} from={from} note={note} span={span} onSpan={onSpan} isZoomed={view.span !== undefined} shown={shown} units={units} language={language} news={points} />
                ))}
            </div>
          </section>
        )
      })}
    </>
  )
}

function spanOf(zoomed: TimeSpan | undefined, startMs: number | undefined, nowMs: number): TimeSpan | undefined {
  return zoomed ?? (startMs === undefined ? undefined : [startMs / 1000, nowMs / 1000])
}

interface TogetherProps {
  readonly line: LineSummary
  readonly of: 'zones' | 'defects'
  readonly from: string | undefined
  readonly span: TimeSpan | undefined
  readonly onSpan: (span: TimeSpan | undefined) => void
  readonly language: Language
  readonly news: number
}

/** Several features on one chart, on request. */
function Together({ line, of, from, span, onSpan, language, news }: TogetherProps) {
  const [open, setOpen] = useState(false)
  const { answer } = useAnswer(async () => (open ? chartsApi.together(line.line, of, from) : undefined), [open, line.line, of, from, news])
  return (
    <details class="together" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{chartsText(language, `together.${of}`)}</summary>
      {answer?.kind === 'together' && (
        <>
          <p class="soft">{chartsText(language, 'together.help', { n: answer.baselineCount })}</p>
          <DerivedPlot points={answer.points} label={chartsText(language, 'chart.together')} shown={{ unit: 'T²', factor: 1, offset: 0 }} timeZone={line.timeZone} language={language} syncKey={line.line} span={span} onSpan={onSpan} />
        </>
      )}
      {answer?.kind === 'too-few-values' && <p class="soft">{chartsText(language, 'together.too-few-values', { n: answer.valueCount, target: answer.valueCountMin })}</p>}
      {(answer?.kind === 'no-variation' || answer?.kind === 'dependent') && <p class="soft">{chartsText(language, `together.${answer.kind}`)}</p>}
    </details>
  )
}
