import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { FOLLOW_WEIGHTS, followLevel, forecast, tailLimit, takeValue } from '../../../src/spc/followed-level.js'
import { chartEvidence, createProcessChart, decideBaseline, stepProcessChart, type BaselineStep, type ProcessChartDesign } from '../../../src/spc/process-chart.js'
import type { ChartPoint, Signal } from '../../../src/spc/chart-point.js'
import { normalSource } from '../../property/spc/random.js'

const design: ProcessChartDesign = { kind: 'individuals', arl0: 5000, baselineTarget: 100, baselineMin: 30, charts: ['shewhart', 'cusum'], sigmaFloor: 0.001, followsWandering: true }
const MINUTE = 60_000

/** A level that takes random steps, seen through noise. */
function wandering(seed: number, step: number, noise: number): () => number {
  const normal = normalSource(seed)
  let level = 0
  return () => (level += step * normal()) + noise * normal()
}

class Chart {
  state = createProcessChart(design)
  readonly points: ChartPoint[] = []
  readonly signals: Signal[] = []
  readonly steps: BaselineStep[] = []
  minute = 0
  readonly sink = {
    point: (point: ChartPoint) => void this.points.push(point),
    ruleHit: () => undefined,
    baseline: (step: BaselineStep) => void this.steps.push(step),
    signal: (signal: Signal) => void this.signals.push(signal),
  }
  run(count: number, next: (i: number) => number): this {
    for (let i = 0; i < count; i++) stepProcessChart(design, this.state, this.minute++ * MINUTE, next(i), this.sink)
    return this
  }
}

describe('followed level', () => {
  // An exponentially weighted average forecasts a random walk seen through noise best with weight
  // (sqrt(q^2 + 4q) - q)/2, q the variance of the steps over that of the noise (Muth, 1960): 0.095 for 0.01, 0.62 for 1.
  it.each([[0.1, 1, 0.1], [1, 1, 0.7], [1, 0, 1]])('chooses the weight for steps of %d and noise of %d', (step, noise, weight) => {
    const next = wandering(11, step, noise)
    const followed = followLevel(next())
    for (let i = 0; i < 4000; i++) takeValue(followed, next(), true, 1e-6)
    expect(FOLLOW_WEIGHTS[followed.chosen]).toBe(weight)
  })

  // Errors of a two-sided exponential distribution with mean size 1: sizes beyond x have probability exp(-x), so one
  // value in 100,000 lies beyond ln 100,000 = 11.5; a normal limit of the same sigma would be 6.2.
  it('continues a heavy tail, on the safe side by its own doubt', () => {
    const limits = Array.from({ length: 30 }, (_, seed) => {
      const normal = normalSource(400 + seed)
      const followed = followLevel(0)
      for (let i = 0; i < 3000; i++) {
        const size = (normal() ** 2 + normal() ** 2) / 2
        followed.levels.fill(0)
        takeValue(followed, normal() > 0 ? size : -size, true, 1e-6)
      }
      return tailLimit(followed, 100_000) * followed.sigma
    }).sort((a, b) => a - b)
    expect(limits[3]!).toBeGreaterThan(Math.log(100_000) * 0.85)
    expect(limits[15]!).toBeLessThan(Math.log(100_000) * 1.5)
  })

  it('does not care for unit and zero, and its limit grows with the run length', () => {
    fc.assert(
      fc.property(fc.integer(), fc.constantFrom(0.25, 16), (seed, factor) => {
        const plain = followLevel(0)
        const scaled = followLevel(0)
        const next = wandering(seed, 0.2, 1)
        for (let i = 0; i < 200; i++) {
          const value = next()
          takeValue(plain, value, true, 1e-9)
          takeValue(scaled, value * factor, true, 1e-9)
        }
        expect(forecast(scaled)).toBe(forecast(plain) * factor)
        expect(tailLimit(scaled, 1000)).toBeCloseTo(tailLimit(plain, 1000), 12)
        expect(tailLimit(plain, 10_000)).toBeGreaterThan(tailLimit(plain, 1000))
      }),
      { numRuns: 30 },
    )
  })
})

describe('chart of a wandering channel', () => {
  const followed = (seed: number) => new Chart().run(3000, wandering(seed, 0.3, 0.3))

  it('gives up to learn a level, says so, and has limits before long', () => {
    for (const seed of [1, 2, 3]) {
      const chart = followed(seed)
      expect(chart.state.follow).not.toBeNull()
      expect(chart.steps.at(-1)).toMatchObject({ status: 'provisional', reason: 'baseline.followed' })
      const signals = chart.signals.filter(({ phase }) => phase === 'start').length
      expect(signals).toBeLessThanOrEqual(3)
      expect(chart.points.length).toBeGreaterThan(2000)
    }
  })

  it('finds a jump at once and ends when the level has been followed, and a fall over twenty values within the hour', () => {
    const chart = followed(4)
    const next = wandering(5, 0.3, 0.3)
    const base = chart.points.at(-1)!.value
    chart.run(40, () => base + next() * 0.3)
    const before = chart.signals.length
    chart.run(60, () => base + 8 + next() * 0.3)
    expect(chart.signals.slice(before)).toMatchObject([{ phase: 'start', chart: 'residual', side: 'above' }, { phase: 'end' }])
    const falling = followed(6)
    const from = falling.points.filter(({ chart }) => chart === 'residual').at(-1)!.value
    const already = falling.signals.length
    falling.run(60, (i) => from - 12 * Math.min(1, i / 20) + 0.2 * normalSource(i + 1)())
    expect(falling.signals[already]).toMatchObject({ phase: 'start', side: 'below' })
  })

  it('goes on exactly from its text, keeps within 2 KB, is accepted and rejected', () => {
    const one = followed(7)
    const other = new Chart()
    other.state = JSON.parse(JSON.stringify(one.state))
    other.minute = one.minute
    const from = one.points.length
    one.run(200, wandering(8, 0.3, 0.3))
    other.run(200, wandering(8, 0.3, 0.3))
    expect(other.points).toEqual(one.points.slice(from))
    expect(Number.isFinite(chartEvidence(design, one.state).centre)).toBe(true)
    decideBaseline(design, one.state, 'accept', one.sink, one.minute * MINUTE)
    expect(JSON.stringify(one.state).length).toBeLessThan(2048)
    expect(one.state).toMatchObject({ status: 'accepted', follow: { fast: { learning: false } } })
    decideBaseline(design, one.state, 'reject', one.sink, one.minute * MINUTE)
    expect(one.state).toMatchObject({ follow: null, limited: false, reason: 'baseline.rejected' })
  })

  it('begins anew after a gap', () => {
    const chart = followed(9)
    chart.minute += 600
    const before = chart.signals.length
    const next = wandering(10, 0.3, 0.3)
    chart.run(30, () => 500 + next())
    expect(chart.signals.length).toBe(before)
  })
})
