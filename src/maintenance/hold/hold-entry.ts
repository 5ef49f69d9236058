import type { EntryMark } from '../maintenance-entry.js'

/** What people say of settings on hold. */
export interface HoldEntry extends EntryMark {
  readonly type: 'hold'
  readonly action:
    /** An engineer ends the hold before its time; the reason expires. */
    | 'end-early'
    /** Why a set-point change seen in the telemetry was made. */
    | 'explain-change'
    /** An approved recipe or a new product: its change is no tuning. */
    | 'exempt'
  readonly reason: string
  /** Until when an early end counts, ms UTC. */
  readonly untilMs?: number
  /** The set-point change that is explained. */
  readonly change?: string
  readonly recipe?: string
}
