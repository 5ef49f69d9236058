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

/**
 * Autocovariances of a series about `centre`, from those pairs only that lie a whole number of steps apart without a gap.
 *
 * @param values in time order
 * @param usable 0 for a value that is to be left out (its pairs are left out too)
 * @param follows 0 where a value does not follow its predecessor directly (first value, value after a gap)
 * @param lagMax highest lag wanted
 * @returns covariance at lag 0..lagMax; 0 at a lag without pairs
 */
export function autocovariances(values: ArrayLike<number>, centre: number, usable: ArrayLike<number>, follows: ArrayLike<number>, lagMax: number): number[] {
  const covariance: number[] = []
  for (let lag = 0; lag <= lagMax; lag++) {
    let sum = 0
    let pairs = 0
    let unbroken = 0
    for (let i = 0; i < values.length; i++) {
      unbroken = follows[i] === 0 ? 1 : unbroken + 1
      if (unbroken <= lag || usable[i] === 0 || usable[i - lag] === 0) continue
      sum += (values[i]! - centre) * (values[i - lag]! - centre)
      pairs++
    }
    covariance.push(pairs === 0 ? 0 : sum / pairs)
  }
  return covariance
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
  let previous: number[] = []
  let left = variance
  for (let order = 1; order <= orderMax && order < covariance.length; order++) {
    let unexplained = covariance[order]!
    for (let j = 0; j < previous.length; j++) unexplained -= previous[j]! * covariance[order - 1 - j]!
    const raw = order === 1 ? unbiasedLagOne(unexplained / left, valueCount) : unexplained / left
    // Pairwise covariances need not be positive definite: the partial correlation is held below one.
    const partial = Math.max(-0.98, Math.min(0.98, raw))
    const current = previous.map((weight, j) => weight - partial * previous[previous.length - 1 - j]!)
    current.push(partial)
    left *= 1 - partial * partial
    weights.push(current)
    residualVariance.push(left)
    previous = current
  }
  let best = 1
  for (let order = 2; order <= weights.length; order++) if (bic(order) < bic(best)) best = order
  return { weights: weights.slice(0, best), residualSigma: residualVariance.slice(0, best).map(Math.sqrt) }

  function bic(order: number): number {
    return valueCount * Math.log(residualVariance[order - 1]!) + order * Math.log(valueCount)
  }
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
