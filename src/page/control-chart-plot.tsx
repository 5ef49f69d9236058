import { useEffect, useRef, useState } from 'preact/hooks'
import uPlot from 'uplot'
import type { PointView, RuleHitView, SignalView } from './api-types.js'
import { chartColumns, nearestPoint, verticalRange, type ChartColumns } from './chart-data.js'
import type { Lanes } from './chart-lanes.js'
import { AXIS_HEIGHT, drawMarks, LANE_HEIGHT, type Ink } from './chart-marks.js'
import { chartsText } from './charts-texts.js'
import { drawInTurn, forgetTurn } from './draw-turns.js'
import { dayText, hourText, numberText, timeText, type ShownUnit } from './format.js'
import { text, type Language } from './texts.js'

/** Stretch of time shown, s. */
export type TimeSpan = readonly [number, number]

export interface ControlChartPlotProps {
  readonly points: readonly PointView[]
  readonly signals: readonly SignalView[]
  readonly ruleHits: readonly RuleHitView[]
  /** Lanes under the time axis; without them the chart is shorter. */
  readonly lanes?: Lanes
  /** Unit the values are shown in. */
  readonly shown: ShownUnit
  readonly timeZone: string
  readonly language: Language
  readonly label: string
  /** Of the chart without its lanes, CSS pixels. */
  readonly height: number
  /** Plots with the same key point together. */
  readonly syncKey: string
  /** What is shown, where several charts share it; a chart without `onSpan` keeps its own. */
  readonly span?: TimeSpan | undefined
  readonly onSpan?: (span: TimeSpan | undefined) => void
  /** The span is one the reader chose: it is shown at once, where news wait for their turn. */
  readonly isZoomed?: boolean
  readonly onPoint?: (point: PointView) => void
  readonly sigmaBands?: boolean
  /** Values measured by hand are squares. */
  readonly squares?: boolean
}

/** Colours come from the style sheet, so that light, dark and paper hold here too. */
export function inkOf(element: Element): Ink {
  const style = getComputedStyle(element)
  const read = (name: string): string => style.getPropertyValue(name).trim()
  return { ink: read('--ink'), soft: read('--soft-ink'), rule: read('--line'), blue: read('--blue-ink'), act: read('--act'), card: read('--card') }
}

type Ref<T> = { current: T }

type PlotProps = ControlChartPlotProps & { readonly span: TimeSpan | undefined; readonly onSpan: (span: TimeSpan | undefined) => void }

/** One control chart: points, centre line, limits, signals, rule hits on request, lanes under its axis. */
export function ControlChartPlot(props: ControlChartPlotProps) {
  const [own, setOwn] = useState<TimeSpan | undefined>(undefined)
  return <Plot {...props} span={props.onSpan === undefined ? own : props.span} onSpan={props.onSpan ?? setOwn} />
}

function Plot(props: PlotProps) {
  const host = useRef<HTMLDivElement>(null)
  const readout = useRef<HTMLParagraphElement>(null)
  const plot = useRef<uPlot | undefined>(undefined)
  const latest = useRef(props)
  const columns = useRef<ChartColumns>(undefined as unknown as ChartColumns)
  const ink = useRef<Ink | undefined>(undefined)
  const drawn = useRef<PlotProps | undefined>(undefined)
  columns.current ??= chartColumns(props.points, props.shown)
  latest.current = props

  useEffect(() => {
    const element = host.current
    if (element === null) return
    // Made again, it begins with what is known now, not with what was drawn last.
    if (drawn.current !== undefined) columns.current = chartColumns(latest.current.points, latest.current.shown)
    drawn.current = latest.current
    const made = new uPlot(optionsFor(element, { latest, columns, readout, ink }), asData(columns.current), element)
    plot.current = made
    const observer = new ResizeObserver(() => {
      const size = { width: Math.max(280, element.clientWidth), height: heightOf(latest.current) }
      // An observer speaks up at once; the same size again would be another picture for nothing.
      if (size.width !== made.width || size.height !== made.height) made.setSize(size)
    })
    observer.observe(element)
    const stopInk = followInk(() => made.redraw())
    return () => {
      stopInk()
      observer.disconnect()
      forgetTurn(made)
      made.destroy()
      plot.current = undefined
    }
  }, [props.language, props.timeZone, props.shown.unit, props.lanes === undefined])

  useEffect(() => {
    const made = plot.current
    // A plot just made has drawn all of this already.
    if (made === undefined || drawn.current === undefined || drawn.current === props) return
    const show = (): void => {
      forgetTurn(made)
      const before = drawn.current
      const now = latest.current
      drawn.current = now
      const isNew = before === undefined || before.points !== now.points || before.shown.factor !== now.shown.factor || before.shown.offset !== now.shown.offset
      if (isNew) columns.current = chartColumns(now.points, now.shown)
      const { min, max } = xRange(columns.current, now.span)
      const moves = made.scales['x']?.min !== min || made.scales['x']?.max !== max
      // One picture for all that is new. Drawn within the turn: the library would else draw all charts after it.
      made.batch(() => {
        if (isNew) made.setData(asData(columns.current), false)
        if (isNew || moves) made.setScale('x', { min, max })
        else made.redraw(false)
      })
    }
    const isByReader = drawn.current.span !== props.span && (drawn.current.isZoomed === true || props.isZoomed === true)
    if (isByReader) show()
    else drawInTurn(made, show)
  }, [props.points, props.shown.factor, props.shown.offset, props.span, props.signals, props.ruleHits, props.lanes, props.sigmaBands])

  const move = (step: number): void => {
    const made = plot.current
    if (made === undefined) return
    // The arrows stay in what is seen, and step over gaps.
    const { min, max } = xRange(columns.current, props.span)
    const seen = columns.current.seconds.flatMap((seconds, at) => (seconds >= min && seconds <= max && columns.current.points[at] !== undefined ? [at] : []))
    const from = made.cursor.idx ?? (step > 0 ? -1 : Infinity)
    const index = (step > 0 ? seen.find((at) => at > from) : seen.findLast((at) => at < from)) ?? (step > 0 ? seen.at(-1) : seen[0])
    if (index === undefined) return
    const left = made.valToPos(columns.current.seconds[index] ?? 0, 'x')
    made.setCursor({ left, top: made.valToPos(columns.current.statistic[index] ?? 0, 'y') })
  }
  const keys: Readonly<Record<string, () => void>> = {
    ArrowLeft: () => move(-1),
    ArrowRight: () => move(1),
    '+': () => props.onSpan(zoomed(spanShown(columns.current, props.span), 0.5)),
    '-': () => props.onSpan(zoomed(spanShown(columns.current, props.span), 2)),
    Escape: () => props.onSpan(undefined),
    Enter: () => openPoint(plot.current, columns.current, props),
  }
  const onKey = (event: KeyboardEvent): void => {
    const act = keys[event.key]
    if (act === undefined) return
    event.preventDefault()
    act()
  }

  return (
    <figure class="plot">
      <figcaption>{props.label}</figcaption>
      <div ref={host} class="plot-area" role="img" tabIndex={0} onKeyDown={onKey} aria-label={`${props.label}, ${props.points.length}`} />
      <p ref={readout} class="readout" aria-live="polite" />
    </figure>
  )
}

/** A span half as long or twice as long about its middle. */
export function zoomed([from, to]: TimeSpan, factor: number): TimeSpan {
  const middle = (from + to) / 2
  const half = Math.max(300, ((to - from) / 2) * factor)
  return [middle - half, middle + half]
}

function heightOf({ height, lanes }: ControlChartPlotProps): number {
  return height + (lanes === undefined ? 0 : 3 * LANE_HEIGHT)
}

function asData(columns: ChartColumns): uPlot.AlignedData {
  return [columns.seconds, columns.statistic, columns.centre, columns.lower, columns.upper]
}

/** A single point stands in the middle of an hour; the library would give it a year. */
function xRange({ seconds }: ChartColumns, span: TimeSpan | undefined): { readonly min: number; readonly max: number } {
  const [min, max] = span ?? [seconds[0] ?? 0, seconds.at(-1) ?? 0]
  return max > min ? { min, max } : { min: min - 1800, max: max + 1800 }
}

function spanShown(columns: ChartColumns, span: TimeSpan | undefined): TimeSpan {
  const { min, max } = xRange(columns, span)
  return [min, max]
}

function openPoint(plot: uPlot | undefined, columns: ChartColumns, props: PlotProps): void {
  const index = plot?.cursor.idx
  const point = index == null ? undefined : nearestPoint(columns, index)
  if (point !== undefined) props.onPoint?.(point)
}

/** Redraws when the colours change: another scheme, or paper. */
function followInk(redraw: () => void): () => void {
  const lists = ['(prefers-color-scheme: dark)', 'print'].map((query) => matchMedia(query))
  for (const list of lists) list.addEventListener('change', redraw)
  return () => lists.forEach((list) => list.removeEventListener('change', redraw))
}

interface PlotParts {
  readonly latest: Ref<PlotProps>
  readonly columns: Ref<ChartColumns>
  readonly readout: Ref<HTMLParagraphElement | null>
  readonly ink: Ref<Ink | undefined>
}

/** With less than a pixel for a point only the line is drawn: points would be a smear. */
const POINT_PIXELS_MIN = 1

function optionsFor(element: HTMLElement, { latest, columns, readout, ink }: PlotParts): uPlot.Options {
  const { language, timeZone, shown, syncKey, lanes, squares } = latest.current
  const inkNow = (): Ink => (ink.current ??= inkOf(element))
  const soft = (): string => inkNow().soft
  const axis = { stroke: soft, grid: { stroke: () => inkNow().rule, width: 0.5 }, ticks: { stroke: () => inkNow().rule, width: 0.5 }, font: '12px system-ui, sans-serif' }
  const limitLine = { stroke: soft, width: 1, dash: [6, 4], points: { show: false } }
  const isRoomy = (plot: uPlot, from: number, to: number): boolean => plot.bbox.width / devicePixelRatio / Math.max(1, to - from) >= POINT_PIXELS_MIN
  return {
    width: Math.max(280, element.clientWidth),
    height: heightOf(latest.current),
    tzDate: (seconds) => uPlot.tzDate(new Date(seconds * 1000), timeZone),
    legend: { show: false },
    cursor: { sync: { key: syncKey, setSeries: false }, drag: { x: true, y: false, setScale: false }, points: { size: 8 }, bind: { dblclick: () => () => (latest.current.onSpan(undefined), null) } },
    scales: { x: { time: true, auto: false, ...xRange(columns.current, latest.current.span) }, y: { range: (plot) => verticalRange(columns.current, plot.scales['x']?.min ?? undefined, plot.scales['x']?.max ?? undefined) } },
    axes: [
      { ...axis, size: AXIS_HEIGHT, space: 64, values: timeLabels(language, timeZone) },
      { ...axis, size: 64, values: (_, ticks) => ticks.map((tick) => numberText(tick, language)), label: shown.unit, labelSize: 18, labelFont: '12px system-ui, sans-serif' },
    ],
    padding: [26, 74, lanes === undefined ? 0 : 3 * LANE_HEIGHT, 0],
    series: [
      {},
      { stroke: () => inkNow().ink, width: 1, points: { show: (plot, _, from, to) => squares !== true && isRoomy(plot, from, to), size: 5, fill: () => inkNow().ink, width: 0 }, spanGaps: false },
      { stroke: soft, width: 1, points: { show: false } },
      limitLine,
      limitLine,
    ],
    hooks: {
      drawClear: [() => (ink.current = undefined)],
      draw: [(plot) => drawMarks(plot, latest.current, columns.current, inkNow())],
      setCursor: [(plot) => showReadout(plot, latest.current, columns.current, readout.current)],
      setSelect: [(plot) => select(plot, latest.current)],
      ready: [(plot) => plot.over.addEventListener('click', () => plot.select.width < 5 && openPoint(plot, columns.current, latest.current))],
    },
  }
}

/** The stretch that was dragged over becomes what is shown, on every chart of the page. */
function select(plot: uPlot, { onSpan }: PlotProps): void {
  const { left, width } = plot.select
  if (width < 5) return
  onSpan([plot.posToVal(left, 'x'), plot.posToVal(left + width, 'x')])
  plot.setSelect({ left: 0, width: 0, top: 0, height: 0 }, false)
}

/** Day and hour in the reader's manner; the library's own words are English only. */
function timeLabels(language: Language, timeZone: string): uPlot.Axis.Values {
  return (_, ticks) => {
    const long = (ticks.at(-1) ?? 0) - (ticks[0] ?? 0) > 2 * 86_400
    const days = ticks.map((tick) => dayText(tick * 1000, language, timeZone))
    // Ticks half a day apart: a day is named once, its later ticks by the hour.
    return ticks.map((tick, index) => (long && days[index] !== days[index - 1] ? (days[index] as string) : hourText(tick * 1000, language, timeZone)))
  }
}

function showReadout(plot: uPlot, props: ControlChartPlotProps, columns: ChartColumns, readout: HTMLParagraphElement | null): void {
  if (readout === null) return
  const index = plot.cursor.idx
  const point = index == null ? undefined : columns.points[index]
  if (point === undefined || index == null) {
    readout.textContent = ''
    return
  }
  const { language, shown } = props
  const say = (value: number | null | undefined): string => (value == null ? '–' : numberText(value, language))
  readout.textContent =
    `${timeText(point.time, language, props.timeZone)} · ${say(columns.statistic[index])} ${shown.unit} · ${text(language, 'chart.centre')} ${say(columns.centre[index])} · ` +
    `${text(language, 'chart.limit')} ${say(columns.lower[index])} … ${say(columns.upper[index])} · ${text(language, `state.${point.state}`)}${point.recipe === '' ? '' : ` · ${point.recipe}`} · ` +
    chartsText(language, point.baseline === 'accepted' ? 'lane.accepted' : point.baseline === 'provisional' ? 'lane.provisional' : 'lane.self-starting')
}
