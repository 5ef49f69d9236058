import type { Section } from '../../line/feature-value.js'
import type { FactMark } from '../maintenance-fact.js'

/** One maintenance check that must be done before settings may change, in the order a board travels. */
export interface HoldCheck {
  readonly check: string
  readonly section: Exclude<Section, 'line'>
  readonly zone?: number
  readonly done: boolean
  /** How it counts as done: `inspected`, `recorded`, `inside-interval`; or what is missing: `hand-check-missing`. */
  readonly how?: string
  readonly doneMs?: number
  readonly minutes: number
  /** Which to do first, from 1; done ones last. The list itself stays in the order a board travels. */
  readonly rank: number
  /** Round checks that are its hand check: any of them, passed. */
  readonly handChecks: readonly string[]
  /** Work that mends what it finds. */
  readonly works: readonly string[]
  /** Why its hand check did not pass, e.g. `round.below`. */
  readonly failed?: { readonly roundCheck: string; readonly reason: string; readonly timeMs: number; readonly values: Readonly<Record<string, number | string>> }
}

/** A set-point change seen while on hold; without reason while nobody has said one. */
export interface HeldChange {
  readonly id: string
  readonly timeMs: number
  readonly channel: string
  readonly from: number
  readonly to: number
  readonly reason?: string
}

/** Settings on hold, or not. */
export interface HoldFact extends FactMark {
  readonly type: 'hold'
  readonly on: boolean
  readonly sinceMs: number
  /** Key of why, e.g. `hold.suggestion`, `hold.signals`, `hold.back`, `hold.ended.checks-done`, `hold.ended.gone`, `hold.ended.engineer`. */
  readonly because: string
  /** Begin of the variation, as far as it is known, ms UTC. */
  readonly onsetMs: number
  /** Sections under suspicion. */
  readonly sections: readonly Section[]
  readonly suggestions: readonly string[]
  readonly features: readonly string[]
  readonly checks: readonly HoldCheck[]
  /** Set-point changes seen while on hold, not yet explained ones without reason. */
  readonly changes: readonly HeldChange[]
  /** Production time since all checks were done, and how much of it is asked for, h. */
  readonly watchedHours?: number
  readonly neededHours?: number
  readonly by?: string
  readonly reason?: string
  readonly untilMs?: number
}
