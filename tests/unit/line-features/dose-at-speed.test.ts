import { describe, expect, it } from 'vitest'
import { doseAtUsualSpeed, type RecipeDoses } from '../../../src/line/features/dose-at-speed.js'

const SPEED = 20

/** Four first doses of 4 mL at 20 mm/s. */
function learned(recipe = 'a'): RecipeDoses {
  const doses: RecipeDoses = {}
  for (const dose of [4, 3.9, 4.1, 4]) expect(doseAtUsualSpeed(doses, recipe, dose, SPEED)).toBe(dose)
  return doses
}

describe('the dose per board at the usual speed', () => {
  it('is the dose while the speed is the usual one, whatever it is', () => {
    for (const dose of [1, 4, 9]) expect(doseAtUsualSpeed(learned(), 'a', dose, SPEED * 1.009)).toBe(dose)
  })

  it('did not change where boards go slower and get as much more, nor where the fluxer follows the speed', () => {
    for (const factor of [0.8, 0.95, 1.05, 1.2]) {
      expect(doseAtUsualSpeed(learned(), 'a', 4 / factor, SPEED * factor)).toBeCloseTo(4, 12)
      expect(doseAtUsualSpeed(learned(), 'a', 4, SPEED * factor)).toBe(4)
      // half of it, as a valve that opens for a fixed time beside the board's
      expect(doseAtUsualSpeed(learned(), 'a', (4 + 4 / factor) / 2, SPEED * factor)).toBeCloseTo(4, 12)
    }
  })

  it('changed by what neither explains', () => {
    expect(doseAtUsualSpeed(learned(), 'a', 6, SPEED * 0.8)).toBeCloseTo(4.8, 12)
    expect(doseAtUsualSpeed(learned(), 'a', 2, SPEED * 0.8)).toBe(2)
    expect(doseAtUsualSpeed(learned(), 'a', 6, SPEED * 1.25)).toBe(6)
    expect(doseAtUsualSpeed(learned(), 'a', 2, SPEED * 1.25)).toBe(2.5)
  })

  it('knows each recipe by its own first doses, and takes a dose as it is where no speed is known', () => {
    const doses = learned()
    expect(doseAtUsualSpeed(doses, 'b', 8, 10)).toBe(8)
    expect(doseAtUsualSpeed(doses, 'a', 4, 10)).toBe(4)
    for (const speed of [undefined, 0, NaN]) expect(doseAtUsualSpeed(doses, 'a', 7, speed)).toBe(7)
    expect(doses['a']!.dosesML).toEqual([4, 3.9, 4.1, 4])
  })

  it('keeps the newest recipes, and is plain JSON', () => {
    const doses: RecipeDoses = {}
    for (let recipe = 0; recipe < 250; recipe += 1) doseAtUsualSpeed(doses, `r${recipe}`, 4, SPEED)
    expect(Object.keys(doses)).toHaveLength(200)
    expect(Object.hasOwn(doses, 'r249') && !Object.hasOwn(doses, 'r49')).toBe(true)
    expect(JSON.parse(JSON.stringify(doses))).toEqual(doses)
  })
})
