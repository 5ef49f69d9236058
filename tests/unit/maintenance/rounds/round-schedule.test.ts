import { describe, expect, it } from 'vitest'
import { checkDefinition } from '../../../../src/service/definition-file.js'
import { ROUND_CHECKS, roundChecks } from '../../../../src/maintenance/rounds/round-catalogue.js'
import { askedChecks, dueChecks, lookOrder, periodAt, shiftAt } from '../../../../src/maintenance/rounds/round-schedule.js'
import { DAY, definitionWith, HOUR, MONDAY } from './part-bench.js'

const WEEKDAYS = ['mon', 'tue', 'wed', 'thu', 'fri'] as const
const TWO_SHIFTS = [
  { name: 'early', days: [...WEEKDAYS], start: '06:00', end: '14:00' },
  { name: 'late', days: [...WEEKDAYS], start: '14:00', end: '22:00' },
]
const LINE = definitionWith({ timeZone: 'UTC', shifts: TWO_SHIFTS })
const MADRID = definitionWith({ timeZone: 'Europe/Madrid', shifts: [...TWO_SHIFTS, { name: 'night', days: [...WEEKDAYS], start: '22:00', end: '06:00' }] })
const iso = (ms: number): string => new Date(ms).toISOString()

describe('shifts', () => {
  it('are found in the plant time zone, a night shift on the day it began', () => {
    // Friday 6 March 2026, 01:30 in Madrid (UTC+1): Thursday's night shift
    expect(shiftAt(MADRID, Date.UTC(2026, 2, 6, 0, 30))).toEqual({ name: 'night', fromMs: Date.UTC(2026, 2, 5, 21), untilMs: Date.UTC(2026, 2, 6, 5) })
    expect(shiftAt(MADRID, Date.UTC(2026, 6, 7, 4, 0)).name).toBe('early') // UTC+2 in summer
  })

  it('change their length with daylight saving', () => {
    // Spain springs forward at 02:00 on Sunday 29 March 2026; this line works Saturday nights
    const line = definitionWith({ timeZone: 'Europe/Madrid', shifts: [{ name: 'night', days: ['sat'], start: '22:00', end: '06:00' }] })
    const { fromMs, untilMs } = shiftAt(line, Date.UTC(2026, 2, 28, 23))
    expect([iso(fromMs), iso(untilMs)]).toEqual(['2026-03-28T21:00:00.000Z', '2026-03-29T04:00:00.000Z'])
    expect((untilMs - fromMs) / HOUR).toBe(7)
  })

  it('between shifts the last one counts, and without any the day does', () => {
    expect(shiftAt(LINE, MONDAY + 6 * DAY + 12 * HOUR)).toMatchObject({ name: 'late', fromMs: MONDAY + 4 * DAY + 14 * HOUR })
    expect(shiftAt(definitionWith(), MONDAY + 5 * HOUR)).toEqual({ name: '', fromMs: MONDAY, untilMs: MONDAY + DAY })
  })

  it('weeks begin on Monday and months on their first day', () => {
    expect(periodAt(LINE, 'week', MONDAY + 3 * DAY + 7 * HOUR)).toEqual({ fromMs: MONDAY, untilMs: MONDAY + 7 * DAY })
    expect(periodAt(LINE, 'month', MONDAY + 7 * HOUR)).toEqual({ fromMs: Date.UTC(2026, 2, 1), untilMs: Date.UTC(2026, 3, 1) })
  })
})

describe('due checks', () => {
  const ids = (known: Parameters<typeof dueChecks>[1], nowMs: number, status?: string): string[] => dueChecks(LINE, known, nowMs).filter((item) => status === undefined || item.status === status).map(({ check }) => check.check)
  const fresh = { sinceMs: MONDAY, lastMs: {}, events: {} }

  it('come in walking order: fluxer, preheat, transport, pot', () => {
    const sections = dueChecks(LINE, fresh, MONDAY + 7 * HOUR).map(({ check }) => check.section)
    const order = ['fluxer', 'preheat', 'transport', 'pot']
    expect(sections.map((section) => order.indexOf(section))).toEqual(sections.map((section) => order.indexOf(section)).sort((a, b) => a - b))
  })

  it('of a shift take under three minutes together', () => {
    const minutes = ROUND_CHECKS.filter(({ every }) => every === 'shift').reduce((sum, check) => sum + check.minutes, 0)
    expect(minutes).toBeLessThanOrEqual(3)
  })

  it('of a shift come again in the next, those of a day and week do not', () => {
    const done = Object.fromEntries(ids(fresh, MONDAY + 7 * HOUR).map((check) => [check, MONDAY + 7 * HOUR]))
    const known = { ...fresh, lastMs: done }
    expect(ids(known, MONDAY + 8 * HOUR)).toEqual([])
    const late = ids(known, MONDAY + 15 * HOUR)
    expect(late).toContain('dip-stick')
    expect(late).not.toContain('paper-test')
    const tuesday = ids(known, MONDAY + DAY + 7 * HOUR)
    expect(tuesday).toContain('paper-test')
    expect(tuesday).not.toContain('weigh-dose')
  })

  it('missed in the day or week before are overdue and carried over; over a weekend Friday counts', () => {
    const known = { ...fresh, lastMs: { 'paper-test': MONDAY + 3 * DAY + 7 * HOUR } }
    const nextMonday = MONDAY + 7 * DAY + 7 * HOUR
    const paper = dueChecks(LINE, known, nextMonday).find(({ check }) => check.check === 'paper-test')
    expect(paper).toMatchObject({ status: 'overdue', carriedOver: true, sinceMs: MONDAY + 4 * DAY })
    const onFriday = { ...fresh, lastMs: { 'paper-test': MONDAY + 4 * DAY + 7 * HOUR } }
    expect(dueChecks(LINE, onFriday, nextMonday).find(({ check }) => check.check === 'paper-test')).toMatchObject({ status: 'due', carriedOver: false })
    expect(ids(known, nextMonday, 'overdue')).toContain('weigh-dose')
    expect(ids(known, nextMonday, 'overdue')).not.toContain('dip-stick')
  })

  it('are asked for by an event until they are done', () => {
    const stopped = { ...fresh, events: { 'long-stop': MONDAY + 9 * HOUR } }
    expect(dueChecks(LINE, stopped, MONDAY + 9.5 * HOUR).find(({ check }) => check.check === 'purge-nozzle')).toMatchObject({ event: 'long-stop', status: 'due' })
    expect(ids({ ...stopped, lastMs: { 'purge-nozzle': MONDAY + 9.2 * HOUR } }, MONDAY + 9.5 * HOUR)).not.toContain('purge-nozzle')
    expect(ids(fresh, MONDAY + 9.5 * HOUR)).not.toContain('purge-nozzle')
  })

  it('follow the site: left out, another period, checks of its own', () => {
    const own = { check: 'nitrogen', section: 'pot' as const, every: 'shift' as const, minutes: 1, title: { 'en-US': 'Read the nitrogen', es: 'Leer el nitrógeno' }, steps: { 'en-US': ['Read the gauge.'], es: ['Lea el manómetro.'] } }
    const line = definitionWith({ rounds: { off: ['wave-gauge'], every: { 'weigh-dose': 'shift' }, own: [own] } })
    const checks = roundChecks(line)
    expect(checks.map(({ check }) => check)).not.toContain('wave-gauge')
    expect(checks.find(({ check }) => check === 'weigh-dose')?.every).toBe('shift')
    expect(checks.find(({ check }) => check === 'nitrogen')?.cautions).toContain('other-rules-win')
    expect(checks.at(-1)?.section).toBe('pot')
  })
})

describe('asked checks', () => {
  it('change from shift to shift, are the same for all who look, and are never all nor none', () => {
    const shiftChecks = roundChecks(LINE).filter(({ every, looks }) => every === 'shift' && looks).map(({ check }) => check)
    const askedIn = (nowMs: number): string[] => shiftChecks.filter((check) => askedChecks(LINE, nowMs).has(check))
    const shifts = Array.from({ length: 20 }, (_, index) => MONDAY + Math.floor(index / 2) * DAY + (index % 2 === 0 ? 7 : 15) * HOUR)
    expect(askedIn(shifts[0]!)).toEqual(askedIn(shifts[0]! + HOUR))
    for (const shift of shifts) {
      expect(askedIn(shift).length).toBeGreaterThan(0)
      expect(askedIn(shift).length).toBeLessThan(shiftChecks.length)
    }
    // over two weeks every look has its turn
    expect(new Set(shifts.flatMap(askedIn)).size).toBe(shiftChecks.length)
  })

  it('always hold those that are nothing without their value', () => {
    expect(askedChecks(LINE, MONDAY + 7 * HOUR).has('weigh-dose')).toBe(true)
  })

  it('the good answer does not always stand first', () => {
    const firsts = new Set(Array.from({ length: 14 }, (_, index) => lookOrder(LINE, 'dip-stick', MONDAY + index * DAY + 7 * HOUR)[0]))
    expect(firsts.size).toBeGreaterThan(1)
  })
})

describe('what a site changes', () => {
  const own = { check: 'nitrogen', section: 'pot' as const, every: 'shift' as const, minutes: 1, title: { 'en-US': 'Read the nitrogen', es: 'Leer el nitrógeno' }, steps: { 'en-US': ['Read the gauge.'], es: ['Lea el manómetro.'] } }

  it('is refused where it names no check, value or caution, each with its place', () => {
    const rounds = { off: ['wave-guage'], every: { moon: 'day' as const }, values: { 'weigh-dose.gram': { target: 4 } }, own: [{ ...own, cautions: ['hot-things'] }, { ...own }, { ...own, check: 'dip-stick' }] }
    const result = checkDefinition({ line: 'line-a', rounds })
    expect(result.kind === 'faults' ? result.faults.map(({ path }) => path) : []).toEqual(['rounds.off[0]', 'rounds.every.moon', 'rounds.values.weigh-dose.gram', 'rounds.own[0].cautions[0]', 'rounds.own[1].check', 'rounds.own[2].check'])
    expect(checkDefinition({ line: 'line-a', rounds: { own: [{ ...own, cautions: ['hot-parts'] }] } }).kind).toBe('definition')
  })
})
