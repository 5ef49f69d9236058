import type { Section } from '../../line/feature-value.js'
import type { FactMark } from '../maintenance-fact.js'
import type { WorkRecord } from '../suggestion.js'

/** A record of work as it holds now; corrected ones say what they replaced. */
export interface RecordFact extends FactMark {
  readonly type: 'record'
  readonly record: WorkRecord
  /** Versions before this one, the oldest first, each with why it was corrected. */
  readonly earlier: readonly { readonly record: WorkRecord; readonly reason: string; readonly correctedMs: number }[]
  /** Taken back: it never happened. */
  readonly withdrawn: boolean
}

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
  /** The line must not run as it is; the reason key, e.g. `washed-not-lubricated`. */
  readonly doNotStart?: string
  /** Since when, ms UTC. */
  readonly doNotStartSinceMs?: number
  /** Who holds the isolation, and since when. */
  readonly isolation?: { readonly holder: string; readonly sinceMs: number }
  readonly dismantled?: string
  readonly part?: string
  readonly people?: number
  readonly untilMs?: number
  readonly reason?: string
  readonly by?: string
  /** Return-to-service steps that were done. */
  readonly returnSteps: readonly string[]
  readonly urgency: 'urgent' | 'soon' | 'plan'
  readonly history: readonly { readonly timeMs: number; readonly status: JobStatus; readonly by?: string; readonly reason?: string }[]
}
