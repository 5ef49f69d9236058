import type { OutboxItem, OutboxLane } from '../../ports/line-store.js'
import type { CheckedDatabase, Row } from './checked-database.js'

const COLUMNS = 'id, line, destination, target, payload, retain, created_ms'

/** Messages that wait to leave, oldest first, one lane per destination and target. */
export class OutboxTable {
  readonly #database: CheckedDatabase

  constructor(database: CheckedDatabase) {
    this.#database = database
  }

  /** To be called inside a transaction. */
  append(item: OutboxItem): void {
    this.#database
      .statement(`INSERT OR IGNORE INTO outbox (${COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?)`)
      .run([item.id, item.line, item.destination, item.target, item.payload, item.retain ? 1 : 0, item.createdMs])
  }

  pending(limit: number, lane?: { readonly destination: string; readonly target: string }): readonly OutboxItem[] {
    const rows =
      lane === undefined
        ? this.#database.statement(`SELECT ${COLUMNS} FROM outbox ORDER BY number LIMIT ?`).all([limit])
        : this.#database.statement(`SELECT ${COLUMNS} FROM outbox WHERE destination = ? AND target = ? ORDER BY number LIMIT ?`).all([lane.destination, lane.target, limit])
    return rows.map(itemOf)
  }

  lanes(): readonly OutboxLane[] {
    return this.#database
      .statement('SELECT destination, target, count(*) FROM outbox GROUP BY destination, target ORDER BY min(number)')
      .all([])
      .map((row) => ({ destination: row[0] as OutboxItem['destination'], target: String(row[1]), count: Number(row[2]) }))
  }

  remove(ids: readonly string[]): void {
    this.#database.transaction(() => {
      for (const id of ids) this.#database.statement('DELETE FROM outbox WHERE id = ?').run([id])
    })
  }

  rewrite(line: string, beforeMs: number, rewrite: (payload: string) => string): number {
    return this.#database.transaction(() => {
      let count = 0
      for (const row of this.#database.statement('SELECT number, payload FROM outbox WHERE line = ? AND created_ms < ?').all([line, beforeMs])) {
        const payload = rewrite(String(row[1]))
        if (payload === row[1]) continue
        this.#database.statement('UPDATE outbox SET payload = ? WHERE number = ?').run([payload, Number(row[0])])
        count += 1
      }
      return count
    })
  }

  count(): number {
    return Number(this.#database.statement('SELECT count(*) FROM outbox').get([])?.[0])
  }
}

function itemOf(row: Row): OutboxItem {
  return {
    id: String(row[0]),
    line: String(row[1]),
    destination: row[2] as OutboxItem['destination'],
    target: String(row[3]),
    payload: String(row[4]),
    retain: row[5] === 1,
    createdMs: Number(row[6]),
  }
}
