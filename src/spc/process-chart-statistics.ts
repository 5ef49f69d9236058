import { LAGS_MAX } from './autoregressive-model.js'
import { normalScoreOfT } from './chart-limits.js'
import { pushRecentHistory } from './recent-history.js'
import type { ChartModel, ProcessChartState } from './process-chart-state.js'

/** What one charted value is against the model; the caller owns the object, so the hot path allocates nothing. */
export interface Judgement {
  /** Value minus what was expected, charting units. */
  residual: number
  /** Its standard deviation, charting units, estimation error of the self-starting phase included. */
  sigma: number
  /** Normal score. */
  z: number
}

/** Share of a level shift, in marginal sigmas, that stays in the charted statistic, in its own sigmas. */
export function levelShiftShare(model: ChartModel): number {
  const order = model.weights.length
  if (order === 0) return 1
  let share = 1
  for (const weight of model.weights[order - 1]!) share -= weight
  return Math.max(0.05, Math.min(1.5, (share * model.sigma) / model.residualSigma[order - 1]!))
}

/** Standardises one value and moves the memory of the model on to it. */
export function judge(state: ProcessChartState, model: ChartModel, y: number, into: Judgement): void {
  const deviation = y - model.centre
  const order = Math.min(model.weights.length, state.lagCount)
  let residual = deviation
  let sigma = model.sigma
  if (order > 0) {
    const weights = model.weights[order - 1]!
    for (let j = 0; j < order; j++) residual -= weights[j]! * (state.lags[j]! - model.centre)
    sigma = model.residualSigma[order - 1]!
  }
  if (model.df > 0) {
    sigma *= Math.sqrt(1 + 1 / (model.df + 1))
    into.z = normalScoreOfT(residual / sigma, model.df)
  } else {
    into.z = residual / sigma
  }
  into.residual = residual
  into.sigma = sigma
  // While it learns, the next model may predict from values this one does not need.
  if (model.weights.length > 0 || state.learned !== null) rememberLag(state, y)
  else if (state.lags.length > 0) forgetLags(state)
}

/** A value that is not judged (yet) still precedes the next one. */
export function rememberLag(state: ProcessChartState, y: number): void {
  const lags = state.lags
  for (let j = Math.min(state.lagCount, LAGS_MAX - 1); j > 0; j--) lags[j] = lags[j - 1]!
  lags[0] = y
  if (state.lagCount < LAGS_MAX) state.lagCount++
}

/** A frozen model of independent values predicts from none: a tenth of the state's memory less. */
function forgetLags(state: ProcessChartState): void {
  state.lags = []
  state.lagCount = 0
}

/** Moves the CUSUMs (held at their limits, so that they come back soon after a change has ended) and the recent history on. */
export function accumulate(state: ProcessChartState, model: ChartModel, timeMs: number, y: number, z: number): void {
  const { up, down, k, h } = state
  for (let i = 0; i < k.length; i++) {
    const reference = k[i]!
    const limit = h[i]!
    const rise = up[i]! + z - reference
    const fall = down[i]! - z - reference
    up[i] = rise > 0 ? (rise < limit ? rise : limit) : 0
    down[i] = fall > 0 ? (fall < limit ? fall : limit) : 0
  }
  state.points++
  pushRecentHistory(state.history, timeMs, (y - model.centre) / model.sigma)
}

/** Largest CUSUM as a share of its limit, 0-1. */
export function shareOfLimit(cusums: readonly number[], h: readonly number[]): number {
  let share = 0
  for (let i = 0; i < cusums.length; i++) {
    const ratio = cusums[i]! / h[i]!
    if (ratio > share) share = ratio
  }
  return share
}

/** Judges values again that were learned before and are not trusted any more. */
export function replayStatistics(state: ProcessChartState, values: readonly number[], timesMs: readonly number[]): void {
  const model = state.model!
  const judgement: Judgement = { residual: 0, sigma: 1, z: 0 }
  state.lagCount = 0
  for (let i = 0; i < values.length; i++) {
    judge(state, model, values[i]!, judgement)
    accumulate(state, model, timesMs[i]!, values[i]!, judgement.z)
  }
}
