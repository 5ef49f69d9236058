import { lifetimeProblem, requireLifetimes, type Lifetime, type NoFailures, type NoSpreadOfAges } from './lifetimes.js'
import type { Interval } from './linear-regression.js'
import { normalQuantile } from './special-functions.js'
import type { WeibullLife } from './weibull-life.js'

/** What is thought of the shape before any failure was seen: ln(shape) normal about ln(median). */
export interface ShapePrior {
  readonly medianShape: number
  readonly sdOfLog: number
}

/** Wear of mechanical parts: 2, and within a factor of 2.2 in nineteen of twenty cases [ASM]. */
export const WEAR_PRIOR: ShapePrior = { medianShape: 2, sdOfLog: 0.4 }

export interface WeibullFit extends WeibullLife {
  readonly kind: 'weibull'
  readonly n: number
  readonly failures: number
  readonly logLikelihood: number
  /** Of ln(scale) and ln(1 / shape), from the observed information (with the prior's, where there is one). */
  readonly covariance: { readonly logScale: number; readonly cross: number; readonly logShape: number }
  readonly shapeSe: number
  readonly scaleSe: number
  /** Wald intervals on the logarithms, so that both ends are above 0. */
  readonly shapeInterval: Interval
  readonly scaleInterval: Interval
}

/** Sums that depend on the shape; times are relative to the largest, so that no power overflows. */
class ShapeSums {
  readonly logs: readonly number[]
  readonly largestLog: number
  readonly failures: number
  readonly failureLogSum: number

  constructor(lifetimes: readonly Lifetime[]) {
    this.largestLog = lifetimes.reduce((most, { time }) => Math.max(most, Math.log(time)), -Infinity)
    this.logs = lifetimes.map(({ time }) => Math.log(time) - this.largestLog)
    this.failures = lifetimes.filter(({ failed }) => failed).length
    this.failureLogSum = this.logs.reduce((sum, log, i) => (lifetimes[i]!.failed ? sum + log : sum), 0)
  }

  at(shape: number): { zero: number; mean: number; variance: number } {
    let zero = 0
    let one = 0
    let two = 0
    for (const log of this.logs) {
      const power = Math.exp(shape * log)
      zero += power
      one += log * power
      two += log * log * power
    }
    return { zero, mean: one / zero, variance: Math.max(0, two / zero - (one / zero) ** 2) }
  }

  /** Derivative of the profile log-likelihood with respect to ln(shape), and its own derivative. */
  score(logShape: number, prior: ShapePrior | undefined): { value: number; slope: number } {
    const shape = Math.exp(logShape)
    const { mean, variance } = this.at(shape)
    const linear = shape * (this.failureLogSum - this.failures * mean)
    const precision = prior === undefined ? 0 : 1 / prior.sdOfLog ** 2
    const pull = prior === undefined ? 0 : (logShape - Math.log(prior.medianShape)) * precision
    return { value: this.failures + linear - pull, slope: linear - this.failures * shape * shape * variance - precision }
  }
}

/**
 * Weibull distribution of right-censored times to failure by maximum likelihood; with a prior, the largest posterior of
 * (ln shape, ln scale) under a flat prior of ln scale.
 * @param options.confidence of the intervals, default 0.95
 * @throws Error on a time that is not above 0, or a prior without spread
 */
export function fitWeibull(lifetimes: readonly Lifetime[], options: { readonly prior?: ShapePrior; readonly confidence?: number } = {}): WeibullFit | NoFailures | NoSpreadOfAges {
  const { prior, confidence = 0.95 } = options
  checkPrior(prior)
  if (!(confidence > 0 && confidence < 1)) throw new Error(`Weibull fit: expected a confidence between 0 and 1, got ${confidence}`)
  const problem = lifetimeProblem('Weibull fit', lifetimes)
  // a prior bounds the shape even where all failures have one age
  if (problem !== undefined && !(problem.kind === 'no-spread-of-ages' && prior !== undefined)) return problem
  const sums = new ShapeSums(lifetimes)
  const shape = Math.exp(rootOfScore(sums, prior))
  const logScale = sums.largestLog + Math.log(sums.at(shape).zero / sums.failures) / shape
  const covariance = covarianceAt(lifetimes, shape, logScale, prior)
  const z = normalQuantile(0.5 + confidence / 2)
  const scale = Math.exp(logScale)
  const seOfLogShape = Math.sqrt(covariance.logShape)
  const seOfLogScale = Math.sqrt(covariance.logScale)
  return {
    kind: 'weibull',
    n: lifetimes.length,
    failures: sums.failures,
    shape,
    scale,
    logLikelihood: logLikelihood(lifetimes, shape, logScale),
    covariance,
    shapeSe: shape * seOfLogShape,
    scaleSe: scale * seOfLogScale,
    shapeInterval: { lower: shape * Math.exp(-z * seOfLogShape), upper: shape * Math.exp(z * seOfLogShape) },
    scaleInterval: { lower: scale * Math.exp(-z * seOfLogScale), upper: scale * Math.exp(z * seOfLogScale) },
  }
}

function checkPrior(prior: ShapePrior | undefined): void {
  if (prior !== undefined && !(prior.medianShape > 0 && prior.sdOfLog > 0 && Number.isFinite(prior.medianShape + prior.sdOfLog))) {
    throw new Error(`Weibull fit: expected a prior with median shape and spread above 0, got ${prior.medianShape} and ${prior.sdOfLog}`)
  }
}

/** Newton's method kept inside a bracket; the score is above 0 at small shapes and below 0 at large ones. */
function rootOfScore(sums: ShapeSums, prior: ShapePrior | undefined): number {
  let from = -1
  let to = 1
  while (sums.score(from, prior).value <= 0) from = 2 * from - 1
  while (sums.score(to, prior).value >= 0 && to < 700) to = 2 * to + 1
  let at = (from + to) / 2
  for (let step = 0; step < 200; step++) {
    const { value, slope } = sums.score(at, prior)
    if (value > 0) from = at
    else to = at
    let next = slope < 0 ? at - value / slope : (from + to) / 2
    if (!(next > from && next < to)) next = (from + to) / 2
    if (Math.abs(next - at) <= 1e-15 * Math.max(1, Math.abs(next))) return next
    at = next
  }
  return at
}

function logLikelihood(lifetimes: readonly Lifetime[], shape: number, logScale: number): number {
  let sum = 0
  for (const { time, failed } of lifetimes) {
    const log = Math.log(time)
    const z = shape * (log - logScale)
    if (failed) sum += z + Math.log(shape) - log
    sum -= Math.exp(z)
  }
  return sum
}

/** Inverse of the observed information in (ln scale, ln sigma), sigma = 1 / shape. */
function covarianceAt(lifetimes: readonly Lifetime[], shape: number, logScale: number, prior: ShapePrior | undefined): WeibullFit['covariance'] {
  let scaleScale = 0
  let scaleSigma = 0
  let sigmaSigma = prior === undefined ? 0 : 1 / prior.sdOfLog ** 2
  for (const { time, failed } of lifetimes) {
    const z = shape * (Math.log(time) - logScale)
    const power = Math.exp(z)
    scaleScale += shape * shape * power
    scaleSigma += shape * (power - (failed ? 1 : 0)) + shape * z * power
    sigmaSigma += (z + z * z) * power - (failed ? z : 0)
  }
  const determinant = scaleScale * sigmaSigma - scaleSigma * scaleSigma
  return { logScale: sigmaSigma / determinant, cross: -scaleSigma / determinant, logShape: scaleScale / determinant }
}

/** Posterior of the shape with the scale integrated out, so that what few failures leave open is not lost. */
export interface ShapePosterior {
  readonly kind: 'shape-posterior'
  /** P(shape <= x). */
  readonly shareBelow: (x: number) => number
  /** Shape below which the share p (between 0 and 1) lies. */
  readonly quantile: (p: number) => number
}

const GRID = 2000

/** Needs no failure at two ages: the prior bounds the shape. Numerical on a grid of ln(shape), good to 1e-6. */
export function shapePosterior(lifetimes: readonly Lifetime[], prior: ShapePrior = WEAR_PRIOR): ShapePosterior | NoFailures {
  checkPrior(prior)
  requireLifetimes('shape posterior', lifetimes)
  const fit = fitWeibull(lifetimes, { prior })
  if (fit.kind !== 'weibull') return { kind: 'no-failures', valueCount: lifetimes.length }
  const sums = new ShapeSums(lifetimes)
  // flat prior of ln scale: the likelihood integrates to shape^(d-1) exp(shape * sum of logs) / (sum of powers)^d
  const logDensity = (logShape: number): number => {
    const shape = Math.exp(logShape)
    const pull = (logShape - Math.log(prior.medianShape)) / prior.sdOfLog
    return (sums.failures - 1) * logShape + shape * sums.failureLogSum - sums.failures * Math.log(sums.at(shape).zero) - 0.5 * pull * pull
  }
  const centre = Math.log(fit.shape)
  const reach = 10 * Math.min(prior.sdOfLog, 2 * Math.sqrt(fit.covariance.logShape))
  const step = (2 * reach) / GRID
  const heights = Array.from({ length: GRID + 1 }, (_, i) => logDensity(centre - reach + i * step))
  const highest = heights.reduce((most, height) => Math.max(most, height), -Infinity)
  const cumulative = [0]
  for (let i = 1; i <= GRID; i++) cumulative.push(cumulative[i - 1]! + 0.5 * (Math.exp(heights[i - 1]! - highest) + Math.exp(heights[i]! - highest)))
  const total = cumulative[GRID]!
  const between = (position: number): number => {
    const low = Math.min(GRID - 1, Math.floor(position))
    return cumulative[low]! + (position - low) * (cumulative[low + 1]! - cumulative[low]!)
  }
  return {
    kind: 'shape-posterior',
    shareBelow: (x) => {
      if (!(x > 0)) throw new Error(`shape posterior: expected a shape above 0, got ${x}`)
      const position = (Math.log(x) - centre + reach) / step
      return position <= 0 ? 0 : position >= GRID ? 1 : between(position) / total
    },
    quantile: (p) => {
      if (!(p > 0 && p < 1)) throw new Error(`shape posterior: expected a share between 0 and 1 (both excluded), got ${p}`)
      let i = 0
      while (i < GRID - 1 && cumulative[i + 1]! < p * total) i++
      const rest = (p * total - cumulative[i]!) / Math.max(Number.MIN_VALUE, cumulative[i + 1]! - cumulative[i]!)
      return Math.exp(centre - reach + (i + Math.min(1, rest)) * step)
    },
  }
}
