import { checkValues, plotted, type PlottedPoint, type TooFewSamples } from './control-limits.js'
import { fQuantile } from './special-functions.js'

/** Mean vector and covariance of p jointly charted values, with what is needed to judge a new vector fast. */
export interface MultivariateBaseline {
  readonly kind: 'baseline'
  readonly mean: readonly number[]
  /** Covariance, row by row. */
  readonly covariance: readonly (readonly number[])[]
  /** Lower triangular Cholesky factor of the covariance. */
  readonly factor: readonly (readonly number[])[]
  readonly sampleCount: number
}

export interface SingularCovariance {
  readonly kind: 'singular'
  /** Index of the first value that the ones before it determine. */
  readonly dependentIndex: number
}

/**
 * Mean and covariance of vectors in time order.
 *
 * @param spread `pooled`: the usual sample covariance; `successive`: from differences of neighbours, which a shift inside
 *   the baseline inflates far less (Sullivan and Woodall, 1996)
 * @returns `singular` where one value is a linear function of others, e.g. the same sensor twice
 * @throws Error if a value is not finite or lengths differ
 */
export function multivariateBaseline(vectors: readonly (readonly number[])[], spread: 'pooled' | 'successive' = 'pooled'): MultivariateBaseline | SingularCovariance | TooFewSamples {
  const p = vectors[0]?.length ?? 1
  const sampleCountMin = p + 2
  if (vectors.length < sampleCountMin) return { kind: 'too-few-samples', sampleCount: vectors.length, sampleCountMin }
  for (const vector of vectors) {
    if (vector.length !== p) throw new Error(`multivariate chart: vectors of ${p} values expected, found one of ${vector.length}`)
    checkValues('multivariate chart', vector)
  }
  const count = vectors.length
  const mean = Array.from({ length: p }, (_, j) => vectors.reduce((sum, vector) => sum + vector[j]! / count, 0))
  const pairs = spread === 'pooled' ? vectors.map((vector) => vector.map((value, j) => value - mean[j]!)) : vectors.slice(1).map((vector, i) => vector.map((value, j) => value - vectors[i]![j]!))
  const divisor = spread === 'pooled' ? count - 1 : 2 * (count - 1)
  const covariance = mean.map((_, i) => mean.map((__, j) => pairs.reduce((sum, pair) => sum + pair[i]! * pair[j]!, 0) / divisor))
  const factor = cholesky(covariance)
  if (typeof factor === 'number') return { kind: 'singular', dependentIndex: factor }
  return { kind: 'baseline', mean, covariance, factor, sampleCount: count }
}

/** Hotelling's T^2 of one vector: squared distance from the mean in the metric of the covariance. */
export function hotellingT2(baseline: MultivariateBaseline, vector: readonly number[]): number {
  return quadratic(baseline.factor, deviation(baseline, vector))
}

/**
 * Upper limit of T^2 for single vectors.
 *
 * @param alpha false signals per point, e.g. 1/arl0
 * @param phase 1: vectors of the baseline itself (beta distribution); 2: new vectors (F distribution)
 * @see Tracy, Young and Mason, JQT 24 (1992) 88
 */
export function hotellingLimit(p: number, sampleCount: number, alpha: number, phase: 1 | 2): number {
  if (!(alpha > 0 && alpha < 1)) throw new Error(`T^2 chart: alpha between 0 and 1 expected, found ${alpha}`)
  if (!(Number.isInteger(p) && p >= 1 && p <= 1000)) throw new Error(`T^2 chart: 1 to 1000 values in a vector expected, found ${p}`)
  if (!(sampleCount <= 1e9)) throw new Error(`T^2 chart: at most 1e9 vectors expected, found ${sampleCount}`)
  if (!(sampleCount >= p + 2)) throw new Error(`T^2 chart: at least ${p + 2} vectors expected for ${p} values, found ${sampleCount}`)
  const m = sampleCount
  if (phase === 2) return ((p * (m + 1) * (m - 1)) / (m * m - m * p)) * fQuantile(1 - alpha, p, m - p)
  const f = fQuantile(1 - alpha, p, m - p - 1)
  return (((m - 1) ** 2 / m) * (p * f)) / (m - p - 1 + p * f)
}

/** Plots one new vector; the centre is the mean of T^2, p. Without memory. */
export function stepHotelling(baseline: MultivariateBaseline, limit: number, vector: readonly number[]): PlottedPoint {
  const p = baseline.mean.length
  return plotted(hotellingT2(baseline, vector), { centre: p, sigma: Math.sqrt(2 * p), lower: 0, upper: limit })
}

/** Multivariate EWMA: plain JSON state. */
export interface MewmaState {
  average: number[]
  startShare: number
}

export function createMewma(baseline: MultivariateBaseline): MewmaState {
  return { average: baseline.mean.map(() => 0), startShare: 1 }
}

/**
 * Takes one vector: z = lambda (x - mean) + (1 - lambda) z, judged by its own T^2 with the exact, time-varying covariance.
 * Sees a small joint shift that no single chart sees.
 *
 * @param limit upper limit of T^2, by simulation for the wanted run length (for lambda 0.1: 8.66, 10.79, 12.79 for p = 2, 3, 4
 *   at a run length of 200, Prabhu and Runger 1997, from memory)
 * @see Lowry, Woodall, Champ and Rigdon, Technometrics 34 (1992) 46
 */
export function stepMewma(state: MewmaState, baseline: MultivariateBaseline, lambda: number, limit: number, vector: readonly number[]): PlottedPoint {
  if (!(lambda > 0 && lambda <= 1)) throw new Error(`multivariate EWMA: lambda must be above 0 and at most 1, found ${lambda}`)
  const now = deviation(baseline, vector)
  for (let j = 0; j < now.length; j++) state.average[j]! += lambda * (now[j]! - state.average[j]!)
  state.startShare *= (1 - lambda) ** 2
  const share = (lambda / (2 - lambda)) * (1 - state.startShare)
  const p = now.length
  return plotted(quadratic(baseline.factor, state.average) / share, { centre: p, sigma: Math.sqrt(2 * p), lower: 0, upper: limit })
}

function deviation(baseline: MultivariateBaseline, vector: readonly number[]): number[] {
  if (vector.length !== baseline.mean.length) throw new Error(`multivariate chart: ${baseline.mean.length} values expected, found ${vector.length}`)
  checkValues('multivariate chart', vector)
  return vector.map((value, j) => value - baseline.mean[j]!)
}

/** d' S^-1 d by forward substitution. */
function quadratic(factor: readonly (readonly number[])[], d: readonly number[]): number {
  const y: number[] = []
  let sum = 0
  for (let i = 0; i < d.length; i++) {
    let left = d[i]!
    for (let j = 0; j < i; j++) left -= factor[i]![j]! * y[j]!
    const solved = left / factor[i]![i]!
    y.push(solved)
    sum += solved * solved
  }
  return sum
}

/** Cholesky factor, or the index of the first row without variance of its own. */
function cholesky(matrix: readonly (readonly number[])[]): number[][] | number {
  const factor: number[][] = []
  for (let i = 0; i < matrix.length; i++) {
    const row: number[] = []
    for (let j = 0; j <= i; j++) {
      let left = matrix[i]![j]!
      for (let k = 0; k < j; k++) left -= (j === i ? row[k]! : factor[j]![k]!) * row[k]!
      if (j < i) row.push(left / factor[j]![j]!)
      else if (left > 1e-12 * matrix[i]![i]!) row.push(Math.sqrt(left))
      else return i
    }
    factor.push(row)
  }
  return factor
}
