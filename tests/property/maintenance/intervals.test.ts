import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { cycleLife, type AgeLook } from '../../../src/maintenance/intervals/finding-growth.js'
import { judgeHistory, type IntervalCycle } from '../../../src/maintenance/intervals/interval-verdict.js'
import type { IntervalFact } from '../../../src/maintenance/intervals/interval-fact.js'
import { shareBetweenLines, sisterHistories, withSisters } from '../../../src/maintenance/intervals/sister-lines.js'

const COSTS = { planned: 1, failure: 10 }
const cycle = fc.record({ age: fc.double({ min: 20, max: 300, noNaN: true }), finding: fc.option(fc.integer({ min: 0, max: 4 }), { nil: undefined }), sign: fc.boolean() }).map(({ age, finding, sign }): IntervalCycle => ({ age, looks: [{ age: age / 2, finding: 0 }, { age, ...(finding === undefined ? {} : { finding }), ...(sign && finding !== 0 ? { sign } : {}) }] }))
const history = fc.array(cycle, { maxLength: 14 })
const ask = (cycles: readonly IntervalCycle[], factor = 1, safety = false) => judgeHistory({ cycles: cycles.map(({ age, looks }) => ({ age: age * factor, looks: looks.map((look) => ({ ...look, age: look.age * factor })) })), startInterval: 160 * factor, present: 160 * factor, safety, costs: COSTS })

describe('what a history says of an interval', () => {
  it('is the same in hours, boards or grams', () => {
    fc.assert(
      fc.property(history, fc.constantFrom(0.01, 120, 5000), (cycles, factor) => {
        const one = ask(cycles)
        const other = ask(cycles, factor)
        expect(other.verdict).toBe(one.verdict)
        expect(other.interval / factor / one.interval).toBeCloseTo(1, 4)
      }),
      { numRuns: 60 },
    )
  })

  it('is a positive number, lengthens to at most the double, and a safety item not at all', () => {
    fc.assert(
      fc.property(history, (cycles) => {
        const free = ask(cycles)
        expect(free.interval).toBeGreaterThan(0)
        expect(free.interval).toBeLessThanOrEqual(2 * 160 + 1e-9)
        expect(ask(cycles, 1, true).interval).toBeLessThanOrEqual(160)
        expect(free.because.length).toBeGreaterThan(0)
        if (free.verdict === 'shorten') expect(free.interval).toBeLessThan(160)
        if (free.verdict === 'may-lengthen') expect(free.interval).toBeGreaterThan(160)
      }),
      { numRuns: 60 },
    )
  })

  it('of a model does not depend on the order of the cycles', () => {
    fc.assert(
      fc.property(fc.array(cycle, { minLength: 6, maxLength: 12 }), (cycles) => {
        const one = ask(cycles)
        fc.pre(one.posterior !== undefined)
        const other = ask([...cycles].reverse())
        if (other.posterior !== undefined) expect(other.interval / one.interval).toBeCloseTo(1, 3)
      }),
      { numRuns: 60 },
    )
  })
})

describe('an early finding', () => {
  const due = (age: number): IntervalCycle => ({ age, looks: [{ age, sign: true }] })
  const clean = (age: number): IntervalCycle => ({ age, looks: [{ age, finding: 1 }] })

  it('always shortens, but never to less than four fifths of its age, and one accident not to nothing', () => {
    fc.assert(
      fc.property(fc.double({ min: 1, max: 159, noNaN: true }), (age) => {
        const { verdict, interval } = ask([due(age)])
        expect(verdict).toBe('shorten')
        expect(interval).toBeLessThanOrEqual(0.8 * 160)
        expect(interval).toBeGreaterThanOrEqual(Math.min(0.8 * 160, 0.8 * age))
        expect(interval).toBeGreaterThan(0.05 * 160)
      }),
    )
    // the worse the news, the shorter
    expect(ask([due(20)]).interval).toBeLessThan(ask([due(120)]).interval)
    // long after its time it says nothing against the interval
    expect(ask([due(300)]).interval).toBe(160)
  })

  it('at random ages: "go by its condition", and what they have shortened may go back towards the start, not past it', () => {
    const random = [due(3), clean(160), due(9), clean(160), due(150), due(1), due(40)]
    const answer = judgeHistory({ cycles: random, startInterval: 160, present: 10, safety: false, costs: COSTS })
    expect(answer.verdict).toBe('use-condition')
    expect(answer.interval).toBeGreaterThan(10)
    expect(answer.interval).toBeLessThanOrEqual(160)
    expect(judgeHistory({ cycles: random, startInterval: 160, present: 10, safety: true, costs: COSTS }).interval).toBe(10)
  })
})

describe('one cycle', () => {
  it('bounds the age of being due in the right order, and scales with the unit', () => {
    fc.assert(
      fc.property(fc.array(fc.record({ age: fc.double({ min: 1, max: 500, noNaN: true }), finding: fc.integer({ min: 0, max: 4 }) }), { minLength: 1, maxLength: 8 }), (looks) => {
        const sorted: AgeLook[] = [...looks].sort((a, b) => a.age - b.age)
        const life = cycleLife(sorted, 500)!
        expect(life.lower).toBeGreaterThanOrEqual(0)
        if (life.upper !== undefined) expect(life.upper).toBeGreaterThan(life.lower)
        const scaled = cycleLife(sorted.map((look) => ({ ...look, age: 7 * look.age })), 3500)!
        expect(scaled.lower).toBeCloseTo(7 * life.lower, 4)
      }),
    )
  })

  it('is due the sooner the worse it is found', () => {
    const middle = (finding: number): number => {
      const { lower, upper } = cycleLife([{ age: 100, finding }], 100)!
      return upper === undefined ? Infinity : (lower + upper) / 2
    }
    expect(middle(0)).toBe(Infinity)
    expect(middle(1)).toBeGreaterThan(middle(2))
    expect(middle(2)).toBeGreaterThan(middle(3))
    expect(middle(2)).toBeGreaterThan(100)
  })
})

describe('sister lines', () => {
  const lives = (mean: number, count: number): { lower: number; upper: number }[] => Array.from({ length: count }, (_, i) => ({ lower: mean * (0.85 + 0.02 * (i % 8)), upper: mean * (1.05 + 0.02 * (i % 8)) }))

  it('draw a line with little history towards them, and one with much hardly', () => {
    const [young] = shareBetweenLines([{ line: 'young', lives: lives(300, 1) }, { line: 'b', lives: lives(100, 12) }, { line: 'c', lives: lives(110, 12) }])
    const [alone] = shareBetweenLines([{ line: 'young', lives: lives(300, 1) }, { line: 'b', lives: lives(300, 12) }, { line: 'c', lives: lives(310, 12) }])
    expect(young!.interval).toBeLessThan(alone!.interval)
    const views = shareBetweenLines([{ line: 'old', lives: lives(300, 30) }, { line: 'b', lives: lives(100, 12) }, { line: 'c', lives: lives(110, 12) }])
    const old = views.find(({ line }) => line === 'old')!
    expect(old.interval).toBeGreaterThan(180)
  })

  it('say nothing where no other line knows anything, and do not depend on their order', () => {
    expect(shareBetweenLines([{ line: 'a', lives: lives(100, 5) }])).toEqual([])
    expect(shareBetweenLines([{ line: 'a', lives: lives(100, 5) }, { line: 'b', lives: [{ lower: 50 }] }]).map(({ line }) => line)).toEqual(['b'])
    const three = [{ line: 'a', lives: lives(100, 5) }, { line: 'b', lives: lives(140, 7) }, { line: 'c', lives: lives(90, 3) }]
    const one = shareBetweenLines(three).find(({ line }) => line === 'a')!
    const other = shareBetweenLines([...three].reverse()).find(({ line }) => line === 'a')!
    expect(other.interval).toBeCloseTo(one.interval, 6)
  })
})

describe('an interval in force beside sister lines', () => {
  const life = fc.record({ age: fc.double({ min: 20, max: 400, noNaN: true }), event: fc.boolean() }).map(({ age, event }) => ({ age, event, lower: event ? age / 2 : age, ...(event ? { upper: age } : {}) }))
  const factOf = (lives: readonly { readonly age: number; readonly event: boolean; readonly lower: number; readonly upper?: number }[], more: Partial<IntervalFact> = {}): IntervalFact => ({
    type: 'interval', id: 'interval-clean-rails', timeMs: 0, work: 'clean-rails', section: 'transport', scale: 'running-hours', interval: 160, startInterval: 160, verdict: 'not-enough-history', events: lives.filter(({ event }) => event).length, censored: lives.filter(({ event }) => !event).length, safety: false, because: [], age: 80, used: 0.5, lives, costs: COSTS, ...more,
  })
  const inForce = (own: IntervalFact, others: readonly IntervalFact[]): IntervalFact => {
    const all = [{ line: 'own', fact: own }, ...others.map((fact, index) => ({ line: `line-${index}`, fact }))]
    return withSisters(own, shareBetweenLines(sisterHistories(all, own)).find(({ line }) => line === 'own'))
  }
  const early = factOf([60, 62, 58, 61, 60, 63].map((age) => ({ age, event: true, lower: age - 5, upper: age })))

  it('goes by sister lines while its own history is short, by its own once that carries a model', () => {
    const fresh = inForce(factOf([]), [early, early])
    expect(fresh).toMatchObject({ verdict: 'shorten', events: 0 })
    expect(fresh.interval).toBeLessThan(90)
    expect(fresh.used).toBeCloseTo(80 / fresh.interval, 2)
    expect(fresh.because.at(-1)).toEqual({ key: 'interval.sisters', values: { lines: 2 } })
    const own = factOf([200, 210, 190, 205, 195].map((age) => ({ age, event: true, lower: age - 5, upper: age })), { verdict: 'keep' })
    expect(inForce(own, [early, early])).toBe(own)
    expect(inForce(factOf([]), [])).toEqual(factOf([]))
  })

  it('lengthens by a fifth at most, a safety item not at all, and never past what an own finding asked for', () => {
    fc.assert(
      fc.property(fc.array(life, { maxLength: 6 }), fc.array(fc.array(life, { maxLength: 8 }), { minLength: 1, maxLength: 4 }), fc.boolean(), fc.boolean(), (own, others, safety, shortened) => {
        const fact = factOf(own, { safety, ...(shortened ? { verdict: 'shorten' as const, interval: 100 } : {}) })
        const sisters = others.map((lives) => factOf(lives))
        const answer = inForce(fact, sisters)
        expect(answer.interval).toBeGreaterThan(0)
        expect(answer.interval).toBeLessThanOrEqual(1.2 * 160 + 1e-9)
        if (safety || shortened) expect(answer.interval).toBeLessThanOrEqual(fact.interval)
        expect(inForce(fact, [...sisters].reverse()).interval / answer.interval).toBeCloseTo(1, 3)
      }),
      { numRuns: 15 },
    )
  })
})
