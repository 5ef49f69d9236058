import { keptValues } from './baseline.js'
import { chartSetLimits, KNOWN_PARAMETERS } from './chart-limits.js'
import { startCusums } from './cusum-set.js'
import { condense, createLearnedValues, forgetAside, learnAside, learnOne, pushAside, setAside, SINGLE_VALUES_MAX } from './learned-values.js'
import { COUNT_SIGMA, floorOf, refit, refreshSelfStarting, SELF_START_MIN, useLimits } from './process-chart-fit.js'
import { beginToFollow } from './process-chart-follow.js'
import { effectiveCount, tellBaseline, tellProgress } from './process-chart-report.js'
import type { ProcessChartDesign, ProcessChartSink, ProcessChartState } from './process-chart-state.js'
import { clearRecentHistory, likelyOnset } from './recent-history.js'
import { meanOf } from './autocorrelation.js'
import { resetWesternElectric } from './western-electric.js'

/** Starting over now and then is what correlated values do; more often than this they wander off. */
const RESTARTS_MEANT = 3
/** Values that wander off again and again are averaged over more and more of them. */
const RESTART_BATCH_MAX = 32
/** After so many a level that may be followed is. */
const RESTARTS_FOLLOWED = 3
const FLAPPING_SIGNALS = 3
/** A longer suspicion is no passing one. */
const ASIDE_MAX = 300
/** A self-starting chart that has been suspicious for so many values gives up what it had learned. */
const HELD_MAX = 24

/** Takes one charted value into Phase I and refits where it is time. */
export function learnValue(design: ProcessChartDesign, state: ProcessChartState, y: number, timeMs: number, sink: ProcessChartSink): void {
  const learned = state.learned!
  learned.heldCount = 0
  learnOne(learned, timeMs, y)
  if (!state.limited && learned.values.length >= SELF_START_MIN) refreshSelfStarting(design, state)
  if (!fitWhereDue(design, state, timeMs, sink)) tellProgress(design, state, timeMs, sink)
}

/** Refits when enough values have come, and before single values are summed up. Returns whether it has reported a step. */
function fitWhereDue(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, sink: ProcessChartSink): boolean {
  const full = state.learned!.values.length >= SINGLE_VALUES_MAX
  const told = (full || state.learned!.count >= state.learned!.nextFit) && refit(design, state, timeMs, sink)
  const learned = state.learned
  if (learned !== null && learned.values.length >= SINGLE_VALUES_MAX) condense(learned, keptValues(learned.values, learned.timesMs, Math.max(design.kind === 'count' ? COUNT_SIGMA : 0, floorOf(design, meanOf(learned.values)))))
  return told
}

/** Takes the whole suspicious stretch back out of what was learned, from its likely onset on. */
export function suspectStretch(state: ProcessChartState, side: 'above' | 'below'): void {
  const onsetMs = likelyOnset(state.history, side)?.onsetMs
  if (state.learned === null || onsetMs === undefined) return
  setAside(state.learned, onsetMs, SELF_START_MIN)
  state.learned.nextFit = Math.max(state.learned.nextFit - state.learned.aside.values.length, state.learned.count + 1)
}

/** The suspicion has passed without a signal: its values are learned after all. */
export function acquitStretch(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, sink: ProcessChartSink): void {
  if (state.learned === null || state.learned.aside.values.length === 0) return
  learnAside(state.learned)
  fitWhereDue(design, state, timeMs, sink)
}

/**
 * One value that is not learned because a suspicion is on: a self-starting chart starts again after too many.
 *
 * @param y undefined for a spike, which is not learned whatever becomes of the suspicion
 * @param confirmed the suspicion has become a signal, or would have with limits: nothing of it is ever learned
 */
export function holdValue(design: ProcessChartDesign, state: ProcessChartState, y: number | undefined, timeMs: number, confirmed: boolean, sink: ProcessChartSink): void {
  const learned = state.learned!
  learned.heldCount++
  if (confirmed || learned.heldCount > ASIDE_MAX) forgetAside(learned)
  else if (y !== undefined) pushAside(learned, timeMs, y)
  if (state.limited || learned.heldCount <= Math.max(HELD_MAX, learned.count)) return
  startOver(design, state, 'baseline.change-point-inside', timeMs, sink)
}

/** A chart that still learns and whose signals come and go has learned too little: its limits are not believed any more. */
export function judgeFlapping(design: ProcessChartDesign, state: ProcessChartState, timeMs: number, sink: ProcessChartSink): void {
  state.signalsEnded++
  if (state.learned === null || state.signalsEnded < FLAPPING_SIGNALS || effectiveCount(state) > design.baselineTarget / 2) return
  startOver(design, state, 'baseline.unstable', timeMs, sink)
}

function startOver(design: ProcessChartDesign, state: ProcessChartState, reason: string, timeMs: number, sink: ProcessChartSink): void {
  const batch = state.restarts >= RESTARTS_MEANT ? Math.min(RESTART_BATCH_MAX, state.batch * 2) : state.batch
  const restarts = state.restarts + 1
  restartLearning(design, state)
  state.batch = batch
  state.restarts = restarts
  state.status = 'refused'
  state.reason = reason
  if (design.followsWandering === true && design.kind === 'individuals' && restarts >= RESTARTS_FOLLOWED) beginToFollow(state)
  tellBaseline(design, state, timeMs, sink)
}

/** Forgets everything learned; the chart is as new, but an open signal is the caller's to end first. */
export function restartLearning(design: ProcessChartDesign, state: ProcessChartState): void {
  state.status = 'learning'
  state.reason = ''
  state.suspicion = false
  state.model = null
  state.limited = false
  state.learned = createLearnedValues(design.baselineMin)
  state.pool = null
  state.follow = null
  state.batch = 1
  state.batchSum = state.batchCount = state.lagCount = 0
  useLimits(state, chartSetLimits(design.arl0, design.charts, KNOWN_PARAMETERS))
  startCusums(state.cusums, 0)
  state.points = 0
  state.restarts = 0
  state.signalsEnded = 0
  resetWesternElectric(state.rules)
  clearRecentHistory(state.history)
}
