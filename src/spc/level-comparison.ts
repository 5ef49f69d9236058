import { effectiveCount, meanOf, requireFinite } from './autocorrelation.js'
import { fitLine } from './linear-regression.js'
import { studentTQuantile, studentTTails } from './special-functions.js'

/** Where a stretch of evenly spaced values stands, and how surely: the mean, or the end of a line where it drifts. */
export interface Level {
  readonly level: number
  /** Standard error of `level`, autocorrelation owned up to. */
  readonly se: number
  readonly degreesOfFreedom: number
  /** Independent values the stretch is worth. */
  readonly effectiveCount: number
  /** Spread about the mean or the line. */
  readonly sd: number
  readonly lagOne: number
  /** Whether the level is that at the end of a drift. */
  readonly drifts: boolean
}

export interface LevelOptions {
  /**
   * Standard deviation the process is known to have when nothing changes, and the degrees of freedom it rests on. The
   * spread is then never taken for smaller, and the autocorrelation comes from the steps between neighbours beside it,
   * which short stretches and jumps inside one do not spoil.
   */
  readonly known?: { readonly sd: number; readonly degreesOfFreedom: number }
  /** Smallest spread taken to be true, in the unit of the values; default 0. */
  readonly sdMin?: number
  /** `end`: where the stretch drifts significantly, the level at its last value; default `mean`. */
  readonly at?: 'mean' | 'end'
}

/** Two-sided significance at which a slope is taken for a drift [ASM]. */
const DRIFT_ALPHA = 0.01
const DRIFT_COUNT_MIN = 8
/** Short stretches tell little of their autocorrelation; beyond this they would be worth next to nothing. */
const LAG_ONE_MAX = 0.9

/**
 * @param values in time order, two or more
 * @throws Error on fewer than two values or one that is not finite
 */
export function levelOf(values: readonly number[], { sdMin = 0, at = 'mean', known }: LevelOptions = {}): Level {
  requireFinite('level', values)
  if (values.length < 2) throw new Error(`level: expected two values or more, got ${values.length}`)
  const mean = meanOf(values)
  const flat = describe(values.map((value) => value - mean), 1, sdMin)
  const steps = known === undefined ? 0 : lagOneBeside(values, known.sd)
  const drift = at === 'end' && values.length >= DRIFT_COUNT_MIN ? endOfDrift(values, sdMin, steps) : undefined
  if (drift !== undefined) return drift
  if (known !== undefined) return besideKnown(values, mean, flat.sd, known)
  return { level: mean, se: flat.sd / Math.sqrt(flat.effective), degreesOfFreedom: Math.max(1, flat.effective - 1), effectiveCount: flat.effective, sd: flat.sd, lagOne: flat.lagOne, drifts: false }
}

/** A level of a process whose spread is known: no stretch is worth less than one value of it. */
function besideKnown(values: readonly number[], mean: number, ownSd: number, known: { readonly sd: number; readonly degreesOfFreedom: number }): Level {
  const sd = Math.max(known.sd, ownSd)
  const lagOne = lagOneBeside(values, known.sd)
  const effective = Math.max(1, effectiveCount(values.length, lagOne).forMean)
  return { level: mean, se: sd / Math.sqrt(effective), degreesOfFreedom: ownSd <= known.sd ? Math.max(1, known.degreesOfFreedom) : Math.max(1, values.length - 1), effectiveCount: effective, sd, lagOne, drifts: false }
}

/** Lag-1 autocorrelation from the steps between neighbours of a process of known spread: steps have the variance 2 sd^2 (1 - phi). */
function lagOneBeside(values: readonly number[], sd: number): number {
  let squares = 0
  for (let i = 1; i < values.length; i += 1) squares += (values[i]! - values[i - 1]!) ** 2
  return Math.min(LAG_ONE_MAX, Math.max(0, 1 - squares / (values.length - 1) / (2 * sd * sd)))
}

/** Level at the last value, where a line fits with a slope beyond doubt; undefined where there is no drift. */
function endOfDrift(values: readonly number[], sdMin: number, lagOneMin: number): Level | undefined {
  const points = values.map((y, x) => ({ x, y }))
  const fit = fitLine(points)
  if (fit.kind !== 'line') return undefined
  const about = describe(points.map(({ x, y }) => y - fit.intercept - fit.slope * x), 2, sdMin, lagOneMin)
  const centre = (values.length - 1) / 2
  const spread = points.reduce((sum, { x }) => sum + (x - centre) ** 2, 0)
  const widening = values.length / about.effective
  const degreesOfFreedom = Math.max(1, about.effective - 2)
  const t = fit.slope / (about.sd * Math.sqrt(widening / spread))
  const tails = studentTTails(t, degreesOfFreedom)
  if (!(2 * Math.min(tails.lower, tails.upper) < DRIFT_ALPHA)) return undefined
  const last = values.length - 1
  const se = about.sd * Math.sqrt(widening * (1 / values.length + (last - centre) ** 2 / spread))
  return { level: fit.intercept + fit.slope * last, se, degreesOfFreedom, effectiveCount: about.effective, sd: about.sd, lagOne: about.lagOne, drifts: true }
}

/** @param parameters fitted to the values the residuals are of: 1 a mean, 2 a line */
function describe(residuals: readonly number[], parameters: 1 | 2, sdMin: number, lagOneMin = 0): { sd: number; lagOne: number; effective: number } {
  const count = residuals.length
  let squares = 0
  let products = 0
  residuals.forEach((residual, i) => {
    squares += residual * residual
    if (i > 0) products += residual * residuals[i - 1]!
  })
  const raw = squares > 0 ? products / squares : 0
  // fitting lowers the lag-1 autocorrelation by (1 + 3 phi) / n for a mean, (2 + 4 phi) / n for a line, to first order;
  // given back only where there is some, so that independent values stay independent
  const corrected = raw > 0 ? raw + (parameters === 1 ? 1 + 3 * raw : 2 + 4 * raw) / count : raw
  const noise = 1 / Math.sqrt(count)
  const lagOne = Math.max(lagOneMin, raw > noise ? Math.min(LAG_ONE_MAX, corrected) : 0)
  const effective = Math.max(Math.min(count, 2), effectiveCount(count, lagOne).forMean)
  return { sd: Math.max(sdMin, Math.sqrt(squares / Math.max(1, count - parameters))), lagOne, effective }
}

/** Difference of two levels: the second less the first. */
export interface LevelComparison {
  readonly difference: number
  readonly se: number
  readonly degreesOfFreedom: number
}

/**
 * @param between standard deviation with which a level differs from one stretch to the next though nothing has changed,
 *   in the unit of the values; default 0
 */
export function compareLevels(first: Level, second: Level, between = 0): LevelComparison {
  const parts = [first.se ** 2, second.se ** 2]
  const variance = parts[0]! + parts[1]! + 2 * between * between
  const own = parts[0]! + parts[1]!
  const degreesOfFreedom = own > 0 ? own ** 2 / (parts[0]! ** 2 / first.degreesOfFreedom + parts[1]! ** 2 / second.degreesOfFreedom) : first.degreesOfFreedom + second.degreesOfFreedom
  return { difference: second.level - first.level, se: Math.sqrt(variance), degreesOfFreedom }
}

/** Probability, if the true difference were `than`, of one as large as was seen or larger; small: the difference is above `than`. */
export function chanceNotAbove({ difference, se, degreesOfFreedom }: LevelComparison, than: number): number {
  return se > 0 ? studentTTails((difference - than) / se, degreesOfFreedom).upper : difference > than ? 0 : 1
}

/** The same from the other side; small: the difference is below `than`. */
export function chanceNotBelow({ difference, se, degreesOfFreedom }: LevelComparison, than: number): number {
  return se > 0 ? studentTTails((difference - than) / se, degreesOfFreedom).lower : difference < than ? 0 : 1
}

/** The larger p of the two one-sided tests that the difference lies within +/- margin: equivalent where it is below alpha. */
export function equivalenceP(comparison: LevelComparison, margin: number): number {
  if (!(margin > 0)) throw new Error(`equivalence of levels: expected a margin above 0, got ${margin}`)
  return Math.max(chanceNotAbove(comparison, -margin), chanceNotBelow(comparison, margin))
}

/** Interval of the difference. */
export function differenceInterval({ difference, se, degreesOfFreedom }: LevelComparison, confidence: number): { readonly lower: number; readonly upper: number } {
  const half = studentTQuantile(0.5 + confidence / 2, degreesOfFreedom) * se
  return { lower: difference - half, upper: difference + half }
}
