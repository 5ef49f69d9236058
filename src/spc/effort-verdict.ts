/** What is known about one control loop: the chart of the controlled value against the chart of the effort. */
export interface LoopEvidence {
  /** Deviation of the controlled value from its set-point. */
  readonly result: 'quiet' | 'signal'
  /** Effort against what the conditions explain. */
  readonly effort: 'quiet' | 'high' | 'low'
  /** Time the effort has been off, in loop time constants. */
  readonly steadyTimeConstants: number
  /** Share of time at the stops of the actuator, 0-1. */
  readonly saturatedShare: number
  /** The efforts of neighbouring loops moved the same way. */
  readonly neighboursMoved: boolean
  /** The controlled value does not move at all while the effort does. */
  readonly resultFlat: boolean
  /** Variance of the controlled value is up, or it oscillates. */
  readonly resultRestless: boolean
  /** Set-point, product or load changed less than one time constant before the effort moved. */
  readonly justChanged: boolean
}

/** What the two charts together say. Causes that one loop cannot tell apart stand in one verdict. */
export type LoopVerdict =
  | 'in-order'
  | 'restart-after-change'
  | 'too-early'
  | 'effort-up-result-same'
  | 'effort-down-result-same'
  | 'common-cause'
  | 'capacity-exhausted'
  | 'restless-control'
  | 'result-frozen'
  | 'result-off-effort-explained'
  | 'result-and-effort-off'

/** Below this the actuator counts as free. */
const SATURATED_SHARE_MAX = 0.05
const STEADY_TIME_CONSTANTS_MIN = 3

/**
 * Reads the chart of a controlled value together with the chart of its effort: feedback hides a fault in the value as
 * long as the effort can make up for it, so the value alone is blind.
 */
export function loopVerdict(evidence: LoopEvidence): LoopVerdict {
  const { result, effort, saturatedShare } = evidence
  if (effort !== 'quiet' && evidence.justChanged) return 'restart-after-change'
  if (result === 'signal') {
    if (effort !== 'quiet' && saturatedShare > SATURATED_SHARE_MAX) return 'capacity-exhausted'
    if (evidence.resultFlat) return 'result-frozen'
    if (effort !== 'quiet') return 'result-and-effort-off'
    return evidence.resultRestless ? 'restless-control' : 'result-off-effort-explained'
  }
  if (effort === 'quiet') return 'in-order'
  if (evidence.neighboursMoved) return 'common-cause'
  if (evidence.steadyTimeConstants < STEADY_TIME_CONSTANTS_MIN) return 'too-early'
  return effort === 'high' ? 'effort-up-result-same' : 'effort-down-result-same'
}
