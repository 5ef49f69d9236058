import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { cusumShare } from '../../../src/spc/cusum-set.js'
import { poolBaselines, shrunkCentre, type SisterBaseline } from '../../../src/spc/pooled-baseline.js'
import { chartEvidence, createPooledChart, createProcessChart, stepProcessChart, type BaselineStep, type ProcessChartDesign, type ProcessChartState } from '../../../src/spc/process-chart.js'
import { normalSource } from '../../property/spc/random.js'

const design: ProcessChartDesign = { kind: 'individuals', arl0: 20_000, baselineTarget: 300, baselineMin: 30, charts: ['shewhart', 'cusum'], sigmaFloor: 0.001 }
const MINUTE = 60_000

const pooled = (sisters: readonly SisterBaseline[]) => {
  const pool = poolBaselines(sisters)
  if (pool.kind !== 'pooled') throw new Error(pool.reason)
  return pool
}

class Chart {
  signals = 0
  readonly steps: BaselineStep[] = []
  private timeMs = 0
  readonly sink = { point: () => undefined, ruleHit: () => undefined, baseline: (step: BaselineStep) => void this.steps.push(step), signal: ({ phase }: { phase: string }) => void (this.signals += phase === 'start' ? 1 : 0) }
  constructor(readonly state: ProcessChartState) {}
  run(count: number, next: () => number): this {
    for (let i = 0; i < count; i++) stepProcessChart(design, this.state, (this.timeMs += MINUTE), next(), this.sink)
    return this
  }
}

/** Charts of recipes whose levels differ by `between` within-sigmas, each on 400 values. */
function family(seed: number, count: number, between: number) {
  const normal = normalSource(seed)
  const sisters = Array.from({ length: count }, () => {
    const level = 50 + between * normal()
    return new Chart(createProcessChart(design)).run(400, () => level + normal()).state
  })
  return { normal, sisters }
}

describe('pooled baseline', () => {
  // By hand: centres 9, 10, 11 of sigma 1 and 100 values: between 1 - 0.01 = 0.99, mean of equal weights 10.
  it('is the random-effects mean, worth the variance within over the variance between', () => {
    const pool = pooled([9, 10, 11].map((centre) => ({ centre, sigma: 1, lagOne: 0, n: 100 })))
    expect(pool.centre).toBeCloseTo(10, 12)
    expect(pool.sigma).toBeCloseTo(1, 12)
    expect(pool.spreadCount).toBe(297)
    // t(0.9, 2) = 1.885618 from a table, z(0.9) = 1.281552; (0.99 + (0.99 + 0.01)/3) times the square of their ratio.
    expect(pool.kappa).toBeCloseTo(1 / ((1.885618 / 1.281552) ** 2 * (0.99 + 1 / 3)), 5)
  })

  it('needs two sisters, and spreads that may be one', () => {
    const sister = { centre: 1, sigma: 1, lagOne: 0, n: 200 }
    expect(poolBaselines([sister])).toEqual({ kind: 'no-pool', reason: 'too-few-sisters' })
    expect(poolBaselines([])).toEqual({ kind: 'no-pool', reason: 'too-few-sisters' })
    expect(poolBaselines([sister, { ...sister, sigma: 2 }])).toEqual({ kind: 'no-pool', reason: 'unequal-spread' })
    expect(() => poolBaselines([{ ...sister, sigma: 0 }])).toThrow(/sigma above 0/)
    expect(() => poolBaselines([{ ...sister, centre: Number.NaN }])).toThrow(/finite centre/)
  })

  it('shrinks from the sisters to its own mean', () => {
    expect(shrunkCentre(20, 0, { centre: 10, kappa: 5 })).toEqual({ centre: 10, valueCount: 5 })
    expect(shrunkCentre(20, 5, { centre: 10, kappa: 5 })).toEqual({ centre: 15, valueCount: 10 })
    expect(shrunkCentre(20, 1e9, { centre: 10, kappa: 5 }).centre).toBeCloseTo(20, 6)
    expect(() => shrunkCentre(20, -1, { centre: 10, kappa: 5 })).toThrow(/0 or more/)
  })

  it('does not care for unit, zero and order, and lies among the sisters', () => {
    const sister = fc.record({ centre: fc.double({ min: -5, max: 5, noNaN: true }), sigma: fc.double({ min: 0.9, max: 1.1, noNaN: true }), lagOne: fc.double({ min: -0.2, max: 0.8, noNaN: true }), n: fc.integer({ min: 20, max: 60 }) })
    fc.assert(
      fc.property(fc.array(sister, { minLength: 2, maxLength: 6 }), fc.constantFrom(0.25, 8), fc.double({ min: -100, max: 100, noNaN: true }), (sisters, factor, offset) => {
        const plain = pooled(sisters)
        const moved = pooled([...sisters].reverse().map((one) => ({ ...one, centre: one.centre * factor + offset, sigma: one.sigma * factor })))
        expect(moved.centre).toBeCloseTo(plain.centre * factor + offset, 6)
        expect(moved.sigma).toBeCloseTo(plain.sigma * factor, 9)
        expect(moved.kappa / plain.kappa).toBeCloseTo(1, 4)
        const centres = sisters.map(({ centre }) => centre)
        expect(plain.centre).toBeGreaterThanOrEqual(Math.min(...centres) - 1e-9)
        expect(plain.centre).toBeLessThanOrEqual(Math.max(...centres) + 1e-9)
      }),
    )
  })
})

describe('chart of a new recipe', () => {
  it('has limits at once where the sisters agree, provisional and with the reason, and ends on its own values', () => {
    const { normal, sisters } = family(3, 4, 0)
    const chart = new Chart(createPooledChart(design, sisters))
    expect(chart.state).toMatchObject({ limited: true, status: 'provisional', reason: 'baseline.pooled' })
    expect(cusumShare(chart.state.cusums, 'above')).toBe(0.5)
    chart.run(12, () => 50 + normal())
    expect(chart.steps.at(-1)).toMatchObject({ reason: 'baseline.pooled' })
    chart.run(500, () => 50 + normal())
    expect(chart.state.learned).toBeNull()
    expect(chart.state.pool).toBeNull()
    expect(chart.state.reason).toBe('')
    expect(Math.abs(chartEvidence(design, chart.state).centre - 50)).toBeLessThan(0.2)
    expect(JSON.parse(JSON.stringify(chart.state))).toEqual(chart.state)
  })

  it('sees a recipe that starts off centre sooner than one that has to learn first', () => {
    const { normal, sisters } = family(5, 4, 0)
    const delay = (state: ProcessChartState) => {
      const chart = new Chart(state)
      let count = 0
      while (chart.signals === 0 && count < 300) chart.run(1, () => 53 + normal()) && count++
      return count
    }
    expect(delay(createPooledChart(design, sisters))).toBeLessThan(15)
    expect(delay(createProcessChart(design))).toBe(300)
  })

  it('starts from nothing where the sisters lie far apart, and moves towards them no more than they are worth', () => {
    const { normal, sisters } = family(7, 4, 5)
    const chart = new Chart(createPooledChart(design, sisters))
    expect(chart.state.limited).toBe(false)
    chart.run(500, () => 70 + normal())
    expect(Math.abs(chartEvidence(design, chart.state).centre - 70)).toBeLessThan(0.25)
  })

  it('gives hardly more false signals than promised while it begins, whatever lies between the recipes', () => {
    let signals = 0
    for (let seed = 20; seed < 32; seed++) {
      const between = (seed % 3) * 0.1
      const { normal, sisters } = family(seed, 3, between)
      const level = 50 + between * normal()
      signals += new Chart(createPooledChart(design, sisters)).run(300, () => level + normal()).signals
    }
    // 3,600 points at one in 20,000 on nine in ten: hardly one; the head starts may add some.
    expect(signals).toBeLessThanOrEqual(2)
  })
})
