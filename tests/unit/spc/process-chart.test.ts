import { describe, expect, it } from 'vitest'
import type { ChartPoint, RuleHit, Signal } from '../../../src/spc/chart-point.js'
import { chartEvidence, createProcessChart, decideBaseline, holdLearning, stepProcessChart, type BaselineStep, type ProcessChartDesign, type ProcessChartState } from '../../../src/spc/process-chart.js'
import { normalSource } from '../../property/spc/random.js'

const design: ProcessChartDesign = { kind: 'individuals', arl0: 100_000, baselineTarget: 300, baselineMin: 30, charts: ['shewhart', 'cusum'], sigmaFloor: 0.01 }
const MINUTE = 60_000

class Line {
  readonly points: ChartPoint[] = []
  readonly hits: RuleHit[] = []
  readonly signals: Signal[] = []
  readonly steps: BaselineStep[] = []
  readonly state: ProcessChartState
  minute = 0
  readonly sink = {
    point: (point: ChartPoint) => void this.points.push(point),
    ruleHit: (hit: RuleHit) => void this.hits.push(hit),
    signal: (signal: Signal) => void this.signals.push(signal),
    baseline: (step: BaselineStep) => void this.steps.push(step),
  }

  constructor(readonly design: ProcessChartDesign) {
    this.state = createProcessChart(design)
  }

  run(count: number, value: (i: number) => number): this {
    for (let i = 0; i < count; i++) stepProcessChart(this.design, this.state, this.minute++ * MINUTE, value(i), this.sink)
    return this
  }

  evidence() {
    return chartEvidence(this.design, this.state)
  }
}

const correlated = (seed: number, phi: number): (() => number) => {
  const normal = normalSource(seed)
  let x = normal()
  return () => (x = phi * x + Math.sqrt(1 - phi * phi) * normal())
}

describe('process chart', () => {
  it('self-starts at the ninth value, has widened limits at 30 effective values, and freezes at the target', () => {
    const normal = normalSource(1)
    const line = new Line(design).run(8, () => 10 + normal())
    expect(line.points).toHaveLength(0)
    expect(line.evidence().status).toBe('learning')
    line.run(1, () => 10 + normal())
    expect(line.points[0]).toMatchObject({ chart: 'individuals', baseline: 'self-starting' })
    line.run(80, () => 10 + normal())
    expect(line.evidence()).toMatchObject({ status: 'quiet', target: 300 })
    const early = line.points.filter((point) => point.baseline === 'provisional' && point.chart === 'individuals')[0]!
    line.run(400, () => 10 + normal())
    const late = line.points.filter((point) => point.chart === 'individuals').at(-1)!
    expect((early.upper - early.centre) / early.sigma).toBeGreaterThan((late.upper - late.centre) / late.sigma)
    expect(line.state.learned).toBeNull()
    expect(late.n).toBeGreaterThanOrEqual(300)
    expect(Math.abs(late.centre - 10)).toBeLessThan(0.2)
    expect(Math.abs(late.sigma - 1)).toBeLessThan(0.15)
    expect(line.signals).toEqual([])
    expect(JSON.stringify(line.state).length).toBeLessThan(2048)
  })

  it('predicts from the values just before, also where the prediction is new; a frozen model that needs none keeps none', () => {
    const normal = normalSource(5)
    const recent: number[] = []
    const line = new Line(design)
    for (let i = 0; i < 60; i++) {
      line.run(1, () => (recent[i] = 10 + normal()))
      expect(line.state.lags.slice(0, line.state.lagCount)).toEqual(recent.slice(-5).reverse().slice(0, line.state.lagCount))
    }
    expect(line.state.lagCount).toBe(5)
    line.run(500, () => 10 + normal())
    expect(line.state.learned).toBeNull()
    expect(line.state.lags).toEqual([])
    const predicting = new Line(design).run(2000, correlated(6, 0.6))
    expect(predicting.state.learned).toBeNull()
    expect(predicting.state.lags).toHaveLength(5)
    decideBaseline(design, line.state, 'refit', line.sink, 0)
    line.run(40, () => 10 + normal())
    expect(line.state.lags).toHaveLength(5)
  })

  it('gives one signal for a lasting step, with its onset and size, and one end when it is over', () => {
    const normal = normalSource(2)
    const line = new Line(design).run(500, () => 10 + normal())
    line.run(60, () => 12 + normal())
    expect(line.signals).toHaveLength(1)
    expect(line.signals[0]).toMatchObject({ phase: 'start', side: 'above' })
    expect(Math.abs(line.signals[0]!.onsetMs / MINUTE - 500)).toBeLessThanOrEqual(4)
    const during = line.evidence()
    expect(during.status).toBe('up')
    expect(Math.abs(during.shift - 2)).toBeLessThan(0.5)
    expect(during.windows).toBeGreaterThan(40)
    line.run(100, () => 10 + normal())
    expect(line.signals.map((signal) => signal.phase)).toEqual(['start', 'end'])
    expect(line.evidence().status).toBe('quiet')
  })

  it('starts and ends one signal for a single spike and does not learn it', () => {
    const normal = normalSource(3)
    const line = new Line(design).run(100, () => 10 + normal()).run(1, () => 40)
    expect(line.signals[0]).toMatchObject({ chart: 'individuals', side: 'above', onsetMs: 100 * MINUTE })
    line.run(400, () => 10 + normal())
    expect(line.signals).toHaveLength(2)
    expect(line.state.model!.sigma).toBeLessThan(1.2)
  })

  it('does not learn from a fault that begins while it learns', () => {
    const normal = normalSource(4)
    const line = new Line(design).run(100, () => 10 + normal()).run(300, () => 12 + normal())
    expect(line.evidence().status).toBe('up')
    expect(Math.abs(line.evidence().centre - 10)).toBeLessThan(0.35)
    expect(line.steps.some((step) => step.status === 'suspended')).toBe(true)
  })

  it('takes the whole suspicious stretch back out of what it has learned', () => {
    const normal = normalSource(4)
    const line = new Line(design).run(100, () => 10 + normal()).run(60, () => 11.5 + normal())
    expect(line.evidence().status).toBe('up')
    // The step came at minute 100; what was learned of it before the suspicion is gone again.
    expect(Math.max(...line.state.learned!.timesMs) / MINUTE).toBeLessThanOrEqual(102)
  })

  it('keeps the earlier part of a stretch that drifted while it was learned', () => {
    const centres = [21, 22, 23, 24, 25, 26].map((seed) => {
      const normal = normalSource(seed)
      const line = new Line(design).run(40, () => 10 + normal()).run(260, (i) => 10 + normal() + i * 0.012)
      expect(line.evidence().status).toBe('up')
      return line.evidence().centre
    })
    // The drift ends at 13; what is learned stays near where it began.
    expect(Math.max(...centres)).toBeLessThan(10.8)
  })

  it('finds a change inside the learned stretch at a fit, and charts what came after it', () => {
    const normal = normalSource(31)
    const line = new Line({ ...design, arl0: 1e9 }).run(70, () => 10 + normal())
    // Below what CUSUMs of so small a budget suspect, above what a stable stretch shows.
    line.run(300, () => 11 + normal())
    expect(Math.abs(line.evidence().centre - 10)).toBeLessThan(0.4)
    expect(line.evidence().status).toBe('up')
  })

  it('sums residuals with a reference value for what a level shift leaves in them', () => {
    const delays = [41, 42, 43, 44, 45, 46].map((seed) => {
      const next = correlated(seed, 0.6)
      const line = new Line(design).run(2500, () => next())
      const before = line.signals.length
      let delay = 0
      while (delay < 1000 && line.signals.length === before) line.run(1, () => ++delay && 1.5 + next())
      return delay
    })
    // With reference values for independent values the median is several hundred.
    expect(delays.sort((a, b) => a - b)[3]).toBeLessThan(90)
  })

  it.each([0, 0.4, 0.6])('keeps its budget of false signals at a lag-1 autocorrelation of %d', (phi) => {
    let signals = 0
    for (let machine = 0; machine < 20; machine++) {
      const next = correlated(500 + machine, phi)
      signals += new Line({ ...design, arl0: 5000 }).run(3000, () => next()).signals.filter((signal) => signal.phase === 'start').length
    }
    // 60,000 points: 12 expected by the budget; 24 is more than three standard deviations beyond.
    expect(signals).toBeLessThanOrEqual(24)
  })

  it('sees a slow drift and says that it grows', () => {
    const normal = normalSource(5)
    const line = new Line(design).run(400, () => 10 + normal()).run(300, (i) => 10 + normal() + i * 0.01)
    expect(line.evidence()).toMatchObject({ status: 'up', trend: 'growing' })
  })

  it.each([0.5, 0.7])('charts residuals where the lag-1 autocorrelation is %d', (phi) => {
    const next = correlated(6, phi)
    const line = new Line(design).run(1500, () => 10 + next())
    const last = line.points.filter((point) => !point.chart.startsWith('cusum')).at(-1)!
    expect(last.chart).toBe('residual')
    expect(last.centre).toBe(0)
    // What a first-order prediction leaves: sqrt(1 - phi^2) of the marginal sigma.
    expect(Math.abs(last.sigma / Math.sqrt(1 - phi * phi) - 1)).toBeLessThan(0.2)
    line.run(200, () => 13 + next())
    expect(line.evidence().status).toBe('up')
  })

  it('charts means of batches where values are too strongly correlated', () => {
    const batched = [1, 2, 3, 4, 5, 6].filter((seed) => {
      const next = correlated(seed, 0.97)
      return new Line(design).run(2500, () => next()).state.batch > 1
    })
    // A correlation of 0.97 is told from 0.9 in most, not all, stretches of 300 values.
    expect(batched.length).toBeGreaterThanOrEqual(4)
  })

  it('charts over-dispersed counts without taking zeros for trouble', () => {
    const normal = normalSource(8)
    const counts = () => Math.max(0, Math.round(1 + 1.5 * normal()))
    const line = new Line({ ...design, kind: 'count', sigmaFloor: 0.5 }).run(400, counts)
    expect(line.signals).toEqual([])
    expect(line.points[0]!.chart).toBe('count')
    line.run(40, () => counts() + 4)
    expect(line.evidence().status).toBe('up')
    expect(line.evidence().shift).toBeGreaterThan(2)
  })

  it('does not learn while the caller holds it, once it has limits', () => {
    const normal = normalSource(9)
    const line = new Line(design).run(80, () => normal())
    const before = line.state.learned!.count
    holdLearning(line.state, true)
    line.run(100, () => normal())
    expect(line.state.learned!.count).toBe(before)
    expect(line.state.limited).toBe(true)
    holdLearning(line.state, false)
    line.run(10, () => normal())
    expect(line.state.learned!.count).toBeGreaterThan(before)
  })

  it('goes on learning while held as long as it has no limits: it would stay blind', () => {
    const normal = normalSource(9)
    const line = new Line(design)
    holdLearning(line.state, true)
    line.run(29, () => normal())
    expect(line.state.learned!.count).toBe(29)
    expect(line.steps.at(-1)!.status).toBe('learning')
    line.run(60, () => normal())
    expect(line.state.limited).toBe(true)
    expect(line.state.learned!.count).toBeLessThan(60)
    expect(line.steps.at(-1)!).toMatchObject({ status: 'suspended', reason: 'baseline.on-hold' })
  })

  it('learns a level that wanders from day to day within what is of no consequence, and tells a change beyond it', () => {
    const normal = normalSource(21)
    const days = (share: number) => (i: number) => 30 * (1 + share * (Math.floor(i / 25) % 2)) + 0.1 * normal()
    const strict = new Line(design).run(150, days(0.025))
    const tolerant = new Line({ ...design, wander: { least: 0, share: 0.03 } }).run(150, days(0.025))
    expect(strict.steps.some(({ reason }) => reason === 'baseline.change-point-inside')).toBe(true)
    expect(tolerant.steps.some(({ status }) => status === 'refused')).toBe(false)
    expect(tolerant.signals).toEqual([])
    expect(tolerant.evidence()).toMatchObject({ status: 'quiet' })
    expect(tolerant.steps.at(-1)!.reason).toBe('baseline.within-wander')
    expect(tolerant.evidence().sigma).toBeCloseTo(0.03 * tolerant.evidence().centre, 9)
    tolerant.run(12, () => 30 * 1.1 + 0.1 * normal())
    expect(tolerant.evidence().status).toBe('up')
  })

  it('takes a change beyond what a level may wander for one, also inside what it learns from', () => {
    const normal = normalSource(22)
    const line = new Line({ ...design, wander: { least: 0.9, share: 0 } }).run(150, (i) => (i < 70 ? 30 : 34) + 0.1 * normal())
    expect(line.signals.length + line.steps.filter(({ reason }) => reason === 'baseline.change-point-inside').length).toBeGreaterThan(0)
    expect(Math.min(Math.abs(line.evidence().centre - 30), Math.abs(line.evidence().centre - 34))).toBeLessThan(0.3)
  })

  it('follows the engineer: accept freezes, reject forgets', () => {
    const normal = normalSource(10)
    const line = new Line(design).run(5, () => normal())
    decideBaseline(design, line.state, 'accept', line.sink, line.minute * MINUTE)
    expect(line.steps.at(-1)).toMatchObject({ status: 'learning', reason: 'baseline.not-ready' })
    line.run(60, () => normal())
    decideBaseline(design, line.state, 'accept', line.sink, line.minute * MINUTE)
    expect(line.steps.at(-1)!.status).toBe('accepted')
    line.run(1, () => normal())
    expect(line.points.at(-1)!.baseline).toBe('accepted')
    line.run(40, () => 5 + normal())
    decideBaseline(design, line.state, 'reject', line.sink, line.minute * MINUTE)
    expect(line.signals.at(-1)!.phase).toBe('end')
    expect(line.evidence()).toMatchObject({ status: 'learning', n: 0 })
    line.run(60, () => 5 + normal())
    expect(Math.abs(line.evidence().centre - 5)).toBeLessThan(0.6)
  })

  it('charts constant and coarse values on the floor', () => {
    const constant = new Line({ ...design, sigmaFloor: 0.1 }).run(100, () => 7)
    expect(constant.evidence()).toMatchObject({ status: 'quiet', centre: 7, sigma: 0.1 })
    constant.run(40, () => 8)
    expect(constant.evidence().status).toBe('up')
    const normal = normalSource(11)
    const coarse = new Line(design).run(500, () => Math.round(10 + 0.3 * normal()))
    expect(coarse.signals).toEqual([])
    expect(coarse.steps.some((step) => step.reason === 'baseline.quantised')).toBe(true)
  })

  it.each([Number.NaN, Number.POSITIVE_INFINITY, 1e300])('refuses the value %d', (value) => {
    expect(() => new Line(design).run(1, () => value)).toThrow(/finite/)
  })

  it.each([{ arl0: 0 }, { sigmaFloor: 0 }, { baselineMin: 3 }, { baselineTarget: 10 }, { charts: [] }])('refuses the design %j', (part) => {
    expect(() => createProcessChart({ ...design, ...part })).toThrow(/process chart/)
  })
})
