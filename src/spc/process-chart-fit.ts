import { meanOf } from './autocorrelation.js'
import { autocovariances, unbiasedLagOne } from './autoregressive-model.js'
import { fitBaseline, isQuantised, type Baseline, type BaselineRefused } from './baseline.js'
import { chartSetLimits, KNOWN_PARAMETERS, type ChartSetLimits } from './chart-limits.js'
import { setCusumLimits, startCusums } from './cusum-set.js'
import type { BaselineErrors } from './guaranteed-limits.js'
import { createLearnedValues, followsOf, usualGap } from './learned-values.js'
import { orderOne, pooledErrors, pooledModel, shrunkFit } from './pooled-model.js'
import { batchedValues, batchSizeFor } from './process-chart-batches.js'
import { tellBaseline } from './process-chart-report.js'
import type { ChartModel, ProcessChartDesign, ProcessChartSink, ProcessChartState } from './process-chart-state.js'
import { levelShiftShare, replayStatistics } from './process-chart-statistics.js'
import { clearRecentHistory, createRecentHistory } from './recent-history.js'
import { resetWesternElectric } from './western-electric.js'

/** Self-starting points need a spread to be judged by. */
export const SELF_START_MIN = 8
/** The next fit waits for a fifth more values. */
const FIT_GROWTH = 1.2
/** Batches are formed only once the correlation is known this well. */
const BATCH_DECISION_MIN = 100
const LAG_ONE_IGNORED = 0.2
const LAG_ONE_MARGIN = 0.7
/** Limits for fewer points than this between two false signals lie within two sigmas and signal all the time. */
const CHARTED_ARL0_MIN = 20
/** Correlated values are worth less: learning ends with as many times the values wanted, and limits as wide as what is then known asks for. */
const TARGET_FACTOR_MAX = 10

/** Values that came after a change found inside the learned stretch. */
interface LaterValues {
  readonly values: number[]
  readonly timesMs: number[]
}

/** Fits Phase I to what is there and takes over what can be trusted. Returns true when it has reported a baseline step. */
export function refit(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, sink: ProcessChartSink): boolean {
  const learned = state.learned!
  const later: LaterValues = { values: [], timesMs: [] }
  let reason = ''
  for (;;) {
    const fit = fitBaseline(learned.values, { sigmaFloor: instrumentFloor(design, meanOf(learned.values)), wander: wanderOf(design, meanOf(learned.values)), countEffectiveMin: 0, older: learned, refuseQuantised: false, ...(design.kind === 'count' ? { independent: true, trialFloor: COUNT_SIGMA } : {}) })
    learned.nextFit = Math.ceil(learned.count * FIT_GROWTH)
    if (fit.kind === 'too-few-values') break
    if (fit.kind === 'refused') {
      reason = fit.reason
      if (cut(design, state, fit, later)) continue
      break
    }
    adopt(design, state, fit, reason)
    break
  }
  if (reason !== '') {
    state.reason = reason
    if (!state.limited) state.status = 'refused'
  }
  // What came after the change is judged by what was learned before it.
  if (state.limited && later.values.length > 0) replayStatistics(state, later.values, later.timesMs)
  learned.nextFit = Math.max(learned.nextFit, learned.count + 1)
  const ownCount = state.model === null ? 0 : state.model.n - (state.pool?.kappa ?? 0)
  if (state.limited && (ownCount >= design.baselineTarget || learned.count >= TARGET_FACTOR_MAX * design.baselineTarget)) {
    state.learned = null
    state.pool = null
    if (state.reason === 'baseline.pooled') state.reason = ''
  }
  tellBaseline(design, state, timeMs, sink)
  return true
}

/**
 * Keeps one side of a change found inside the learned stretch: the earlier one if it can carry limits, for a machine
 * that drifts must not teach the chart; else the longer one. Returns whether another fit is worth trying.
 */
function cut(design: ProcessChartDesign, state: ProcessChartState, fit: BaselineRefused, later: LaterValues): boolean {
  const learned = state.learned!
  const { values, timesMs, blocks } = learned
  if (fit.changeIndex <= 0 && fit.changeBlock < 0) return false
  const before = fit.changeBlock >= 0 ? countOf(blocks.slice(0, fit.changeBlock)) : countOf(blocks) + fit.changeIndex
  const keepEarlier = before >= design.baselineMin || state.limited
  if (keepEarlier || 2 * before >= learned.count) {
    const single = fit.changeBlock >= 0 ? 0 : fit.changeIndex
    if (fit.changeBlock >= 0) blocks.length = fit.changeBlock
    const [cutValues, cutTimes] = [values.splice(single), timesMs.splice(single)]
    if (keepEarlier) {
      later.values.unshift(...cutValues)
      later.timesMs.unshift(...cutTimes)
    }
  } else {
    blocks.splice(0, fit.changeBlock >= 0 ? fit.changeBlock : blocks.length)
    values.splice(0, Math.max(0, fit.changeIndex))
    timesMs.splice(0, Math.max(0, fit.changeIndex))
  }
  learned.count = countOf(blocks) + values.length
  learned.nextFit = Math.max(design.baselineMin, Math.ceil(learned.count * FIT_GROWTH))
  if (!state.limited && values.length >= SELF_START_MIN) refreshSelfStarting(design, state)
  return keepEarlier && learned.count >= design.baselineMin
}

function countOf(blocks: readonly { readonly count: number }[]): number {
  return blocks.reduce((sum, block) => sum + block.count, 0)
}

function adopt(design: ProcessChartDesign, state: ProcessChartState, fit: Baseline, reason: string): void {
  const learned = state.learned!
  if (!fit.modelFits && learned.count >= BATCH_DECISION_MIN && !(state.limited && learned.blocks.length > 0)) {
    formBatches(design, state, batchSizeFor(fit.model!, learned.values.length))
    return
  }
  const { pool } = state
  const ownEnough = fit.countEffective >= design.baselineMin
  if (!ownEnough && (pool === null || fit.countEffective + pool.kappa < design.baselineMin)) return
  const shrunk = pool === null ? { centre: fit.centre, valueCount: fit.countEffective, errors: fit.errors } : shrunkFit(pool, fit)
  state.model = ownEnough || pool === null ? ownModel(fit, shrunk.centre, shrunk.valueCount) : pooledModel(pool, shrunk.centre, shrunk.valueCount)
  takeLimits(design, state, ownEnough || pool === null ? shrunk.errors : pooledErrors(pool, shrunk.valueCount))
  if (reason !== '') return
  const isCoarse = design.kind === 'individuals' && isQuantised(learned.values)
  state.reason = pool !== null ? 'baseline.pooled' : isCoarse ? 'baseline.quantised' : fit.sigma <= wanderOf(design, fit.centre) ? 'baseline.within-wander' : ''
}

function ownModel(fit: Baseline, centre: number, valueCount: number): ChartModel {
  const { sigma, scatter, lagOne, model } = fit
  return {
    centre,
    sigma,
    ...(scatter < sigma ? { scatter } : {}),
    prediction: model === undefined ? null : { weights: model.weights.map((row) => row.slice()), residualSigma: model.residualSigma.slice() },
    lagOne,
    n: Math.floor(valueCount),
    df: 0,
    flat: false,
  }
}

/** Turns from learning without to learning with limits, or renews them. */
export function takeLimits(design: ProcessChartDesign, state: ProcessChartState, errors: BaselineErrors): void {
  const first = !state.limited
  state.limited = true
  if (state.status !== 'accepted') state.status = 'provisional'
  useLimits(state, limitsFor(design, state, state.model!, errors))
  if (!first) return
  startCusums(state.cusums, 0)
  state.points = 0
  clearRecentHistory(state.history)
}

/** A budget is a rate in time: of means of `batch` values so many fewer come, and each may be wrong so much sooner. */
export function chartedArl0(design: ProcessChartDesign, state: ProcessChartState): number {
  return Math.max(CHARTED_ARL0_MIN, design.arl0 / state.batch)
}

function limitsFor(design: ProcessChartDesign, state: ProcessChartState, model: ChartModel, errors: BaselineErrors | undefined): ChartSetLimits {
  return chartSetLimits(chartedArl0(design, state), design.charts, { errors, shiftShare: errors === undefined ? 1 : levelShiftShare(model) })
}

export function useLimits(state: ProcessChartState, limits: ChartSetLimits): void {
  state.shewhart = limits.shewhart
  setCusumLimits(state.cusums, limits.cusums)
}

/** From now on one charted value is the mean of `size` of the present ones. */
export function formBatches(design: ProcessChartDesign, state: ProcessChartState, size: number): void {
  const fresh = createLearnedValues(design.baselineMin)
  Object.assign(fresh, batchedValues(state.learned!, size))
  fresh.count = fresh.values.length
  fresh.nextFit = Math.max(design.baselineMin, fresh.count + 1)
  state.learned = fresh
  state.batch *= size
  state.batchSum = state.batchCount = state.lagCount = 0
  state.limited = false
  state.status = 'learning'
  state.reason = 'baseline.strongly-correlated'
  state.model = null
  useLimits(state, chartSetLimits(chartedArl0(design, state), design.charts, KNOWN_PARAMETERS))
  startCusums(state.cusums, 0)
  state.points = 0
  resetWesternElectric(state.rules)
  state.history = createRecentHistory()
  if (fresh.values.length >= SELF_START_MIN) refreshSelfStarting(design, state)
}

/** Mean, spread and lag-1 autocorrelation of the few values there are. */
export function refreshSelfStarting(design: ProcessChartDesign, state: ProcessChartState): void {
  const { values, timesMs } = state.learned!
  const n = values.length
  const centre = meanOf(values)
  const floor = floorOf(design, centre)
  const follows = followsOf(timesMs)
  const [variance, covariance] = autocovariances(values, centre, new Array<number>(n).fill(1), follows, 1) as [number, number]
  const sigma = Math.max(Math.sqrt((variance * n) / (n - 1)), floor)
  const flat = variance <= floor * floor * 0.25
  // Taken a little high: a correlation that is missed makes false suspicions, one that is imagined only costs delay.
  const lagOne = n >= 12 && !flat ? Math.max(0, Math.min(0.95, unbiasedLagOne(covariance / variance, n) + LAG_ONE_MARGIN / Math.sqrt(n))) : 0
  const modelled = lagOne > LAG_ONE_IGNORED
  state.gapMs = usualGap(timesMs) / state.batch
  state.model = {
    centre,
    sigma,
    prediction: modelled ? orderOne(lagOne, sigma) : null,
    lagOne,
    n: Math.max(1, Math.floor((n * (1 - lagOne)) / (1 + lagOne))),
    df: n - 1,
    flat,
  }
  useLimits(state, limitsFor(design, state, state.model, undefined))
}

/** Standard deviation of the square root of a Poisson count, less only where the mean is below 2 or so (Anscombe 1948): within four of these no count is foreign to others. */
export const COUNT_SIGMA = 0.5

/** Smallest believable sigma in charting units, near the given centre. */
export function floorOf(design: ProcessChartDesign, centre: number): number {
  return Math.max(instrumentFloor(design, centre), wanderOf(design, centre))
}

function instrumentFloor(design: ProcessChartDesign, centre: number): number {
  return design.kind === 'count' ? Math.sqrt(centre * centre + design.sigmaFloor) - Math.abs(centre) : design.sigmaFloor
}

/** How far the level of a healthy process near the given centre may wander. */
function wanderOf({ kind, wander }: ProcessChartDesign, centre: number): number {
  return wander === undefined || kind === 'count' ? 0 : Math.max(wander.least, wander.share * Math.abs(centre))
}
