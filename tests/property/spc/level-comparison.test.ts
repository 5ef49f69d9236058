import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { chanceNotAbove, chanceNotBelow, compareLevels, differenceInterval, equivalenceP, levelOf } from '../../../src/spc/level-comparison.js'
import { equivalenceTest, meanTest } from '../../../src/spc/two-sample-tests.js'

/** Alternating signs: no positive autocorrelation, so every value counts. */
const independent = fc
  .array(fc.double({ min: 0.1, max: 3, noNaN: true }), { minLength: 4, maxLength: 30 })
  .map((sizes) => sizes.map((size, i) => (i % 2 === 0 ? size : -size)))
const level = fc.double({ min: -20, max: 20, noNaN: true })
const shift = (values: readonly number[], by: number): number[] => values.map((value) => value + by)

describe('levels of independent values', () => {
  it('compare as by the t test of Welch and its two one-sided tests', () => {
    fc.assert(
      fc.property(independent, independent, level, level, (a, b, up, down) => {
        const x = shift(a, up)
        const y = shift(b, down)
        const test = meanTest(x, y)
        const tost = equivalenceTest(x, y, { margin: 1.3 })
        if (test.kind !== 'mean-test' || tost.kind === 'too-few-values' || tost.kind === 'no-variation') throw new Error(`${test.kind}, ${tost.kind}`)
        const comparison = compareLevels(levelOf(y), levelOf(x))
        expect(comparison.difference).toBeCloseTo(test.difference, 9)
        expect(comparison.degreesOfFreedom).toBeCloseTo(test.degreesOfFreedom, 6)
        expect(2 * Math.min(chanceNotAbove(comparison, 0), chanceNotBelow(comparison, 0))).toBeCloseTo(test.p, 8)
        expect(equivalenceP(comparison, 1.3)).toBeCloseTo(tost.p, 8)
        expect(differenceInterval(comparison, 0.95).lower).toBeCloseTo(test.interval.lower, 7)
      }),
    )
  })

  it('do not depend on the unit', () => {
    fc.assert(
      fc.property(independent, independent, fc.double({ min: 0.001, max: 1000, noNaN: true }), level, (a, b, factor, offset) => {
        const scaled = (values: readonly number[]): number[] => values.map((value) => factor * value + offset)
        const plain = compareLevels(levelOf(a), levelOf(b))
        const other = compareLevels(levelOf(scaled(a)), levelOf(scaled(b)))
        expect(chanceNotAbove(other, 0)).toBeCloseTo(chanceNotAbove(plain, 0), 5)
      }),
    )
  })

  it('never become surer by autocorrelation or by what differs from day to day', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -3, max: 3, noNaN: true }), { minLength: 5, maxLength: 40 }), fc.double({ min: 0, max: 3, noNaN: true }), (values, between) => {
        const one = levelOf(values)
        expect(one.effectiveCount).toBeLessThanOrEqual(values.length)
        expect(compareLevels(one, one, between).se).toBeGreaterThanOrEqual(compareLevels(one, one).se)
      }),
    )
  })
})

describe('the level at the end of a drift', () => {
  it('is that of the line, not of the mean', () => {
    const values = Array.from({ length: 30 }, (_, i) => 0.5 * i + (i % 2 === 0 ? 0.2 : -0.2))
    expect(levelOf(values, { at: 'end' })).toMatchObject({ drifts: true })
    expect(levelOf(values, { at: 'end' }).level).toBeCloseTo(14.5, 0)
    expect(levelOf(values).level).toBeCloseTo(7.25, 1)
  })

  it('is the mean where nothing drifts', () => {
    const values = [1, -1, 1, -1, 1, -1, 1, -1, 1, -1]
    expect(levelOf(values, { at: 'end' })).toMatchObject({ drifts: false, level: 0 })
  })
})

describe('a bad question', () => {
  it('is answered by a clear error', () => {
    expect(() => levelOf([1])).toThrow(/two values or more/)
    expect(() => levelOf([1, Number.NaN])).toThrow(/level/)
    expect(() => equivalenceP(compareLevels(levelOf([1, 2]), levelOf([1, 2])), 0)).toThrow(/margin above 0/)
  })
})
