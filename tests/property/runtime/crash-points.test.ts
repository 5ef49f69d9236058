import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { openMemoryLineStore } from '../../../src/adapters/memory/memory-line-store.js'
import { lineDefinitionSchema } from '../../../src/line/line-definition.js'
import type { LineCommit, LineSnapshot, LineStore, StoredOutput } from '../../../src/ports/line-store.js'
import { LineRuntime } from '../../../src/runtime/line-runtime.js'
import { createChainMonitor, inputOf } from '../../e2e/chain-monitor.js'

const DEFINITION = lineDefinitionSchema.parse({ line: 'line-a' })

/** A process that ends at one of its store calls: before it is done, or after it is done and before it is answered. */
interface Crash {
  readonly calls: number
  readonly afterwards: boolean
}

const crashes: fc.Arbitrary<Crash[]> = fc.array(fc.record({ calls: fc.integer({ min: 1, max: 9 }), afterwards: fc.boolean() }), { minLength: 1, maxLength: 6 })

describe('crashes at any call to the store', () => {
  it('lose nothing acknowledged, and change no output', async () => {
    await fc.assert(
      fc.asyncProperty(crashes, fc.integer({ min: 1, max: 9 }), fc.integer({ min: 50, max: 120 }), async (plan, batchEvents, inputCount) => {
        const inner = openMemoryLineStore()
        const acknowledged = new Set<number>()
        const given: StoredOutput[] = []
        const clock = { ms: 0, nowMs: () => 0 }
        clock.nowMs = () => (clock.ms += 1)
        for (const crash of [...plan, undefined]) await runOnce(inner, crash, { acknowledged, given, clock, batchEvents, inputCount })
        expect(acknowledged.size).toBe(inputCount)
        const notes = inner.outputs({ line: 'line-a', kinds: ['note'] }).toSorted((a, b) => a.seq - b.seq)
        const expected = uninterrupted(notes)
        expect(notes).toEqual(expected)
        const values = new Set(notes.map((note) => (note.output.kind === 'note' ? note.output.body.values['value'] : '')))
        for (const number of acknowledged) if (number % 53 !== 0) expect(values.has(String(number))).toBe(true)
        expect(inner.skippedEvents('line-a').every((skipped) => skipped.message.startsWith('throw'))).toBe(true)
        expect(new Set(given.map((output) => `${output.seq}:${output.ordinal}`)).size).toBe(given.length)
        expect(inner.processedSeq('line-a')).toBe(inner.lastSeq('line-a'))
      }),
      { numRuns: 60 },
    )
  })
})

interface Run {
  readonly acknowledged: Set<number>
  readonly given: StoredOutput[]
  readonly clock: { nowMs(): number }
  readonly batchEvents: number
  readonly inputCount: number
}

async function runOnce(inner: LineStore, crash: Crash | undefined, run: Run): Promise<void> {
  const { store, crashed } = crashing(inner, crash)
  let runtime: LineRuntime
  try {
    runtime = LineRuntime.open({ line: 'line-a', definition: DEFINITION, store, clock: run.clock, createMonitor: createChainMonitor, batchEvents: run.batchEvents, batchMs: 1, snapshotEveryMs: 40, retryMs: [60_000, 60_000] })
  } catch (error) {
    expect((error as Error).message).toBe('crashed')
    return
  }
  runtime.onOutput((output) => run.given.push(output))
  const answers: Promise<unknown>[] = []
  for (let number = 1; number <= run.inputCount; number += 1) {
    // A broker sends again what was not acknowledged.
    if (run.acknowledged.has(number)) continue
    answers.push(runtime.submit(inputOf(number), number).then(() => run.acknowledged.add(number), () => undefined))
  }
  await Promise.race([crashed, Promise.all(answers)])
  // After a crash nothing reaches the store any more; the close only ends the timers.
  await runtime.close().catch(() => undefined)
}

/** The store until the crash; then every call fails, as for a process that is gone. */
function crashing(inner: LineStore, crash: Crash | undefined): { readonly store: LineStore; readonly crashed: Promise<void> } {
  let left = crash?.calls ?? Number.POSITIVE_INFINITY
  let dead = false
  let tell: () => void = () => undefined
  const crashed = new Promise<void>((resolve) => (tell = resolve))
  const guarded = <T>(call: () => T): T => {
    if (dead) throw new Error('crashed')
    left -= 1
    if (left > 0) return call()
    dead = true
    tell()
    if (crash?.afterwards === true) call()
    throw new Error('crashed')
  }
  const store = new Proxy(inner, {
    get(target, key) {
      if (key === 'commitAll') return (commits: readonly LineCommit[]) => guarded(() => target.commitAll(commits))
      if (key === 'commit') return (commit: LineCommit) => guarded(() => target.commit(commit))
      if (key === 'saveSnapshot') return (snapshot: LineSnapshot) => guarded(() => target.saveSnapshot(snapshot))
      const member: unknown = Reflect.get(target, key)
      return typeof member === 'function' ? (member.bind(target) as unknown) : member
    },
  })
  return { store, crashed }
}

function uninterrupted(notes: readonly StoredOutput[]): StoredOutput[] {
  const monitor = createChainMonitor(DEFINITION)
  const outputs: StoredOutput[] = []
  for (const note of notes) {
    if (note.output.kind !== 'note') continue
    const value = String(note.output.body.values['value'])
    const input = value === 'stages' ? ({ kind: 'stages', stages: [] } as const) : inputOf(Number(value))
    let ordinal = 0
    monitor.step({ ...input, seq: note.seq, receivedMs: note.output.body.timeMs }, (output) => {
      if (output.kind === 'note') outputs.push({ line: 'line-a', seq: note.seq, ordinal, output })
      ordinal += 1
    })
  }
  return outputs
}
