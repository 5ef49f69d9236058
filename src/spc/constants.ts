import { gaussLegendre } from './gauss-legendre.js'
import { normalCdf, normalPdf } from './special-functions.js'

/**
 * Control chart constants for subgroups of n normal values, computed instead of read from a table.
 *
 * d2, d3: mean and standard deviation of the range (sigma = 1). c4, c5: of the standard deviation.
 * A, A2, A3: limits of the mean from sigma, mean range, mean standard deviation. D1-D4: limits of the range.
 * B3-B6: limits of the standard deviation. E2: limits of individuals from the mean moving range.
 * All limits are the usual 3 sigma; a lower limit below 0 is 0.
 */
export interface ChartConstants {
  readonly n: number
  readonly d2: number
  readonly d3: number
  readonly c4: number
  readonly c5: number
  readonly A: number
  readonly A2: number
  readonly A3: number
  readonly D1: number
  readonly D2: number
  readonly D3: number
  readonly D4: number
  readonly B3: number
  readonly B4: number
  readonly B5: number
  readonly B6: number
  readonly E2: number
}

/** Mean absolute difference of two normal values, 2/sqrt(pi); d2 of the moving range. */
export const MOVING_RANGE_D2 = 2 / Math.sqrt(Math.PI)

const SUBGROUP_MAX = 200
const known = new Map<number, ChartConstants>()
const c4Known: number[] = [0, 0, Math.sqrt(2 / Math.PI)]

/**
 * Constants for subgroups of `n` values, 2 to 200; computed once for each n.
 *
 * @throws Error if n is not a whole number of 2 to 200
 * @see Montgomery, Introduction to Statistical Quality Control, appendix VI, for the definitions
 */
export function chartConstants(n: number): ChartConstants {
  let constants = known.get(n)
  if (constants === undefined) known.set(n, (constants = computeConstants(n)))
  return constants
}

function computeConstants(n: number): ChartConstants {
  checkSubgroupSize(n)
  const { mean: d2, sd: d3 } = rangeMoments(n)
  const c4 = c4Of(n)
  const c5 = Math.sqrt(1 - c4 * c4)
  const root = Math.sqrt(n)
  return {
    n, d2, d3, c4, c5,
    A: 3 / root,
    A2: 3 / (d2 * root),
    A3: 3 / (c4 * root),
    D1: Math.max(0, d2 - 3 * d3),
    D2: d2 + 3 * d3,
    D3: Math.max(0, 1 - (3 * d3) / d2),
    D4: 1 + (3 * d3) / d2,
    B3: Math.max(0, 1 - (3 * c5) / c4),
    B4: 1 + (3 * c5) / c4,
    B5: Math.max(0, c4 - 3 * c5),
    B6: c4 + 3 * c5,
    E2: 3 / d2,
  }
}

/** Mean of the standard deviation of n normal values, sigma = 1: sqrt(2/(n-1)) Gamma(n/2)/Gamma((n-1)/2), by c4(n) c4(n-1) = sqrt((n-2)/(n-1)). */
export function c4Of(n: number): number {
  if (!(Number.isInteger(n) && n >= 2 && n <= 1e6)) throw new Error(`c4: a subgroup size of 2 or more, up to 1e6, expected, found ${n}`)
  for (let i = c4Known.length; i <= n; i++) c4Known.push(Math.sqrt((i - 2) / (i - 1)) / c4Known[i - 1]!)
  return c4Known[n]!
}

/**
 * Distribution function of the range of n standard normal values, n int phi(x) [Phi(x+w) - Phi(x)]^(n-1) dx. The
 * trapezoid rule is exact to rounding for an analytic integrand that dies out on both sides.
 */
export function rangeCdf(w: number, n: number): number {
  checkSubgroupSize(n)
  if (Number.isNaN(w)) throw new Error('range distribution: expected a number, got NaN')
  if (!(w > 0)) return 0
  const step = 0.05
  let sum = 0
  for (let x = -9; x <= 9; x += step) {
    const between = normalCdf(x + w) - normalCdf(x)
    if (between > 0) sum += normalPdf(x) * Math.pow(between, n - 1)
  }
  return Math.min(1, n * step * sum)
}

/** Range of n standard normal values that is not exceeded with probability p. */
export function rangeQuantile(p: number, n: number): number {
  if (!(p > 0 && p < 1)) throw new Error(`range quantile: a probability between 0 and 1 expected, found ${p}`)
  let low = 0
  let high = 20
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2
    if (rangeCdf(middle, n) < p) low = middle
    else high = middle
  }
  return (low + high) / 2
}

/** E W = int 1 - F, E W^2 = int 2w (1 - F) over w from 0; 1 - F has died out by 20 for every subgroup size allowed. */
function rangeMoments(n: number): { mean: number; sd: number } {
  const { nodes, weights } = gaussLegendre(96)
  let first = 0
  let second = 0
  for (let i = 0; i < nodes.length; i++) {
    const w = 10 * (nodes[i]! + 1)
    const beyond = 1 - rangeCdf(w, n)
    first += 10 * weights[i]! * beyond
    second += 20 * weights[i]! * w * beyond
  }
  return { mean: first, sd: Math.sqrt(second - first * first) }
}

function checkSubgroupSize(n: number): void {
  if (!(Number.isInteger(n) && n >= 2 && n <= SUBGROUP_MAX)) throw new Error(`chart constants: a subgroup size of 2 to ${SUBGROUP_MAX} expected, found ${n}`)
}
