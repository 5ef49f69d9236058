import type { Section } from '../line/feature-value.js'
import type { LoopVerdict } from '../spc/effort-verdict.js'
import type { ChartContext } from './line-output.js'

/** Why no date can be given for a feature's limit. */
export type NoDateReason =
  /** Process knowledge and the line's definition give no limit for this feature. */
  | 'no-limit-set'
  /** Fewer values since the change than a slope needs. */
  | 'too-few-values'
  /** It moved once and stands: the slope does not differ from 0. */
  | 'no-clear-drift'
  /** It drifts away from its limit. */
  | 'moving-away'
  /** It lies beyond its limit already. */
  | 'beyond-already'
  /** It drifts towards its limit, but the times are too wide apart, or lie further ahead than the drift was watched. */
  | 'rising-too-early-to-date'
  | 'falling-too-early-to-date'

/** How a feature moves and when it will reach its limit; said when its signal starts, daily while it stands, and at its end. */
export interface DriftInsight extends ChartContext {
  readonly type: 'drift'
  readonly timeMs: number
  readonly phase: 'start' | 'standing' | 'end'
  /** Step, ramp or spread, by BIC; `unclear` where no model leads by more than 6. */
  readonly shape: 'step' | 'ramp' | 'spread' | 'unclear'
  /** Lead in BIC over the next best model; 0 where there are too few values to compare any. */
  readonly lead: number
  /** Most likely time of the change and the times that cannot be ruled out (95 %), ms UTC. */
  readonly onsetMs: number
  readonly onsetFromMs: number
  readonly onsetToMs: number
  /** Values the change point rests on, the level of the newest ones and the level before, in the feature's unit. */
  readonly valueCount: number
  readonly before: number
  readonly level: number
  /** Change a day in the feature's unit since the onset, with its 95 % interval; absent with too few values since. */
  readonly slopePerDay?: number
  readonly slopePerDayLower?: number
  readonly slopePerDayUpper?: number
  /** The limit it moves towards, feature's unit, and where it comes from. */
  readonly limit?: number
  readonly limitSource?: 'definition' | 'process'
  /** When it reaches its limit (P10, P50, P90), or why no date can be given. */
  readonly dueMs?: readonly [number, number, number]
  readonly noDate?: NoDateReason
}

/** What charts and suggestions were expected to cost in false alarms, and what came. */
export interface BudgetInsight {
  readonly type: 'budget'
  readonly timeMs: number
  readonly fromMs: number
  /** Whether the week is over; a running week is said once a day. */
  readonly complete: boolean
  readonly productionHours: number
  /** False signals expected from the limits in force and the points charted. */
  readonly expectedSignals: number
  readonly signals: number
  /** False suggestions expected from the budget and the production hours. */
  readonly expectedSuggestions: number
  readonly suggestions: number
  /** Signals that no suggestion or record explained. */
  readonly unexplained: number
  /** Since the line was first heard: weeks of 80 production hours, unexplained signals, and what that says of the budget. */
  readonly total: { readonly weeks: number; readonly expectedSignals: number; readonly unexplained: number; readonly verdict: 'kept' | 'over' | 'under' | 'undecided' | 'no-time-observed' }
}

/** What a controlled value and the effort behind it say together. */
export interface EffortInsight {
  readonly type: 'effort'
  readonly timeMs: number
  readonly section: Section
  readonly zone?: number
  readonly verdict: LoopVerdict
  /** Features compared: the controlled value off its set-point, and the effort at given set-point, load and ambient. */
  readonly feature: string
  readonly recipe: string
  readonly effortFeature: string
  /** Present change of the two in baseline sigmas, signed. */
  readonly resultSigma: number
  readonly effortSigma: number
  /** Share of its effect the heater has lost, from the effort it needs now; only where the effort is up. */
  readonly effectLossShare?: number
  /** Share of recent production time at the stops of the actuator, 0-1. */
  readonly saturatedShare: number
  /** When the effort began to be off, ms UTC; absent where it is not. */
  readonly onsetMs?: number
}

export type Insight = DriftInsight | BudgetInsight | EffortInsight
