import { describe, expect, it } from 'vitest'
import { createTextbookPractice } from '../../../src/monitor/textbook-practice.js'

const MINUTE_MS = 60_000

/** Deterministic values between -1 and 1 without a pattern that the rules would find. */
function chance(seed: number): () => number {
  let state = seed
  return () => {
    state = (state * 1_664_525 + 1_013_904_223) % 4_294_967_296
    return (state / 4_294_967_296) * 2 - 1
  }
}

function costOf(values: readonly number[]): { points: number; episodes: number; pointsInEpisodes: number } {
  const practice = createTextbookPractice((channel) => channel === 'pot.level')
  values.forEach((value, index) => practice.take({ channel: 'pot.level', timeMs: index * MINUTE_MS, value }))
  practice.take({ channel: 'pot.setpoint', timeMs: 0, value: 1 })
  practice.take({ channel: 'pot.level', timeMs: values.length * MINUTE_MS, value: 0 })
  const [cost] = practice.cost()
  expect(practice.cost()).toHaveLength(1)
  return cost!
}

describe('the yardstick of textbook charts', () => {
  it('sets limits on 480 minutes, then counts one episode for a lasting shift however long it stands', () => {
    const next = chance(1)
    const quiet = Array.from({ length: 480 }, () => next())
    expect(costOf(quiet)).toMatchObject({ points: 0, episodes: 0 })
    const shifted = [...quiet, ...Array.from({ length: 200 }, () => 50 + next())]
    expect(costOf(shifted)).toMatchObject({ points: 200, episodes: 1, pointsInEpisodes: 200 })
    const twice = [...shifted, ...Array.from({ length: 40 }, (_, index) => (index % 2 === 0 ? 0.2 : -0.2)), ...Array.from({ length: 10 }, () => -50)]
    expect(costOf(twice).episodes).toBe(2)
  })

  it('takes the mean of each minute, and waits for a channel that does not move', () => {
    const practice = createTextbookPractice(() => true)
    for (let minute = 0; minute < 600; minute += 1) practice.take({ channel: 'a', timeMs: minute * MINUTE_MS, value: 5 })
    expect(practice.cost()).toEqual([{ channel: 'a', points: 0, episodes: 0, pointsInEpisodes: 0 }])
    const next = chance(2)
    const averaged = createTextbookPractice(() => true)
    for (let minute = 0; minute < 700; minute += 1) {
      const noise = next()
      for (const offset of [-30, 30]) averaged.take({ channel: 'b', timeMs: minute * MINUTE_MS + (offset + 30) * 500, value: noise + offset })
    }
    // The two values of a minute cancel: their mean is quiet, each of them would not be.
    expect(averaged.cost()[0]!.points).toBeGreaterThan(200)
    expect(averaged.cost()[0]!.pointsInEpisodes).toBeLessThan(60)
  })
})
