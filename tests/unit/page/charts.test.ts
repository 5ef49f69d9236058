import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { PointView, StateView, TimeMarkView } from '../../../src/page/api-types.js'
import { chartColumns, nearestPoint, verticalRange } from '../../../src/page/chart-data.js'
import { lanesOf } from '../../../src/page/chart-lanes.js'
import { rangeStartMs, type RangeQuestion } from '../../../src/page/chart-range.js'
import { shownUnit, shownValue } from '../../../src/page/format.js'

const START_MS = Date.UTC(2026, 2, 2)
const METRIC = { temperature: '°C', speed: 'mm/s' } as const

function point(minutes: number, value: number, more: Partial<PointView> = {}): PointView {
  return { time: new Date(START_MS + minutes * 60_000).toISOString(), feature: 'f', chart: 'individuals', value, statistic: value, centre: 0, lower: -3, upper: 3, sigma: 1, n: 30, recipe: 'a', state: 'production', baseline: 'provisional', ...more }
}

describe('units by choice', () => {
  it('a temperature and a difference of temperatures turn into °F differently', () => {
    const imperial = { temperature: '°F', speed: 'ft/min' } as const
    expect(shownValue(100, shownUnit('°C', imperial))).toBe(212)
    expect(shownValue(5, shownUnit('°C', imperial, true))).toBe(9)
    expect(shownUnit('°C', METRIC)).toEqual({ unit: '°C', factor: 1, offset: 0 })
    // a foot is 304.8 mm
    expect(shownValue(304.8, shownUnit('mm/s', imperial))).toBeCloseTo(60, 12)
    expect(shownValue(1000 / 60, shownUnit('mm/s', { ...METRIC, speed: 'm/min' }))).toBeCloseTo(1, 12)
  })

  it('logarithms and ratios stay, words among units are said in the language', () => {
    expect(shownUnit('ln °C', { temperature: '°F', speed: 'ft/min' })).toEqual({ unit: 'ln °C', factor: 1, offset: 0 })
    expect(shownUnit('% per 100 °C', METRIC, false, 'es').unit).toBe('% por 100 °C')
    expect(shownUnit('none', METRIC).unit).toBe('')
  })
})

describe('columns of a plot', () => {
  it('leave a pause empty and turn every line into the unit shown', () => {
    const points = [0, 10, 20, 30, 120, 130].map((minutes) => point(minutes, minutes))
    const columns = chartColumns(points, { unit: '°F', factor: 1.8, offset: 32 })
    expect(columns.statistic).toEqual([32, 50, 68, 86, null, 248, 266])
    expect(columns.lower[0]).toBeCloseTo(26.6, 12)
    expect(columns.points[4]).toBeUndefined()
    expect(nearestPoint(columns, 4)).toBe(points[3])
    expect(columns.seconds).toEqual([...columns.seconds].sort((a, b) => a - b))
  })

  it('the axis holds every value shown, and no limit far away', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -1e6, max: 1e6, noNaN: true }), { minLength: 1, maxLength: 50 }), (values) => {
        const columns = chartColumns(values.map((value, index) => point(index * 10, value)))
        const [bottom, top] = verticalRange(columns)
        expect(values.every((value) => value > bottom && value < top)).toBe(true)
      }),
      { examples: [[[1e6, 1e6 - 1.2e-10]], [[0, 5e-324]], [[-1e6, -1e6 + 1.2e-10]]] },
    )
    const [bottom, top] = verticalRange(chartColumns([point(0, 1, { upper: 1e6 }), point(10, 2, { upper: 1e6 })]))
    expect(top - bottom).toBeLessThan(20)
  })

  it('the axis follows what is zoomed to', () => {
    const columns = chartColumns(Array.from({ length: 20 }, (_, index) => point(index * 10, index < 10 ? 0.1 * index : 100 + index)))
    expect(verticalRange(columns, columns.seconds[0], columns.seconds[9])[1]).toBeLessThan(10)
    expect(verticalRange(columns)[1]).toBeGreaterThan(119)
  })
})

describe('the time shown', () => {
  const shifts = [{ name: 'early', days: ['mon', 'tue', 'wed', 'thu', 'fri'], start: '06:00' }, { name: 'late', days: ['mon', 'tue', 'wed', 'thu', 'fri'], start: '14:00' }]
  const question = (nowIso: string, more: Partial<RangeQuestion> = {}): RangeQuestion => ({ nowMs: Date.parse(nowIso), timeZone: 'Europe/Madrid', shifts, marks: [], section: 'preheat', ...more })

  it('this shift begins on the plant’s clock, also across a change of the clocks', () => {
    expect(new Date(rangeStartMs('shift', question('2026-03-04T16:30:00Z'))!).toISOString()).toBe('2026-03-04T13:00:00.000Z')
    // Monday after the clocks went forward on 29 March: 06:00 is 04:00 UTC
    expect(new Date(rangeStartMs('shift', question('2026-03-30T06:00:00Z'))!).toISOString()).toBe('2026-03-30T04:00:00.000Z')
    // Sunday: the last shift began on Friday afternoon
    expect(new Date(rangeStartMs('shift', question('2026-03-08T10:00:00Z'))!).toISOString()).toBe('2026-03-06T13:00:00.000Z')
    expect(rangeStartMs('shift', question('2026-03-04T16:30:00Z', { shifts: [] }))).toBe(Date.parse('2026-03-04T08:30:00Z'))
  })

  it('since the last cleaning is that of the section, and without one everything', () => {
    const mark = (time: string, section: string, cleaning?: true): TimeMarkView => ({ time, kind: 'record', section, words: 'w', ...(cleaning === undefined ? {} : { cleaning }) })
    const marks = [mark('2026-03-01T08:00:00Z', 'preheat', true), mark('2026-03-02T08:00:00Z', 'preheat'), mark('2026-03-03T08:00:00Z', 'pot', true)]
    expect(rangeStartMs('cleaning', question('2026-03-04T16:30:00Z', { marks }))).toBe(Date.parse('2026-03-01T08:00:00Z'))
    expect(rangeStartMs('cleaning', question('2026-03-04T16:30:00Z', { marks, section: 'fluxer' }))).toBeUndefined()
  })
})

describe('lanes under the time axis', () => {
  const states: StateView[] = [
    { time: point(0, 0).time, state: 'production', previous: 'idle', recipe: 'board-a' },
    { time: point(20, 0).time, state: 'idle', previous: 'production', recipe: 'board-a' },
  ]
  const marks: TimeMarkView[] = [
    { time: point(5, 0).time, kind: 'record', section: 'preheat', zone: 1, words: 'Clean' },
    { time: point(6, 0).time, kind: 'record', section: 'preheat', zone: 2, words: 'Clean two' },
    { time: point(7, 0).time, kind: 'record', section: 'pot', words: 'Skim' },
    { time: point(8, 0).time, kind: 'change', section: 'preheat', zone: 1, words: 'A set-point changed', channel: 'preheat.zone-1.setpoint', from: 100, to: 110 },
    { time: point(9, 0).time, kind: 'change', words: 'Another flux lot: F-2' },
  ]

  it('name the recipe while producing and the state else, say what limits rest on, and keep to the chart’s own place', () => {
    const points = [point(0, 0, { baseline: 'self-starting' }), point(10, 0), point(20, 0), point(30, 0, { baseline: 'accepted' })]
    const lanes = lanesOf({ points, states, marks, section: 'preheat', zone: 1, language: 'en-US', units: { temperature: '°F', speed: 'mm/s' } })
    expect(lanes.states.map(({ label, form }) => `${label} ${form}`)).toEqual(['board-a solid', 'stopped band'])
    expect(lanes.baselines.map(({ label, form }) => `${label} ${form}`)).toEqual(['all values so far dotted', 'provisional dashed', 'accepted solid'])
    expect(lanes.marks.map(({ label }) => label)).toEqual(['Clean', 'A set-point changed 212 → 230 °F', 'Another flux lot: F-2'])
  })
})
