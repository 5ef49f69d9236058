import { copyFileSync, existsSync, readdirSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import type { LineEvent } from '../../monitor/line-event.js'
import type { LineOutput } from '../../monitor/line-output.js'
import type { ChartSeries, HistoryCursor, LineCommit, LineSnapshot, LineStore, OutboxItem, OutboxLane, OutputQuery, PointBody, PointQuery, RejectionCount, SkippedEvent, StoredOutput, StoreDamage } from '../../ports/line-store.js'
import { CheckedDatabase } from './checked-database.js'
import { lockFolder } from './folder-lock.js'
import { HistoryTable } from './history-table.js'
import { JournalTable, type LineRow } from './journal-table.js'
import { checkLog } from './log-check.js'
import { OutboxTable } from './outbox-table.js'
import { prepareSchema } from './schema.js'

export const STORE_FILE = 'store.db'
const PAGE_BYTES = 4096
/** What concerns the whole file is filed under this. */
const WHOLE_FILE: LineRow = { id: 0, name: '' }

export interface SqliteLineStoreOptions {
  /** Data folder, made where it is missing; one process per folder. */
  readonly folder: string
  /** Told of everything that cannot be trusted and was set aside. */
  readonly onDamage?: (damage: StoreDamage) => void
  /** Largest size of the file, bytes; a commit beyond it fails as on a full disk. */
  readonly bytesMax?: number
}

/**
 * Opens the store of a data folder: one SQLite file for all its lines, durable on return of each call.
 *
 * @throws Error if the folder is in use by another process, or the file is no store this program can read
 */
export function openSqliteLineStore(options: SqliteLineStoreOptions): SqliteLineStore {
  const unlock = lockFolder(options.folder)
  try {
    const file = join(options.folder, STORE_FILE)
    const logFinding = setLogAside(options.folder)
    const database = new CheckedDatabase(file)
    prepareSchema(database, file)
    if (options.bytesMax !== undefined) database.execute(`PRAGMA max_page_count = ${Math.max(1, Math.floor(options.bytesMax / PAGE_BYTES))}`)
    const store = new SqliteLineStore(database, unlock, options.onDamage ?? (() => undefined))
    if (logFinding !== undefined) store.reportFile(logFinding)
    return store
  } catch (error) {
    unlock()
    throw error
  }
}

/** Copies a log that cannot be trusted aside, since opening the file would drop the rest of it. */
function setLogAside(folder: string): string | undefined {
  const log = join(folder, `${STORE_FILE}-wal`)
  const finding = checkLog(log)
  if (finding === undefined) return undefined
  const count = readdirSync(folder).filter((name) => name.startsWith(`${STORE_FILE}-wal.damaged-`)).length
  const copy = `${log}.damaged-${count + 1}`
  copyFileSync(log, copy)
  return `${finding}; the log was set aside as ${copy}`
}

/** Journal, snapshots, history and outbox of the lines of one data folder, in SQLite. */
export class SqliteLineStore implements LineStore {
  readonly #database: CheckedDatabase
  readonly #unlock: () => void
  readonly #journal: JournalTable
  readonly #history: HistoryTable
  readonly #outbox: OutboxTable
  readonly #lines = new Map<string, LineRow>()
  #closed = false

  constructor(database: CheckedDatabase, unlock: () => void, onDamage: (damage: StoreDamage) => void) {
    this.#database = database
    this.#unlock = unlock
    this.#journal = new JournalTable(database, onDamage)
    this.#history = new HistoryTable(database)
    this.#outbox = new OutboxTable(database)
  }

  commit(commit: LineCommit): { readonly lastSeq: number } {
    return this.commitAll([commit])[0] as { readonly lastSeq: number }
  }

  commitAll(commits: readonly LineCommit[]): readonly { readonly lastSeq: number }[] {
    const lines = new Set(commits.map((commit) => commit.line))
    if (lines.size !== commits.length) throw new Error(`a line is twice in one commit: ${commits.map((commit) => commit.line).join(', ')}`)
    try {
      return this.#database.transaction(() => commits.map((commit) => this.#write(commit)))
    } catch (error) {
      // What was learned inside the transaction is not in the file.
      this.#history.forgetIds()
      this.#lines.clear()
      throw error
    }
  }

  readJournal(line: string, afterSeq: number, limit: number): { readonly events: readonly LineEvent[]; readonly damage?: StoreDamage } {
    const found = this.#find(line)
    return found === undefined ? { events: [] } : this.#journal.read(found, afterSeq, limit)
  }

  processedSeq(line: string): number {
    const found = this.#find(line)
    return found === undefined ? 0 : this.#journal.position(found.id).processedSeq
  }

  lastSeq(line: string): number {
    const found = this.#find(line)
    return found === undefined ? 0 : this.#journal.position(found.id).lastSeq
  }

  skippedEvents(line: string): readonly SkippedEvent[] {
    const found = this.#find(line)
    return found === undefined ? [] : this.#journal.skipped(found.id)
  }

  saveSnapshot(snapshot: LineSnapshot): void {
    this.#journal.saveSnapshot(this.#findOrAdd(snapshot.line), snapshot)
  }

  latestSnapshot(line: string): { readonly snapshot?: LineSnapshot; readonly damage: readonly StoreDamage[] } {
    const found = this.#find(line)
    return found === undefined ? { damage: [] } : this.#journal.latestSnapshot(found)
  }

  pruneJournal(line: string): void {
    const found = this.#find(line)
    if (found !== undefined) this.#journal.prune(found)
  }

  lines(): readonly string[] {
    return this.#activeLines().map((line) => line.name)
  }

  archiveLine(line: string, atMs: number): string {
    const found = this.#find(line)
    if (found === undefined) throw new Error(`line "${line}" is not in the store, so it cannot be archived`)
    const name = `${line}@${new Date(atMs).toISOString()}`
    this.#database.statement('UPDATE line SET name = ?, archived_ms = ? WHERE id = ?').run([name, atMs, found.id])
    this.#lines.clear()
    return name
  }

  points(query: PointQuery): readonly PointBody[] {
    const found = this.#find(query.line)
    return found === undefined ? [] : this.#history.points(found, query)
  }

  series(line: string): readonly ChartSeries[] {
    const found = this.#find(line)
    return found === undefined ? [] : this.#history.series(found.id)
  }

  outputs(query: OutputQuery): readonly StoredOutput[] {
    if (query.line === undefined) return this.#history.outputs(this.#activeLines(), query)
    const found = this.#find(query.line)
    return this.#history.outputs(found === undefined ? [] : [found], query)
  }

  currentFacts(line: string, newestOfType = -1, whole: readonly string[] = []): readonly StoredOutput[] {
    const found = this.#find(line)
    return found === undefined ? [] : this.#history.currentFacts(found, newestOfType, whole)
  }

  rejections(line: string): readonly RejectionCount[] {
    const found = this.#find(line)
    return found === undefined ? [] : this.#history.rejections(found.id)
  }

  readHistory(after: HistoryCursor, limit: number): { readonly outputs: readonly StoredOutput[]; readonly cursor: HistoryCursor } {
    const points = this.#history.pointsAfter(after.point, limit)
    const others = this.#history.outputsAfter(after.output, limit)
    return { outputs: [...points.outputs, ...others.outputs], cursor: { point: points.lastId, output: others.lastId } }
  }

  pruneHistory(line: string, beforeMs: number): number {
    const found = this.#find(line)
    if (found === undefined) return 0
    return this.#database.transaction(() => this.#history.prune(found.id, beforeMs))
  }

  rewriteOutputs(line: string, afterId: number, limit: number, rewrite: (output: LineOutput) => LineOutput): { readonly rewritten: number; readonly next?: number } {
    const found = this.#find(line)
    return found === undefined ? { rewritten: 0 } : this.#erasing(() => this.#database.transaction(() => this.#history.rewrite(found, afterId, limit, rewrite)), ({ rewritten }) => rewritten > 0)
  }

  rewriteOutbox(line: string, beforeMs: number, rewrite: (payload: string) => string): number {
    return this.#erasing(() => this.#outbox.rewrite(line, beforeMs, rewrite), (count) => count > 0)
  }

  rewriteArchived(line: string, rewrite: (body: unknown) => unknown): void {
    const found = this.archivedLines().includes(line) ? this.#find(line) : undefined
    if (found === undefined) throw new Error(`line "${line}" is not archived`)
    this.#erasing(() => this.#database.transaction(() => this.#journal.rewriteNewest(found, rewrite)), () => true)
  }

  archivedLines(): readonly string[] {
    return this.#database.statement('SELECT name FROM line WHERE archived_ms IS NOT NULL ORDER BY name').all([]).map((row) => String(row[0]))
  }

  dropSetAside(line: string, beforeMs: number): number {
    const found = line === '' ? WHOLE_FILE : this.#find(line)
    return found === undefined ? 0 : this.#erasing(() => this.#journal.dropSetAside(found.id, beforeMs), (count) => count > 0)
  }

  damage(line: string): readonly StoreDamage[] {
    const found = line === '' ? WHOLE_FILE : this.#find(line)
    return found === undefined ? [] : this.#journal.damage(found)
  }

  pendingOutbox(limit: number, lane?: { readonly destination: OutboxItem['destination']; readonly target: string }): readonly OutboxItem[] {
    return this.#outbox.pending(limit, lane)
  }

  outboxLanes(): readonly OutboxLane[] {
    return this.#outbox.lanes()
  }

  markDelivered(ids: readonly string[]): void {
    this.#outbox.remove(ids)
  }

  outboxCount(): number {
    return this.#outbox.count()
  }

  readNodeState(key: string): unknown {
    const row = this.#database.statement('SELECT body FROM node_state WHERE key = ?').get([key])
    return row === undefined ? undefined : (JSON.parse(String(row[0])) as unknown)
  }

  writeNodeState(key: string, body: unknown): void {
    this.#database.statement('INSERT OR REPLACE INTO node_state (key, body) VALUES (?, ?)').run([key, JSON.stringify(body)])
  }

  removeNodeState(key: string): void {
    this.#database.statement('DELETE FROM node_state WHERE key = ?').run([key])
  }

  /** Files a finding that concerns the whole file. */
  reportFile(message: string): void {
    this.#journal.report(WHOLE_FILE, 'file', message)
  }

  /**
   * Writes a complete copy of the store beside the running service.
   *
   * @param file path of the copy; a file that is there already is not overwritten
   * @throws Error if the file exists or cannot be written
   */
  copyTo(file: string): void {
    if (existsSync(file)) throw new Error(`the copy ${file} exists already; choose another name`)
    try {
      this.#database.statement('VACUUM INTO ?').run([file])
    } catch (error) {
      rmSync(file, { force: true })
      throw error
    }
  }

  close(): void {
    if (this.#closed) return
    this.#closed = true
    this.#database.close()
    this.#unlock()
  }

  /** What was replaced must not stay readable in the log either. */
  #erasing<T>(work: () => T, hasChanged: (result: T) => boolean): T {
    const result = work()
    if (hasChanged(result)) this.#database.execute('PRAGMA wal_checkpoint(TRUNCATE)')
    return result
  }

  #write(commit: LineCommit): { readonly lastSeq: number } {
    const line = this.#findOrAdd(commit.line)
    const position = this.#journal.position(line.id)
    for (const stored of commit.outputs) {
      if (stored.line !== commit.line) throw new Error(`commit of line "${commit.line}" holds an output of line "${stored.line}"`)
      if (stored.seq > position.lastSeq) throw new Error(`commit of line "${commit.line}": output of event ${stored.seq}, which is not in the journal (last event ${position.lastSeq})`)
      // Everything up to the processed event is here already, so this is a repeat after a restart.
      if (stored.seq > position.processedSeq) this.#history.append(line.id, stored)
    }
    const lastSeq = this.#journal.append(line, position, commit)
    for (const item of commit.outbox) this.#outbox.append(item)
    return { lastSeq }
  }

  #find(name: string): LineRow | undefined {
    let line = this.#lines.get(name)
    if (line === undefined) {
      const row = this.#database.statement('SELECT id FROM line WHERE name = ?').get([name])
      if (row === undefined) return undefined
      line = { id: Number(row[0]), name }
      this.#lines.set(name, line)
    }
    return line
  }

  #findOrAdd(name: string): LineRow {
    const found = this.#find(name)
    if (found !== undefined) return found
    if (name === '') throw new Error('a line needs an id, found an empty text')
    this.#database.statement('INSERT INTO line (name) VALUES (?)').run([name])
    return this.#find(name) as LineRow
  }

  #activeLines(): readonly LineRow[] {
    return this.#database
      .statement('SELECT id, name FROM line WHERE archived_ms IS NULL ORDER BY name')
      .all([])
      .map((row) => ({ id: Number(row[0]), name: String(row[1]) }))
  }
}
