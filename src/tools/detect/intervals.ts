import { RandomStream } from '../../simulator/random-stream.js'
import { poissonInterval } from '../../spc/special-functions.js'

/** A figure with its 95 % interval and the number of cases it rests on. */
export interface Figure {
  readonly value: number
  readonly lower: number
  readonly upper: number
  readonly n: number
}

const Z95 = 1.959964
const RESAMPLES = 1000

/** Share of cases with the interval of Wilson (1927). */
export function shareFigure(hits: number, n: number): Figure {
  if (n === 0) return { value: 0, lower: 0, upper: 1, n }
  const p = hits / n
  const centre = (p + (Z95 * Z95) / (2 * n)) / (1 + (Z95 * Z95) / n)
  const half = (Z95 * Math.sqrt((p * (1 - p)) / n + (Z95 * Z95) / (4 * n * n))) / (1 + (Z95 * Z95) / n)
  return { value: p, lower: Math.max(0, centre - half), upper: Math.min(1, centre + half), n }
}

/** Events per so many days with the exact Poisson interval. */
export function rateFigure(events: number, days: number, perDays: number): Figure {
  const scale = days > 0 ? perDays / days : 0
  const { lower, upper } = poissonInterval(events, 0.95)
  return { value: events * scale, lower: lower * scale, upper: upper * scale, n: events }
}

/** Any statistic of cases with the percentile bootstrap; the same cases give the same interval. */
export function bootstrapFigure<T>(cases: readonly T[], statistic: (cases: readonly T[]) => number): Figure {
  if (cases.length === 0) return { value: 0, lower: 0, upper: 0, n: 0 }
  const random = new RandomStream(20, `bootstrap ${cases.length}`)
  const values = Array.from({ length: RESAMPLES }, () => statistic(Array.from(cases, () => cases[random.integer(0, cases.length - 1)]!))).sort((a, b) => a - b)
  return { value: statistic(cases), lower: values[Math.floor(0.025 * RESAMPLES)]!, upper: values[Math.ceil(0.975 * RESAMPLES) - 1]!, n: cases.length }
}

export function median(values: readonly number[]): number {
  if (values.length === 0) return 0
  const sorted = [...values].sort((a, b) => a - b)
  const middle = Math.floor(sorted.length / 2)
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2
}
