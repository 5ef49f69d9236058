import { meanOf, requireFinite, type NoVariation, type TooFewValues } from './autocorrelation.js'

/** 95 % point of chi-square with one degree of freedom: the drop of twice the log-likelihood a confidence set allows. */
const DROP_95 = 3.841458820694124
/** Lead in BIC below which no model is named. */
const LEAD_MIN = 6
const VALUES_MIN = 8

/** Where a level changed. Indices are 0-based and name the first value AFTER the change. */
export interface StepChange {
  readonly kind: 'step-change'
  readonly index: number
  /** Every start of the change the data do not speak against (95 %), ascending; always holds `index`. */
  readonly confidenceSet: readonly number[]
  readonly meanBefore: number
  readonly meanAfter: number
  /** Sum of squares the two levels leave. */
  readonly sumSquares: number
}

export interface ChangePointOptions {
  /** Level before the change, where a baseline has fixed it; otherwise both levels come from the values. */
  readonly meanBefore?: number
  /** Standard deviation of single values, where a baseline has fixed it; otherwise it comes from what the levels leave. */
  readonly sigma?: number
  /** Lag-1 autocorrelation of the values in control; widens the confidence set (default 0). */
  readonly phi?: number
}

function inflation(phi: number): number {
  if (!(Math.abs(phi) < 1)) throw new Error(`change point: expected a lag-1 autocorrelation between -1 and 1, got ${phi}`)
  return phi > 0 ? (1 + phi) / (1 - phi) : 1
}

function check(values: readonly number[], options: ChangePointOptions): TooFewValues | undefined {
  requireFinite('change point', values)
  if (options.meanBefore !== undefined) requireFinite('change point', [options.meanBefore])
  if (options.sigma !== undefined && !(options.sigma > 0 && Number.isFinite(options.sigma))) throw new Error(`change point: expected a sigma above 0, got ${options.sigma}`)
  return values.length < VALUES_MIN ? { kind: 'too-few-values', valueCount: values.length, valueCountMin: VALUES_MIN } : undefined
}

/**
 * Most likely time of a single step (least squares = maximum likelihood for normal values; with `meanBefore` given it is
 * the estimate of Samuel, Pignatiello & Calvin 1998, which may put the change at the very first value).
 * Says where a change would be, not that there is one.
 *
 * @param values in time order, at least 8
 */
export function stepChangePoint(values: readonly number[], options: ChangePointOptions = {}): StepChange | TooFewValues | NoVariation {
  const problem = check(values, options)
  if (problem !== undefined) return problem
  const widening = inflation(options.phi ?? 0)
  const n = values.length
  const squares = stepSumSquares(values, options.meanBefore)
  const first = options.meanBefore === undefined ? 1 : 0
  let index = first
  for (let i = first; i < n; i++) if (squares[i]! < squares[index]!) index = i
  const sumSquares = squares[index]!
  const spread = values.reduce((most, value) => Math.max(most, Math.abs(value - values[0]!)), 0)
  if (spread === 0 && (options.meanBefore === undefined || options.meanBefore === values[0])) return { kind: 'no-variation' }
  const confidenceSet: number[] = []
  for (let i = first; i < n; i++) {
    if (i === index || logLikelihoodDrop(squares[i]!, sumSquares, n, options.sigma) <= DROP_95 * widening) confidenceSet.push(i)
  }
  return {
    kind: 'step-change',
    index,
    confidenceSet,
    meanBefore: options.meanBefore ?? meanOf(values.slice(0, index)),
    meanAfter: meanOf(values.slice(index)),
    sumSquares,
  }
}

/** Twice the drop of the log-likelihood. */
function logLikelihoodDrop(squares: number, least: number, n: number, sigma: number | undefined): number {
  if (sigma !== undefined) return (squares - least) / (sigma * sigma)
  if (least <= 0) return squares <= 0 ? 0 : Infinity
  return n * Math.log(squares / least)
}

/** Sum of squares about the two levels for every start of the change (index 0: all values after it). */
function stepSumSquares(values: readonly number[], meanBefore: number | undefined): number[] {
  const n = values.length
  const origin = meanBefore ?? meanOf(values)
  const total = new Float64Array(n + 1)
  const square = new Float64Array(n + 1)
  for (let i = 0; i < n; i++) {
    const value = values[i]! - origin
    total[i + 1] = total[i]! + value
    square[i + 1] = square[i]! + value * value
  }
  const result: number[] = []
  for (let i = 0; i < n; i++) {
    const afterSum = total[n]! - total[i]!
    const before = meanBefore === undefined && i > 0 ? (total[i]! * total[i]!) / i : 0
    result.push(Math.max(0, square[n]! - before - (afterSum * afterSum) / (n - i)))
  }
  return result
}

/** Form of a change. `ramp`: a level that starts to slope; `spread`: the scatter changed, the level did not. */
export type ChangeForm = 'step' | 'ramp' | 'spread'

export type ChangeClassification =
  | {
      readonly kind: 'change'
      readonly form: ChangeForm
      /** First value after the change. */
      readonly index: number
      readonly confidenceSet: readonly number[]
      /** Level (step), slope per value (ramp) or standard deviation (spread) before and after. */
      readonly before: number
      readonly after: number
      /** Lead over the next best form (or over no change), in BIC. */
      readonly lead: number
    }
  | { readonly kind: 'no-change'; readonly lead: number }
  /** Two forms explain the values about equally well. */
  | { readonly kind: 'undecided'; readonly best: ChangeForm | 'none'; readonly second: ChangeForm | 'none'; readonly lead: number }

interface Candidate {
  readonly form: ChangeForm | 'none'
  readonly bic: number
  readonly index: number
  readonly before: number
  readonly after: number
  /** Twice the log-likelihood for every start of the change. */
  readonly likelihood: readonly number[]
}

/**
 * Step, ramp, change of spread or none? By BIC, counting autocorrelated values for what they are worth; a form is named
 * only if it leads by more than 6.
 *
 * @param values in time order, at least 16
 * @param options.phi lag-1 autocorrelation in control (default 0)
 */
export function classifyChange(values: readonly number[], options: { readonly phi?: number } = {}): ChangeClassification | TooFewValues | NoVariation {
  const problem = check(values, {})
  if (problem !== undefined || values.length < 16) return { kind: 'too-few-values', valueCount: values.length, valueCountMin: 16 }
  const widening = inflation(options.phi ?? 0)
  const n = values.length
  const mean = meanOf(values)
  const deviations = values.map((value) => value - mean)
  const total = deviations.reduce((sum, value) => sum + value * value, 0)
  const largest = values.reduce((most, value) => Math.max(most, Math.abs(value)), 0)
  if (!(total > n * (1e-14 * largest) ** 2)) return { kind: 'no-variation' }
  // no noise at all left by a model must not make its likelihood infinite
  const floor = total * 1e-12
  const count = n / widening
  const penalty = (parameters: number): number => parameters * Math.log(Math.max(count, 2))
  const none: Candidate = { form: 'none', bic: count * Math.log(total / n) + penalty(2), index: n, before: 0, after: 0, likelihood: [] }
  const candidates = [stepCandidate(deviations, mean, floor), rampCandidate(deviations, floor), spreadCandidate(deviations, floor)].map(
    (raw): Candidate => ({ ...raw, bic: -Math.max(...raw.likelihood) / widening + penalty(4) }),
  )
  const [best, second] = [none, ...candidates].sort((a, b) => a.bic - b.bic) as [Candidate, Candidate]
  const lead = second.bic - best.bic
  if (best.form === 'none') return { kind: 'no-change', lead }
  if (lead <= LEAD_MIN) return { kind: 'undecided', best: best.form, second: second.form, lead }
  const most = Math.max(...best.likelihood)
  const confidenceSet = best.likelihood.flatMap((value, i) => (most - value <= DROP_95 * widening ? [i] : []))
  return { kind: 'change', form: best.form, index: best.index, confidenceSet, before: best.before, after: best.after, lead }
}

type RawCandidate = Omit<Candidate, 'bic'>

function argMax(likelihood: readonly number[]): number {
  let index = 0
  likelihood.forEach((value, i) => {
    if (value > likelihood[index]!) index = i
  })
  return index
}

function stepCandidate(deviations: readonly number[], mean: number, floor: number): RawCandidate {
  const n = deviations.length
  const squares = stepSumSquares(deviations, undefined)
  const likelihood = squares.map((sum, i) => (i < 2 || i > n - 2 ? -Infinity : -n * Math.log(Math.max(sum, floor) / n)))
  const index = argMax(likelihood)
  return { form: 'step', index, likelihood, before: mean + meanOf(deviations.slice(0, index)), after: mean + meanOf(deviations.slice(index)) }
}

/** Least squares of level + slope * max(0, i - index + 1): the value at `index` is the first off the old level. */
function rampCandidate(deviations: readonly number[], floor: number): RawCandidate {
  const n = deviations.length
  const total = deviations.reduce((sum, value) => sum + value * value, 0)
  const sumAll = deviations.reduce((sum, value) => sum + value, 0)
  const likelihood = new Array<number>(n).fill(-Infinity)
  const slopes = new Array<number>(n).fill(0)
  let sum = 0
  let product = 0
  for (let index = n - 1; index >= 1; index--) {
    sum += deviations[index]!
    product += sum
    const m = n - index
    if (m < 4 || index < 2) continue
    const hinge = (m * (m + 1)) / 2
    const hingeSquare = (m * (m + 1) * (2 * m + 1)) / 6
    const own = hingeSquare - (hinge * hinge) / n
    const shared = product - (hinge * sumAll) / n
    slopes[index] = shared / own
    const left = total - (sumAll * sumAll) / n - (shared * shared) / own
    likelihood[index] = -n * Math.log(Math.max(left, floor) / n)
  }
  const index = argMax(likelihood)
  return { form: 'ramp', index, likelihood, before: 0, after: slopes[index]! }
}

function spreadCandidate(deviations: readonly number[], floor: number): RawCandidate {
  const n = deviations.length
  const square = new Float64Array(n + 1)
  for (let i = 0; i < n; i++) square[i + 1] = square[i]! + deviations[i]! ** 2
  const likelihood = new Array<number>(n).fill(-Infinity)
  for (let i = 5; i <= n - 5; i++) {
    const before = Math.max(square[i]!, (floor * i) / n) / i
    const after = Math.max(square[n]! - square[i]!, (floor * (n - i)) / n) / (n - i)
    likelihood[i] = -i * Math.log(before) - (n - i) * Math.log(after)
  }
  const index = argMax(likelihood)
  return { form: 'spread', index, likelihood, before: Math.sqrt(square[index]! / index), after: Math.sqrt(Math.max(0, square[n]! - square[index]!) / (n - index)) }
}

/** Running sums of the deviations from the mean; their turning point marks a change of level. */
export function cusumOfDeviations(values: readonly number[]): { readonly sums: readonly number[]; readonly index: number; readonly range: number } {
  requireFinite('cusum of deviations', values)
  if (values.length === 0) throw new Error('cusum of deviations: expected at least 1 value, got none')
  const mean = meanOf(values)
  let sum = 0
  const sums = values.map((value) => (sum += value - mean))
  let last = 0
  sums.forEach((value, i) => {
    if (Math.abs(value) > Math.abs(sums[last]!)) last = i
  })
  return { sums, index: last + 1, range: Math.max(0, ...sums) - Math.min(0, ...sums) }
}

/** First alarm of an upper tabular CUSUM, and the change it points to: the value after the sum last stood at 0. */
export type TabularCusumAlarm =
  | { readonly kind: 'alarm'; readonly alarmIndex: number; readonly sum: number; readonly changeIndex: number }
  | { readonly kind: 'no-alarm'; readonly sum: number }

/** @param options.sigma standard deviation of single values; `k` and `h` in sigmas */
export function tabularCusumAlarm(values: readonly number[], options: { readonly mean: number; readonly sigma: number; readonly k: number; readonly h: number }): TabularCusumAlarm {
  const { mean, sigma, k, h } = options
  requireFinite('tabular CUSUM', [...values, mean, k, h])
  if (!(sigma > 0)) throw new Error(`tabular CUSUM: expected a sigma above 0, got ${sigma}`)
  let sum = 0
  let changeIndex = 0
  for (let i = 0; i < values.length; i++) {
    sum = Math.max(0, sum + (values[i]! - mean) / sigma - k)
    if (sum === 0) changeIndex = i + 1
    if (sum > h) return { kind: 'alarm', alarmIndex: i, sum, changeIndex }
  }
  return { kind: 'no-alarm', sum }
}
