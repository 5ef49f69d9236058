import type { PointView } from './api-types.js'

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

/** Points of one chart in time order as columns, with gaps where the data pause. */
export function chartColumns(points: readonly PointView[]): ChartColumns {
  const columns: ChartColumns = { seconds: [], statistic: [], centre: [], lower: [], upper: [], points: [] }
  const usualStep = medianStep(points)
  let previous: number | undefined
  for (const point of points) {
    const seconds = Date.parse(point.time) / 1000
    if (previous !== undefined && usualStep > 0 && seconds - previous > GAP_STEPS * usualStep) push(columns, (previous + seconds) / 2, undefined)
    push(columns, seconds, point)
    previous = seconds
  }
  return columns
}

function push(columns: ChartColumns, seconds: number, point: PointView | undefined): void {
  columns.seconds.push(seconds)
  columns.statistic.push(point?.statistic ?? null)
  columns.centre.push(point?.centre ?? null)
  columns.lower.push(point?.lower ?? null)
  columns.upper.push(point?.upper ?? null)
  columns.points.push(point)
}

function medianStep(points: readonly PointView[]): number {
  const steps = points.slice(1).map((point, index) => (Date.parse(point.time) - Date.parse(points[index]?.time ?? point.time)) / 1000)
  steps.sort((a, b) => a - b)
  return steps[Math.floor(steps.length / 2)] ?? 0
}

/**
 * Range of the vertical axis: all values and the limits near them. Limits very far away (a baseline of a few values has
 * wide ones) do not squeeze the data into a line; they then lie outside the picture and their labels say so.
 */
export function verticalRange(columns: ChartColumns): [number, number] {
  const values = columns.statistic.filter((value) => value !== null)
  if (values.length === 0) return [0, 1]
  const low = Math.min(...values)
  const high = Math.max(...values)
  // Values all alike say nothing of what is near: then the limits make the picture.
  const spread = high > low ? high - low : Infinity
  const near = (value: number | null): value is number => value !== null && value > low - 3 * spread && value < high + 3 * spread
  const all = [...values, ...columns.lower.filter(near), ...columns.upper.filter(near), ...columns.centre.filter(near)]
  const bottom = Math.min(...all)
  const top = Math.max(...all)
  const margin = top > bottom ? (top - bottom) * 0.08 : Math.max(Math.abs(top) * 0.05, 1e-3)
  return [bottom - margin, top + margin]
}
