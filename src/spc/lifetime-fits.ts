import { lifetimeProblem, requireLifetimes, type Lifetime, type NoFailures, type NoSpreadOfAges } from './lifetimes.js'
import { normalPdf, normalUpperTail } from './special-functions.js'

/** Failures at random, of constant rate. */
export interface ExponentialFit {
  readonly kind: 'exponential'
  readonly meanTimeToFailure: number
  readonly logLikelihood: number
}

/** Right-censored maximum likelihood: time in service over failures. */
export function fitExponential(lifetimes: readonly Lifetime[]): ExponentialFit | NoFailures {
  requireLifetimes('exponential fit', lifetimes)
  const failures = lifetimes.filter(({ failed }) => failed).length
  if (failures === 0) return { kind: 'no-failures', valueCount: lifetimes.length }
  const meanTimeToFailure = lifetimes.reduce((sum, { time }) => sum + time, 0) / failures
  return { kind: 'exponential', meanTimeToFailure, logLikelihood: -failures * (Math.log(meanTimeToFailure) + 1) }
}

/** ln(time) is normal. */
export interface LognormalFit {
  readonly kind: 'lognormal'
  /** Of ln(time). */
  readonly mu: number
  readonly sigma: number
  readonly logLikelihood: number
}

/** phi(z) / (1 - Phi(z)); beyond 37 the tail itself is no longer a number worth dividing by. */
function normalHazard(z: number): number {
  return z > 37 ? z + 1 / (z + 2 / (z + 3 / z)) : normalPdf(z) / normalUpperTail(z)
}

function logUpperTail(z: number): number {
  return z > 37 ? -0.5 * z * z - 0.5 * Math.log(2 * Math.PI) - Math.log(normalHazard(z)) : Math.log(normalUpperTail(z))
}

interface Standardised {
  readonly y: number
  readonly failed: boolean
}

/** Log-likelihood in (g, d), w = g y - d, where it is concave (Olsen 1978). */
function likelihood(values: readonly Standardised[], g: number, d: number): number {
  let sum = 0
  for (const { y, failed } of values) {
    const w = g * y - d
    sum += failed ? Math.log(g) - 0.5 * w * w - 0.5 * Math.log(2 * Math.PI) : logUpperTail(w)
  }
  return sum
}

/** Newton's direction of (g, d) at a point. */
function direction(values: readonly Standardised[], g: number, d: number): readonly [number, number] {
  let sg = 0
  let sd = 0
  let hgg = 0
  let hgd = 0
  let hdd = 0
  for (const { y, failed } of values) {
    const w = g * y - d
    const hazard = failed ? w : normalHazard(w)
    const curve = failed ? 1 : hazard * (hazard - w)
    sg += (failed ? 1 / g : 0) - hazard * y
    sd += hazard
    hgg += (failed ? 1 / (g * g) : 0) + curve * y * y
    hgd -= curve * y
    hdd += curve
  }
  const determinant = hgg * hdd - hgd * hgd
  return [(hdd * sg - hgd * sd) / determinant, (hgg * sd - hgd * sg) / determinant]
}

/** Right-censored maximum likelihood. */
export function fitLognormal(lifetimes: readonly Lifetime[]): LognormalFit | NoFailures | NoSpreadOfAges {
  const problem = lifetimeProblem('lognormal fit', lifetimes)
  if (problem !== undefined) return problem
  const logs = lifetimes.map(({ time }) => Math.log(time))
  const centre = logs.reduce((sum, log) => sum + log, 0) / logs.length
  const spread = Math.sqrt(logs.reduce((sum, log) => sum + (log - centre) ** 2, 0) / logs.length)
  if (!(spread > 1e-12 * Math.max(1, Math.abs(centre)))) return { kind: 'no-spread-of-ages' }
  const values = logs.map((log, i) => ({ y: (log - centre) / spread, failed: lifetimes[i]!.failed }))
  let g = 1
  let d = 0
  let best = likelihood(values, g, d)
  for (let step = 0; step < 500; step++) {
    const [dg, dd] = direction(values, g, d)
    let share = 1
    while (share > 1e-12 && !(g + share * dg > 0 && likelihood(values, g + share * dg, d + share * dd) >= best - 1e-13 * Math.abs(best))) share /= 2
    g += share * dg
    d += share * dd
    best = likelihood(values, g, d)
    if (Math.abs(share * dg) <= 1e-14 * g && Math.abs(share * dd) <= 1e-14 * (1 + Math.abs(d))) break
    if (share <= 1e-12) break
  }
  const failedLogs = lifetimes.reduce((sum, { failed }, i) => (failed ? sum + logs[i]! : sum), 0)
  const failures = values.filter(({ failed }) => failed).length
  return { kind: 'lognormal', mu: centre + (spread * d) / g, sigma: spread / g, logLikelihood: best - failures * Math.log(spread) - failedLogs }
}
