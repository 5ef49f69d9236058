import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { fieldOfTime, timeOfField } from '../../../src/page/plant-time.js'

const HOUR = 3_600_000

describe('the time of the plant in a date-and-time field', () => {
  it.each([
    ['UTC', '2026-03-02T14:30:20.000Z', '2026-03-02T14:30'],
    ['America/Chicago', '2026-03-02T05:59:00.000Z', '2026-03-01T23:59'],
    ['Europe/Madrid', '2026-07-01T22:00:00.000Z', '2026-07-02T00:00'],
    ['Asia/Kolkata', '2026-01-31T18:45:00.000Z', '2026-02-01T00:15'],
  ])('stands as the wall clock there shows it: %s', (timeZone, iso, field) => {
    expect(fieldOfTime(iso, timeZone)).toBe(field)
    expect(timeOfField(field, timeZone)).toBe(`${iso.slice(0, 17)}00.000Z`)
  })

  it('is read around the change of the clocks', () => {
    // Clocks of Central Europe go from 2:00 to 3:00 on 29 March 2026, at 01:00 UTC.
    expect(timeOfField('2026-03-29T01:59', 'Europe/Madrid')).toBe('2026-03-29T00:59:00.000Z')
    expect(timeOfField('2026-03-29T03:00', 'Europe/Madrid')).toBe('2026-03-29T01:00:00.000Z')
    const leftOut = Date.parse(timeOfField('2026-03-29T02:30', 'Europe/Madrid'))
    expect(Math.abs(leftOut - Date.parse('2026-03-29T01:00:00Z'))).toBeLessThanOrEqual(HOUR)
  })

  it('comes back as it was, to the minute, at any time of any zone', () => {
    fc.assert(
      fc.property(fc.integer({ min: Date.UTC(2020, 0), max: Date.UTC(2035, 0) }), fc.constantFrom('UTC', 'America/New_York', 'Europe/Madrid', 'Asia/Kathmandu', 'Australia/Lord_Howe', 'Pacific/Chatham'), (timeMs, timeZone) => {
        const field = fieldOfTime(new Date(timeMs).toISOString(), timeZone)
        const back = Date.parse(timeOfField(field, timeZone))
        expect(fieldOfTime(new Date(back).toISOString(), timeZone)).toBe(field)
        // The hour that comes twice cannot be told from its field.
        expect(Math.abs(back - timeMs)).toBeLessThan(HOUR + 60_000)
      }),
      { numRuns: 300 },
    )
  })
})
