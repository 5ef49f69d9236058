/**
 * What the statistics cost, side by side: `npm run bench:spc`. Prints medians of alternating rounds; judges nothing.
 *
 * The step is the whole way of a reading of one channel: the sums of its window, and at the window's end the mean through
 * the process chart (Shewhart, four rules, CUSUMs, signal) and an EWMA, the standard deviation through the ln S² chart.
 * (a) a reading against JSON.parse of its payload
 * (b) the same against recomputing the window with simple-statistics at every reading
 * (c) 10, 1,000 and 100,000 channels in turn beside a bare walk over as many bytes, and bytes of state per channel
 */
import { linearRegression, linearRegressionLine, mean } from 'simple-statistics'
import { minutesIntoSlot, SLOT_MS } from '../line/features/feature-spec.js'
import { addValue, clearMoments, createMoments, meanOf, readingCount, varianceAboutLine, type TrendMoments } from '../line/features/trend-moments.js'
import { createEwma, stepEwma, type EwmaDesign, type EwmaState } from '../spc/ewma-chart.js'
import { createProcessChart, stepProcessChart, type ProcessChartDesign, type ProcessChartSink, type ProcessChartState } from '../spc/process-chart.js'
import { createSpread, stepSpread, type SpreadDesign, type SpreadState } from '../spc/spread-chart.js'

/** Readings in a window of (a) and (c): ten minutes at one in ten seconds. The faster channels of a line step their charts less often. */
const WINDOW = 60
const ROUNDS = 9
const LEARNED_WINDOWS = 400
const DESIGN: ProcessChartDesign = { kind: 'individuals', arl0: 600_000, baselineTarget: 300, baselineMin: 30, charts: ['shewhart', 'cusum'], sigmaFloor: 0.001 }
const EWMA: EwmaDesign = { centre: 181.5, sigma: 0.05, lambda: 0.2, limit: 4.7, limits: 'fixed' }
const SPREAD: SpreadDesign = { sigma: 0.4, windowSize: WINDOW, lambda: 0.2, limit: 4.69 }

let emitted = 0
let checksum = 0
const sink: ProcessChartSink = { point: () => void emitted++, ruleHit: () => void emitted++, signal: () => void emitted++, baseline: () => undefined }

/** Touched once a window; kept apart from the windows, as the charts of a line are. */
interface Charts {
  readonly chart: ProcessChartState
  readonly ewma: EwmaState
  readonly spread: SpreadState
}

function createCharts(): Charts {
  return { chart: createProcessChart(DESIGN), ewma: createEwma(EWMA), spread: createSpread(SPREAD) }
}

function stepCharts({ chart, ewma, spread }: Charts, timeMs: number, windowMean: number, windowSd: number): void {
  stepProcessChart(DESIGN, chart, timeMs, windowMean, sink)
  stepEwma(ewma, EWMA, windowMean)
  stepSpread(spread, SPREAD, windowSd)
}

/** @returns whether the window is full: then its charts are to be stepped */
function takeReading(window: TrendMoments, timeMs: number, value: number, length = WINDOW): boolean {
  addValue(window, minutesIntoSlot(timeMs), value)
  return readingCount(window) >= length
}

function endWindow(window: TrendMoments, charts: Charts, timeMs: number): void {
  stepCharts(charts, timeMs, meanOf(window), Math.sqrt(varianceAboutLine(window)))
  clearMoments(window)
}

/** Normal values, made beforehand so that making them is not measured. */
const values = new Float64Array(1 << 16)
let seed = 12345
const uniform = (): number => {
  seed = (Math.imul(seed, 1664525) + 1013904223) | 0
  return ((seed >>> 0) + 0.5) / 4294967296
}
for (let i = 0; i < values.length; i++) values[i] = 181.5 + 0.4 * Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform())

/** One channel, reading after reading, windows of `length` readings filling ten minutes each. */
class Stream {
  readonly window = createMoments()
  readonly charts = createCharts()
  private timeMs = 0
  private taken = 0

  constructor(private readonly length = WINDOW) {
    this.run(LEARNED_WINDOWS * length)
  }

  run(count: number): void {
    const { window, charts, length } = this
    const periodMs = SLOT_MS / length
    let { timeMs, taken } = this
    for (let i = 0; i < count; i++) {
      timeMs += periodMs
      if (takeReading(window, timeMs, values[taken++ & 0xffff]!, length)) endWindow(window, charts, timeMs)
    }
    this.timeMs = timeMs
    this.taken = taken
  }
}

/** The same answers at every reading from the readings of the window so far, with simple-statistics. */
class Recomputing {
  readonly charts = createCharts()
  /** Minutes and values of the window so far. */
  private readonly points: number[][] = []
  private readonly window: number[] = []
  private timeMs = 0
  private taken = 0

  constructor(private readonly length: number) {
    const learned = new Stream(length)
    Object.assign(this.charts, JSON.parse(JSON.stringify(learned.charts)))
  }

  run(count: number): void {
    const { window, points } = this
    for (let i = 0; i < count; i++) {
      this.timeMs += SLOT_MS / this.length
      const value = values[this.taken++ & 0xffff]!
      points.push([minutesIntoSlot(this.timeMs), value])
      window.push(value)
      const { mean: windowMean, variance } = recomputed(points, window)
      checksum += windowMean + variance
      if (window.length < this.length) continue
      stepCharts(this.charts, this.timeMs, windowMean, Math.sqrt(variance))
      window.length = points.length = 0
    }
  }
}

/** Mean, and variance about the straight line that fits best, of the readings there are. */
function recomputed(points: number[][], window: number[]): { mean: number; variance: number } {
  const line = linearRegressionLine(linearRegression(points))
  let squares = 0
  for (const [minutes, value] of points) squares += (value! - line(minutes!)) ** 2
  return { mean: mean(window), variance: window.length < 3 ? 0 : squares / (window.length - 2) }
}

/** Both ways must say the same, or the comparison would be of different things. */
function checkSameAnswers(): void {
  const window = createMoments()
  const points: number[][] = []
  const readings: number[] = []
  for (let i = 0; i < 600; i++) {
    const timeMs = i * 1000
    takeReading(window, timeMs, values[i]!)
    points.push([timeMs / 60_000, values[i]!])
    readings.push(values[i]!)
    const again = recomputed(points, readings)
    if (Math.abs(again.mean - meanOf(window)) > 1e-9 || Math.abs(again.variance - varianceAboutLine(window)) > 1e-6) throw new Error(`benchmark: after ${i + 1} readings the sums and the recomputed window differ`)
  }
}

function nsPer(count: number, work: () => void): number {
  const begin = process.hrtime.bigint()
  work()
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

const line = (label: string, ns: number, note = ''): void => console.log(`${label.padEnd(44)}${ns.toFixed(1).padStart(10)} ns  ${note}`)

function benchParsing(): void {
  const stream = new Stream()
  const text = '{"t":1700000000000,"v":181.53}'
  let timeMs = (LEARNED_WINDOWS + 1e6) * SLOT_MS
  const costs = compare({
    'full step per reading': () => nsPer(600_000, () => stream.run(600_000)),
    'JSON.parse per reading': () => nsPer(200_000, () => { for (let i = 0; i < 200_000; i++) checksum += (JSON.parse(text) as { v: number }).v }),
  })
  const alone = compare({ 'of which process chart, per charted value': () => nsPer(60_000, () => { for (let i = 0; i < 60_000; i++) stepProcessChart(DESIGN, stream.charts.chart, (timeMs += SLOT_MS), 181.5 + (values[i & 0xffff]! - 181.5) / 8, sink) }) })
  console.log(`(a) against parsing, windows of ${WINDOW} readings`)
  for (const [name, ns] of Object.entries({ ...costs, ...alone })) line(name, ns)
  console.log(`    full step / JSON.parse = ${(costs['full step per reading']! / costs['JSON.parse per reading']!).toFixed(3)}`)
}

function benchRecomputing(): void {
  checkSameAnswers()
  console.log('(b) full step against recomputing mean and variance about the line of the window so far at every reading;')
  console.log('    most channels of a line give 120 readings a window, the fast ones 600')
  for (const length of [60, 120, 600]) {
    const stream = new Stream(length)
    const again = new Recomputing(length)
    const few = Math.ceil(120_000 / length) * length
    const costs = compare({ sums: () => nsPer(600_000, () => stream.run(600_000)), again: () => nsPer(few, () => again.run(few)) })
    line(`windows of ${length} readings: sums`, costs['sums']!)
    line(`windows of ${length} readings: recomputed`, costs['again']!, `${(costs['again']! / costs['sums']!).toFixed(0)} times`)
  }
}

function heapUsed(): number {
  ;(globalThis as { gc?: () => void }).gc?.()
  return process.memoryUsage().heapUsed
}

/** Stored forms of one channel after its learning, window after window, so that no two charts of a fleet need stand at the same point. */
const stored: string[] = []
function storeForms(): void {
  const stream = new Stream()
  for (let i = 0; i < 64; i++) {
    stream.run(WINDOW)
    stored.push(JSON.stringify(stream.charts))
  }
}

/** A row of sums and the pointer to it. */
const WINDOW_BYTES = 112

/** Channels past their learning, visited in turn. */
class Fleet {
  readonly bytes: number
  private readonly windows: TrendMoments[]
  private readonly charts: Charts[]
  private at = 0
  private taken = 0
  private timeMs: number

  constructor(count: number) {
    const before = heapUsed()
    this.windows = Array.from({ length: count }, () => JSON.parse('[0,0.5,0,0,0,0,0]') as TrendMoments)
    this.charts = Array.from({ length: count }, (_, i) => JSON.parse(stored[(i * 7) % stored.length]!) as Charts)
    this.bytes = (heapUsed() - before) / count
    this.timeMs = (LEARNED_WINDOWS + stored.length + 1) * SLOT_MS
  }

  /** @param phases 1: all windows end in the same round, as those of a line do; `WINDOW`: one after the other */
  begin(phases: number): void {
    this.at = 0
    this.windows.forEach((window, i) => {
      clearMoments(window)
      for (let n = i % phases; n > 0; n--) addValue(window, n / 6, values[n]!)
    })
  }

  run(readings: number): void {
    const { windows, charts } = this
    let { at, timeMs, taken } = this
    for (let i = 0; i < readings; i++) {
      const window = windows[at]!
      if (takeReading(window, timeMs, values[taken++ & 0xffff]!)) endWindow(window, charts[at]!, timeMs)
      if (++at < windows.length) continue
      at = 0
      timeMs += SLOT_MS / WINDOW
    }
    this.at = at
    this.timeMs = timeMs
    this.taken = taken
  }
}

/** The least that memory asks for: of as many bytes one number in each 64, read and written, a window's at every reading and the charts' once a window. */
class Walk {
  private readonly windows: Float64Array
  private readonly charts: Float64Array
  private readonly chartLines: number
  private at = 0
  private round = 0

  constructor(private readonly count: number, private readonly phases: number, bytes: number) {
    this.chartLines = Math.round((bytes - WINDOW_BYTES) / 64)
    this.windows = new Float64Array((count * WINDOW_BYTES) / 8)
    this.charts = new Float64Array(count * this.chartLines * 8)
  }

  run(readings: number): void {
    const { windows, charts, chartLines, count, phases } = this
    let { at, round } = this
    for (let i = 0; i < readings; i++) {
      const from = (at * WINDOW_BYTES) / 8
      windows[from]! += 1
      windows[from + 8]! += 1
      if ((round + (at % phases)) % WINDOW === 0) for (let k = 0; k < chartLines; k++) charts[8 * (at * chartLines + k)]! += 1
      if (++at < count) continue
      at = 0
      round++
    }
    this.at = at
    this.round = round
  }
}

const COUNTS: Record<string, number> = { '10': 10, '1,000': 1000, '100,000': 100_000 }

function benchInTurn(): void {
  storeForms()
  const whole = 100_000 * WINDOW
  const row = (name: string, fleets: Record<string, { run(readings: number): void }>): void => {
    const costs = compare(Object.fromEntries(Object.entries(fleets).map(([count, fleet]) => [count, () => nsPer(whole, () => fleet.run(whole))])))
    console.log(`${name.padEnd(44)}${Object.values(costs).map((ns) => ns.toFixed(1).padStart(10)).join('')}${(costs['100,000']! / costs['10']!).toFixed(2).padStart(10)}`)
  }
  const each = <Kind>(make: (count: number) => Kind): Record<string, Kind> => Object.fromEntries(Object.entries(COUNTS).map(([name, count]) => [name, make(count)]))
  console.log(`(c) channels in turn, ns per reading${Object.keys(COUNTS).map((name) => name.padStart(name === '10' ? 18 : 10)).join('')}  last/first`)
  // One fleet for both: a second one would fill the holes that the first leaves in the heap, and lie scattered.
  const fleets = each((count) => new Fleet(count))
  const { bytes } = fleets['100,000']!
  for (const [ending, phases] of [['together, as a line\'s do', 1], ['one after the other', WINDOW]] as const) {
    for (const fleet of Object.values(fleets)) fleet.begin(phases)
    row(`windows that end ${ending}`, fleets)
    row('  bare walk over as many bytes', each((count) => new Walk(count, phases, bytes)))
  }
  const { chart } = JSON.parse(stored[0]!) as Charts
  console.log(`    heap at 100,000 channels ${bytes.toFixed(0)} bytes each; stored ${stored[0]!.length} bytes of JSON, of which process chart ${JSON.stringify(chart).length}`)
}

console.log(`median of ${ROUNDS} alternating rounds`)
benchParsing()
benchRecomputing()
benchInTurn()
if (!Number.isFinite(checksum + emitted)) throw new Error('benchmark: results are not finite')
