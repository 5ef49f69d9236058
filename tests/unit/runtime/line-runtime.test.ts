import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { openMemoryLineStore } from '../../../src/adapters/memory/memory-line-store.js'
import { lineDefinitionSchema, type LineDefinition } from '../../../src/line/line-definition.js'
import type { LineInput } from '../../../src/monitor/line-event.js'
import { createLineMonitor } from '../../../src/monitor/line-monitor.js'
import type { LineCommit, LineStore, StoredOutput } from '../../../src/ports/line-store.js'
import { QueueFullError, StoreUnavailableError } from '../../../src/runtime/input-queue.js'
import { LineRuntime, type LineRuntimeOptions } from '../../../src/runtime/line-runtime.js'
import { createCountingMonitor } from './counting-monitor.js'

const DEFINITION: LineDefinition = lineDefinitionSchema.parse({ line: 'line-a', title: 'first' })

let store: LineStore
let nowMs: number
const clock = { nowMs: () => nowMs }
const runtimes: LineRuntime[] = []

beforeEach(() => {
  store = openMemoryLineStore()
  nowMs = 1_000_000
})

afterEach(async () => {
  for (const runtime of runtimes.splice(0)) await runtime.close().catch(() => undefined)
})

function open(changes: Partial<LineRuntimeOptions> = {}): LineRuntime {
  const runtime = LineRuntime.open({ line: 'line-a', definition: DEFINITION, store, clock, createMonitor: createCountingMonitor, batchMs: 2, retryMs: [2, 8], ...changes })
  runtimes.push(runtime)
  return runtime
}

function value(number: number | string): LineInput {
  return { kind: 'value', channel: 'pot.level', value: number }
}

function collect(runtime: LineRuntime): StoredOutput[] {
  const outputs: StoredOutput[] = []
  runtime.onOutput((output) => outputs.push(output))
  return outputs
}

async function submitAll(runtime: LineRuntime, values: readonly (number | string)[], receivedMs = 5): Promise<void> {
  await Promise.all(values.map((entry) => runtime.submit(value(entry), receivedMs)))
}

async function settled(runtime: LineRuntime): Promise<void> {
  await expect.poll(() => runtime.status().processedSeq === runtime.status().lastSeq && runtime.status().queued === 0).toBe(true)
}

/** What an uninterrupted run over the journal of the store gives. */
function replayed(): StoredOutput[] {
  const monitor = createCountingMonitor(DEFINITION)
  const outputs: StoredOutput[] = []
  for (const event of store.readJournal('line-a', 0, 10_000).events) {
    let ordinal = 0
    monitor.step(event, (output) => outputs.push({ line: 'line-a', seq: event.seq, ordinal: ordinal++, output }))
  }
  return outputs
}

describe('a line runtime', () => {
  it('answers a submit with the place in the journal, after the event is there', async () => {
    const runtime = open()
    const { seq } = await runtime.submit(value(1))
    expect(seq).toBe(2)
    expect(store.readJournal('line-a', 0, 9).events.map((event) => event.kind)).toEqual(['stages', 'value'])
  })

  it('gives listeners committed outputs only, in order, the same as an uninterrupted run', async () => {
    const runtime = open()
    const seen: { output: StoredOutput; committed: boolean }[] = []
    runtime.onOutput((output) => seen.push({ output, committed: store.processedSeq('line-a') >= output.seq }))
    for (let round = 0; round < 5; round += 1) await submitAll(runtime, [round, round + 1, round + 2])
    await settled(runtime)
    expect(seen.every((entry) => entry.committed)).toBe(true)
    expect(seen.map((entry) => entry.output)).toEqual(replayed())
    expect(seen.length).toBeGreaterThan(20)
  })

  it('writes one commit per batch of a steady stream, with the outputs of the batch before', async () => {
    const commits: LineCommit[] = []
    const watched = watch((commit) => commits.push(commit))
    const runtime = open({ store: watched, batchEvents: 10 })
    await submitAll(runtime, Array.from({ length: 40 }, (_, index) => index))
    await settled(runtime)
    expect(commits.map((commit) => commit.inputs.length)).toEqual([10, 10, 10, 10, 1, 0])
    expect(commits.map((commit) => commit.processedSeq)).toEqual([0, 10, 20, 30, 40, 41])
    expect(commits[1]?.outputs.at(-1)?.seq).toBe(10)
  })

  it('goes on after a stop exactly where it was, from its snapshot', async () => {
    const first = open()
    const outputs = collect(first)
    await submitAll(first, [1, 2, 3, 4])
    await first.close()
    expect(store.latestSnapshot('line-a').snapshot?.seq).toBe(5)
    const second = open()
    outputs.push(...collect(second))
    const rest = collect(second)
    await submitAll(second, [5, 6, 7])
    await settled(second)
    expect([...outputs, ...rest]).toEqual(replayed())
  })

  it('says why a saved state of another form cannot be used, changes nothing, and leaves the line to who can', async () => {
    const first = open()
    await submitAll(first, [1, 2])
    await first.close()
    const saved = store.latestSnapshot('line-a').snapshot
    expect(() => open({ createMonitor: createLineMonitor })).toThrow('line "line-a": its saved state has form undefined, this program goes on from form 3 only; nothing was changed')
    expect(store.latestSnapshot('line-a')).toEqual({ snapshot: saved, damage: [] })
    const again = open()
    await submitAll(again, [3])
    await settled(again)
    expect(again.status().lastSeq).toBe(4)
  })

  it('steps the journal again after a crash, and gives listeners only what was not committed', async () => {
    const crashed = open()
    await submitAll(crashed, [1, 2, 3])
    await settled(crashed)
    const { processedSeq } = crashed.status()
    // Two more events reach the journal, and then the process is gone: what they bring out was never written.
    const copy = copyOf(store)
    copy.commit({ line: 'line-a', inputs: [4, 5].map((number) => ({ input: value(number), receivedMs: 9 })), outputs: [], processedSeq: 0, outbox: [] })
    store = copy
    const runtime = open({ store: copy })
    const outputs = collect(runtime)
    await settled(runtime)
    expect(outputs).toEqual(replayed().filter((output) => output.seq > processedSeq))
    expect(outputs.length).toBeGreaterThan(0)
    expect(copy.points({ line: 'line-a', feature: 'pot.level.mean' })).toHaveLength(2)
  })

  it('journals a changed definition and changed stages, and keeps them over a restart', async () => {
    const first = open({ stages: ['telemetry'] })
    await first.enableStage('charts')
    await first.enableStage('charts')
    await first.setDefinition({ ...DEFINITION, title: 'second' })
    await first.disableStage('telemetry')
    await settled(first)
    expect(store.readJournal('line-a', 0, 99).events.map((event) => event.kind)).toEqual(['stages', 'stages', 'definition', 'stages'])
    await first.close()
    const second = open({ definition: { ...DEFINITION, title: 'second' } })
    expect(second.status().stages).toEqual(['charts'])
    expect(second.definition.title).toBe('second')
    await second.submit(value(1))
    expect(store.lastSeq('line-a')).toBe(5)
    await second.close()
    const third = open({ definition: { ...DEFINITION, title: 'third' } })
    await third.submit(value(1))
    await settled(third)
    expect(store.readJournal('line-a', 5, 99).events.map((event) => event.kind)).toEqual(['definition', 'value'])
    expect(third.definition.title).toBe('third')
  })

  it('takes snapshots at its distance, keeps two, and prunes the journal behind the older', async () => {
    const runtime = open({ snapshotEveryMs: 60_000 })
    for (let round = 1; round <= 6; round += 1) {
      nowMs += 61_000
      await submitAll(runtime, [round, round])
      await settled(runtime)
    }
    const { snapshot } = runtime.status()
    expect(snapshot?.seq).toBe(13)
    expect(store.readJournal('line-a', 0, 99).events[0]?.seq).toBe(12)
    nowMs += 1_000
    await submitAll(runtime, [7])
    await settled(runtime)
    expect(runtime.status().snapshot?.seq).toBe(13)
    runtime.snapshotNow()
    expect(runtime.status().snapshot?.seq).toBe(14)
  })

  it('keeps the newest time of each channel over a restart', async () => {
    const first = open()
    await submitAll(first, [1], 700)
    await submitAll(first, [2], 600)
    await first.close()
    expect(open().channelTimes.get('pot.level')).toBe(1_000_000)
  })

  it('sees a value that JSON cannot hold the same live and replayed', async () => {
    const runtime = open()
    const outputs = collect(runtime)
    await submitAll(runtime, [Number.NaN, Number.POSITIVE_INFINITY, -0])
    await runtime.submit({ kind: 'value', channel: 'pot.level', value: { a: undefined, b: 1n, c: Number.NaN } })
    await settled(runtime)
    expect(outputs).toEqual(replayed())
    const cyclic: { self?: unknown } = {}
    cyclic.self = cyclic
    await expect(runtime.submit({ kind: 'value', channel: 'pot.level', value: cyclic })).rejects.toThrow('cannot be journalled')
  })

  it('writes what an output sends out in the transaction of the output', async () => {
    const runtime = open({
      outbox: (stored) =>
        stored.output.kind === 'note' ? [{ id: `${stored.seq}:${stored.ordinal}`, line: 'line-a', destination: 'mqtt', target: 't', payload: '{}', retain: false, createdMs: 1 }] : [],
    })
    await submitAll(runtime, [1, 2, 3, 4, 5])
    await settled(runtime)
    expect(store.pendingOutbox(9).map((item) => item.id)).toEqual(['3:2', '6:2'])
  })

  it('is not disturbed by a listener that throws', async () => {
    const runtime = open()
    runtime.onOutput(() => {
      throw new Error('listener broke')
    })
    const outputs = collect(runtime)
    await submitAll(runtime, [1, 2])
    await settled(runtime)
    expect(outputs).toHaveLength(5)
    expect(runtime.status()).toMatchObject({ listenerErrors: 5, lastListenerError: 'listener broke' })
  })

  it('may be closed and asked for a snapshot from within a listener', async () => {
    const runtime = open()
    let closing: Promise<void> | undefined
    runtime.onOutput(() => {
      runtime.snapshotNow()
      closing ??= runtime.close()
    })
    await submitAll(runtime, [1, 2, 3])
    await expect.poll(() => closing !== undefined).toBe(true)
    await closing
    expect(store.latestSnapshot('line-a').snapshot?.seq).toBe(4)
    await expect(runtime.submit(value(1))).rejects.toThrow('is closed')
  })

  it('refuses to run twice on one store, and a definition of another line', async () => {
    const runtime = open()
    expect(() => open()).toThrow('runs already')
    expect(() => LineRuntime.open({ line: 'line-b', definition: DEFINITION, store, clock, createMonitor: createCountingMonitor })).toThrow('definition of line "line-a"')
    await expect(runtime.setDefinition({ ...DEFINITION, line: 'line-b' })).rejects.toThrow('definition of line "line-b"')
    await runtime.close()
    open()
  })
})

describe('an event that makes the step throw', () => {
  it('is rejected as internal-error, and everything else comes out as if it had not been there', async () => {
    const runtime = open()
    const outputs = collect(runtime)
    await submitAll(runtime, [1, 2, 'throw', 3, 4, 'throw', 'throw', 5, 6])
    await settled(runtime)
    const bad = outputs.filter((output) => output.output.kind === 'rejected')
    expect(bad.map((output) => output.seq)).toEqual([4, 7, 8])
    expect(bad[0]?.output.body).toMatchObject({ reason: 'internal-error', where: 'pot.level', found: 'the step threw' })
    expect(outputs.filter((output) => output.output.kind !== 'rejected')).toEqual(replayedWithout([4, 7, 8]))
    expect(store.rejections('line-a')).toMatchObject([{ count: 3 }])
  })

  it('is left out again after a restart, from the snapshot and from the journal alone', async () => {
    const runtime = open()
    await submitAll(runtime, [1, 'throw', 2])
    await settled(runtime)
    const copy = copyOf(store)
    store = copy
    const again = open({ store: copy })
    const outputs = collect(again)
    await submitAll(again, [3, 4, 5])
    await settled(again)
    expect(outputs).toEqual(replayedWithout([3]).filter((output) => output.seq > 4))
    expect(copy.skippedEvents('line-a')).toEqual([{ seq: 3, message: 'the step threw' }])
    expect(copy.rejections('line-a')).toMatchObject([{ count: 1 }])
  })

  it('is found again if the process ended before it was remembered', async () => {
    const runtime = open()
    await submitAll(runtime, [1])
    await settled(runtime)
    const copy = copyOf(store)
    copy.commit({ line: 'line-a', inputs: [2, 'throw', 3, 'throw', 4].map((entry) => ({ input: value(entry), receivedMs: 5 })), outputs: [], processedSeq: 0, outbox: [] })
    store = copy
    const again = open({ store: copy })
    const outputs = collect(again)
    await settled(again)
    expect(outputs.filter((output) => output.output.kind === 'rejected').map((output) => output.seq)).toEqual([4, 6])
    expect(outputs.filter((output) => output.output.kind !== 'rejected')).toEqual(replayedWithout([4, 6]).filter((output) => output.seq > 2))
    expect(outputs.map((output) => output.seq)).toEqual([...outputs.map((output) => output.seq)].sort((a, b) => a - b))
  })

  it('includes one whose output could not be kept', async () => {
    const runtime = open()
    const outputs = collect(runtime)
    await submitAll(runtime, [1, 'not-finite', 2])
    await settled(runtime)
    expect(outputs.find((output) => output.output.kind === 'rejected')?.output.body).toMatchObject({ found: 'output "note.values.hash" is NaN, expected a finite number' })
  })

  it('leaves other lines of the same store alone', async () => {
    const other = open({ line: 'line-b', definition: { ...DEFINITION, line: 'line-b' } })
    const runtime = open()
    const outputs = collect(other)
    await Promise.all([submitAll(runtime, ['throw', 1, 'throw']), submitAll(other, [1, 2, 3])])
    await settled(other)
    await settled(runtime)
    expect(outputs.some((output) => output.output.kind === 'rejected')).toBe(false)
    expect(other.status().outputs).toEqual({ reading: 4, point: 1, note: 1 })
  })
})

describe('a commit that fails', () => {
  it('pauses visibly, acknowledges nothing, tries again, and then loses and doubles nothing', async () => {
    let broken = false
    const failing = watch(() => {
      if (broken) throw new Error('disk full')
    })
    const runtime = open({ store: failing })
    const outputs = collect(runtime)
    await submitAll(runtime, [1, 2])
    await settled(runtime)
    broken = true
    let acknowledged = 0
    const waiting = [3, 4, 5].map((entry) => runtime.submit(value(entry), 5).then(() => (acknowledged += 1)))
    await expect.poll(() => runtime.status().paused?.attempts ?? 0).toBeGreaterThan(2)
    expect(runtime.status().paused?.reason).toBe('disk full')
    expect(runtime.status().queued).toBe(3)
    expect(acknowledged).toBe(0)
    await expect(runtime.submit({ kind: 'reply', reply: { suggestion: 's', action: 'take' } })).rejects.toThrow(StoreUnavailableError)
    broken = false
    await Promise.all(waiting)
    await settled(runtime)
    expect(runtime.status().paused).toBeUndefined()
    expect(outputs).toEqual(replayed())
  })

  it('refuses at once what a person waits for', async () => {
    const runtime = open({ store: watch((commit) => {
      if (commit.inputs.length > 0) throw new Error('disk full')
    }) })
    const reply = runtime.submit({ kind: 'reply', reply: { suggestion: 's', action: 'take' } })
    await expect(reply).rejects.toThrow('disk full')
  })

  it('of one line does not hold up another', async () => {
    const shared = watch((commit) => {
      if (commit.line === 'line-a') throw new Error('only this one')
    })
    const bad = open({ store: shared })
    const good = open({ store: shared, line: 'line-b', definition: { ...DEFINITION, line: 'line-b' } })
    const lost = bad.submit(value(1)).then(() => 'taken', (error: unknown) => error)
    await submitAll(good, [1, 2, 3])
    await settled(good)
    expect(good.status().paused).toBeUndefined()
    expect(bad.status().paused?.reason).toBe('only this one')
    await expect(bad.close()).rejects.toThrow('only this one')
    expect(await lost).toBeInstanceOf(StoreUnavailableError)
  })

  it('while a stream goes on fills the queue to its limit, and says so', async () => {
    const runtime = open({ queueLimit: 5, store: watch(() => {
      throw new Error('disk full')
    }) })
    const answers = Array.from({ length: 9 }, (_, index) => runtime.submit(value(index)).then(() => undefined, (error: unknown) => error))
    expect(runtime.status()).toMatchObject({ queued: 5, queueLimit: 5, queueRefused: 5 })
    await runtime.close().catch(() => undefined)
    const errors = await Promise.all(answers)
    expect(errors.filter((error) => error instanceof QueueFullError)).toHaveLength(5)
    expect(errors.filter((error) => error instanceof StoreUnavailableError)).toHaveLength(4)
  })

  it('of a snapshot is shown, and the line goes on', async () => {
    const runtime = open()
    await submitAll(runtime, [1])
    await settled(runtime)
    store.saveSnapshot = () => {
      throw new Error('disk full')
    }
    runtime.snapshotNow()
    expect(runtime.status().snapshot?.error).toBe('disk full')
    await submitAll(runtime, [2])
  })
})

/** The store with `before` called for every commit; an error of it makes that commit fail. */
function watch(before: (commit: LineCommit) => void): LineStore {
  const inner = store
  return new Proxy(inner, {
    get(target, key) {
      if (key === 'commitAll') {
        return (commits: readonly LineCommit[]) => {
          for (const commit of commits) before({ ...commit })
          return target.commitAll(commits)
        }
      }
      if (key === 'commit') {
        return (commit: LineCommit) => {
          before({ ...commit })
          return target.commit(commit)
        }
      }
      const member: unknown = Reflect.get(target, key)
      return typeof member === 'function' ? (member.bind(target) as unknown) : member
    },
  })
}

/** A second store with the same line, as a process would find it after a crash of the first. */
function copyOf(from: LineStore): LineStore {
  const copy = openMemoryLineStore()
  const { events } = from.readJournal('line-a', 0, 10_000)
  copy.commit({ line: 'line-a', inputs: events.map(({ seq: _seq, receivedMs, ...input }) => ({ input: input as LineInput, receivedMs })), outputs: [], processedSeq: 0, outbox: [] })
  const outputs = [...from.points({ line: 'line-a', feature: 'pot.level.mean' }).map((body, index) => ({ line: 'line-a', seq: 3 * (index + 1), ordinal: 1, output: { kind: 'point' as const, body } }))]
  copy.commit({ line: 'line-a', inputs: [], outputs: [...outputs, ...from.outputs({ line: 'line-a', kinds: ['note', 'rejected'] })], processedSeq: from.processedSeq('line-a'), outbox: [], skipped: from.skippedEvents('line-a') })
  return copy
}

function replayedWithout(skipped: readonly number[]): StoredOutput[] {
  const monitor = createCountingMonitor(DEFINITION)
  const outputs: StoredOutput[] = []
  for (const event of store.readJournal('line-a', 0, 10_000).events) {
    if (skipped.includes(event.seq)) continue
    let ordinal = 0
    monitor.step(event, (output) => outputs.push({ line: 'line-a', seq: event.seq, ordinal: ordinal++, output }))
  }
  return outputs
}
