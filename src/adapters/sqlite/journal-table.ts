import type { LineEvent, LineInput } from '../../monitor/line-event.js'
import type { LineCommit, LineSnapshot, SkippedEvent, StoreDamage } from '../../ports/line-store.js'
import type { CheckedDatabase, Row } from './checked-database.js'
import { bodyChecksum } from './checksum.js'

const SNAPSHOT_GENERATIONS = 2

/** A line as the tables know it. */
export interface LineRow {
  readonly id: number
  readonly name: string
}

/** Where a line stands. */
export interface LinePosition {
  readonly lastSeq: number
  readonly processedSeq: number
  readonly prunedSeq: number
}

/** Journal, snapshots and what was set aside of them. Each batch and each snapshot carries its own checksum. */
export class JournalTable {
  readonly #database: CheckedDatabase
  readonly #onDamage: (damage: StoreDamage) => void

  constructor(database: CheckedDatabase, onDamage: (damage: StoreDamage) => void) {
    this.#database = database
    this.#onDamage = onDamage
  }

  position(lineId: number): LinePosition {
    const row = this.#database.statement('SELECT last_seq, processed_seq, pruned_seq FROM line WHERE id = ?').get([lineId])
    if (row === undefined) throw new Error(`line ${lineId} is not in the store`)
    return { lastSeq: Number(row[0]), processedSeq: Number(row[1]), prunedSeq: Number(row[2]) }
  }

  /** To be called inside a transaction. */
  append(line: LineRow, position: LinePosition, commit: LineCommit): number {
    const lastSeq = position.lastSeq + commit.inputs.length
    if (commit.processedSeq > lastSeq) {
      throw new Error(`commit of line "${line.name}": processedSeq ${commit.processedSeq} is beyond the last event ${lastSeq}`)
    }
    if (commit.inputs.length > 0) {
      const firstSeq = position.lastSeq + 1
      const body = Buffer.from(JSON.stringify(commit.inputs.map((entry) => [entry.receivedMs, entry.input])), 'utf8')
      this.#database
        .statement('INSERT INTO journal (line_id, first_seq, last_seq, body, checksum) VALUES (?, ?, ?, ?, ?)')
        .run([line.id, firstSeq, lastSeq, body, bodyChecksum(batchPlace(line.id, firstSeq, lastSeq), body)])
    }
    for (const skipped of commit.skipped ?? []) {
      this.#database.statement('INSERT OR IGNORE INTO skipped (line_id, seq, message) VALUES (?, ?, ?)').run([line.id, skipped.seq, skipped.message])
    }
    this.#database
      .statement('UPDATE line SET last_seq = ?, processed_seq = ? WHERE id = ?')
      .run([lastSeq, Math.max(position.processedSeq, commit.processedSeq), line.id])
    return lastSeq
  }

  read(line: LineRow, afterSeq: number, limit: number): { readonly events: readonly LineEvent[]; readonly damage?: StoreDamage } {
    const position = this.position(line.id)
    const events: LineEvent[] = []
    let nextSeq = Math.max(afterSeq, position.prunedSeq) + 1
    while (events.length < limit && nextSeq <= position.lastSeq) {
      const row = this.#database
        .statement('SELECT first_seq, last_seq, body, checksum FROM journal WHERE line_id = ? AND last_seq >= ? ORDER BY first_seq LIMIT 1')
        .get([line.id, nextSeq])
      const firstSeq = row === undefined ? position.lastSeq + 1 : Number(row[0])
      if (firstSeq > nextSeq) {
        const knownUntil = this.#setAsideUntil(line.id, nextSeq)
        if (knownUntil === undefined) return { events, damage: this.#reportMissing(line, nextSeq, firstSeq - 1) }
        nextSeq = knownUntil + 1
        continue
      }
      if (row === undefined) break
      const batch = readBatch(line.id, row)
      if (typeof batch === 'string') return { events, damage: this.#setAsideBatch(line, row, batch) }
      for (let index = nextSeq - firstSeq; index < batch.length && events.length < limit; index += 1) {
        const [receivedMs, input] = batch[index] as [number, LineInput]
        events.push({ ...input, seq: firstSeq + index, receivedMs })
      }
      nextSeq = Number(row[1]) + 1
    }
    return { events }
  }

  skipped(lineId: number): readonly SkippedEvent[] {
    return this.#database
      .statement('SELECT seq, message FROM skipped WHERE line_id = ? ORDER BY seq')
      .all([lineId])
      .map((row) => ({ seq: Number(row[0]), message: String(row[1]) }))
  }

  saveSnapshot(line: LineRow, snapshot: LineSnapshot): void {
    const body = Buffer.from(JSON.stringify(snapshot.body), 'utf8')
    this.#database.transaction(() => {
      this.#database
        .statement('INSERT OR REPLACE INTO snapshot (line_id, seq, body, checksum) VALUES (?, ?, ?, ?)')
        .run([line.id, snapshot.seq, body, bodyChecksum(snapshotPlace(line.id, snapshot.seq), body)])
      this.#database
        .statement(`DELETE FROM snapshot WHERE line_id = ? AND seq NOT IN (SELECT seq FROM snapshot WHERE line_id = ? ORDER BY seq DESC LIMIT ${SNAPSHOT_GENERATIONS})`)
        .run([line.id, line.id])
    })
  }

  latestSnapshot(line: LineRow): { readonly snapshot?: LineSnapshot; readonly damage: readonly StoreDamage[] } {
    const damage: StoreDamage[] = []
    const rows = this.#database.statement('SELECT seq, body, checksum FROM snapshot WHERE line_id = ? ORDER BY seq DESC').all([line.id])
    for (const row of rows) {
      const seq = Number(row[0])
      const found = readBody(snapshotPlace(line.id, seq), row[1], row[2])
      if (found.kind === 'body') return { snapshot: { line: line.name, seq, body: found.body }, damage }
      damage.push(this.#setAsideSnapshot(line, row, found.message))
    }
    return { damage }
  }

  /** Removes what lies before the oldest kept snapshot; with fewer than two generations nothing goes. */
  prune(line: LineRow): void {
    const rows = this.#database.statement('SELECT seq FROM snapshot WHERE line_id = ? ORDER BY seq').all([line.id])
    if (rows.length < SNAPSHOT_GENERATIONS) return
    const oldestSeq = Number(rows[0]?.[0])
    this.#database.transaction(() => {
      const last = this.#database.statement('SELECT max(last_seq) FROM journal WHERE line_id = ? AND last_seq <= ?').get([line.id, oldestSeq])
      if (typeof last?.[0] !== 'number') return
      this.#database.statement('DELETE FROM journal WHERE line_id = ? AND last_seq <= ?').run([line.id, oldestSeq])
      this.#database.statement('DELETE FROM skipped WHERE line_id = ? AND seq <= ?').run([line.id, oldestSeq])
      this.#database.statement('UPDATE line SET pruned_seq = max(pruned_seq, ?) WHERE id = ?').run([last[0], line.id])
    })
  }

  damage(line: LineRow): readonly StoreDamage[] {
    return this.#database
      .statement('SELECT what, first_seq, message FROM quarantine WHERE line_id = ? ORDER BY id')
      .all([line.id])
      .map((row) => ({ line: line.name, what: String(row[0]) as StoreDamage['what'], seq: Number(row[1]), message: String(row[2]) }))
  }

  /** What was set aside before a time loses its bytes; of what an earlier version set aside the time is not known. */
  dropSetAside(lineId: number, beforeMs: number): number {
    return this.#database.statement('UPDATE quarantine SET body = NULL, checksum = NULL WHERE line_id = ? AND body IS NOT NULL AND coalesce(set_aside_ms, 0) < ?').run([lineId, beforeMs]).changes
  }

  /** To be called inside a transaction: the newest snapshot gets another body, what lies before it goes. */
  rewriteNewest(line: LineRow, rewrite: (body: unknown) => unknown): void {
    const { snapshot } = this.latestSnapshot(line)
    if (snapshot === undefined) return
    const { seq } = snapshot
    const body = Buffer.from(JSON.stringify(rewrite(snapshot.body)), 'utf8')
    this.#database.statement('DELETE FROM snapshot WHERE line_id = ?').run([line.id])
    this.#database.statement('INSERT INTO snapshot (line_id, seq, body, checksum) VALUES (?, ?, ?, ?)').run([line.id, seq, body, bodyChecksum(snapshotPlace(line.id, seq), body)])
    const last = this.#database.statement('SELECT max(last_seq) FROM journal WHERE line_id = ? AND last_seq <= ?').get([line.id, seq])
    if (typeof last?.[0] !== 'number') return
    this.#database.statement('DELETE FROM journal WHERE line_id = ? AND last_seq <= ?').run([line.id, seq])
    this.#database.statement('UPDATE line SET pruned_seq = max(pruned_seq, ?) WHERE id = ?').run([last[0], line.id])
  }

  /** Files a finding that has no row of its own. */
  report(line: LineRow, what: StoreDamage['what'], message: string): void {
    this.#quarantine(line, what, 0, 0, message, null, null)
    this.#tell({ line: line.name, what, seq: 0, message })
  }

  /** Last event of the stretch known to be set aside that holds `seq`. */
  #setAsideUntil(lineId: number, seq: number): number | undefined {
    const row = this.#database
      .statement("SELECT max(last_seq) FROM quarantine WHERE line_id = ? AND what = 'journal' AND first_seq <= ? AND last_seq >= ?")
      .get([lineId, seq, seq])
    return typeof row?.[0] === 'number' ? row[0] : undefined
  }

  #reportMissing(line: LineRow, firstSeq: number, lastSeq: number): StoreDamage {
    const message = `events ${firstSeq} to ${lastSeq} are missing from the journal; the line goes on without them`
    this.#quarantine(line, 'journal', firstSeq, lastSeq, message, null, null)
    return this.#tell({ line: line.name, what: 'journal', seq: firstSeq, message })
  }

  #setAsideBatch(line: LineRow, row: Row, reason: string): StoreDamage {
    const firstSeq = Number(row[0])
    const lastSeq = Number(row[1])
    const message = `events ${firstSeq} to ${lastSeq} of the journal cannot be trusted (${reason}); they are set aside and the line goes on without them`
    this.#database.transaction(() => {
      this.#quarantine(line, 'journal', firstSeq, lastSeq, message, asBuffer(row[2]), asBuffer(row[3]))
      this.#database.statement('DELETE FROM journal WHERE line_id = ? AND first_seq = ?').run([line.id, firstSeq])
    })
    return this.#tell({ line: line.name, what: 'journal', seq: firstSeq, message })
  }

  #setAsideSnapshot(line: LineRow, row: Row, reason: string): StoreDamage {
    const seq = Number(row[0])
    const message = `the snapshot at event ${seq} cannot be trusted (${reason}); it is set aside and an older one is tried`
    this.#database.transaction(() => {
      this.#quarantine(line, 'snapshot', seq, seq, message, asBuffer(row[1]), asBuffer(row[2]))
      this.#database.statement('DELETE FROM snapshot WHERE line_id = ? AND seq = ?').run([line.id, seq])
    })
    return this.#tell({ line: line.name, what: 'snapshot', seq, message })
  }

  #quarantine(line: LineRow, what: StoreDamage['what'], firstSeq: number, lastSeq: number, message: string, body: Buffer | null, checksum: Buffer | null): void {
    this.#database
      .statement('INSERT INTO quarantine (line_id, what, first_seq, last_seq, message, body, checksum, set_aside_ms) VALUES (?, ?, ?, ?, ?, ?, ?, ?)')
      .run([line.id, what, firstSeq, lastSeq, message, body, checksum, Date.now()])
  }

  #tell(damage: StoreDamage): StoreDamage {
    this.#onDamage(damage)
    return damage
  }
}

function readBatch(lineId: number, row: Row): readonly (readonly [number, LineInput])[] | string {
  const firstSeq = Number(row[0])
  const lastSeq = Number(row[1])
  const found = readBody(batchPlace(lineId, firstSeq, lastSeq), row[2], row[3])
  if (found.kind === 'damaged') return found.message
  const entries = found.body as readonly (readonly [number, LineInput])[]
  if (!Array.isArray(entries) || entries.length !== lastSeq - firstSeq + 1) return `expected ${lastSeq - firstSeq + 1} events`
  return entries
}

function readBody(place: string, body: unknown, checksum: unknown): { readonly kind: 'body'; readonly body: unknown } | { readonly kind: 'damaged'; readonly message: string } {
  const bytes = asBuffer(body)
  const expected = asBuffer(checksum)
  if (bytes === null || expected === null) return { kind: 'damaged', message: 'the body is not stored as bytes' }
  if (!bodyChecksum(place, bytes).equals(expected)) return { kind: 'damaged', message: 'its checksum does not fit' }
  try {
    return { kind: 'body', body: JSON.parse(bytes.toString('utf8')) as unknown }
  } catch (error) {
    return { kind: 'damaged', message: `it cannot be read: ${error instanceof Error ? error.message : String(error)}` }
  }
}

/** Bytes of a column; a flipped type byte can make any type of it. */
function asBuffer(value: unknown): Buffer | null {
  if (Buffer.isBuffer(value)) return value
  if (value instanceof ArrayBuffer) return Buffer.from(value)
  if (typeof value === 'string') return Buffer.from(value, 'utf8')
  return null
}

function batchPlace(lineId: number, firstSeq: number, lastSeq: number): string {
  return `journal ${lineId} ${firstSeq} ${lastSeq}`
}

function snapshotPlace(lineId: number, seq: number): string {
  return `snapshot ${lineId} ${seq}`
}
