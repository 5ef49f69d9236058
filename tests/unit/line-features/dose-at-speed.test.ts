import { describe, expect, it } from 'vitest'
import { doseAtUsualSpeed, type RecipeDoses } from '../../../src/line/features/dose-at-speed.js'

const SPEED = 20

/** Doses one after the other at one speed; what they are brought to. */
function run(doses: RecipeDoses, speed: number, dosesML: readonly number[], recipe = 'a'): number[] {
  return dosesML.map((doseML) => doseAtUsualSpeed(doses, recipe, doseML, speed))
}

/** Four doses of 4 mL at 20 mm/s. */
function learned(): RecipeDoses {
  const doses: RecipeDoses = {}
  expect(run(doses, SPEED, [4, 3.9, 4.1, 4])).toEqual([4, 3.9, 4.1, 4])
  return doses
}

const near = (values: readonly number[], expected: number): void => values.forEach((value) => expect(value).toBeCloseTo(expected, 9))

describe('the dose per board at the usual speed', () => {
  it('is the dose while the speed is the same, whatever it is', () => {
    for (const dose of [1, 4, 9]) expect(run(learned(), SPEED * 1.009, [dose])).toEqual([dose])
  })

  it.each([0.7, 0.95, 1.05, 1.3])('did not change at %f times the speed, neither where boards get as much more nor where the fluxer follows, nor on the way back', (factor) => {
    for (const atSpeed of [4 / factor, 4, (4 + 4 / factor) / 2]) {
      const doses = learned()
      near(run(doses, SPEED * factor, Array.from({ length: 6 }, () => atSpeed)), 4)
      near(run(doses, SPEED, [4, 4]), 4)
      near(run(doses, SPEED * factor, [atSpeed]), 4)
    }
  })

  it('shows what changes together with the speed as far as no law of the speed explains it', () => {
    expect(run(learned(), SPEED * 0.8, [6])[0]).toBeCloseTo(4.8, 9)
    expect(run(learned(), SPEED * 0.8, [2])[0]).toBeCloseTo(2, 9)
    expect(run(learned(), SPEED * 1.25, [6])[0]).toBeCloseTo(6, 9)
    expect(run(learned(), SPEED * 1.25, [2])[0]).toBeCloseTo(2.5, 9)
  })

  it('shows in full what changes once the speed has been learned, whichever law holds', () => {
    for (const atSpeed of [5, 4]) {
      const doses = learned()
      run(doses, 16, [atSpeed, atSpeed, atSpeed, atSpeed])
      for (const share of [0.8, 0.9, 1.1, 1.25]) expect(run(doses, 16, [share * atSpeed])[0]).toBeCloseTo(4 * share, 9)
    }
  })

  it('that drifted before the speed was changed stays drifted', () => {
    const doses = learned()
    near(run(doses, SPEED, [3, 3, 3, 3]), 3)
    near(run(doses, 16, [3.75, 3.75, 3.75, 3.75]), 3)
    near(run(doses, SPEED, [3]), 3)
  })

  it('skips a speed that was run too shortly to be learned, and comes back from many to where it was', () => {
    const doses = learned()
    run(doses, 10, [8])
    near(run(doses, 16, [5, 5, 5, 5]), 4)
    for (let speed = 5; speed < 16; speed += 0.5) near(run(doses, speed, [80 / speed, 80 / speed, 80 / speed, 80 / speed]), 4)
    near(run(doses, SPEED, [4]), 4)
    expect(doses[' a']!.known).toHaveLength(8)
  })

  it('knows each recipe by itself, whatever it is called, and keeps those heard of last', () => {
    const doses = learned()
    expect(run(doses, 10, [8], 'b')).toEqual([8])
    near(run(doses, 10, [8]), 4)
    for (const recipe of ['__proto__', 'constructor', '17', '']) {
      run(doses, SPEED, [4, 4, 4, 4], recipe)
      near(run(doses, 10, [8], recipe), 4)
    }
    for (let recipe = 1000; recipe < 1300; recipe += 1) {
      run(doses, SPEED, [4], String(recipe))
      run(doses, SPEED, [4])
    }
    expect(run(doses, SPEED, [4], '17')).toEqual([4])
    expect(Object.keys(doses)).toHaveLength(200)
    expect(Object.hasOwn(doses, ' a') && Object.hasOwn(doses, ' 1299') && !Object.hasOwn(doses, ' 1000')).toBe(true)
    expect(JSON.parse(JSON.stringify(doses))).toEqual(doses)
  })

  it('of nothing is nothing', () => {
    const doses = learned()
    expect(run(doses, 10, [0, 0, 0, 0, 0])).toEqual([0, 0, 0, 0, 0])
    expect(run(doses, 10, [8])[0]).toBeGreaterThan(0)
  })
})
