import { shewhartLimit } from './design-limits.js'
import { guaranteedLimits, type BaselineErrors, type LimitedChart } from './guaranteed-limits.js'

/** A CUSUM: reference value and decision limit, both in sigmas of what it sums. */
export interface CusumLimits {
  readonly k: number
  readonly h: number
}

/**
 * Reference values of the CUSUMs of one chart set, in marginal sigmas, and the share of the set's budget each gets;
 * the Shewhart chart gets the rest. Half the shift each is tuned to: small, medium and large. Chosen by simulation for
 * the smallest worst ratio to the best single CUSUM over shifts of 0.5 to 3 sigma at run lengths above 1e5: 1.11.
 */
export const CUSUM_SET: readonly { readonly k: number; readonly budgetShare: number }[] = [
  { k: 0.28, budgetShare: 0.36 },
  { k: 0.57, budgetShare: 0.28 },
  { k: 1.15, budgetShare: 0.28 },
]
const SHEWHART_SHARE = 0.08
/**
 * Charts of one set often signal together, so their shares may add up to more than the budget: by 2.3 n^-0.28, where n is
 * the run length times the square of the share of a shift that is left. Simulated for n of 200 to 1e5 (0.57 to 0.12, standard
 * error 0.02); the sets then keep 1.00 to 1.06 of the run length wanted.
 */
function budgetShared(arl0: number, shiftShare: number): number {
  return 1 + Math.min(0.5, 2.3 * (arl0 * Math.min(1, shiftShare * shiftShare)) ** -0.28)
}

/** The centre may be off by so many standard errors: reference values grow by half of it, which costs least delay. */
const CENTRE_ERRORS = 1.5

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

/** What the limits of a chart set have to allow for. */
export interface ChartSetConditions {
  /** Errors of the baseline, or undefined where the parameters are known or a self-starting statistic already carries their uncertainty. */
  readonly errors: BaselineErrors | undefined
  /** Share of a level shift (in marginal sigmas) that appears in the charted statistic (in its sigmas); 1 without a model. */
  readonly shiftShare: number
}

export const KNOWN_PARAMETERS: ChartSetConditions = { errors: undefined, shiftShare: 1 }

/**
 * Limits of Shewhart chart and CUSUMs so that together they give one false signal in `arl0` points: with known
 * parameters by shares of the budget, with an estimated baseline so that nine baselines in ten keep the promise.
 */
export function chartSetLimits(arl0Wanted: number, charts: readonly ('shewhart' | 'cusum')[], conditions: ChartSetConditions): ChartSetLimits {
  const { errors, shiftShare } = conditions
  if (!(shiftShare > 0 && shiftShare <= 1e6)) throw new Error(`chart limits: a share of the shift above 0 expected, found ${shiftShare}`)
  const summed = charts.includes('cusum')
  const arl0 = summed ? Math.max(3, arl0Wanted / budgetShared(arl0Wanted, shiftShare)) : arl0Wanted
  const shewhartShare = !summed ? 1 : charts.includes('shewhart') ? SHEWHART_SHARE : 0
  const cusumTotal = charts.includes('shewhart') ? 1 : 1 - SHEWHART_SHARE
  const centreError = errors === undefined ? 0 : CENTRE_ERRORS / Math.sqrt(errors.valueCount)
  const sums = CUSUM_SET.map(({ k, budgetShare }) => {
    const reference = k * shiftShare + centreError / 2
    const share = budgetShare / cusumTotal
    return { chart: { kind: 'cusum', k: reference } as LimitedChart, k: reference, share, guess: quickCusumLimit(reference, arl0 / share) }
  })
  const shewhart = { chart: { kind: 'shewhart' } as LimitedChart, share: shewhartShare, guess: shewhartLimit(shewhartShare === 0 ? arl0 : arl0 / shewhartShare) }
  if (errors === undefined) return { shewhart: shewhart.guess, cusums: sums.map(({ k, guess }) => ({ k, h: guess })) }
  const used = [...(shewhartShare > 0 ? [shewhart] : []), ...(summed ? sums : [])]
  const limits = guaranteedLimits(arl0, used, errors)
  const [value, sumLimits] = shewhartShare > 0 ? [limits[0]!, limits.slice(1)] : [shewhart.guess, limits]
  return { shewhart: value, cusums: sums.map(({ k, guess }, i) => ({ k, h: sumLimits[i] ?? guess })) }
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
