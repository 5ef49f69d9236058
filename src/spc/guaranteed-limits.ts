import { normalQuantile, normalUpperTail } from './special-functions.js'

/**
 * Limits that keep their promise on an estimated baseline (guaranteed conditional performance): a parametric bootstrap
 * without chance. What the centre, the spread and the autocorrelation may truly be, given their estimates, is spread
 * over a fixed set of points; the run length of every chart at each of them follows in closed form; the limits are those
 * at which nine baselines in ten keep the run length promised for the whole set.
 *
 * @see Gandy and Kvaloy, Guaranteed conditional performance of control charts via bootstrap methods, Scand. J. Stat. 40 (2013) 647
 */
export interface BaselineErrors {
  /** Values behind the centre; they may be correlated, see `lagLeft` and `lagError`. At least 2. */
  readonly valueCount: number
  /** Degrees of freedom of the spread, at least 1. */
  readonly spreadCount: number
  /** Autocorrelation that the charted statistic still carries (sum of autoregressive weights left), -1 to 1. */
  readonly lagLeft: number
  /** Standard error of that sum, as a share of what a level shift leaves in the statistic; 0 or more. */
  readonly lagError: number
}

/** One chart of a set: the sum with reference value `k`, or a Shewhart chart. Limits in sigmas of the statistic. */
export type LimitedChart = { readonly kind: 'shewhart' } | { readonly kind: 'cusum'; readonly k: number }

/** Share of baselines that keep the promised run length. */
const GUARANTEE = 0.9
const POINT_COUNT = 240
/** The sum of autoregressive weights is not believed to be nearer to one than this share of what was estimated. */
const SHARE_LEFT_MIN = 0.15
const LIMIT_MIN = 0.5
/** The search for a limit: steps at most, sigmas a step, relative error of the rate that will do, least slope believed. */
const STEPS_MAX = 25
const STEP_MAX = 20
const RATE_TOLERANCE = 0.002
const SLOPE_MIN = 1e-3
/** Most by which the shares of a set are scaled together, as a logarithm. */
const SCALE_MAX = 3
/** Overshoot beyond the limit, in standard deviations of the increments (Siegmund). */
const OVERSHOOT = 1.166

interface ErrorPoint {
  readonly centre: number
  readonly spread: number
  readonly lag: number
}

/** Halton points (bases 2, 3, 5) as normal scores: evenly spread, the same in every run. */
const ERROR_POINTS: readonly ErrorPoint[] = Array.from({ length: POINT_COUNT }, (_, i) => ({
  centre: normalQuantile(radicalInverse(i + 1, 2)),
  spread: normalQuantile(radicalInverse(i + 1, 3)),
  lag: normalQuantile(radicalInverse(i + 1, 5)),
}))

function radicalInverse(index: number, base: number): number {
  let inverse = 0
  let digit = 1 / base
  for (let rest = index; rest > 0; rest = Math.floor(rest / base)) {
    inverse += (rest % base) * digit
    digit /= base
  }
  return inverse
}

/** What the statistic, in sigmas as estimated, may truly be: its mean, its standard deviation, and that of its sums. */
interface TrueStatistic {
  readonly mean: number
  readonly sd: number
  readonly longRunSd: number
}

function possibleStatistics(errors: BaselineErrors): readonly TrueStatistic[] {
  const { valueCount, spreadCount, lagLeft, lagError } = errors
  if (!(valueCount >= 2 && valueCount <= 1e12 && spreadCount >= 1 && spreadCount <= 1e12)) throw new Error(`limits: a baseline of 2 to 1e12 values and a spread of 1 to 1e12 degrees of freedom expected, found ${valueCount} and ${spreadCount}`)
  if (!(Math.abs(lagLeft) <= 1 && lagError >= 0 && lagError <= 1e6)) throw new Error(`limits: an autocorrelation left of -1 to 1 and an error of 0 or more expected, found ${lagLeft} and ${lagError}`)
  const wilsonHilferty = 2 / (9 * spreadCount)
  return ERROR_POINTS.map((point) => {
    // Chi-square over its degrees of freedom; its inverse root is how much larger the true spread is than the estimate.
    const ratio = Math.max(0.02, 1 - wilsonHilferty + point.spread * Math.sqrt(wilsonHilferty)) ** 3
    const sd = 1 / Math.sqrt(ratio)
    // Negative correlation would make sums vary less; it is not counted in our favour.
    const gain = Math.max(1, 1 / Math.max(SHARE_LEFT_MIN, 1 - lagLeft - lagError * point.lag))
    const longRunSd = gain * sd
    return { mean: (longRunSd * point.centre) / Math.sqrt(valueCount), sd, longRunSd }
  })
}

/** Signals per point of one side of a sum, from Siegmund's approximation of the run length (both signs of the drift). */
function sumRate(reference: number, limit: number, sd: number): number {
  const drift = reference / sd
  const u = 2 * drift * (limit / sd + OVERSHOOT)
  if (Math.abs(u) < 1e-4) return 1 / (limit / sd + OVERSHOOT) ** 2
  const excess = u > 500 ? Math.exp(500) : Math.expm1(u) - u
  return (2 * drift * drift) / excess
}

function signalRate(chart: LimitedChart, limit: number, truth: TrueStatistic): number {
  const { mean, sd, longRunSd } = truth
  if (chart.kind === 'shewhart') return normalUpperTail((limit - mean) / sd) + normalUpperTail((limit + mean) / sd)
  return sumRate(chart.k - mean, limit, longRunSd) + sumRate(chart.k + mean, limit, longRunSd)
}

/** The rate that nine possible truths in ten do not exceed. */
function guaranteedRate(rates: Float64Array): number {
  rates.sort()
  const at = GUARANTEE * rates.length - 0.5
  const below = Math.floor(at)
  return rates[below]! + (at - below) * (rates[below + 1]! - rates[below]!)
}

/**
 * Limits of a set of charts so that all together give at most one signal in `arl0` points on nine baselines in ten.
 *
 * Each chart first gets the limit that keeps its own share of the budget on nine baselines in ten; the shares are then
 * scaled until the set as a whole does, for the baseline that is unlucky for one chart is not the one that is for another.
 *
 * @param arl0 points between two false signals of the whole set, above 2
 * @param charts with the share of the budget each gets, and a first guess of its limit
 * @returns one limit a chart, in sigmas of the statistic as estimated
 */
export function guaranteedLimits(arl0: number, charts: readonly { readonly chart: LimitedChart; readonly share: number; readonly guess: number }[], errors: BaselineErrors): number[] {
  if (!(arl0 > 2 && arl0 <= 1e15)) throw new Error(`limits: a mean run length above 2 and up to 1e15 points expected, found ${arl0}`)
  for (const { chart, share, guess } of charts) {
    if (!(share > 0 && share <= 1 && guess > 0 && guess <= 1e6)) throw new Error(`limits: a share above 0 and up to 1 and a first guess above 0 and up to 1e6 expected, found ${share} and ${guess}`)
    if (chart.kind === 'cusum' && !(chart.k > 0 && chart.k <= 1e6)) throw new Error(`limits: a reference value above 0 and up to 1e6 expected, found ${chart.k}`)
  }
  const truths = possibleStatistics(errors)
  const rates = new Float64Array(truths.length)
  const ownRate = (chart: LimitedChart, limit: number): number => {
    for (let i = 0; i < truths.length; i++) rates[i] = signalRate(chart, limit, truths[i]!)
    return guaranteedRate(rates)
  }
  const own = charts.map(({ chart, share, guess }) => limitForRate((limit) => ownRate(chart, limit), share / arl0, guess, LIMIT_MIN))
  const limitsAt = (scale: number): number[] => own.map(({ limit, slope }) => Math.max(LIMIT_MIN, limit + scale / slope))
  const whole = limitForRate(
    (scale) => {
      const limits = limitsAt(scale)
      for (let i = 0; i < truths.length; i++) {
        let rate = 0
        for (let j = 0; j < charts.length; j++) rate += signalRate(charts[j]!.chart, limits[j]!, truths[i]!)
        rates[i] = rate
      }
      return guaranteedRate(rates)
    },
    1 / arl0,
    0,
    -SCALE_MAX,
  )
  return limitsAt(whole.limit)
}

/** Where the logarithm of a falling rate meets the wanted one, by secants; `slope` is its fall per unit there, above 0. */
function limitForRate(rateAt: (limit: number) => number, wanted: number, guess: number, least: number): { readonly limit: number; readonly slope: number } {
  const target = -Math.log(wanted)
  let before = guess
  let reachedBefore = -Math.log(rateAt(before))
  let limit = Math.max(least, before + (reachedBefore < target ? 0.2 : -0.2))
  let slope = 1
  for (let step = 0; step < STEPS_MAX && limit !== before; step++) {
    const reached = -Math.log(rateAt(limit))
    const measured = (reached - reachedBefore) / (limit - before)
    if (measured > SLOPE_MIN) slope = measured
    before = limit
    reachedBefore = reached
    if (Math.abs(reached - target) <= RATE_TOLERANCE) break
    limit = Math.max(least, limit + Math.max(-STEP_MAX, Math.min(STEP_MAX, (target - reached) / slope)))
  }
  return { limit, slope }
}
