import type { LineInput, LineEvent } from '../monitor/line-event.js'
import type { LineOutput, LineOutputKind } from '../monitor/line-output.js'

/** An output with its place: (line, seq, ordinal) is its key, and a repeat is ignored. */
export interface StoredOutput {
  readonly line: string
  /** Journal position of the event that brought it out. */
  readonly seq: number
  /** Place among the outputs of that event, from 0. */
  readonly ordinal: number
  readonly output: LineOutput
}

/** A message that must leave: kept until it is delivered. */
export interface OutboxItem {
  /** Stable: the same id again is ignored while the first waits, and lets a receiver recognise a repeat. */
  readonly id: string
  readonly line: string
  readonly destination: 'mqtt' | 'webhook' | 'influx'
  /** Topic, URL or measurement. */
  readonly target: string
  readonly payload: string
  readonly retain: boolean
  readonly createdMs: number
}

/** What waits in the outbox for one target. */
export interface OutboxLane {
  readonly destination: OutboxItem['destination']
  readonly target: string
  readonly count: number
}

/** One atomic write of a line. */
export interface LineCommit {
  readonly line: string
  /** Inputs to append to the journal; they get the next sequence numbers in order. */
  readonly inputs: readonly { readonly input: LineInput; readonly receivedMs: number }[]
  /** Outputs of events already in the journal; those of events a former commit called processed are repeats. */
  readonly outputs: readonly StoredOutput[]
  /** All events up to this one have been stepped; their outputs are in this or an earlier commit. */
  readonly processedSeq: number
  readonly outbox: readonly OutboxItem[]
  /** Events in the journal that made the step throw and are left out whenever the line is restored. */
  readonly skipped?: readonly SkippedEvent[]
}

export interface SkippedEvent {
  readonly seq: number
  readonly message: string
}

export interface LineSnapshot {
  readonly line: string
  /** The state holds every event up to this one. */
  readonly seq: number
  readonly body: unknown
}

/** Something in the store that could not be trusted and was set aside, never silently replaced. */
export interface StoreDamage {
  /** Empty where it concerns the whole file. */
  readonly line: string
  readonly what: 'snapshot' | 'journal' | 'file'
  /** First event it concerns; for a snapshot the event it stood at. */
  readonly seq: number
  readonly message: string
}

export interface PointQuery {
  readonly line: string
  readonly feature: string
  readonly chart?: string
  readonly fromMs?: number
  readonly toMs?: number
  /** Only the newest so many are given; answers are oldest first. */
  readonly limit?: number
}

export interface OutputQuery {
  readonly line?: string
  /** `point` has its own query; `reading` and `feature` are not kept; of `rejected` the last of each reason is. */
  readonly kinds: readonly LineOutputKind[]
  readonly feature?: string
  /** Of facts only those of this type. */
  readonly factType?: string
  readonly fromMs?: number
  readonly toMs?: number
  /** Only the newest so many are given; answers are oldest first. */
  readonly limit?: number
}

/** One chart's row of points in the history. */
export interface ChartSeries {
  readonly feature: string
  readonly chart: string
}

/** How often readings were refused for one reason, and the last of them. */
export interface RejectionCount {
  readonly count: number
  readonly last: Extract<LineOutput, { kind: 'rejected' }>['body']
}

/** Place in the history in the order it was written; start from `{ point: 0, output: 0 }`. */
export interface HistoryCursor {
  readonly point: number
  readonly output: number
}

export type PointBody = Extract<LineOutput, { kind: 'point' }>['body']

/** Journal, snapshots, history and outbox of all lines of one data folder. Calls are synchronous and durable on return. */
export interface LineStore {
  /** Appends, commits with full synchronisation, and answers the sequence number of the last event in the journal. */
  commit(commit: LineCommit): { readonly lastSeq: number }
  /** Several lines in one atomic write, each line at most once: all of it or nothing. Answers in the same order. */
  commitAll(commits: readonly LineCommit[]): readonly { readonly lastSeq: number }[]
  /**
   * Events after `afterSeq` in order, at most `limit`; a damaged batch ends the answer, is set aside and reported in
   * `damage`. Ask again after the last event to go on behind it.
   */
  readJournal(line: string, afterSeq: number, limit: number): { readonly events: readonly LineEvent[]; readonly damage?: StoreDamage }
  processedSeq(line: string): number
  /** Last event in the journal, 0 for an empty or unknown line. */
  lastSeq(line: string): number
  /** Events to be left out when the line is restored. */
  skippedEvents(line: string): readonly SkippedEvent[]
  saveSnapshot(snapshot: LineSnapshot): void
  /** Newest snapshot that passes its checksum; older generations are tried in turn, and what failed is set aside and reported. */
  latestSnapshot(line: string): { readonly snapshot?: LineSnapshot; readonly damage: readonly StoreDamage[] }
  /** Removes journal entries no kept snapshot needs. */
  pruneJournal(line: string): void
  lines(): readonly string[]
  /** Keeps a deleted line's data aside under its id and the time; answers the name it has now. */
  archiveLine(line: string, atMs: number): string
  points(query: PointQuery): readonly PointBody[]
  /** Charts that have points. */
  series(line: string): readonly ChartSeries[]
  outputs(query: OutputQuery): readonly StoredOutput[]
  /**
   * Of every fact, by type and id, the version that was written last, in the order of writing: a corrected record holds
   * although its time may be earlier than that of the version before.
   *
   * @param newestOfType of each type only so many, those written last. @default all
   * @param whole types of which all are wanted all the same
   */
  currentFacts(line: string, newestOfType?: number, whole?: readonly string[]): readonly StoredOutput[]
  rejections(line: string): readonly RejectionCount[]
  /** Points and other kept outputs of all lines in the order they were written, at most `limit` of each, for copying elsewhere. */
  readHistory(after: HistoryCursor, limit: number): { readonly outputs: readonly StoredOutput[]; readonly cursor: HistoryCursor }
  /** Removes points and other outputs older than `beforeMs`, but not suggestions, baselines and facts; answers how many went. */
  pruneHistory(line: string, beforeMs: number): number
  /**
   * Goes through the kept suggestions and facts of a line in the order of writing and puts in the place of each what
   * `rewrite` makes of it; what it gives back as it was stays untouched.
   *
   * @param afterId 0 to begin, then what was answered as `next`
   * @param limit outputs looked at in this call
   * @returns how many were changed, and where to go on; without `next` all have been looked at
   */
  rewriteOutputs(line: string, afterId: number, limit: number, rewrite: (output: LineOutput) => LineOutput): { readonly rewritten: number; readonly next?: number }
  /** The same with the messages of a line that wait to leave, those from before `beforeMs` (clock time). */
  rewriteOutbox(line: string, beforeMs: number, rewrite: (payload: string) => string): number
  /**
   * Of a line that is archived: its newest snapshot becomes what `rewrite` makes of its body, and what lies before it, older
   * snapshots and journal, goes.
   *
   * @throws Error for a line that is not archived: it goes past what it was by itself
   */
  rewriteArchived(line: string, rewrite: (body: unknown) => unknown): void
  /** Lines that were archived, by the names they have now. */
  archivedLines(): readonly string[]
  /** The bodies of what was set aside before `beforeMs` (clock time) go; that it was, and why, stays. Answers how many. */
  dropSetAside(line: string, beforeMs: number): number
  /** Everything of this line (or, for '', of the file) that was set aside so far. */
  damage(line: string): readonly StoreDamage[]
  /** The oldest undelivered items, at most `limit`, of one lane or of all. */
  pendingOutbox(limit: number, lane?: { readonly destination: OutboxItem['destination']; readonly target: string }): readonly OutboxItem[]
  outboxLanes(): readonly OutboxLane[]
  /** Removes items that were delivered or given up. */
  markDelivered(ids: readonly string[]): void
  outboxCount(): number
  /** Small state of stand-alone nodes, keyed by the node; undefined where there is none. */
  readNodeState(key: string): unknown
  writeNodeState(key: string, body: unknown): void
  removeNodeState(key: string): void
  close(): void
}
