import { parse } from 'csv-parse/sync'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { calendarText } from '../../../../src/maintenance/plan/calendar-text.js'
import { chanceBy, costOfWaiting } from '../../../../src/maintenance/plan/cost-of-waiting.js'
import { PLAN_COLUMNS, planCsv } from '../../../../src/maintenance/plan/plan-csv.js'
import { weekPlanOf } from '../../../../src/maintenance/plan/plan-week.js'
import { stopRequestHtml } from '../../../../src/maintenance/plan/stop-request.js'
import { csvText } from '../../../../src/maintenance/report/csv-text.js'
import { bookOf, DAY_MS, EARLY_SHIFT, intervalOf, MONDAY_MS, suggestionOf, WEEK } from './plan-bench.js'

const shifts = [{ ...EARLY_SHIFT, days: [...EARLY_SHIFT.days] }]
const HOSTILE = 'Línea "A"; <script>alert(1)</script>, \\ñ\r\nBEGIN:VEVENT'
const book = bookOf({ title: HOSTILE.slice(0, 60), shifts }, [intervalOf('clean-nozzle', 1.2), intervalOf('clean-thermocouple', 1, { zone: 2 })], [suggestionOf(['clean-vents'], { zone: 3 })])
const plan = weekPlanOf([book], WEEK, 'UTC')
const titles = new Map([['line-a', HOSTILE]])

/** RFC 5545, 3.1: a line break followed by a blank is no break. */
function unfolded(text: string): string[] {
  return text.replaceAll('\r\n ', '').split('\r\n').filter((line) => line !== '')
}

describe('the plan as a calendar (RFC 5545)', () => {
  const text = calendarText(plan, 'es', { stampMs: MONDAY_MS, titles })

  it('ends every line with CRLF and folds at 75 octets, never inside a character', () => {
    expect(text.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/)
    for (const line of text.split('\r\n')) {
      expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75)
      expect(line).not.toContain('\uFFFD')
    }
    expect(unfolded(text).some((line) => Buffer.byteLength(line) > 75)).toBe(true)
  })

  it('has one event for each stop, in UTC, with what an event must have', () => {
    const lines = unfolded(text)
    expect(lines.filter((line) => line === 'BEGIN:VEVENT')).toHaveLength(plan.stops.length)
    expect(lines.slice(0, 3)).toEqual(['BEGIN:VCALENDAR', 'VERSION:2.0', 'PRODID:-//wave-solder-spc//plan//EN'])
    expect(lines.at(-1)).toBe('END:VCALENDAR')
    expect(lines).toContain(`DTSTART:${new Date(plan.stops[0]!.fromMs).toISOString().slice(0, 19).replaceAll(/[-:]/g, '')}Z`)
    for (const property of ['UID:', 'DTSTAMP:', 'DTSTART:', 'DTEND:', 'SUMMARY:', 'STATUS:TENTATIVE']) expect(lines.some((line) => line.startsWith(property))).toBe(true)
  })

  it('escapes texts (3.3.11): a title can neither end its line nor begin an event', () => {
    const summary = unfolded(text).find((line) => line.startsWith('SUMMARY:'))!
    expect(summary).toContain('Línea "A"\\; <script>alert(1)</script>\\, \\\\ñ\\nBEGIN:VEVENT')
  })

  it('keeps the UID of a stop that moves within the week', () => {
    const uid = (of: typeof plan): string[] => unfolded(calendarText(of, 'en-US', { stampMs: MONDAY_MS, titles })).filter((line) => line.startsWith('UID:'))
    const moved = { ...plan, stops: plan.stops.map((stop) => ({ ...stop, fromMs: stop.fromMs + DAY_MS, untilMs: stop.untilMs + DAY_MS })) }
    expect(uid(moved)).toEqual(uid(plan))
    expect(new Set(uid(plan)).size).toBe(plan.stops.length)
  })
})

describe('CSV (RFC 4180)', () => {
  it('comes back as it went in, whatever it holds, and no cell is a formula', () => {
    fc.assert(
      fc.property(fc.array(fc.array(fc.oneof(fc.string(), fc.constantFrom('=1+1', '+1', '-1', '@SUM(A1)', '\t=1', ' =cmd', 'a\r\nb', '"')), { minLength: 2, maxLength: 2 }), { minLength: 1 }), (rows) => {
        const text = csvText(['a', 'b'], rows)
        expect(text.endsWith('\r\n')).toBe(true)
        const back = parse(text, { relax_column_count: false, skip_empty_lines: false, record_delimiter: '\r\n' })
        back.slice(1).forEach((row, index) => row.forEach((cell, column) => expect([rows[index]![column], `'${rows[index]![column]}`]).toContain(cell)))
        expect(back).toHaveLength(rows.length + 1)
        for (const cell of back.flat()) expect(cell).not.toMatch(/^\s*[=+\-@\t\r]/)
      }),
    )
  })

  it('keeps numbers as numbers, negative ones too', () => {
    expect(csvText(['n'], [[-1.5], [undefined], [Number.NaN]])).toBe('n\r\n-1.5\r\n\r\n\r\n')
  })

  it('of the plan has a row for every job and every item without a place', () => {
    const lone = weekPlanOf([bookOf({ shifts: [{ ...shifts[0]!, people: 1 }] }, [intervalOf('strip-pump', 1), intervalOf('clean-nozzle', 1)])], WEEK, 'UTC')
    const rows = parse(planCsv(lone, 'en-US'), { columns: true }) as Record<string, string>[]
    expect(Object.keys(rows[0]!)).toEqual([...PLAN_COLUMNS])
    expect(rows.map(({ list, work }) => [list, work])).toEqual([['stop', 'clean-nozzle'], ['no-place', 'strip-pump']])
    expect(rows[1]!['reason']).toContain('2 people')
  })
})

describe('the request for a stop', () => {
  const costs = { currency: 'EUR', lineStopPerHour: 300, unplannedStopPerHour: 500, unplannedStopHours: 4, labourPerHour: 40, damagePerFailure: { preheat: 1000 } }
  const drift = { feature: 'preheat.zone-3.heat-effort', section: 'preheat', zone: 3, onsetMs: MONDAY_MS - DAY_MS, dueMs: [MONDAY_MS + 2 * DAY_MS, MONDAY_MS + 4 * DAY_MS, MONDAY_MS + 30 * DAY_MS] } as const
  const priced = { ...bookOf({ costs, shifts }, book.facts, book.suggestions), drifts: [drift] }
  const stop = weekPlanOf([priced], WEEK, 'UTC').stops[0]!

  it('reads the chance from the 10, 50 and 90 % dates, and never leaves 0 to 1', () => {
    expect(chanceBy(drift.dueMs, MONDAY_MS, MONDAY_MS)).toBe(0)
    expect(chanceBy(drift.dueMs, MONDAY_MS, drift.dueMs[0])).toBeCloseTo(0.1, 9)
    expect(chanceBy(drift.dueMs, MONDAY_MS, drift.dueMs[1])).toBeCloseTo(0.5, 9)
    expect(chanceBy(drift.dueMs, MONDAY_MS, drift.dueMs[2])).toBeCloseTo(0.9, 9)
    fc.assert(
      fc.property(fc.tuple(fc.integer({ min: -50, max: 50 }), fc.nat(50), fc.nat(50)), fc.integer({ min: -10, max: 200 }), fc.integer({ min: -10, max: 200 }), ([a, b, c], one, other) => {
        const [first, second] = [Math.min(one, other), Math.max(one, other)].map((timeMs) => chanceBy([a, a + b, a + b + c], 0, timeMs)) as [number, number]
        expect(first).toBeGreaterThanOrEqual(0)
        expect(second).toBeLessThanOrEqual(1)
        expect(second).toBeGreaterThanOrEqual(first)
      }),
    )
  })

  it('multiplies it with what a failure costs by the site’s figures', () => {
    const waiting = costOfWaiting(stop, priced)
    // 4 h x 500 + 1000 of damage
    expect(waiting.failure).toEqual({ kind: 'amount', amount: 3000 })
    expect(waiting.expected).toEqual({ kind: 'amount', amount: waiting.drift!.chance * 3000 })
    expect(waiting.drift!.chance).toBeGreaterThan(0.5)
    const without = { ...priced, definition: { ...priced.definition, costs: { currency: 'EUR' } } }
    expect(costOfWaiting(stop, without).expected).toEqual({ kind: 'no-figure', missing: ['unplannedStopHours', 'unplannedStopPerHour'] })
  })

  it.each(['en-US', 'es'] as const)('is one page with minutes, people, isolation, cautions and the assumption, in %s', (language) => {
    const page = stopRequestHtml(stop, priced, language)
    expect(page).toContain(`<html lang="${language}">`)
    expect(page).toMatch(language === 'es' ? /Supuesto:/ : /Assumed:/)
    expect(page).toMatch(language === 'es' ? /Solicitud de parada/ : /Request for a stop/)
    expect(page).toContain(String(Math.round((stop.untilMs - stop.fromMs) / 60_000)))
    expect(page.match(/<ol>[^]*?<\/ol>/)?.[0].match(/<li>/g)?.length).toBeGreaterThanOrEqual(4)
    expect(page).not.toMatch(/<script|undefined|NaN|\[object/)
    expect(stopRequestHtml(weekPlanOf([book], WEEK, 'UTC').stops[0]!, book, language)).not.toContain('<script')
    expect(stopRequestHtml(weekPlanOf([book], WEEK, 'UTC').stops[0]!, book, language)).toMatch(language === 'es' ? /no se puede dar un coste de esperar/ : /no cost of waiting can be given/)
  })
})
