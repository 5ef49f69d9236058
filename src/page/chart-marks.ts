import type uPlot from 'uplot'
import type { ChartColumns } from './chart-data.js'
import type { ControlChartPlotProps } from './control-chart-plot.js'
import { numberText, timeText } from './format.js'
import { text } from './texts.js'

interface Ink {
  readonly ink: string
  readonly soft: string
  readonly rule: string
  readonly blue: string
  readonly act: string
  readonly card: string
}

/** Draws what the plotting library does not: limit labels, signals with their onset, rule brackets, spans of states. */
export function drawMarks(plot: uPlot, props: ControlChartPlotProps, columns: ChartColumns, ink: Ink): void {
  const context = plot.ctx
  const ratio = devicePixelRatio
  context.save()
  context.font = `${12 * ratio}px system-ui, sans-serif`
  context.lineWidth = ratio
  drawStates(plot, props, ink, ratio)
  drawProvisional(plot, columns, ink, ratio)
  drawSignals(plot, props, ink, ratio)
  drawRuleHits(plot, props, columns, ink, ratio)
  drawLimitLabels(plot, props, columns, ink, ratio)
  context.restore()
}

function xOf(plot: uPlot, iso: string): number {
  return plot.valToPos(Date.parse(iso) / 1000, 'x', true)
}

function inside(plot: uPlot, x: number): boolean {
  return x >= plot.bbox.left && x <= plot.bbox.left + plot.bbox.width
}

/** A lane along the foot of the plot: where the line did not produce, it says what it did. */
function drawStates(plot: uPlot, props: ControlChartPlotProps, ink: Ink, ratio: number): void {
  const { ctx: context, bbox } = plot
  const right = bbox.left + bbox.width
  props.states.forEach((state, index) => {
    if (state.state === 'production') return
    const from = Math.max(bbox.left, xOf(plot, state.time))
    const next = props.states[index + 1]
    const to = Math.min(right, next === undefined ? right : xOf(plot, next.time))
    if (to - from < 2 * ratio) return
    context.fillStyle = ink.rule
    context.fillRect(from, bbox.top + bbox.height - 5 * ratio, to - from, 5 * ratio)
    const label = text(props.language, `state.${state.state}`)
    if (context.measureText(label).width < to - from - 6 * ratio) {
      context.fillStyle = ink.soft
      context.textAlign = 'left'
      context.fillText(label, from + 3 * ratio, bbox.top + bbox.height - 8 * ratio)
    }
  })
}

/** Points on a baseline nobody has accepted carry a dashed line above the plot. */
function drawProvisional(plot: uPlot, columns: ChartColumns, ink: Ink, ratio: number): void {
  const { ctx: context, bbox } = plot
  context.strokeStyle = ink.soft
  columns.points.forEach((point, index) => {
    const next = columns.points[index + 1]
    if (point === undefined || next === undefined || point.baseline === 'accepted') return
    const from = plot.valToPos(columns.seconds[index] ?? 0, 'x', true)
    const to = plot.valToPos(columns.seconds[index + 1] ?? 0, 'x', true)
    if (!inside(plot, from) || !inside(plot, to)) return
    context.setLineDash(point.baseline === 'self-starting' ? [ratio, 3 * ratio] : [6 * ratio, 4 * ratio])
    context.beginPath()
    context.moveTo(from, bbox.top + 2 * ratio)
    context.lineTo(to, bbox.top + 2 * ratio)
    context.stroke()
  })
  context.setLineDash([])
}

/** A signal: an upright tick at its time, a hollow one at its estimated begin, the time between a shade darker. */
function drawSignals(plot: uPlot, props: ControlChartPlotProps, ink: Ink, ratio: number): void {
  const { ctx: context, bbox } = plot
  const starts = props.signals.filter((signal) => signal.phase === 'start')
  let textEnd = -Infinity
  for (const signal of starts) {
    const at = xOf(plot, signal.time)
    const onset = Math.max(bbox.left, xOf(plot, signal.onset))
    if (!inside(plot, at)) continue
    context.fillStyle = ink.soft
    context.globalAlpha = 0.12
    context.fillRect(onset, bbox.top, at - onset, bbox.height)
    context.globalAlpha = 1
    context.strokeStyle = ink.ink
    context.beginPath()
    context.moveTo(at, bbox.top)
    context.lineTo(at, bbox.top + bbox.height)
    context.stroke()
    context.setLineDash([2 * ratio, 3 * ratio])
    context.strokeStyle = ink.soft
    context.beginPath()
    context.moveTo(onset, bbox.top)
    context.lineTo(onset, bbox.top + bbox.height)
    context.stroke()
    context.setLineDash([])
    const label = `${text(props.language, 'charts.signal')} ${text(props.language, `side.${signal.side}`)}, ${text(props.language, 'charts.began')} ${timeText(signal.onset, props.language, props.timeZone)}`
    const width = context.measureText(label).width
    const left = Math.min(at, bbox.left + bbox.width - width)
    if (left < textEnd) continue
    context.fillStyle = ink.ink
    context.textAlign = 'left'
    context.fillText(label, left, bbox.top - 8 * ratio)
    textEnd = left + width + 12 * ratio
  }
}

/** A rule hit: a bracket under the very points it used, with the rule in words. */
function drawRuleHits(plot: uPlot, props: ControlChartPlotProps, columns: ChartColumns, ink: Ink, ratio: number): void {
  const { ctx: context } = plot
  const indexOf = new Map(columns.points.map((point, index) => [point?.time ?? '', index]))
  let textEnd = -Infinity
  for (const hit of props.ruleHits) {
    const places = hit.points
      .map((time) => indexOf.get(time))
      .filter((index) => index !== undefined)
      .map((index) => ({ x: plot.valToPos(columns.seconds[index] ?? 0, 'x', true), y: plot.valToPos(columns.statistic[index] ?? 0, 'y', true) }))
    if (places.length === 0 || !places.some(({ x }) => inside(plot, x))) continue
    const above = hit.side === 'above'
    const edge = above ? Math.min(...places.map(({ y }) => y)) - 9 * ratio : Math.max(...places.map(({ y }) => y)) + 9 * ratio
    const foot = above ? 4 * ratio : -4 * ratio
    const left = Math.min(...places.map(({ x }) => x)) - 3 * ratio
    const right = Math.max(...places.map(({ x }) => x)) + 3 * ratio
    context.strokeStyle = ink.blue
    context.beginPath()
    context.moveTo(left, edge + foot)
    context.lineTo(left, edge)
    context.lineTo(right, edge)
    context.lineTo(right, edge + foot)
    for (const { x } of places) {
      context.moveTo(x, edge)
      context.lineTo(x, edge + foot)
    }
    context.stroke()
    const label = `${text(props.language, `rule.${hit.rule}`)}, ${text(props.language, `side.${hit.side}`)}`
    if (left < textEnd) continue
    context.fillStyle = ink.blue
    context.textAlign = 'left'
    context.fillText(label, left, above ? edge - 4 * ratio : edge + 13 * ratio)
    textEnd = left + context.measureText(label).width + 10 * ratio
  }
}

/** The limits in force now, labelled at the right with their value. */
function drawLimitLabels(plot: uPlot, props: ControlChartPlotProps, columns: ChartColumns, ink: Ink, ratio: number): void {
  const last = columns.points.findLast((point) => point !== undefined)
  if (last === undefined) return
  const { ctx: context, bbox } = plot
  context.fillStyle = ink.soft
  context.textAlign = 'left'
  const right = bbox.left + bbox.width + 5 * ratio
  for (const value of new Set([last.upper, last.centre, last.lower])) {
    const y = plot.valToPos(value, 'y', true)
    const outside = y < bbox.top ? '↑ ' : y > bbox.top + bbox.height ? '↓ ' : ''
    context.fillText(outside + numberText(value, props.language), right, Math.min(bbox.top + bbox.height, Math.max(bbox.top + 8 * ratio, y + 4 * ratio)))
  }
}
