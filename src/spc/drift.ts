import { type TooFewValues } from './autocorrelation.js'
import { fitLine, type Interval, type LineFit } from './linear-regression.js'
import { studentTCdf, studentTQuantile } from './special-functions.js'

const MS_PER_DAY = 86_400_000
const POINTS_MIN = 10
/** A date is given only if P90 is at most so many times P10 … */
const SPREAD_MAX = 4
/** … and the median lies no further ahead than so many times the drift observed so far. */
const HORIZON_MAX = 2

export interface DriftPoint {
  readonly timeMs: number
  readonly value: number
}

/** A slope with an interval that owns up to autocorrelation. Slopes are per day, in the unit of the values. */
export interface Drift {
  readonly kind: 'drift'
  readonly slopePerDay: number
  /** 95 %. */
  readonly slopeInterval: Interval
  /** 0 lies outside the interval. */
  readonly slopeIsClear: boolean
  /** Level of the line at the last point. */
  readonly level: number
  /** Lag-1 autocorrelation of what the line leaves, freed of its small-sample bias; not below 0. */
  readonly lagOne: number
  /** Number of independent points the points are worth. */
  readonly effectiveCount: number
  readonly spanMs: number
}

export interface NoSpanInTime {
  readonly kind: 'no-span'
}

interface Line {
  readonly fit: LineFit
  readonly lastDay: number
  readonly lagOne: number
  readonly widening: number
  readonly degreesOfFreedom: number
}

function lineOf(points: readonly DriftPoint[]): Line | TooFewValues | NoSpanInTime {
  if (points.length < POINTS_MIN) return { kind: 'too-few-values', valueCount: points.length, valueCountMin: POINTS_MIN }
  const origin = points[0]!.timeMs
  for (let i = 1; i < points.length; i++) {
    if (!(points[i]!.timeMs >= points[i - 1]!.timeMs)) throw new Error(`drift: expected points in time order, but point ${i} is earlier than the one before`)
  }
  const days = points.map((point) => (point.timeMs - origin) / MS_PER_DAY)
  const fit = fitLine(points.map((point, i) => ({ x: days[i]!, y: point.value })))
  if (fit.kind !== 'line') return fit
  const residuals = points.map((point, i) => point.value - fit.yMean - fit.slope * (days[i]! - fit.xMean))
  const lagOne = residualLagOne(residuals)
  const widening = (1 + lagOne) / (1 - lagOne)
  return { fit, lastDay: days[days.length - 1]!, lagOne, widening, degreesOfFreedom: Math.max(2, points.length / widening - 2) }
}

/** Fitting a line lowers the lag-1 autocorrelation of what is left by (2 + 4 phi) / n to first order; this gives it back. */
function residualLagOne(residuals: readonly number[]): number {
  let total = 0
  let product = 0
  residuals.forEach((value, i) => {
    total += value * value
    if (i > 0) product += value * residuals[i - 1]!
  })
  if (!(total > 0)) return 0
  const n = residuals.length
  return Math.min(0.97, Math.max(0, ((n * product) / total + 2) / (n - 4)))
}

/**
 * Slope of the values with a 95 % interval that holds for autocorrelated values too: the standard error of least squares
 * times sqrt((1 + phi) / (1 - phi)), and no more degrees of freedom than the points are worth.
 *
 * @param points in time order, at least 10, about evenly spaced
 */
export function estimateDrift(points: readonly DriftPoint[]): Drift | TooFewValues | NoSpanInTime {
  const line = lineOf(points)
  if ('kind' in line) return line
  const { fit, lastDay, lagOne, widening, degreesOfFreedom } = line
  const half = studentTQuantile(0.975, degreesOfFreedom) * fit.slopeSe * Math.sqrt(widening)
  return {
    kind: 'drift',
    slopePerDay: fit.slope,
    slopeInterval: { lower: fit.slope - half, upper: fit.slope + half },
    slopeIsClear: Math.abs(fit.slope) > half,
    level: fit.yMean + fit.slope * (lastDay - fit.xMean),
    lagOne,
    effectiveCount: points.length / widening,
    spanMs: points[points.length - 1]!.timeMs - points[0]!.timeMs,
  }
}

export type TimeToLimit =
  | {
      readonly kind: 'time-to-limit'
      /** From the last point until the line passes the limit: with 10, 50 and 90 % probability no later than this. */
      readonly p10Ms: number
      readonly p50Ms: number
      readonly p90Ms: number
    }
  /** It moves towards the limit, but a date would only look exact; `because` names the rule that forbids it. */
  | { readonly kind: 'rising-too-early-to-date' | 'falling-too-early-to-date'; readonly because: 'interval-too-wide' | 'further-ahead-than-seen' }
  | { readonly kind: 'no-clear-drift' }
  | { readonly kind: 'moving-away' }
  | { readonly kind: 'beyond-already' }

/**
 * When a drifting value passes its limit. Speaks only if the slope is clear, P90 is at most 4 times P10, and the median
 * is no further ahead than twice the drift observed: a line drawn far beyond its data is a guess.
 *
 * @param limit in the unit of the values; it is passed upwards where it lies above the first values, else downwards
 * @param side which way the limit is passed
 */
export function timeToLimit(points: readonly DriftPoint[], limit: number, side: 'above' | 'below'): TimeToLimit | TooFewValues | NoSpanInTime {
  if (!Number.isFinite(limit)) throw new Error(`time to limit: expected a finite limit, got ${limit}`)
  const drift = estimateDrift(points)
  if (drift.kind !== 'drift') return drift
  const sign = side === 'above' ? 1 : -1
  if ((drift.level - limit) * sign >= 0) return { kind: 'beyond-already' }
  if (!drift.slopeIsClear) return { kind: 'no-clear-drift' }
  if (drift.slopePerDay * sign < 0) return { kind: 'moving-away' }
  const kind = side === 'above' ? 'rising-too-early-to-date' : 'falling-too-early-to-date'
  const quantile = (share: number): number => passingTime(points, { limit, sign, share })
  const [p10Ms, p50Ms, p90Ms] = [quantile(0.1), quantile(0.5), quantile(0.9)]
  if (!(p10Ms > 0 && p90Ms <= SPREAD_MAX * p10Ms)) return { kind, because: 'interval-too-wide' }
  if (p50Ms > HORIZON_MAX * drift.spanMs) return { kind, because: 'further-ahead-than-seen' }
  return { kind: 'time-to-limit', p10Ms, p50Ms, p90Ms }
}

/**
 * Probability that the line has passed the limit at a time, e.g. the next planned stop.
 * @returns 0-1, or a reason
 */
export function probabilityBeyond(points: readonly DriftPoint[], limit: number, side: 'above' | 'below', atMs: number): { readonly kind: 'probability'; readonly probability: number } | TooFewValues | NoSpanInTime {
  const line = lineOf(points)
  if ('kind' in line) return line
  const day = (atMs - points[0]!.timeMs) / MS_PER_DAY
  return { kind: 'probability', probability: shareBeyond(line, { limit, sign: side === 'above' ? 1 : -1, day }) }
}

function shareBeyond(line: Line, at: { readonly limit: number; readonly sign: number; readonly day: number }): number {
  const { fit, widening, degreesOfFreedom } = line
  const distance = at.day - fit.xMean
  const se = fit.residualSigma * Math.sqrt(widening * (1 / fit.n + (distance * distance) / fit.sxx))
  const ahead = (fit.yMean + fit.slope * distance - at.limit) * at.sign
  if (se === 0) return ahead > 0 ? 1 : 0
  return studentTCdf(ahead / se, degreesOfFreedom)
}

/** Time from the last point at which the line has passed the limit with probability `share`; Infinity where it never has. */
function passingTime(points: readonly DriftPoint[], wanted: { readonly limit: number; readonly sign: number; readonly share: number }): number {
  const line = lineOf(points)
  if ('kind' in line) return Infinity
  const beyond = (ahead: number): boolean => shareBeyond(line, { limit: wanted.limit, sign: wanted.sign, day: line.lastDay + ahead }) >= wanted.share
  if (beyond(0)) return 0
  let high = Math.max(line.lastDay, 1e-9)
  let low = 0
  while (!beyond(high)) {
    low = high
    high *= 2
    if (high > 1e6 * line.lastDay) return Infinity
  }
  for (let step = 0; step < 60; step++) {
    const mid = 0.5 * (low + high)
    if (beyond(mid)) high = mid
    else low = mid
  }
  return high * MS_PER_DAY
}
