import { autocovariances, unbiasedLagOne } from './autoregressive-model.js'

/** Whether the level of a stretch of values changed inside it. */
export interface LevelStability {
  readonly kind: 'none' | 'step' | 'trend'
  /** First value after the most likely change. */
  readonly index: number
  /** Values before it. */
  readonly countBefore: number
  /** Largest standardised difference of the means before and after, over all splits. */
  readonly statistic: number
}

/**
 * A learned stretch is tested a dozen times while it grows, so the limit is far out: about one stable stretch in a
 * thousand exceeds 4.4 at each test (Brownian bridge over the middle 90 %).
 */
const CHANGE_LIMIT = 4.4
const VALUES_BESIDE_MIN = 5

/**
 * Looks for one change of level: the split with the largest standardised difference of means, judged against the
 * long-run variance of what each side leaves, so that autocorrelation is not taken for a change and a change is not
 * taken for autocorrelation. A straight line that explains the values better than the step makes it a trend.
 *
 * @param values in time order
 * @param follows 0 where a value does not follow its predecessor directly
 * @param wander least standard deviation a change is judged by, unit of the values
 */
export function findLevelChange(values: readonly number[], follows: ArrayLike<number>, wander = 0): LevelStability {
  const n = values.length
  const none: LevelStability = { kind: 'none', index: n, countBefore: n, statistic: 0 }
  const margin = Math.max(VALUES_BESIDE_MIN, Math.ceil(n / 20))
  if (n < 2 * margin) return none
  const first = values[0]!
  let total = 0
  for (const value of values) total += value - first
  let sum = 0
  let best = 0
  let index = 0
  let meanBefore = 0
  let meanAfter = 0
  for (let i = 1; i < n; i++) {
    sum += values[i - 1]! - first
    if (i < margin || n - i < margin) continue
    const before = sum / i
    const after = (total - sum) / (n - i)
    const separation = ((after - before) ** 2 * i * (n - i)) / n
    if (separation > best) {
      best = separation
      index = i
      meanBefore = before + first
      meanAfter = after + first
    }
  }
  if (best === 0) return none
  const step = values.map((value, i) => value - (i < index ? meanBefore : meanAfter))
  const line = lineResiduals(values)
  const stepVariance = Math.max(longRunVariance(step, follows), wander * wander)
  // All change and no noise: a clean step.
  if (!(stepVariance > 0)) return { kind: 'step', index, countBefore: index, statistic: CHANGE_LIMIT * 2 }
  const statistic = Math.sqrt(best / stepVariance)
  if (statistic <= CHANGE_LIMIT) return { ...none, statistic }
  return { kind: squares(line) < squares(step) ? 'trend' : 'step', index, countBefore: index, statistic }
}

function lineResiduals(values: readonly number[]): number[] {
  const n = values.length
  const middle = (n - 1) / 2
  let mean = 0
  for (const value of values) mean += (value - values[0]!) / n
  mean += values[0]!
  let slope = 0
  for (let i = 0; i < n; i++) slope += (i - middle) * (values[i]! - mean)
  slope /= (n * (n * n - 1)) / 12
  return values.map((value, i) => value - mean - slope * (i - middle))
}

function longRunVariance(residuals: readonly number[], follows: ArrayLike<number>): number {
  const n = residuals.length
  const [variance, lagOneCovariance] = autocovariances(residuals, 0, new Array<number>(n).fill(1), follows, 1) as [number, number]
  if (!(variance > 0)) return 0
  // Each side has a mean of its own, which follows its values: the bias is that of half as many.
  const lagOne = Math.max(0, Math.min(0.97, unbiasedLagOne(lagOneCovariance / variance, n / 2)))
  return ((variance * n) / Math.max(1, n - 2)) * ((1 + lagOne) / (1 - lagOne))
}

function squares(values: readonly number[]): number {
  let sum = 0
  for (const value of values) sum += value * value
  return sum
}
