import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { runReplay } from '../../src/service/replay-command.js'
import { RandomStream } from '../../src/simulator/random-stream.js'
import { startMosquitto, type TestBroker } from '../brokers.js'
import { collect, lineNode, load, useNodeRed, type FlowNode, type Received } from '../nodes/node-red-harness.js'

/** An open data set of one machine temperature; it lies beside the checkout where somebody has put it there. */
const OPEN_DATA = join(dirname(fileURLToPath(import.meta.url)), '..', '..', '..', 'shared', 'data', 'machine-temperature.csv')

const CHANNEL = 'custom.temperature'
const TOPIC = `wave-solder/replay/telemetry/${CHANNEL}`
const PERIOD_MS = 300_000

useNodeRed()

let folder = ''
let broker: TestBroker

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'open-file-'))
  // The sender is faster than the line: without this the broker throws away what waits beyond 1,000 messages.
  broker = await startMosquitto(['max_queued_messages 0', 'max_inflight_messages 0'])
  vi.spyOn(process.stdout, 'write').mockImplementation(() => true)
  vi.spyOn(process.stderr, 'write').mockImplementation(() => true)
})

afterEach(async () => {
  vi.restoreAllMocks()
  await broker.stop()
  rmSync(folder, { recursive: true, force: true })
})

/**
 * A plain file as machines write it: a temperature that remembers itself, a lasting step in it, stamps that come twice,
 * and in the middle a clock that is put back by an hour.
 */
function syntheticFile(seed: number, rowCount: number): string {
  const random = new RandomStream(seed, 'open-telemetry-file')
  let file = 'timestamp,value\n'
  let deviation = 0
  let timeMs = Date.UTC(2026, 1, 2, 6)
  for (let index = 0; index < rowCount; index += 1) {
    deviation = 0.7 * deviation + random.gaussian()
    if (index === Math.floor(rowCount / 2)) timeMs -= 3_600_000
    const row = `${stampOf(timeMs)},${86 + deviation + (index > 0.8 * rowCount ? 6 : 0)}\n`
    file += index % 97 === 96 ? row + row : row
    timeMs += PERIOD_MS
  }
  return file
}

/** `2026-02-02 06:00:00`: local time without a zone. */
function stampOf(timeMs: number): string {
  return new Date(timeMs).toISOString().slice(0, 19).replace('T', ' ')
}

/** What a client of another make publishes: one JSON object per row, the time in milliseconds. */
function messagesOf(file: string): string[] {
  return file
    .split('\n')
    .slice(1)
    .filter((row) => row !== '')
    .map((row) => {
      const [stamp = '', value = ''] = row.split(',')
      return `{"t": ${Date.parse(`${stamp.replace(' ', 'T')}Z`)}, "value": ${value}}`
    })
}

/** The lines `replay` wrote. */
async function replayed(file: string): Promise<Record<keyof typeof WIRES, string[]>> {
  const [readings, out] = [join(folder, 'readings.csv'), join(folder, 'out')]
  writeFileSync(readings, file)
  expect(await runReplay(['--readings', readings, '--columns', 'time=timestamp,value=value', '--channel', CHANNEL, '--time-zone', 'UTC', '--out', out])).toBe(0)
  const lines = (name: string): string[] => readFileSync(join(out, `${name}.jsonl`), 'utf8').split('\n').filter((text) => text !== '')
  return { points: lines('points'), hits: lines('rule-hits'), signals: lines('signals'), rejected: lines('rejected') }
}

const WIRES = { points: ['points'], hits: ['hits'], signals: ['signals'], rejected: ['rejected'] }

/** The line `replay` makes for a file of one channel, at a broker. */
const FLOW: readonly FlowNode[] = [
  { id: 'telemetry', type: 'line-telemetry', name: '', line: 'line', channel: '', wires: [[], [], [], WIRES.rejected] },
  { id: 'chart', type: 'control-chart', name: '', line: 'line', feature: '', property: 'payload', wires: [WIRES.points, WIRES.hits, WIRES.signals] },
  ...Object.keys(WIRES).map((id) => ({ id, type: 'helper' })),
]

/** Rows go to the broker one by one through a command-line client; answers what left the nodes. */
async function live(messages: readonly string[]): Promise<{ readonly texts: (id: keyof typeof WIRES) => string[]; readonly end: () => Promise<void> }> {
  const definition = { line: 'replay', simulated: true, channels: [{ channel: CHANNEL, periodS: 60 }] }
  await load([{ id: 'line', type: 'solder-line', name: '', source: 'json', definition: JSON.stringify(definition), file: '', broker: broker.url }, ...FLOW])
  const received = Object.fromEntries(Object.keys(WIRES).map((id) => [id, collect(id)])) as Record<keyof typeof WIRES, Received[]>
  const { port } = lineNode('line')
  await expect.poll(() => port.state.kind, { timeout: 30_000 }).toBe('connected')
  const before = port.runningLine?.status().processedSeq ?? 0

  const client = spawn('mosquitto_pub', ['-h', '127.0.0.1', '-p', String(broker.port), '-V', '5', '-q', '1', '-t', TOPIC, '-l'], { stdio: ['pipe', 'ignore', 'inherit'] })
  const ended = once(client, 'exit')
  client.stdin.end(`${messages.join('\n')}\n`)
  expect((await ended)[0]).toBe(0)
  await expect.poll(() => (port.runningLine?.status().processedSeq ?? 0) - before, { timeout: 80_000, interval: 100 }).toBe(messages.length)

  const end = async (): Promise<void> => {
    const { seq } = await port.submit({ kind: 'end-of-data' })
    await expect.poll(() => port.runningLine?.status().processedSeq).toBe(seq)
  }
  return { texts: (id) => received[id].map(({ payload }) => JSON.stringify(payload)), end }
}

async function comparesToTheLastByte(file: string): Promise<Record<keyof typeof WIRES, string[]>> {
  const told = await replayed(file)
  const { texts, end } = await live(messagesOf(file))

  // A file has an end, a stream has none: the live line still holds back what an earlier reading might yet precede
  // (two minutes here) and so lacks the last few points; whatever it has said by now the replay has said too.
  await expect.poll(() => texts('points').length).toBeGreaterThanOrEqual(told.points.length - 5)
  expect(told.points.slice(0, texts('points').length).join('\n')).toBe(texts('points').join('\n'))

  // Told that this was the end, as the replay was at the end of the file, it says all the rest.
  await end()
  for (const kind of Object.keys(WIRES) as (keyof typeof WIRES)[]) {
    await expect.poll(() => texts(kind).length, { message: kind }).toBe(told[kind].length)
    expect(texts(kind).join('\n') === told[kind].join('\n'), kind).toBe(true)
  }
  return told
}

describe('a plain file of times and values', () => {
  it('says the same, to the last byte, replayed and sent row by row by a client of another make', { timeout: 90_000 }, async () => {
    const told = await comparesToTheLastByte(syntheticFile(1, 2000))
    expect(told.points.length).toBeGreaterThan(1900)
    expect(told.signals.length).toBeGreaterThan(0)
    // Stamps that come twice count once; the first of a clock put back are late until enough of them have come.
    const reasons = told.rejected.map((text) => (JSON.parse(text) as { reason: string }).reason)
    expect(reasons.filter((reason) => reason === 'duplicate').length).toBeGreaterThan(15)
    expect(reasons).toContain('late')
  })

  it('does so for a whole open data file', { timeout: 120_000 }, async () => {
    const isThere = existsSync(OPEN_DATA)
    if (!isThere) console.info(`there is no ${OPEN_DATA}: a longer synthetic file is compared instead of the open data`)
    const file = isThere ? readFileSync(OPEN_DATA, 'utf8').replaceAll('\r\n', '\n') : syntheticFile(2, 5000)
    const told = await comparesToTheLastByte(file)
    expect(told.points.length).toBeGreaterThan(1000)
    expect(told.rejected.length).toBeLessThan(0.05 * messagesOf(file).length)
  })
})
