import { requireFinite, type NoVariation, type TooFewValues } from './autocorrelation.js'
import type { Interval, NoSpan } from './linear-regression.js'
import { median } from './robust-estimates.js'
import { normalQuantile, normalUpperTail } from './special-functions.js'
import { ranks } from './two-sample-tests.js'

export interface TrendTest {
  readonly kind: 'trend-test'
  /** Rising pairs less falling pairs. */
  readonly s: number
  readonly varianceOfS: number
  /** Standardised S with continuity correction. */
  readonly z: number
  readonly p: number
  /** Kendall's tau-b, -1 to 1. */
  readonly tau: number
}

/**
 * Mann-Kendall test of a trend; needs no normal values, but independent ones.
 * @param values in time order, at least 4; time and memory grow with the square of the count
 */
export function mannKendallTest(values: readonly number[]): TrendTest | TooFewValues | NoVariation {
  requireFinite('Mann-Kendall test', values)
  const n = values.length
  if (n < 4) return { kind: 'too-few-values', valueCount: n, valueCountMin: 4 }
  let s = 0
  for (let j = 1; j < n; j++) for (let i = 0; i < j; i++) s += Math.sign(values[j]! - values[i]!)
  let tieTerm = 0
  let tiedPairs = 0
  const groups = new Map<number, number>()
  for (const value of values) groups.set(value, (groups.get(value) ?? 0) + 1)
  for (const count of groups.values()) {
    tieTerm += count * (count - 1) * (2 * count + 5)
    tiedPairs += (count * (count - 1)) / 2
  }
  const varianceOfS = (n * (n - 1) * (2 * n + 5) - tieTerm) / 18
  if (!(varianceOfS > 0)) return { kind: 'no-variation' }
  const z = s === 0 ? 0 : (s - Math.sign(s)) / Math.sqrt(varianceOfS)
  const pairs = (n * (n - 1)) / 2
  return { kind: 'trend-test', s, varianceOfS, z, p: Math.min(1, 2 * normalUpperTail(Math.abs(z))), tau: s / Math.sqrt(pairs * (pairs - tiedPairs)) }
}

export interface TheilSenLine {
  readonly kind: 'theil-sen-line'
  /** Median of the slopes of all pairs. */
  readonly slope: number
  readonly slopeInterval: Interval
  /** Median of y - slope x: the line has half the points on each side. */
  readonly interceptOfResiduals: number
  /** median(y) - slope median(x): the other convention in use. */
  readonly interceptOfMedians: number
  readonly slopeCount: number
}

/**
 * Theil-Sen line with Sen's (1968) interval of the slope (order statistics, interpolated between).
 * @param confidence default 0.95
 */
export function theilSenLine(points: readonly { readonly x: number; readonly y: number }[], confidence = 0.95): TheilSenLine | TooFewValues | NoSpan {
  const ys = points.map((point) => point.y)
  const xs = points.map((point) => point.x)
  requireFinite('Theil-Sen line', xs)
  requireFinite('Theil-Sen line', ys)
  const n = points.length
  if (n < 4) return { kind: 'too-few-values', valueCount: n, valueCountMin: 4 }
  const slopes: number[] = []
  for (let j = 1; j < n; j++) for (let i = 0; i < j; i++) if (xs[i] !== xs[j]) slopes.push((ys[j]! - ys[i]!) / (xs[j]! - xs[i]!))
  if (slopes.length === 0) return { kind: 'no-span' }
  slopes.sort((a, b) => a - b)
  const slope = median(slopes)
  const trend = mannKendallTest(ys)
  const reach = trend.kind === 'trend-test' ? normalQuantile(0.5 + confidence / 2) * Math.sqrt(trend.varianceOfS) : 0
  const at = (rank: number): number => {
    const held = Math.max(1, Math.min(slopes.length, rank))
    const below = Math.floor(held)
    const lower = slopes[below - 1]!
    return lower + (held - below) * ((slopes[below] ?? lower) - lower)
  }
  return {
    kind: 'theil-sen-line',
    slope,
    slopeInterval: { lower: at((slopes.length - reach) / 2), upper: at((slopes.length + reach) / 2 + 1) },
    interceptOfResiduals: median(points.map(({ x, y }) => y - slope * x)),
    interceptOfMedians: median(ys) - slope * median(xs),
    slopeCount: slopes.length,
  }
}

export interface PettittTest {
  readonly kind: 'pettitt-test'
  /** First value after the most likely change, 0-based. */
  readonly index: number
  readonly statistic: number
  /** Pettitt's approximation, good below about 0.5. */
  readonly p: number
}

/** Pettitt's rank test of one change of level. @param values in time order, at least 4 */
export function pettittTest(values: readonly number[]): PettittTest | TooFewValues | NoVariation {
  requireFinite('Pettitt test', values)
  const n = values.length
  if (n < 4) return { kind: 'too-few-values', valueCount: n, valueCountMin: 4 }
  const ranked = ranks(values)
  if (ranked.tieSum === n ** 3 - n) return { kind: 'no-variation' }
  let sum = 0
  let index = 1
  let statistic = 0
  for (let i = 1; i < n; i++) {
    sum += 2 * ranked.ranks[i - 1]! - (n + 1)
    if (Math.abs(sum) > statistic) {
      statistic = Math.abs(sum)
      index = i
    }
  }
  return { kind: 'pettitt-test', index, statistic, p: Math.min(1, 2 * Math.exp((-6 * statistic ** 2) / (n ** 3 + n ** 2))) }
}
