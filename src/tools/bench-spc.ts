/**
 * What the statistics cost, side by side: `npm run bench:spc`. Prints medians of alternating rounds; judges nothing.
 * (a) per reading: window, process chart with rules and CUSUMs, spread chart - against JSON.parse of the reading
 * (b) streaming against recomputing the window with simple-statistics
 * (c) 10, 1,000 and 100,000 channels in turn, and bytes per channel
 */
import { mean, standardDeviation } from 'simple-statistics'
import { createEwma, stepEwma, type EwmaDesign, type EwmaState } from '../spc/ewma-chart.js'
import { createProcessChart, stepProcessChart, type ProcessChartDesign, type ProcessChartSink, type ProcessChartState } from '../spc/process-chart.js'
import { createSpread, stepSpread, type SpreadDesign, type SpreadState } from '../spc/spread-chart.js'

const WINDOW = 60
const ROUNDS = 9
const DESIGN: ProcessChartDesign = { kind: 'individuals', arl0: 600_000, baselineTarget: 300, baselineMin: 30, charts: ['shewhart', 'cusum'], sigmaFloor: 0.001 }
const EWMA: EwmaDesign = { centre: 181.5, sigma: 0.05, lambda: 0.2, limit: 4.7, limits: 'fixed' }
const SPREAD: SpreadDesign = { sigma: 0.4, windowSize: WINDOW, lambda: 0.2, limit: 4.69 }

/** The running window of a channel: all that a reading touches. */
interface Window {
  count: number
  mean: number
  squares: number
}

/** The charts of a channel, touched once a window; kept apart from the windows, as the line's features and charts are. */
interface Charts {
  readonly chart: ProcessChartState
  readonly ewma: EwmaState
  readonly spread: SpreadState
}

let emitted = 0
const sink: ProcessChartSink = { point: () => void emitted++, ruleHit: () => void emitted++, signal: () => void emitted++, baseline: () => undefined }

interface Channel {
  readonly window: Window
  readonly charts: Charts
}

function createChannel(): Channel {
  return { window: { count: 0, mean: 0, squares: 0 }, charts: { chart: createProcessChart(DESIGN), ewma: createEwma(EWMA), spread: createSpread(SPREAD) } }
}

function takeReading(window: Window, { chart, ewma, spread }: Charts, timeMs: number, value: number): void {
  window.count++
  const delta = value - window.mean
  window.mean += delta / window.count
  window.squares += delta * (value - window.mean)
  if (window.count < WINDOW) return
  stepProcessChart(DESIGN, chart, timeMs, window.mean, sink)
  stepEwma(ewma, EWMA, window.mean)
  stepSpread(spread, SPREAD, Math.sqrt(window.squares / (WINDOW - 1)))
  window.count = 0
  window.mean = 0
  window.squares = 0
}

/** Normal values, made beforehand so that making them is not measured. */
const values = new Float64Array(1 << 16)
let seed = 12345
const uniform = (): number => {
  seed = (Math.imul(seed, 1664525) + 1013904223) | 0
  return ((seed >>> 0) + 0.5) / 4294967296
}
for (let i = 0; i < values.length; i++) values[i] = 181.5 + 0.4 * Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform())

function learnedChannel(): Channel {
  const channel = createChannel()
  for (let i = 0; i < 400 * WINDOW; i++) takeReading(channel.window, channel.charts, i * 1000, values[i & 0xffff]!)
  return channel
}

function nsPer(count: number, work: (count: number) => void): number {
  const begin = process.hrtime.bigint()
  work(count)
  return Number(process.hrtime.bigint() - begin) / count
}

function median(numbers: readonly number[]): number {
  return [...numbers].sort((a, b) => a - b)[numbers.length >> 1]!
}

/** Runs the contestants in turn, round after round, the order reversed each time. */
function compare(contestants: Record<string, () => number>): Record<string, number> {
  const names = Object.keys(contestants)
  const results: Record<string, number[]> = Object.fromEntries(names.map((name) => [name, []]))
  for (const name of names) contestants[name]!()
  for (let round = 0; round < ROUNDS; round++) for (const name of round % 2 === 0 ? names : [...names].reverse()) results[name]!.push(contestants[name]!())
  return Object.fromEntries(names.map((name) => [name, median(results[name]!)]))
}

let clock = 400 * WINDOW
let checksum = 0
const channel = learnedChannel()
const text = '{"t":1700000000000,"v":181.53}'

const perReading = compare({
  'full step per reading': () => nsPer(600_000, (n) => { for (let i = 0; i < n; i++) takeReading(channel.window, channel.charts, ++clock * 1000, values[i & 0xffff]!) }),
  'process chart per value': () => nsPer(60_000, (n) => { for (let i = 0; i < n; i++) stepProcessChart(DESIGN, channel.charts.chart, (clock += WINDOW) * 1000, 181.5 + (values[i & 0xffff]! - 181.5) / 8, sink) }),
  'JSON.parse per reading': () => nsPer(200_000, (n) => { for (let i = 0; i < n; i++) checksum += (JSON.parse(text) as { v: number }).v }),
})
/** Mean and standard deviation of a sliding window of the given length, computed afresh at every reading. */
function recompute(length: number): () => number {
  const window: number[] = Array.from(values.subarray(0, length))
  let next = 0
  return () => nsPer(Math.round(1_200_000 / length), (n) => {
    for (let i = 0; i < n; i++) {
      window[(next = (next + 1) % length)] = values[i & 0xffff]!
      checksum += mean(window) + standardDeviation(window)
    }
  })
}
const recomputing = compare({
  streaming: () => nsPer(600_000, (n) => { for (let i = 0; i < n; i++) takeReading(channel.window, channel.charts, ++clock * 1000, values[i & 0xffff]!) }),
  'simple-statistics, 60': recompute(60),
  'simple-statistics, 300': recompute(300),
  'simple-statistics, 600': recompute(600),
})

/**
 * As many channels as asked for, all past their learning: copies of one through its stored form, as after a restart.
 * Their windows end one after the other, so that every round holds its share of charted values.
 */
const storedWindow = JSON.stringify(channel.window)
const storedCharts = JSON.stringify(channel.charts)
function inTurn(count: number): { ns: () => number; bytes: number } {
  const before = heapUsed()
  const windows = Array.from({ length: count }, () => JSON.parse(storedWindow) as Window)
  const charts = Array.from({ length: count }, () => JSON.parse(storedCharts) as Charts)
  const bytes = (heapUsed() - before) / count
  windows.forEach((window, i) => Object.assign(window, { count: i % WINDOW, mean: 181.5, squares: 0.16 * (i % WINDOW) }))
  let at = 0
  let timeMs = clock * 1000
  return { bytes, ns: () => nsPer(600_000, (n) => { for (let i = 0; i < n; i++) { takeReading(windows[at]!, charts[at]!, (timeMs += 1), values[i & 0xffff]!); if (++at === count) at = 0 } }) }
}
function heapUsed(): number {
  ;(globalThis as { gc?: () => void }).gc?.()
  return process.memoryUsage().heapUsed
}
const fleets = { '10': inTurn(10), '1,000': inTurn(1000), '100,000': inTurn(100_000) }
const scaling = compare(Object.fromEntries(Object.entries(fleets).map(([name, fleet]) => [name, fleet.ns])))

const line = (label: string, ns: number, note = ''): void => console.log(`${label.padEnd(28)}${ns.toFixed(1).padStart(10)} ns  ${note}`)
console.log(`median of ${ROUNDS} alternating rounds, windows of ${WINDOW} readings`)
console.log('(a) against parsing')
for (const [name, ns] of Object.entries(perReading)) line(name, ns)
console.log(`    full step / JSON.parse = ${(perReading['full step per reading']! / perReading['JSON.parse per reading']!).toFixed(3)}`)
console.log('(b) against recomputing mean and sd of the window at every reading')
for (const [name, ns] of Object.entries(recomputing)) line(name, ns)
for (const length of [60, 300, 600]) console.log(`    recomputing / streaming = ${(recomputing[`simple-statistics, ${length}`]! / recomputing['streaming']!).toFixed(0)} for a window of ${length} readings`)
console.log('(c) channels in turn')
for (const [name, ns] of Object.entries(scaling)) line(`${name} channels`, ns)
console.log(`    100,000 / 10 = ${(scaling['100,000']! / scaling['10']!).toFixed(2)}`)
console.log(`    stored state ${storedWindow.length + storedCharts.length} bytes of JSON a channel, process chart alone ${JSON.stringify(channel.charts.chart).length}; heap at 100,000 channels ${fleets['100,000'].bytes.toFixed(0)} bytes each`)
if (!Number.isFinite(checksum + emitted)) throw new Error('benchmark: results are not finite')
