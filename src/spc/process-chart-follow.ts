import { followLevel, forecast, freezeLimits, resumeAt, tailLimit, takeValue, type FollowedLevel } from './followed-level.js'
import { chartedArl0 } from './process-chart-fit.js'
import { tellBaseline } from './process-chart-report.js'
import type { ProcessChartDesign, ProcessChartSink, ProcessChartState } from './process-chart-state.js'
import { pushRecentHistory } from './recent-history.js'
import { stepWesternElectric } from './western-electric.js'

/** A wandering level followed at two speeds: value by value, and as means of a dozen, which see a fall that takes hours. Plain JSON. */
export interface FollowedChart {
  readonly fast: FollowedLevel
  readonly slow: FollowedLevel
  /** The mean of a dozen so far. */
  sum: number
  count: number
  /** Whether the fast one has had a signal meanwhile: the slow one has nothing to add to it. */
  disturbed: boolean
}

/** Which of the two speaks of a value, and its distance from the forecast as a share of the limit, signed. */
export interface FollowedSigns {
  fast: number | undefined
  slow: number | undefined
}

const SLOW_SIZE = 12
/** The two speeds share the budget. */
const SPEEDS = 2
/** Forecast errors before there are limits. */
const FAST_MIN = 100
const SLOW_MIN = 40
/** Limits are frozen after so many times the values of a baseline: a wandering level shows its habits slowly. */
const TARGET_FACTOR = 10
/** Limits are renewed after so many values. */
const RENEWED_EVERY = 20

/** From the next value on the level is followed instead of learned. */
export function beginToFollow(state: ProcessChartState): void {
  state.follow = { fast: followLevel(0), slow: followLevel(0), sum: 0, count: 0, disturbed: false }
  state.learned = null
  state.lagCount = 0
  state.reason = 'baseline.followed'
}

/**
 * Judges one value by the forecasts from those before it, charts it, and lets the forecasts move on. After a gap both
 * begin anew at the next value.
 */
export function stepFollowed(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, value: number, sink: ProcessChartSink): FollowedSigns {
  const follow = state.follow!
  const signs: FollowedSigns = { fast: undefined, slow: undefined }
  if (state.lagCount === 0) {
    state.lagCount = 1
    resumeAt(follow.fast, value)
    follow.sum = follow.count = 0
    follow.disturbed = true
    return signs
  }
  const byFast = state.signal !== null && state.signal.chart === 'residual'
  signs.fast = stepSpeed(design, state, timeMs, value, follow.fast, 'residual', sink)
  if (byFast || (signs.fast !== undefined && Math.abs(signs.fast) > 1)) follow.disturbed = true
  follow.sum += value
  if (++follow.count === SLOW_SIZE) {
    const mean = follow.sum / SLOW_SIZE
    follow.sum = follow.count = 0
    if (follow.disturbed && (state.signal === null || byFast)) resumeAt(follow.slow, mean)
    else signs.slow = stepSpeed(design, state, timeMs, mean, follow.slow, 'subgroup-mean', sink)
    follow.disturbed = false
  }
  renewLimits(design, state, timeMs, sink)
  return signs
}

function stepSpeed(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, value: number, level: FollowedLevel, chart: 'residual' | 'subgroup-mean', sink: ProcessChartSink): number | undefined {
  const expected = forecast(level)
  const { sigma, limit } = level
  const known = limit > 0 && sigma > 0
  const share = known ? (value - expected) / (sigma * limit) : 0
  // The means have no points of their own: readers take every point for a value.
  if (known && chart === 'residual') {
    const reach = limit * sigma
    const z = (value - expected) / sigma
    sink.point({ timeMs, chart, value, statistic: value - expected, centre: 0, lower: -reach, upper: reach, sigma, n: level.count, baseline: state.status === 'accepted' ? 'accepted' : 'provisional' })
    stepWesternElectric(state.rules, timeMs, z, chart, sink.ruleHit, sink.ruleEnd)
    state.points++
    pushRecentHistory(state.history, timeMs, z)
  }
  takeValue(level, value, !state.hold && state.signal === null && Math.abs(share) <= 1, design.sigmaFloor)
  return known ? share : undefined
}

function renewLimits(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, sink: ProcessChartSink): void {
  const { fast, slow } = state.follow!
  const { count, sigma } = fast
  state.model = { centre: forecast(fast), sigma: Math.max(sigma, design.sigmaFloor), prediction: null, lagOne: 0, n: count, df: 0, flat: false }
  if (!fast.learning || count < FAST_MIN || (count % RENEWED_EVERY !== 0 && state.limited)) return
  const arl0 = chartedArl0(design, state) * SPEEDS
  fast.limit = state.shewhart = tailLimit(fast, arl0)
  if (slow.count >= SLOW_MIN) slow.limit = tailLimit(slow, Math.max(20, arl0 / SLOW_SIZE))
  state.limited = true
  if (state.status !== 'accepted') state.status = 'provisional'
  if (count >= TARGET_FACTOR * design.baselineTarget) freezeFollowed(state)
  if (count % (5 * RENEWED_EVERY) === 0) tellBaseline(design, state, timeMs, sink)
}

/** Ends the learning of both speeds. */
export function freezeFollowed(state: ProcessChartState): void {
  if (state.follow === null) return
  freezeLimits(state.follow.fast)
  freezeLimits(state.follow.slow)
}
