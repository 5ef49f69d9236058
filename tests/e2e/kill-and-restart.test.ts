import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { openSqliteLineStore } from '../../src/adapters/sqlite/sqlite-line-store.js'
import { lineDefinitionSchema } from '../../src/line/line-definition.js'
import type { LineInput } from '../../src/monitor/line-event.js'
import type { StoredOutput } from '../../src/ports/line-store.js'
import { bundleChildScript, endOf, type ChildScript } from '../child-script.js'
import { createChainMonitor, inputOf } from './chain-monitor.js'

const LINE = 'line-a'
const INPUT_COUNT = 1_500
let script: ChildScript
let folder: string

beforeAll(async () => {
  script = await bundleChildScript(fileURLToPath(new URL('children/run-line.ts', import.meta.url)))
  folder = mkdtempSync(join(tmpdir(), 'kill-and-restart-'))
})

afterAll(() => {
  script.remove()
  rmSync(folder, { recursive: true, force: true })
})

interface Kill {
  readonly place: 'acknowledgements' | 'before-commit' | 'after-commit' | 'in-step' | 'after-snapshot' | 'nowhere'
  readonly count: number
}

interface Message {
  readonly kind: 'acknowledged' | 'output'
  readonly number: number
  readonly seq: number
  readonly ordinal: number
}

describe('a line that is killed again and again', () => {
  it('loses no acknowledged input, and its outputs are those of an uninterrupted run', async () => {
    const acknowledged = new Set<number>()
    const given: string[] = []
    const kills = killPlan(20_261)
    for (const kill of kills) await runUntilKilled(kill, acknowledged, given)
    expect(acknowledged.size).toBe(INPUT_COUNT)

    const store = openSqliteLineStore({ folder })
    const outputs = store.outputs({ line: LINE, kinds: ['note'] }).toSorted(bySeq)
    const rejections = store.rejections(LINE)
    const points = store.points({ line: LINE, feature: 'pot.level.mean' })
    const { processedSeq, lastSeq } = { processedSeq: store.processedSeq(LINE), lastSeq: store.lastSeq(LINE) }
    const skippedCount = lastSeq - outputs.length
    expect(store.damage(LINE)).toEqual([])
    store.close()

    // Acknowledged inputs are all there, in their order; those sent again after a kill are there twice.
    expect(processedSeq).toBe(lastSeq)
    const values = outputs.slice(1).map((output) => Number(valueOf(output)))
    expect(new Set(values)).toEqual(new Set([...acknowledged].filter((number) => inputOf(number).kind === 'value' && number % 53 !== 0)))
    expect(lastSeq).toBeGreaterThan(INPUT_COUNT + 1)

    // One uninterrupted run over the same events gives the same outputs under the same keys.
    const expected = uninterrupted(outputs)
    expect(outputs).toEqual(expected.filter((output) => output.output.kind === 'note'))
    expect(points).toEqual(expected.filter((output) => output.output.kind === 'point').map((output) => output.output.body).toSorted(byTime))
    expect(rejections).toHaveLength(1)
    expect(rejections[0]).toMatchObject({ count: skippedCount, last: { reason: 'internal-error' } })
    expect(skippedCount).toBeGreaterThanOrEqual(Math.floor(INPUT_COUNT / 53))

    // Listeners were given each output once at most, in order.
    expect(new Set(given).size).toBe(given.length)
    expect(given.length).toBeGreaterThan(INPUT_COUNT)
  }, 90_000)
})

/** Starts the line where the acknowledgements ended, until it is killed or done. */
async function runUntilKilled(kill: Kill, acknowledged: Set<number>, given: string[]): Promise<void> {
  let first = 1
  while (acknowledged.has(first)) first += 1
  if (first > INPUT_COUNT) return
  const child = script.start([folder, String(first), String(INPUT_COUNT), kill.place, String(kill.count)])
  let left = kill.count
  child.on('message', (message: Message) => {
    if (message.kind === 'output') given.push(`${message.seq}:${message.ordinal}`)
    else {
      acknowledged.add(message.number)
      left -= 1
      if (kill.place === 'acknowledgements' && left === 0) child.kill('SIGKILL')
    }
  })
  const end = await endOf(child)
  expect(end.stderr).toBe('')
  if (kill.place === 'nowhere') expect(end).toMatchObject({ code: 0, signal: null })
  else if (end.code !== 0) expect(end.signal).toBe('SIGKILL')
}

/** Kills at every kind of place, at counts from a fixed seed; the last run is left alone. */
function killPlan(seed: number): readonly Kill[] {
  let state = seed
  const random = (below: number): number => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0
    return 1 + (state % below)
  }
  const kills: Kill[] = []
  for (let round = 0; round < 2; round += 1) {
    kills.push({ place: 'acknowledgements', count: random(150) })
    kills.push({ place: 'after-commit', count: 1 + random(6) })
    kills.push({ place: 'before-commit', count: 1 + random(6) })
    kills.push({ place: 'in-step', count: random(150) })
    kills.push({ place: 'after-snapshot', count: 1 + round })
  }
  return [...kills, { place: 'nowhere', count: 0 }]
}

/** What a monitor that was never interrupted brings out for the events these outputs tell of. */
function uninterrupted(notes: readonly StoredOutput[]): StoredOutput[] {
  const monitor = createChainMonitor(lineDefinitionSchema.parse({ line: LINE }))
  const outputs: StoredOutput[] = []
  for (const note of notes) {
    const value = valueOf(note)
    const input: LineInput = value === 'stages' ? { kind: 'stages', stages: [] } : inputOf(Number(value))
    const receivedMs = note.output.kind === 'note' ? note.output.body.timeMs : 0
    let ordinal = 0
    monitor.step({ ...input, seq: note.seq, receivedMs }, (output) => outputs.push({ line: LINE, seq: note.seq, ordinal: ordinal++, output }))
  }
  return outputs
}

function valueOf(stored: StoredOutput): string {
  return stored.output.kind === 'note' ? String(stored.output.body.values['value']) : ''
}

function bySeq(a: StoredOutput, b: StoredOutput): number {
  return a.seq - b.seq
}

function byTime(a: StoredOutput['output']['body'], b: StoredOutput['output']['body']): number {
  return ('timeMs' in a ? a.timeMs : 0) - ('timeMs' in b ? b.timeMs : 0)
}
