import { checkSigmaMultiple, checkValues, plotted, type PlottedPoint } from './control-limits.js'

/** An exponentially weighted moving average chart of values with known centre and sigma. */
export interface EwmaDesign {
  readonly centre: number
  /** Standard deviation of one value, above 0. */
  readonly sigma: number
  /** Weight of the newest value, above 0 and at most 1; small values see small shifts. */
  readonly lambda: number
  /** Distance of the limits in standard deviations of the average; from `ewmaLimit(lambda, arl0)`. */
  readonly limit: number
  /** `time-varying` limits are exact from the first point, `fixed` ones are those reached in the end. */
  readonly limits: 'fixed' | 'time-varying'
}

/** Plain JSON state. */
export interface EwmaState {
  average: number
  /** (1 - lambda)^(2t) after t values: how much of the start is still in the variance. */
  startShare: number
}

/** @throws Error naming the field of the design that cannot be used */
export function createEwma(design: EwmaDesign): EwmaState {
  checkValues('EWMA chart', [design.centre])
  checkSigmaMultiple('EWMA chart', design.limit)
  if (!(Number.isFinite(design.sigma) && design.sigma > 0)) throw new Error(`EWMA chart: sigma must be a finite number above 0, found ${design.sigma}`)
  if (!(design.lambda > 0 && design.lambda <= 1)) throw new Error(`EWMA chart: lambda must be above 0 and at most 1, found ${design.lambda}`)
  return { average: design.centre, startShare: 1 }
}

/**
 * Takes one value: z = lambda x + (1 - lambda) z with variance sigma^2 lambda/(2 - lambda) (1 - (1 - lambda)^(2t)). O(1).
 *
 * @see Roberts (1959); NIST/SEMATECH e-Handbook 6.3.2.4
 */
export function stepEwma(state: EwmaState, design: EwmaDesign, value: number): PlottedPoint {
  checkValues('EWMA chart', [value])
  const { centre, lambda, limit } = design
  const kept = 1 - lambda
  state.average += lambda * (value - state.average)
  state.startShare *= kept * kept
  const share = design.limits === 'time-varying' ? 1 - state.startShare : 1
  const sigma = design.sigma * Math.sqrt((lambda / (2 - lambda)) * share)
  return plotted(state.average, { centre, sigma, lower: centre - limit * sigma, upper: centre + limit * sigma })
}
