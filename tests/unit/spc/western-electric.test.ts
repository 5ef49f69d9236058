import { describe, expect, it } from 'vitest'
import type { RuleHit } from '../../../src/spc/chart-point.js'
import { createWesternElectric, isFulfilled, resetWesternElectric, stepWesternElectric } from '../../../src/spc/western-electric.js'

function hitsOf(zs: readonly number[]): RuleHit[] {
  const state = createWesternElectric()
  const hits: RuleHit[] = []
  zs.forEach((z, i) => stepWesternElectric(state, i + 1, z, 'individuals', (hit) => hits.push(hit)))
  return hits
}
const short = (hits: readonly RuleHit[]) => hits.map(({ timeMs, rule, side, pointTimesMs }) => [timeMs, rule, side, ...pointTimesMs])

describe('Western Electric rules', () => {
  it('one point beyond three sigma, strictly', () => {
    expect(short(hitsOf([0, 3, 3.01, -3, -3.01]))).toEqual([
      [3, 'one-beyond-three-sigma', 'above', 3],
      // The 3 and the 3.01 are also two of three beyond two sigma.
      [3, 'two-of-three-beyond-two-sigma', 'above', 2, 3],
      [5, 'one-beyond-three-sigma', 'below', 5],
      [5, 'two-of-three-beyond-two-sigma', 'below', 4, 5],
    ])
  })

  it('two of three beyond two sigma may be fulfilled at the second point, and names the two', () => {
    expect(short(hitsOf([2.5, 2.5]))).toEqual([[2, 'two-of-three-beyond-two-sigma', 'above', 1, 2]])
    expect(short(hitsOf([2.5, 0, 2.5]))).toEqual([[3, 'two-of-three-beyond-two-sigma', 'above', 1, 3]])
    expect(short(hitsOf([2.5, 0, 0, 2.5]))).toEqual([])
    expect(short(hitsOf([2.5, -2.5]))).toEqual([])
    expect(short(hitsOf([2, 2, 2]))).toEqual([])
  })

  it('four of five beyond one sigma', () => {
    expect(short(hitsOf([1.5, 1.5, 0.5, 1.5, 1.5]))).toEqual([[5, 'four-of-five-beyond-one-sigma', 'above', 1, 2, 4, 5]])
    expect(short(hitsOf([-1.5, -1.5, -1.5, -1.5]))).toEqual([[4, 'four-of-five-beyond-one-sigma', 'below', 1, 2, 3, 4]])
  })

  it('eight on one side; a point on the centre line breaks the run', () => {
    expect(short(hitsOf(new Array(8).fill(0.1)))).toEqual([[8, 'eight-on-one-side', 'above', 1, 2, 3, 4, 5, 6, 7, 8]])
    expect(hitsOf([...new Array(7).fill(0.1), 0, ...new Array(7).fill(0.1)])).toEqual([])
  })

  it('one hit an episode, and a new one only after the rule has been unfulfilled', () => {
    expect(hitsOf(new Array(30).fill(0.1))).toHaveLength(1)
    expect(short(hitsOf([4, 0, 4])).filter(([, rule]) => rule === 'one-beyond-three-sigma')).toHaveLength(2)
    expect(short(hitsOf([4, 4, 4])).filter(([, rule]) => rule === 'one-beyond-three-sigma')).toHaveLength(1)
  })

  it('ends an episode at the first point that no longer fulfils the rule, once', () => {
    const state = createWesternElectric()
    const ends: unknown[] = []
    ;[4, 4, 0, 0, 0, -4, 0].forEach((z, i) => stepWesternElectric(state, i + 1, z, 'individuals', () => undefined, ({ timeMs, rule, side }) => ends.push([timeMs, rule, side])))
    // The two points beyond two sigma are two of the last three until the fourth point.
    expect(ends).toEqual([
      [3, 'one-beyond-three-sigma', 'above'],
      [4, 'two-of-three-beyond-two-sigma', 'above'],
      [7, 'one-beyond-three-sigma', 'below'],
    ])
  })

  it('tells what is fulfilled now, and forgets on reset', () => {
    const state = createWesternElectric()
    stepWesternElectric(state, 1, -4, 'individuals', () => undefined)
    expect(isFulfilled(state, 'one-beyond-three-sigma', 'below')).toBe(true)
    expect(isFulfilled(state, 'one-beyond-three-sigma', 'above')).toBe(false)
    resetWesternElectric(state)
    expect(isFulfilled(state, 'one-beyond-three-sigma', 'below')).toBe(false)
  })

  it('refuses a distance that is no number', () => {
    expect(() => hitsOf([Number.NaN])).toThrow(/finite/)
  })
})
