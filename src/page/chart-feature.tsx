import { useMemo, useRef, useState } from 'preact/hooks'
import { api } from './api-client.js'
import type { FeatureSummary, LineSummary, PointView, SignalView, StateView, TimeMarkView } from './api-types.js'
import { baselineWords } from './baseline-words.js'
import { CapabilitySection } from './chart-capability.js'
import { savePicture } from './chart-export.js'
import { POINTS_SHOWN, useChartPoints, useNear } from './chart-hooks.js'
import { lanesOf } from './chart-lanes.js'
import { ChartMarkList } from './chart-mark-list.js'
import { PointPanel } from './chart-point-panel.js'
import { InsightWords, RuleWords, SignalWords } from './chart-words.js'
import { chartsApi, type DerivedPointView, type InsightView } from './charts-client.js'
import { chartsText } from './charts-texts.js'
import { ControlChartPlot, type TimeSpan } from './control-chart-plot.js'
import { shownUnit, unitKind, type ShownUnit, type UnitChoice } from './format.js'
import { useAnswer } from './page-state.js'
import { text, type Language } from './texts.js'

/** What the reader wants to see on every chart. */
export interface Shown {
  readonly rules: boolean
  readonly cusum: boolean
  readonly ewma: boolean
  readonly spread: boolean
  readonly sigma: boolean
}

export interface FeatureChartProps {
  readonly line: LineSummary
  readonly feature: FeatureSummary
  readonly states: readonly StateView[]
  readonly marks: readonly TimeMarkView[]
  /** Of all features. */
  readonly signals: readonly SignalView[]
  readonly insights: readonly InsightView[]
  /** Begin of what is shown, ISO; everything without it. */
  readonly from: string | undefined
  readonly note: string | undefined
  readonly span: TimeSpan | undefined
  readonly onSpan: (span: TimeSpan | undefined) => void
  readonly isZoomed: boolean
  readonly shown: Shown
  readonly units: UnitChoice
  readonly language: Language
  /** Changes when there are new points. */
  readonly news: number
}

const IN_SIGMAS: ShownUnit = { unit: 'σ', factor: 1, offset: 0 }
const NOTHING: readonly never[] = []

/** One feature: its words, its charts under one time axis, what stands behind a point, and what an engineer decides. */
export function FeatureChart(props: FeatureChartProps) {
  const { line, feature, language } = props
  const card = useRef<HTMLDivElement>(null)
  const near = useNear(card)
  const unit = shownUnit(feature.unit, props.units, feature.difference, language)
  const { reason } = feature.baseline
  const kind = unitKind(feature.unit)
  return (
    <div class="card feature" data-feature={feature.feature} ref={card}>
      <h4>{feature.title}</h4>
      <p class="soft">
        {text(language, 'charts.points-rest')}: {baselineWords(language, feature.baseline)}
        {reason !== undefined && ` (${text(language, reason)})`}
        {feature.hand === true && ` · ${chartsText(language, 'hand.squares')}`}
        {kind !== undefined && ` · ${chartsText(language, `unit.${kind}`)}`}
      </p>
      <InsightWords insights={props.insights} feature={feature.feature} shown={unit} language={language} line={line} />
      {props.note !== undefined && <p class="soft">{props.note}</p>}
      {near ? <FeaturePlots {...props} unit={unit} /> : <div class="plot-waiting" />}
      <p class="actions">
        <button type="button" onClick={() => card.current !== null && savePicture(card.current, `${line.title}: ${feature.title}`, `${line.line} ${feature.feature}.png`)}>
          {chartsText(language, 'export.png')}
        </button>
        <a class="button" href={chartsApi.csvOf(line.line, feature.feature, props.from)} download={`${line.line} ${feature.feature}.csv`}>
          {chartsText(language, 'export.csv')}
        </a>
        <BaselineDecision line={line} feature={feature} language={language} />
      </p>
      <CapabilitySection line={line} feature={feature} shown={unit} language={language} />
    </div>
  )
}

function FeaturePlots(props: FeatureChartProps & { readonly unit: ShownUnit }) {
  const { line, feature, states, marks, from, span, onSpan, isZoomed, shown, units, unit, language, news } = props
  const [opened, setOpened] = useState<PointView | undefined>(undefined)
  const kinds = feature.charts.filter((kind) => !kind.startsWith('cusum'))
  const sums = shown.cusum ? feature.charts.filter((kind) => kind.startsWith('cusum')) : NOTHING
  const points = useChartPoints(line.line, feature.feature, [...kinds, ...sums], from, [news])
  const signals = useMemo(() => props.signals.filter((signal) => signal.feature === feature.feature), [props.signals])
  const { answer: hits = NOTHING } = useAnswer(async () => (shown.rules || opened !== undefined ? chartsApi.ruleHits(line.line, feature.feature, from) : NOTHING), [line.line, feature.feature, from, news, shown.rules, opened])
  const { answer: ends = NOTHING } = useAnswer(async () => (shown.rules ? chartsApi.ruleEnds(line.line, feature.feature, from) : NOTHING), [line.line, feature.feature, from, news, shown.rules])
  const { answer: ewma = NOTHING } = useAnswer(async () => (shown.ewma ? chartsApi.derived(line.line, feature.feature, 'ewma', from) : NOTHING), [line.line, feature.feature, from, news, shown.ewma])
  const { answer: spread = NOTHING } = useAnswer(async () => (shown.spread ? chartsApi.derived(line.line, feature.feature, 'spread', from) : NOTHING), [line.line, feature.feature, from, news, shown.spread])
  const [main, ...earlier] = points === undefined ? [] : newestFirst(kinds, points)
  const newest = points === undefined ? undefined : kinds.map((kind) => points.get(kind) ?? NOTHING)
  const lanes = useMemo(
    () => (points === undefined || main === undefined ? undefined : lanesOf({ points: points.get(main) ?? NOTHING, states, marks, section: feature.section, zone: feature.zone, language, units })),
    [points, states, marks, language, units],
  )
  const extent = useMemo(() => (newest === undefined ? undefined : extentOf(newest)), [points])
  // The same lists as long as nothing is new: a plot then has nothing to draw.
  const signalsOf = useMemo(() => new Map([...kinds, ...sums].map((kind) => [kind, signals.filter((signal) => signal.chart === kind || kind === main)])), [signals, main, shown.cusum])
  const hitsOf = useMemo(() => new Map(kinds.map((kind) => [kind, shown.rules ? hits.filter((hit) => hit.chart === kind) : NOTHING])), [hits, shown.rules])
  if (points === undefined || newest === undefined) return <div class="plot-waiting" />
  if (newest.every((list) => list.length === 0)) return <p class="empty">{text(language, 'charts.no-points')}</p>
  // One time axis for all charts of the feature, also where a chart has only part of the time.
  const common = { timeZone: line.timeZone, language, syncKey: line.line, span: span ?? extent, onSpan, isZoomed }
  const plotOf = (kind: string) => (
    <ControlChartPlot
      key={kind}
      {...common}
      points={points.get(kind) ?? NOTHING}
      signals={signalsOf.get(kind) ?? NOTHING}
      ruleHits={hitsOf.get(kind) ?? NOTHING}
      {...(lanes === undefined || kind !== main ? {} : { lanes })}
      shown={unit}
      label={text(language, `chart.${kind}`)}
      height={220}
      onPoint={setOpened}
      sigmaBands={shown.sigma}
      squares={feature.hand === true}
    />
  )
  return (
    <>
      <SignalWords signals={signals} language={language} line={line} />
      {main !== undefined && plotOf(main)}
      {lanes !== undefined && <ChartMarkList marks={lanes.marks} span={common.span} timeZone={line.timeZone} language={language} onSpan={onSpan} />}
      {newest.some((list) => list.length === POINTS_SHOWN) && <p class="soft">{chartsText(language, 'range.newest-only', { n: POINTS_SHOWN })}</p>}
      {sums.map((kind) => (
        <ControlChartPlot key={kind} {...common} points={points.get(kind) ?? NOTHING} signals={signalsOf.get(kind) ?? NOTHING} ruleHits={NOTHING} shown={IN_SIGMAS} label={text(language, `chart.${kind}`)} height={150} />
      ))}
      {shown.ewma && <DerivedPlot {...common} points={ewma} label={chartsText(language, 'chart.ewma')} shown={IN_SIGMAS} />}
      {shown.spread && <DerivedPlot {...common} points={spread} label={chartsText(language, 'chart.spread')} shown={{ ...IN_SIGMAS, unit: 'ln' }} />}
      {earlier.length > 0 && (
        <details>
          <summary>{chartsText(language, 'chart.earlier')}</summary>
          {earlier.map(plotOf)}
        </details>
      )}
      {opened !== undefined && <PointPanel point={opened} feature={feature} line={line} shown={unit} hits={hits} language={language} onClose={() => setOpened(undefined)} />}
      {shown.rules && <RuleWords hits={hits} ends={ends} language={language} line={line} />}
    </>
  )
}

/** A feature changes its chart when its values prove to follow each other: the one with the newest points comes first. */
function newestFirst(kinds: readonly string[], points: ReadonlyMap<string, readonly PointView[]>): readonly string[] {
  const lastOf = (kind: string): string => points.get(kind)?.at(-1)?.time ?? ''
  return kinds.filter((kind) => lastOf(kind) !== '').sort((a, b) => lastOf(b).localeCompare(lastOf(a)))
}

/** First to last time of several charts, s. */
function extentOf(lists: readonly (readonly PointView[])[]): TimeSpan | undefined {
  const ends = lists.flatMap((list) => [list[0], list.at(-1)]).flatMap((point) => (point === undefined ? [] : [Date.parse(point.time) / 1000]))
  return ends.length === 0 ? undefined : [Math.min(...ends), Math.max(...ends)]
}

interface DerivedPlotProps {
  readonly points: readonly DerivedPointView[]
  readonly label: string
  readonly shown: ShownUnit
  readonly timeZone: string
  readonly language: Language
  readonly syncKey: string
  readonly span: TimeSpan | undefined
  readonly onSpan: (span: TimeSpan | undefined) => void
}

/** A chart made from the points in the history, under the same time axis. */
export function DerivedPlot({ points, ...rest }: DerivedPlotProps) {
  const views = useMemo(() => points.map((point): PointView => ({ ...point, feature: '', chart: 'derived', value: point.statistic, sigma: 0, recipe: '', state: 'production', baseline: 'provisional' })), [points])
  const none: readonly SignalView[] = NOTHING
  return <ControlChartPlot {...rest} points={views} signals={none} ruleHits={NOTHING} height={150} />
}

/** Accept or learn again, where a proposal stands. */
function BaselineDecision({ line, feature, language }: { readonly line: LineSummary; readonly feature: FeatureSummary; readonly language: Language }) {
  const [refusal, setRefusal] = useState('')
  if (feature.baseline.status !== 'provisional') return null
  const decide = (decision: 'accept' | 'refit'): void => {
    api.decideBaseline(line.line, { feature: feature.feature, decision }).then(
      () => setRefusal(''),
      (error: unknown) => setRefusal(error instanceof Error ? error.message : String(error)),
    )
  }
  return (
    <>
      <button type="button" onClick={() => decide('accept')}>
        {text(language, 'baseline.accept')}
      </button>
      <button type="button" onClick={() => decide('refit')}>
        {text(language, 'baseline.refit')}
      </button>
      {refusal !== '' && (
        <span class="act" role="alert">
          {text(language, 'reply.failed')}: {refusal}
        </span>
      )}
    </>
  )
}
