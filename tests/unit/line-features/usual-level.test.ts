import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { atUsualRecipe, createUsualLevels, LEVEL_VALUES, type UsualLevels } from '../../../src/line/features/usual-level.js'

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
