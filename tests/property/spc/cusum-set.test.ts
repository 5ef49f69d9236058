import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { createCusum, stepCusum } from '../../../src/spc/cusum-chart.js'
import { createCusumSet, cusumShare, setCusumLimits, startCusums, stepCusumSet } from '../../../src/spc/cusum-set.js'

const series = fc.array(fc.double({ min: -4, max: 4, noNaN: true }), { minLength: 1, maxLength: 80 })
const limits = fc.array(fc.record({ k: fc.double({ min: 0.1, max: 1.5, noNaN: true }), h: fc.double({ min: 2, max: 12, noNaN: true }) }), { minLength: 1, maxLength: 4 })

describe('CUSUMs of a chart set in one row', () => {
  it('are the tabular CUSUMs until one of them reaches its limit', () => {
    fc.assert(
      fc.property(series, limits, (values, each) => {
        const set = createCusumSet(each)
        const charts = each.map(({ k, h }) => ({ design: { centre: 0, sigma: 1, k, h }, state: createCusum({ centre: 0, sigma: 1, k, h }) }))
        for (const z of values) {
          stepCusumSet(set, z)
          const points = charts.map(({ design, state }) => stepCusum(state, design, z))
          const upper = Math.max(...points.map(({ up }, i) => up.statistic / each[i]!.h))
          const lower = Math.max(...points.map(({ down }, i) => down.statistic / each[i]!.h))
          expect(cusumShare(set, 'above')).toBeCloseTo(Math.min(1, upper), 9)
          expect(cusumShare(set, 'below')).toBeCloseTo(Math.min(1, lower), 9)
          if (upper >= 1 || lower >= 1) return
        }
      }),
    )
  })

  it('turn round with the sign of the values, go on from their text, and keep their sums under new limits', () => {
    fc.assert(
      fc.property(series, limits, fc.nat(), (values, each, cut) => {
        const plain = createCusumSet(each)
        const mirrored = createCusumSet(each)
        let parts = createCusumSet(each)
        values.forEach((z, i) => {
          if (i === cut % values.length) parts = JSON.parse(JSON.stringify(parts)) as number[]
          for (const [set, value] of [[plain, z], [mirrored, -z], [parts, z]] as const) stepCusumSet(set, value)
          expect(cusumShare(mirrored, 'above')).toBe(cusumShare(plain, 'below'))
          expect(parts).toEqual(plain)
        })
        const before = cusumShare(plain, 'above')
        setCusumLimits(plain, each.map(({ k, h }) => ({ k, h: 2 * h })))
        expect(cusumShare(plain, 'above')).toBe(before / 2)
      }),
    )
  })

  it('are held at their limits, and begin where they are told to', () => {
    const set = createCusumSet([{ k: 0.5, h: 4 }, { k: 1, h: 3 }])
    for (let i = 0; i < 50; i++) stepCusumSet(set, 3)
    expect([cusumShare(set, 'above'), cusumShare(set, 'below')]).toEqual([1, 0])
    startCusums(set, 0.5)
    expect([cusumShare(set, 'above'), cusumShare(set, 'below')]).toEqual([0.5, 0.5])
    startCusums(set, 0, 'above')
    expect([cusumShare(set, 'above'), cusumShare(set, 'below')]).toEqual([0, 0.5])
  })
})
