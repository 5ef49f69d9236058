import { useEffect, useRef } from 'preact/hooks'
import uPlot from 'uplot'
import type { PointView, RuleHitView, SignalView, StateView } from './api-types.js'
import { chartColumns, verticalRange, type ChartColumns } from './chart-data.js'
import { drawMarks } from './chart-marks.js'
import { numberText, timeText } from './format.js'
import { text, type Language } from './texts.js'

export interface ControlChartPlotProps {
  readonly points: readonly PointView[]
  readonly signals: readonly SignalView[]
  readonly ruleHits: readonly RuleHitView[]
  readonly states: readonly StateView[]
  readonly unit: string
  readonly timeZone: string
  readonly language: Language
  readonly label: string
  readonly height: number
  /** Plots with the same key zoom and point together. */
  readonly syncKey: string
}

/** Colours come from the style sheet, so that light and dark hold here too. */
export function inkOf(element: Element): { ink: string; soft: string; rule: string; blue: string; act: string; card: string } {
  const style = getComputedStyle(element)
  const read = (name: string): string => style.getPropertyValue(name).trim()
  return { ink: read('--ink'), soft: read('--soft-ink'), rule: read('--line'), blue: read('--blue-ink'), act: read('--act'), card: read('--card') }
}

/** One control chart: points, centre line, limits, signals, and rule hits on request. */
export function ControlChartPlot(props: ControlChartPlotProps) {
  const host = useRef<HTMLDivElement>(null)
  const readout = useRef<HTMLParagraphElement>(null)
  const plot = useRef<uPlot | undefined>(undefined)
  const latest = useRef(props)
  const columns = useRef<ChartColumns>(chartColumns(props.points))
  latest.current = props

  useEffect(() => {
    const element = host.current
    if (element === null) return
    const made = new uPlot(optionsFor(element, latest, columns, readout), asData(columns.current), element)
    plot.current = made
    const observer = new ResizeObserver(() => made.setSize({ width: Math.max(280, element.clientWidth), height: latest.current.height }))
    observer.observe(element)
    return () => {
      observer.disconnect()
      made.destroy()
      plot.current = undefined
    }
  }, [props.language, props.timeZone, props.unit])

  useEffect(() => {
    columns.current = chartColumns(props.points)
    const made = plot.current
    if (made === undefined) return
    const zoomed = isZoomed(made)
    made.setData(asData(columns.current), !zoomed)
    if (zoomed) made.redraw()
  }, [props.points, props.signals, props.ruleHits, props.states])

  return (
    <figure class="plot">
      <figcaption>{props.label}</figcaption>
      <div ref={host} class="plot-area" role="img" aria-label={`${props.label}, ${props.points.length}`} />
      <p ref={readout} class="readout" aria-live="off">
        {text(props.language, 'charts.reset-zoom')}
      </p>
    </figure>
  )
}

function asData(columns: ChartColumns): uPlot.AlignedData {
  return [columns.seconds, columns.statistic, columns.centre, columns.lower, columns.upper]
}

function isZoomed(plot: uPlot): boolean {
  const { min, max } = plot.scales['x'] ?? {}
  const seconds = plot.data[0]
  const first = seconds[0]
  const last = seconds[seconds.length - 1]
  return min != null && max != null && first !== undefined && last !== undefined && (min > first || max < last)
}

type Ref<T> = { current: T }

function optionsFor(element: HTMLElement, latest: Ref<ControlChartPlotProps>, columns: Ref<ChartColumns>, readout: Ref<HTMLParagraphElement | null>): uPlot.Options {
  const { language, timeZone, unit, height, syncKey } = latest.current
  const ink = inkOf(element)
  const axis = { stroke: ink.soft, grid: { stroke: ink.rule, width: 0.5 }, ticks: { stroke: ink.rule, width: 0.5 }, font: '12px system-ui, sans-serif' }
  const limitLine = { stroke: ink.soft, width: 1, dash: [6, 4], points: { show: false } }
  return {
    width: Math.max(280, element.clientWidth),
    height,
    tzDate: (seconds) => uPlot.tzDate(new Date(seconds * 1000), timeZone),
    legend: { show: false },
    cursor: { sync: { key: syncKey }, drag: { x: true, y: false }, points: { size: 8 } },
    scales: { x: { time: true, range: (_, min, max) => timeRange(min, max) }, y: { range: () => verticalRange(columns.current) } },
    axes: [
      { ...axis, values: timeLabels(language, timeZone) },
      { ...axis, size: 64, values: (_, ticks) => ticks.map((tick) => numberText(tick, language)), label: unit, labelSize: 18, labelFont: '12px system-ui, sans-serif' },
    ],
    padding: [26, 74, 0, 0],
    series: [
      {},
      { stroke: ink.ink, width: 1, points: { show: true, size: 5, fill: ink.ink, width: 0 }, spanGaps: false },
      { stroke: ink.soft, width: 1, points: { show: false } },
      limitLine,
      limitLine,
    ],
    hooks: {
      draw: [(plot) => drawMarks(plot, latest.current, columns.current, inkOf(element))],
      setCursor: [(plot) => showReadout(plot, latest.current, columns.current, readout.current)],
    },
  }
}

/** A single point stands in the middle of an hour; the library would give it a year. */
function timeRange(min: number, max: number): [number, number] {
  return max > min ? [min, max] : [min - 1800, max + 1800]
}

/** Day and hour in the reader's manner; the library's own words are English only. */
function timeLabels(language: Language, timeZone: string): uPlot.Axis.Values {
  const hour = new Intl.DateTimeFormat(language, { timeZone, hour: '2-digit', minute: '2-digit', hourCycle: 'h23' })
  const day = new Intl.DateTimeFormat(language, { timeZone, day: 'numeric', month: 'short' })
  return (_, ticks) => {
    const long = (ticks.at(-1) ?? 0) - (ticks[0] ?? 0) > 2 * 86_400
    const days = ticks.map((tick) => day.format(new Date(tick * 1000)))
    // Ticks half a day apart: a day is named once, its later ticks by the hour.
    return ticks.map((tick, index) => (long && days[index] !== days[index - 1] ? (days[index] as string) : hour.format(new Date(tick * 1000))))
  }
}

function showReadout(plot: uPlot, props: ControlChartPlotProps, columns: ChartColumns, readout: HTMLParagraphElement | null): void {
  if (readout === null) return
  const index = plot.cursor.idx
  const point = index == null ? undefined : columns.points[index]
  const { language } = props
  readout.textContent =
    point === undefined
      ? text(language, 'charts.reset-zoom')
      : `${timeText(point.time, language, props.timeZone)} · ${numberText(point.statistic, language)} ${props.unit} · ${text(language, 'chart.centre')} ${numberText(point.centre, language)} · ` +
        `${text(language, 'chart.limit')} ${numberText(point.lower, language)} … ${numberText(point.upper, language)} · ${text(language, `state.${point.state}`)} · ${point.recipe} · ${text(language, `baseline.${point.baseline}`, { n: Math.round(point.n), target: '' }).replace(/[,\s]+(of|de)?\s*$/, '')}`
}
