import { cusumArl } from './run-length-cusum.js'
import { ewmaArl } from './run-length-ewma.js'
import { shewhartArl } from './run-length-rules.js'
import { normalQuantile } from './special-functions.js'

/**
 * Limits from the wanted in-control mean run length (ARL0, in points), two-sided, zero state, independent normal values.
 *
 * Valid for ARL0 from 20 to 1e9; the run length at the limit returned differs from the one asked for by less than 1e-8
 * relative. A limit costs a few milliseconds and is kept.
 */
const ARL0_MIN = 2
const ARL0_MAX = 1e12
/** Relative error of the run length at which the search stops. */
const TOLERANCE = 1e-9

const found = new Map<string, number>()
const FOUND_MAX = 1000

function checkArl0(arl0: number): void {
  if (!(arl0 >= ARL0_MIN && arl0 <= ARL0_MAX)) {
    throw new Error(`chart limit: expected a mean run length in control from ${ARL0_MIN} to ${ARL0_MAX} points, got ${arl0}`)
  }
}

function kept(key: string, search: () => number): number {
  const known = found.get(key)
  if (known !== undefined) return known
  const limit = search()
  if (found.size >= FOUND_MAX) found.clear()
  found.set(key, limit)
  return limit
}

/** Newton with a guessed slope for the first step, secant after; ln ARL is nearly straight in the limit. */
function solveForLimit(arlOf: (limit: number) => number, arl0: number, start: number, slope: number): number {
  const target = Math.log(arl0)
  let limit = start
  let error = Math.log(arlOf(limit)) - target
  let gradient = slope
  for (let step = 0; step < 60; step++) {
    if (Math.abs(error) < TOLERANCE) return limit
    const most = 0.5 * limit
    const change = Math.max(-most, Math.min(2 * limit, -error / gradient))
    const next = limit + change
    const nextError = Math.log(arlOf(next)) - target
    const measured = (nextError - error) / change
    if (measured > 0) gradient = measured
    limit = next
    error = nextError
    if (Math.abs(change) < 1e-13 * limit) return limit
  }
  throw new Error(`chart limit: the search for a mean run length of ${arl0} points did not settle`)
}

/** Limit of a Shewhart chart in sigmas: 3.000 at an ARL0 of 370.4. */
export function shewhartLimit(arl0: number): number {
  checkArl0(arl0)
  return -normalQuantile(1 / (2 * arl0))
}

/** Limit of an EWMA chart in standard deviations of the settled statistic: 2.7 at lambda 0.1 and ARL0 370. */
export function ewmaLimit(lambda: number, arl0: number): number {
  checkArl0(arl0)
  if (lambda === 1) return shewhartLimit(arl0)
  return kept(`ewma ${lambda} ${arl0}`, () => {
    // a slow statistic crosses as often as a Shewhart chart with about lambda times as many independent points
    const start = shewhartLimit(Math.max(ARL0_MIN, arl0 * Math.min(1, 2.5 * lambda)))
    return solveForLimit((limit) => ewmaArl({ lambda, limit }), arl0, start, Math.max(0.7, start))
  })
}

/** Decision interval h of a two-sided CUSUM in sigmas: 4.77 at k = 0.5 and ARL0 370. */
export function cusumLimit(k: number, arl0: number): number {
  checkArl0(arl0)
  if (!(Number.isFinite(k) && k >= 0)) throw new Error(`CUSUM: expected a reference value k of 0 or more, got ${k}`)
  const least = shewhartArl(Math.max(k, 1e-9))
  if (arl0 <= least * (1 + 1e-9)) {
    throw new Error(`CUSUM: with k = ${k} the mean run length in control is above ${least.toFixed(1)} points whatever h; got ${arl0}`)
  }
  return kept(`cusum ${k} ${arl0}`, () => {
    const { h, slope } = siegmundStart(k, arl0)
    return solveForLimit((limit) => cusumArl({ k, h: limit }), arl0, h, slope)
  })
}

/** h from Siegmund's (1985) approximation of the run length, and the slope of ln ARL there. */
function siegmundStart(k: number, arl0: number): { readonly h: number; readonly slope: number } {
  // in two-sided control each side has twice the run length
  const arlOf = (b: number): number => (k * b < 1e-4 ? b * b : (Math.exp(2 * k * b) - 2 * k * b - 1) / (2 * k * k)) / 2
  let low = 0
  let high = 1
  while (arlOf(high) < arl0) high *= 2
  for (let step = 0; step < 60; step++) {
    const mid = 0.5 * (low + high)
    if (arlOf(mid) < arl0) low = mid
    else high = mid
  }
  const slope = (Math.log(arlOf(high * 1.001)) - Math.log(arlOf(high))) / (0.001 * high)
  return { h: Math.max(0.1, high - 1.166), slope }
}
