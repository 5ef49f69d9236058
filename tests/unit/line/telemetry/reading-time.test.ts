import { describe, expect, test } from 'vitest'
import { parseReadingTime } from '../../../../src/line/telemetry/reading-time.js'

function timeOf(value: unknown, options: Partial<Parameters<typeof parseReadingTime>[1]> = {}): number | string {
  const result = parseReadingTime(value, { timeZone: 'UTC', ...options })
  return result.kind === 'time' ? result.timeMs : result.kind
}

describe('forms', () => {
  test.each([
    ['2026-03-29T08:15:00Z', Date.UTC(2026, 2, 29, 8, 15)],
    ['2026-03-29T08:15:00.123456789Z', Date.UTC(2026, 2, 29, 8, 15, 0, 123)],
    ['2026-03-29T08:15:00,5Z', Date.UTC(2026, 2, 29, 8, 15, 0, 500)],
    ['2026-03-29T08:15+02:00', Date.UTC(2026, 2, 29, 6, 15)],
    ['2026-03-29 08:15:00-0330', Date.UTC(2026, 2, 29, 11, 45)],
    ['2026-03-29T08:15:00+02', Date.UTC(2026, 2, 29, 6, 15)],
    ['2026-03-29', Date.UTC(2026, 2, 29)],
    [1774771200, 1774771200000],
    [1774771200.25, 1774771200250],
    [1774771200000, 1774771200000],
    ['1774771200000', 1774771200000],
  ])('%s is read', (value, timeMs) => {
    expect(timeOf(value)).toBe(timeMs)
  })

  test.each([['2026-02-29T00:00:00Z'], ['2026-13-01T00:00:00Z'], ['2026-01-01T24:00:00Z'], ['2026-01-01T10:60:00Z'], ['2026-01-01T10:00:00+20:00'], ['01/02/2026 10:00'], ['soon'], [''], [0], [-5], [1.7e18], [Number.NaN], [Number.POSITIVE_INFINITY], [true], [{}], [null], ['1985-01-01T00:00:00Z']])('%s is refused', (value) => {
    expect(timeOf(value)).toBe('bad-time')
  })

  test('a declared form leaves no other', () => {
    expect(timeOf(1774771200, { timeUnit: 'ms' })).toBe('bad-time')
    expect(timeOf(1774771200000, { timeUnit: 's' })).toBe('bad-time')
    expect(timeOf('2026-03-29', { timeUnit: 'ms' })).toBe('bad-time')
    expect(timeOf(1774771200, { timeUnit: 'iso' })).toBe('bad-time')
  })
})

describe('texts without a zone', () => {
  test('are read in the zone of the line, summer and winter', () => {
    expect(timeOf('2026-01-15T12:00:00', { timeZone: 'Europe/Madrid' })).toBe(Date.UTC(2026, 0, 15, 11))
    expect(timeOf('2026-07-15T12:00:00', { timeZone: 'Europe/Madrid' })).toBe(Date.UTC(2026, 6, 15, 10))
    expect(timeOf('2026-07-15T12:00:00', { timeZone: 'Asia/Kathmandu' })).toBe(Date.UTC(2026, 6, 15, 6, 15))
    expect(timeOf('2026-01-15T12:00:00', { timeZone: 'Pacific/Kiritimati' })).toBe(Date.UTC(2026, 0, 14, 22))
  })

  test('the day clocks go forward: the hour left out does not exist, both sides of it do', () => {
    const options = { timeZone: 'Europe/Madrid' }
    expect(timeOf('2026-03-29 01:59:59.999', options)).toBe(Date.UTC(2026, 2, 29, 0, 59, 59, 999))
    expect(timeOf('2026-03-29 02:00:00', options)).toBe('bad-time')
    expect(timeOf('2026-03-29 02:59:59', options)).toBe('bad-time')
    expect(timeOf('2026-03-29 03:00:00', options)).toBe(Date.UTC(2026, 2, 29, 1))
  })

  test('the day clocks go back: a repeated hour is the first pass, unless the reading before it is later', () => {
    const options = { timeZone: 'America/New_York' }
    expect(timeOf('2026-11-01 00:59:59', options)).toBe(Date.UTC(2026, 10, 1, 4, 59, 59))
    expect(timeOf('2026-11-01 01:30:00', options)).toBe(Date.UTC(2026, 10, 1, 5, 30))
    expect(timeOf('2026-11-01 02:00:00', options)).toBe(Date.UTC(2026, 10, 1, 7))
    expect(timeOf('2026-11-01 01:00:00', { ...options, notBeforeMs: Date.UTC(2026, 10, 1, 5, 59, 50) })).toBe(Date.UTC(2026, 10, 1, 6))
    expect(timeOf('2026-11-01 01:30:00', { ...options, notBeforeMs: Date.UTC(2026, 10, 1, 6, 29, 50) })).toBe(Date.UTC(2026, 10, 1, 6, 30))
    expect(timeOf('2026-11-01 01:30:00', { ...options, notBeforeMs: Date.UTC(2026, 10, 1, 5, 29, 50) })).toBe(Date.UTC(2026, 10, 1, 5, 30))
  })

  test('a log in local time through both changes rises evenly', () => {
    // 24 h and 25 h of stamps every 10 min, written as a clock on the wall shows them.
    const clock = new Intl.DateTimeFormat('sv-SE', { timeZone: 'Europe/Madrid', dateStyle: 'short', timeStyle: 'medium' })
    for (const startMs of [Date.UTC(2026, 2, 28, 20), Date.UTC(2026, 9, 24, 20)]) {
      let newestMs: number | undefined
      for (let timeMs = startMs; timeMs < startMs + 86_400_000; timeMs += 600_000) {
        const read = timeOf(clock.format(timeMs), { timeZone: 'Europe/Madrid', ...(newestMs === undefined ? {} : { notBeforeMs: newestMs }) })
        expect(read).toBe(timeMs)
        newestMs = timeMs
      }
    }
  })
})
