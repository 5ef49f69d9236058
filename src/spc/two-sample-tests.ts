import { meanOf, requireFinite, type NoVariation, type TooFewValues } from './autocorrelation.js'
import { fQuantile, fTails, normalUpperTail, studentTQuantile, studentTTails } from './special-functions.js'
import type { Interval } from './linear-regression.js'

/** Outcome of a test for a difference of means; `interval` is that of mean(x) - mean(y). */
export interface MeanTest {
  readonly kind: 'mean-test'
  readonly difference: number
  readonly statistic: number
  readonly degreesOfFreedom: number
  /** Two-sided. */
  readonly p: number
  readonly interval: Interval
}

export interface Sample {
  readonly n: number
  readonly mean: number
  /** Divisor n - 1. */
  readonly variance: number
}

export function sampleOf(values: readonly number[]): Sample {
  const mean = meanOf(values)
  let squares = 0
  for (const value of values) squares += (value - mean) ** 2
  return { n: values.length, mean, variance: squares / (values.length - 1) }
}

function checkSamples(name: string, x: readonly number[], y: readonly number[], valueCountMin: number): TooFewValues | undefined {
  requireFinite(name, x)
  requireFinite(name, y)
  const valueCount = Math.min(x.length, y.length)
  return valueCount < valueCountMin ? { kind: 'too-few-values', valueCount, valueCountMin } : undefined
}

interface MeanDifference {
  readonly difference: number
  readonly se: number
  readonly degreesOfFreedom: number
}

function meanDifference(x: readonly number[], y: readonly number[], equalVariances: boolean): MeanDifference {
  const a = sampleOf(x)
  const b = sampleOf(y)
  const difference = a.mean - b.mean
  if (equalVariances) {
    const degreesOfFreedom = a.n + b.n - 2
    const pooled = ((a.n - 1) * a.variance + (b.n - 1) * b.variance) / degreesOfFreedom
    return { difference, se: Math.sqrt(pooled * (1 / a.n + 1 / b.n)), degreesOfFreedom }
  }
  const va = a.variance / a.n
  const vb = b.variance / b.n
  // by shares, so that the squares of tiny variances do not vanish
  const share = va / (va + vb)
  return { difference, se: Math.sqrt(va + vb), degreesOfFreedom: 1 / (share ** 2 / (a.n - 1) + (1 - share) ** 2 / (b.n - 1)) }
}

/** No more spread than rounding leaves on numbers of this size. */
function isNoise(se: number, x: readonly number[], y: readonly number[]): boolean {
  const largest = [...x, ...y].reduce((most, value) => Math.max(most, Math.abs(value)), 0)
  return !(se > 1e-15 * largest)
}

/**
 * t test of two independent samples.
 * @param options.equalVariances Student's pooled test; default Welch's
 * @param options.confidence of the interval, default 0.95
 */
export function meanTest(x: readonly number[], y: readonly number[], options: { readonly equalVariances?: boolean; readonly confidence?: number } = {}): MeanTest | TooFewValues | NoVariation {
  const problem = checkSamples('t test', x, y, 2)
  if (problem !== undefined) return problem
  const { difference, se, degreesOfFreedom } = meanDifference(x, y, options.equalVariances === true)
  if (isNoise(se, x, y)) return { kind: 'no-variation' }
  const statistic = difference / se
  const tails = studentTTails(statistic, degreesOfFreedom)
  const half = studentTQuantile(0.5 + (options.confidence ?? 0.95) / 2, degreesOfFreedom) * se
  return { kind: 'mean-test', difference, statistic, degreesOfFreedom, p: Math.min(1, 2 * Math.min(tails.lower, tails.upper)), interval: { lower: difference - half, upper: difference + half } }
}

/** Whether two means are the same for practical purposes. `not-shown` is not a proof of a difference. */
export interface EquivalenceTest {
  readonly kind: 'equivalent' | 'not-shown'
  readonly difference: number
  /** The larger p of the two one-sided tests. */
  readonly p: number
  /** 1 - 2 alpha interval of the difference; inside the margin exactly when equivalent. */
  readonly interval: Interval
}

/**
 * Equivalence by two one-sided Welch tests.
 * @param options.margin largest difference that does not matter, above 0, in the unit of the values
 * @param options.alpha default 0.05
 */
export function equivalenceTest(x: readonly number[], y: readonly number[], options: { readonly margin: number; readonly alpha?: number }): EquivalenceTest | TooFewValues | NoVariation {
  const { margin, alpha = 0.05 } = options
  if (!(margin > 0 && Number.isFinite(margin))) throw new Error(`equivalence test: expected a margin above 0, got ${margin}`)
  if (!(alpha > 0 && alpha < 0.5)) throw new Error(`equivalence test: expected alpha between 0 and 0.5, got ${alpha}`)
  const problem = checkSamples('equivalence test', x, y, 2)
  if (problem !== undefined) return problem
  const { difference, se, degreesOfFreedom } = meanDifference(x, y, false)
  if (isNoise(se, x, y)) return { kind: 'no-variation' }
  const p = Math.max(studentTTails((difference + margin) / se, degreesOfFreedom).upper, studentTTails((difference - margin) / se, degreesOfFreedom).lower)
  const half = studentTQuantile(1 - alpha, degreesOfFreedom) * se
  return { kind: p < alpha ? 'equivalent' : 'not-shown', difference, p, interval: { lower: difference - half, upper: difference + half } }
}

export interface VarianceRatioTest {
  readonly kind: 'variance-ratio-test'
  /** variance(x) / variance(y). */
  readonly ratio: number
  readonly degreesOfFreedom: readonly [number, number]
  readonly p: number
  readonly interval: Interval
}

/** F test of two variances; both samples normal (otherwise see `spreadTest`). */
export function varianceRatioTest(x: readonly number[], y: readonly number[], confidence = 0.95): VarianceRatioTest | TooFewValues | NoVariation {
  const problem = checkSamples('F test', x, y, 2)
  if (problem !== undefined) return problem
  const a = sampleOf(x)
  const b = sampleOf(y)
  if (isNoise(Math.sqrt(a.variance), x, []) || isNoise(Math.sqrt(b.variance), [], y)) return { kind: 'no-variation' }
  const ratio = a.variance / b.variance
  const [df1, df2] = [a.n - 1, b.n - 1]
  const tails = fTails(ratio, df1, df2)
  return {
    kind: 'variance-ratio-test',
    ratio,
    degreesOfFreedom: [df1, df2],
    p: Math.min(1, 2 * Math.min(tails.lower, tails.upper)),
    interval: { lower: ratio / fQuantile(0.5 + confidence / 2, df1, df2), upper: ratio / fQuantile(0.5 - confidence / 2, df1, df2) },
  }
}

export interface RankSumTest {
  readonly kind: 'rank-sum-test'
  /** U of the first sample: pairs in which x is larger, ties counted half. */
  readonly u: number
  /** Two-sided. */
  readonly p: number
  readonly method: 'exact' | 'normal'
}

/** Ranks from 1, ties sharing their mean rank; `tieSum` is the sum of t^3 - t over groups of t equal values. */
export function ranks(values: readonly number[]): { readonly ranks: number[]; readonly tieSum: number } {
  const order = values.map((_, i) => i).sort((i, j) => values[i]! - values[j]!)
  const result = new Array<number>(values.length).fill(0)
  let tieSum = 0
  for (let from = 0; from < order.length; ) {
    let to = from
    while (to + 1 < order.length && values[order[to + 1]!] === values[order[from]!]) to++
    for (let i = from; i <= to; i++) result[order[i]!] = (from + to) / 2 + 1
    const count = to - from + 1
    tieSum += count ** 3 - count
    from = to + 1
  }
  return { ranks: result, tieSum }
}

/**
 * Mann-Whitney (rank sum) test.
 * @param options.method `exact` only without ties; default: exact where both samples have fewer than 50 values and no ties
 * @param options.continuity correction of the normal approximation, default true
 */
export function rankSumTest(
  x: readonly number[],
  y: readonly number[],
  options: { readonly method?: 'exact' | 'normal'; readonly continuity?: boolean } = {},
): RankSumTest | TooFewValues | NoVariation {
  const problem = checkSamples('rank sum test', x, y, 1)
  if (problem !== undefined) return problem
  const [n, m] = [x.length, y.length]
  const ranked = ranks([...x, ...y])
  let rankSum = 0
  for (let i = 0; i < n; i++) rankSum += ranked.ranks[i]!
  const u = rankSum - (n * (n + 1)) / 2
  const method = ranked.tieSum > 0 ? 'normal' : (options.method ?? (n < 50 && m < 50 ? 'exact' : 'normal'))
  if (method === 'exact') return { kind: 'rank-sum-test', u, p: exactRankSumP(u, n, m), method }
  const total = n + m
  const sigma = Math.sqrt(((n * m) / 12) * (total + 1 - ranked.tieSum / (total * (total - 1))))
  if (!(sigma > 0)) return { kind: 'no-variation' }
  const distance = Math.abs(u - (n * m) / 2) - (options.continuity === false ? 0 : 0.5)
  return { kind: 'rank-sum-test', u, p: Math.min(1, 2 * normalUpperTail(Math.max(0, distance) / sigma)), method }
}

/** Counts the arrangements of ranks that give each U (the coefficients of the Gaussian binomial). */
function exactRankSumP(u: number, n: number, m: number): number {
  const size = n * m
  let share = new Float64Array(size + 1)
  share[0] = 1
  // multiply by (1 - q^(m+i)) / (1 - q^i), keeping shares so that nothing overflows
  for (let i = 1; i <= n; i++) {
    for (let q = size; q >= m + i; q--) share[q] = share[q]! - share[q - m - i]!
    for (let q = i; q <= size; q++) share[q] = share[q]! + share[q - i]!
    const scale = i / (m + i)
    share = share.map((value) => value * scale)
  }
  let tail = 0
  const lower = Math.min(u, size - u)
  for (let q = 0; q <= lower; q++) tail += share[q]!
  return Math.min(1, 2 * tail)
}
