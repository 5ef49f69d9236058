import { chartConstants } from './constants.js'
import { checkSigmaMultiple, checkValues, meanOfValues, plotted, type ControlLimits, type PlottedPoint, type TooFewSamples } from './control-limits.js'

/** Limits of the X-bar chart and of the R or S chart beside it. */
export interface SubgroupLimits {
  readonly kind: 'limits'
  readonly spreadBy: 'range' | 'sd'
  readonly mean: ControlLimits
  readonly spread: ControlLimits
  /** Within-subgroup sigma, unit of the values. */
  readonly sigma: number
  readonly subgroupSize: number
  readonly subgroupCount: number
}

/**
 * X-bar/R (`range`: sigma = mean range / d2) or X-bar/S (`sd`: sigma = mean standard deviation / c4) limits.
 *
 * @param subgroups of one size, 2 to 200 values each, in time order
 * @see Montgomery, Introduction to Statistical Quality Control, chapter 6
 * @throws Error if a value is not finite, sizes differ, or `sigmaMultiple` is not above 0
 */
export function subgroupLimits(subgroups: readonly (readonly number[])[], spreadBy: 'range' | 'sd', sigmaMultiple = 3): SubgroupLimits | TooFewSamples {
  checkSigmaMultiple('subgroup chart', sigmaMultiple)
  if (subgroups.length < 2) return { kind: 'too-few-samples', sampleCount: subgroups.length, sampleCountMin: 2 }
  const n = subgroups[0]!.length
  const constants = chartConstants(n)
  const means: number[] = []
  let spreadSum = 0
  for (const subgroup of subgroups) {
    if (subgroup.length !== n) throw new Error(`subgroup chart: subgroups of ${n} values expected, found one of ${subgroup.length}`)
    checkValues('subgroup chart', subgroup)
    means.push(meanOfValues(subgroup))
    spreadSum += spreadOf(subgroup, spreadBy)
  }
  const centre = meanOfValues(means)
  const meanSpread = spreadSum / subgroups.length
  const sigma = meanSpread / (spreadBy === 'range' ? constants.d2 : constants.c4)
  const meanSigma = sigma / Math.sqrt(n)
  const spreadSigma = sigma * (spreadBy === 'range' ? constants.d3 : constants.c5)
  return {
    kind: 'limits',
    spreadBy,
    mean: { centre, sigma: meanSigma, lower: centre - sigmaMultiple * meanSigma, upper: centre + sigmaMultiple * meanSigma },
    spread: { centre: meanSpread, sigma: spreadSigma, lower: Math.max(0, meanSpread - sigmaMultiple * spreadSigma), upper: meanSpread + sigmaMultiple * spreadSigma },
    sigma,
    subgroupSize: n,
    subgroupCount: subgroups.length,
  }
}

/** Plots one subgroup; both charts are without memory. @throws Error if its size differs from the limits' */
export function stepSubgroup(limits: SubgroupLimits, subgroup: readonly number[]): { mean: PlottedPoint; spread: PlottedPoint } {
  if (subgroup.length !== limits.subgroupSize) throw new Error(`subgroup chart: ${limits.subgroupSize} values expected, found ${subgroup.length}`)
  checkValues('subgroup chart', subgroup)
  return { mean: plotted(meanOfValues(subgroup), limits.mean), spread: plotted(spreadOf(subgroup, limits.spreadBy), limits.spread) }
}

function spreadOf(values: readonly number[], by: 'range' | 'sd'): number {
  if (by === 'range') {
    let lowest = values[0]!
    let highest = values[0]!
    for (const value of values) {
      if (value < lowest) lowest = value
      if (value > highest) highest = value
    }
    return highest - lowest
  }
  const mean = meanOfValues(values)
  let squares = 0
  for (const value of values) squares += (value - mean) ** 2
  return Math.sqrt(squares / (values.length - 1))
}
