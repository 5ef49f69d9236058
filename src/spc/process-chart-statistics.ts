import { LAGS_MAX } from './autoregressive-model.js'
import { normalScoreOfT } from './chart-limits.js'
import { stepCusumSet } from './cusum-set.js'
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
  if (model.prediction === null) return 1
  const { weights, residualSigma } = model.prediction
  let share = 1
  for (const weight of weights.at(-1)!) share -= weight
  return Math.max(0.05, Math.min(1.5, (share * model.sigma) / residualSigma.at(-1)!))
}

/** Standardises one value and moves the memory of the model on to it. */
export function judge(state: ProcessChartState, model: ChartModel, y: number, into: Judgement): void {
  const deviation = y - model.centre
  const { prediction } = model
  let residual = deviation
  let sigma = model.sigma
  if (prediction !== null && state.lagCount > 0) {
    const order = Math.min(prediction.weights.length, state.lagCount)
    const weights = prediction.weights[order - 1]!
    for (let j = 0; j < order; j++) residual -= weights[j]! * (state.lags[j]! - model.centre)
    sigma = prediction.residualSigma[order - 1]!
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
  if (prediction !== null || state.learned !== null) rememberLag(state, y)
  else if (state.lagCount > 0) forgetLags(state)
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

/** Moves the CUSUMs and the recent history on. */
export function accumulate(state: ProcessChartState, model: ChartModel, timeMs: number, y: number, z: number): void {
  stepCusumSet(state.cusums, z)
  state.points++
  pushRecentHistory(state.history, timeMs, (y - model.centre) / model.sigma)
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
