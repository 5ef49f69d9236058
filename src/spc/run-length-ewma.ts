import { absorbingChain, type AbsorbingChain } from './absorbing-chain.js'
import { gaussLegendre } from './gauss-legendre.js'
import { normalCdf, normalPdf, normalUpperTail } from './special-functions.js'

/**
 * An EWMA chart: z = (1 - lambda) z + lambda x on standardised values, signal where |z| is beyond
 * `limit` * sqrt(lambda / (2 - lambda)).
 */
export interface EwmaDesign {
  /** Weight of the newest value, above 0 and up to 1. */
  readonly lambda: number
  /** Distance of the limits, in standard deviations of the settled statistic. */
  readonly limit: number
}

/** Under which conditions the run length is asked for. */
export interface EwmaConditions {
  /** Mean of the values, in sigmas off the target (default 0). */
  readonly shift?: number
  /** Standard deviation of the values in sigmas (default 1). */
  readonly sd?: number
  /** `upper-reflected`: one limit above, and the statistic never falls below 0 (default `two`). */
  readonly sided?: 'two' | 'upper-reflected'
  /** `steady-state`: the change comes after a long time in control without a signal (default `zero-state`). */
  readonly start?: 'zero-state' | 'steady-state'
  /** `time-varying`: the limits open with the statistic's own standard deviation from the first point on (default `fixed`). */
  readonly limits?: 'fixed' | 'time-varying'
}

/** The chart's integral equation on quadrature nodes. */
interface Discretised {
  readonly nodes: readonly number[]
  readonly weights: readonly number[]
  /** State 0 stands for the reflecting barrier at 0. */
  readonly barrier: boolean
}

function checkEwma(design: EwmaDesign, shift: number, sd: number): void {
  const { lambda, limit } = design
  if (!(lambda > 0 && lambda <= 1)) throw new Error(`EWMA: expected lambda above 0 and up to 1, got ${lambda}`)
  if (!(Number.isFinite(limit) && limit > 0)) throw new Error(`EWMA: expected a limit above 0, got ${limit}`)
  if (!Number.isFinite(shift)) throw new Error(`EWMA: expected a finite shift, got ${shift}`)
  if (!(Number.isFinite(sd) && sd > 0)) throw new Error(`EWMA: expected a standard deviation above 0, got ${sd}`)
}

/** Half width of the limits in sigmas of the values. */
export function ewmaHalfWidth({ lambda, limit }: EwmaDesign): number {
  checkEwma({ lambda, limit }, 0, 1)
  return limit * Math.sqrt(lambda / (2 - lambda))
}

/** Nodes enough for a kernel of the given width: their spacing stays below 0.7 of its standard deviation (error about 1e-12). */
function nodeCount(width: number, kernelSd: number): number {
  const wanted = 16 + (2.3 * width) / kernelSd
  if (wanted > 1500) throw new Error('EWMA: lambda is too small to compute the run length (the integral equation would need more than 1500 nodes)')
  return 8 * Math.ceil(wanted / 8)
}

/**
 * Mean run length of an EWMA chart of independent normal values (integral equation of Crowder 1987 by Gauss-Legendre
 * quadrature, solved without subtraction; agrees with independent values to 1e-9, up to run lengths of 1e9).
 *
 * @throws Error on a number outside its range, or a lambda below about 0.001
 */
export function ewmaArl(design: EwmaDesign, conditions: EwmaConditions = {}): number {
  const { shift = 0, sd = 1, sided = 'two', start = 'zero-state', limits = 'fixed' } = conditions
  checkEwma(design, shift, sd)
  if (limits === 'time-varying') {
    if (sided !== 'two' || start !== 'zero-state') throw new Error('EWMA: limits that vary with time are computed for two sides and zero state only')
    return timeVaryingArl(design, shift, sd)
  }
  if (start === 'zero-state' && sided === 'two' && shift === 0) return symmetricArl(design, sd)
  const space = discretise(design, sided, Math.min(sd, 1))
  const lengths = expectedLengths(chainOf(design, space, shift, sd))
  if (start === 'steady-state') {
    const share = chainOf(design, space, 0, 1).quasiStationary()
    return share.reduce((sum, part, i) => sum + part * lengths[i]!, 0)
  }
  return space.barrier ? lengths[0]! : lengthFrom(design, space, lengths, { start: 0, shift, sd })
}

function expectedLengths(chain: AbsorbingChain): Float64Array {
  return chain.expectedTotal(new Float64Array(chain.stateCount).fill(1))
}

function discretise(design: EwmaDesign, sided: 'two' | 'upper-reflected', sd: number): Discretised {
  const half = ewmaHalfWidth(design)
  const barrier = sided === 'upper-reflected'
  const width = barrier ? half : 2 * half
  const rule = gaussLegendre(nodeCount(width, design.lambda * sd))
  const nodes: number[] = barrier ? [0] : []
  const weights: number[] = barrier ? [0] : []
  for (let i = 0; i < rule.nodes.length; i++) {
    nodes.push(half - (width * (1 - rule.nodes[i]!)) / 2)
    weights.push((width * rule.weights[i]!) / 2)
  }
  return { nodes, weights, barrier }
}

function chainOf(design: EwmaDesign, space: Discretised, shift: number, sd: number): AbsorbingChain {
  const { lambda } = design
  const half = ewmaHalfWidth(design)
  const kernelSd = lambda * sd
  const n = space.nodes.length
  const moves = new Float64Array(n * n)
  const leave = new Float64Array(n)
  for (let i = 0; i < n; i++) {
    const mean = (1 - lambda) * space.nodes[i]! + lambda * shift
    for (let j = 0; j < n; j++) moves[i * n + j] = (space.weights[j]! * normalPdf((space.nodes[j]! - mean) / kernelSd)) / kernelSd
    leave[i] = normalUpperTail((half - mean) / kernelSd)
    if (space.barrier) moves[i * n] = normalCdf(-mean / kernelSd)
    else leave[i] = leave[i]! + normalCdf((-half - mean) / kernelSd)
  }
  return absorbingChain(moves, leave)
}

/** The integral equation once more, from a start between the nodes. */
function lengthFrom(
  design: EwmaDesign,
  space: Discretised,
  lengths: Float64Array,
  from: { readonly start: number; readonly shift: number; readonly sd: number },
): number {
  const { lambda } = design
  const half = ewmaHalfWidth(design)
  const kernelSd = lambda * from.sd
  const mean = (1 - lambda) * from.start + lambda * from.shift
  let sum = 1
  let total = normalUpperTail((half - mean) / kernelSd) + normalCdf((-half - mean) / kernelSd)
  for (let j = 0; j < lengths.length; j++) {
    const move = (space.weights[j]! * normalPdf((space.nodes[j]! - mean) / kernelSd)) / kernelSd
    sum += move * lengths[j]!
    total += move
  }
  return sum / total
}

/** In control both sides are alike: half the nodes, an eighth of the work. */
function symmetricArl(design: EwmaDesign, sd: number): number {
  const { lambda } = design
  const half = ewmaHalfWidth(design)
  const kernelSd = lambda * sd
  const rule = gaussLegendre(nodeCount(2 * half, lambda * Math.min(sd, 1)))
  const n = rule.nodes.length / 2
  const moves = new Float64Array((n + 1) * (n + 1))
  const leave = new Float64Array(n + 1)
  // state 0 is the start at 0, which no quadrature node falls on
  for (let i = 0; i <= n; i++) {
    const mean = i === 0 ? 0 : (1 - lambda) * half * rule.nodes[n + i - 1]!
    for (let j = 1; j <= n; j++) {
      const node = half * rule.nodes[n + j - 1]!
      const both = normalPdf((node - mean) / kernelSd) + normalPdf((node + mean) / kernelSd)
      moves[i * (n + 1) + j] = (half * rule.weights[n + j - 1]! * both) / kernelSd
    }
    leave[i] = normalUpperTail((half - mean) / kernelSd) + normalUpperTail((half + mean) / kernelSd)
  }
  return expectedLengths(absorbingChain(moves, leave))[0]!
}

/**
 * Mean run length of a Shewhart chart on a first-order autoregressive series, limits at `limit` marginal standard
 * deviations, first point drawn from the series' long run: what autocorrelation does to a chart that ignores it.
 * (In its own standard deviations such a series moves like an EWMA with lambda = 1 - phi.)
 *
 * @param options.phi lag-1 autocorrelation, from 0 to below 1
 * @param options.shift mean off the centre line in marginal standard deviations, from the first point on
 */
export function autocorrelatedShewhartArl(limit: number, options: { readonly phi: number; readonly shift?: number }): number {
  const { phi, shift = 0 } = options
  if (!(phi >= 0 && phi < 1)) throw new Error(`Shewhart chart: expected an autocorrelation from 0 to below 1, got ${phi}`)
  const design = { lambda: 1 - phi, limit }
  checkEwma(design, shift, 1)
  const unit = ewmaHalfWidth({ lambda: 1 - phi, limit: 1 })
  const space = discretise(design, 'two', 1)
  const lengths = expectedLengths(chainOf(design, space, shift * unit, 1))
  let sum = 1
  for (let i = 0; i < lengths.length; i++) sum += (space.weights[i]! / unit) * normalPdf(space.nodes[i]! / unit - shift) * lengths[i]!
  return sum
}

/** Limits that open with the statistic: the density of the surviving statistic is carried on until the limits have settled. */
function timeVaryingArl(design: EwmaDesign, shift: number, sd: number): number {
  const { lambda } = design
  const settled = ewmaHalfWidth(design)
  const halfAt = (step: number): number => settled * Math.sqrt(1 - (1 - lambda) ** (2 * step))
  const kernelSd = lambda * sd
  const rule = gaussLegendre(nodeCount(2 * settled, lambda * Math.min(sd, 1)))
  const n = rule.nodes.length
  let half = halfAt(1)
  let density = Float64Array.from(rule.nodes, (node) => normalPdf((half * node - lambda * shift) / kernelSd) / kernelSd)
  let total = 1
  for (let step = 1; (1 - lambda) ** (2 * step) > 1e-9; step++) {
    let alive = 0
    for (let i = 0; i < n; i++) alive += half * rule.weights[i]! * density[i]!
    total += alive
    if (alive < 1e-14) return total
    const nextHalf = halfAt(step + 1)
    const next = new Float64Array(n)
    for (let i = 0; i < n; i++) {
      const mass = half * rule.weights[i]! * density[i]!
      const mean = (1 - lambda) * half * rule.nodes[i]! + lambda * shift
      for (let j = 0; j < n; j++) next[j] = next[j]! + (mass * normalPdf((nextHalf * rule.nodes[j]! - mean) / kernelSd)) / kernelSd
    }
    density = next
    half = nextHalf
  }
  const lengths = expectedLengths(chainOf(design, discretise(design, 'two', Math.min(sd, 1)), shift, sd))
  for (let i = 0; i < n; i++) total += settled * rule.weights[i]! * density[i]! * lengths[i]!
  return total
}
