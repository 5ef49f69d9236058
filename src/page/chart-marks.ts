import type uPlot from 'uplot'
import type { ChartColumns } from './chart-data.js'
import type { LaneSpan } from './chart-lanes.js'
import { chartsText } from './charts-texts.js'
import type { ControlChartPlotProps } from './control-chart-plot.js'
import { numberText, timeText } from './format.js'
import { text } from './texts.js'

export interface Ink {
  readonly ink: string
  readonly soft: string
  readonly rule: string
  readonly blue: string
  readonly act: string
  readonly card: string
}

/** Height of one lane and of the axis above the first, CSS pixels. */
export const LANE_HEIGHT = 17
export const AXIS_HEIGHT = 34

interface Pen {
  readonly plot: uPlot
  readonly context: CanvasRenderingContext2D
  readonly props: ControlChartPlotProps
  readonly columns: ChartColumns
  readonly ink: Ink
  readonly ratio: number
}

/** Draws what the plotting library does not: sigma bands, signals with their onset, rule brackets, limit labels, lanes. */
export function drawMarks(plot: uPlot, props: ControlChartPlotProps, columns: ChartColumns, ink: Ink): void {
  const pen: Pen = { plot, context: plot.ctx, props, columns, ink, ratio: devicePixelRatio }
  const { context, ratio } = pen
  context.save()
  context.font = `${12 * ratio}px system-ui, sans-serif`
  context.lineWidth = ratio
  // what the library drew last may have left its dashes
  context.setLineDash([])
  context.textBaseline = 'alphabetic'
  if (props.sigmaBands) drawSigmaBands(pen)
  drawSignals(pen)
  if (props.squares) drawSquares(pen)
  drawRuleHits(pen)
  drawLimitLabels(pen)
  drawLanes(pen)
  context.restore()
}

function xOf({ plot }: Pen, seconds: number): number {
  return plot.valToPos(seconds, 'x', true)
}

function isInside({ plot }: Pen, x: number): boolean {
  return x >= plot.bbox.left && x <= plot.bbox.left + plot.bbox.width
}

/** Hairlines at one and two sigmas of the newest point. */
function drawSigmaBands(pen: Pen): void {
  const { plot, context, columns, ink, ratio, props } = pen
  const last = columns.points.findLast((point) => point !== undefined)
  if (last === undefined || !(last.sigma > 0) || last.chart.startsWith('cusum')) return
  context.strokeStyle = ink.rule
  context.lineWidth = ratio / 2
  context.beginPath()
  for (const sigmas of [-2, -1, 1, 2]) {
    const y = plot.valToPos((last.centre + sigmas * last.sigma) * props.shown.factor + props.shown.offset, 'y', true)
    if (y < plot.bbox.top || y > plot.bbox.top + plot.bbox.height) continue
    context.moveTo(plot.bbox.left, y)
    context.lineTo(plot.bbox.left + plot.bbox.width, y)
  }
  context.stroke()
  context.lineWidth = ratio
}

/** A signal: an upright tick through the whole chart, a hollow one at its estimated begin, the time between a shade darker. */
function drawSignals(pen: Pen): void {
  const { plot, context, props, ink, ratio } = pen
  const { bbox } = plot
  const bottom = bbox.top + bbox.height
  let textEnd = -Infinity
  for (const signal of props.signals) {
    if (signal.phase !== 'start') continue
    const at = xOf(pen, Date.parse(signal.time) / 1000)
    if (!isInside(pen, at)) continue
    const begin = xOf(pen, Date.parse(signal.onset) / 1000)
    const onset = Math.max(bbox.left, begin)
    context.fillStyle = ink.soft
    context.globalAlpha = 0.12
    context.fillRect(onset, bbox.top, at - onset, bbox.height)
    context.globalAlpha = 1
    context.strokeStyle = ink.ink
    context.beginPath()
    context.moveTo(at, bbox.top)
    context.lineTo(at, bottom)
    context.stroke()
    if (begin >= bbox.left && at - begin > 5 * ratio) {
      context.strokeStyle = ink.soft
      context.strokeRect(onset - 1.5 * ratio, bbox.top, 3 * ratio, bbox.height)
    }
    const label = `${text(props.language, 'charts.signal')} ${text(props.language, `side.${signal.side}`)}, ${text(props.language, 'charts.began')} ${timeText(signal.onset, props.language, props.timeZone)}`
    const words = context.measureText(label).width > bbox.width ? `${text(props.language, 'charts.signal')} ${text(props.language, `side.${signal.side}`)}` : label
    const width = context.measureText(words).width
    const left = Math.max(bbox.left, Math.min(at, bbox.left + bbox.width - width))
    if (left < textEnd) continue
    context.fillStyle = ink.ink
    context.textAlign = 'left'
    context.fillText(words, left, bbox.top - 8 * ratio)
    textEnd = left + width + 12 * ratio
  }
}

/** Hand-measured values: squares. */
function drawSquares(pen: Pen): void {
  const { plot, context, columns, ink, ratio } = pen
  context.fillStyle = ink.ink
  columns.seconds.forEach((seconds, index) => {
    const value = columns.statistic[index]
    const x = xOf(pen, seconds)
    if (value == null || !isInside(pen, x)) return
    const y = plot.valToPos(value, 'y', true)
    context.fillRect(x - 3.5 * ratio, y - 3.5 * ratio, 7 * ratio, 7 * ratio)
  })
}

/** A rule hit: a bracket under the very points it used, with the rule in words. */
function drawRuleHits(pen: Pen): void {
  const { plot, context, props, columns, ink, ratio } = pen
  if (props.ruleHits.length === 0) return
  const indexOf = new Map(columns.points.map((point, index) => [point?.time ?? '', index]))
  const textEnds = { above: -Infinity, below: -Infinity }
  for (const hit of props.ruleHits) {
    const places = hit.points
      .map((time) => indexOf.get(time))
      .filter((index) => index !== undefined)
      .map((index) => ({ x: xOf(pen, columns.seconds[index] ?? 0), y: plot.valToPos(columns.statistic[index] ?? 0, 'y', true) }))
    if (places.length === 0 || !places.every(({ x }) => isInside(pen, x))) continue
    const above = hit.side !== 'below'
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
    const side = above ? 'above' : 'below'
    const label = ruleWords(props.language, hit.rule, hit.side)
    const width = context.measureText(label).width
    const start = Math.max(plot.bbox.left, Math.min(left, plot.bbox.left + plot.bbox.width - width))
    if (start < textEnds[side]) continue
    context.fillStyle = ink.blue
    context.textAlign = 'left'
    context.fillText(label, start, above ? edge - 4 * ratio : edge + 13 * ratio)
    textEnds[side] = start + width + 10 * ratio
  }
}

const SUPPLEMENTARY = ['steady-trend', 'alternation', 'too-quiet', 'avoids-middle', 'nine-on-one-side'] as const

/** A rule and its side in words. */
export function ruleWords(language: ControlChartPlotProps['language'], rule: string, side: string): string {
  const own = SUPPLEMENTARY.find((known) => known === rule)
  const name = own === undefined ? text(language, `rule.${rule}`) : chartsText(language, `rule.${own}`)
  return `${name}, ${side === 'both' ? chartsText(language, 'side.both') : text(language, `side.${side}`)}`
}

/** The limits in force now, labelled at the right with their value. */
function drawLimitLabels(pen: Pen): void {
  const { plot, context, props, columns, ink, ratio } = pen
  const last = columns.points.findLastIndex((point) => point !== undefined)
  if (last < 0) return
  const { bbox } = plot
  context.fillStyle = ink.soft
  context.textAlign = 'left'
  const right = bbox.left + bbox.width + 5 * ratio
  let lowest = -Infinity
  const values = [...new Set([columns.upper[last], columns.centre[last], columns.lower[last]])].filter((value): value is number => value != null).sort((a, b) => b - a)
  for (const value of values) {
    const y = plot.valToPos(value, 'y', true)
    const outside = y < bbox.top ? '↑ ' : y > bbox.top + bbox.height ? '↓ ' : ''
    // Labels of limits close together step down rather than lie on each other.
    const at = Math.max(lowest + 13 * ratio, Math.min(bbox.top + bbox.height, Math.max(bbox.top + 8 * ratio, y + 4 * ratio)))
    context.fillText(outside + numberText(value, props.language), right, at)
    lowest = at
  }
}

function drawLanes(pen: Pen): void {
  const { plot, context, props, ratio, ink } = pen
  const { lanes } = props
  if (lanes === undefined) return
  const top = plot.bbox.top + plot.bbox.height + AXIS_HEIGHT * ratio
  const middleOf = (lane: number): number => top + (lane + 0.5) * LANE_HEIGHT * ratio
  context.fillStyle = ink.soft
  context.textAlign = 'right'
  const names = ['lane.marks', 'lane.states', 'lane.baselines'] as const
  names.forEach((name, lane) => context.fillText(chartsText(props.language, name), plot.bbox.left - 8 * ratio, middleOf(lane) + 4 * ratio))
  context.save()
  context.beginPath()
  context.rect(plot.bbox.left, plot.bbox.top, plot.bbox.width, plot.bbox.height + (AXIS_HEIGHT + 3 * LANE_HEIGHT) * ratio)
  context.clip()
  context.strokeStyle = ink.rule
  drawTimeMarks(pen, middleOf(0))
  drawSpans(pen, lanes.states, middleOf(1))
  drawSpans(pen, lanes.baselines, middleOf(2))
  context.restore()
}

/** Small words, each tied to its time by a hairline; words that would lie on others are counted instead. */
function drawTimeMarks(pen: Pen, middle: number): void {
  const { plot, context, props, ink, ratio } = pen
  const { left: start, width: span, top, height } = plot.bbox
  const taken: (readonly [number, number])[] = []
  const seen = (props.lanes?.marks ?? []).map((mark) => ({ ...mark, x: xOf(pen, mark.seconds) })).filter(({ x }) => isInside(pen, x))
  context.strokeStyle = ink.soft
  context.globalAlpha = 0.5
  context.beginPath()
  for (const { x } of seen) {
    context.moveTo(x, top + 0.75 * height)
    context.lineTo(x, middle + 5 * ratio)
  }
  context.stroke()
  context.globalAlpha = 1
  context.textAlign = 'left'
  let hidden = 0
  for (const { x, label } of [...seen.filter(({ first }) => first), ...seen.filter(({ first }) => !first)]) {
    const width = context.measureText(label).width
    const left = Math.max(start, x + 3 * ratio + width > start + span ? x - 3 * ratio - width : x + 3 * ratio)
    if (taken.some(([from, to]) => left < to && left + width > from)) {
      hidden += 1
      continue
    }
    context.fillStyle = ink.ink
    context.fillText(label, left, middle + 4 * ratio)
    taken.push([left - 8 * ratio, left + width + 8 * ratio])
  }
  const more = chartsText(props.language, 'lane.more', { n: hidden })
  const moreLeft = start + span - context.measureText(more).width
  if (hidden === 0 || taken.some(([, to]) => to > moreLeft)) return
  context.fillStyle = ink.soft
  context.fillText(more, moreLeft, middle + 4 * ratio)
}

function drawSpans(pen: Pen, spans: readonly LaneSpan[], middle: number): void {
  const { plot, context, ink, ratio } = pen
  const left = plot.bbox.left
  const right = left + plot.bbox.width
  let previousEnd = -Infinity
  for (const span of spans) {
    const from = Math.max(left, xOf(pen, span.fromSeconds))
    const to = Math.min(right, xOf(pen, span.toSeconds))
    if (to - from < 1.5 * ratio) continue
    const height = 6 * ratio
    if (span.form === 'band') {
      context.fillStyle = ink.rule
      context.fillRect(from, middle - height, to - from, 2 * height)
    } else {
      context.strokeStyle = ink.soft
      context.setLineDash(span.form === 'dashed' ? [6 * ratio, 4 * ratio] : span.form === 'dotted' ? [ratio, 3 * ratio] : [])
      context.beginPath()
      context.moveTo(from, middle + height)
      context.lineTo(to, middle + height)
      context.stroke()
      context.setLineDash([])
      // a small upright at the begin tells two stretches of the same form apart
      if (from > previousEnd && to - from > 12 * ratio) {
        context.beginPath()
        context.moveTo(from, middle - height)
        context.lineTo(from, middle + height)
        context.stroke()
      }
    }
    if (context.measureText(span.label).width < to - from - 8 * ratio) {
      context.fillStyle = ink.soft
      context.textAlign = 'left'
      context.fillText(span.label, from + 4 * ratio, middle + 3.5 * ratio)
    }
    previousEnd = to
  }
}
