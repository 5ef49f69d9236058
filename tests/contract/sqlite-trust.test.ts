import { once } from 'node:events'
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { CheckedDatabase } from '../../src/adapters/sqlite/checked-database.js'
import { openSqliteLineStore, STORE_FILE } from '../../src/adapters/sqlite/sqlite-line-store.js'
import type { LineOutput } from '../../src/monitor/line-output.js'
import type { LineStore, StoreDamage } from '../../src/ports/line-store.js'
import { bundleChildScript, endOf } from '../child-script.js'

const LINE = 'line-a'
let folder: string

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'sqlite-trust-'))
})

afterEach(() => rmSync(folder, { recursive: true, force: true }))

describe('values bound to statements', () => {
  it('are refused where the driver would end the process or store NULL, and stored exactly otherwise', async () => {
    const script = await bundleChildScript(fileURLToPath(new URL('children/bind-values.ts', import.meta.url)))
    const child = script.start([join(folder, 'bound.db')])
    const answer = once(child, 'message')
    const end = endOf(child)
    expect(await end).toMatchObject({ code: 0, signal: null, stderr: '' })
    script.remove()
    const { refused, stored } = (await answer)[0] as { refused: Record<string, string>; stored: unknown[] }
    expect(Object.keys(refused)).toHaveLength(17)
    for (const message of Object.values(refused)) expect(message).toMatch(/expected (null, a finite number|a text without|\d|one array)/)
    expect(stored).toEqual([
      [1, null, 'null'],
      [2, 1.5, 'real'],
      [3, 2 ** 40, 'integer'],
      [4, 'text \t é 😀', 'text'],
      [5, [0, 255], 'blob'],
      [6, -0.1, 'real'],
    ])
  })
})

describe('a data folder', () => {
  it('is for one process, and free again however that process ended', async () => {
    const script = await bundleChildScript(fileURLToPath(new URL('children/hold-folder.ts', import.meta.url)))
    const child = script.start([folder])
    await once(child, 'message')
    expect(() => openSqliteLineStore({ folder })).toThrow(`in use by another process (process ${child.pid})`)
    child.kill('SIGKILL')
    await endOf(child)
    script.remove()
    openSqliteLineStore({ folder }).close()
    expect(existsSync(join(folder, 'store.pid'))).toBe(false)
  })

  it('is for one store in the same process, too', () => {
    const store = openSqliteLineStore({ folder })
    expect(() => openSqliteLineStore({ folder })).toThrow('one process per folder')
    store.close()
    store.close()
    openSqliteLineStore({ folder }).close()
  })

  it('with a file of another version or no store at all is refused and left as it is', () => {
    const database = new CheckedDatabase(join(folder, STORE_FILE))
    database.execute('PRAGMA user_version = 99')
    database.close()
    expect(() => openSqliteLineStore({ folder })).toThrow('has version 99, this program reads version 2')
    writeFileSync(join(folder, STORE_FILE), 'this is no database, it is a text that someone put there'.repeat(40))
    expect(() => openSqliteLineStore({ folder })).toThrow('cannot be opened')
    expect(readFileSync(join(folder, STORE_FILE), 'utf8')).toContain('this is no database')
  })

  it('with a file of version 1 goes on from it: the newest version of each fact is found, and what is written next', () => {
    const fact = (id: string, timeMs: number): LineOutput => ({ kind: 'fact', body: { type: 'record', id, timeMs } as never })
    const commit = (store: LineStore, outputs: readonly LineOutput[]): void => {
      const { lastSeq } = store.commit({ line: LINE, inputs: [{ input: { kind: 'value', channel: 'pot.level', value: 1 }, receivedMs: 1 }], outputs: [], processedSeq: store.processedSeq(LINE), outbox: [] })
      store.commit({ line: LINE, inputs: [], outputs: outputs.map((output, ordinal) => ({ line: LINE, seq: lastSeq, ordinal, output })), processedSeq: lastSeq, outbox: [] })
    }
    const bodies = (store: LineStore): unknown[] => store.currentFacts(LINE).map(({ output }) => output.body)
    const before = openSqliteLineStore({ folder })
    commit(before, [fact('a', 9), fact('b', 5), fact('a', 3)])
    before.close()
    // As version 1 left it.
    const database = new CheckedDatabase(join(folder, STORE_FILE))
    // A row that nobody can read must not keep the rest from being read.
    database.execute("INSERT INTO output (line_id, seq, ordinal, kind, time_ms, body) VALUES (1, 900, 0, 'fact', 1, '{\"type\":'), (1, 900, 1, 'fact', 1, '{}')")
    database.execute('DROP TABLE current_fact; ALTER TABLE quarantine DROP COLUMN set_aside_ms; PRAGMA user_version = 1')
    database.close()
    const store = openSqliteLineStore({ folder })
    expect(bodies(store)).toEqual([{ type: 'record', id: 'b', timeMs: 5 }, { type: 'record', id: 'a', timeMs: 3 }])
    commit(store, [fact('b', 1)])
    expect(bodies(store)).toEqual([{ type: 'record', id: 'a', timeMs: 3 }, { type: 'record', id: 'b', timeMs: 1 }])
    store.close()
    openSqliteLineStore({ folder }).close()
  })

  it('lets go of the bytes that were set aside, not of what was said of them', () => {
    const store = openSqliteLineStore({ folder })
    store.commit({ line: LINE, inputs: [{ input: { kind: 'value', channel: 'pot.level', value: 'Robin' }, receivedMs: 1 }], outputs: [], processedSeq: 0, outbox: [] })
    store.close()
    const database = new CheckedDatabase(join(folder, STORE_FILE))
    database.execute("UPDATE journal SET checksum = x'00'")
    database.close()
    const opened = openSqliteLineStore({ folder })
    const { damage } = opened.readJournal(LINE, 0, 9)
    expect(damage?.what).toBe('journal')
    expect(opened.dropSetAside(LINE, 0)).toBe(0)
    expect(opened.dropSetAside(LINE, Number.MAX_SAFE_INTEGER)).toBe(1)
    expect(opened.damage(LINE)).toEqual([damage])
    opened.close()
    expect(readFileSync(join(folder, STORE_FILE), 'latin1')).not.toContain('Robin')
  })

  it('commits with full synchronisation and a write-ahead log', () => {
    const database = new CheckedDatabase(join(folder, 'x.db'))
    expect(database.statement('PRAGMA synchronous').get([])).toEqual([2])
    expect(database.statement('PRAGMA journal_mode').get([])).toEqual(['wal'])
    database.close()
  })

  it('that is full refuses a commit whole, and takes it when there is room again', () => {
    const small = openSqliteLineStore({ folder, bytesMax: 260_000 })
    let taken = 0
    expect(() => {
      for (; taken < 1_000; taken += 1) commitText(small, 'x'.repeat(3_000))
    }).toThrow('full')
    expect(taken).toBeGreaterThan(5)
    expect(small.lastSeq(LINE)).toBe(taken)
    small.close()
    const roomy = openSqliteLineStore({ folder })
    expect(commitText(roomy, 'again').lastSeq).toBe(taken + 1)
    roomy.close()
  })

  it('can be copied whole while it is in use', () => {
    const store = openSqliteLineStore({ folder })
    commitText(store, 'hello')
    const copyFolder = join(folder, 'copy')
    openSqliteLineStore({ folder: copyFolder }).close()
    rmSync(join(copyFolder, STORE_FILE))
    store.copyTo(join(copyFolder, STORE_FILE))
    expect(() => store.copyTo(join(copyFolder, STORE_FILE))).toThrow('exists already')
    store.close()
    const copy = openSqliteLineStore({ folder: copyFolder })
    expect(copy.readJournal(LINE, 0, 9).events).toMatchObject([{ payload: 'hello' }])
    copy.close()
  })
})

describe('a flipped byte', () => {
  it('in a journal batch is found, the batch set aside, and the rest goes on', () => {
    const store = openSqliteLineStore({ folder })
    for (const text of ['one', 'two-marker', 'three']) commitText(store, text)
    store.close()
    flipIn(STORE_FILE, 'two-marker')
    const damage: StoreDamage[] = []
    const again = openSqliteLineStore({ folder, onDamage: (found) => damage.push(found) })
    const first = again.readJournal(LINE, 0, 99)
    expect(first.events).toMatchObject([{ seq: 1, payload: 'one' }])
    expect(first.damage).toMatchObject({ line: LINE, what: 'journal', seq: 2 })
    expect(first.damage?.message).toContain('events 2 to 2 of the journal cannot be trusted (its checksum does not fit)')
    expect(damage).toEqual([first.damage])
    const second = again.readJournal(LINE, 1, 99)
    expect(second).toEqual({ events: [{ kind: 'message', topic: 't', payload: 'three', seq: 3, receivedMs: 1 }] })
    expect(again.damage(LINE)).toEqual(damage)
    again.close()
    expect(setAside()).toMatchObject([['journal', 2, 2, expect.stringContaining('wo-marker')]])
  })

  it('in a snapshot is found, and the older generation is given with the report', () => {
    const store = openSqliteLineStore({ folder })
    commitText(store, 'one')
    store.saveSnapshot({ line: LINE, seq: 0, body: { text: 'old-marker' } })
    store.saveSnapshot({ line: LINE, seq: 1, body: { text: 'new-marker' } })
    store.close()
    flipIn(STORE_FILE, 'new-marker')
    const again = openSqliteLineStore({ folder })
    const found = again.latestSnapshot(LINE)
    expect(found.snapshot).toEqual({ line: LINE, seq: 0, body: { text: 'old-marker' } })
    expect(found.damage).toMatchObject([{ what: 'snapshot', seq: 1 }])
    expect(again.latestSnapshot(LINE).damage).toEqual([])
    again.close()
    flipIn(STORE_FILE, 'old-marker')
    const third = openSqliteLineStore({ folder })
    expect(third.latestSnapshot(LINE)).toMatchObject({ damage: [{ what: 'snapshot', seq: 0 }] })
    expect(third.damage(LINE)).toHaveLength(2)
    third.close()
  })

  it('in the write-ahead log is found before the rest of the log is dropped', async () => {
    const log = `${STORE_FILE}-wal`
    await leaveLog()
    flipIn(log, 'two-marker')
    const damage: StoreDamage[] = []
    const again = openSqliteLineStore({ folder, onDamage: (found) => damage.push(found) })
    expect(damage).toMatchObject([{ line: '', what: 'file' }])
    expect(damage[0]?.message).toMatch(/frame \d+ of the write-ahead log fails its checksum/)
    expect(again.damage('')).toHaveLength(1)
    expect(again.readJournal(LINE, 0, 9).events).toMatchObject([{ payload: 'one' }])
    again.close()
    expect(readdirSync(folder)).toContain(`${log}.damaged-1`)
  })

  it('is not reported of a log that is sound', async () => {
    await leaveLog()
    const damage: StoreDamage[] = []
    const again = openSqliteLineStore({ folder, onDamage: (found) => damage.push(found) })
    expect(again.readJournal(LINE, 0, 9).events).toHaveLength(3)
    expect(damage).toEqual([])
    again.close()
  })
})

describe('a batch that is gone', () => {
  it('is reported once, and the journal goes on behind the gap', () => {
    const store = openSqliteLineStore({ folder })
    for (const text of ['one', 'two', 'three', 'four']) commitText(store, text)
    store.close()
    const database = new CheckedDatabase(join(folder, STORE_FILE))
    database.execute('DELETE FROM journal WHERE first_seq IN (2, 4)')
    database.close()
    const again = openSqliteLineStore({ folder })
    expect(again.readJournal(LINE, 0, 99)).toMatchObject({ events: [{ seq: 1 }], damage: { seq: 2, message: expect.stringContaining('events 2 to 2 are missing') } })
    expect(again.readJournal(LINE, 1, 99)).toMatchObject({ events: [{ seq: 3 }], damage: { seq: 4 } })
    expect(again.readJournal(LINE, 0, 99)).toMatchObject({ events: [{ seq: 1 }, { seq: 3 }] })
    expect(again.readJournal(LINE, 0, 99).damage).toBeUndefined()
    expect(commitText(again, 'five').lastSeq).toBe(5)
    again.close()
  })
})

function commitText(store: ReturnType<typeof openSqliteLineStore>, payload: string): { readonly lastSeq: number } {
  return store.commit({ line: LINE, inputs: [{ input: { kind: 'message', topic: 't', payload }, receivedMs: 1 }], outputs: [], processedSeq: 0, outbox: [] })
}

/** Leaves the folder as a process does that is killed with three commits still in its log. */
async function leaveLog(): Promise<void> {
  const script = await bundleChildScript(fileURLToPath(new URL('children/hold-folder.ts', import.meta.url)))
  const child = script.start([folder, 'one', 'two-marker', 'three'])
  await once(child, 'message')
  child.kill('SIGKILL')
  await endOf(child)
  script.remove()
}

function flipIn(name: string, marker: string): void {
  const file = join(folder, name)
  const bytes = readFileSync(file)
  const at = bytes.indexOf(marker)
  expect(at).toBeGreaterThan(0)
  for (let next = at; next >= 0; next = bytes.indexOf(marker, next + 1)) bytes[next] = (bytes[next] as number) ^ 1
  writeFileSync(file, bytes)
}

function setAside(): unknown[] {
  const database = new CheckedDatabase(join(folder, STORE_FILE))
  const rows = database.statement('SELECT what, first_seq, last_seq, CAST(body AS TEXT) FROM quarantine ORDER BY id').all([])
  database.close()
  return [...rows]
}
