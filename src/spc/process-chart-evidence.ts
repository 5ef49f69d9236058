import type { Side } from './chart-point.js'
import { fromCountScale } from './count-scale.js'
import { cusumShare } from './cusum-set.js'
import { effectiveCount, levelInUnit } from './process-chart-report.js'
import type { ProcessChartDesign, ProcessChartState } from './process-chart-state.js'
import { meanDeviations, recentMedian, type StretchMean } from './recent-history.js'

export interface ChartEvidence {
  /** `quiet` is evidence of absence; `learning` says nothing either way: no limits yet, or statistics between calm and signal. */
  readonly status: 'up' | 'down' | 'quiet' | 'learning'
  /** Present change in baseline sigmas, signed; 0 unless up or down. */
  readonly shiftSigma: number
  /** The same in the feature's unit. */
  readonly shift: number
  /** Level learned, feature's unit; 0 while there is none. */
  readonly centre: number
  readonly sigma: number
  /** 0 unless up or down. */
  readonly onsetMs: number
  /** Charted values since the signal started. */
  readonly windows: number
  readonly trend: 'growing' | 'steady' | 'fading'
  /** Effective values learned and wanted. */
  readonly n: number
  readonly target: number
}

const QUIET_SHARE = 0.5
/** Values that must have passed before calm is evidence of anything. */
const QUIET_POINTS_MIN = 8
/** The newest values may not lie further off than this on the median. */
const QUIET_MEDIAN_MAX = 1
const TREND_ERRORS = 2

/** What the chart set says now. */
export function chartEvidence(design: ProcessChartDesign, state: ProcessChartState): ChartEvidence {
  const n = effectiveCount(state)
  const { centre, sigma } = levelInUnit(design, state)
  const still = { shiftSigma: 0, shift: 0, onsetMs: 0, windows: 0, trend: 'steady' as const, n, target: design.baselineTarget }
  if (!state.limited) return { status: 'learning', centre: 0, sigma: 0, ...still }
  if (state.signal !== null) return changeEvidence(design, state, centre, sigma, n)
  const calm = Math.max(cusumShare(state.cusums, 'above'), cusumShare(state.cusums, 'below')) < QUIET_SHARE
  const level = recentMedian(state.history)
  const quiet = calm && state.points >= QUIET_POINTS_MIN && level !== undefined && Math.abs(level) <= QUIET_MEDIAN_MAX
  return { status: quiet ? 'quiet' : 'learning', centre, sigma, ...still }
}

function changeEvidence(design: ProcessChartDesign, state: ProcessChartState, centre: number, sigma: number, n: number): ChartEvidence {
  const signal = state.signal!
  const model = state.model!
  const { all, older, newer } = meanDeviations(state.history)
  const trend = trendOf(older, newer, signal.side, model.lagOne)
  // A steady change is known best from all its points; one that moves, from the newest.
  const level = trend === 'steady' && all.pointCount > 0 ? all.mean : recentMedian(state.history)
  const shiftSigma = level ?? signal.shiftSigma
  const changed = model.centre + shiftSigma * model.sigma
  const shift = design.kind === 'count' ? fromCountScale(changed) - centre : shiftSigma * sigma
  return {
    status: signal.side === 'above' ? 'up' : 'down',
    shiftSigma,
    shift,
    centre,
    sigma,
    onsetMs: signal.onsetMs,
    windows: signal.points,
    trend,
    n,
    target: design.baselineTarget,
  }
}

/** Compares the older and the newer half of the points since the onset (all the history holds), allowing for autocorrelation. */
function trendOf(before: StretchMean, after: StretchMean, side: Side, lagOne: number): 'growing' | 'steady' | 'fading' {
  if (before.pointCount < 3 || after.pointCount < 3) return 'steady'
  const correlation = Math.max(0, Math.min(0.95, lagOne))
  const inflation = (1 + correlation) / (1 - correlation)
  const error = Math.sqrt(inflation * (1 / before.pointCount + 1 / after.pointCount))
  const change = (after.mean - before.mean) * (side === 'above' ? 1 : -1)
  return change > TREND_ERRORS * error ? 'growing' : change < -TREND_ERRORS * error ? 'fading' : 'steady'
}
