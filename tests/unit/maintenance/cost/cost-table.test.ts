import fc from 'fast-check'
import { costText, figureText } from '../../../../src/maintenance/report/report-format.js'
import { describe, expect, it } from 'vitest'
import { costEvents } from '../../../../src/maintenance/cost/cost-events.js'
import { COST_KINDS, costOf, costTable, type CostEvent } from '../../../../src/maintenance/cost/cost-table.js'
import { earlierCleaning } from '../../../../src/maintenance/cost/earlier-cleaning.js'
import { asAgreed } from '../../../../src/maintenance/plan/agreed-stops.js'
import { weekPlanOf } from '../../../../src/maintenance/plan/plan-week.js'
import { bookOf, DAY_MS, EARLY_SHIFT, intervalOf, MONDAY_MS, recordFactOf, suggestionOf, WEEK } from '../plan/plan-bench.js'

const costs = { currency: 'EUR', lineStopPerHour: 100, unplannedStopPerHour: 150, labourPerHour: 40, scrapPerBoard: 12, contributionPerBoard: 5, boardsPerHour: 60, orderLate: 500, cleanerPerJob: 9, washerPerCycle: 4, spareSetPerUse: 3, partsPerWork: { 'replace-seals': 25 } }
const range = [MONDAY_MS - 100 * DAY_MS, MONDAY_MS + 100 * DAY_MS] as const
const refused = { type: 'stop', id: 's', timeMs: MONDAY_MS - DAY_MS, status: 'refused', askedMs: MONDAY_MS - 3 * DAY_MS, work: ['clean-vents'], minutes: 120, followed: [{ timeMs: MONDAY_MS - DAY_MS, stopKind: 'unplanned', stopMinutes: 120, boardsScrapped: 10, ordersLate: 1, secondaryDamage: 700 }] } as const

function amounts(book: Parameters<typeof costEvents>[0]): Record<string, number> {
  return Object.fromEntries(costTable(costEvents(book, ...range), () => book.definition.costs, 'UTC').rows.map(({ kind, cost }) => [kind, cost.kind === 'amount' ? cost.amount : Number.NaN]))
}

describe('costs from what was noted', () => {
  it('of a refused stop that ended in a failure, worked by hand', () => {
    // 2 h x 150; 2 h x 60 boards x 5; 10 x 12; 1 x 500; as noted
    expect(amounts(bookOf({ costs }, [refused]))).toEqual({ 'unplanned-stop': 300, 'boards-not-made': 600, scrap: 120, 'orders-late': 500, 'secondary-damage': 700 })
  })

  it('of work: people and minutes, cleaner, washing machine, parts', () => {
    const wash = recordFactOf('clean-chain', { minutes: 120, people: 2, washer: true })
    const seals = recordFactOf('replace-seals', { minutes: 30 })
    // (2 h x 2 + 0.5 h x 1) x 40 in two sections
    const table = costTable(costEvents(bookOf({ costs }, [wash, seals]), ...range), () => costs, 'UTC')
    expect(table.rows.map(({ section, kind, cost }) => [section, kind, cost.kind === 'amount' ? cost.amount : 'none'])).toEqual([['fluxer', 'labour', 20], ['fluxer', 'parts', 25], ['transport', 'labour', 160], ['transport', 'cleaner', 9], ['transport', 'washing-machine', 4]])
    expect(table.total).toBe(20 + 25 + 160 + 9 + 4)
  })

  it('counts an agreed stop once it has passed, none without production, and none twice', () => {
    const shifts = [{ ...EARLY_SHIFT, days: [...EARLY_SHIFT.days] }]
    const open = bookOf({ costs, shifts }, [intervalOf('clean-nozzle', 1)])
    const stops = weekPlanOf([open], WEEK, 'UTC').stops.map(asAgreed)
    const plan = { type: 'plan', id: `plan-${WEEK}`, timeMs: MONDAY_MS, week: WEEK, agreed: true, stops } as const
    const hours = (stops[0]!.untilMs - stops[0]!.fromMs) / 3_600_000
    expect(amounts({ ...open, facts: [plan] })).toEqual({})
    const after = { ...open, facts: [plan], nowMs: MONDAY_MS + 6 * DAY_MS }
    expect(amounts(after)['planned-stop']).toBeCloseTo(hours * 100, 9)
    expect(amounts(after)['boards-not-made']).toBeCloseTo(hours * 60 * 5, 9)
    const asked = { type: 'stop', id: stops[0]!.id, timeMs: MONDAY_MS, status: 'granted', askedMs: MONDAY_MS, fromMs: stops[0]!.fromMs, minutes: 60, work: ['clean-nozzle'], followed: [] } as const
    expect(amounts({ ...after, facts: [plan, asked] })['planned-stop']).toBe(100)
    const quiet = { ...after, definition: { ...after.definition, shifts: after.definition.shifts.map((shift) => ({ ...shift, production: false })) } }
    expect(amounts(quiet)).toEqual({})
  })

  it('never gives a number without its figure, for any event and any set of figures', () => {
    const event = fc.record({ timeMs: fc.constant(MONDAY_MS), line: fc.constant('line-a'), section: fc.constantFrom('fluxer', 'transport'), kind: fc.constantFrom(...COST_KINDS), quantity: fc.double({ min: 0, max: 1e4, noNaN: true }), of: fc.constantFrom('replace-seals', 'transport', '__proto__'), ofFailure: fc.boolean() }) as fc.Arbitrary<CostEvent>
    fc.assert(
      fc.property(fc.array(event, { minLength: 1, maxLength: 20 }), fc.subarray(Object.keys(costs).filter((key) => key !== 'currency')), (events, known) => {
        const figures = { currency: 'EUR', ...Object.fromEntries(Object.entries(costs).filter(([key]) => known.includes(key))) }
        const table = costTable(events, () => figures, 'UTC')
        for (const { cost } of table.rows) {
          if (cost.kind === 'amount') expect(Number.isFinite(cost.amount)).toBe(true)
          else expect(cost.missing.length).toBeGreaterThan(0)
        }
        for (const one of events) if (costOf(one, { currency: 'EUR' }).kind === 'amount') expect.unreachable('a number without a figure')
        // Twice the quantity costs twice as much; the parts make the whole.
        const double = costTable(events.map((one) => ({ ...one, quantity: one.quantity * 2 })), () => figures, 'UTC')
        expect(double.total).toBeCloseTo(table.total * 2, 4)
        expect(table.rows.reduce((sum, { quantity }) => sum + quantity, 0)).toBeCloseTo(events.reduce((sum, { quantity }) => sum + quantity, 0), 4)
      }),
    )
  })

  it('puts months where the plant’s clock has them', () => {
    const lateEvening: CostEvent = { timeMs: Date.UTC(2026, 10, 30, 23, 30), line: 'line-a', section: 'pot', kind: 'scrap', quantity: 1, ofFailure: true }
    expect(costTable([lateEvening], () => costs, 'UTC').rows[0]!.month).toBe('2026-11')
    expect(costTable([lateEvening], () => costs, 'Europe/Madrid').rows[0]!.month).toBe('2026-12')
  })
})

describe('what earlier cleaning would have saved', () => {
  const suggestion = suggestionOf(['clean-vents'], { raisedMs: MONDAY_MS - 5 * DAY_MS, status: 'done' })
  const done = recordFactOf('clean-vents', { timeMs: MONDAY_MS, suggestion: suggestion.id, minutes: 90 })

  it('is what failed in the section between the suggestion and the work', () => {
    const [saved] = earlierCleaning(bookOf({ costs }, [refused, done], [suggestion]), ...range)
    expect(saved).toMatchObject({ suggestion: suggestion.id, suggestedMs: suggestion.raisedMs, doneMs: MONDAY_MS, saved: { kind: 'amount', amount: 300 + 600 + 120 + 500 + 700 } })
  })

  it('is nothing where nothing failed, the failure came after the work, or the suggestion was declined', () => {
    expect(earlierCleaning(bookOf({ costs }, [done], [suggestion]), ...range)).toEqual([])
    expect(earlierCleaning(bookOf({ costs }, [refused, { ...done, record: { ...done.record, timeMs: MONDAY_MS - 2 * DAY_MS } }], [suggestion]), ...range)).toEqual([])
    expect(earlierCleaning(bookOf({ costs }, [refused, done], [{ ...suggestion, status: 'declined' }]), ...range)).toEqual([])
  })

  it('counts a failure once though two suggestions stood', () => {
    const twice = earlierCleaning(bookOf({ costs }, [refused, done], [suggestion, { ...suggestion, id: 'other', raisedMs: suggestion.raisedMs + 1 }]), ...range)
    expect(twice).toHaveLength(1)
  })
})

describe('a missing figure', () => {
  it('is told by its name in the definition, that of a job with the job’s name', () => {
    const titleOf = (work: string): string => (work === 'replace-seals' ? 'Replace O-rings' : work)
    expect(figureText('scrapPerBoard', titleOf)).toBe('scrapPerBoard')
    expect(costText({ kind: 'no-figure', missing: ['partsPerWork.replace-seals'] }, 'EUR', 'en-US', titleOf)).toBe('no figure: partsPerWork.replace-seals (Replace O-rings) missing')
  })
})
