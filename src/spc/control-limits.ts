import type { Side } from './chart-point.js'

/** Limits of one classical chart, in the unit of the plotted statistic. */
export interface ControlLimits {
  readonly centre: number
  readonly lower: number
  readonly upper: number
  /** Standard deviation of the plotted statistic. */
  readonly sigma: number
}

/** One plotted point and which limit it is beyond, if any. A point on a limit is inside. */
export interface PlottedPoint extends ControlLimits {
  readonly statistic: number
  readonly beyond: Side | 'none'
}

export interface TooFewSamples {
  readonly kind: 'too-few-samples'
  readonly sampleCount: number
  readonly sampleCountMin: number
}

export function plotted(statistic: number, limits: ControlLimits): PlottedPoint {
  const { centre, lower, upper, sigma } = limits
  return { statistic, centre, lower, upper, sigma, beyond: statistic > upper ? 'above' : statistic < lower ? 'below' : 'none' }
}

/** @throws Error unless every value is a finite number below 1e100 in size */
export function checkValues(chart: string, values: readonly number[]): void {
  for (let i = 0; i < values.length; i++) {
    if (!(Math.abs(values[i]!) < 1e100)) throw new Error(`${chart}: values must be finite numbers below 1e100, found ${values[i]} at index ${i}`)
  }
}

/** @throws Error unless `multiple` is a finite number above 0 */
export function checkSigmaMultiple(chart: string, multiple: number): void {
  if (!(Number.isFinite(multiple) && multiple > 0)) throw new Error(`${chart}: the distance of the limits must be a finite number of sigmas above 0, found ${multiple}`)
}

/** Mean by differences from the first value, so that equal values give exactly that value. */
export function meanOfValues(values: readonly number[]): number {
  const first = values[0]!
  let sum = 0
  for (const value of values) sum += value - first
  return first + sum / values.length
}
