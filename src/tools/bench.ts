/**
 * What the parts cost, side by side in one run: `npm run bench`. Medians of alternating rounds; judges nothing. Figures
 * of one run are to be compared with each other only.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { cpus, tmpdir } from 'node:os'
import { join } from 'node:path'
import { openSqliteLineStore } from '../adapters/sqlite/sqlite-line-store.js'
import { parseLineDefinition, type LineDefinition } from '../line/line-definition.js'
import { createLineMonitor } from '../monitor/line-monitor.js'
import type { LineEvent } from '../monitor/line-event.js'
import { LineRuntime } from '../runtime/line-runtime.js'
import { demoConfig, samplesAsMessage } from '../simulator/demo-line.js'
import { describeLine } from '../simulator/line-description.js'
import { createSimulation } from '../simulator/simulation.js'
import { createProcessChart, stepProcessChart, type ProcessChartDesign, type ProcessChartSink, type ProcessChartState } from '../spc/process-chart.js'

const ROUNDS = 3
const HOURS = 30
const START_MS = Date.UTC(2026, 0, 5)
const TOPIC = 'wave-solder/north-1/telemetry'

interface Way {
  readonly name: string
  /** Does the work once. @returns readings, or steps, it was for */
  readonly run: () => number | Promise<number>
}

/** Seconds per reading of each way: the median of rounds whose order is reversed each time. */
async function compare(ways: readonly Way[]): Promise<Map<string, number>> {
  const seconds = new Map<string, number[]>(ways.map(({ name }) => [name, []]))
  for (let round = 0; round <= ROUNDS; round += 1) {
    for (const { name, run } of round % 2 === 0 ? ways : ways.toReversed()) {
      const beginMs = performance.now()
      const count = await run()
      // The first round warms up.
      if (round > 0) seconds.get(name)?.push((performance.now() - beginMs) / 1000 / count)
    }
  }
  return new Map([...seconds].map(([name, all]) => [name, all.toSorted((a, b) => a - b)[Math.floor(all.length / 2)] ?? 0]))
}

function row(...cells: readonly (string | number)[]): void {
  console.log(`${String(cells[0]).padEnd(52)}${cells.slice(1).map((cell) => String(cell).padStart(17)).join('')}`)
}

const whole = (value: number): string => Math.round(value).toLocaleString('en-US')

function trace(): { readonly definition: LineDefinition; readonly combined: string[]; readonly single: { readonly topic: string; readonly payload: string }[]; readonly readingCount: number } {
  const config = { ...demoConfig({ seed: 5, line: 'faulty', startMs: START_MS }), durationHours: HOURS }
  const parsed = parseLineDefinition(describeLine(config, { line: 'north-1' }))
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  const simulation = createSimulation(config)
  const combined: string[] = []
  const single: { topic: string; payload: string }[] = []
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    combined.push(samplesAsMessage(sample))
    for (const [channel, value] of sample.values) single.push({ topic: `${TOPIC}/${channel}`, payload: JSON.stringify({ t: sample.timeMs, v: value }) })
  }
  return { definition: parsed.definition, combined, single, readingCount: single.length }
}

/** The monitor of the whole line over messages, without a journal. */
function monitorOver(definition: LineDefinition, messages: readonly { readonly topic: string; readonly payload: string }[]): number {
  const monitor = createLineMonitor(definition)
  let points = 0
  messages.forEach(({ topic, payload }, index) => monitor.step({ kind: 'message', topic, payload, seq: index + 1, receivedMs: START_MS } as LineEvent, (output) => {
    if (output.kind === 'point') points += 1
  }))
  return points
}

/** Journal, commit, step, outputs committed: all of it on a file of its own. */
async function runtimeOver(definition: LineDefinition, messages: readonly { readonly topic: string; readonly payload: string }[]): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'bench-'))
  const store = openSqliteLineStore({ folder })
  const line = LineRuntime.open({ line: definition.line, definition, store, clock: { nowMs: () => Date.now() }, createMonitor: createLineMonitor })
  for (let at = 0; at < messages.length; at += 2000) await Promise.all(messages.slice(at, at + 2000).map(({ topic, payload }) => line.submit({ kind: 'message', topic, payload })))
  await line.close()
  store.close()
  rmSync(folder, { recursive: true, force: true })
}

async function benchReadings(): Promise<void> {
  const { definition, combined, single, readingCount } = trace()
  const ticks = combined.map((payload) => ({ topic: TOPIC, payload }))
  let parsedCount = 0
  const parseAll = (payloads: readonly string[]): number => {
    for (const payload of payloads) parsedCount += (JSON.parse(payload) as { t: number }).t > 0 ? 1 : 0
    return readingCount
  }
  const singlePayloads = single.map(({ payload }) => payload)
  const costs = await compare([
    { name: 'JSON.parse alone, one reading a message', run: () => parseAll(singlePayloads) },
    { name: 'telemetry to suggestions, one reading a message', run: () => (monitorOver(definition, single), readingCount) },
    { name: 'JSON.parse alone, one tick a message', run: () => parseAll(combined) },
    { name: 'telemetry to suggestions, one tick a message', run: () => (monitorOver(definition, ticks), readingCount) },
    { name: 'journal to points on SQLite, one reading a message', run: async () => (await runtimeOver(definition, single), readingCount) },
    { name: 'journal to points on SQLite, one tick a message', run: async () => (await runtimeOver(definition, ticks), readingCount) },
  ])
  row(`${whole(readingCount)} readings of ${HOURS} h of a simulated line`, 'readings/s', 'µs each', '× JSON.parse')
  for (const [name, seconds] of costs) {
    const base = costs.get(name.includes('one tick') ? 'JSON.parse alone, one tick a message' : 'JSON.parse alone, one reading a message') ?? 1
    row(`  ${name}`, whole(1 / seconds), (seconds * 1e6).toFixed(2), (seconds / base).toFixed(2))
  }
  if (parsedCount === 0) throw new Error('benchmark: nothing was parsed')
}

const DESIGN: ProcessChartDesign = { kind: 'individuals', arl0: 600_000, baselineTarget: 300, baselineMin: 30, charts: ['shewhart', 'cusum'], sigmaFloor: 0.001 }

/** Normal values, made beforehand so that making them is not measured. */
function normalValues(count: number): Float64Array {
  let seed = 12345
  const uniform = (): number => {
    seed = (Math.imul(seed, 1_664_525) + 1_013_904_223) >>> 0
    return (seed + 0.5) / 4_294_967_296
  }
  return Float64Array.from({ length: count }, () => 181.5 + 0.4 * Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform()))
}

function heapUsed(): number {
  ;(globalThis as { gc?: () => void }).gc?.()
  return process.memoryUsage().heapUsed
}

async function benchChannels(): Promise<void> {
  const values = normalValues(1 << 16)
  let emitted = 0
  const count = (): void => void (emitted += 1)
  const sink: ProcessChartSink = { point: count, ruleHit: count, signal: count, baseline: count }
  const one = createProcessChart(DESIGN)
  let timeMs = START_MS
  for (let index = 0; index < 400; index += 1) stepProcessChart(DESIGN, one, (timeMs += 60_000), values[index] as number, sink)
  const stored = JSON.stringify(one)
  const sizes = [10, 1_000, 100_000]
  const fleets = sizes.map((size) => {
    const before = heapUsed()
    const charts = Array.from({ length: size }, () => JSON.parse(stored) as ProcessChartState)
    return { size, charts, bytes: (heapUsed() - before) / size }
  })
  const costs = await compare(fleets.map(({ size, charts }) => ({
    name: String(size),
    run: () => {
      const steps = 200_000
      for (let index = 0; index < steps; index += 1) {
        if (index % size === 0) timeMs += 60_000
        stepProcessChart(DESIGN, charts[index % size] as ProcessChartState, timeMs, values[index & 0xffff] as number, sink)
      }
      return steps
    },
  })))
  const base = costs.get('10') ?? 1
  row('process charts in turn (rules, CUSUMs, signal)', 'ns a step', '× 10 channels', 'heap bytes each')
  for (const { size, bytes } of fleets) row(`  ${whole(size)} channels`, ((costs.get(String(size)) ?? 0) * 1e9).toFixed(0), ((costs.get(String(size)) ?? 0) / base).toFixed(2), size < 1000 ? '-' : whole(bytes))
  row('  stored state of one channel, bytes of JSON', whole(stored.length))
  if (emitted === 0) throw new Error('benchmark: no chart said anything')
}

console.log(`median of ${ROUNDS} alternating rounds; Node ${process.version}, ${cpus()[0]?.model ?? 'unknown processor'} × ${cpus().length}`)
await benchReadings()
await benchChannels()
