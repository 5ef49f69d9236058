import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Suggestion } from '../../../src/maintenance/suggestion.js'
import { MINIMUM_LINE, RICH_LINE } from '../../unit/line/diagnosis/diagnosis-cases.js'
import { DeskBench, HOUR_MS } from '../../unit/maintenance/desk-bench.js'

/** One stretch of looks: sigmas of what moved, alternating with those of `other` where there are any. */
interface Stretch {
  readonly looks: number
  readonly moved: Record<string, number>
  readonly other: Record<string, number>
  readonly producing: boolean
}

const stretchArbitrary = (features: readonly string[]): fc.Arbitrary<Stretch> => {
  const moved = fc.dictionary(fc.constantFrom(...features), fc.double({ min: 3, max: 9, noNaN: true }).chain((size) => fc.constantFrom(size, size, -size)), { maxKeys: 4 })
  return fc.record({ looks: fc.integer({ min: 6, max: 60 }), moved, other: moved, producing: fc.constantFrom(true, true, true, false) })
}

const gist = ({ causes, section, zone, abstains, urgency }: Suggestion): string => JSON.stringify([causes[0]!.cause, section, zone, abstains, urgency])

interface Told {
  readonly suggestion: Suggestion
  /** Production hours since the line began. */
  readonly hours: number
}

function toldOf(bench: DeskBench, stretches: readonly Stretch[]): Told[] {
  const told: Told[] = []
  let looks = 0
  for (const { looks: count, moved, other, producing } of stretches) {
    for (let look = 0; look < count; look += 1) {
      const known = bench.emitted.length
      if (producing) looks += 1
      bench.look(look % 2 === 1 && Object.keys(other).length > 0 ? other : moved, producing ? 'production' : 'idle')
      for (const suggestion of bench.emitted.slice(known)) told.push({ suggestion, hours: looks / 6 })
    }
  }
  return told
}

/** Pairs of what people were told of one open suggestion, one after the other. */
function updatesOf(told: readonly Told[]): { before: Told; after: Told }[] {
  const last = new Map<string, Told>()
  const updates: { before: Told; after: Told }[] = []
  for (const after of told) {
    const before = last.get(after.suggestion.id)
    if (before !== undefined && after.suggestion.status === 'open') updates.push({ before, after })
    last.set(after.suggestion.id, after)
  }
  return updates
}

const LINES = [
  { line: MINIMUM_LINE, features: ['conveyor.speed.spread', 'conveyor.speed.jumps', 'pot.level.offset', 'preheat.zone-1.temperature.fast-own', 'preheat.zone-1.temperature.slow-own', 'preheat.zone-1.warm-up-time'] },
  { line: RICH_LINE, features: ['conveyor.speed.spread', 'conveyor.current.warm', 'conveyor.current.cold', 'fluxer.flow.mean', 'fluxer.pressure.hold', 'fluxer.flow-for-pressure'] },
]

describe('what people are told of an open suggestion', () => {
  it.each(LINES)('changes of cause, place, certainty or urgency, or a probability that moved over a shift; nothing else ($line.line)', ({ line, features }) => {
    let seen = 0
    fc.assert(
      fc.property(fc.array(stretchArbitrary(features), { minLength: 4, maxLength: 10 }), (stretches) => {
        for (const { before, after } of updatesOf(toldOf(new DeskBench(line), stretches))) {
          seen += 1
          if (gist(before.suggestion) !== gist(after.suggestion)) continue
          const moved = Math.abs(after.suggestion.causes[0]!.probability - before.suggestion.causes[0]!.probability)
          expect(moved).toBeGreaterThanOrEqual(0.15)
          // Ten-minute looks: the hours are right to one of them.
          expect(after.hours - before.hours).toBeGreaterThan(8 - 0.2)
        }
      }),
      { numRuns: 8, seed: 7 },
    )
    expect(seen).toBeGreaterThan(1)
  })

  it('a suggestion that comes and goes between two causes for days of production is told at most about once a shift', () => {
    fc.assert(
      fc.property(fc.array(fc.record({ looks: fc.integer({ min: 3, max: 40 }), at: fc.nat(3), size: fc.double({ min: 2.5, max: 8, noNaN: true }) }), { minLength: 40, maxLength: 40 }), (parts) => {
        const bench = new DeskBench(MINIMUM_LINE)
        const others = ['conveyor.speed.jumps', 'conveyor.speed.offset', 'conveyor.speed.cold-jumps'] as const
        const stretches = parts.map(({ looks, at, size }): Stretch => ({ looks, moved: { 'conveyor.speed.spread': size, ...(at === 3 ? {} : { [others[at]!]: at === 0 ? size : -size }) }, other: {}, producing: true }))
        const told = toldOf(bench, stretches)
        const hours = stretches.reduce((sum, { looks }) => sum + looks / 6, 0)
        const updates = updatesOf(told)
        const urgent = updates.filter(({ before, after }) => before.suggestion.urgency !== 'urgent' && after.suggestion.urgency === 'urgent').length
        const cases = new Set(told.map(({ suggestion }) => suggestion.id)).size
        // The first changes wait one, two and four hours, the later ones a shift or two.
        expect(updates.length - 2 * urgent).toBeLessThanOrEqual(cases * 4 + hours / 8)
      }),
      { numRuns: 4, seed: 11 },
    )
  })

  it('another cause that stands is told within two hours, once', () => {
    const bench = new DeskBench(RICH_LINE)
    bench.run(6, { 'conveyor.current.warm': 6, 'conveyor.speed.spread': 6 })
    const [first] = bench.emitted
    const before = bench.emitted.length
    bench.run(2, { 'conveyor.current.warm': 6, 'conveyor.current.cold': 9 })
    expect(bench.emitted.length - before).toBe(1)
    expect(bench.emitted.at(-1)).toMatchObject({ id: first!.id, status: 'open', raisedMs: first!.raisedMs })
    expect(gist(bench.emitted.at(-1)!)).not.toBe(gist(first!))
    bench.run(24, { 'conveyor.current.warm': 6, 'conveyor.current.cold': 9 })
    expect(bench.emitted.length - before).toBeLessThanOrEqual(2)
    expect(bench.timeMs - first!.raisedMs).toBeGreaterThan(24 * HOUR_MS)
  })
})
