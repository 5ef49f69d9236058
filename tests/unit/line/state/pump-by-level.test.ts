import { describe, expect, test } from 'vitest'
import { addToMinute, closeMinute } from '../../../../src/line/state/minute-series.js'
import { emptyPumpByLevel, judgePump, noteStart, type PumpByLevel } from '../../../../src/line/state/pump-by-level.js'

/** Drives the judgement with a level that falls 1 mm/h [SIM], with noise and a pump that moves it by 2 mm [ASM]. */
class Pot {
  readonly pump: PumpByLevel = emptyPumpByLevel()
  minute = 1000
  levelMm = 0
  resting = false
  private seed = 7

  run(minutes: number): this {
    for (let count = 0; count < minutes; count++) {
      this.levelMm -= 1 / 60
      for (const second of [15, 45]) {
        this.seed = (Math.imul(this.seed, 1_664_525) + 1_013_904_223) >>> 0
        addToMinute(this.pump.series, (this.minute * 60 + second) * 1000, this.levelMm + (this.resting ? 2 : 0) + 0.6 * (this.seed / 2 ** 32 - 0.5))
      }
      closeMinute(this.pump.series, this.minute)
      judgePump(this.pump, this.minute)
      this.minute += 1
    }
    return this
  }

  rest(minutes: number): this {
    this.resting = true
    this.run(minutes)
    this.resting = false
    return this.run(30)
  }
}

describe('wave pump by the level', () => {
  test('a fall at once is the pump starting', () => {
    const pot = new Pot()
    pot.resting = true
    noteStart(pot.pump, pot.minute)
    pot.run(20)
    expect(pot.pump.condition).toBe('unknown')
    pot.resting = false
    pot.run(5)
    expect(pot.pump.condition).toBe('on')
  })

  test('a rise counts only once this line has shown that falls follow', () => {
    const pot = new Pot().run(20)
    for (let count = 0; count < 6; count++) pot.rest(15)
    expect(pot.pump.confirmedCount).toBeGreaterThanOrEqual(3)
    pot.resting = true
    pot.run(10)
    expect(pot.pump.condition).toBe('off')
    pot.resting = false
    pot.run(5)
    expect(pot.pump.condition).toBe('on')
  })

  test('bars that raise the level for good are no pump, at the latest after 40 minutes', () => {
    const pot = new Pot().run(20)
    for (let count = 0; count < 6; count++) pot.rest(15)
    pot.levelMm += 5.3
    pot.run(15)
    expect(pot.pump.condition).toBe('on')
    pot.levelMm += 2
    pot.run(60)
    expect(pot.pump.condition).not.toBe('off')
    expect(pot.pump.mistakenCount).toBe(1)
  })

  test('a short rest that is over before it was measured is not taken for a long one', () => {
    const pot = new Pot().run(20)
    for (let count = 0; count < 6; count++) pot.rest(15)
    pot.resting = true
    pot.run(3)
    pot.resting = false
    pot.run(6)
    expect(pot.pump.condition).toBe('on')
  })
})
