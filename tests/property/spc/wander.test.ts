import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { findLevelChange } from '../../../src/spc/baseline-stability.js'
import { fitBaseline } from '../../../src/spc/baseline.js'
import { normalSource } from './random.js'

/** Values about a level, with a step of so many sigmas somewhere inside. */
const stretch = fc.record({ seed: fc.integer({ min: 1, max: 1e6 }), count: fc.integer({ min: 20, max: 200 }), step: fc.double({ min: 0, max: 8, noNaN: true }), at: fc.double({ min: 0.2, max: 0.8, noNaN: true }) }).map(({ seed, count, step, at }) => {
  const normal = normalSource(seed)
  return Array.from({ length: count }, (_, i) => 50 + normal() + (i < at * count ? 0 : step))
})
const follows = (values: readonly number[]): number[] => values.map((_, i) => (i === 0 ? 0 : 1))
const wander = fc.double({ min: 0, max: 5, noNaN: true })

describe('a level that may wander', () => {
  it('is taken for a change never more often the more it may, and never where no split exceeds the limit of white noise of that size', () => {
    fc.assert(
      fc.property(stretch, wander, wander, (values, a, b) => {
        const [less, more] = [Math.min(a, b), Math.max(a, b)].map((size) => findLevelChange(values, follows(values), size)) as [ReturnType<typeof findLevelChange>, ReturnType<typeof findLevelChange>]
        expect(more.statistic).toBeLessThanOrEqual(less.statistic)
        if (less.kind === 'none') expect(more.kind).toBe('none')
        // The largest separation of two means is that of halves a range apart: sqrt(n)/2 ranges.
        const range = Math.max(...values) - Math.min(...values)
        if (Math.max(a, b) > 0) expect(more.statistic).toBeLessThanOrEqual((Math.sqrt(values.length) / 2) * (range / Math.max(a, b)) + 1e-9)
      }),
    )
  })

  it('has a sigma of at least that, and says beside it how the values scatter, whatever it may', () => {
    fc.assert(
      fc.property(stretch, wander, (values, size) => {
        const options = { sigmaFloor: 0.01, countEffectiveMin: 0, refuseQuantised: false }
        const with_ = fitBaseline(values, { ...options, wander: size })
        const without = fitBaseline(values, options)
        if (with_.kind !== 'baseline') return
        expect(with_.sigma).toBeGreaterThanOrEqual(size)
        expect(with_.scatter).toBeLessThanOrEqual(with_.sigma)
        expect(with_.scatter).toBeGreaterThanOrEqual(0.01)
        if (without.kind === 'baseline' && without.kept.every((one, i) => one === with_.kept[i])) {
          expect(with_.centre).toBe(without.centre)
          if (size === 0) expect(with_).toEqual(without)
        }
      }),
    )
  })
})
