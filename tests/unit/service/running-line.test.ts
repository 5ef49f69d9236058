import { afterEach, describe, expect, it } from 'vitest'
import { openMemoryLineStore } from '../../../src/adapters/memory/memory-line-store.js'
import { RunningLine } from '../../../src/service/running-line.js'
import { define, START_MS } from '../monitor/monitor-bench.js'

let line: RunningLine | undefined

afterEach(() => line?.close())

function open(): RunningLine {
  line = new RunningLine({ definition: define(), stages: undefined, store: openMemoryLineStore(), clock: { nowMs: () => START_MS }, mqtt: false, log: () => undefined })
  return line
}

describe('who enters something', () => {
  it('is not told that it was taken where it could not be stepped', async () => {
    expect(await open().enter({ type: 'change', id: 'e-1', timeMs: START_MS, change: 'other', text: 'a\u0000b' })).toMatchObject({ kind: 'refused', message: expect.stringContaining('zero character') })
  })

  it('hears of this entry, not of an earlier one under the same id', async () => {
    const running = open()
    const grant = { type: 'stop', id: 'e-1', timeMs: START_MS, action: 'grant', stop: 'stop-1' } as const
    expect((await running.enter(grant)).kind).toBe('refused')
    expect((await running.enter({ type: 'stop', id: 'e-2', timeMs: START_MS, action: 'ask', stop: 'stop-1' })).kind).toBe('taken')
    expect((await running.enter(grant)).kind).toBe('taken')
  })
})
