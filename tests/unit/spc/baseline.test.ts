import { describe, expect, it } from 'vitest'
import { COUNT_SIGMA } from '../../../src/spc/process-chart-fit.js'
import { fitBaseline, isQuantised, spreadFactor, widenedLimit } from '../../../src/spc/baseline.js'
import { cusumArl } from '../../../src/spc/run-length-cusum.js'
import { guaranteedLimits } from '../../../src/spc/guaranteed-limits.js'
import { shewhartLimit } from '../../../src/spc/design-limits.js'
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

  it('takes rare counts for what they are: no counts of two or three thrown out, no correlation made of their zeros', () => {
    const source = normalSource(8)
    // mostly 0, now and then up to four, on the square-root scale they are charted on
    const counts = Array.from({ length: 60 }, () => Math.max(0, Math.round(source() * 1.3 - 0.9)))
    const values = counts.map((count) => Math.sqrt(count + 0.375))
    const plain = fitBaseline(values, { sigmaFloor: 0.05, countEffectiveMin: 0, refuseQuantised: false })
    if (plain.kind === 'too-few-values') throw new Error(JSON.stringify(plain))
    expect(plain.droppedShare).toBeGreaterThan(0.05)
    const fit = fitBaseline(values, { sigmaFloor: 0.05, countEffectiveMin: 0, refuseQuantised: false, independent: true, trialFloor: 0.5 })
    if (fit.kind !== 'baseline') throw new Error(JSON.stringify(fit))
    expect(fit.droppedShare).toBe(0)
    expect(Math.abs(fit.lagOne)).toBeLessThan(0.05)
    expect(fit.countEffective).toBeGreaterThan(50)
    expect(fit.centre).toBeCloseTo(values.reduce((sum, value) => sum + value, 0) / 60, 9)
  })

  it('the spread of square roots of Poisson counts is the half of Anscombe (1948), and less where they are rare', () => {
    const spread = (mean: number): number => {
      let [sum, squares, chance] = [0, 0, Math.exp(-mean)]
      for (let count = 0; count < 200; count += 1) {
        const root = Math.sqrt(count + 0.375)
        sum += chance * root
        squares += chance * root * root
        chance *= mean / (count + 1)
      }
      return Math.sqrt(squares - sum * sum)
    }
    for (const mean of [4, 8, 16, 40]) expect(spread(mean)).toBeCloseTo(COUNT_SIGMA, 1)
    expect(Math.abs(spread(40) - COUNT_SIGMA)).toBeLessThan(0.002)
    for (const mean of [0.1, 0.3, 0.6]) expect(spread(mean)).toBeLessThan(COUNT_SIGMA)
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

  it('a smaller baseline widens every chart of the set, and what autocorrelation may be left widens the sums', () => {
    const of = (valueCount: number, lagLeft = 0, lagError = 0) => chartSetLimits(100_000, ['shewhart', 'cusum'], { errors: { valueCount, spreadCount: valueCount - 1, lagLeft, lagError }, shiftShare: 1 })
    const known = chartSetLimits(100_000, ['shewhart', 'cusum'], KNOWN_PARAMETERS)
    const [huge, large, small] = [of(1e9), of(300), of(30)] as const
    expect(Math.abs(huge.shewhart / known.shewhart - 1)).toBeLessThan(0.001)
    for (const i of [0, 1, 2]) {
      expect(Math.abs(huge.cusums[i]!.h / known.cusums[i]!.h - 1)).toBeLessThan(0.005)
      expect(large.cusums[i]!.h).toBeGreaterThan(known.cusums[i]!.h)
      expect(small.cusums[i]!.h).toBeGreaterThan(large.cusums[i]!.h)
      expect(small.cusums[i]!.k).toBeGreaterThan(large.cusums[i]!.k)
      expect(of(300, 0.1, 0.05).cusums[i]!.h).toBeGreaterThan(large.cusums[i]!.h * 1.05)
    }
    expect(known.shewhart).toBeLessThan(large.shewhart)
    expect(large.shewhart).toBeLessThan(small.shewhart)
  })

  // The simulated factors above again, from the bootstrap without chance: within 1 % of them.
  it.each([[30, 1.229], [50, 1.165], [100, 1.108], [300, 1.058], [1000, 1.03]])('the guaranteed Shewhart limit of %i values is wider by %d', (count, factor) => {
    const known = shewhartLimit(403_200)
    const [limit] = guaranteedLimits(403_200, [{ chart: { kind: 'shewhart' }, share: 1, guess: known }], { valueCount: count, spreadCount: count - 1, lagLeft: 0, lagError: 0 })
    expect(Math.abs(limit! / known / factor - 1)).toBeLessThan(0.01)
  })

  it('nine random baselines in ten keep the promised run length of a CUSUM, one in ten does not', () => {
    const normal = normalSource(77)
    const count = 200
    const k = 0.5
    const [h] = guaranteedLimits(5000, [{ chart: { kind: 'cusum', k }, share: 1, guess: quickCusumLimit(k, 5000) }], { valueCount: count, spreadCount: count - 1, lagLeft: 0, lagError: 0 })
    let kept = 0
    for (let machine = 0; machine < 300; machine++) {
      const values = Array.from({ length: count }, normal)
      const mean = values.reduce((sum, value) => sum + value, 0) / count
      const sd = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (count - 1))
      // Exact run length of the chart that was set up on this baseline.
      if (cusumArl({ k, h: h! }, { shift: -mean / sd, sd: 1 / sd }) >= 5000) kept++
    }
    // Standard error 0.017.
    expect(Math.abs(kept / 300 - 0.9)).toBeLessThan(0.05)
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
