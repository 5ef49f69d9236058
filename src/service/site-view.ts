import type { LineDefinition } from '../line/line-definition.js'
import type { MaintenanceEntry } from '../maintenance/maintenance-entry.js'
import type { SuggestionReply, WorkRecord } from '../maintenance/suggestion.js'
import type { LineInput, Stage } from '../monitor/line-event.js'
import type { LineStore } from '../ports/line-store.js'
import type { LineProjection } from './line-projection.js'

/** Not taken, in words; with the key of the reason where the line itself has refused it. */
export interface Refused {
  readonly kind: 'refused'
  readonly message: string
  readonly reason?: string
}

export type EntryOutcome = { readonly kind: 'taken'; readonly seq: number } | Refused
export type ReplyOutcome = { readonly kind: 'taken' } | Refused

export interface SiteLineStatus {
  readonly stages: readonly Stage[]
  /** Events accepted and not yet stepped. */
  readonly queued: number
  /** Last event stepped. */
  readonly processedSeq: number
  /** Why reading has paused. */
  readonly paused?: string
  /** When the newest input came, ms UTC. */
  readonly receivedMs?: number
}

/** A line as HTTP and nodes see it. */
export interface SiteLine {
  readonly definition: LineDefinition
  readonly projection: LineProjection
  readonly store: LineStore
  status(): SiteLineStatus
  /** Resolves after the commit. */
  submit(input: LineInput): Promise<{ readonly seq: number }>
  /** Resolves after the reply was committed and stepped. */
  reply(reply: SuggestionReply): Promise<ReplyOutcome>
  /** Resolves after the entry was committed and stepped. */
  enter(entry: MaintenanceEntry): Promise<EntryOutcome>
  /** Resolves after the record of work was committed and stepped. */
  record(record: WorkRecord): Promise<EntryOutcome>
  /** The line's own time: the newest data's on a simulated line, the wall clock's else; ms UTC. */
  nowMs(): number
}

/** A line that could not be opened: what the store holds of it cannot be gone on from. */
export interface RefusedLine {
  readonly line: string
  readonly title: string
  readonly reason: string
}

export interface SiteView {
  /** Data folder; undefined while no line is deployed. */
  readonly folder?: string
  lines(): readonly SiteLine[]
  line(id: string): SiteLine | undefined
  refusedLines(): readonly RefusedLine[]
  readonly outboxStatus: { readonly lanes: readonly { readonly destination: string; readonly target: string; readonly count: number; readonly failures: number; readonly lastError?: string }[]; readonly delivered: number; readonly refused: number; readonly dropped: number }
  readonly historyStatus: { readonly state: string; readonly written: number; readonly refused: number; readonly lastError?: string } | undefined
  readonly brokers: readonly { readonly broker: string; readonly connected: boolean }[]
}
