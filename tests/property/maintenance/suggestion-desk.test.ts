import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { DECLINE_REASONS, PUT_OFF_REASONS } from '../../../src/maintenance/suggestion-replies.js'
import type { SuggestionReply, SuggestionStatus } from '../../../src/maintenance/suggestion.js'
import { MINIMUM_LINE } from '../../unit/line/diagnosis/diagnosis-cases.js'
import { DeskBench, HOUR_MS } from '../../unit/maintenance/desk-bench.js'

type Step =
  | { readonly kind: 'run'; readonly moved: Record<string, number>; readonly state: 'production' | 'idle' }
  | { readonly kind: 'reply'; readonly action: SuggestionReply['action']; readonly hours: number; readonly reason: string; readonly which: number }
  | { readonly kind: 'record'; readonly work: string }
  | { readonly kind: 'restart' }

const stepArbitrary: fc.Arbitrary<Step> = fc.oneof(
  fc.record({
    kind: fc.constant('run' as const),
    moved: fc.constantFrom<Record<string, number>>({}, { 'conveyor.speed.spread': 4 }, { 'pot.level.offset': -5 }, { 'conveyor.speed.spread': 6, 'pot.level.offset': -5 }, { 'preheat.zone-2.warm-up-time': 5 }),
    state: fc.constantFrom('production' as const, 'production' as const, 'idle' as const),
  }),
  fc.record({ kind: fc.constant('reply' as const), action: fc.constantFrom('take', 'put-off', 'decline', 'done'), hours: fc.integer({ min: -2, max: 30 }), reason: fc.constantFrom(...PUT_OFF_REASONS, ...DECLINE_REASONS, 'nonsense'), which: fc.nat(5) }),
  fc.record({ kind: fc.constant('record' as const), work: fc.constantFrom('clean-chain', 'lubricate-chain', 'top-up-pot', 'clean-vents') }),
  fc.record({ kind: fc.constant('restart' as const) }),
)

/** Changes of status that can be; anything else is an impossible state. */
const ALLOWED: Readonly<Record<SuggestionStatus, readonly SuggestionStatus[]>> = {
  open: ['taken', 'put-off', 'declined', 'done', 'withdrawn'],
  taken: ['put-off', 'declined', 'done'],
  'put-off': ['open', 'taken', 'put-off', 'declined', 'done', 'withdrawn'],
  declined: [],
  done: [],
  withdrawn: [],
}

function act(bench: DeskBench, step: Step): void {
  if (step.kind === 'run') bench.run(3, step.moved, step.state)
  else if (step.kind === 'restart') bench.restart()
  else if (step.kind === 'record') bench.record(step.work, { section: step.work === 'top-up-pot' ? 'pot' : 'transport' })
  else {
    const known = bench.emitted[step.which % Math.max(1, bench.emitted.length)]
    bench.reply({ suggestion: known?.id ?? 's-none', action: step.action, reason: step.reason, untilMs: bench.timeMs + step.hours * HOUR_MS })
  }
}

describe('suggestion desk', () => {
  it('random replies, records and restarts never lead to an impossible state', () => {
    fc.assert(
      fc.property(fc.array(stepArbitrary, { minLength: 3, maxLength: 14 }), (steps) => {
        const bench = new DeskBench(MINIMUM_LINE)
        for (const step of steps) act(bench, step)
        for (const suggestion of bench.emitted) {
          expect(suggestion.history.at(-1)!.status).toBe(suggestion.status)
          expect(suggestion.history[0]!.status).toBe('open')
          suggestion.history.slice(1).forEach((change, index) => {
            expect(ALLOWED[suggestion.history[index]!.status]).toContain(change.status)
            expect(change.timeMs).toBeGreaterThanOrEqual(suggestion.history[index]!.timeMs)
          })
          expect(suggestion.cautions.length).toBeGreaterThan(0)
        }
        const open = bench.desk.open()
        expect(new Set(open.map((suggestion) => suggestion.id)).size).toBe(open.length)
        const places = open.map((suggestion) => `${suggestion.causes[0]!.cause} ${suggestion.zone ?? ''}`)
        expect(new Set(places).size).toBe(places.length)
        expect(JSON.parse(JSON.stringify(bench.desk.snapshot()))).toEqual(bench.desk.snapshot())
      }),
      { numRuns: 60 },
    )
  })

  it('the same steps give the same outputs', () => {
    fc.assert(
      fc.property(fc.array(stepArbitrary, { minLength: 3, maxLength: 10 }), (steps) => {
        const [first, second] = [new DeskBench(MINIMUM_LINE), new DeskBench(MINIMUM_LINE)]
        for (const step of steps) {
          act(first, step)
          if (step.kind !== 'restart') act(second, step)
        }
        expect(first.emitted).toEqual(second.emitted)
      }),
      { numRuns: 25 },
    )
  })
})
