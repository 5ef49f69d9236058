import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { atUsualRecipe, createUsualLevels, LEVEL_VALUES, type LevelRule, type UsualLevels } from '../../../src/line/features/usual-level.js'

function learned(levels: Readonly<Record<string, number>>): UsualLevels {
  const known = createUsualLevels()
  for (const [key, level] of Object.entries(levels)) for (let at = 0; at < LEVEL_VALUES; at += 1) expect(atUsualRecipe(known, key, level)).toBeUndefined()
  return known
}

describe('a value as under the recipe that was learned first', () => {
  it('brings every recipe to the level of the first by the difference of their levels', () => {
    const known = learned({ a: 112, b: 105 })
    expect(atUsualRecipe(known, 'a', 112.5)).toBeCloseTo(112.5, 9)
    expect(atUsualRecipe(known, 'b', 103)).toBeCloseTo(110, 9)
  })

  it('an edited set-point is a level of its own and does not look like a change', () => {
    const known = learned({ 'a 120,140,160': 112 })
    for (let at = 0; at < LEVEL_VALUES; at += 1) expect(atUsualRecipe(known, 'a 125,140,160', 115)).toBeUndefined()
    expect(atUsualRecipe(known, 'a 125,140,160', 115)).toBeCloseTo(112, 9)
  })

  it('a recipe that first runs while the others are off is taken to be off by as much', () => {
    const known = learned({ a: 112 })
    for (let at = 0; at < 8; at += 1) atUsualRecipe(known, 'a', 109)
    for (let at = 0; at < LEVEL_VALUES; at += 1) expect(atUsualRecipe(known, 'b', 102)).toBeUndefined()
    // three degrees too cold as the other, and as warm as it should be once the dirt is gone
    expect(atUsualRecipe(known, 'b', 102)).toBeCloseTo(109, 9)
    expect(atUsualRecipe(known, 'b', 105)).toBeCloseTo(112, 9)
    expect(atUsualRecipe(known, 'a', 112)).toBeCloseTo(112, 9)
  })

  it('odd values among the first do not make the level, and what comes later does not bend it', () => {
    const known = createUsualLevels()
    for (let at = 0; at < LEVEL_VALUES; at += 1) atUsualRecipe(known, 'a', at < 3 ? 90 : 112)
    for (let at = 0; at < 200; at += 1) atUsualRecipe(known, 'a', 112 - at / 10)
    expect(atUsualRecipe(known, 'a', 110)).toBeCloseTo(110, 9)
  })

  it('keeps a bounded number of levels', () => {
    const known = createUsualLevels()
    for (let at = 0; at < 500; at += 1) atUsualRecipe(known, `recipe-${at}`, at)
    expect(Object.keys(known.levels).length).toBeLessThanOrEqual(200)
    expect(known.levels['recipe-499']).toBeDefined()
  })

  it('moves by as much as the value moves, and a copy through JSON goes on the same', () => {
    fc.assert(
      fc.property(fc.dictionary(fc.constantFrom('a', 'b', 'c'), fc.double({ min: -50, max: 250, noNaN: true }), { minKeys: 1 }), fc.double({ min: -20, max: 20, noNaN: true }), (levels, move) => {
        const known = JSON.parse(JSON.stringify(learned(levels))) as UsualLevels
        const first = Object.values(levels)[0]!
        for (const [key, level] of Object.entries(levels)) expect(atUsualRecipe(known, key, level + move)! - first).toBeCloseTo(move, 6)
      }),
      { numRuns: 100, seed: 4 },
    )
  })
})

describe('a value at the recipe that was heard first', () => {
  const RULE: LevelRule = { values: 4, by: 'ratio', firstPasses: true }
  const give = (known: UsualLevels, key: string, ...values: number[]): (number | undefined)[] => values.map((value) => atUsualRecipe(known, key, value, RULE))

  it('passes as it is under the first, and under others once their level is known, by the ratio of the levels', () => {
    const known = createUsualLevels()
    expect(give(known, 'a', 10, 11, 10, 9, 10)).toEqual([10, 11, 10, 9, 10])
    expect(give(known, 'b', 30, 30, 31, 29)).toEqual([undefined, undefined, undefined, undefined])
    // a fifth less under either is a fifth less
    expect(give(known, 'b', 24)[0]).toBeCloseTo(8, 9)
    expect(give(known, 'a', 8)[0]).toBeCloseTo(8, 9)
  })

  it('a recipe that first runs while the first is off by a fifth is taken to be off by as much', () => {
    const known = createUsualLevels()
    give(known, 'a', ...Array<number>(4).fill(10), ...Array<number>(8).fill(8))
    give(known, 'b', 24, 24, 24, 24)
    expect(give(known, 'b', 24)[0]).toBeCloseTo(8, 9)
    expect(give(known, 'b', 30)[0]).toBeCloseTo(10, 9)
  })

  it('a level learned while the line was far off is a guess, learned again once the line has been cleaned; one learned while it was nearly as usual stays', () => {
    const rule: LevelRule = { values: 4, by: 'difference', firstPasses: true, much: 0.25 }
    const run = (known: UsualLevels, key: string, count: number, value: number): (number | undefined)[] => Array.from({ length: count }, () => atUsualRecipe(known, key, value, rule))
    for (const [off, again] of [[1.4, true], [0.1, false]] as const) {
      const known = createUsualLevels()
      run(known, 'a', 4, -5)
      run(known, 'a', 8, -5 + off)
      // dirt makes less of it under the second recipe: it is taken for more clean than it is
      run(known, 'b', 4, -6 + off / 2)
      expect(run(known, 'b', 1, -6 + off / 2)[0]).toBeCloseTo(-5 + off, 9)
      run(known, 'a', 6, -5)
      const after = run(known, 'b', 6, -6)
      if (again) expect(after).toEqual([undefined, undefined, undefined, undefined, expect.closeTo(-5, 9), expect.closeTo(-5, 9)])
      else expect(after.every((value) => Math.abs(value! - (-5 + off / 2)) < 1e-9)).toBe(true)
    }
  })

  it('levels that are no multiple of each other are compared by their difference: a zone one recipe does without makes no changes of noise', () => {
    const known = createUsualLevels()
    give(known, 'a', 40, 40, 40, 40)
    give(known, 'off', 0.1, 0, 0, 0.1)
    expect(give(known, 'off', 0.3)[0]).toBeCloseTo(40.25, 9)
    give(known, 'negative', -1, -1, -1, -1)
    expect(give(known, 'negative', -2)[0]).toBeCloseTo(39, 9)
  })

  it('a recipe that ran for a moment is nothing to bring the others to, one that ran for long enough is', () => {
    const moment = createUsualLevels()
    give(moment, '', 99)
    expect(give(moment, 'a', 10, 10, 10, 10, 10)).toEqual([undefined, undefined, undefined, undefined, 10])
    const longer = createUsualLevels()
    const rule: LevelRule = { ...RULE, values: 6 }
    for (let at = 0; at < 4; at += 1) atUsualRecipe(longer, 'a', 10, rule)
    for (let at = 0; at < 6; at += 1) expect(atUsualRecipe(longer, 'b', 20, rule)).toBeUndefined()
    expect(atUsualRecipe(longer, 'b', 20, rule)).toBeCloseTo(10, 9)
  })

  it('keeps the first among many', () => {
    const known = createUsualLevels()
    give(known, 'a', 10, 10, 10, 10)
    for (let at = 0; at < 500; at += 1) give(known, `recipe-${at}`, 20, 20, 20, 20)
    expect(give(known, 'a', 9)).toEqual([9])
    expect(Object.keys(known.levels).length).toBeLessThanOrEqual(201)
  })

  it('recipes may be called like something every object has', () => {
    const known = createUsualLevels()
    give(known, 'constructor', 10, 10, 10, 10)
    give(known, '__proto__x', 20, 20, 20, 20)
    give(known, 'toString', 5, 5, 5, 5)
    expect(give(known, 'toString', 5)[0]).toBeCloseTo(10, 9)
  })

  it('by shares: what a fault takes of any recipe it takes of the first, and a copy through JSON goes on the same', () => {
    fc.assert(
      fc.property(fc.double({ min: 1, max: 50, noNaN: true }), fc.double({ min: 0.25, max: 4, noNaN: true }), fc.double({ min: 0.1, max: 3, noNaN: true }), (usual, times, share) => {
        const learnt = createUsualLevels()
        give(learnt, 'a', usual, usual, usual, usual)
        give(learnt, 'b', ...Array<number>(4).fill(usual * times))
        const known = JSON.parse(JSON.stringify(learnt)) as UsualLevels
        expect(give(known, 'b', usual * times * share)[0]! / usual).toBeCloseTo(share, 9)
      }),
      { numRuns: 100, seed: 5 },
    )
  })
})
