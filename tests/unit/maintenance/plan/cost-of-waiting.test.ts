import { describe, expect, it } from 'vitest'
import { chancesByHistory } from '../../../../src/maintenance/plan/cost-of-waiting.js'
import { weekPlanOf } from '../../../../src/maintenance/plan/plan-week.js'
import { stopRequestHtml } from '../../../../src/maintenance/plan/stop-request.js'
import { bookOf, intervalOf, WEEK } from './plan-bench.js'

const lives = [150, 160, 170, 155, 165, 158].map((age) => ({ age, event: true, lower: 0.95 * age, upper: 1.05 * age }))
const learned = { interval: 100, startInterval: 160, verdict: 'keep', scale: 'running-hours', ageKnown: true, lives } as const
const bookAt = (age: number, more: object = {}) => bookOf({}, [intervalOf('clean-rails', age / 100, { ...learned, age, ...more })])
const chanceAt = (age: number, more: object = {}): number | undefined => {
  const book = bookAt(age, more)
  const [stop] = weekPlanOf([book], WEEK, 'UTC').stops
  return stop === undefined ? undefined : chancesByHistory(stop, book)[0]?.chance
}

describe('the chance that a part is found due before the next chance to stop', () => {
  it('grows with its age, lies between none and all, and follows the line’s own shifts', () => {
    // five early shifts of eight hours: forty running hours until a week later
    const [young, old, overdue] = [chanceAt(85), chanceAt(120), chanceAt(150)] as [number, number, number]
    expect(young).toBeGreaterThan(0)
    expect(old).toBeGreaterThan(young)
    expect(overdue).toBeGreaterThan(old)
    expect(overdue).toBeLessThan(1)
  })

  it('is not told where history carries no model, age says little, or nobody knows the age', () => {
    expect(chanceAt(110, { verdict: 'not-enough-history' })).toBeUndefined()
    expect(chanceAt(110, { verdict: 'use-condition' })).toBeUndefined()
    expect(chanceAt(110, { ageKnown: false })).toBeUndefined()
  })

  it('stands in the request for the stop, in both languages', () => {
    const book = bookAt(110)
    const [stop] = weekPlanOf([book], WEEK, 'UTC').stops
    expect(stopRequestHtml(stop!, book, 'en-US')).toMatch(/Clean the rails \(Transport\): by its history on this line the chance that it is found due before [^<]+ is \d+%/)
    expect(stopRequestHtml(stop!, book, 'es')).toMatch(/según su historial en esta línea/)
    expect(stopRequestHtml(stop!, bookAt(110, { verdict: 'not-enough-history' }), 'en-US')).not.toContain('by its history')
  })
})
