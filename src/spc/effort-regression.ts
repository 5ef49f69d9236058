import { requireFinite, type NoVariation, type TooFewValues } from './autocorrelation.js'
import { median } from './robust-estimates.js'

/** One settled moment of a controlled variable: the effort (duty, valve position, speed) and what should explain it. */
export interface EffortPoint {
  readonly effort: number
  /** Set-point, load, ambient …, in an order of the caller's; every point has the same number. */
  readonly conditions: readonly number[]
}

/** effort = intercept + sum of coefficient_i * (condition_i - centre_i), learned while all was well. Plain JSON. */
export interface EffortModel {
  readonly kind: 'effort-model'
  readonly intercept: number
  /** 0 for a condition that did not vary while learning (see `leftOut`). */
  readonly coefficients: readonly number[]
  readonly centres: readonly number[]
  /** Range seen while learning; outside it the model is extrapolating. */
  readonly ranges: readonly { readonly lower: number; readonly upper: number }[]
  /** Standard deviation of the effort around the model, robust. */
  readonly residualSigma: number
  readonly pointCount: number
  /** Points the robust fit gave no weight. */
  readonly outlierCount: number
  /** Positions of conditions that did not vary, or only together with an earlier one. */
  readonly leftOut: readonly number[]
}

/** Tukey's biweight, 95 % efficient at the normal distribution. */
const BIWEIGHT_TUNING = 4.685
/** Makes the median absolute deviation an estimate of sigma for normal data. */
const MAD_NORMAL = 1.482602218505602
const ROUNDS_MAX = 60

/**
 * Robust regression of the effort on its conditions (biweight, started from least absolute residuals), so that a fault
 * episode in the learning period does not become the norm.
 *
 * @param points at least 10 per condition and 20 in all; one recipe, settled operation
 * @throws Error on values that are not finite, or points with different numbers of conditions
 */
export function fitEffort(points: readonly EffortPoint[]): EffortModel | TooFewValues | NoVariation {
  const width = points[0]?.conditions.length ?? 0
  const valueCountMin = Math.max(20, 10 * (width + 1))
  requireFinite('effort regression', points.map((point) => point.effort))
  for (const point of points) {
    if (point.conditions.length !== width) throw new Error(`effort regression: expected ${width} conditions at every point, got ${point.conditions.length}`)
    requireFinite('effort regression', point.conditions)
  }
  if (points.length < valueCountMin) return { kind: 'too-few-values', valueCount: points.length, valueCountMin }
  const efforts = points.map((point) => point.effort)
  const columns = Array.from({ length: width }, (_, c) => points.map((point) => point.conditions[c]!))
  const centres = columns.map((column) => median(column))
  const scales = columns.map((column, c) => Math.sqrt(column.reduce((sum, x) => sum + (x - centres[c]!) ** 2, 0) / column.length))
  const used = independentColumns(columns, centres, scales)
  const centreEffort = median(efforts)
  const rows = points.map((point) => [1, ...used.map((c) => (point.conditions[c]! - centres[c]!) / scales[c]!)])
  const robust = robustFit(rows, efforts.map((effort) => effort - centreEffort))
  if (!(robust.sigma > Math.abs(centreEffort) * 1e-12)) return { kind: 'no-variation' }
  const coefficients = new Array<number>(width).fill(0)
  used.forEach((c, i) => (coefficients[c] = robust.beta[i + 1]! / scales[c]!))
  return {
    kind: 'effort-model',
    intercept: centreEffort + robust.beta[0]!,
    coefficients,
    centres,
    ranges: columns.map((column) => ({ lower: Math.min(...column), upper: Math.max(...column) })),
    residualSigma: robust.sigma,
    pointCount: points.length,
    outlierCount: robust.weights.filter((weight) => weight === 0).length,
    leftOut: columns.map((_, c) => c).filter((c) => !used.includes(c)),
  }
}

/** Columns that vary, each with something of its own beside those before it (share of its variation above 1e-6). */
function independentColumns(columns: readonly (readonly number[])[], centres: readonly number[], scales: readonly number[]): number[] {
  const used: number[] = []
  const basis: number[][] = []
  columns.forEach((column, c) => {
    const scale = scales[c]!
    if (!(scale > Math.abs(centres[c]!) * 1e-12)) return
    const mean = column.reduce((sum, x) => sum + (x - centres[c]!) / scale, 0) / column.length
    const own = column.map((x) => (x - centres[c]!) / scale - mean)
    const before = own.reduce((sum, x) => sum + x * x, 0)
    for (const vector of basis) {
      const part = vector.reduce((sum, x, i) => sum + x * own[i]!, 0)
      vector.forEach((x, i) => (own[i] = own[i]! - part * x))
    }
    const left = own.reduce((sum, x) => sum + x * x, 0)
    if (!(left > 1e-6 * before)) return
    const norm = Math.sqrt(left)
    basis.push(own.map((x) => x / norm))
    used.push(c)
  })
  return used
}

interface RobustFit {
  readonly beta: number[]
  readonly sigma: number
  readonly weights: number[]
}

function robustFit(rows: readonly (readonly number[])[], target: readonly number[]): RobustFit {
  const n = rows.length
  const residualsOf = (beta: readonly number[]): number[] => rows.map((row, i) => target[i]! - row.reduce((sum, x, c) => sum + x * beta[c]!, 0))
  let beta = weightedLeastSquares(rows, target, new Array<number>(n).fill(1))
  const largest = Math.max(...target.map(Math.abs), 1e-300)
  // least absolute residuals first: it is not drawn away by an episode and so gives a scale to trust
  for (let round = 0; round < 30; round++) {
    beta = weightedLeastSquares(rows, target, residualsOf(beta).map((r) => 1 / Math.max(Math.abs(r), 1e-9 * largest)))
  }
  const sigma = scaleOf(residualsOf(beta), beta.length)
  let weights = new Array<number>(n).fill(1)
  if (!(sigma > 1e-12 * largest)) return { beta, sigma: 0, weights }
  for (let round = 0; round < ROUNDS_MAX; round++) {
    weights = residualsOf(beta).map((r) => {
      const u = r / (BIWEIGHT_TUNING * sigma)
      return Math.abs(u) >= 1 ? 0 : (1 - u * u) ** 2
    })
    const next = weightedLeastSquares(rows, target, weights)
    const change = Math.max(...next.map((value, c) => Math.abs(value - beta[c]!)))
    beta = next
    if (change < 1e-12 * largest) break
  }
  return { beta, sigma: scaleOf(residualsOf(beta), beta.length), weights }
}

/** Median absolute residual as an estimate of sigma, corrected for the parameters spent. */
function scaleOf(residuals: readonly number[], parameterCount: number): number {
  const n = residuals.length
  return MAD_NORMAL * median(residuals.map(Math.abs)) * Math.sqrt(n / (n - parameterCount))
}

/** Normal equations of centred, scaled columns, by Cholesky's method with a trace of ridge against zero weights. */
function weightedLeastSquares(rows: readonly (readonly number[])[], target: readonly number[], weights: readonly number[]): number[] {
  const width = rows[0]!.length
  const matrix = Array.from({ length: width }, () => new Array<number>(width + 1).fill(0))
  let total = 0
  for (const weight of weights) total += weight
  rows.forEach((row, i) => {
    const weight = weights[i]! / total
    for (let a = 0; a < width; a++) {
      for (let b = 0; b <= a; b++) matrix[a]![b] = matrix[a]![b]! + weight * row[a]! * row[b]!
      matrix[a]![width] = matrix[a]![width]! + weight * row[a]! * target[i]!
    }
  })
  for (let a = 0; a < width; a++) matrix[a]![a] = matrix[a]![a]! * (1 + 1e-13) + 1e-300
  return solveCholesky(matrix, width)
}

/** Solves the lower half of a symmetric system; the right side stands in the last column. */
function solveCholesky(matrix: number[][], width: number): number[] {
  const beta = new Array<number>(width).fill(0)
  for (let a = 0; a < width; a++) {
    for (let b = 0; b <= a; b++) {
      let sum = matrix[a]![b]!
      for (let c = 0; c < b; c++) sum -= matrix[a]![c]! * matrix[b]![c]!
      matrix[a]![b] = a === b ? Math.sqrt(Math.max(sum, 1e-300)) : sum / matrix[b]![b]!
    }
    let right = matrix[a]![width]!
    for (let c = 0; c < a; c++) right -= matrix[a]![c]! * beta[c]!
    beta[a] = right / matrix[a]![a]!
  }
  for (let a = width - 1; a >= 0; a--) {
    let sum = beta[a]!
    for (let c = a + 1; c < width; c++) sum -= matrix[c]![a]! * beta[c]!
    beta[a] = sum / matrix[a]![a]!
  }
  return beta
}

/** Effort expected under the given conditions, and whether they lie inside what was learned. */
export interface ExpectedEffort {
  readonly effort: number
  /** False where a condition lies outside the learned range by more than a tenth of it. */
  readonly withinLearnedRange: boolean
}

/** @throws Error where the number of conditions differs from the model's */
export function expectedEffort(model: EffortModel, conditions: readonly number[]): ExpectedEffort {
  if (conditions.length !== model.coefficients.length) throw new Error(`expected effort: expected ${model.coefficients.length} conditions, got ${conditions.length}`)
  requireFinite('expected effort', conditions)
  let effort = model.intercept
  let withinLearnedRange = true
  conditions.forEach((condition, c) => {
    effort += model.coefficients[c]! * (condition - model.centres[c]!)
    const { lower, upper } = model.ranges[c]!
    const slack = 0.1 * (upper - lower)
    if (condition < lower - slack || condition > upper + slack) withinLearnedRange = false
  })
  return { effort, withinLearnedRange }
}

/**
 * Share of its effect an actuator has lost, from the effort it needs now: 5 % more duty for the same result means 4.8 %
 * less effect. Negative where it needs less than expected.
 * @param effort what it takes now, above 0
 */
export function effectLossShare(effort: number, expected: number): number {
  if (!(effort > 0 && Number.isFinite(effort) && Number.isFinite(expected))) throw new Error(`effect loss: expected efforts above 0, got ${effort} and ${expected}`)
  return 1 - expected / effort
}
