import { spreadFactor, widenedLimit } from './baseline.js'
import { shewhartLimit } from './design-limits.js'

/** A CUSUM: reference value and decision limit, both in sigmas of what it sums. */
export interface CusumLimits {
  readonly k: number
  readonly h: number
}

/**
 * Reference values of the CUSUMs of one chart set, in marginal sigmas, and the share of the set's budget each gets;
 * the Shewhart chart gets the rest. Half the shift each is tuned to: small, medium and large.
 */
export const CUSUM_SET: readonly { readonly k: number; readonly budgetShare: number }[] = [
  { k: 0.3, budgetShare: 0.35 },
  { k: 0.6, budgetShare: 0.35 },
  { k: 1.1, budgetShare: 0.2 },
]
const SHEWHART_SHARE = 0.1

/**
 * How much of the likely errors of centre and spread the CUSUM limits are widened for. Simulated over random baselines of
 * 30 to 1,000 values: the false-signal rate averaged over machines is 0.5 to 0.7 of the budget, and the unlucky machine
 * in ten keeps 0.8 of the wanted run length or more. Without widening the average rate at 300 values is 2.2 budgets.
 */
const CENTRE_ERRORS = 1
const SPREAD_ERROR_SHARE = 0.8

/**
 * Decision limit of a two-sided CUSUM for an in-control run length, from Siegmund's approximation of the one-sided run
 * length, (exp(2kb) - 2kb - 1)/(2k^2) with b = h + 1.166. Within 0.03 sigma of the exact limit for k 0.1 to 1.2 and
 * run lengths above 300; quick enough to be solved again at every refit.
 *
 * @param k reference value, sigmas, above 0
 * @param arl0 points between false signals of both sides together, above 2
 * @see Siegmund, Sequential Analysis (1985), 2.52
 */
export function quickCusumLimit(k: number, arl0: number): number {
  if (!(k > 0 && k <= 1e6)) throw new Error(`CUSUM limit: a reference value above 0 and up to 1e6 expected, found ${k}`)
  if (!(arl0 > 2 && arl0 <= 1e15)) throw new Error(`CUSUM limit: a mean run length above 2 and up to 1e15 points expected, found ${arl0}`)
  const target = 2 * arl0 * 2 * k * k
  // Solves exp(u) - u - 1 = target for u = 2kb by Newton's method in log form.
  let u = Math.log(target + 1) + 0.5
  for (let i = 0; i < 30; i++) {
    const right = Math.log(target + u + 1)
    const next = u - (u - right) / (1 - 1 / (target + u + 1))
    if (Math.abs(next - u) < 1e-10) break
    u = next
  }
  return Math.max(0.5, u / (2 * k) - 1.166)
}

/** Limits of a whole chart set for a false-signal budget and a baseline. */
export interface ChartSetLimits {
  /** Shewhart limit, sigmas of the charted statistic. */
  readonly shewhart: number
  readonly cusums: readonly CusumLimits[]
}

/** Never reached: a CUSUM of the set that the baseline is too small for. */
const SILENT: CusumLimits = { k: 1e6, h: 1 }

/** What the limits of a chart set have to allow for. */
export interface ChartSetConditions {
  /** Effective values of the baseline, or undefined where the parameters are known or a self-starting statistic already carries their uncertainty. */
  readonly countEffective: number | undefined
  /** Share of a level shift (in marginal sigmas) that appears in the charted statistic (in its sigmas); 1 without a model. */
  readonly shiftShare: number
  /** Long-run variance of the charted statistic over its variance, 1 or above: what sums of it vary more than sums of independent values. */
  readonly longRunFactor: number
  /** Relative standard error of the long-run standard deviation, where it comes from an estimated autocorrelation; else 0. */
  readonly longRunError: number
}

export const KNOWN_PARAMETERS: ChartSetConditions = { countEffective: undefined, shiftShare: 1, longRunFactor: 1, longRunError: 0 }

/**
 * Limits of Shewhart chart and CUSUMs so that together they give one false signal in `arl0` points, allowing for the
 * size of the baseline and what autocorrelation is left.
 *
 * A small reference value needs a well-known centre: with the centre off by e, a CUSUM behaves as if its reference
 * value were k - e. So k is held above three times the centre's likely error, and h grows by k/(k - e) and by the likely
 * error of the spread; CUSUMs that fall together are used once. The run length of a CUSUM depends on h through
 * 2kh/(long-run variance), so h also grows in proportion to that variance and with the doubt about it.
 */
export function chartSetLimits(arl0: number, charts: readonly ('shewhart' | 'cusum')[], conditions: ChartSetConditions): ChartSetLimits {
  const { shiftShare, longRunFactor, longRunError } = conditions
  if (!(shiftShare > 0 && longRunFactor >= 0 && longRunError >= 0 && shiftShare + longRunFactor + longRunError <= 1e6)) {
    throw new Error(`chart limits: a share of the shift above 0, long-run factor and error of 0 or more expected, found ${shiftShare}, ${longRunFactor} and ${longRunError}`)
  }
  const countEffective = conditions.countEffective === undefined ? undefined : Math.max(2, conditions.countEffective)
  const budget = !charts.includes('cusum') ? 1 : charts.includes('shewhart') ? SHEWHART_SHARE : 0
  const plain = shewhartLimit(budget === 0 ? arl0 : arl0 / budget)
  const shewhart = countEffective === undefined ? plain : widenedLimit(plain, countEffective)
  const cusumTotal = charts.includes('shewhart') ? 1 : 1 - SHEWHART_SHARE
  const error = countEffective === undefined ? 0 : CENTRE_ERRORS / Math.sqrt(countEffective)
  const spreadExcess = countEffective === undefined ? 0 : (1 + SPREAD_ERROR_SHARE * (spreadFactor(countEffective) - 1)) ** 2 - 1
  const longRunExcess = (1 + longRunError) ** 2 - 1
  const cusums: CusumLimits[] = []
  let kBefore = 0
  for (const { k: kWanted, budgetShare } of CUSUM_SET) {
    const kMarginal = Math.max(kWanted, 3 * error)
    if (kMarginal <= kBefore) {
      cusums.push(SILENT)
      continue
    }
    kBefore = kMarginal
    const k = kMarginal * shiftShare
    const centreExcess = kMarginal / (kMarginal - error) - 1
    const widening = 1 + Math.hypot(centreExcess, spreadExcess, longRunExcess)
    cusums.push({ k, h: quickCusumLimit(k, (arl0 * cusumTotal) / budgetShare) * Math.max(1, longRunFactor) * widening })
  }
  return { shewhart, cusums }
}

/**
 * Normal score of a Student t statistic, closed form, odd and monotone; error below 0.02 in the centre and below 2 % far
 * out for 6 and more degrees of freedom. Far tails stay finite where a distribution function would round to 1.
 *
 * @see Wallace, Bounds on normal approximations to Student's and the chi-square distributions, Ann. Math. Stat. 30 (1959) 1121
 */
export function normalScoreOfT(t: number, df: number): number {
  if (!(Math.abs(t) <= 1e150 && df > 0 && df <= 1e15)) throw new Error(`normal score: a t of at most 1e150 and degrees of freedom above 0 expected, found ${t} and ${df}`)
  const z = ((8 * df + 1) / (8 * df + 3)) * Math.sqrt(df * Math.log1p((t * t) / df))
  return t < 0 ? -z : z
}

/** Inverse of `normalScoreOfT`. */
export function tOfNormalScore(z: number, df: number): number {
  if (!(Math.abs(z) <= 1e3 && df >= 1 && df <= 1e15)) throw new Error(`t of a normal score: a score of at most 1e3 and degrees of freedom of 1 or more expected, found ${z} and ${df}`)
  const u = (z * (8 * df + 3)) / (8 * df + 1)
  // beyond 600 the square no longer is a number, nor a t that could occur
  const t = Math.sqrt(df * Math.expm1(Math.min(600, (u * u) / df)))
  return z < 0 ? -t : t
}
