/**
 * Autoregressive prediction of a stationary series around its centre: the deviation expected next is a weighted sum of
 * the last deviations. Orders 1 to p are kept, so that a value after a gap is predicted from what is there.
 */
export interface AutoregressiveModel {
  /** `weights[j - 1]` are the j weights of order j, newest deviation first. */
  readonly weights: readonly (readonly number[])[]
  /** `residualSigma[j - 1]`: standard deviation of what order j leaves unpredicted, unit of the series. */
  readonly residualSigma: readonly number[]
}

/** Highest order fitted, and highest lag whose covariance is kept. */
export const LAGS_MAX = 5

/**
 * Sums of products about `centre` at lag 0..lagMax, from those pairs only that lie a whole number of steps apart without
 * a gap, with the number of pairs and the sum of the deviations of both values of each; of the values [from, to) and
 * their predecessors.
 *
 * @param values in time order
 * @param usable 0 for a value that is to be left out (its pairs are left out too)
 * @param follows 0 where a value does not follow its predecessor directly (first value, value after a gap)
 */
export function autocovarianceSums(values: ArrayLike<number>, centre: number, usable: ArrayLike<number>, follows: ArrayLike<number>, lagMax: number, from = 0, to = values.length): { products: number[]; pairs: number[]; sums: number[] } {
  const products = new Array<number>(lagMax + 1).fill(0)
  const pairs = new Array<number>(lagMax + 1).fill(0)
  const sums = new Array<number>(lagMax + 1).fill(0)
  let unbroken = 0
  for (let i = Math.max(0, from - lagMax); i < to; i++) {
    unbroken = follows[i] === 0 ? 1 : unbroken + 1
    if (i < from || usable[i] === 0) continue
    const reach = Math.min(lagMax, unbroken - 1, i)
    for (let lag = 0; lag <= reach; lag++) {
      if (usable[i - lag] === 0) continue
      const deviation = values[i]! - centre
      const before = values[i - lag]! - centre
      products[lag]! += deviation * before
      sums[lag]! += deviation + before
      pairs[lag]!++
    }
  }
  return { products, pairs, sums }
}

/** Autocovariances about `centre`, the sums above over their pairs; 0 at a lag without pairs. */
export function autocovariances(values: ArrayLike<number>, centre: number, usable: ArrayLike<number>, follows: ArrayLike<number>, lagMax: number): number[] {
  const { products, pairs } = autocovarianceSums(values, centre, usable, follows, lagMax)
  return products.map((product, lag) => (pairs[lag] === 0 ? 0 : product / pairs[lag]!))
}

/** Lag-1 autocorrelation freed of its small-sample bias, (1 + 3 phi)/n to first order (Marriott and Pope, 1954). */
export function unbiasedLagOne(lagOne: number, valueCount: number): number {
  return valueCount <= 3 ? 0 : Math.max(-0.99, Math.min(0.99, (valueCount * lagOne + 1) / (valueCount - 3)))
}

/**
 * Fits orders 1..`orderMax` by the Durbin-Levinson recursion and keeps the order with the smallest BIC.
 *
 * @param covariance at lag 0..orderMax; lag 0 above 0
 * @param valueCount values the covariances rest on
 */
export function fitAutoregression(covariance: readonly number[], valueCount: number, orderMax: number): AutoregressiveModel {
  const variance = covariance[0]!
  if (!(variance > 0)) throw new Error(`autoregression: variance above 0 expected, found ${variance}`)
  const weights: number[][] = []
  const residualVariance: number[] = []
  let plain: number[] = []
  let left = variance
  for (let order = 1; order <= orderMax && order < covariance.length; order++) {
    let unexplained = covariance[order]!
    for (let j = 0; j < plain.length; j++) unexplained -= plain[j]! * covariance[order - 1 - j]!
    // Pairwise covariances need not be positive definite: the partial correlation is held below one.
    const partial = within(unexplained / left)
    plain = stepUp(plain, partial)
    // What is left rests on the plain estimates: a weight freed of its bias predicts later values better, not these.
    left *= 1 - partial * partial
    residualVariance.push(left)
    weights.push(order === 1 ? [within(unbiasedLagOne(partial, valueCount))] : stepUp(weights[order - 2]!, partial))
  }
  let best = 1
  for (let order = 2; order <= weights.length; order++) if (bic(order) < bic(best)) best = order
  return { weights: weights.slice(0, best), residualSigma: residualVariance.slice(0, best).map((variance, i) => Math.sqrt((variance * valueCount) / Math.max(1, valueCount - i - 2))) }

  function bic(order: number): number {
    return valueCount * Math.log(residualVariance[order - 1]!) + order * Math.log(valueCount)
  }
}

function within(partial: number): number {
  return Math.max(-0.98, Math.min(0.98, partial))
}

/** Weights of the next order from those of one order and the next partial correlation. */
function stepUp(weights: readonly number[], partial: number): number[] {
  return [...weights.map((weight, j) => weight - partial * weights[weights.length - 1 - j]!), partial]
}

/** Share of a lasting level shift that stays in the residual, in units of the shift: 1 minus the sum of the weights. */
export function levelShare(model: AutoregressiveModel): number {
  let sum = 0
  for (const weight of model.weights[model.weights.length - 1]!) sum += weight
  return 1 - sum
}

/**
 * Factor by which the variance of the mean of n values exceeds that of n independent ones, (1 + phi)/(1 - phi) for a
 * first-order series; from the long-run variance of the fitted model in general.
 */
export function meanVarianceFactor(model: AutoregressiveModel, variance: number): number {
  const share = levelShare(model)
  const residual = model.residualSigma[model.residualSigma.length - 1]!
  return (residual * residual) / (share * share) / variance
}

/**
 * Variance of the estimated sum of the weights, times the number of values: the sum of all elements of the asymptotic
 * covariance matrix of the weights, 1 - phi^2 for one weight.
 *
 * @see Siddiqui, On the inversion of the sample covariance matrix in a stationary autoregressive process, Ann. Math. Stat. 29 (1958) 585
 */
export function weightSumVariance(weights: readonly number[]): number {
  const order = weights.length
  let variance = 0
  for (let j = 0; j < order; j++) {
    let forward = 1
    for (let i = 0; i < order - 1 - j; i++) forward -= weights[i]!
    let backward = 0
    for (let i = j; i < order; i++) backward += weights[i]!
    variance += forward * forward - backward * backward
  }
  return Math.max(0, variance)
}
