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
  readonly id: string
  readonly line: string
  readonly destination: 'mqtt' | 'webhook' | 'influx'
  /** Topic, URL or measurement. */
  readonly target: string
  readonly payload: string
  readonly retain: boolean
  readonly createdMs: number
}

/** One atomic write of a line. */
export interface LineCommit {
  readonly line: string
  /** Inputs to append to the journal; they get the next sequence numbers in order. */
  readonly inputs: readonly { readonly input: LineInput; readonly receivedMs: number }[]
  /** Outputs of events already in the journal. */
  readonly outputs: readonly StoredOutput[]
  /** All events up to this one have been stepped; their outputs are in this or an earlier commit. */
  readonly processedSeq: number
  readonly outbox: readonly OutboxItem[]
}

export interface LineSnapshot {
  readonly line: string
  /** The state holds every event up to this one. */
  readonly seq: number
  readonly body: unknown
}

/** Something in the store that could not be trusted and was set aside, never silently replaced. */
export interface StoreDamage {
  readonly line: string
  readonly what: 'snapshot' | 'journal'
  readonly seq: number
  readonly message: string
}

export interface PointQuery {
  readonly line: string
  readonly feature: string
  readonly chart?: string
  readonly fromMs?: number
  readonly toMs?: number
  /** Newest first are cut away beyond this number; answers are oldest first. */
  readonly limit?: number
}

export interface OutputQuery {
  readonly line?: string
  readonly kinds: readonly LineOutputKind[]
  readonly feature?: string
  readonly fromMs?: number
  readonly toMs?: number
  readonly limit?: number
}

/** Journal, snapshots, history and outbox of all lines of one data folder. Calls are synchronous and durable on return. */
export interface LineStore {
  /** Appends, commits with full synchronisation, and answers the sequence number of the last event in the journal. */
  commit(commit: LineCommit): { readonly lastSeq: number }
  /** Events after `afterSeq` in order, at most `limit`; a damaged batch ends the answer and is reported in `damage`. */
  readJournal(line: string, afterSeq: number, limit: number): { readonly events: readonly LineEvent[]; readonly damage?: StoreDamage }
  processedSeq(line: string): number
  saveSnapshot(snapshot: LineSnapshot): void
  /** Newest snapshot that passes its checksum; older generations are tried in turn, and what failed is reported. */
  latestSnapshot(line: string): { readonly snapshot?: LineSnapshot; readonly damage: readonly StoreDamage[] }
  /** Removes journal entries no kept snapshot needs. */
  pruneJournal(line: string): void
  lines(): readonly string[]
  /** Keeps a deleted line's data aside under its id and the time. */
  archiveLine(line: string, atMs: number): void
  points(query: PointQuery): readonly Extract<LineOutput, { kind: 'point' }>['body'][]
  outputs(query: OutputQuery): readonly StoredOutput[]
  /** The oldest undelivered items, at most `limit`. */
  pendingOutbox(limit: number): readonly OutboxItem[]
  markDelivered(ids: readonly string[]): void
  outboxCount(): number
  /** Small state of stand-alone nodes, keyed by the node. */
  readNodeState(key: string): unknown
  writeNodeState(key: string, body: unknown): void
  removeNodeState(key: string): void
  close(): void
}
