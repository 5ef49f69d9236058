import { autocovariances, fitAutoregression, LAGS_MAX, levelShare, meanVarianceFactor, unbiasedLagOne, weightSumVariance, type AutoregressiveModel } from './autoregressive-model.js'
import { findLevelChange, type LevelStability } from './baseline-stability.js'
import type { BaselineErrors } from './guaranteed-limits.js'
import { followsOf, learnedMoments, stretchMeans, type LearnedMoments, type LearnedValues } from './learned-values.js'
import { median, qnScale } from './robust-estimates.js'
import { chiSquareQuantile, chiSquareUpperTail } from './special-functions.js'

/** What Phase I learned from a stretch of values. */
export interface Baseline {
  readonly kind: 'baseline'
  /** Mean of the values kept, unit of the values. */
  readonly centre: number
  /** Marginal standard deviation of the values kept, never below `sigmaFloor` and `wander`; not from moving ranges. */
  readonly sigma: number
  /** The same, never below `sigmaFloor` alone: how the process itself scatters. */
  readonly scatter: number
  /** Lag-1 autocorrelation, freed of its small-sample bias. */
  readonly lagOne: number
  /** Prediction of the next value where |lagOne| > 0.2, else undefined: the values may then be charted as independent. */
  readonly model: AutoregressiveModel | undefined
  /** False when the residuals of `model` are still correlated or lagOne > 0.9 (by more than its error): chart means of batches. */
  readonly modelFits: boolean
  /** Number of independent values worth the same for the centre / for the spread; the smaller one sizes the limits. */
  readonly countForCentre: number
  readonly countForSpread: number
  readonly countEffective: number
  /** How far the estimates may be off, for the limits. */
  readonly errors: BaselineErrors
  /** One entry a value: 1 kept, 0 dropped as part of an episode or as a spike. */
  readonly kept: readonly number[]
  readonly droppedShare: number
}

/** Phase I could not be trusted, and why. */
export interface BaselineRefused {
  readonly kind: 'refused'
  /** Text key. */
  readonly reason: 'baseline.change-point-inside' | 'baseline.trend-inside' | 'baseline.too-much-dropped' | 'baseline.quantised' | 'baseline.too-few-effective-values'
  /** First value after the change, for a change point or trend; -1 otherwise, and for a change among the older values. */
  readonly changeIndex: number
  /** First block of the older values after the change; -1 where it is not among them. */
  readonly changeBlock: number
  readonly droppedShare: number
  readonly countEffective: number
}

export interface TooFewValues {
  readonly kind: 'too-few-values'
  readonly valueCount: number
  readonly valueCountMin: number
}

export interface BaselineOptions {
  /** Smallest believable sigma, e.g. from the resolution of the sensor; unit of the values; >= 0. */
  readonly sigmaFloor: number
  /** How far the level of a healthy process may wander, unit of the values (default 0): a change of level is judged beside it. */
  readonly wander?: number
  /** Effective values wanted at least (default 30). */
  readonly countEffectiveMin?: number
  /** 0 where a value does not follow its predecessor directly, 1 where it does (default: only the first does not). */
  readonly follows?: ArrayLike<number>
  /** What was learned before `values`, and they last: its sums add to the moments. */
  readonly older?: LearnedValues
  /** Whether a baseline of hardly any distinct values is refused (default true); without it the floor has to do. */
  readonly refuseQuantised?: boolean
  /** Values are taken as independent (default false): rare counts, mostly 0, look correlated by how the others fall. */
  readonly independent?: boolean
  /** Smallest sigma by which values are told to be foreign, unit of the values (default: the floor). */
  readonly trialFloor?: number
}

const VALUES_MIN = 8
const LAG_ONE_IGNORED = 0.2
/** Learning that ends when enough is known ends more often on a correlation estimated too low; simulated. */
const LAG_ERROR_EXCESS = 1.3
/** Standard deviation of the autocorrelation of values that are charted as independent. */
const LAG_ONE_USUAL = 0.15
const LAG_ONE_MODELLED_MAX = 0.9
/** Standard errors by which it must be exceeded: the question is put at every one of thirty fits. */
const LAG_ONE_ERRORS = 2.5
const DROPPED_SHARE_MAX = 0.1
/** Trial limits of 2 sigma find contaminated stretches that limits of 3 sigma leave in (Testik). */
const TRIAL_LIMIT = 2
const SPIKE_LIMIT = 4
const TIED_SHARE = 0.7
const LIMIT_GUARANTEE = 0.1

/**
 * Phase I: centre and spread of the normal state from a stretch of values that may hold foreign episodes.
 *
 * Two passes: robust trial values (median, Qn), then whole episodes beyond 2 sigma and single spikes beyond 4 sigma are
 * dropped - episodes, not points, because the points of an episode that happen to lie inside are no better than their
 * neighbours, and because one normal point in 22 lies beyond 2 sigma. Centre and spread are the mean and the standard
 * deviation of what is kept, since the limits below are sized for those.
 *
 * @param values in time order, any one unit; finite
 * @returns the baseline, or why there is none
 * @throws Error if a value or the floor is not a finite number
 * @see Jensen, Jones-Farmer, Champ and Woodall, Effects of parameter estimation on control chart properties (2006)
 */
export function fitBaseline(values: readonly number[], options: BaselineOptions): Baseline | BaselineRefused | TooFewValues {
  const { sigmaFloor, wander = 0, countEffectiveMin = 30, refuseQuantised = true } = options
  const leastSigma = Math.max(sigmaFloor, wander)
  checkFinite(values, sigmaFloor)
  const valueCount = values.length
  if (valueCount < VALUES_MIN) return { kind: 'too-few-values', valueCount, valueCountMin: VALUES_MIN }
  const follows = options.follows ?? (options.older === undefined ? values.map((_, i) => (i === 0 ? 0 : 1)) : followsOf(options.older.timesMs))

  const kept = withoutForeign(values, follows, Math.max(leastSigma, options.trialFloor ?? 0))
  const clean = values.filter((_, i) => kept[i] === 1)
  const droppedShare = 1 - clean.length / valueCount
  const refused = (reason: BaselineRefused['reason'], countEffective: number, changeIndex = -1, changeBlock = -1): BaselineRefused =>
    ({ kind: 'refused', reason, changeIndex, changeBlock, droppedShare, countEffective })

  const change = findLevelChange(values, follows, wander)
  if (change.kind !== 'none') return refused(reasonOf(change), change.countBefore, change.index)
  if (droppedShare > DROPPED_SHARE_MAX) return refused('baseline.too-much-dropped', clean.length)
  if (refuseQuantised && isQuantised(clean)) return refused('baseline.quantised', clean.length)
  const means = options.older === undefined ? undefined : stretchMeans(options.older)
  if (means !== undefined) {
    const older = findLevelChange(means, means.map((_, i) => (i === 0 ? 0 : 1)), wander)
    if (older.kind !== 'none') return refused(reasonOf(older), older.countBefore, -1, Math.min(older.index, options.older!.blocks.length))
  }

  const moments = options.older === undefined ? ownMoments(values, kept, follows, clean) : learnedMoments(options.older, kept)
  const coarse = coarseFloor(values)
  const fit = fitKept(values, kept, follows, options.independent === true ? withoutCorrelation(moments) : moments, Math.max(leastSigma, coarse), leastSigma)
  if (fit.countEffective < countEffectiveMin) return refused('baseline.too-few-effective-values', fit.countEffective)
  return { ...fit, scatter: Math.max(fit.scatter, sigmaFloor, coarse), kind: 'baseline', kept, droppedShare }
}

function reasonOf(change: LevelStability): BaselineRefused['reason'] {
  return change.kind === 'step' ? 'baseline.change-point-inside' : 'baseline.trend-inside'
}

function ownMoments(values: readonly number[], kept: readonly number[], follows: ArrayLike<number>, clean: readonly number[]): LearnedMoments {
  const centre = mean(clean)
  return { count: clean.length, centre, covariance: autocovariances(values, centre, kept, follows, LAGS_MAX) }
}

function withoutCorrelation({ covariance, ...rest }: LearnedMoments): LearnedMoments {
  return { ...rest, covariance: covariance.map((value, lag) => (lag === 0 ? value : 0)) }
}

/** Spread, autocorrelation, model and effective counts from the moments of the kept values. */
function fitKept(values: readonly number[], kept: readonly number[], follows: ArrayLike<number>, moments: LearnedMoments, leastSigma: number, sigmaFloor: number) {
  const { count: n, centre, covariance } = moments
  const variance = (covariance[0]! * n) / (n - 1)
  // A series below the resolution of its sensor shows the rounding, not its own correlation.
  const lagOne = variance > 0 && variance > sigmaFloor * sigmaFloor * 0.25 ? unbiasedLagOne(covariance[1]! / covariance[0]!, n) : 0
  const lagOneError = Math.sqrt((1 - lagOne * lagOne) / n)
  if (Math.abs(lagOne) <= LAG_ONE_IGNORED || n < 2 * VALUES_MIN) {
    const sigma = Math.max(Math.sqrt(variance), leastSigma)
    // Negative correlation would make values worth more than they are; it is not counted in our favour.
    const factor = Math.max(0, lagOne)
    const countForCentre = (n * (1 - factor)) / (1 + factor)
    // Most values charted as independent are: the estimate is drawn towards zero by as much as it is uncertain.
    const trust = LAG_ONE_USUAL ** 2 / (LAG_ONE_USUAL ** 2 + lagOneError ** 2)
    const errors = { valueCount: n, spreadCount: n - 1, lagLeft: trust * lagOne, lagError: Math.sqrt(trust) * lagOneError }
    return { centre, sigma, scatter: Math.sqrt(variance), lagOne, model: undefined, modelFits: true, countForCentre, countForSpread: n, countEffective: Math.max(1, Math.floor(countForCentre)), errors }
  }
  const plain = fitAutoregression(covariance, n, LAGS_MAX)
  // The mean of correlated values follows them, and what is left about it is too small by the variance of the mean.
  const meanFactor = meanVarianceFactor(plain, covariance[0]!)
  const scatter = Math.sqrt(covariance[0]! / (1 - Math.min(0.5, meanFactor / n)))
  const sigma = Math.max(scatter, leastSigma)
  const model = scaled(plain, Math.max(1, leastSigma / Math.sqrt(variance)))
  const weights = model.weights[model.weights.length - 1]!
  const countForCentre = Math.min(n, n / meanFactor)
  const countForSpread = (n * (1 - lagOne * lagOne)) / (1 + lagOne * lagOne)
  const modelFits = lagOne <= LAG_ONE_MODELLED_MAX + LAG_ONE_ERRORS * Math.sqrt((1 - LAG_ONE_MODELLED_MAX ** 2) / n) && residualsLookIndependent(values, kept, follows, centre, model)
  const errors = { valueCount: n, spreadCount: n - 1 - weights.length, lagLeft: 0, lagError: (LAG_ERROR_EXCESS * Math.sqrt(weightSumVariance(weights) / n)) / Math.max(0.01, levelShare(model)) }
  return { centre, sigma, scatter, lagOne, model, modelFits, countForCentre, countForSpread, countEffective: Math.max(1, Math.floor(Math.min(countForCentre, countForSpread))), errors }
}

/**
 * Widening of a limit of `limit` sigmas for a baseline of `countEffective` values, so that nine machines in ten keep
 * the run length the limit was designed for: L' = L sqrt((m-1)/chi2(0.10, m-1)) (1 + 1/(2m)).
 *
 * @param countEffective >= 2
 */
export function widenedLimit(limit: number, countEffective: number): number {
  if (!(limit > 0 && limit <= 1e6)) throw new Error(`limits: a limit above 0 and up to 1e6 sigmas expected, found ${limit}`)
  return limit * spreadFactor(countEffective) * (1 + 1 / (2 * countEffective))
}

/** sqrt((m-1)/chi2(0.10, m-1)): how far below the truth the spread of one baseline in ten lies. */
export function spreadFactor(countEffective: number): number {
  if (!(countEffective >= 2 && countEffective <= 1e12)) throw new Error(`limits: a baseline of 2 to 1e12 effective values expected, found ${countEffective}`)
  return Math.sqrt((countEffective - 1) / chiSquareQuantile(LIMIT_GUARANTEE, countEffective - 1))
}

/** One entry a value, 0 for those that do not belong: two passes. @param timesMs of the values, to know which follow each other */
export function keptValues(values: readonly number[], timesMs: readonly number[], sigmaFloor: number): number[] {
  return withoutForeign(values, followsOf(timesMs), sigmaFloor)
}

function withoutForeign(values: readonly number[], follows: ArrayLike<number>, sigmaFloor: number): number[] {
  let kept = new Array<number>(values.length).fill(1)
  for (let pass = 0; pass < 2; pass++) kept = withoutEpisodes(values, kept, follows, sigmaFloor)
  return kept
}

/** Marks whole episodes beyond the trial limits, and single spikes, as dropped. */
function withoutEpisodes(values: readonly number[], kept: readonly number[], follows: ArrayLike<number>, sigmaFloor: number): number[] {
  const clean = values.filter((_, i) => kept[i] === 1)
  const centre = median(clean)
  // Ties make the quartile of distances collapse where the data are coarse; the plain deviation keeps it honest.
  const sigma = Math.max(qnScale(clean), TIED_SHARE * deviation(clean), coarseFloor(values), sigmaFloor)
  if (!(sigma > 0)) return kept.slice()
  const covariance = autocovariances(values, centre, kept, follows, 1)
  const lagOne = Math.max(0, Math.min(0.9, covariance[0]! > 0 ? covariance[1]! / covariance[0]! : 0))
  // Correlated values stay out longer without being foreign: the shortest episode grows with the correlation.
  const episodeMin = Math.ceil((3 * (1 + lagOne)) / (1 - lagOne))
  const result: number[] = new Array<number>(values.length).fill(1)
  let begin = 0
  let side = 0
  for (let i = 0; i <= values.length; i++) {
    const z = i < values.length ? (values[i]! - centre) / sigma : 0
    const now = z > TRIAL_LIMIT ? 1 : z < -TRIAL_LIMIT ? -1 : 0
    if (Math.abs(z) > SPIKE_LIMIT) result[i] = 0
    if (now === side) continue
    if (side !== 0 && i - begin >= episodeMin) result.fill(0, begin, i)
    begin = i
    side = now
  }
  return result
}

/**
 * Rounding or a dead-band has destroyed the variation: four or fewer distinct values among twenty and more, or most
 * values equal to their predecessor.
 */
export function isQuantised(values: readonly number[]): boolean {
  if (values.length < 20) return new Set(values).size === 1
  let equal = 0
  for (let i = 1; i < values.length; i++) if (values[i] === values[i - 1]) equal++
  return new Set(values).size <= 4 || equal > 0.5 * (values.length - 1)
}

/** Half a step for values so coarse that most fall on one of a few steps (a lone stranger among equal ones is no step); else 0. */
function coarseFloor(values: readonly number[]): number {
  if (!isQuantised(values)) return 0
  const distinct = [...new Set(values)].sort((a, b) => a - b)
  if (distinct.length === 2) {
    const lower = values.filter((value) => value === distinct[0]).length
    if (Math.min(lower, values.length - lower) < 2) return 0
  }
  let step = 0
  for (let i = 1; i < distinct.length; i++) {
    const between = distinct[i]! - distinct[i - 1]!
    if (step === 0 || between < step) step = between
  }
  return step / 2
}

function deviation(values: readonly number[]): number {
  const centre = mean(values)
  return Math.sqrt(values.reduce((sum, value) => sum + (value - centre) ** 2, 0) / Math.max(1, values.length - 1))
}

/** Ljung-Box test of the residuals at 10 lags, level 0.0001: Phase I is refitted up to thirty times, so a weak level would reject good models. */
function residualsLookIndependent(values: readonly number[], kept: readonly number[], follows: ArrayLike<number>, centre: number, model: AutoregressiveModel): boolean {
  const lags = 10
  const order = model.weights.length
  const weights = model.weights[order - 1]!
  const residuals: number[] = []
  let unbroken = 0
  for (let i = 0; i < values.length; i++) {
    unbroken = follows[i] === 0 || kept[i] === 0 ? (kept[i] === 0 ? 0 : 1) : unbroken + 1
    if (unbroken <= order) continue
    let residual = values[i]! - centre
    for (let j = 0; j < order; j++) residual -= weights[j]! * (values[i - 1 - j]! - centre)
    residuals.push(residual)
  }
  const n = residuals.length
  if (n < 5 * lags) return true
  const ones = new Array<number>(n).fill(1)
  const covariance = autocovariances(residuals, 0, ones, ones, lags)
  let q = 0
  for (let lag = 1; lag <= lags; lag++) {
    const sum = covariance[lag]! * (n - lag)
    q += (sum / (covariance[0]! * n)) ** 2 / (n - lag)
  }
  return chiSquareUpperTail(n * (n + 2) * q, lags - order) > 0.0001
}

function scaled(model: AutoregressiveModel, factor: number): AutoregressiveModel {
  return { weights: model.weights, residualSigma: model.residualSigma.map((sigma) => sigma * factor) }
}

function mean(values: readonly number[]): number {
  let sum = 0
  const first = values[0]!
  for (const value of values) sum += value - first
  return first + sum / values.length
}

function checkFinite(values: readonly number[], sigmaFloor: number): void {
  if (!(Number.isFinite(sigmaFloor) && sigmaFloor >= 0)) throw new Error(`baseline: sigma floor must be a finite number of 0 or above, found ${sigmaFloor}`)
  for (let i = 0; i < values.length; i++) {
    if (!(Math.abs(values[i]!) < 1e100)) throw new Error(`baseline: values must be finite numbers below 1e100, found ${values[i]} at index ${i}`)
  }
}
