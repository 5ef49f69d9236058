import { describe, expect, it } from 'vitest'
import { createRoundsPart } from '../../../src/maintenance/rounds/rounds-part.js'
import { createSimulation } from '../../../src/simulator/simulation.js'
import { definitionWith, HOUR, MONDAY, nextId, PartBench } from '../../unit/maintenance/rounds/part-bench.js'

const CONTACT_MM = 60
/** The window this product was qualified for. */
const WINDOW = { 'contact-time.left': { lower: 2.95, upper: 3.05 }, 'contact-time.right': { lower: 2.95, upper: 3.05 } }
/** Glass plates measured, one every quarter of an hour. */
const PLATES = 10

/** Contact times of plates and the mean speed of a simulated chain, from its speed second by second. */
function measure(severity: number): { readonly seconds: readonly number[]; readonly meanMmS: number } {
  const simulation = createSimulation({
    seed: 3, startMs: MONDAY, durationHours: 3, channels: ['conveyor.speed'], alwaysProducing: true, thermalStepS: 1,
    faults: severity === 0 ? [] : [{ cause: 'dirty-chain', onsetHours: 0, growthHours: 0, severityEnd: severity }],
  })
  const speeds: number[] = []
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) for (const [, value] of sample.values) speeds.push(value as number)
  const seconds = Array.from({ length: PLATES }, (_, plate) => {
    const at = 600 + plate * 900
    // The path integral over three seconds or so: what a plate sees of the speed.
    let wayMm = 0
    let second = 0
    while (wayMm < CONTACT_MM) {
      const mean = speeds[at + second]!
      if (wayMm + mean >= CONTACT_MM) return second + (CONTACT_MM - wayMm) / mean
      wayMm += mean
      second += 1
    }
    return second
  })
  return { seconds, meanMmS: speeds.reduce((sum, speed) => sum + speed, 0) / speeds.length }
}

function exceptionsOf(seconds: readonly number[]): string[] {
  const bench = new PartBench(definitionWith({ rounds: { values: WINDOW } }), [createRoundsPart])
  bench.nowMs = MONDAY + 7 * HOUR
  for (const value of seconds) {
    bench.nowMs += HOUR / 4
    bench.enter({ type: 'round', id: nextId(), timeMs: bench.nowMs, round: 'week', items: [{ check: 'contact-time', ok: true, values: { left: value, right: value } }] })
  }
  return [...new Set(bench.factsOf('round').flatMap(({ exceptions }) => exceptions.map(({ reason }) => reason)))]
}

describe('contact times entered by hand', () => {
  const clean = measure(0)
  const sticking = measure(1)

  it('of a clean chain give no exception', () => {
    expect(Math.max(...clean.seconds) / Math.min(...clean.seconds)).toBeLessThan(1.07)
    expect(exceptionsOf(clean.seconds)).toEqual([])
  })

  it('of a sticking chain are both too short and too long at the same mean speed, and that is said', () => {
    expect(Math.abs(sticking.meanMmS / clean.meanMmS - 1)).toBeLessThan(0.02)
    expect(Math.min(...sticking.seconds)).toBeLessThan(Math.min(...clean.seconds))
    expect(Math.max(...sticking.seconds)).toBeGreaterThan(Math.max(...clean.seconds))
    expect(exceptionsOf(sticking.seconds)).toContain('round.contact-both-ways')
  })
})
