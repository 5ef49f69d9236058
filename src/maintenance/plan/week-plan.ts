import type { DueItem, PlanReason } from './due-items.js'
import type { PlannedRound } from './plan-rounds.js'
import type { SetUpMinutes } from './stop-schedule.js'

/** A job with its place in a stop; times ms UTC. */
export interface PlannedJob {
  readonly item: DueItem
  readonly fromMs: number
  readonly untilMs: number
}

/** One stop of one line that serves its jobs; times ms UTC. */
export interface PlannedStop {
  readonly id: string
  readonly line: string
  readonly fromMs: number
  readonly untilMs: number
  readonly shift: string
  /** Whether boards would have been made in its time. */
  readonly production: boolean
  /** People at work at once, and people on the shift. */
  readonly people: number
  readonly peopleOnShift: number
  readonly setUp: SetUpMinutes
  /** Minutes of isolation, cooling and return that one stop for all jobs saves against a stop for each. */
  readonly sharedMinutes: number
  readonly jobs: readonly PlannedJob[]
  /** Agreed: frozen until the week is opened again. */
  readonly agreed: boolean
  /** Ends after something in it was due. */
  readonly late: boolean
  /** A job that no shift can hold, spread over several with the line standing in between. */
  readonly part?: { readonly number: number; readonly of: number }
}

/** A job that has no place this week, and why. */
export interface UnplannedItem {
  readonly item: DueItem
  readonly reason: PlanReason
}

/** The week of all lines: every due job is in exactly one of the four lists. */
export interface WeekPlan {
  readonly week: string
  readonly timeZone: string
  readonly fromMs: number
  readonly untilMs: number
  /** In the order of their time. */
  readonly stops: readonly PlannedStop[]
  /** Not for a plan: urgent, or begun in a way that the line must not run. */
  readonly now: readonly UnplannedItem[]
  /** Due this week and without a place. */
  readonly unplanned: readonly UnplannedItem[]
  /** Not due yet. */
  readonly later: readonly UnplannedItem[]
  /** Rounds of the week and month that are still due; they need no stop of their own. Only in the week in hand. */
  readonly rounds: readonly PlannedRound[]
  /** Lines whose week is agreed. */
  readonly agreedLines: readonly string[]
}
