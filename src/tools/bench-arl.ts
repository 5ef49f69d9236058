/**
 * Whether the charts keep what they promise: `npm run bench:arl [-- <runs>]`. Seeded simulation; prints and judges nothing.
 * (a) designed against achieved run length in control of Shewhart, EWMA and CUSUM charts with known parameters
 *     and of the default chart set as a whole
 * (b) share of process charts, each on a baseline it learned itself, that keep the run length promised; autocorrelation 0 to 0.9
 * (c) delay of the default chart set against the best single CUSUM of the same run length, shifts of 0.5 to 3 sigma: with
 *     known parameters, and both on the same learned baselines, limits widened alike
 */
import { createCusum, stepCusum, type CusumDesign } from '../spc/cusum-chart.js'
import { cusumLimit, ewmaLimit, shewhartLimit } from '../spc/design-limits.js'
import { createEwma, stepEwma } from '../spc/ewma-chart.js'
import { guaranteedLimits } from '../spc/guaranteed-limits.js'
import { createProcessChart, stepProcessChart, type ProcessChartDesign, type ProcessChartSink, type ProcessChartState } from '../spc/process-chart.js'
import { cusumArl } from '../spc/run-length-cusum.js'

const RUNS = Math.max(20, Number(process.argv[2] ?? 60))
const SHIFTS = [0.5, 1, 1.5, 2, 3]
const MINUTE = 60_000

/** Normal values from a seed (mulberry32 and the polar method). */
function normalSource(seed: number): () => number {
  let state = seed | 0
  const uniform = (): number => {
    state = (state + 0x6d2b79f5) | 0
    let t = Math.imul(state ^ (state >>> 15), 1 | state)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return (((t ^ (t >>> 14)) >>> 0) + 0.5) / 4294967296
  }
  return () => {
    for (;;) {
      const a = 2 * uniform() - 1
      const b = 2 * uniform() - 1
      const r = a * a + b * b
      if (r > 0 && r < 1) return a * Math.sqrt((-2 * Math.log(r)) / r)
    }
  }
}

function meanAndError(values: readonly number[]): { readonly mean: number; readonly se: number } {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0)
  return { mean, se: Math.sqrt(squares / (values.length - 1) / values.length) }
}

function row(...cells: readonly (string | number)[]): void {
  console.log(cells.map((cell) => (typeof cell === 'number' ? (Number.isInteger(cell) ? String(cell) : cell.toPrecision(4)) : cell).padStart(16)).join(''))
}

function knownParameters(): void {
  const arl0 = 500
  const runs = RUNS * 150
  console.log(`\n(a) known parameters, independent values, ${runs} runs each: designed against achieved`)
  row('chart', 'limit', 'designed', 'achieved', 'std. error', 'ratio')
  const charts: [string, number, () => (value: number) => boolean][] = []
  const shewhart = shewhartLimit(arl0)
  charts.push(['shewhart', shewhart, () => (value) => Math.abs(value) > shewhart])
  for (const lambda of [0.1, 0.2]) {
    const design = { centre: 0, sigma: 1, lambda, limit: ewmaLimit(lambda, arl0), limits: 'fixed' } as const
    charts.push([`ewma:${lambda}`, design.limit, () => {
      const state = createEwma(design)
      return (value) => stepEwma(state, design, value).beyond !== 'none'
    }])
  }
  for (const k of [0.25, 0.5, 1]) {
    const design = { centre: 0, sigma: 1, k, h: cusumLimit(k, arl0) }
    charts.push([`cusum:${k}`, design.h, () => {
      const state = createCusum(design)
      return (value) => {
        const { up, down } = stepCusum(state, design, value)
        return up.beyond !== 'none' || down.beyond !== 'none'
      }
    }])
  }
  charts.forEach(([name, limit, create], i) => {
    const normal = normalSource(100 + i)
    const lengths = Array.from({ length: runs }, () => {
      const signals = create()
      let length = 1
      while (!signals(normal())) length++
      return length
    })
    const { mean, se } = meanAndError(lengths)
    row(name, limit, arl0, mean, se, mean / arl0)
  })
}

/** A process chart fed until its limits are frozen; counts the signals after that. */
interface Learned {
  readonly state: ProcessChartState
  readonly next: () => number
  time: number
}

class SignalCounter implements ProcessChartSink {
  starts = 0
  point(): void {}
  ruleHit(): void {}
  baseline(): void {}
  signal({ phase }: { readonly phase: string }): void {
    if (phase === 'start') this.starts++
  }
}

/** Feeds a new chart until its limits are frozen, or for 20,000 values. */
function learn(design: ProcessChartDesign, phi: number, seed: number): Learned {
  const normal = normalSource(seed)
  const noise = Math.sqrt(1 - phi * phi)
  let x = normal()
  const learned: Learned = { state: createProcessChart(design), next: () => (x = phi * x + noise * normal()), time: 0 }
  const sink = new SignalCounter()
  while (learned.time < 20_000 && (learned.state.learned !== null || learned.state.signal !== null)) stepProcessChart(design, learned.state, learned.time++ * MINUTE, learned.next(), sink)
  return learned
}

const DESIGN: ProcessChartDesign = { kind: 'individuals', arl0: 5000, baselineTarget: 300, baselineMin: 30, charts: ['shewhart', 'cusum'], sigmaFloor: 0.001 }

/** Run lengths promised that every learned chart is watched for. */
const WATCHED = 40

function learnedBaselines(): void {
  const horizon = WATCHED * DESIGN.arl0
  console.log(`\n(b) process chart, promised ${DESIGN.arl0} points between false signals, ${RUNS} learned baselines each, every one watched for ${horizon} points`)
  console.log(`    kept: at most the ${WATCHED} signals promised in that time; with the standard error of the share`)
  row('lag-1', 'values learned', 'still learning', 'batches', 'points/signal', 'unlucky tenth', 'kept', 'std. error')
  for (const phi of [0, 0.3, 0.5, 0.7, 0.9]) {
    const counts: number[] = []
    let stillLearning = 0
    let values = 0
    let batched = 0
    for (let run = 0; run < RUNS; run++) {
      const learned = learn(DESIGN, phi, 10_000 + run)
      if (learned.state.learned !== null) stillLearning++
      if (learned.state.batch > 1) batched++
      values += learned.time / RUNS
      const sink = new SignalCounter()
      for (let i = 0; i < horizon; i++) stepProcessChart(DESIGN, learned.state, learned.time++ * MINUTE, learned.next(), sink)
      counts.push(sink.starts)
    }
    counts.sort((a, b) => a - b)
    const total = counts.reduce((sum, count) => sum + count, 0)
    const kept = counts.filter((count) => count <= WATCHED).length / RUNS
    const unlucky = counts[Math.ceil(0.9 * RUNS) - 1]!
    row(phi, Math.round(values), stillLearning, batched, total === 0 ? `> ${horizon * RUNS}` : Math.round((horizon * RUNS) / total), unlucky === 0 ? `> ${horizon}` : Math.round(horizon / unlucky), `${(100 * kept).toFixed(1)} %`, `${(100 * Math.sqrt((kept * (1 - kept)) / RUNS)).toFixed(1)} %`)
  }
}

const DELAY_ARL0 = 100_000
const RIVALS = [0.8, 1, 1.2, 1.5]

/** A chart set whose parameters are known: centre 0, sigma 1. */
function knownChart(design: ProcessChartDesign): ProcessChartState {
  const state = createProcessChart(design)
  state.model = { centre: 0, sigma: 1, prediction: null, lagOne: 0, n: 1e9, df: 0, flat: false }
  state.limited = true
  state.status = 'accepted'
  state.learned = null
  return state
}

function chartSetRunLength(): void {
  row('chart set', 'limit', 'designed', 'achieved', 'std. error', 'ratio')
  for (const arl0 of [500, 5000]) {
    const design = { ...DESIGN, arl0 }
    const normal = normalSource(900 + arl0)
    const lengths = Array.from({ length: RUNS * 15 }, () => {
      const state = knownChart(design)
      const sink = new SignalCounter()
      let length = 0
      while (sink.starts === 0) stepProcessChart(design, state, length++ * MINUTE, normal(), sink)
      return length
    })
    const { mean, se } = meanAndError(lengths)
    row('whole set', '-', arl0, mean, se, mean / arl0)
  }
}

/** Points from the shift to the signal of a chart set in its steady state, or undefined where it signalled before. */
function delayOf(design: ProcessChartDesign, learned: Learned, shift: number, rivals: readonly CusumDesign[]): { readonly set: number; readonly rivals: number[] } | undefined {
  const sink = new SignalCounter()
  const sums = rivals.map((rival) => ({ rival, state: createCusum(rival), delay: 0 }))
  let set = 0
  for (let i = -200; i < 20_000; i++) {
    const value = learned.next() + (i >= 0 ? shift : 0)
    if (set === 0) stepProcessChart(design, learned.state, learned.time++ * MINUTE, value, sink)
    if (i < 0 && sink.starts > 0) return undefined
    if (set === 0 && sink.starts > 0) set = i + 1
    for (const sum of sums) {
      if (sum.delay > 0) continue
      const { up, down } = stepCusum(sum.state, sum.rival, value)
      if (up.beyond === 'none' && down.beyond === 'none') continue
      if (i >= 0) sum.delay = i + 1
      else sum.state = createCusum(sum.rival)
    }
    if (set > 0 && sums.every(({ delay }) => delay > 0)) break
  }
  return { set, rivals: sums.map(({ delay }) => delay) }
}

function delays(): void {
  const design = { ...DESIGN, arl0: DELAY_ARL0 }
  console.log(`\n(c) mean points to the signal after a lasting shift, run length ${DELAY_ARL0}, independent values, ${RUNS * 10} runs with known parameters, ${RUNS} learned baselines of ${design.baselineTarget}`)
  console.log('    best CUSUM: tuned to that very shift; on a learned baseline the best of four, with limits for that baseline as the set has them')
  row('shift', 'known: set', 'std. error', 'best cusum', 'ratio', 'learned: set', 'std. error', 'best cusum', 'ratio')
  for (const shift of SHIFTS) {
    const best = Math.min(...RIVALS.map((factor) => (shift / 2) * factor).map((k) => cusumArl({ k, h: cusumLimit(k, DELAY_ARL0) }, { shift, start: 'steady-state' })))
    const known: number[] = []
    for (let run = 0; run < RUNS * 10; run++) {
      const delay = delayOf(design, { state: knownChart(design), next: normalSource(70_000 + run), time: 0 }, shift, [])
      if (delay !== undefined) known.push(delay.set)
    }
    const sets: number[] = []
    const rivals: number[][] = RIVALS.map(() => [])
    for (let run = 0; run < RUNS; run++) {
      const learned = learn(design, 0, 50_000 + run)
      const { centre, sigma, lagOne, n } = learned.state.model!
      const errors = { valueCount: n, spreadCount: n - 1, lagLeft: Math.max(0, lagOne), lagError: 1 / Math.sqrt(n) }
      const charts = RIVALS.map((factor) => {
        const k = (shift / 2) * factor
        const [h] = guaranteedLimits(DELAY_ARL0, [{ chart: { kind: 'cusum', k }, share: 1, guess: cusumLimit(k, DELAY_ARL0) }], errors)
        return { centre, sigma, k, h: h! }
      })
      const delay = delayOf(design, learned, shift, charts)
      if (delay === undefined) continue
      sets.push(delay.set)
      delay.rivals.forEach((length, i) => rivals[i]!.push(length))
    }
    const set = meanAndError(known)
    const learnedSet = meanAndError(sets)
    const bestLearned = Math.min(...rivals.map((lengths) => meanAndError(lengths).mean))
    row(shift, set.mean, set.se, best, set.mean / best, learnedSet.mean, learnedSet.se, bestLearned, learnedSet.mean / bestLearned)
  }
}

knownParameters()
chartSetRunLength()
learnedBaselines()
delays()
