import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { isIsoWeek, isoWeekOf, shiftWindows, weekAfter, weekRange } from '../../../src/maintenance/plan/plan-week-calendar.js'

const ZONES = ['UTC', 'Europe/Madrid', 'America/Chicago', 'Asia/Kolkata', 'Pacific/Auckland'] as const
const HOUR_MS = 3_600_000

describe('weeks of ISO 8601', () => {
  // Examples of ISO 8601: the year begins in week 1 with its first Thursday.
  it.each([
    ['2005-01-01', '2004-W53'],
    ['2005-01-02', '2004-W53'],
    ['2005-12-31', '2005-W52'],
    ['2006-01-01', '2005-W52'],
    ['2007-01-01', '2007-W01'],
    ['2008-12-29', '2009-W01'],
    ['2010-01-03', '2009-W53'],
    ['2026-11-23', '2026-W48'],
  ])('%s lies in %s', (day, week) => {
    expect(isoWeekOf(Date.parse(`${day}T12:00:00Z`), 'UTC')).toBe(week)
  })

  it('refuses weeks that do not exist', () => {
    expect(['2026-W53', '2020-W53', '2025-W53', '2026-W00', '2026-48', 'x'].map(isIsoWeek)).toEqual([true, true, false, false, false, false])
    expect(() => weekRange('2025-W53', 'UTC')).toThrow('expected an ISO week that exists')
  })

  it('every moment lies in its own week, weeks follow each other without gap, and have 168 h but for changes of the clock', () => {
    fc.assert(
      fc.property(fc.integer({ min: Date.UTC(2000, 0, 1), max: Date.UTC(2060, 0, 1) }), fc.constantFrom(...ZONES), (timeMs, zone) => {
        const week = isoWeekOf(timeMs, zone)
        const { fromMs, untilMs } = weekRange(week, zone)
        expect(fromMs <= timeMs && timeMs < untilMs).toBe(true)
        expect(weekRange(weekAfter(week, 1), zone).fromMs).toBe(untilMs)
        expect(Math.abs(untilMs - fromMs - 168 * HOUR_MS)).toBeLessThanOrEqual(HOUR_MS)
        expect(isoWeekOf(fromMs, zone)).toBe(week)
        expect(isoWeekOf(fromMs - 1, zone)).toBe(weekAfter(week, -1))
      }),
    )
  })
})

describe('shifts on dates', () => {
  const nights = [{ name: 'night', days: ['sat' as const, 'sun' as const], start: '22:00', end: '06:00', people: 2 }]

  it('are an hour shorter or longer in the nights when the clocks change', () => {
    // European Union, directive 2000/84/EC: last Sundays of March and October at 01:00 UTC.
    const hours = (from: number): number[] => shiftWindows(nights, 'Europe/Madrid', from, from + 48 * HOUR_MS).map(({ fromMs, untilMs }) => (untilMs - fromMs) / HOUR_MS)
    expect(hours(Date.UTC(2026, 2, 28))).toEqual([7, 8])
    expect(hours(Date.UTC(2026, 9, 24))).toEqual([9, 8])
  })

  it('begin within the time asked for, in order, and end after they begin', () => {
    fc.assert(
      fc.property(fc.integer({ min: Date.UTC(2020, 0, 1), max: Date.UTC(2030, 0, 1) }), fc.constantFrom(...ZONES), fc.integer({ min: 0, max: 23 }), fc.integer({ min: 0, max: 23 }), (fromMs, zone, start, end) => {
        const clock = (hour: number): string => `${String(hour).padStart(2, '0')}:30`
        const windows = shiftWindows([{ name: 'any', days: ['mon', 'wed', 'sun'], start: clock(start), end: clock(end), people: 1 }], zone, fromMs, fromMs + 14 * 24 * HOUR_MS)
        expect(windows.length).toBeGreaterThanOrEqual(5)
        expect(windows.length).toBeLessThanOrEqual(7)
        for (const [index, window] of windows.entries()) {
          expect(window.fromMs).toBeGreaterThanOrEqual(fromMs)
          expect(window.untilMs).toBeGreaterThan(window.fromMs)
          if (index > 0) expect(window.fromMs).toBeGreaterThan(windows[index - 1]!.fromMs)
        }
      }),
    )
  })
})
