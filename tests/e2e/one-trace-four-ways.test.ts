import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { connectAsync } from 'mqtt'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import { openSqliteLineStore } from '../../src/adapters/sqlite/sqlite-line-store.js'
import { compileBinding } from '../../src/line/telemetry/channel-binding.js'
import { createLineMonitor } from '../../src/monitor/line-monitor.js'
import type { LineOutput } from '../../src/monitor/line-output.js'
import type { LineStore } from '../../src/ports/line-store.js'
import { runReplay } from '../../src/service/replay-command.js'
import { startAedes } from '../brokers.js'
import { bundleChildScript, endOf, type ChildScript } from '../child-script.js'
import { collect, lineNode, load, unload, useNodeRed, type FlowNode } from '../nodes/node-red-harness.js'
import { differences, nothingTold, tell, TOLD_KINDS, traceDefinition, traceMessages, traceTicks, TRACE_TOPIC, type Tick, type Told } from './trace.js'

const definition = traceDefinition()
let ticks: readonly Tick[] = []
let expected: Told
let folder = ''

interface Row {
  readonly timeMs: number
  readonly channel: string
  readonly value: number | string
}

function rowsOf(all: readonly Tick[]): Row[] {
  return all.flatMap(({ timeMs, values }) => values.map(([channel, value]) => ({ timeMs, channel, value })))
}

/** One reading at a time through a monitor without anything around it. */
function toldByMonitor(rows: readonly Row[]): { readonly told: Told; readonly rejected: number } {
  const monitor = createLineMonitor(definition)
  const told = nothingTold()
  let rejected = 0
  const emit = (output: LineOutput): void => {
    if (output.kind === 'rejected') rejected += 1
    tell(told, output)
  }
  rows.forEach(({ timeMs, channel, value }, index) => monitor.step({ kind: 'value', seq: index + 1, receivedMs: timeMs, channel, value, time: timeMs }, emit))
  monitor.step({ kind: 'end-of-data', seq: rows.length + 1, receivedMs: 0 }, emit)
  return { told, rejected }
}

/** What a store's history holds, in the order it was written. */
function toldByStore(store: LineStore): Told {
  const told = nothingTold()
  for (const { output } of store.readHistory({ point: 0, output: 0 }, 1_000_000).outputs) tell(told, output)
  return told
}

/** Numbers in [0, 1) that are the same at every run (mulberry32). */
function seeded(seed: number): () => number {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let mixed = Math.imul(state ^ (state >>> 15), state | 1)
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)) ^ mixed
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296
  }
}

useNodeRed()

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'four-ways-'))
  ticks = traceTicks()
  const { told, rejected } = toldByMonitor(rowsOf(ticks))
  expected = told
  expect(rejected).toBe(0)
})

afterAll(() => rmSync(folder, { recursive: true, force: true }))

describe('one trace', () => {
  it('is long enough to tell: points, hits of several rules, signals, and a suggestion', () => {
    expect(expected.point.length).toBeGreaterThan(5000)
    expect(new Set(expected['rule-hit'].map((text) => (JSON.parse(text) as { rule: string }).rule)).size).toBeGreaterThanOrEqual(3)
    expect(expected.signal.length).toBeGreaterThan(5)
    expect(expected.suggestion.length).toBeGreaterThan(0)
    expect(JSON.parse(expected.suggestion[0]!)).toMatchObject({ section: 'transport', id: expect.stringMatching(/^s-/) })
  })

  it('says the same from a file in replay', { timeout: 60_000 }, async () => {
    const quiet = [vi.spyOn(process.stdout, 'write').mockImplementation(() => true), vi.spyOn(process.stderr, 'write').mockImplementation(() => true)]
    const lineFile = join(folder, 'line.json')
    writeFileSync(lineFile, JSON.stringify(definition))
    const readings = join(folder, 'readings.csv')
    writeFileSync(readings, `time,channel,value\n${rowsOf(ticks).map(({ timeMs, channel, value }) => `${new Date(timeMs).toISOString()},${channel},${value}\n`).join('')}`)
    const code = await runReplay(['--line', lineFile, '--readings', readings, '--out', join(folder, 'out')])
    quiet.forEach((spy) => spy.mockRestore())
    expect(code).toBe(0)
    const linesOf = (name: string): string[] => readFileSync(join(folder, 'out', `${name}.jsonl`), 'utf8').split('\n').filter((text) => text !== '')
    const told: Told = { ...nothingTold(), point: linesOf('points'), 'rule-hit': linesOf('rule-hits'), signal: linesOf('signals'), state: linesOf('states'), baseline: linesOf('baselines'), diagnosis: linesOf('diagnoses'), suggestion: [...linesOf('suggestions'), ...linesOf('suggestion-changes')] }
    expect(differences(told, expected)).toEqual({})
  })

  it('says the same over MQTT through the nodes of a flow, with a restart of the flow in between', { timeout: 120_000 }, async () => {
    const broker = await startAedes()
    const flow: FlowNode[] = [
      { id: 'line', type: 'solder-line', name: '', source: 'json', definition: JSON.stringify(definition), file: '', broker: broker.url },
      { id: 'telemetry', type: 'line-telemetry', name: '', line: 'line', channel: '', wires: [[], [], ['states'], []] },
      { id: 'chart', type: 'control-chart', name: '', line: 'line', feature: '', property: 'payload', wires: [['points'], ['hits'], ['signals']] },
      { id: 'diagnosis', type: 'section-diagnosis', name: '', line: 'line', wires: [['diagnoses']] },
      { id: 'queue', type: 'maintenance-queue', name: '', line: 'line', wires: [['suggestions']] },
      ...['states', 'points', 'hits', 'signals', 'diagnoses', 'suggestions'].map((id) => ({ id, type: 'helper' })),
    ]
    const wired = { state: 'states', point: 'points', 'rule-hit': 'hits', signal: 'signals', diagnosis: 'diagnoses', suggestion: 'suggestions' } as const
    const sent = nothingTold()
    const plant = await connectAsync(broker.url, { clientId: 'plant' })
    const messages = traceMessages(ticks, 120)
    const half = Math.floor(messages.length / 2)
    let stored = nothingTold()
    for (const part of [messages.slice(0, half), messages.slice(half)]) {
      await load(flow)
      const received = Object.entries(wired).map(([kind, id]) => [kind as keyof typeof wired, collect(id)] as const)
      await expect.poll(() => lineNode('line').port.state.kind).toBe('connected')
      const line = lineNode('line').port.runningLine!
      const before = line.status().processedSeq
      for (const [index, payload] of part.entries()) {
        await plant.publishAsync(TRACE_TOPIC, payload, { qos: 1 })
        // A bound on what is under way, as a plant has by the pace of its readings.
        if (index % 50 === 49) await expect.poll(() => line.status().processedSeq, { interval: 5 }).toBeGreaterThan(before + index - 20)
      }
      await expect.poll(() => line.status().processedSeq, { interval: 5 }).toBeGreaterThanOrEqual(before + part.length)
      if (part.at(-1) === messages.at(-1)) {
        await line.stepped((await line.submit({ kind: 'end-of-data' })).seq)
        stored = toldByStore(line.store)
      }
      await new Promise((resolve) => setImmediate(resolve))
      for (const [kind, taken] of received) sent[kind].push(...taken.map(({ payload }) => JSON.stringify(payload)))
      await unload()
    }
    await plant.endAsync()
    await broker.stop()
    expect(differences(stored, expected)).toEqual({})
    expect(differences({ ...sent, baseline: expected.baseline }, expected)).toEqual({})
  })

  it('says the same when the process is killed again and again, between commit and acknowledgement too', { timeout: 180_000 }, async () => {
    const script: ChildScript = await bundleChildScript(fileURLToPath(new URL('children/run-trace.ts', import.meta.url)))
    const data = join(folder, 'killed')
    mkdirSync(data)
    const traceFile = join(folder, 'trace.json')
    const messages = traceMessages(ticks, 200)
    writeFileSync(traceFile, JSON.stringify({ definition, topic: TRACE_TOPIC, messages }))
    const acknowledged = new Set<number>()
    const kills: { readonly place: string; readonly count: number }[] = [
      { place: 'acknowledgement', count: 40 },
      { place: 'after-commit', count: 12 },
      { place: 'before-commit', count: 11 },
      { place: 'in-step', count: 61 },
      { place: 'after-snapshot', count: 1 },
      { place: 'after-commit', count: 1 },
      { place: 'after-commit', count: 17 },
      { place: 'acknowledgement', count: 73 },
      { place: 'in-step', count: 3 },
      { place: 'before-commit', count: 21 },
      { place: 'after-snapshot', count: 2 },
      { place: 'after-commit', count: 14 },
    ]
    let sentAgain = 0
    for (const kill of kills) {
      expect(await runUntilKilled(script, [data, traceFile], kill, acknowledged)).toBe('SIGKILL')
      const store = openSqliteLineStore({ folder: data })
      sentAgain += store.lastSeq('north-1') > acknowledged.size + 1 ? 1 : 0
      store.close()
    }
    expect(acknowledged.size).toBeLessThan(messages.length)
    expect(await runUntilKilled(script, [data, traceFile], { place: 'nowhere', count: 0 }, acknowledged)).toBeNull()
    script.remove()
    expect(acknowledged.size).toBe(messages.length)
    // Inputs that were in the journal and not acknowledged came again.
    expect(sentAgain).toBeGreaterThanOrEqual(8)
    const store = openSqliteLineStore({ folder: data })
    expect(store.damage('north-1')).toEqual([])
    const told = toldByStore(store)
    const reasons = store.rejections('north-1').map(({ last }) => last.reason)
    store.close()
    expect(differences(told, expected)).toEqual({})
    expect(reasons.filter((reason) => reason !== 'late' && reason !== 'duplicate')).toEqual([])
    expect(reasons).toContain('late')
  })

  it.each([1, 2, 3])('says the same when readings come shuffled within the lateness bound, seed %i', { timeout: 60_000 }, (seed) => {
    const { latenessMs } = compileBinding(definition)
    const random = seeded(seed)
    const rows = rowsOf(ticks)
    const shuffled = rows.map((row) => ({ row, at: row.timeMs + random() * latenessMs })).sort((a, b) => a.at - b.at).map(({ row }) => row)
    expect(shuffled.filter(({ timeMs }, index) => index > 0 && timeMs < shuffled[index - 1]!.timeMs).length).toBeGreaterThan(rows.length / 10)
    const { told, rejected } = toldByMonitor(shuffled)
    expect(rejected).toBe(0)
    expect(differences(told, expected)).toEqual({})
  })

  it('says something else when a reading is missing: the comparison can fail', () => {
    const rows = rowsOf(ticks)
    const gone = rows.findIndex(({ timeMs, channel, value }) => channel === 'conveyor.speed' && timeMs > rows[0]!.timeMs + 40 * 3_600_000 && Number(value) > 1)
    const { told } = toldByMonitor(rows.filter((_, index) => index !== gone))
    expect(Object.keys(differences(told, expected))).toContain('point')
    expect(TOLD_KINDS.every((kind) => told[kind].length > 0)).toBe(true)
  })
})

/** Starts the line where the acknowledgements ended; answers the signal that ended it. */
async function runUntilKilled(script: ChildScript, files: readonly string[], kill: { readonly place: string; readonly count: number }, acknowledged: Set<number>): Promise<NodeJS.Signals | null> {
  let first = 0
  while (acknowledged.has(first)) first += 1
  const child = script.start([...files, String(first), kill.place, String(kill.count)])
  let left = kill.count
  child.on('message', (number: number) => {
    acknowledged.add(number)
    left -= 1
    if (kill.place === 'acknowledgement' && left === 0) child.kill('SIGKILL')
  })
  const end = await endOf(child)
  expect(end.stderr).toBe('')
  return end.signal
}
