import { chiSquareUpperTail, studentTQuantile } from './special-functions.js'

/** What the chart of a sister (the same feature under another recipe) has learned, charting units. */
export interface SisterBaseline {
  readonly centre: number
  /** Marginal standard deviation, above 0. */
  readonly sigma: number
  /** Lag-1 autocorrelation, -1 to 1. */
  readonly lagOne: number
  /** Effective values behind it, 2 or more. */
  readonly n: number
}

/** What the sisters say about one that has learned nothing yet. Plain JSON. */
export interface PooledBaseline {
  readonly kind: 'pooled'
  /** Centre expected of a new sister. */
  readonly centre: number
  readonly sigma: number
  readonly lagOne: number
  /** Values of its own the expected centre is worth: variance within over variance between, the doubt about the latter included. */
  readonly kappa: number
  /** Degrees of freedom of `sigma`. */
  readonly spreadCount: number
  /** Standard error of `lagOne` for a new sister. */
  readonly lagOneError: number
  readonly sisterCount: number
}

export interface NoPool {
  readonly kind: 'no-pool'
  /** One sister says nothing about how much they differ; unequal spreads are no common spread. */
  readonly reason: 'too-few-sisters' | 'unequal-spread'
}

const SISTERS_MIN = 2
/** Bartlett's test rejects a common spread below this probability. */
const EQUAL_SPREAD_P = 0.01

/**
 * Pools the baselines of sister charts for a new one: random effects, by moments. The centre expected is the mean of the
 * sisters' centres, each weighted by what it is known to; how far a new one may lie from it is the variance between them
 * (and of their mean), widened to Student's t for their small number. A common spread is taken only where Bartlett's test
 * does not reject it.
 *
 * @throws Error on a baseline that is not finite, of sigma 0 or below, or of fewer than 2 values
 * @see Robinson, That BLUP is a good thing, Statist. Sci. 6 (1991) 15; DerSimonian and Laird, Controlled Clinical Trials 7 (1986) 177
 */
export function poolBaselines(sisters: readonly SisterBaseline[]): PooledBaseline | NoPool {
  for (const { centre, sigma, lagOne, n } of sisters) {
    if (!(Math.abs(centre) < 1e100 && sigma > 0 && sigma < 1e100 && Math.abs(lagOne) <= 1 && n >= 2 && n <= 1e12)) {
      throw new Error(`pooled baseline: a finite centre, a sigma above 0, a lag-1 autocorrelation of -1 to 1 and 2 or more values expected, found ${centre}, ${sigma}, ${lagOne} and ${n}`)
    }
  }
  const sisterCount = sisters.length
  if (sisterCount < SISTERS_MIN) return { kind: 'no-pool', reason: 'too-few-sisters' }
  const spreadCount = sisters.reduce((sum, { n }) => sum + n - 1, 0)
  const variance = sisters.reduce((sum, { n, sigma }) => sum + ((n - 1) / spreadCount) * sigma * sigma, 0)
  if (bartlettP(sisters, variance, spreadCount) < EQUAL_SPREAD_P) return { kind: 'no-pool', reason: 'unequal-spread' }

  const zero = sisters[0]!.centre
  const plainMean = sisters.reduce((sum, { centre }) => sum + (centre - zero), 0) / sisterCount
  const ofMeans = sisters.reduce((sum, { centre }) => sum + (centre - zero - plainMean) ** 2, 0) / (sisterCount - 1)
  const ofEstimates = sisters.reduce((sum, { n }) => sum + variance / n, 0) / sisterCount
  const between = Math.max(0, ofMeans - ofEstimates)
  let weightSum = 0
  let weighted = 0
  for (const { centre, n } of sisters) {
    const weight = 1 / (between + variance / n)
    weightSum += weight
    weighted += weight * (centre - zero)
  }
  // Two sisters a little apart may be two of a family far apart: Student's t for what a new one may be, as a normal one of equal reach.
  const doubt = (studentTQuantile(0.9, sisterCount - 1) / Z_90) ** 2
  // Even equal centres do not prove that there is nothing between: as much as their own errors could hide is allowed for.
  const apart = doubt * (Math.max(between, ofEstimates / sisterCount) + 1 / weightSum)
  const lagOne = sisters.reduce((sum, sister) => sum + sister.lagOne, 0) / sisterCount
  const lagBetween = sisters.reduce((sum, sister) => sum + (sister.lagOne - lagOne) ** 2, 0) / (sisterCount - 1)
  return { kind: 'pooled', centre: zero + weighted / weightSum, sigma: Math.sqrt(variance), lagOne, kappa: variance / apart, spreadCount, lagOneError: Math.sqrt(doubt * lagBetween + 1 / spreadCount), sisterCount }
}

const Z_90 = 1.2815515655446004

/** Bartlett's test of equal variances, from the variances and their degrees of freedom. */
function bartlettP(sisters: readonly SisterBaseline[], variance: number, spreadCount: number): number {
  let statistic = spreadCount * Math.log(variance)
  let inverse = 0
  for (const { n, sigma } of sisters) {
    statistic -= (n - 1) * Math.log(sigma * sigma)
    inverse += 1 / (n - 1)
  }
  const groups = sisters.length - 1
  return chiSquareUpperTail(Math.max(0, statistic / (1 + (inverse - 1 / spreadCount) / (3 * groups))), groups)
}

/** A centre drawn towards the sisters', and what it is worth. */
export interface ShrunkCentre {
  readonly centre: number
  /** Values of its own that would fix the centre as well: n + kappa. */
  readonly valueCount: number
}

/**
 * (n mean + kappa pooled)/(n + kappa): a new one begins at what its sisters are and ends at its own mean.
 *
 * @param mean of `n` values of its own; anything finite where n is 0
 * @param n effective values, 0 or more
 * @throws Error if a number is not finite or negative where it may not be
 */
export function shrunkCentre(mean: number, n: number, pool: { readonly centre: number; readonly kappa: number }): ShrunkCentre {
  const { centre, kappa } = pool
  if (!(Math.abs(mean) < 1e100 && n >= 0 && n <= 1e12 && Math.abs(centre) < 1e100 && kappa > 0 && kappa <= 1e15)) {
    throw new Error(`shrunk centre: finite means, 0 or more values and a kappa above 0 expected, found ${mean}, ${n}, ${centre} and ${kappa}`)
  }
  return { centre: centre + (n / (n + kappa)) * (mean - centre), valueCount: n + kappa }
}
