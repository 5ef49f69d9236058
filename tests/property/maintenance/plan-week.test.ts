import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { asAgreed } from '../../../src/maintenance/plan/agreed-stops.js'
import { weekPlanOf } from '../../../src/maintenance/plan/plan-week.js'
import { shiftWindows } from '../../../src/maintenance/plan/plan-week-calendar.js'
import type { MaintenanceFact } from '../../../src/maintenance/maintenance-fact.js'
import { workUnits } from '../../../src/maintenance/plan/work-units.js'
import type { LineBook } from '../../../src/maintenance/plan/line-book.js'
import type { WeekPlan } from '../../../src/maintenance/plan/week-plan.js'
import { WORK_CATALOGUE } from '../../../src/maintenance/work-catalogue.js'
import { bookOf, DAY_MS, intervalOf, jobOf, MONDAY_MS, suggestionOf, WEEK } from '../../unit/maintenance/plan/plan-bench.js'

const DAYS = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'] as const
const WORKS = WORK_CATALOGUE.map(({ id }) => id)

const shiftArbitrary = fc.record({
  days: fc.uniqueArray(fc.constantFrom(...DAYS), { minLength: 1 }),
  start: fc.constantFrom('06:00', '14:00', '22:00', '00:00'),
  hours: fc.integer({ min: 2, max: 14 }),
  people: fc.integer({ min: 1, max: 4 }),
  production: fc.boolean(),
})
const workArbitrary = fc.record({ work: fc.constantFrom(...WORKS), zone: fc.integer({ min: 1, max: 3 }), used: fc.double({ min: 0.5, max: 3, noNaN: true }), how: fc.constantFrom('interval', 'job', 'suggestion', 'put-off') })
const bookArbitrary = fc.record({ shifts: fc.array(shiftArbitrary, { maxLength: 4 }), works: fc.array(workArbitrary, { maxLength: 14 }), washer: fc.boolean(), zone: fc.constantFrom('UTC', 'Europe/Madrid', 'America/Chicago'), nowDays: fc.integer({ min: -1, max: 7 }) })

type Drawn = typeof bookArbitrary extends fc.Arbitrary<infer T> ? T : never

function bookFrom({ shifts, works, washer, zone, nowDays }: Drawn, line: string): LineBook {
  const end = (start: string, hours: number): string => `${String((Number(start.slice(0, 2)) + hours) % 24).padStart(2, '0')}:00`
  const facts = works.flatMap(({ work, zone: place, used, how }, index): MaintenanceFact[] => {
    const where = WORK_CATALOGUE.find(({ id }) => id === work)!.section === 'preheat' ? { zone: place } : {}
    if (how === 'interval') return [intervalOf(work, used, { id: `interval-${index}`, ...where })]
    return how === 'job' ? [jobOf(work, { id: `job-${index}`, ...where })] : []
  })
  const suggestions = works.flatMap(({ work, zone: place, how }, index) => {
    if (how === 'job' || how === 'interval') return []
    const untilMs = MONDAY_MS + place * 3 * DAY_MS
    return [suggestionOf([work], { id: `suggestion-${index}`, zone: place, urgency: place === 3 ? 'soon' : 'plan', ...(how === 'put-off' ? { status: 'put-off', history: [{ timeMs: MONDAY_MS, status: 'put-off', untilMs }] } : {}) })]
  })
  const definition = { line, timeZone: zone, planning: { washingMachine: washer }, shifts: shifts.map((shift, index) => ({ name: `shift ${index}`, days: [...shift.days], start: shift.start, end: end(shift.start, shift.hours), people: shift.people, production: shift.production })) }
  return { ...bookOf(definition, facts, suggestions), nowMs: MONDAY_MS + nowDays * DAY_MS }
}

const booksArbitrary = fc.tuple(bookArbitrary, bookArbitrary).map(([a, b]) => [bookFrom(a, 'line-a'), bookFrom(b, 'line-b')])
const planned = (books: readonly LineBook[]): WeekPlan => weekPlanOf(books, WEEK, 'UTC')

describe('any plan of a week', () => {
  it('loses nothing: each due job is in a stop, or in one list with its reason', () => {
    fc.assert(
      fc.property(booksArbitrary, (books) => {
        const { stops, now, unplanned, later } = planned(books)
        const due = books.flatMap((book) => workUnits(book).items.map(({ id }) => id)).sort()
        const inStops = [...new Set(stops.flatMap(({ jobs }) => jobs.map(({ item }) => item.id)))]
        const listed = [...now, ...unplanned, ...later].map(({ item }) => item.id)
        expect([...inStops, ...listed].sort()).toEqual(due)
      }),
      { numRuns: 60 },
    )
  })

  it('puts every stop into one shift of its line that has begun no earlier than now, with enough people', () => {
    fc.assert(
      fc.property(booksArbitrary, (books) => {
        for (const stop of planned(books).stops) {
          const { definition, nowMs } = books.find((book) => book.definition.line === stop.line)!
          const shift = shiftWindows(definition.shifts, definition.timeZone, MONDAY_MS - 2 * DAY_MS, MONDAY_MS + 9 * DAY_MS).find((window) => window.name === stop.shift && window.fromMs <= stop.fromMs && stop.untilMs <= window.untilMs)
          expect(shift).toBeDefined()
          expect(shift!.people).toBeGreaterThanOrEqual(Math.max(stop.people, ...stop.jobs.map(({ item }) => item.people)))
          expect(stop.fromMs).toBeGreaterThanOrEqual(nowMs)
          expect(stop.jobs.every((job) => job.fromMs >= stop.fromMs && job.untilMs <= stop.untilMs)).toBe(true)
          expect(stop.jobs.length).toBeGreaterThan(0)
        }
      }),
      { numRuns: 60 },
    )
  })

  it('never asks more of the crew at one time than the smallest shift has, nor stops a line twice at once', () => {
    fc.assert(
      fc.property(booksArbitrary, (books) => {
        const { stops } = planned(books)
        for (const { fromMs } of stops) {
          const atOnce = stops.filter((stop) => stop.fromMs <= fromMs && fromMs < stop.untilMs)
          expect(atOnce.reduce((sum, stop) => sum + stop.people, 0)).toBeLessThanOrEqual(Math.min(...atOnce.map(({ peopleOnShift }) => peopleOnShift)))
          expect(new Set(atOnce.map(({ line }) => line)).size).toBe(atOnce.length)
        }
      }),
      { numRuns: 60 },
    )
  })

  it('never does two jobs of one place at once, and never does neglected work in one shift', () => {
    fc.assert(
      fc.property(booksArbitrary, (books) => {
        for (const { jobs, part } of planned(books).stops) {
          for (const [index, a] of jobs.entries()) {
            for (const b of jobs.slice(index + 1)) if (a.item.section === b.item.section && a.item.zone === b.item.zone) expect(a.untilMs <= b.fromMs || b.untilMs <= a.fromMs).toBe(true)
          }
          if (jobs.some(({ item }) => item.minutes.basis === 'neglected')) expect(part?.of ?? 1).toBeGreaterThanOrEqual(2)
        }
      }),
      { numRuns: 60 },
    )
  })

  it('leaves no two stops of one line back to back in one shift that had the people to be one', () => {
    fc.assert(
      fc.property(bookArbitrary, (drawn) => {
        const { stops } = planned([bookFrom(drawn, 'line-a')])
        for (const stop of stops) {
          const next = stops.find((other) => other.fromMs === stop.untilMs && other.shift === stop.shift && other.part === undefined && stop.part === undefined)
          // Only what must wait for its own time stays apart.
          if (next !== undefined) expect(next.jobs.some(({ item }) => item.notBeforeMs !== undefined)).toBe(true)
        }
      }),
      { numRuns: 60 },
    )
  })

  it('keeps an agreed week to the minute, whatever comes after, and is the same for the same input in any order', () => {
    fc.assert(
      fc.property(booksArbitrary, fc.array(workArbitrary, { maxLength: 6 }), (books, more) => {
        const first = planned(books)
        const agreed = books.map((book) => {
          const stops = first.stops.filter(({ line }) => line === book.definition.line).map(asAgreed)
          const news = bookFrom({ shifts: [], works: more.map((work) => ({ ...work, how: 'interval' as const })), washer: false, zone: 'UTC', nowDays: 0 }, book.definition.line).facts
          return { ...book, nowMs: book.nowMs + DAY_MS, facts: [...book.facts, ...news, { type: 'plan', id: `plan-${WEEK}`, timeMs: book.nowMs, week: WEEK, agreed: true, stops } as const] }
        })
        const after = planned(agreed)
        expect(after.stops.map(asAgreed)).toEqual(first.stops.map(asAgreed))
        expect(planned([...books].reverse())).toEqual(first)
      }),
      { numRuns: 40 },
    )
  })
})
