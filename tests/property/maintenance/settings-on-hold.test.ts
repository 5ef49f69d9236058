import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { FeatureEvidence } from '../../../src/line/diagnosis.js'
import { holdPoints } from '../../../src/maintenance/hold/hold-checks.js'
import { WATCH_HOURS } from '../../../src/maintenance/hold/hold-part.js'
import { enterRound, goodItem, hold, holdBench, passAll, standing, suggest } from '../../unit/maintenance/hold/hold-bench.js'
import { HOUR, nextId, type PartBench } from '../../unit/maintenance/rounds/part-bench.js'

const VARIES = [standing('conveyor.speed.spread'), standing('conveyor.speed.offset', 'down')]
const POINT_COUNT = holdPoints(holdBench().definition).length

type Step =
  | { readonly kind: 'pass'; readonly hours: number; readonly varies: boolean; readonly produces: boolean }
  | { readonly kind: 'check'; readonly index: number; readonly isGood: boolean }
  | { readonly kind: 'record'; readonly index: number; readonly handCheck: 'passed' | 'failed' | undefined }
  | { readonly kind: 'suggestion'; readonly open: boolean }
  | { readonly kind: 'end-early'; readonly hours: number; readonly named: boolean }
  | { readonly kind: 'change'; readonly which: 'nozzle-refitted' | 'jam' | 'chain-refitted' }
  | { readonly kind: 'restart' }

const step: fc.Arbitrary<Step> = fc.oneof(
  { weight: 5, arbitrary: fc.record({ kind: fc.constant('pass' as const), hours: fc.constantFrom(0.2, 1, 3, 9), varies: fc.boolean(), produces: fc.boolean() }) },
  { weight: 6, arbitrary: fc.record({ kind: fc.constant('check' as const), index: fc.nat(POINT_COUNT - 1), isGood: fc.boolean() }) },
  { weight: 2, arbitrary: fc.record({ kind: fc.constant('record' as const), index: fc.nat(POINT_COUNT - 1), handCheck: fc.constantFrom('passed' as const, 'failed' as const, undefined) }) },
  { weight: 2, arbitrary: fc.record({ kind: fc.constant('suggestion' as const), open: fc.boolean() }) },
  { weight: 1, arbitrary: fc.record({ kind: fc.constant('end-early' as const), hours: fc.integer({ min: -2, max: 20 }), named: fc.boolean() }) },
  { weight: 1, arbitrary: fc.record({ kind: fc.constant('change' as const), which: fc.constantFrom('nozzle-refitted' as const, 'jam' as const, 'chain-refitted' as const) }) },
  { weight: 1, arbitrary: fc.constant({ kind: 'restart' as const }) },
)

function take(bench: PartBench, action: Step): void {
  const points = holdPoints(bench.definition)
  switch (action.kind) {
    case 'pass':
      bench.state = action.produces ? 'production' : 'idle'
      bench.pass(action.hours, action.varies ? VARIES : [])
      return
    case 'check': {
      const { handChecks, zone } = points[action.index]!
      const item = goodItem(handChecks[0]!, zone)
      enterRound(bench, action.isGood ? item : { check: item.check, ok: false, ...(zone === undefined ? {} : { zone }) })
      return
    }
    case 'record': {
      const { works, section, zone } = points[action.index]!
      if (works[0] === undefined) return
      bench.nowMs += 60_000
      const id = nextId()
      bench.tell({ type: 'record', id: `record-${id}`, timeMs: bench.nowMs, record: { id, timeMs: bench.nowMs, section, work: works[0], ...(zone === undefined ? {} : { zone }), ...(action.handCheck === undefined ? {} : { handCheck: action.handCheck }) }, earlier: [], withdrawn: false })
      return
    }
    case 'suggestion':
      suggest(bench, { id: 's-1', status: action.open ? 'open' : 'withdrawn' })
      return
    case 'end-early':
      bench.enter({ type: 'hold', id: nextId(), timeMs: bench.nowMs, action: 'end-early', reason: 'trial', untilMs: bench.nowMs + action.hours * HOUR, ...(action.named ? { by: 'Engineer' } : {}) })
      return
    case 'change':
      bench.nowMs += 20 * 60_000
      bench.enter({ type: 'change', id: nextId(), timeMs: bench.nowMs, change: action.which })
      return
    case 'restart':
      bench.restart()
  }
}

/** Production after a time and without variation, h, as the steps themselves had it. */
interface Watched {
  calmHours: number
}

describe('settings on hold, over random orders of events', () => {
  it('are never ended early: only done checks and a watched shift, two calm hours, or a named engineer with a time end them', () => {
    fc.assert(
      fc.property(fc.array(step, { minLength: 5, maxLength: 40 }), (steps) => {
        const bench = holdBench()
        suggest(bench)
        const watched: Watched = { calmHours: 0 }
        for (const action of steps) {
          const before = bench.factsOf('hold').length
          take(bench, action)
          if (action.kind === 'pass') watched.calmHours = action.varies ? 0 : watched.calmHours + (action.produces ? action.hours : 0)
          for (const said of bench.factsOf('hold').slice(before)) {
            if (said.on) continue
            if (said.because === 'hold.ended.checks-done') {
              expect(said.checks.every(({ done }) => done)).toBe(true)
              expect(said.watchedHours).toBeGreaterThanOrEqual(WATCH_HOURS)
              // no check that counted was older than the work or the failure after it
              for (const { failed } of said.checks) expect(failed).toBeUndefined()
            } else if (said.because === 'hold.ended.gone') expect(watched.calmHours).toBeGreaterThanOrEqual(2)
            else {
              expect(said.because).toBe('hold.ended.engineer')
              expect(said.by).toBe('Engineer')
              expect(said.untilMs).toBeGreaterThan(said.timeMs)
            }
          }
          const now = hold(bench)!
          expect(now.checks.map(({ rank }) => rank).sort((a, b) => a - b)).toEqual(now.checks.map((_, index) => index + 1))
          expect(now.checks).toHaveLength(POINT_COUNT)
        }
      }),
      { numRuns: 40 },
    )
  })

  it('are never on for ever: whatever came before, every check passed and a shift of production end them', () => {
    fc.assert(
      fc.property(fc.array(step, { maxLength: 25 }), fc.boolean(), (steps, varies) => {
        const bench = holdBench()
        suggest(bench)
        for (const action of steps) take(bench, action)
        bench.state = 'production'
        // beyond any engineer's time
        bench.nowMs += 15 * 24 * HOUR
        const evidence: readonly FeatureEvidence[] = varies ? VARIES : []
        if (!varies) suggest(bench, { status: 'withdrawn' })
        bench.pass(0.2, evidence)
        passAll(bench)
        bench.pass(WATCH_HOURS + 1, evidence)
        expect(hold(bench)?.on).toBe(false)
        // and what is settled does not come back by itself
        bench.pass(4, evidence)
        expect(hold(bench)?.on).toBe(false)
      }),
      { numRuns: 40 },
    )
  })
})
