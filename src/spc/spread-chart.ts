import { checkSigmaMultiple, checkValues, plotted, type PlottedPoint } from './control-limits.js'

/** EWMA of the logarithm of the variance of windows of `windowSize` values. */
export interface SpreadDesign {
  /** Standard deviation of the values in control, above 0. */
  readonly sigma: number
  /** Independent values in a window, 2 or more. */
  readonly windowSize: number
  readonly lambda: number
  /** In standard deviations of the average, e.g. 4.69 for one false signal in 403,200 windows at lambda 0.2. */
  readonly limit: number
}

/** Plain JSON state. */
export interface SpreadState {
  /** Average of ln(s^2/sigma^2); undefined numbers never occur: it starts at the expected value. */
  average: number
}

/** A window of equal values has no logarithm; it counts as this small a variance ratio. */
const RATIO_MIN = 1e-6

/** Computed once for windows of the same size on end; says nothing of any chart. */
let lastMoments = { windowSize: 0, mean: 0, sd: 0 }

/** @throws Error naming the field of the design that cannot be used */
export function createSpread(design: SpreadDesign): SpreadState {
  checkSigmaMultiple('spread chart', design.limit)
  if (!(Number.isFinite(design.sigma) && design.sigma > 0)) throw new Error(`spread chart: sigma must be a finite number above 0, found ${design.sigma}`)
  if (!(Number.isInteger(design.windowSize) && design.windowSize >= 2 && design.windowSize <= 1e9)) throw new Error(`spread chart: windows of 2 values or more expected, found ${design.windowSize}`)
  if (!(design.lambda > 0 && design.lambda <= 1)) throw new Error(`spread chart: lambda must be above 0 and at most 1, found ${design.lambda}`)
  return { average: logVarianceMoments(design.windowSize).mean }
}

/**
 * Takes the standard deviation of one window. A mean chart does not see a change of spread; this one finds half as much
 * variance again within about 6 windows of 60. O(1).
 *
 * @param windowSd standard deviation of the window's values, unit of `sigma`, 0 or above
 * @see Crowder and Hamilton, An EWMA for monitoring a process standard deviation, JQT 24 (1992) 12
 */
export function stepSpread(state: SpreadState, design: SpreadDesign, windowSd: number): PlottedPoint {
  checkValues('spread chart', [windowSd])
  if (windowSd < 0) throw new Error(`spread chart: a standard deviation of 0 or above expected, found ${windowSd}`)
  const ratio = Math.max(RATIO_MIN, (windowSd / design.sigma) ** 2)
  state.average += design.lambda * (Math.log(ratio) - state.average)
  if (lastMoments.windowSize !== design.windowSize) lastMoments = { windowSize: design.windowSize, ...logVarianceMoments(design.windowSize) }
  const { mean, sd } = lastMoments
  const sigma = sd * Math.sqrt(design.lambda / (2 - design.lambda))
  return plotted(state.average, { centre: mean, sigma, lower: mean - design.limit * sigma, upper: mean + design.limit * sigma })
}

/** Mean and standard deviation of ln(s^2/sigma^2) for n normal values: digamma(v/2) + ln(2/v) and sqrt(trigamma(v/2)), v = n - 1. */
export function logVarianceMoments(n: number): { mean: number; sd: number } {
  if (!(n > 1 && n <= 1e9)) throw new Error(`spread chart: windows of 2 to 1e9 values expected, found ${n}`)
  const half = (n - 1) / 2
  return { mean: digamma(half) - Math.log(half), sd: Math.sqrt(trigamma(half)) }
}

/** Recurrence up to 10, then the asymptotic series; error below 1e-12 for x > 0. */
function digamma(x: number): number {
  let shift = 0
  while (x < 10) shift -= 1 / x++
  const inverse = 1 / (x * x)
  return shift + Math.log(x) - 0.5 / x - inverse * (1 / 12 - inverse * (1 / 120 - inverse * (1 / 252 - inverse * (1 / 240 - inverse / 132))))
}

function trigamma(x: number): number {
  let shift = 0
  while (x < 10) shift += 1 / (x * x++)
  const inverse = 1 / (x * x)
  return shift + 1 / x + inverse / 2 + (inverse / x) * (1 / 6 - inverse * (1 / 30 - inverse * (1 / 42 - inverse * (1 / 30 - (inverse * 5) / 66))))
}
