import type { PointView } from './api-types.js'
import type { ShownUnit } from './format.js'

/** Columns of one plot: x in seconds as the plotting library wants it; a gap is a null in every column. */
export interface ChartColumns {
  readonly seconds: number[]
  readonly statistic: (number | null)[]
  readonly centre: (number | null)[]
  readonly lower: (number | null)[]
  readonly upper: (number | null)[]
  /** The point of each index; undefined in a gap. */
  readonly points: (PointView | undefined)[]
}

/** A pause longer than this many usual steps is a gap: it stays empty. */
const GAP_STEPS = 3
const AS_IT_IS: ShownUnit = { unit: '', factor: 1, offset: 0 }

/** Points of one chart in time order as columns in the unit shown, with gaps where the data pause. */
export function chartColumns(points: readonly PointView[], shown: ShownUnit = AS_IT_IS): ChartColumns {
  const columns: ChartColumns = { seconds: [], statistic: [], centre: [], lower: [], upper: [], points: [] }
  const times = points.map((point) => Date.parse(point.time) / 1000)
  const usualStep = medianStep(times)
  points.forEach((point, index) => {
    const seconds = times[index] as number
    const previous = times[index - 1]
    if (previous !== undefined && usualStep > 0 && seconds - previous > GAP_STEPS * usualStep) push(columns, (previous + seconds) / 2, undefined, shown)
    push(columns, seconds, point, shown)
  })
  return columns
}

function push(columns: ChartColumns, seconds: number, point: PointView | undefined, { factor, offset }: ShownUnit): void {
  const convert = (value: number | undefined): number | null => (value === undefined ? null : value * factor + offset)
  columns.seconds.push(seconds)
  columns.statistic.push(convert(point?.statistic))
  columns.centre.push(convert(point?.centre))
  columns.lower.push(convert(point?.lower))
  columns.upper.push(convert(point?.upper))
  columns.points.push(point)
}

function medianStep(times: readonly number[]): number {
  const steps = times.slice(1).map((time, index) => time - (times[index] ?? time))
  steps.sort((a, b) => a - b)
  return steps[Math.floor(steps.length / 2)] ?? 0
}

/**
 * Range of the vertical axis: all values and the limits near them. Limits very far away (a baseline of a few values has
 * wide ones) do not squeeze the data into a line; they then lie outside the picture and their labels say so.
 *
 * @param from,to only what lies between these times, s; everything without them
 */
export function verticalRange(columns: ChartColumns, from = -Infinity, to = Infinity): [number, number] {
  const inside = (list: readonly (number | null)[]): number[] => list.filter((value, index): value is number => value !== null && (columns.seconds[index] ?? 0) >= from && (columns.seconds[index] ?? 0) <= to)
  const values = inside(columns.statistic)
  if (values.length === 0) return from === -Infinity ? [0, 1] : verticalRange(columns)
  const [low, high] = extremes(values)
  // Values all alike say nothing of what is near: then the limits make the picture.
  const spread = high > low ? high - low : Infinity
  const near = (value: number): boolean => value > low - 3 * spread && value < high + 3 * spread
  const [bottom, top] = extremes([low, high, ...inside(columns.lower).filter(near), ...inside(columns.upper).filter(near), ...inside(columns.centre).filter(near)])
  // Values a rounding error apart need room that the sum does not swallow.
  const margin = top > bottom ? Math.max((top - bottom) * 0.08, 1e-9 * Math.max(1, Math.abs(bottom), Math.abs(top))) : Math.max(Math.abs(top) * 0.05, 1e-3)
  return [bottom - margin, top + margin]
}

function extremes(values: readonly number[]): [number, number] {
  let low = Infinity
  let high = -Infinity
  for (const value of values) {
    if (value < low) low = value
    if (value > high) high = value
  }
  return [low, high]
}

/** The point nearest to an index that has one; gaps have none. */
export function nearestPoint(columns: ChartColumns, index: number): PointView | undefined {
  for (let away = 0; away < columns.points.length; away += 1) {
    const found = columns.points[index - away] ?? columns.points[index + away]
    if (found !== undefined) return found
  }
  return undefined
}
