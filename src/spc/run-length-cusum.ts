import { absorbingChain, type AbsorbingChain } from './absorbing-chain.js'
import { gaussLegendre } from './gauss-legendre.js'
import { normalCdf, normalPdf, normalUpperTail } from './special-functions.js'

/**
 * A tabular CUSUM of standardised values: C = max(0, C + x - k) upwards and max(0, C - x - k) downwards, signal where
 * one is above h.
 */
export interface CusumDesign {
  /** Reference value k, half the shift (in sigmas) the chart is tuned to; 0 or more. */
  readonly k: number
  /** Decision interval h in sigmas. */
  readonly h: number
}

/** Under which conditions the run length is asked for. */
export interface CusumConditions {
  /** Mean of the values, in sigmas off the target (default 0). */
  readonly shift?: number
  /** Standard deviation of the values in sigmas (default 1). */
  readonly sd?: number
  /** `one`: the upper sum only (default `two`). */
  readonly sided?: 'one' | 'two'
  /** Value both sums start from, as share of h: 0.5 is the usual fast initial response (default 0). */
  readonly headStartShare?: number
  /** `steady-state`: the change comes after a long time in control without a signal (default `zero-state`). */
  readonly start?: 'zero-state' | 'steady-state'
}

interface OneSide {
  readonly nodes: readonly number[]
  readonly weights: readonly number[]
  readonly lengths: Float64Array
  readonly drift: number
  readonly h: number
}

function checkCusum(design: CusumDesign, shift: number, sd: number): void {
  const { k, h } = design
  if (!(k >= 0 && k <= 1e6)) throw new Error(`CUSUM: expected a reference value k from 0 to 1e6, got ${k}`)
  if (!(Number.isFinite(h) && h > 0)) throw new Error(`CUSUM: expected a decision interval h above 0, got ${h}`)
  if (!Number.isFinite(shift)) throw new Error(`CUSUM: expected a finite shift, got ${shift}`)
  if (!(Number.isFinite(sd) && sd > 0)) throw new Error(`CUSUM: expected a standard deviation above 0, got ${sd}`)
}

/**
 * Mean run length of a CUSUM of independent normal values (Page's integral equation by Gauss-Legendre quadrature,
 * solved without subtraction; two sides by Kemp's and Lucas & Crosier's formulas, exact here because one sum is 0
 * whenever the other signals). Agrees with independent values to 1e-6, up to run lengths of 1e9.
 *
 * @throws Error on a number outside its range, or an h above about 600 sigmas
 */
export function cusumArl(design: CusumDesign, conditions: CusumConditions = {}): number {
  const { shift = 0, sd = 1, sided = 'two', headStartShare = 0, start = 'zero-state' } = conditions
  checkCusum(design, shift, sd)
  if (start === 'steady-state') return steadyStateArl(design, { shift, sd, sided })
  if (!(headStartShare >= 0 && headStartShare < 1)) throw new Error(`CUSUM: expected a head start from 0 up to below 1 of h, got ${headStartShare}`)
  const upper = oneSide(design, shift, sd)
  const upperZero = upper.lengths[0]!
  const upperStart = lengthFrom(upper, headStartShare * upper.h)
  if (sided === 'one') return upperStart
  const lower = shift === 0 ? upper : oneSide(design, -shift, sd)
  const lowerZero = lower.lengths[0]!
  return bothSides({ upperZero, lowerZero, upperStart, lowerStart: lengthFrom(lower, headStartShare * lower.h) })
}

/** Lucas & Crosier 1982: run length of two sums from those of each alone. */
function bothSides(length: { upperZero: number; lowerZero: number; upperStart: number; lowerStart: number }): number {
  const { upperZero, lowerZero, upperStart, lowerStart } = length
  if (!Number.isFinite(lowerZero)) return upperStart
  if (!Number.isFinite(upperZero)) return lowerStart
  const share = upperZero / (upperZero + lowerZero)
  // (U(s) L(0) + U(0) L(s) - U(0) L(0)) / (U(0) + L(0)), kept from overflowing where one side never signals
  return upperStart * (1 - share) + share * (lowerStart - lowerZero)
}

function nodesFor(h: number, finestH: number): { nodes: number[]; weights: number[] } {
  const wanted = 12 + 2.3 * finestH
  if (wanted > 1500) throw new Error('CUSUM: h is too large to compute the run length (the integral equation would need more than 1500 nodes)')
  const rule = gaussLegendre(8 * Math.ceil(wanted / 8))
  const nodes = [0]
  const weights = [0]
  for (let i = 0; i < rule.nodes.length; i++) {
    nodes.push((h * (1 + rule.nodes[i]!)) / 2)
    weights.push((h * rule.weights[i]!) / 2)
  }
  return { nodes, weights }
}

/** Chain of the upper sum in units of the values' own standard deviation; state 0 is the sum at 0. */
function chainOf(nodes: readonly number[], weights: readonly number[], drift: number, h: number): AbsorbingChain {
  const n = nodes.length
  const moves = new Float64Array(n * n)
  const leave = new Float64Array(n)
  for (let i = 0; i < n; i++) {
    const mean = nodes[i]! + drift
    for (let j = 1; j < n; j++) moves[i * n + j] = weights[j]! * normalPdf(nodes[j]! - mean)
    moves[i * n] = normalCdf(-mean)
    leave[i] = normalUpperTail(h - mean)
  }
  return absorbingChain(moves, leave)
}

function oneSide(design: CusumDesign, shift: number, sd: number): OneSide {
  const h = design.h / sd
  const drift = (shift - design.k) / sd
  const { nodes, weights } = nodesFor(h, Math.max(h, design.h))
  const farOff = normalUpperTail(h - drift)
  // a sum that can never grow: no chain to solve
  if (farOff === 0 && drift < -30) return { nodes, weights, drift, h, lengths: new Float64Array(nodes.length).fill(Infinity) }
  const chain = chainOf(nodes, weights, drift, h)
  return { nodes, weights, drift, h, lengths: chain.expectedTotal(new Float64Array(chain.stateCount).fill(1)) }
}

/** The integral equation once more, from a start between the nodes. */
function lengthFrom(side: OneSide, start: number): number {
  if (start === 0) return side.lengths[0]!
  const mean = start + side.drift
  const toZero = normalCdf(-mean)
  let sum = 1 + toZero * side.lengths[0]!
  let total = toZero + normalUpperTail(side.h - mean)
  for (let j = 1; j < side.nodes.length; j++) {
    const move = side.weights[j]! * normalPdf(side.nodes[j]! - mean)
    sum += move * side.lengths[j]!
    total += move
  }
  return sum / total
}

function steadyStateArl(design: CusumDesign, conditions: { readonly shift: number; readonly sd: number; readonly sided: 'one' | 'two' }): number {
  const { shift, sd, sided } = conditions
  // in-control nodes and out-of-control nodes must be the same points of the chart
  const finestH = Math.max(design.h, design.h / sd)
  const { nodes, weights } = nodesFor(design.h, finestH)
  const inControl = chainOf(nodes, weights, -design.k, design.h)
  const share = sided === 'one' ? inControl.quasiStationary() : twoSidedMarginal(inControl)
  const upper = oneSide(design, shift, sd)
  const upperStart = weightedMean(share, upper.lengths)
  if (sided === 'one') return upperStart
  const lower = oneSide(design, -shift, sd)
  return bothSides({ upperZero: upper.lengths[0]!, lowerZero: lower.lengths[0]!, upperStart, lowerStart: weightedMean(share, lower.lengths) })
}

function weightedMean(share: Float64Array, values: Float64Array): number {
  return share.reduce((sum, part, i) => (part === 0 ? sum : sum + part * values[i]!), 0)
}

/**
 * Long-run distribution of the upper sum given that NEITHER sum has signalled.
 *
 * When the lower sum signals, the upper stands at 0. So the upper sum alone is a chain that also loses, from state 0, the
 * mass at which the lower one signals: psi Q - (theta / 2) at state 0 = (1 - theta) psi, where theta is the signal rate of
 * both together and, both sides being alike in control, half of it is the lower one's. This is solved for psi and theta by
 * splitting state 0 into its part along the one-sided long-run distribution and a quickly fading rest.
 */
function twoSidedMarginal(chain: AbsorbingChain): Float64Array {
  const n = chain.stateCount
  const left = chain.quasiStationary()
  const rateOne = 1 / sumOf(chain.expectedVisits(left))
  let right = new Float64Array(n).fill(1)
  for (let round = 0; round < 500; round++) {
    const next = chain.expectedTotal(right)
    const scale = 1 / next[0]!
    let change = 0
    for (let i = 0; i < n; i++) {
      next[i] = next[i]! * scale
      change = Math.max(change, Math.abs(next[i]! - right[i]! / right[0]!))
    }
    right = next as Float64Array<ArrayBuffer>
    if (change < 1e-13) break
  }
  const along = weightedMean(left, right)
  const removeLeft = (vector: Float64Array): void => {
    const part = vector.reduce((sum, value, i) => sum + value * right[i]!, 0) / along
    for (let i = 0; i < n; i++) vector[i] = vector[i]! - part * left[i]!
  }
  let term = new Float64Array(n)
  term[0] = 1
  const weight = right[0]! / along
  removeLeft(term)
  const terms: Float64Array[] = []
  for (let power = 0; power < 60; power++) {
    const next = chain.expectedVisits(term)
    removeLeft(next)
    terms.push(next)
    term = next as Float64Array<ArrayBuffer>
    if ((2 * rateOne) ** power * sumOf(term.map(Math.abs)) < 1e-14) break
  }
  const sums = terms.map(sumOf)
  let rate = 2 * rateOne
  for (let round = 0; round < 200; round++) {
    const rest = sums.reduce((sum, value, power) => sum + value * rate ** power, 0)
    const next = rateOne + (weight * rate) / 2 / (1 + (rate / 2) * rest)
    const done = Math.abs(next - rate) < 1e-14 * rate
    rate = next
    if (done) break
  }
  return left.map((value, i) => (rate / 2) * ((weight * value) / (rate - rateOne) - terms.reduce((sum, part, power) => sum + part[i]! * rate ** power, 0)))
}

function sumOf(values: Float64Array): number {
  let sum = 0
  for (const value of values) sum += value
  return sum
}
