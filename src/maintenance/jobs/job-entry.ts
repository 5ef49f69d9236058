import type { Section } from '../../line/feature-value.js'
import type { EntryMark } from '../maintenance-entry.js'
import type { WorkRecord } from '../suggestion.js'

/** What is done with a job, in the order of its life. */
export const JOB_ACTIONS = ['add', 'take', 'start', 'isolate', 'pause', 'wait-for-part', 'resume', 'hand-over', 'release-isolation', 'return-step', 'done', 'put-off', 'give-back', 'drop'] as const
export type JobAction = (typeof JOB_ACTIONS)[number]

/** A step in a job's life. */
export interface JobEntry extends EntryMark {
  readonly type: 'job'
  /** Job id or the short code of its card; for `add` the new one's is made from the entry. */
  readonly job?: string
  readonly action: JobAction
  /** For `add`: what and where. */
  readonly work?: string
  readonly section?: Exclude<Section, 'line'>
  readonly zone?: number
  readonly suggestion?: string
  /** Reason id of the list; needed to put off or drop. */
  readonly reason?: string
  readonly untilMs?: number
  /** People on the job. */
  readonly people?: number
  /** What is taken apart now, in words. */
  readonly dismantled?: string
  /** Cleaner or lubricant that is going to be used, for `start`. */
  readonly product?: string
  /** Part waited for, in words. */
  readonly part?: string
  /** Return-to-service step that was done. */
  readonly step?: string
  /** Hottest surface within reach as measured by hand, °C. */
  readonly surfaceC?: number
  /** Named engineer, where one is needed. */
  readonly engineer?: string
  readonly remark?: string
}

/** A record that was wrong: replaced or taken back; the first version is kept. */
export interface CorrectionEntry extends EntryMark {
  readonly type: 'correction'
  /** Id of the record. */
  readonly of: string
  /** What it should have said; absent: it never happened. */
  readonly record?: WorkRecord
  readonly reason: string
}
