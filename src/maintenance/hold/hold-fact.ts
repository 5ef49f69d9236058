import type { Section } from '../../line/feature-value.js'
import type { FactMark } from '../maintenance-fact.js'

/** One maintenance check that must be done before settings may change, in the order a board travels. */
export interface HoldCheck {
  readonly check: string
  readonly section: Exclude<Section, 'line'>
  readonly zone?: number
  readonly done: boolean
  /** How it counts as done: key such as `recorded`, `inspected`, `inside-interval`. */
  readonly how?: string
  readonly doneMs?: number
  readonly minutes: number
}

/** Settings on hold, or not. */
export interface HoldFact extends FactMark {
  readonly type: 'hold'
  readonly on: boolean
  readonly sinceMs: number
  /** Key of why, e.g. `hold.suggestion`, `hold.ended.checks-done`, `hold.ended.engineer`. */
  readonly because: string
  readonly checks: readonly HoldCheck[]
  /** Set-point changes seen while on hold, not yet explained ones without reason. */
  readonly changes: readonly { readonly id: string; readonly timeMs: number; readonly channel: string; readonly from: number; readonly to: number; readonly reason?: string }[]
  /** Production time since all checks were done, and how much of it is asked for, h. */
  readonly watchedHours?: number
  readonly neededHours?: number
  readonly by?: string
  readonly reason?: string
  readonly untilMs?: number
}
