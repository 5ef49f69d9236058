import { describe, expect, it } from 'vitest'
import { fitBaseline, isQuantised, spreadFactor, widenedLimit } from '../../../src/spc/baseline.js'
import { quickCusumLimit, normalScoreOfT, tOfNormalScore, chartSetLimits, KNOWN_PARAMETERS } from '../../../src/spc/chart-limits.js'
import { median, qnScale } from '../../../src/spc/robust-estimates.js'
import { normalQuantile, studentTTails } from '../../../src/spc/special-functions.js'
import { normalSource } from '../../property/spc/random.js'
import { readReference } from '../../golden/spc/reference-file.js'

function normals(seed: number, count: number, centre = 0): number[] {
  const normal = normalSource(seed)
  return Array.from({ length: count }, () => centre + normal())
}
function correlated(seed: number, count: number, phi: number): number[] {
  const normal = normalSource(seed)
  let x = normal()
  return Array.from({ length: count }, () => (x = phi * x + Math.sqrt(1 - phi * phi) * normal()))
}
const options = { sigmaFloor: 0.001 }

describe('Phase I', () => {
  it('learns centre and spread of clean values', () => {
    const fit = fitBaseline(normals(1, 300, 50), options)
    if (fit.kind !== 'baseline') throw new Error(JSON.stringify(fit))
    expect(Math.abs(fit.centre - 50)).toBeLessThan(0.2)
    expect(Math.abs(fit.sigma - 1)).toBeLessThan(0.15)
    expect(fit.model).toBeUndefined()
    expect(fit.droppedShare).toBeLessThan(0.02)
  })

  it('drops a foreign episode as a whole, and a spike', () => {
    const values = normals(2, 300)
    for (let i = 100; i < 112; i++) values[i] = 6 + (i % 3)
    values[200] = 50
    const fit = fitBaseline(values, options)
    if (fit.kind !== 'baseline') throw new Error(JSON.stringify(fit))
    expect(fit.kept.slice(100, 112)).toEqual(new Array(12).fill(0))
    expect(fit.kept[200]).toBe(0)
    expect(Math.abs(fit.centre)).toBeLessThan(0.2)
    expect(fit.sigma).toBeLessThan(1.15)
  })

  it('counts correlated values for less and takes their marginal spread', () => {
    const fit = fitBaseline(correlated(3, 500, 0.7), { ...options, countEffectiveMin: 10 })
    if (fit.kind !== 'baseline') throw new Error(JSON.stringify(fit))
    expect(Math.abs(fit.lagOne - 0.7)).toBeLessThan(0.1)
    expect(Math.abs(fit.sigma - 1)).toBeLessThan(0.25)
    // (1 - 0.7)/(1 + 0.7) of 500 is 88; an estimated correlation is allowed for on top.
    expect(fit.countEffective).toBeGreaterThan(40)
    expect(fit.countEffective).toBeLessThan(115)
  })

  it('refuses a change point, a trend, too few effective values, coarse values, and dirt', () => {
    const reason = (values: number[]) => {
      const fit = fitBaseline(values, options)
      return fit.kind === 'refused' ? fit.reason : fit.kind
    }
    expect(reason(normals(4, 200).map((value, i) => value + (i >= 120 ? 3 : 0)))).toBe('baseline.change-point-inside')
    expect(reason(normals(5, 200).map((value, i) => value + i * 0.03))).toBe('baseline.trend-inside')
    expect(reason(normals(6, 20))).toBe('baseline.too-few-effective-values')
    expect(reason(normals(7, 100).map((value) => Math.round(value / 3)))).toBe('baseline.quantised')
    expect(reason(normals(8, 200).map((value, i) => (i % 8 === 0 ? 12 : value)))).toBe('baseline.too-much-dropped')
    expect(fitBaseline([1], options).kind).toBe('too-few-values')
    expect(fitBaseline([], options).kind).toBe('too-few-values')
    expect(reason(new Array(50).fill(3))).toBe('baseline.quantised')
  })

  it('finds the place of a change', () => {
    const fit = fitBaseline(normals(9, 200).map((value, i) => value + (i >= 120 ? 3 : 0)), options)
    expect(fit.kind === 'refused' && Math.abs(fit.changeIndex - 120) <= 3).toBe(true)
  })

  it('takes hardly ever a stable stretch for a changed one', () => {
    let refused = 0
    for (let seed = 100; seed < 400; seed++) {
      for (const phi of [0, 0.5]) if (fitBaseline(correlated(seed, 200, phi), { ...options, countEffectiveMin: 0 }).kind === 'refused') refused++
    }
    expect(refused).toBeLessThanOrEqual(12)
  })

  it.each([Number.NaN, Number.POSITIVE_INFINITY, 1e300])('refuses the value %d', (value) => {
    expect(() => fitBaseline([1, 2, value], options)).toThrow(/finite/)
  })
})

describe('limits for a small baseline', () => {
  // Simulated factors for a 90 % guarantee (200,000 draws): the closed form is within 0.5 % of them.
  it.each([[30, 1.229], [50, 1.165], [100, 1.108], [300, 1.058], [1000, 1.03]])('%i values: limits wider by %d', (count, factor) => {
    expect(Math.abs(widenedLimit(1, count) / factor - 1)).toBeLessThan(0.006)
  })

  it('the spread factor falls to one', () => {
    expect(spreadFactor(30)).toBeGreaterThan(spreadFactor(300))
    expect(spreadFactor(1e6)).toBeLessThan(1.002)
    expect(() => spreadFactor(1)).toThrow(/2 effective values/)
  })

  it('the quick CUSUM limit is within 0.03 of the exact one', () => {
    const found = readReference('arl_ewma_cusum').cusum_crit.filter((entry: any) => entry.k >= 0.25 && entry.k <= 1.2 && entry.L0 >= 300)
    expect(found.length).toBeGreaterThan(5)
    for (const { k, L0, h_two_sided } of found) expect(Math.abs(quickCusumLimit(k, L0) - h_two_sided), `k ${k}, ARL0 ${L0}`).toBeLessThan(0.03)
  })

  it('a worse baseline and left-over correlation widen, and drop what the baseline cannot carry', () => {
    const known = chartSetLimits(100_000, ['shewhart', 'cusum'], KNOWN_PARAMETERS)
    const large = chartSetLimits(100_000, ['shewhart', 'cusum'], { ...KNOWN_PARAMETERS, countEffective: 300 })
    const small = chartSetLimits(100_000, ['shewhart', 'cusum'], { ...KNOWN_PARAMETERS, countEffective: 30 })
    expect(known.shewhart).toBeLessThan(large.shewhart)
    expect(large.shewhart).toBeLessThan(small.shewhart)
    expect(known.cusums[0]!.h).toBeLessThan(large.cusums[0]!.h)
    expect(small.cusums[0]!.k).toBeGreaterThan(large.cusums[0]!.k)
    const correlatedLimits = chartSetLimits(100_000, ['shewhart', 'cusum'], { ...KNOWN_PARAMETERS, longRunFactor: 1.5 })
    expect(correlatedLimits.cusums[0]!.h / known.cusums[0]!.h).toBeCloseTo(1.5, 9)
  })

  it('the closed-form normal score of t is close to the exact one, and its inverse inverts it', () => {
    for (const df of [7, 12, 30]) {
      for (const t of [-6, -2, 0.5, 3, 5]) {
        const { lower, upper } = studentTTails(t, df)
        const exact = lower < upper ? normalQuantile(lower) : -normalQuantile(upper)
        expect(Math.abs(normalScoreOfT(t, df) - exact), `t ${t}, ${df} degrees of freedom`).toBeLessThan(0.05)
        expect(tOfNormalScore(normalScoreOfT(t, df), df)).toBeCloseTo(t, 9)
      }
    }
  })
})

describe('robust estimates', () => {
  it('median of odd and even counts', () => {
    expect(median([3, 1, 2])).toBe(2)
    expect(median([4, 1, 3, 2])).toBe(2.5)
    expect(() => median([])).toThrow(/at least 1/)
  })

  it('Qn estimates sigma and stands a quarter of foreign values', () => {
    expect(Math.abs(qnScale(normals(10, 400)) - 1)).toBeLessThan(0.12)
    const dirty = normals(11, 400).map((value, i) => (i % 4 === 0 ? 100 + value : value))
    expect(qnScale(dirty)).toBeLessThan(2)
    expect(() => qnScale([1])).toThrow(/2 values/)
  })

  it('tells coarse values from fine ones', () => {
    expect(isQuantised(normals(12, 100))).toBe(false)
    expect(isQuantised(normals(13, 100).map(Math.round).map((value) => Math.max(-1, Math.min(1, value))))).toBe(true)
  })
})
