import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { countAtUsualMix, createDefectLevels, type DefectLevels } from '../../../src/line/features/defect-levels.js'
import { poisson, seeded } from './feature-run.js'

const KINDS = ['skip', 'bridge', 'hole-fill'] as const

/** Groups of boards of two recipes, the second with four times the joints; returns the counts at the usual mix of the last groups. */
function shift(levels: DefectLevels, draw: (mean: number) => number, groups: number, worse = 1): Record<string, number[]> {
  const given: Record<string, number[]> = { a: [], b: [] }
  for (let at = 0; at < groups; at += 1) {
    const recipe = at % 2 === 0 ? 'a' : 'b'
    for (const kind of KINDS) {
      const value = countAtUsualMix(levels, kind, recipe, draw((recipe === 'a' ? 1 : 4) * worse))
      if (value !== undefined) given[recipe]!.push(value)
    }
  }
  return given
}

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length

describe('counts of defects at the usual mix of boards', () => {
  it('brings recipes of few and of many joints to one level, and shows on both that there are twice as many', () => {
    const levels = createDefectLevels()
    const draw = poisson(seeded(3))
    shift(levels, draw, 80)
    const usual = shift(levels, draw, 200)
    expect(mean(usual['a']!) / mean(usual['b']!)).toBeGreaterThan(0.8)
    expect(mean(usual['a']!) / mean(usual['b']!)).toBeLessThan(1.25)
    const worse = shift(levels, draw, 200, 2)
    for (const recipe of ['a', 'b']) expect(mean(worse[recipe]!) / mean(usual[recipe]!)).toBeCloseTo(2, 0)
  })

  it('says nothing before the line and the recipe are known, and leaves a count alone where there is one recipe', () => {
    const levels = createDefectLevels()
    expect(Array.from({ length: 6 }, () => countAtUsualMix(levels, 'skip', 'a', 3))).toEqual(new Array(6).fill(undefined))
    expect(countAtUsualMix(levels, 'skip', 'a', 3)).toBeCloseTo(3, 9)
    expect(Array.from({ length: 6 }, () => countAtUsualMix(levels, 'skip', 'b', 3))).toEqual(new Array(6).fill(undefined))
    expect(countAtUsualMix(levels, 'skip', 'b', 3)).toBeGreaterThan(0)
  })

  it('lets a count scatter under a recipe of few defects no more than at the usual mix, about the same mean', () => {
    const levels = createDefectLevels()
    const draw = poisson(seeded(7))
    const give = (recipe: string): number[] => KINDS.flatMap((kind) => countAtUsualMix(levels, kind, recipe, draw(recipe === 'a' ? 1 : 0.1)) ?? [])
    for (let at = 0; at < 60; at += 1) for (const recipe of ['a', 'a', 'b']) give(recipe)
    const usual = Array.from({ length: 400 }, () => give('a')).flat()
    const few = Array.from({ length: 400 }, () => give('b')).flat()
    const rootSd = (values: readonly number[]): number => {
      const roots = values.map((value) => Math.sqrt(value + 3 / 8))
      return Math.sqrt(mean(roots.map((root) => (root - mean(roots)) ** 2)))
    }
    expect(mean(few) / mean(usual)).toBeGreaterThan(0.6)
    expect(mean(few) / mean(usual)).toBeLessThan(1.4)
    expect(rootSd(few)).toBeLessThan(rootSd(usual))
    // divided by a level of a tenth or two, one defect would be five of them and more
    expect(Math.max(...few)).toBeLessThan(5)
  })

  it('does not learn what comes after the first two days of a recipe', () => {
    const levels = createDefectLevels()
    const draw = poisson(seeded(5))
    shift(levels, draw, 80)
    const before = countAtUsualMix(levels, 'skip', 'a', 10)
    shift(levels, draw, 400, 5)
    expect(countAtUsualMix(levels, 'skip', 'a', 10)).toBe(before)
  })

  it('is finite and not below 0, whatever was counted, grows with the count, and a copy through JSON goes on the same', () => {
    const taken = fc.record({ kind: fc.constantFrom(...KINDS), recipe: fc.constantFrom('a', 'b', 'c', ''), count: fc.integer({ min: 0, max: 500 }) })
    fc.assert(
      fc.property(fc.array(taken, { maxLength: 200 }), fc.integer({ min: 0, max: 500 }), (groups, count) => {
        const levels = createDefectLevels()
        for (const group of groups) {
          const value = countAtUsualMix(levels, group.kind, group.recipe, group.count)
          if (value !== undefined) expect(Number.isFinite(value) && value >= 0).toBe(true)
        }
        const copy = (): DefectLevels => JSON.parse(JSON.stringify(levels)) as DefectLevels
        const value = countAtUsualMix(copy(), 'skip', 'a', count)
        expect(countAtUsualMix(copy(), 'skip', 'a', count)).toBe(value)
        if (value !== undefined) expect(countAtUsualMix(copy(), 'skip', 'a', count + 1)!).toBeGreaterThan(value)
      }),
      { numRuns: 100, seed: 9 },
    )
  })
})
