import { describe, expect, it } from 'vitest'
import type { ChartPoint, Signal } from '../../../src/spc/chart-point.js'
import { shewhartLimit } from '../../../src/spc/design-limits.js'
import type { BaselineStep } from '../../../src/spc/process-chart.js'
import { createStandardChart, decideStandard, standardEvidence, stepStandardChart, type StandardChartDesign } from '../../../src/spc/standard-chart.js'

const HOUR = 3_600_000
const ADOPTED: StandardChartDesign = { arl0: 5000, sigma: 2, centre: 50, centreValues: 6 }
const LEARNED: StandardChartDesign = { arl0: 5000, sigma: 2, centreValues: 6 }
const LIMIT = shewhartLimit(5000)

class Chart {
  readonly points: ChartPoint[] = []
  readonly signals: Signal[] = []
  readonly steps: BaselineStep[] = []
  readonly state = createStandardChart()
  hour = 0
  readonly sink = {
    point: (point: ChartPoint) => void this.points.push(point),
    ruleHit: () => {
      throw new Error('no rules run on a chart with standards given')
    },
    signal: (signal: Signal) => void this.signals.push(signal),
    baseline: (step: BaselineStep) => void this.steps.push(step),
  }

  constructor(readonly design: StandardChartDesign) {}

  take(...values: number[]): this {
    for (const value of values) stepStandardChart(this.design, this.state, this.hour++ * HOUR, value, this.sink)
    return this
  }

  evidence() {
    return standardEvidence(this.design, this.state)
  }
}

describe('chart with standards given', () => {
  it('plots from the first value where the centre is adopted, with the limit the budget asks for', () => {
    const { points, steps } = new Chart(ADOPTED).take(50.5)
    expect(points).toHaveLength(1)
    expect(points[0]).toMatchObject({ chart: 'standards-given', statistic: 50.5, centre: 50, sigma: 2, lower: 50 - 2 * LIMIT, upper: 50 + 2 * LIMIT, baseline: 'provisional' })
    expect(steps).toEqual([{ timeMs: 0, status: 'provisional', n: 6, target: 6, centre: 50, sigma: 2, reason: 'baseline.standards-given' }])
  })

  it('takes the median of the first values where none is adopted; one odd start does not move it', () => {
    const chart = new Chart(LEARNED).take(10, 11, 12, 500, 11)
    expect(chart.points).toEqual([])
    expect(chart.evidence()).toMatchObject({ status: 'learning', n: 5, target: 6 })
    expect(chart.steps.map(({ status, n }) => [status, n])).toEqual([['learning', 1], ['learning', 2], ['learning', 3], ['learning', 4], ['learning', 5]])
    chart.take(13)
    expect(chart.state.centre).toBe(11.5)
    expect(chart.points).toHaveLength(1)
    expect(chart.steps.at(-1)).toMatchObject({ status: 'provisional', n: 6, centre: 11.5 })
  })

  it('widens with the level where the scatter grows with it, never below the adopted sigma', () => {
    const sigmaAt = (centre: number): number => new Chart({ ...ADOPTED, centre, sigmaShare: 0.1 }).take(centre).points[0]!.sigma
    expect(sigmaAt(50)).toBe(5)
    expect(sigmaAt(-50)).toBe(5)
    expect(sigmaAt(3)).toBe(2)
  })

  it('signals once beyond the limit, strictly; onset is where the values left one sigma; ends after three inside', () => {
    const edge = 50 + 2 * LIMIT
    const chart = new Chart(ADOPTED).take(50, 49, edge - 1e-9)
    expect(chart.signals).toEqual([])
    chart.take(51, 53, 54, edge + 0.5, edge + 1)
    expect(chart.signals).toHaveLength(1)
    expect(chart.signals[0]).toMatchObject({ phase: 'start', side: 'above', timeMs: 6 * HOUR, onsetMs: 4 * HOUR })
    expect(chart.signals[0]!.shiftSigma).toBeCloseTo(LIMIT + 0.25, 9)
    expect(chart.evidence()).toMatchObject({ status: 'up', onsetMs: 4 * HOUR, windows: 2 })
    expect(chart.evidence().shift).toBeCloseTo(2 * LIMIT + 1, 9)
    // two inside and one out again: the episode goes on
    chart.take(50, 50, edge, 50, 50)
    expect(chart.signals).toHaveLength(1)
    chart.take(50)
    expect(chart.signals[1]).toMatchObject({ phase: 'end', side: 'above', onsetMs: 4 * HOUR, timeMs: 13 * HOUR })
    chart.take(50 - 2 * LIMIT - 1)
    expect(chart.signals[2]).toMatchObject({ phase: 'start', side: 'below' })
  })

  it('counts values far out on the other side as an end', () => {
    const chart = new Chart(ADOPTED).take(50 + 3 * LIMIT, 50 - 3 * LIMIT, 50 - 3 * LIMIT, 50 - 3 * LIMIT)
    expect(chart.signals.map(({ phase, side }) => [phase, side])).toEqual([['start', 'above'], ['end', 'above']])
    chart.take(50 - 3 * LIMIT)
    expect(chart.signals.at(-1)).toMatchObject({ phase: 'start', side: 'below' })
  })

  it('is quiet only while all recent values lie within two sigma', () => {
    const chart = new Chart(ADOPTED).take(50, 51, 49)
    expect(chart.evidence().status).toBe('quiet')
    chart.take(55)
    expect(chart.evidence().status).toBe('learning')
    chart.take(50, 50, 50, 50, 50, 50, 50, 50)
    expect(chart.evidence().status).toBe('quiet')
    expect(new Chart(ADOPTED).evidence()).toMatchObject({ status: 'learning', n: 0 })
  })

  it('says whether a shift grows or fades', () => {
    expect(new Chart(ADOPTED).take(62, 64, 66, 68, 70, 72, 74, 76).evidence().trend).toBe('growing')
    expect(new Chart(ADOPTED).take(76, 74, 72, 70, 68, 66, 64, 62).evidence().trend).toBe('fading')
    expect(new Chart(ADOPTED).take(60, 60, 60, 60).evidence().trend).toBe('steady')
  })

  it('follows the engineer: accept keeps the centre; refit ends the signal and learns anew', () => {
    const chart = new Chart(LEARNED).take(10, 10, 10, 10, 10, 10)
    decideStandard(LEARNED, chart.state, 'accept', chart.sink, 6 * HOUR)
    expect(chart.steps.at(-1)).toMatchObject({ status: 'accepted', centre: 10 })
    chart.take(10, 40)
    expect(chart.points.at(-1)!.baseline).toBe('accepted')
    decideStandard(LEARNED, chart.state, 'refit', chart.sink, 9 * HOUR)
    expect(chart.signals.map(({ phase }) => phase)).toEqual(['start', 'end'])
    expect(chart.state).toEqual(createStandardChart())
    chart.take(40, 40, 40, 40, 40, 40)
    expect(chart.state.centre).toBe(40)
    decideStandard(LEARNED, chart.state, 'reject', chart.sink, 20 * HOUR)
    expect(chart.steps.at(-1)).toMatchObject({ status: 'learning', n: 0 })
  })

  it('an adopted centre is there again after a rejection', () => {
    const chart = new Chart(ADOPTED).take(50)
    decideStandard(ADOPTED, chart.state, 'reject', chart.sink, HOUR)
    expect(chart.take(52).points.at(-1)!.centre).toBe(50)
  })

  it.each([NaN, Infinity, -Infinity, 1e300])('refuses %s and stays as it was', (value) => {
    const chart = new Chart(ADOPTED).take(50, 51)
    const before = JSON.stringify(chart.state)
    expect(() => chart.take(value)).toThrow(/value must be a finite number below 1e100/)
    expect(() => stepStandardChart(ADOPTED, chart.state, NaN, 50, chart.sink)).toThrow(/time must be a finite number of ms/)
    expect(JSON.stringify(chart.state)).toBe(before)
  })
})
