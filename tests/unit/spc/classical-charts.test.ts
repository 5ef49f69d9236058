import { describe, expect, it } from 'vitest'
import { attributeLimits, stepAttribute } from '../../../src/spc/attribute-charts.js'
import { chartConstants, c4Of } from '../../../src/spc/constants.js'
import { createCusum, stepCusum } from '../../../src/spc/cusum-chart.js'
import { createEwma, stepEwma } from '../../../src/spc/ewma-chart.js'
import { createIndividuals, individualsLimits, stepIndividuals } from '../../../src/spc/individuals-chart.js'
import { createMewma, hotellingLimit, multivariateBaseline, stepHotelling, stepMewma } from '../../../src/spc/multivariate-charts.js'
import { createSelfStarting, stepSelfStarting } from '../../../src/spc/self-starting.js'
import { createSpread, logVarianceMoments, stepSpread } from '../../../src/spc/spread-chart.js'
import { subgroupLimits } from '../../../src/spc/subgroup-charts.js'
import { normalSource } from '../../property/spc/random.js'

describe('bad input gives a reason or a clear error, never NaN', () => {
  it('too few samples', () => {
    expect(individualsLimits([]).kind).toBe('too-few-samples')
    expect(individualsLimits([1]).kind).toBe('too-few-samples')
    expect(subgroupLimits([[1, 2]], 'range').kind).toBe('too-few-samples')
    expect(attributeLimits('p', [{ count: 1, size: 10 }]).kind).toBe('too-few-samples')
    expect(multivariateBaseline([[1, 2], [2, 1]]).kind).toBe('too-few-samples')
  })

  it('equal values: limits of no width, finite', () => {
    const limits = individualsLimits([5, 5])
    expect(limits).toMatchObject({ kind: 'limits', individuals: { centre: 5, lower: 5, upper: 5, sigma: 0 } })
    const none = attributeLimits('c', [{ count: 0, size: 1 }, { count: 0, size: 1 }], { laney: true })
    if (none.kind !== 'limits') throw new Error(none.kind)
    expect(stepAttribute(none, { count: 0, size: 1 })).toEqual({ statistic: 0, centre: 0, lower: 0, upper: 0, sigma: 0, beyond: 'none' })
  })

  it.each([Number.NaN, Number.NEGATIVE_INFINITY, 1e300])('the value %d', (bad) => {
    const ewma = { centre: 0, sigma: 1, lambda: 0.2, limit: 3, limits: 'fixed' } as const
    const cusum = { centre: 0, sigma: 1, k: 0.5, h: 5 }
    const spread = { sigma: 1, windowSize: 10, lambda: 0.2, limit: 3 }
    expect(() => individualsLimits([1, bad])).toThrow(/finite/)
    expect(() => subgroupLimits([[1, 2], [1, bad]], 'sd')).toThrow(/finite/)
    expect(() => stepEwma(createEwma(ewma), ewma, bad)).toThrow(/finite/)
    expect(() => stepCusum(createCusum(cusum), cusum, bad)).toThrow(/finite/)
    expect(() => stepSpread(createSpread(spread), spread, bad)).toThrow(/finite/)
    expect(() => stepSelfStarting(createSelfStarting({ k: 0.5, h: 5 }), { k: 0.5, h: 5 }, bad)).toThrow(/finite/)
    expect(() => multivariateBaseline([[1, 2], [2, 1], [3, 3], [bad, 1]])).toThrow(/finite/)
  })

  it('designs and samples that make no sense', () => {
    expect(() => chartConstants(1)).toThrow(/2 to 200/)
    expect(() => c4Of(2.5)).toThrow(/2 or more/)
    expect(() => createCusum({ centre: 0, sigma: 1, k: 0.5, h: 5, headStart: 1 })).toThrow(/head start/)
    expect(() => createEwma({ centre: 0, sigma: 0, lambda: 0.2, limit: 3, limits: 'fixed' })).toThrow(/sigma/)
    expect(() => attributeLimits('p', [{ count: 11, size: 10 }])).toThrow(/defectives/)
    expect(() => attributeLimits('c', [{ count: 1, size: 1 }, { count: 1, size: 2 }])).toThrow(/one size/)
    expect(() => subgroupLimits([[1, 2], [1, 2, 3]], 'range')).toThrow(/2 values expected/)
    expect(() => hotellingLimit(2, 3, 0.01, 2)).toThrow(/at least 4/)
  })
})

describe('charts in steps', () => {
  it('individuals: no moving range at the first value, a jump shows in both', () => {
    const limits = individualsLimits([10, 12, 10, 12, 11, 10, 12])
    if (limits.kind !== 'limits') throw new Error(limits.kind)
    const state = createIndividuals()
    expect(stepIndividuals(state, limits, 11).movingRange).toBeUndefined()
    const jump = stepIndividuals(state, limits, 20)
    expect(jump.individuals.beyond).toBe('above')
    expect(jump.movingRange!.statistic).toBe(9)
    expect(jump.movingRange!.beyond).toBe('above')
  })

  it('CUSUM: a head start finds a shift that is there from the start sooner', () => {
    const first = (headStart: number): number => {
      const design = { centre: 0, sigma: 1, k: 0.5, h: 5, headStart }
      const state = createCusum(design)
      for (let i = 1; i < 100; i++) if (stepCusum(state, design, 1.5).up.beyond === 'above') return i
      return 100
    }
    expect(first(0.5)).toBeLessThan(first(0))
  })

  it('spread: moments of ln S^2, and a change of spread no mean chart sees', () => {
    // Exact at n = 3 (one degree pair): ln of an exponential variable, mean -Euler's constant, sd pi/sqrt(6).
    expect(logVarianceMoments(3).mean).toBeCloseTo(-0.5772156649015329, 11)
    expect(logVarianceMoments(3).sd).toBeCloseTo(Math.PI / Math.sqrt(6), 11)
    const design = { sigma: 1, windowSize: 60, lambda: 0.2, limit: 4.69 }
    const state = createSpread(design)
    for (let i = 0; i < 50; i++) expect(stepSpread(state, design, 1).beyond).toBe('none')
    let windows = 0
    while (windows < 100 && stepSpread(state, design, Math.sqrt(1.5)).beyond === 'none') windows++
    expect(windows).toBeLessThan(15)
    for (let i = 0; i < 50; i++) stepSpread(state, design, 0)
    expect(stepSpread(state, design, 0).beyond).toBe('below')
  })

  it('multivariate: two values that move against their habit are found though each is inside', () => {
    const normal = normalSource(3)
    const vectors = Array.from({ length: 200 }, () => {
      const common = normal()
      return [common + 0.2 * normal(), common + 0.2 * normal()]
    })
    const baseline = multivariateBaseline(vectors)
    if (baseline.kind !== 'baseline') throw new Error(baseline.kind)
    const limit = hotellingLimit(2, 200, 1 / 370, 2)
    expect(stepHotelling(baseline, limit, [1, 1]).beyond).toBe('none')
    expect(stepHotelling(baseline, limit, [1, -1]).beyond).toBe('above')
    const state = createMewma(baseline)
    let points = 0
    while (points < 200 && stepMewma(state, baseline, 0.1, 15, [0.3, -0.3]).beyond === 'none') points++
    expect(points).toBeLessThan(30)
    expect(multivariateBaseline(vectors.map(([a]) => [a!, 2 * a!])).kind).toBe('singular')
  })
})

describe('self-starting chart', () => {
  const design = { k: 0.5, h: 8 }

  it('makes standard normal values from the third on, whatever the scale', () => {
    const normal = normalSource(5)
    const scores: number[] = []
    for (let run = 0; run < 300; run++) {
      const state = createSelfStarting({ k: 0.5, h: 1e6 })
      for (let i = 0; i < 20; i++) {
        const result = stepSelfStarting(state, { k: 0.5, h: 1e6 }, 1000 + 7 * normal())
        if (result.kind === 'judged') scores.push(result.q)
      }
    }
    const average = scores.reduce((sum, q) => sum + q, 0) / scores.length
    const variance = scores.reduce((sum, q) => sum + (q - average) ** 2, 0) / scores.length
    // 5,400 values: four standard errors are 0.054 for the mean and 0.077 for the variance.
    expect(scores).toHaveLength(300 * 18)
    expect(Math.abs(average)).toBeLessThan(0.055)
    expect(Math.abs(variance - 1)).toBeLessThan(0.08)
  })

  it('freezes on a shift instead of learning it', () => {
    const normal = normalSource(6)
    const state = createSelfStarting(design)
    for (let i = 0; i < 40; i++) stepSelfStarting(state, design, normal())
    let signalled = false
    for (let i = 0; i < 60; i++) {
      const result = stepSelfStarting(state, design, 3 + normal())
      if (result.kind === 'judged' && result.signal === 'above') signalled = true
    }
    expect(signalled).toBe(true)
    expect(state.frozen).toBe(true)
    expect(state.mean).toBeLessThan(0.6)
  })

  it('says so when it cannot judge, and bounds what is beyond any tail', () => {
    const state = createSelfStarting(design)
    expect(stepSelfStarting(state, design, 1).kind).toBe('too-few-values')
    expect(stepSelfStarting(state, design, 1).kind).toBe('too-few-values')
    expect(stepSelfStarting(state, design, 1).kind).toBe('no-variation')
    for (let i = 0; i < 400; i++) stepSelfStarting(state, design, i % 2)
    const far = stepSelfStarting(state, design, 1e9)
    expect(far.kind === 'judged' && Number.isFinite(far.q) && far.q > 8).toBe(true)
  })
})
