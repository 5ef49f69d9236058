import type { ChartContext } from './line-output.js'

/** How a feature moves and when it will reach its limit; said when its signal starts, daily while it stands, and at its end. */
export interface DriftInsight extends ChartContext {
  readonly type: 'drift'
  readonly timeMs: number
  /** Step, ramp or spread, by BIC; `unclear` where no model leads. */
  readonly shape: 'step' | 'ramp' | 'spread' | 'unclear'
  /** Most likely time of the change and the times that cannot be ruled out, ms UTC. */
  readonly onsetMs: number
  readonly onsetFromMs: number
  readonly onsetToMs: number
  /** Change a day in the feature's unit with its 95 % interval. */
  readonly slopePerDay: number
  readonly slopePerDayLower: number
  readonly slopePerDayUpper: number
  /** When it reaches its limit, or why no date can be given. */
  readonly dueMs?: readonly [number, number, number]
  readonly noDate?: string
}

/** What charts and suggestions were expected to cost in false alarms, and what came. */
export interface BudgetInsight {
  readonly type: 'budget'
  readonly timeMs: number
  readonly fromMs: number
  readonly productionHours: number
  readonly expectedSignals: number
  readonly signals: number
  readonly expectedSuggestions: number
  readonly suggestions: number
  /** Signals that no suggestion or record explained. */
  readonly unexplained: number
}

export type Insight = DriftInsight | BudgetInsight
