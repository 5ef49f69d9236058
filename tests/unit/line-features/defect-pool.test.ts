import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { countOfAllKinds, createDefectPool } from '../../../src/line/features/defect-pool.js'

const KINDS = ['board.defects.skip', 'board.defects.bridge', 'board.defects.hole-fill']

describe('defects of all kinds together', () => {
  it('are summed once every kind has given the count of a group, and begin anew after that', () => {
    const pool = createDefectPool()
    expect(countOfAllKinds(pool, KINDS, KINDS[0]!, 2)).toBeUndefined()
    expect(countOfAllKinds(pool, KINDS, KINDS[2]!, 0)).toBeUndefined()
    expect(countOfAllKinds(pool, KINDS, KINDS[1]!, 1.5)).toBe(3.5)
    expect(countOfAllKinds(pool, KINDS, KINDS[0]!, 1)).toBeUndefined()
  })

  it('leave out a group of which one kind was lost, so that no count is summed with another group’s', () => {
    const pool = createDefectPool()
    countOfAllKinds(pool, KINDS, KINDS[0]!, 9)
    countOfAllKinds(pool, KINDS, KINDS[1]!, 9)
    // the third kind has lost its group; the next begins
    expect(countOfAllKinds(pool, KINDS, KINDS[0]!, 1)).toBeUndefined()
    expect(countOfAllKinds(pool, KINDS, KINDS[1]!, 1)).toBeUndefined()
    expect(countOfAllKinds(pool, KINDS, KINDS[2]!, 1)).toBe(3)
  })

  it('are the plain sum, whatever the order of the kinds, and a copy through JSON goes on the same', () => {
    fc.assert(
      fc.property(fc.shuffledSubarray(KINDS, { minLength: 3, maxLength: 3 }), fc.array(fc.double({ min: 0, max: 50, noNaN: true }), { minLength: 3, maxLength: 3 }), (order, counts) => {
        let pool = createDefectPool()
        const sums = order.map((kind, at) => {
          pool = JSON.parse(JSON.stringify(pool)) as typeof pool
          return countOfAllKinds(pool, KINDS, kind, counts[at]!)
        })
        expect(sums.slice(0, 2)).toEqual([undefined, undefined])
        expect(sums[2]).toBeCloseTo(counts.reduce((sum, count) => sum + count, 0), 9)
      }),
      { numRuns: 100, seed: 6 },
    )
  })
})
