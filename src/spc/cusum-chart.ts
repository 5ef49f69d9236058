import { checkValues, plotted, type PlottedPoint } from './control-limits.js'

/** A two-sided tabular CUSUM of values with known centre and sigma. */
export interface CusumDesign {
  readonly centre: number
  /** Standard deviation of one value, above 0. */
  readonly sigma: number
  /** Reference value in sigmas, half the shift to be found. */
  readonly k: number
  /** Decision limit in sigmas; from `cusumLimit(k, arl0)`. */
  readonly h: number
  /** Both sums start at this share of h (0 to below 1; 0.5 is the usual fast initial response). */
  readonly headStart?: number
}

/** Plain JSON state, sums in sigmas. */
export interface CusumState {
  up: number
  down: number
  /** Values in a row for which the sum has been above 0: the change is estimated to have begun that long ago. */
  upCount: number
  downCount: number
}

/** @throws Error naming the field of the design that cannot be used */
export function createCusum(design: CusumDesign): CusumState {
  const { sigma, k, h, headStart = 0 } = design
  checkValues('CUSUM chart', [design.centre])
  if (!(Number.isFinite(sigma) && sigma > 0)) throw new Error(`CUSUM chart: sigma must be a finite number above 0, found ${sigma}`)
  if (!(Number.isFinite(k) && k >= 0)) throw new Error(`CUSUM chart: k must be a finite number of 0 or above, found ${k}`)
  if (!(Number.isFinite(h) && h > 0)) throw new Error(`CUSUM chart: h must be a finite number above 0, found ${h}`)
  if (!(headStart >= 0 && headStart < 1)) throw new Error(`CUSUM chart: the head start must be a share of h from 0 to below 1, found ${headStart}`)
  return { up: headStart * h, down: headStart * h, upCount: 0, downCount: 0 }
}

/**
 * Takes one value: C+ = max(0, C+ + z - k), C- = max(0, C- - z - k) with z = (value - centre)/sigma. O(1).
 * Both statistics are in sigmas; a sum beyond h is reported as beyond `above`, for C- too: the side is in its name.
 *
 * @see Page (1954); Lucas and Crosier (1982) for the head start; NIST/SEMATECH e-Handbook 6.3.2.3
 */
export function stepCusum(state: CusumState, design: CusumDesign, value: number): { up: PlottedPoint; down: PlottedPoint } {
  checkValues('CUSUM chart', [value])
  const z = (value - design.centre) / design.sigma
  state.up = Math.max(0, state.up + z - design.k)
  state.down = Math.max(0, state.down - z - design.k)
  state.upCount = state.up > 0 ? state.upCount + 1 : 0
  state.downCount = state.down > 0 ? state.downCount + 1 : 0
  const limits = { centre: 0, sigma: 1, lower: 0, upper: design.h }
  return { up: plotted(state.up, limits), down: plotted(state.down, limits) }
}
