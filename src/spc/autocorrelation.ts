import { chiSquareUpperTail } from './special-functions.js'

/** Too few values to say anything. */
export interface TooFewValues {
  readonly kind: 'too-few-values'
  readonly valueCount: number
  readonly valueCountMin: number
}

/** All values alike: there is no variation to describe. */
export interface NoVariation {
  readonly kind: 'no-variation'
}

export interface Autocorrelations {
  readonly kind: 'autocorrelations'
  /** Lag 0 (always 1) to the highest lag asked for, -1 to 1. */
  readonly lags: readonly number[]
}

/** Outcome of a portmanteau test for autocorrelation. */
export interface PortmanteauTest {
  readonly kind: 'portmanteau-test'
  readonly statistic: number
  readonly degreesOfFreedom: number
  /** Probability of a statistic this large from independent values. */
  readonly p: number
}

/** x_t - mean = sum of weights_j (x_t-j - mean) + noise. */
export interface AutoregressiveFit {
  readonly kind: 'autoregressive-fit'
  /** Newest first; empty for order 0. */
  readonly weights: readonly number[]
  readonly mean: number
  /** Variance of what is left unpredicted. */
  readonly residualVariance: number
}

/** @throws Error if a value is not finite or too large to be squared */
export function requireFinite(name: string, values: readonly number[]): void {
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!
    if (!(Math.abs(value) <= 1e150)) throw new Error(`${name}: expected finite values (at most 1e150 in size), got ${value} at position ${i}`)
  }
}

function tooFew(values: readonly number[], valueCountMin: number): TooFewValues {
  return { kind: 'too-few-values', valueCount: values.length, valueCountMin }
}

/** Mean taken about the first value, so that a large level does not cost digits. */
export function meanOf(values: readonly number[]): number {
  const first = values[0] ?? 0
  let sum = 0
  for (const value of values) sum += value - first
  return first + sum / values.length
}

/** Whether the sum of squares about the mean is no more than rounding leaves. */
function isFlat(values: readonly number[], mean: number, sumSquares: number): boolean {
  const largest = values.reduce((most, value) => Math.max(most, Math.abs(value)), Math.abs(mean))
  return !(sumSquares > values.length * (4e-16 * largest) ** 2)
}

/** Sums of products about the mean, lag 0 to `lagMax`. */
function lagSums(values: readonly number[], mean: number, lagMax: number): number[] {
  const sums: number[] = []
  for (let lag = 0; lag <= lagMax; lag++) {
    let sum = 0
    for (let i = lag; i < values.length; i++) sum += (values[i]! - mean) * (values[i - lag]! - mean)
    sums.push(sum)
  }
  return sums
}

/**
 * Autocorrelations with the divisor n at every lag (the usual estimate; never outside -1 to 1).
 *
 * @param values in time order, evenly spaced
 * @throws Error on values that are not finite, or a lag that is not a whole number of 0 or more
 */
export function autocorrelations(values: readonly number[], lagMax: number): Autocorrelations | TooFewValues | NoVariation {
  if (!(Number.isInteger(lagMax) && lagMax >= 0)) throw new Error(`autocorrelations: expected a whole number of lags of 0 or more, got ${lagMax}`)
  requireFinite('autocorrelations', values)
  if (values.length < lagMax + 2) return tooFew(values, lagMax + 2)
  const mean = meanOf(values)
  const sums = lagSums(values, mean, lagMax)
  const total = sums[0]!
  if (isFlat(values, mean, total)) return { kind: 'no-variation' }
  return { kind: 'autocorrelations', lags: sums.map((sum) => sum / total) }
}

/**
 * Portmanteau test that the first `lagCount` autocorrelations are all zero.
 *
 * @param options.statistic `ljung-box` (default) or `box-pierce`
 * @param options.fittedCount parameters of the model the values are residuals of; lowers the degrees of freedom
 */
export function portmanteauTest(
  values: readonly number[],
  options: { readonly lagCount: number; readonly statistic?: 'ljung-box' | 'box-pierce'; readonly fittedCount?: number },
): PortmanteauTest | TooFewValues | NoVariation {
  const { lagCount, statistic = 'ljung-box', fittedCount = 0 } = options
  const degreesOfFreedom = lagCount - fittedCount
  if (!(degreesOfFreedom >= 1)) throw new Error(`portmanteau test: expected more lags than fitted parameters, got ${lagCount} and ${fittedCount}`)
  const acf = autocorrelations(values, lagCount)
  if (acf.kind !== 'autocorrelations') return acf
  const n = values.length
  let sum = 0
  for (let lag = 1; lag <= lagCount; lag++) {
    const square = acf.lags[lag]! ** 2
    sum += statistic === 'ljung-box' ? (n * (n + 2) * square) / (n - lag) : n * square
  }
  return { kind: 'portmanteau-test', statistic: sum, degreesOfFreedom, p: chiSquareUpperTail(sum, degreesOfFreedom) }
}

/**
 * Autoregression by Yule-Walker. The variance of the prediction error is scaled by n / (n - order - 1).
 * @throws Error on an order that is not a whole number of 0 or more
 */
export function fitYuleWalker(values: readonly number[], order: number): AutoregressiveFit | TooFewValues | NoVariation {
  const acf = autocorrelations(values, order)
  if (acf.kind !== 'autocorrelations') return acf
  const n = values.length
  if (n < order + 3) return tooFew(values, order + 3)
  const mean = meanOf(values)
  const variance = lagSums(values, mean, 0)[0]! / n
  const { weights, unexplainedShare } = durbinLevinson(acf.lags)[order]!
  return { kind: 'autoregressive-fit', weights, mean, residualVariance: (variance * unexplainedShare * n) / (n - order - 1) }
}

/** Yule-Walker weights of every order from 0 on. */
function durbinLevinson(acf: readonly number[]): { readonly weights: number[]; readonly unexplainedShare: number }[] {
  const orders = [{ weights: [] as number[], unexplainedShare: 1 }]
  for (let order = 1; order < acf.length; order++) {
    const previous = orders[order - 1]!
    let unexplained = acf[order]!
    previous.weights.forEach((weight, j) => (unexplained -= weight * acf[order - 1 - j]!))
    const partial = unexplained / previous.unexplainedShare
    const weights = previous.weights.map((weight, j) => weight - partial * previous.weights[order - 2 - j]!)
    orders.push({ weights: [...weights, partial], unexplainedShare: previous.unexplainedShare * (1 - partial * partial) })
  }
  return orders
}

/**
 * First-order autoregression by least squares of each value on the one before.
 * `mean` is the level the fit implies, intercept / (1 - weight); the residual variance has n - 1 values and 2 parameters.
 */
export function fitLeastSquaresOrderOne(
  values: readonly number[],
): { readonly kind: 'least-squares-fit'; readonly weight: number; readonly intercept: number; readonly weightSe: number; readonly residualVariance: number } | TooFewValues | NoVariation {
  requireFinite('autoregression', values)
  const n = values.length
  if (n < 5) return tooFew(values, 5)
  const meanBefore = meanOf(values.slice(0, -1))
  const meanAfter = meanOf(values.slice(1))
  let sxx = 0
  let sxy = 0
  for (let i = 1; i < n; i++) {
    const x = values[i - 1]! - meanBefore
    sxx += x * x
    sxy += x * (values[i]! - meanAfter)
  }
  if (isFlat(values, meanBefore, sxx)) return { kind: 'no-variation' }
  const weight = sxy / sxx
  let squares = 0
  for (let i = 1; i < n; i++) squares += (values[i]! - meanAfter - weight * (values[i - 1]! - meanBefore)) ** 2
  const residualVariance = squares / (n - 3)
  return { kind: 'least-squares-fit', weight, intercept: meanAfter - weight * meanBefore, weightSe: Math.sqrt(residualVariance / sxx), residualVariance }
}

/** Yule-Walker fit of the order (0 to `orderMax`) with the smallest BIC. */
export function fitAutoregressionByBic(values: readonly number[], orderMax = 5): AutoregressiveFit | TooFewValues | NoVariation {
  const acf = autocorrelations(values, orderMax)
  if (acf.kind !== 'autocorrelations') return acf
  const n = values.length
  if (n < 10 * (orderMax + 1)) return tooFew(values, 10 * (orderMax + 1))
  const bic = durbinLevinson(acf.lags).map(({ unexplainedShare }, order) => n * Math.log(unexplainedShare) + order * Math.log(n))
  return fitYuleWalker(values, bic.indexOf(Math.min(...bic)))
}

/** What a residual chart leaves of a lasting shift of the level. */
export interface ResidualChartDesign {
  /** Shift of the residual in residual sigmas, for a level shift of `delta` marginal sigmas. */
  readonly residualShiftSigma: number
  /** CUSUM reference value tuned to it: half the shift. */
  readonly k: number
}

/**
 * Reference value of a CUSUM of AR(1) residuals: a level shift of `delta` marginal sigmas leaves
 * delta (1 - phi) / sqrt(1 - phi^2) in the standardised residual after its first point.
 * @param phi lag-1 weight, above -1 and below 1
 */
export function residualChartDesign(phi: number, delta: number): ResidualChartDesign {
  if (!(Math.abs(phi) < 1)) throw new Error(`residual chart: expected a lag-1 weight between -1 and 1, got ${phi}`)
  if (!(Number.isFinite(delta) && delta > 0)) throw new Error(`residual chart: expected a shift above 0, got ${delta}`)
  const residualShiftSigma = (delta * (1 - phi)) / Math.sqrt(1 - phi * phi)
  return { residualShiftSigma, k: residualShiftSigma / 2 }
}

/** Number of independent values that would fix the mean, and the variance, as well as `count` AR(1) values do. */
export interface EffectiveCount {
  readonly forMean: number
  readonly forVariance: number
}

/** @param phi lag-1 autocorrelation; negative values count as 0, so that the answer never exceeds `count` */
export function effectiveCount(count: number, phi: number): EffectiveCount {
  if (!(count >= 0 && Number.isFinite(count))) throw new Error(`effective count: expected a finite count of 0 or more, got ${count}`)
  if (!(Math.abs(phi) < 1)) throw new Error(`effective count: expected a lag-1 autocorrelation between -1 and 1, got ${phi}`)
  const positive = Math.max(0, phi)
  return { forMean: (count * (1 - positive)) / (1 + positive), forVariance: (count * (1 - positive ** 2)) / (1 + positive ** 2) }
}

/**
 * Smallest batch whose means have a lag-1 autocorrelation below `acfMax` (unweighted batch means).
 * @returns `none` where not even the largest batch that leaves 20 means does
 */
export function batchSizeFor(
  values: readonly number[],
  acfMax = 0.1,
): { readonly kind: 'batch'; readonly batchSize: number; readonly lagOne: number } | { readonly kind: 'none'; readonly batchSizeMax: number } | TooFewValues | NoVariation {
  if (values.length < 40) return tooFew(values, 40)
  const batchSizeMax = Math.floor(values.length / 20)
  for (let batchSize = 1; batchSize <= batchSizeMax; batchSize = Math.max(batchSize + 1, Math.floor(batchSize * 1.1))) {
    const acf = autocorrelations(batchMeans(values, batchSize), 1)
    if (acf.kind !== 'autocorrelations') return acf
    const lagOne = acf.lags[1]!
    if (lagOne < acfMax) return { kind: 'batch', batchSize, lagOne }
  }
  return { kind: 'none', batchSizeMax }
}

/** Means of consecutive batches; an incomplete last batch is left out. */
export function batchMeans(values: readonly number[], batchSize: number): number[] {
  const means: number[] = []
  for (let from = 0; from + batchSize <= values.length; from += batchSize) means.push(meanOf(values.slice(from, from + batchSize)))
  return means
}
