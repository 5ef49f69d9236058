import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { openSqliteLineStore, STORE_FILE } from '../../src/adapters/sqlite/sqlite-line-store.js'
import { lineDefinitionSchema } from '../../src/line/line-definition.js'
import type { LineStore, StoredOutput } from '../../src/ports/line-store.js'
import { LineRuntime } from '../../src/runtime/line-runtime.js'
import { createChainMonitor } from '../e2e/chain-monitor.js'

let folder: string

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'damaged-line-'))
})

afterEach(() => rmSync(folder, { recursive: true, force: true }))

function openLine(store: LineStore, line = 'line-a'): LineRuntime {
  return LineRuntime.open({ line, definition: lineDefinitionSchema.parse({ line }), store, clock: { nowMs: () => 5 }, createMonitor: createChainMonitor, batchMs: 1 })
}

async function take(runtime: LineRuntime, texts: readonly string[]): Promise<void> {
  for (const [index, text] of texts.entries()) await runtime.submit({ kind: 'value', channel: 'pot.level', value: text }, 10 + index)
}

function notes(store: LineStore, line = 'line-a'): { readonly seq: number; readonly value: unknown; readonly hash: unknown }[] {
  const outputs: readonly StoredOutput[] = store.outputs({ line, kinds: ['note'] })
  return outputs
    .map(({ seq, output }) => ({ seq, value: output.kind === 'note' ? output.body.values['value'] : '', hash: output.kind === 'note' ? output.body.values['hash'] : '' }))
    .sort((a, b) => a.seq - b.seq)
}

/** Changes one byte of what the marker stands in, wherever it stands. */
function flip(marker: string): void {
  const file = join(folder, STORE_FILE)
  const bytes = readFileSync(file)
  expect(bytes.indexOf(marker)).toBeGreaterThan(0)
  for (let at = bytes.indexOf(marker); at >= 0; at = bytes.indexOf(marker, at + 1)) bytes[at] = (bytes[at] as number) ^ 2
  writeFileSync(file, bytes)
}

describe('a line whose newest snapshot was damaged', () => {
  it('goes on from the older one and the journal exactly as if nothing had been, and says so', async () => {
    const store = openSqliteLineStore({ folder })
    const runtime = openLine(store)
    await take(runtime, ['one', 'two'])
    runtime.snapshotNow()
    await take(runtime, ['three', 'four', 'five'])
    await runtime.close()
    const before = notes(store)
    store.close()
    flip('"hash":' + String(before.at(-1)?.hash) + ',"count"')

    const again = openSqliteLineStore({ folder })
    const restored = openLine(again)
    expect(restored.status().damage).toMatchObject([{ line: 'line-a', what: 'snapshot', seq: 6 }])
    await take(restored, ['six'])
    await restored.close()
    expect(again.damage('line-a')).toHaveLength(1)
    const after = notes(again)
    expect(after.slice(0, -1)).toEqual(before)
    expect(after.at(-1)).toMatchObject({ seq: 7, value: 'six', hash: uninterrupted(['stages', 'one', 'two', 'three', 'four', 'five', 'six']) })
    again.close()
  })
})

describe('a line whose journal was damaged where it is needed', () => {
  it('goes on without those events and says which, while the other line is as it was', async () => {
    const store = openSqliteLineStore({ folder })
    const runtime = openLine(store)
    await take(runtime, ['one'])
    await runtime.close()
    // Events that are in the journal and in no snapshot, as a crash leaves them.
    for (const text of ['two-marker', 'three']) {
      store.commit({ line: 'line-a', inputs: [{ input: { kind: 'value', channel: 'pot.level', value: text }, receivedMs: 20 }], outputs: [], processedSeq: 0, outbox: [] })
    }
    const other = openLine(store, 'line-b')
    await take(other, ['one', 'two'])
    await other.close()
    store.close()
    flip('two-marker')

    const again = openSqliteLineStore({ folder })
    const restored = openLine(again)
    const untouched = openLine(again, 'line-b')
    expect(restored.status().damage).toMatchObject([{ what: 'journal', seq: 3, message: expect.stringContaining('set aside') }])
    expect(untouched.status().damage).toEqual([])
    await take(restored, ['four'])
    await take(untouched, ['three'])
    await restored.close()
    await untouched.close()
    expect(notes(again).map((note) => note.value)).toEqual(['stages', 'one', 'three', 'four'])
    expect(notes(again).at(-1)).toMatchObject({ seq: 5, hash: uninterrupted(['stages', 'one', 'three', 'four']) })
    expect(notes(again, 'line-b').at(-1)).toMatchObject({ seq: 4, hash: uninterrupted(['stages', 'one', 'two', 'three']) })

    // And the same again from the snapshot that was taken since.
    const third = openLine(again)
    expect(third.status().damage).toEqual([])
    await third.close()
    again.close()
  })

  it('begins anew from what is left when no snapshot can be trusted', async () => {
    const store = openSqliteLineStore({ folder })
    const runtime = openLine(store)
    await take(runtime, ['one'])
    await runtime.close()
    store.close()
    flip('"format":1,"definition"')
    const again = openSqliteLineStore({ folder })
    const restored = openLine(again)
    expect(restored.status().damage.map((damage) => damage.what)).toEqual(['snapshot', 'snapshot'])
    await take(restored, ['two'])
    await restored.close()
    expect(notes(again).at(-1)).toMatchObject({ seq: 3, hash: uninterrupted(['stages', 'one', 'two']) })
    again.close()
  })
})

function uninterrupted(values: readonly string[]): number {
  const monitor = createChainMonitor(lineDefinitionSchema.parse({ line: 'line-a' }))
  for (const [index, value] of values.entries()) {
    const input = value === 'stages' ? ({ kind: 'stages', stages: [] } as const) : ({ kind: 'value', channel: 'pot.level', value } as const)
    monitor.step({ ...input, seq: index + 1, receivedMs: 1 }, () => undefined)
  }
  return (monitor.snapshot() as { readonly hash: number }).hash
}
