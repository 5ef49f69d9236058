import { fromCountScale } from './count-scale.js'
import type { BaselineStep, ProcessChartDesign, ProcessChartSink, ProcessChartState } from './process-chart-state.js'

/** Reports every step of the first values, later every fiftieth part of the target. */
export function tellProgress(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, sink: ProcessChartSink): void {
  const learned = state.learned
  if (learned === null) return
  const every = learned.count < design.baselineMin ? 1 : Math.max(1, Math.round(design.baselineTarget / 50))
  if (learned.count % every === 0) tellBaseline(design, state, timeMs, sink)
}

/** Reports where the learning stands. */
export function tellBaseline(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, sink: ProcessChartSink): void {
  sink.baseline(baselineStep(design, state, timeMs))
}

export function baselineStep(design: ProcessChartDesign, state: ProcessChartState, timeMs: number): BaselineStep {
  const learning = state.learned !== null
  const held = state.hold && state.limited
  const suspended = learning && (held || state.suspicion || state.signal !== null)
  const reason = suspended ? (held ? 'baseline.on-hold' : 'baseline.suspicion') : state.reason
  const { centre, sigma } = levelInUnit(design, state)
  return {
    timeMs,
    status: suspended ? 'suspended' : state.status,
    n: effectiveCount(state),
    target: design.baselineTarget,
    centre,
    sigma,
    ...(state.model?.scatter === undefined || design.kind === 'count' ? {} : { scatter: state.model.scatter }),
    ...(reason === '' ? {} : { reason }),
  }
}

/** Effective values learned so far: those behind the limits, or all so far in proportion. */
export function effectiveCount(state: ProcessChartState): number {
  const { learned, model } = state
  if (learned === null) return model === null ? 0 : model.n
  if (model === null) return learned.count
  const factor = Math.max(0, model.lagOne)
  const independent = Math.floor((learned.count * (1 - factor)) / (1 + factor))
  return state.limited ? Math.max(model.n, independent) : independent
}

/** Centre and sigma in the feature's own unit; zeros before there are any. */
export function levelInUnit(design: ProcessChartDesign, state: ProcessChartState): { centre: number; sigma: number } {
  const model = state.model
  if (model === null) return { centre: 0, sigma: 0 }
  if (design.kind !== 'count') return { centre: model.centre, sigma: model.sigma }
  return { centre: fromCountScale(model.centre), sigma: 2 * model.centre * model.sigma }
}
