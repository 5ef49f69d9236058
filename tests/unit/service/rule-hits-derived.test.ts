import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import { runReplay } from '../../../src/service/replay-command.js'
import { drawScenario } from '../../../src/simulator/draw-scenario.js'
import { describeLine } from '../../../src/simulator/line-description.js'
import { createSimulation } from '../../../src/simulator/simulation.js'
import { LONG_FORM_HEADER, longFormRows } from '../../../src/simulator/telemetry-file.js'

// The four rules, written again from their wording and from the points of the file alone: nothing here comes from the
// program's own statistics.

interface Point {
  readonly time: string
  readonly feature: string
  readonly recipe: string
  readonly chart: string
  readonly statistic: number
  readonly centre: number
  readonly sigma: number
  readonly baseline: string
}

interface Hit {
  readonly time: string
  readonly feature: string
  readonly recipe: string
  readonly chart: string
  readonly rule: string
  readonly side: string
  readonly points: readonly string[]
}

interface Baseline {
  readonly time: string
  readonly feature: string
  readonly recipe: string
  readonly sigma: number
}

interface Rule {
  readonly name: string
  /** Of the last `of` points at least `at` lie beyond so many sigmas. */
  readonly of: number
  readonly at: number
  readonly beyondSigma: number
}

const RULES: readonly Rule[] = [
  { name: 'one-beyond-three-sigma', of: 1, at: 1, beyondSigma: 3 },
  { name: 'two-of-three-beyond-two-sigma', of: 3, at: 2, beyondSigma: 2 },
  { name: 'four-of-five-beyond-one-sigma', of: 5, at: 4, beyondSigma: 1 },
  { name: 'eight-on-one-side', of: 8, at: 8, beyondSigma: 0 },
]

/** Charts that carry the rules; sums and adopted limits are judged by their own limit. */
const VALUE_CHARTS = ['individuals', 'residual', 'count']

function derive(points: readonly Point[], baselines: readonly Baseline[]): Hit[] {
  const restarts = new Map<string, string[]>()
  for (const { feature, recipe, sigma, time } of baselines) if (sigma === 0) restarts.set(`${feature} ${recipe}`, [...(restarts.get(`${feature} ${recipe}`) ?? []), time])
  const charts = new Map<string, Point[]>()
  for (const point of points) {
    if (!VALUE_CHARTS.includes(point.chart)) continue
    const key = `${point.feature} ${point.recipe}`
    const series = charts.get(key) ?? []
    series.push(point)
    charts.set(key, series)
  }
  const hits: Hit[] = []
  for (const [key, series] of charts) {
    // Where a chart gave up what it had learned, its points begin anew.
    const cuts = [...(restarts.get(key) ?? []), '9999']
    for (const [index, cut] of cuts.entries()) {
      const after = index === 0 ? '' : (cuts[index - 1] as string)
      hits.push(...hitsOf(series.filter(({ time }) => time > after && time <= cut)))
    }
  }
  return hits
}

function hitsOf(series: readonly Point[]): Hit[] {
  const hits: Hit[] = []
  for (const side of ['above', 'below']) {
    const distances = series.map(({ statistic, centre, sigma }) => ((statistic - centre) / sigma) * (side === 'above' ? 1 : -1))
    for (const { name, of, at, beyondSigma } of RULES) {
      let fulfilledBefore = false
      for (let newest = 0; newest < series.length; newest += 1) {
        const window = Array.from({ length: Math.min(of, newest + 1) }, (_, back) => newest - back).reverse()
        const beyond = window.filter((index) => distances[index]! > beyondSigma)
        const fulfilled = beyond.length >= at
        const { time, feature, recipe, chart } = series[newest]!
        if (fulfilled && !fulfilledBefore) hits.push({ time, feature, recipe, chart, rule: name, side, points: beyond.map((index) => series[index]!.time) })
        fulfilledBefore = fulfilled
      }
    }
  }
  return hits
}

const textOf = ({ time, feature, recipe, chart, rule, side, points }: Hit): string => [time, feature, recipe, chart, rule, side, points.join(',')].join(' ')

let folder = ''

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'derived-'))
  vi.spyOn(process.stdout, 'write').mockImplementation(() => true)
  vi.spyOn(process.stderr, 'write').mockImplementation(() => true)
})

afterAll(() => {
  vi.restoreAllMocks()
  rmSync(folder, { recursive: true, force: true })
})

function told<T>(name: string): T[] {
  return readFileSync(join(folder, 'out', `${name}.jsonl`), 'utf8').split('\n').filter((line) => line !== '').map((line) => JSON.parse(line) as T)
}

async function replaySimulated(seed: number): Promise<{ readonly points: Point[]; readonly hits: Hit[]; readonly derived: Hit[] }> {
  const config = { ...drawScenario({ seed, kind: 'fault', channels: 'minimum+', days: 8 }), periodsS: { 'conveyor.speed': 12, 'preheat.zone-<n>.temperature': 20, 'pot.level': 60, 'board.count': 60 } }
  const line = join(folder, 'line.json')
  writeFileSync(line, JSON.stringify(describeLine(config, { line: 'line-a' })))
  const simulation = createSimulation(config)
  const rows = [LONG_FORM_HEADER]
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) rows.push(longFormRows(sample))
  const readings = join(folder, 'readings.csv')
  writeFileSync(readings, rows.join(''))
  expect(await runReplay(['--line', line, '--readings', readings, '--out', join(folder, 'out')])).toBe(0)
  const points = told<Point>('points')
  return { points, hits: told<Hit>('rule-hits'), derived: derive(points, told<Baseline>('baselines')) }
}

const SEEDS = [4, 5, 6]

describe('rule hits of simulated lines', () => {
  it('follow from the written points, none missing and none more', { timeout: 120_000 }, async () => {
    const counts: Record<string, number> = {}
    const rules = new Set<string>()
    for (const seed of SEEDS) {
      const { points, hits, derived } = await replaySimulated(seed)
      for (const { chart, baseline } of points) if (VALUE_CHARTS.includes(chart)) counts[`${chart} ${baseline}`] = (counts[`${chart} ${baseline}`] ?? 0) + 1
      for (const { rule, side } of hits) rules.add(`${rule} ${side}`)
      const said = hits.map(textOf)
      const own = derived.map(textOf)
      const saidOnce = new Set(said)
      const ownOnce = new Set(own)
      expect(saidOnce.size).toBe(said.length)
      expect(ownOnce.size).toBe(own.length)
      expect(said.filter((text) => !ownOnce.has(text)), `seed ${seed}: not to be derived`).toEqual([])
      expect(own.filter((text) => !saidOnce.has(text)), `seed ${seed}: missing`).toEqual([])
    }
    // Every kind of chart and baseline has had its part in it.
    for (const kind of ['individuals self-starting', 'individuals provisional', 'residual self-starting', 'residual provisional']) expect(counts[kind] ?? 0, kind).toBeGreaterThan(200)
    expect(Object.values(counts).reduce((sum, count) => sum + count, 0)).toBeGreaterThan(4000)
    expect(rules.size).toBe(8)
  })
})
