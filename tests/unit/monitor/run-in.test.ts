import { describe, expect, it } from 'vitest'
import { featureCatalogue } from '../../../src/line/features/feature-catalogue.js'
import type { LineStateName } from '../../../src/line/feature-value.js'
import { createStopLog, lastLongStopMs, noteState, runInUntilMs, showsRunIn } from '../../../src/monitor/run-in.js'
import { define } from './monitor-bench.js'

const MINUTE_MS = 60_000
const HOUR_MS = 60 * MINUTE_MS
const START_MS = Date.UTC(2026, 0, 5)

function logOf(...changes: readonly (readonly [hour: number, state: LineStateName])[]) {
  const log = createStopLog()
  for (const [hour, state] of changes) noteState(log, START_MS + hour * HOUR_MS, state)
  return log
}

const at = (hour: number): number => START_MS + hour * HOUR_MS

describe('the time after a stop', () => {
  it('may be a run-in for two and a half hours, whether the line stood or was off over night', () => {
    for (const state of ['idle', 'maintenance', 'off'] as const) {
      const log = logOf([0, 'production'], [4, state], [4.5, 'production'])
      expect(runInUntilMs(log, at(4.6))).toBe(at(7))
      expect(runInUntilMs(log, at(6.9))).toBe(at(7))
      expect(runInUntilMs(log, at(7.1))).toBe(0)
      expect(runInUntilMs(log, at(3))).toBe(0)
    }
  })

  it('begins a little before the stop, as an onset is known no better', () => {
    const log = logOf([0, 'production'], [4, 'idle'], [4.5, 'production'])
    expect(runInUntilMs(log, at(4) - 44 * MINUTE_MS)).toBe(at(7))
    expect(runInUntilMs(log, at(4) - 46 * MINUTE_MS)).toBe(0)
  })

  it('counts heating up as part of the stop, and a short stand not at all', () => {
    expect(runInUntilMs(logOf([0, 'off'], [5, 'warm-up'], [6, 'settling'], [6.2, 'production']), at(6.5))).toBe(at(8.5))
    expect(runInUntilMs(logOf([0, 'production'], [4, 'idle'], [4.2, 'production']), at(4.3))).toBe(0)
  })

  it('forgets old stops, and goes on from a copy of itself', () => {
    const log = createStopLog()
    for (let day = 0; day < 100; day += 1) {
      noteState(log, at(24 * day), 'off')
      noteState(log, at(24 * day + 6), 'production')
    }
    expect(log.stops).toHaveLength(40)
    expect(JSON.parse(JSON.stringify(log))).toEqual(log)
    expect(runInUntilMs(log, at(24 * 99 + 7))).toBe(at(24 * 99 + 8.5))
  })

  it('after a long one what was seen before must be seen again', () => {
    expect(lastLongStopMs(logOf([0, 'production'], [4, 'idle'], [5, 'production']))).toBe(0)
    expect(lastLongStopMs(logOf([0, 'production'], [4, 'off'], [9, 'warm-up'], [10, 'production'], [12, 'idle'], [12.5, 'production']))).toBe(at(10))
  })

  it('matters to what is seen in steady production, not to start-ups, the level, the room and the exhaust', () => {
    const shows = new Map(featureCatalogue(define({ line: 'line-a' })).map((spec) => [spec.feature, showsRunIn(spec)]))
    expect(shows.get('conveyor.speed.spread')).toBe(true)
    expect(shows.get('preheat.zone-1.temperature.slow')).toBe(true)
    expect(shows.get('preheat.zone-1.warm-up-time')).toBe(false)
    expect(shows.get('pot.level.offset')).toBe(false)
    expect(shows.get('exhaust.pressure.mean')).toBe(false)
    expect(shows.get('ambient.temperature.mean')).toBe(false)
  })
})
