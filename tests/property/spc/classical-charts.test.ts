import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { createCusum, stepCusum } from '../../../src/spc/cusum-chart.js'
import { createEwma, stepEwma } from '../../../src/spc/ewma-chart.js'
import { individualsLimits } from '../../../src/spc/individuals-chart.js'
import { hotellingT2, multivariateBaseline } from '../../../src/spc/multivariate-charts.js'
import { createWesternElectric, stepWesternElectric } from '../../../src/spc/western-electric.js'
import { subgroupLimits } from '../../../src/spc/subgroup-charts.js'

const value = fc.double({ min: -100, max: 100, noNaN: true })
const values = fc.array(value, { minLength: 2, maxLength: 60 })
/** Rounding of sums of up to 60 values of size 100, shifted by up to 1,000. */
const close = (actual: number, expected: number): void => expect(Math.abs(actual - expected)).toBeLessThanOrEqual(1e-9 * (1 + Math.abs(expected)) + 1e-9)

describe('classical charts', () => {
  it('individuals limits follow a change of unit, of sign and of zero', () => {
    fc.assert(
      fc.property(values, fc.double({ min: 0.01, max: 100, noNaN: true }), fc.double({ min: -1000, max: 1000, noNaN: true }), (data, scale, offset) => {
        const plain = individualsLimits(data)
        const other = individualsLimits(data.map((x) => -scale * x + offset))
        if (plain.kind !== 'limits' || other.kind !== 'limits') throw new Error('limits expected')
        close(other.individuals.upper, -scale * plain.individuals.lower + offset)
        close(other.individuals.lower, -scale * plain.individuals.upper + offset)
        close(other.movingRange.upper, scale * plain.movingRange.upper)
      }),
    )
  })

  it('subgroup limits do not depend on the order inside a subgroup', () => {
    fc.assert(
      fc.property(fc.array(fc.array(value, { minLength: 4, maxLength: 4 }), { minLength: 2, maxLength: 15 }), fc.constantFrom('range' as const, 'sd' as const), (data, by) => {
        const plain = subgroupLimits(data, by)
        const turned = subgroupLimits(data.map((subgroup) => [...subgroup].reverse()), by)
        if (plain.kind !== 'limits' || turned.kind !== 'limits') throw new Error('limits expected')
        close(turned.mean.upper, plain.mean.upper)
        close(turned.spread.upper, plain.spread.upper)
      }),
    )
  })

  it('EWMA in steps is the weighted sum of all values', () => {
    fc.assert(
      fc.property(values, fc.double({ min: 0.05, max: 1, noNaN: true }), (data, lambda) => {
        const design = { centre: 3, sigma: 2, lambda, limit: 3, limits: 'time-varying' } as const
        const state = createEwma(design)
        let last = 0
        for (const x of data) last = stepEwma(state, design, x).statistic
        let batch = 3 * (1 - lambda) ** data.length
        data.forEach((x, i) => (batch += lambda * (1 - lambda) ** (data.length - 1 - i) * x))
        close(last, batch)
      }),
    )
  })

  it('CUSUM in steps is the largest sum of the newest values; sides mirror; it goes on from its parsed text', () => {
    fc.assert(
      fc.property(values, fc.nat(), (data, cut) => {
        const design = { centre: 0, sigma: 10, k: 0.5, h: 5 }
        const mirrored = createCusum(design)
        let state = createCusum(design)
        data.forEach((x, i) => {
          if (i === cut % data.length) state = JSON.parse(JSON.stringify(state))
          const now = stepCusum(state, design, x)
          const then = stepCusum(mirrored, design, -x)
          expect(then.down.statistic).toBe(now.up.statistic)
        })
        let best = 0
        for (let from = data.length - 1, sum = 0; from >= 0; from--) {
          sum += data[from]! / 10 - 0.5
          best = Math.max(best, sum)
        }
        close(state.up, best)
      }),
    )
  })

  it('T^2 does not depend on the units of its values', () => {
    const vectors = fc.array(fc.tuple(value, value), { minLength: 8, maxLength: 30 })
    fc.assert(
      fc.property(vectors, fc.double({ min: 0.1, max: 10, noNaN: true }), (data, scale) => {
        const plain = multivariateBaseline(data)
        const other = multivariateBaseline(data.map(([a, b]) => [a * scale, b]))
        fc.pre(plain.kind === 'baseline' && other.kind === 'baseline' && plain.factor[1]![1]! > 1e-3 && plain.factor[0]![0]! > 1e-3)
        if (plain.kind !== 'baseline' || other.kind !== 'baseline') return
        for (const [a, b] of data) {
          const expected = hotellingT2(plain, [a, b])
          // The smallest own variance admitted makes the metric up to 1e5 times as sensitive as the values.
          expect(Math.abs(hotellingT2(other, [a * scale, b]) - expected)).toBeLessThan(1e-5 * (1 + expected))
        }
      }),
    )
  })

  it('Western Electric hits and ends in steps are the begins and ends of the episodes found from the whole series', () => {
    const z = fc.constantFrom(-3.5, -2.5, -1.5, -0.5, 0, 0.5, 1.5, 2.5, 3.5, 1, 2, 3)
    fc.assert(
      fc.property(fc.array(z, { maxLength: 80 }), (series) => {
        const found: string[] = []
        const ended: string[] = []
        const expectedEnds: string[] = []
        const state = createWesternElectric()
        series.forEach((x, i) => stepWesternElectric(state, i, x, 'individuals', ({ rule, side, timeMs }) => found.push(`${timeMs} ${rule} ${side}`), ({ rule, side, timeMs }) => ended.push(`${timeMs} ${rule} ${side}`)))
        const expected: string[] = []
        const fulfilled = (i: number, sign: number, rule: string): boolean => {
          const last = (count: number): number[] => series.slice(Math.max(0, i + 1 - count), i + 1).map((x) => x * sign)
          if (i < 0) return false
          if (rule === 'one-beyond-three-sigma') return last(1)[0]! > 3
          if (rule === 'two-of-three-beyond-two-sigma') return last(3).filter((x) => x > 2).length >= 2
          if (rule === 'four-of-five-beyond-one-sigma') return last(5).filter((x) => x > 1).length >= 4
          return i >= 7 && last(8).every((x) => x > 0)
        }
        series.forEach((_, i) => {
          for (const rule of ['one-beyond-three-sigma', 'two-of-three-beyond-two-sigma', 'four-of-five-beyond-one-sigma', 'eight-on-one-side']) {
            for (const [side, sign] of [['above', 1], ['below', -1]] as const) {
              if (fulfilled(i, sign, rule) && !fulfilled(i - 1, sign, rule)) expected.push(`${i} ${rule} ${side}`)
              if (!fulfilled(i, sign, rule) && fulfilled(i - 1, sign, rule)) expectedEnds.push(`${i} ${rule} ${side}`)
            }
          }
        })
        expect(found).toEqual(expected)
        expect(ended).toEqual(expectedEnds)
      }),
      { numRuns: 300 },
    )
  })
})
