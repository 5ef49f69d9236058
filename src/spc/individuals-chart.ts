import { chartConstants, MOVING_RANGE_D2 } from './constants.js'
import { checkSigmaMultiple, checkValues, meanOfValues, plotted, type ControlLimits, type PlottedPoint, type TooFewSamples } from './control-limits.js'

/** Limits of an individuals chart with its moving-range chart. */
export interface IndividualsLimits {
  readonly kind: 'limits'
  readonly individuals: ControlLimits
  readonly movingRange: ControlLimits
  /** Sigma from the moving range, unit of the values. */
  readonly sigma: number
  readonly valueCount: number
}

/** Plain JSON state between two values. */
export interface IndividualsState {
  previous: number
  count: number
}

/**
 * Limits of individuals and two-point moving range: sigma = mean moving range / d2(2), limits `sigmaMultiple` sigmas off.
 * Only for values that are not autocorrelated: at a lag-1 correlation of 0.9 this sigma leaves a third of all normal points outside.
 *
 * @param values in time order, any one unit
 * @see NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2
 * @throws Error if a value is not finite or `sigmaMultiple` not above 0
 */
export function individualsLimits(values: readonly number[], sigmaMultiple = 3): IndividualsLimits | TooFewSamples {
  checkSigmaMultiple('individuals chart', sigmaMultiple)
  checkValues('individuals chart', values)
  if (values.length < 2) return { kind: 'too-few-samples', sampleCount: values.length, sampleCountMin: 2 }
  const centre = meanOfValues(values)
  let rangeSum = 0
  for (let i = 1; i < values.length; i++) rangeSum += Math.abs(values[i]! - values[i - 1]!)
  const meanRange = rangeSum / (values.length - 1)
  const sigma = meanRange / MOVING_RANGE_D2
  const rangeSigma = sigma * chartConstants(2).d3
  return {
    kind: 'limits',
    individuals: { centre, sigma, lower: centre - sigmaMultiple * sigma, upper: centre + sigmaMultiple * sigma },
    movingRange: { centre: meanRange, sigma: rangeSigma, lower: Math.max(0, meanRange - sigmaMultiple * rangeSigma), upper: meanRange + sigmaMultiple * rangeSigma },
    sigma,
    valueCount: values.length,
  }
}

export function createIndividuals(): IndividualsState {
  return { previous: 0, count: 0 }
}

/** Plots one value; there is no moving range at the first. O(1). */
export function stepIndividuals(state: IndividualsState, limits: IndividualsLimits, value: number): { individuals: PlottedPoint; movingRange?: PlottedPoint } {
  checkValues('individuals chart', [value])
  const individuals = plotted(value, limits.individuals)
  const range = Math.abs(value - state.previous)
  const first = state.count === 0
  state.previous = value
  state.count++
  return first ? { individuals } : { individuals, movingRange: plotted(range, limits.movingRange) }
}
