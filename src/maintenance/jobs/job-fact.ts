import type { Section } from '../../line/feature-value.js'
import type { FactMark } from '../maintenance-fact.js'
import type { WorkRecord } from '../suggestion.js'

/** What a record said before it was corrected, and why it was. */
export interface RecordVersion {
  readonly record: WorkRecord
  readonly reason: string
  readonly correctedMs: number
  /** Who corrected it. */
  readonly by?: string
}

/** A record of work as it holds now; corrected ones say what they replaced. */
export interface RecordFact extends FactMark {
  readonly type: 'record'
  readonly record: WorkRecord
  /** When it was entered, ms UTC; late records were done before. */
  readonly enteredMs?: number
  /** Versions before this one, the oldest first, each with why it was corrected. */
  readonly earlier: readonly RecordVersion[]
  /** Taken back: it never happened. */
  readonly withdrawn: boolean
}

/** `lead`: another job called for it, `watch`: the line itself showed something urgent. */
export type JobSource = 'suggestion' | 'entry' | 'round' | 'change' | 'record' | 'lead' | 'watch'

export type JobStatus = 'open' | 'taken' | 'started' | 'paused' | 'waiting-for-part' | 'put-off' | 'half-done' | 'done' | 'dropped'

/** A job as it stands. */
export interface JobFact extends FactMark {
  readonly type: 'job'
  readonly work: string
  readonly section: Exclude<Section, 'line'>
  readonly zone?: number
  readonly suggestion?: string
  readonly status: JobStatus
  readonly statusMs: number
  readonly raisedMs: number
  /** What called for it. */
  readonly source: JobSource
  /** The line must not run as it is; the reason key, e.g. `washed-not-lubricated`. */
  readonly doNotStart?: string
  /** Since when, ms UTC. */
  readonly doNotStartSinceMs?: number
  /** The line ran although it must not: first seen, ms UTC. Said, never acted upon. */
  readonly ranAnywayMs?: number
  /** Job that must follow before the line may run. */
  readonly followUp?: string
  /** Id of the record of the work itself. */
  readonly record?: string
  /** Filter, ducts, seals, guards. */
  readonly safety: boolean
  /** Everybody who has a lock on, the first first. */
  readonly holders: readonly { readonly holder: string; readonly sinceMs: number }[]
  /** Who holds the isolation, and since when: the first of the holders. */
  readonly isolation?: { readonly holder: string; readonly sinceMs: number }
  readonly dismantled?: string
  readonly part?: string
  readonly people?: number
  readonly untilMs?: number
  readonly reason?: string
  readonly by?: string
  /** Named where one was needed. */
  readonly engineer?: string
  readonly product?: string
  /** Hottest surface within reach, measured by hand, °C. */
  readonly surfaceC?: number
  /** Work was begun or isolated by entry: the steps of returning to service count. */
  readonly begun: boolean
  /** Return-to-service steps that were done. */
  readonly returnSteps: readonly string[]
  readonly urgency: 'urgent' | 'soon' | 'plan'
  readonly history: readonly { readonly timeMs: number; readonly status: JobStatus; readonly by?: string; readonly reason?: string }[]
}
