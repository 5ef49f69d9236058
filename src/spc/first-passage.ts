import { normalPdf, normalUpperTail } from './special-functions.js'

/** A quantity that drifts towards a limit with unrest: X(t) = drift t + sigma B(t), in units of the quantity and of time. */
export interface DriftToLimit {
  /** From now to the limit, above 0. */
  readonly distance: number
  /** Per unit of time, towards the limit, above 0. */
  readonly drift: number
  /** Per square root of the unit of time, above 0. */
  readonly sigma: number
}

function check({ distance, drift, sigma }: DriftToLimit): void {
  for (const [name, value] of Object.entries({ distance, drift, sigma })) {
    if (!(value >= 1e-50 && value <= 1e50)) throw new Error(`first passage: expected ${name} above 0 (1e-50 to 1e50), got ${value}`)
  }
}

/** (1 - Phi(z)) / phi(z), also where both underflow. */
function millsRatio(z: number): number {
  if (z < 30) return normalUpperTail(z) / normalPdf(z)
  let fraction = z
  for (let k = 20; k >= 1; k--) fraction = z + k / fraction
  return 1 / fraction
}

/** Mean, variance and most likely time at which the limit is first reached (inverse Gaussian). */
export function firstPassageMoments(process: DriftToLimit): { readonly mean: number; readonly variance: number; readonly mode: number } {
  check(process)
  const { distance, drift, sigma } = process
  const mean = distance / drift
  const lambda = (distance / sigma) ** 2
  const ratio = (1.5 * mean) / lambda
  // sqrt(1 + r^2) - r, written so that nothing cancels when the unrest is large
  return { mean, variance: (mean * mean * mean) / lambda, mode: mean / (Math.sqrt(1 + ratio * ratio) + ratio) }
}

/** Probability that the limit has been reached by `time`. */
export function firstPassageProbability(process: DriftToLimit, time: number): number {
  check(process)
  if (!(time >= 0)) throw new Error(`first passage: expected a time of at least 0, got ${time}`)
  if (time === 0) return 0
  if (time === Infinity) return 1
  const unrest = process.sigma * Math.sqrt(time)
  const far = (process.distance - process.drift * time) / unrest
  const mirrored = (process.distance + process.drift * time) / unrest
  // exp(2 drift distance / sigma^2) (1 - Phi(mirrored)), without its overflow
  return Math.min(1, normalUpperTail(far) + normalPdf(far) * millsRatio(mirrored))
}

/** Density of the time of reaching the limit, per unit of time. */
export function firstPassageDensity(process: DriftToLimit, time: number): number {
  check(process)
  if (!(time > 0 && time < Infinity)) throw new Error(`first passage: expected a time above 0, got ${time}`)
  const unrest = process.sigma * Math.sqrt(time)
  const height = normalPdf((process.distance - process.drift * time) / unrest)
  return height === 0 ? 0 : (process.distance / (unrest * time)) * height
}

/** Time by which the limit has been reached with probability `p`. */
export function firstPassageQuantile(process: DriftToLimit, p: number): number {
  if (!(p > 0 && p < 1)) throw new Error(`first passage: expected a probability between 0 and 1 (both excluded), got ${p}`)
  let from = Math.log(firstPassageMoments(process).mode)
  let to = from
  while (firstPassageProbability(process, Math.exp(from)) > p) from -= 1
  while (firstPassageProbability(process, Math.exp(to)) < p) to += 1
  for (let step = 0; step < 100 && to - from > 1e-15 * Math.max(1, Math.abs(to)); step++) {
    const middle = (from + to) / 2
    if (firstPassageProbability(process, Math.exp(middle)) < p) from = middle
    else to = middle
  }
  return Math.exp((from + to) / 2)
}
