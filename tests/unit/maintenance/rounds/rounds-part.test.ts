import { describe, expect, it } from 'vitest'
import type { RoundItem } from '../../../../src/maintenance/rounds/round-entry.js'
import { createRoundsPart } from '../../../../src/maintenance/rounds/rounds-part.js'
import { askedChecks } from '../../../../src/maintenance/rounds/round-schedule.js'
import { definitionWith, HOUR, MONDAY, nextId, PartBench } from './part-bench.js'

function benchWith(input: Parameters<typeof definitionWith>[0] = {}): PartBench {
  const bench = new PartBench(definitionWith(input), [createRoundsPart])
  bench.nowMs = MONDAY + 7 * HOUR
  return bench
}

function enter(bench: PartBench, ...items: RoundItem[]): void {
  bench.nowMs += 60_000
  bench.enter({ type: 'round', id: nextId(), timeMs: bench.nowMs, round: 'shift', items })
}

const weight = (grams: number): RoundItem => ({ check: 'weigh-dose', ok: true, values: { grams } })

describe('hand-measured values', () => {
  it('go to a chart of their own, in any state and without any sensor', () => {
    const bench = benchWith()
    bench.state = 'idle'
    enter(bench, weight(4.2))
    expect(bench.charted).toEqual([{ feature: 'hand.weigh-dose.grams', timeMs: bench.nowMs, value: 4.2, weight: 1 }])
  })

  it('outside the limits of their target are exceptions: 10 % of the dose', () => {
    const bench = benchWith({ rounds: { values: { 'weigh-dose.grams': { target: 4.2 } } } })
    enter(bench, weight(3.79))
    expect(bench.last('round')?.exceptions).toEqual([])
    enter(bench, weight(3.4))
    expect(bench.last('round')?.exceptions).toEqual([{ check: 'weigh-dose', reason: 'round.below', values: expect.objectContaining({ value: 'grams', measured: 3.4, unit: 'g' }) }])
    expect(bench.last('round')?.exceptions[0]?.values['limit']).toBeCloseTo(3.78, 10)
  })

  it('without a target are judged by the level of the first three, per recipe', () => {
    const bench = benchWith()
    for (const grams of [4.1, 4.3, 4.2]) enter(bench, weight(grams))
    enter(bench, weight(3.5))
    expect(bench.last('round')?.exceptions).toHaveLength(1)
    bench.recipe = 'power-board'
    enter(bench, weight(3.5))
    expect(bench.last('round')?.exceptions).toEqual([])
  })

  it('that cannot be are refused as a whole, and nothing is charted', () => {
    const bench = benchWith()
    enter(bench, { check: 'dip-stick', ok: true, values: { level: 1 } }, weight(420))
    expect(bench.last('refused')).toMatchObject({ reason: 'round.not-plausible', values: { check: 'weigh-dose', found: 420 } })
    expect(bench.charted).toEqual([])
    expect(bench.last('round')).toBeUndefined()
  })

  it('give what follows from them: side-to-side difference above 0.2 s is an exception', () => {
    const bench = benchWith()
    enter(bench, { check: 'contact-time', ok: true, values: { left: 3.1, right: 2.8 } })
    expect(bench.charted.map(({ feature }) => feature)).toEqual(['hand.contact-time.left', 'hand.contact-time.right', 'hand.contact-time.difference'])
    expect(bench.last('round')?.exceptions.map(({ reason, values }) => [reason, values['value']])).toEqual([['round.above', 'difference']])
  })

  it('of a chain: 3 % over the pitch is worn out', () => {
    const bench = benchWith({ machine: { conveyor: { chainPitchMm: 25.4 } } })
    enter(bench, { check: 'chain-length', ok: true, values: { length: 20 * 25.4 * 1.02, links: 20 } })
    expect(bench.last('round')?.exceptions).toEqual([])
    enter(bench, { check: 'chain-length', ok: true, values: { length: 20 * 25.4 * 1.031, links: 20 } })
    expect(bench.last('round')?.exceptions).toMatchObject([{ reason: 'round.above', values: { value: 'pitch' } }])
  })

  it('contact both too short and too long at one recipe is a chain that sticks', () => {
    const bench = benchWith()
    const contact = (seconds: number): void => enter(bench, { check: 'contact-time', ok: true, values: { left: seconds, right: seconds } })
    for (const seconds of [3, 3.05, 2.95]) contact(seconds)
    expect(bench.factsOf('round').flatMap(({ exceptions }) => exceptions)).toEqual([])
    contact(2.4)
    expect(bench.last('round')?.exceptions).toEqual([])
    contact(3.6)
    expect(bench.last('round')?.exceptions).toMatchObject([{ check: 'contact-time', reason: 'round.contact-both-ways', values: { shortest: 2.4, longest: 3.6 } }])
  })

  it('by zone are told apart, and a zone the line has not is refused', () => {
    const bench = benchWith()
    enter(bench, { check: 'look-at-thermocouple', ok: true, zone: 2, values: { 'depth-off': 0.5 } })
    expect(bench.charted[0]?.feature).toBe('hand.look-at-thermocouple.depth-off.zone-2')
    enter(bench, { check: 'look-at-thermocouple', ok: true, zone: 4, finding: 0 })
    expect(bench.last('refused')?.reason).toBe('round.unknown-zone')
  })
})

describe('a round', () => {
  it('is not ticked blind: an asked look wants what was seen', () => {
    const bench = benchWith()
    const asked = [...askedChecks(bench.definition, bench.nowMs)].find((check) => ['dip-stick', 'look-at-dross', 'look-at-nozzle-tip', 'exhaust-and-guards'].includes(check))!
    enter(bench, { check: asked, ok: true })
    expect(bench.last('refused')).toMatchObject({ reason: 'round.look-and-tell', values: { check: asked } })
    enter(bench, { check: asked, ok: true, finding: 0 })
    expect(bench.last('round')?.items).toEqual([{ check: asked, ok: true, finding: 0 }])
  })

  it('with what needs a value and has none is refused, an exception without one is not', () => {
    const bench = benchWith()
    enter(bench, { check: 'weigh-dose', ok: true })
    expect(bench.last('refused')?.reason).toBe('round.value-needed')
    enter(bench, { check: 'weigh-dose', ok: false, remark: 'scale broken' })
    expect(bench.last('round')?.exceptions).toMatchObject([{ reason: 'round.not-in-order' }])
  })

  it('is judged by the target of the recipe that runs', () => {
    const bench = benchWith({ rounds: { values: { 'weigh-dose.grams': { target: 4, recipes: { 'power-board': { target: 8 } } } } } })
    enter(bench, weight(8))
    expect(bench.last('round')).toMatchObject({ measured: [{ lower: 3.6, upper: 4.4 }], exceptions: [{ reason: 'round.above' }] })
    bench.change('production', 'power-board')
    enter(bench, weight(8))
    expect(bench.last('round')).toMatchObject({ measured: [{ lower: 7.2, upper: 8.8 }], exceptions: [] })
    enter(bench, weight(4))
    expect(bench.last('round')?.exceptions).toMatchObject([{ reason: 'round.below' }])
  })

  it('compares contact times within a recipe only', () => {
    const bench = benchWith()
    const contact = (seconds: number): RoundItem => ({ check: 'contact-time', ok: true, values: { left: seconds, right: seconds } })
    for (const seconds of [3, 3]) enter(bench, contact(seconds))
    bench.change('production', 'power-board')
    for (const seconds of [4, 4]) enter(bench, contact(seconds))
    expect(bench.factsOf('round').flatMap(({ exceptions }) => exceptions)).toEqual([])
    enter(bench, contact(3.4))
    enter(bench, contact(4.6))
    expect(bench.last('round')?.exceptions).toMatchObject([{ reason: 'round.contact-both-ways' }])
  })

  it('of an unknown check or value is refused', () => {
    const bench = benchWith()
    enter(bench, { check: 'look-at-moon', ok: true })
    expect(bench.last('refused')?.reason).toBe('round.unknown-check')
    enter(bench, { check: 'dip-stick', ok: true, values: { left: 1 } })
    expect(bench.last('refused')?.reason).toBe('round.unknown-value')
    enter(bench, { check: 'contact-time', ok: true, values: { difference: 0 } })
    expect(bench.last('refused')?.reason).toBe('round.unknown-value')
  })

  it('that bears a time ahead of the line counts from now', () => {
    const bench = benchWith()
    bench.enter({ type: 'round', id: nextId(), timeMs: bench.nowMs + 9 * HOUR, round: 'day', items: [weight(4)] })
    expect(bench.last('round')?.timeMs).toBe(bench.nowMs)
  })

  it('is known after a restart', () => {
    const bench = benchWith()
    for (const grams of [4.1, 4.3, 4.2]) enter(bench, weight(grams))
    bench.restart()
    enter(bench, weight(3.5))
    expect(bench.last('round')?.exceptions).toHaveLength(1)
    expect(bench.last('rounds')?.levels).toEqual([{ feature: 'hand.weigh-dose.grams', recipe: 'control-board', level: 4.2 }])
    expect(bench.last('rounds')?.last).toEqual([{ check: 'weigh-dose', timeMs: bench.nowMs, inOrder: false }])
  })
})
