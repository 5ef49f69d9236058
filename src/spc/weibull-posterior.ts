import { requireFinite } from './autocorrelation.js'
import { WEAR_PRIOR, type ShapePrior } from './weibull-fit.js'
import { checkLife, weibullSurvival, type WeibullLife } from './weibull-life.js'

/** A time to failure that is known only to lie between two ages; the same age twice: seen as it failed. */
export interface BoundedLife {
  /** 0: it may have failed at any age up to `upper`. */
  readonly lower: number
  /** Absent: still good at `lower` (right-censored). */
  readonly upper?: number
}

/** ln(scale) is taken to be normal, e.g. about that of sister lines; without it every scale is as likely as another. */
export interface ScalePrior {
  readonly logScale: number
  readonly sd: number
}

/** What is known of a Weibull life after some bounded ones: a grid of shapes and scales with their weights. */
export interface WeibullPosterior {
  readonly kind: 'weibull-posterior'
  /** The most probable one (of ln shape and ln scale). */
  readonly best: WeibullLife
  /** Weights sum to 1. */
  readonly lives: readonly (WeibullLife & { readonly weight: number })[]
  /** Of ln(scale). */
  readonly logScaleMean: number
  readonly logScaleSd: number
}

/** Nothing bounds the life from above, and no prior does: it may last for ever. */
export interface NoUpperBound {
  readonly kind: 'no-upper-bound'
  readonly valueCount: number
}

const GRID = 17
/** Standard deviations of the posterior that the grid reaches to either side. */
const REACH = 4
const LOG_SHAPE_MIN = Math.log(0.05)
const LOG_SHAPE_MAX = Math.log(60)

/**
 * Posterior of a Weibull life from bounded times to failure.
 * @throws Error on an age that is no number from 0, or bounds in the wrong order
 */
export function weibullPosterior(lives: readonly BoundedLife[], options: { readonly shape?: ShapePrior; readonly scale?: ScalePrior } = {}): WeibullPosterior | NoUpperBound {
  const { shape: prior = WEAR_PRIOR, scale } = options
  lives.forEach(({ lower, upper }, i) => {
    requireFinite('Weibull posterior', [lower, upper ?? lower])
    if (!(lower >= 0 && (upper === undefined || (upper >= lower && upper > 0)) && lower <= 1e100)) throw new Error(`Weibull posterior: life ${i} must lie between two ages from 0, got ${lower} to ${String(upper)}`)
  })
  if (!(prior.medianShape > 0 && prior.sdOfLog > 0)) throw new Error(`Weibull posterior: expected a prior with median shape and spread above 0, got ${prior.medianShape} and ${prior.sdOfLog}`)
  if (scale === undefined && !lives.some(({ upper }) => upper !== undefined)) return { kind: 'no-upper-bound', valueCount: lives.length }
  const density = (logShape: number, logScale: number): number => logPosterior(lives, logShape, logScale, prior, scale)
  const start = scale?.logScale ?? typicalLogAge(lives)
  const [logShape, logScale] = climb(density, Math.log(prior.medianShape), start)
  const spread = spreadAt(density, logShape, logScale, prior)
  return gridAround(density, logShape, logScale, spread)
}

function typicalLogAge(lives: readonly BoundedLife[]): number {
  const ages = lives.map(({ lower, upper }) => Math.log(upper === undefined ? Math.max(lower, Number.MIN_VALUE) : Math.max((lower + upper) / 2, Number.MIN_VALUE))).filter((age) => age > -230).sort((a, b) => a - b)
  return ages[Math.floor(ages.length / 2)] ?? 0
}

function logPosterior(lives: readonly BoundedLife[], logShape: number, logScale: number, prior: ShapePrior, scale: ScalePrior | undefined): number {
  if (logShape < LOG_SHAPE_MIN || logShape > LOG_SHAPE_MAX) return -Infinity
  const shape = Math.exp(logShape)
  const hazard = (age: number): number => (age <= 0 ? 0 : Math.exp(Math.min(700, shape * (Math.log(age) - logScale))))
  let sum = -0.5 * ((logShape - Math.log(prior.medianShape)) / prior.sdOfLog) ** 2
  if (scale !== undefined) sum -= 0.5 * ((logScale - scale.logScale) / scale.sd) ** 2
  for (const { lower, upper } of lives) {
    const from = hazard(lower)
    sum -= from
    if (upper === undefined) continue
    if (upper === lower) sum += logShape + shape * (Math.log(lower) - logScale) - Math.log(lower)
    else sum += Math.log(Math.max(1e-300, -Math.expm1(from - hazard(upper))))
  }
  return sum
}

/** Highest point by a search along both axes and the line between the last two points, with steps that halve. */
function climb(density: (x: number, y: number) => number, x0: number, y0: number): [number, number] {
  let [x, y] = [x0, y0]
  let height = density(x, y)
  const directions: readonly (readonly [number, number])[] = [[1, 0], [0, 1], [1, 1], [1, -1]]
  for (let step = 1; step > 1e-9; ) {
    const [fromX, fromY] = [x, y]
    for (const [dx, dy] of directions) {
      for (const way of [1, -1]) {
        for (let moved = density(x + way * step * dx, y + way * step * dy); moved > height; moved = density(x + way * step * dx, y + way * step * dy)) {
          x += way * step * dx
          y += way * step * dy
          height = moved
        }
      }
    }
    if (x === fromX && y === fromY) step /= 2
    // a prior too weak to hold a scale that nothing bounds from above
    if (Math.abs(y - y0) > 200) break
  }
  return [x, y]
}

/** Standard deviations of ln shape and ln scale from the curvature; of no more than the prior's shape, and a factor of e^2 in scale. */
function spreadAt(density: (x: number, y: number) => number, x: number, y: number, prior: ShapePrior): { x: number; y: number } {
  const h = 1e-3
  const centre = density(x, y)
  const xx = -(density(x + h, y) - 2 * centre + density(x - h, y)) / (h * h)
  const yy = -(density(x, y + h) - 2 * centre + density(x, y - h)) / (h * h)
  const xy = -(density(x + h, y + h) - density(x + h, y - h) - density(x - h, y + h) + density(x - h, y - h)) / (4 * h * h)
  const determinant = xx * yy - xy * xy
  const usual = determinant > 0 ? { x: Math.sqrt(yy / determinant), y: Math.sqrt(xx / determinant) } : { x: prior.sdOfLog, y: 1 }
  return { x: Math.min(1.2 * prior.sdOfLog, Math.max(1e-6, usual.x)), y: Math.min(2, Math.max(1e-6, usual.y)) }
}

function gridAround(density: (x: number, y: number) => number, logShape: number, logScale: number, spread: { x: number; y: number }): WeibullPosterior {
  const highest = density(logShape, logScale)
  const lives: { shape: number; scale: number; weight: number }[] = []
  let total = 0
  let sum = 0
  let squares = 0
  for (let i = 0; i < GRID; i += 1) {
    for (let j = 0; j < GRID; j += 1) {
      const x = logShape + spread.x * REACH * ((2 * i) / (GRID - 1) - 1)
      const y = logScale + spread.y * REACH * ((2 * j) / (GRID - 1) - 1)
      const weight = Math.exp(density(x, y) - highest)
      if (!(weight > 1e-7)) continue
      lives.push({ shape: Math.exp(x), scale: Math.exp(y), weight })
      total += weight
      sum += weight * (y - logScale)
      squares += weight * (y - logScale) ** 2
    }
  }
  const mean = sum / total
  return {
    kind: 'weibull-posterior',
    best: { shape: Math.exp(logShape), scale: Math.exp(logScale) },
    lives: lives.map((life) => ({ ...life, weight: life.weight / total })),
    logScaleMean: logScale + mean,
    logScaleSd: Math.sqrt(Math.max(0, squares / total - mean * mean)),
  }
}

/** Probability that it has failed by an age, what is not known of shape and scale included. */
export function predictedFailed({ lives }: WeibullPosterior, age: number): number {
  return lives.reduce((sum, life) => sum + life.weight * (1 - weibullSurvival(life, age)), 0)
}

/** Age by which the share `failed` (between 0 and 1) is predicted to have failed. */
export function predictedAge(posterior: WeibullPosterior, failed: number): number {
  if (!(failed > 0 && failed < 1)) throw new Error(`predicted age: expected a share between 0 and 1 (both excluded), got ${failed}`)
  let low = Math.log(posterior.best.scale) - 40
  let high = Math.log(posterior.best.scale) + 40
  for (let step = 0; step < 100; step += 1) {
    const middle = (low + high) / 2
    if (predictedFailed(posterior, Math.exp(middle)) < failed) low = middle
    else high = middle
  }
  return Math.exp((low + high) / 2)
}

/** Probability that the shape is at most x. */
export function shapeAtMost({ lives }: WeibullPosterior, x: number): number {
  return lives.reduce((sum, { shape, weight }) => (shape <= x ? sum + weight : sum), 0)
}

/** Shape below which the share p of the posterior lies, to the width of the grid. */
export function shapeQuantile({ lives }: WeibullPosterior, p: number): number {
  const sorted = [...lives].sort((a, b) => a.shape - b.shape)
  let sum = 0
  for (const { shape, weight } of sorted) if ((sum += weight) >= p) return shape
  return sorted.at(-1)!.shape
}

export interface CostPoint {
  readonly age: number
  /** Expected cost per unit of time when replaced at this age or at failure. */
  readonly rate: number
  /** Probability of having failed by this age. */
  readonly failed: number
}

const CURVE_POINTS = 90

/**
 * Cost of planned replacement by age, expected over what is not known of the life.
 * @param costs in any one unit, above 0
 */
export function predictedCosts(posterior: WeibullPosterior, costs: { readonly planned: number; readonly failure: number }, of: 'best' | 'all' = 'all'): readonly CostPoint[] {
  if (!(costs.planned > 0 && costs.failure > 0)) throw new Error(`cost curve: expected costs above 0, got ${costs.planned} and ${costs.failure}`)
  checkLife('cost curve', posterior.best)
  const from = Math.log(posterior.best.scale) - Math.log(30)
  const to = Math.log(posterior.best.scale) + Math.log(3)
  const ages = Array.from({ length: CURVE_POINTS }, (_, i) => Math.exp(from + ((to - from) * i) / (CURVE_POINTS - 1)))
  const rates = new Array<number>(CURVE_POINTS).fill(0)
  const failed = new Array<number>(CURVE_POINTS).fill(0)
  for (const { shape, scale, weight } of of === 'best' ? [{ ...posterior.best, weight: 1 }] : posterior.lives) {
    let service = 0
    let age = 0
    let survival = 1
    for (let i = 0; i < CURVE_POINTS; i += 1) {
      const next = Math.exp(-((ages[i]! / scale) ** shape))
      service += ((survival + next) / 2) * (ages[i]! - age)
      age = ages[i]!
      survival = next
      rates[i]! += (weight * (costs.planned * survival + costs.failure * (1 - survival))) / service
      failed[i]! += weight * (1 - survival)
    }
  }
  return ages.map((age, i) => ({ age, rate: rates[i]!, failed: failed[i]! }))
}
