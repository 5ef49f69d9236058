import type { BaselineStatus, ChartKind, Side } from './chart-point.js'
import { tOfNormalScore } from './chart-limits.js'
import { toCountScale } from './count-scale.js'
import { cusumShare, firstCusumLimit, startCusums } from './cusum-set.js'
import { refit } from './process-chart-fit.js'
import { acquitStretch, holdValue, judgeFlapping, learnValue, restartLearning, suspectStretch } from './process-chart-learning.js'
import { freezeFollowed, stepFollowed } from './process-chart-follow.js'
import { levelInUnit, tellBaseline } from './process-chart-report.js'
import type { ChartModel, ProcessChartDesign, ProcessChartSink, ProcessChartState } from './process-chart-state.js'
import { accumulate, judge, rememberLag, type Judgement } from './process-chart-statistics.js'
import { clearRecentHistory, forgetBefore, likelyOnset } from './recent-history.js'
import { stepWesternElectric } from './western-electric.js'

export { createProcessChart, PROCESS_CHART_FORM, type BaselineStep, type ProcessChartDesign, type ProcessChartSink, type ProcessChartState } from './process-chart-state.js'
export { createPooledChart } from './process-chart-pool.js'
export { chartEvidence, type ChartEvidence } from './process-chart-evidence.js'

/** CUSUMs above this share of their limit suspend the learning; below the lower one it goes on. */
const SUSPICION_SHARE = 0.5
const CLEAR_SHARE = 0.25
/** CUSUMs that began at half their limit are suspicious only further up, until that has worn off. */
const HEAD_START_POINTS = 50
const HEAD_START_SUSPICION_SHARE = 0.8
/** Points a signal's statistics must be well inside before it ends. */
const INSIDE_MIN = 5
/** A single value so far out teaches nothing. */
const SPIKE_LIMIT = 4
const GAP_FACTOR = 1.6
/** Self-starting CUSUMs wait for a first idea of the autocorrelation. */
const SUMMED_DF_MIN = 12
const VALUE_MAX = 1e100

/** Scratch of the step; holds nothing between two calls. */
const judgement: Judgement = { residual: 0, sigma: 1, z: 0 }

/**
 * Takes one value of a feature through its whole chart set: standardise, chart, rules, CUSUMs, signal, learning.
 *
 * From the 8th value on there are self-starting points, from `baselineMin` effective values limits widened for the
 * small baseline, and from `baselineTarget` on they are frozen. Values with |lag-1 autocorrelation| > 0.2 are charted as
 * residuals of an autoregressive prediction, more strongly correlated ones as means of batches. A value learned is one
 * that no chart of the set suspects: a stretch under suspicion is taken out as a whole, and learned after all where the
 * suspicion passes without a signal. A chart made by `createPooledChart` may have limits from its first value on; with
 * `followsWandering` a level that keeps wandering off is followed instead.
 *
 * On the value chart `sigma` makes the bands of the rules and `lower`/`upper` are the limits of the budgeted signal; on
 * `cusum-up`/`cusum-down` the statistic is the largest of the set's CUSUMs as a share of its limit, times the limit of
 * the first, in sigmas.
 *
 * @param design what `state` was created with
 * @param state changed in place
 * @param timeMs end of the value's window, ms UTC; a step back in time counts as a gap
 * @param value in the feature's unit
 * @throws Error if value or time is not finite, the value's size is 1e100 or above, or a count is negative
 */
export function stepProcessChart(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, value: number, sink: ProcessChartSink): void {
  if (!(Math.abs(value) < VALUE_MAX)) throw new Error(`process chart: value must be a finite number below 1e100, found ${value}`)
  if (!Number.isFinite(timeMs)) throw new Error(`process chart: time must be a finite number of ms, found ${timeMs}`)
  if (design.kind === 'count' && value < 0) throw new Error(`process chart: a count must be 0 or above, found ${value}`)
  const sinceMs = timeMs - state.lastMs
  state.lastMs = timeMs
  if (state.gapMs > 0 && (sinceMs > state.gapMs * GAP_FACTOR || sinceMs < 0)) {
    state.lagCount = 0
    state.batchSum = state.batchCount = 0
  }
  if (state.batch === 1) {
    stepCharted(design, state, timeMs, value, sink)
    return
  }
  state.batchSum += value
  if (++state.batchCount < state.batch) return
  const mean = state.batchSum / state.batch
  state.batchSum = state.batchCount = 0
  stepCharted(design, state, timeMs, mean, sink)
}

function stepCharted(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, value: number, sink: ProcessChartSink): void {
  const y = design.kind === 'count' ? toCountScale(value) : value
  if (state.follow !== null) {
    stepFollowedSignals(design, state, timeMs, y, sink)
    return
  }
  const model = state.model
  if (model === null) {
    rememberLag(state, y)
    learnValue(design, state, y, timeMs, sink)
    return
  }
  judge(state, model, y, judgement)
  const { residual, sigma, z } = judgement
  const chart = emitPoint(design, state, model, timeMs, value, residual, sigma, sink)
  // All values so far equal, or too few to know how they follow each other: nothing to sum yet.
  if (model.df === 0 || (model.df >= SUMMED_DF_MIN && !model.flat)) accumulate(state, model, timeMs, y, z)
  const shareUp = cusumShare(state.cusums, 'above')
  const shareDown = cusumShare(state.cusums, 'below')
  if (design.charts.includes('cusum')) emitCusums(state, model, timeMs, value, shareUp, shareDown, sink)
  if (state.limited) stepSignal(design, state, timeMs, z, shareUp, shareDown, chart, sink)
  if (state.learned !== null) stepLearning(design, state, y, timeMs, z, shareUp, shareDown, sink)
}

/** A followed level: a signal of one speed is the matter of that speed until it ends. */
function stepFollowedSignals(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, y: number, sink: ProcessChartSink): void {
  const { fast, slow } = stepFollowed(design, state, timeMs, y, sink)
  const slowOpen = state.signal !== null && state.signal.chart === 'subgroup-mean'
  if (fast !== undefined && !slowOpen) stepSignal(design, state, timeMs, fast * state.shewhart, 0, 0, 'residual', sink)
  if (slow !== undefined && (slowOpen || state.signal === null)) stepSignal(design, state, timeMs, slow * state.shewhart, 0, 0, 'subgroup-mean', sink)
}

/** The value chart and its rules. Returns the name of the chart. */
function emitPoint(design: ProcessChartDesign, state: ProcessChartState, model: ChartModel, timeMs: number, value: number, residual: number, sigma: number, sink: ProcessChartSink): ChartKind {
  const predicted = model.prediction !== null
  const chart: ChartKind = predicted ? 'residual' : design.kind === 'count' ? 'count' : 'individuals'
  // Counts are charted on the square-root scale; the tangent at the centre brings them back to the feature's unit.
  const unit = design.kind === 'count' ? 2 * model.centre : 1
  const centre = predicted ? 0 : design.kind === 'count' ? model.centre * model.centre - 0.375 : model.centre
  const selfStarting = model.df > 0
  // While self-starting, a band of 3 of these sigmas is as wide as Student's t asks for.
  const band = selfStarting ? (sigma * tOfNormalScore(3, model.df)) / 3 : sigma
  const reach = (selfStarting ? sigma * tOfNormalScore(state.shewhart, model.df) : sigma * state.shewhart) * unit
  const statistic = predicted ? residual * unit : design.kind === 'count' ? centre + residual * unit : value
  const bandSigma = band * unit
  sink.point({ timeMs, chart, value, statistic, centre, lower: centre - reach, upper: centre + reach, sigma: bandSigma, n: model.n, baseline: baselineStatus(state) })
  stepWesternElectric(state.rules, timeMs, (statistic - centre) / bandSigma, chart, sink.ruleHit, sink.ruleEnd)
  return chart
}

function emitCusums(state: ProcessChartState, model: ChartModel, timeMs: number, value: number, shareUp: number, shareDown: number, sink: ProcessChartSink): void {
  const limit = firstCusumLimit(state.cusums)
  const baseline = baselineStatus(state)
  sink.point({ timeMs, chart: 'cusum-up', value, statistic: shareUp * limit, centre: 0, lower: 0, upper: limit, sigma: 1, n: model.n, baseline })
  sink.point({ timeMs, chart: 'cusum-down', value, statistic: shareDown * limit, centre: 0, lower: 0, upper: limit, sigma: 1, n: model.n, baseline })
}

function baselineStatus(state: ProcessChartState): BaselineStatus {
  return !state.limited ? 'self-starting' : state.status === 'accepted' ? 'accepted' : 'provisional'
}

/** Starts, holds and ends the budgeted alarm. */
function stepSignal(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, z: number, shareUp: number, shareDown: number, chart: ChartKind, sink: ProcessChartSink): void {
  const beyond = Math.abs(z) > state.shewhart && design.charts.includes('shewhart')
  const summed = design.charts.includes('cusum')
  const above = (beyond && z > 0) || (summed && shareUp >= 1)
  const below = (beyond && z < 0) || (summed && shareDown >= 1)
  const open = state.signal
  if (open !== null) {
    open.points++
    const share = open.side === 'above' ? shareUp : shareDown
    const inside = share < SUSPICION_SHARE && Math.abs(z) < state.shewhart / 2
    open.inside = inside ? open.inside + 1 : 0
    const opposite = open.side === 'above' ? below && !above : above && !below
    if (open.inside < INSIDE_MIN && !opposite) return
    endSignal(state, timeMs, sink)
    judgeFlapping(design, state, timeMs, sink)
    if (!opposite || !state.limited) return
  }
  if (!above && !below) return
  const side: Side = above && below ? (z > 0 ? 'above' : 'below') : above ? 'above' : 'below'
  const change = likelyOnset(state.history, side)
  const onsetMs = Math.min(timeMs, change?.onsetMs ?? timeMs)
  const shiftSigma = change?.shiftSigma ?? z
  const byValue = beyond && z > 0 === (side === 'above')
  const signalChart: ChartKind = byValue ? chart : side === 'above' ? 'cusum-up' : 'cusum-down'
  state.signal = { side, chart: signalChart, onsetMs, shiftSigma, points: 1, inside: 0 }
  // From here on the history tells about the change alone.
  if (change !== undefined) forgetBefore(state.history, change.segment)
  sink.signal({ timeMs, phase: 'start', chart: signalChart, side, onsetMs, shiftSigma })
}

function endSignal(state: ProcessChartState, timeMs: number, sink: ProcessChartSink): void {
  const open = state.signal
  if (open === null) return
  state.signal = null
  // The CUSUM of the other side may be the reason; it goes on.
  startCusums(state.cusums, 0, open.side)
  clearRecentHistory(state.history)
  state.points = 0
  sink.signal({ timeMs, phase: 'end', chart: open.chart, side: open.side, onsetMs: open.onsetMs, shiftSigma: open.shiftSigma })
}

function stepLearning(design: ProcessChartDesign, state: ProcessChartState, y: number, timeMs: number, z: number, shareUp: number, shareDown: number, sink: ProcessChartSink): void {
  if (state.model === null) return
  const share = Math.max(shareUp, shareDown)
  const suspicionShare = state.pool !== null && state.points <= HEAD_START_POINTS ? HEAD_START_SUSPICION_SHARE : SUSPICION_SHARE
  const suspicious = state.signal !== null || share > suspicionShare || (state.suspicion && share > CLEAR_SHARE)
  if (suspicious !== state.suspicion) {
    state.suspicion = suspicious
    if (suspicious) suspectStretch(state, shareUp >= shareDown ? 'above' : 'below')
    else acquitStretch(design, state, timeMs, sink)
    tellBaseline(design, state, timeMs, sink)
  }
  if ((state.hold && state.limited) || state.learned === null) return
  const spike = Math.abs(z) > SPIKE_LIMIT && !state.model!.flat
  if (suspicious) holdValue(design, state, spike ? undefined : y, timeMs, state.signal !== null || share >= 1, sink)
  else if (!spike) learnValue(design, state, y, timeMs, sink)
}

/**
 * An engineer's word on a baseline. `accept` freezes it as it stands; `reject` forgets it and learns anew from the next
 * values; `refit` fits again what has been learned while the learning goes on, and starts over once it was frozen.
 * An open signal ends with `reject` and with a `refit` that starts over.
 *
 * @param timeMs of the decision, ms UTC
 */
export function decideBaseline(design: ProcessChartDesign, state: ProcessChartState, decision: 'accept' | 'reject' | 'refit', sink: ProcessChartSink, timeMs: number): void {
  if (decision === 'accept') {
    if (state.limited) {
      state.status = 'accepted'
      state.learned = null
      freezeFollowed(state)
      state.reason = ''
    } else {
      state.reason = 'baseline.not-ready'
    }
    tellBaseline(design, state, timeMs, sink)
    return
  }
  if (decision === 'refit' && state.learned !== null && state.learned.values.length > 0) {
    refit(design, state, timeMs, sink)
    return
  }
  endSignal(state, timeMs, sink)
  restartLearning(design, state)
  clearRecentHistory(state.history)
  state.reason = decision === 'reject' ? 'baseline.rejected' : 'baseline.learning-anew'
  tellBaseline(design, state, timeMs, sink)
}

/** Suspends or resumes the learning of a chart with limits, e.g. while a channel of the same section is suspicious; one without goes on, for it would stay blind. */
export function holdLearning(state: ProcessChartState, hold: boolean): void {
  state.hold = hold
}

/** Centre and sigma learned so far, in the feature's unit; zeros before there are any. */
export function learnedLevel(design: ProcessChartDesign, state: ProcessChartState): { centre: number; sigma: number } {
  return levelInUnit(design, state)
}
