import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { driftInsight } from '../../../src/monitor/insight-drift.js'
import { createInsightHistory, pushInsightValue, seriesAround, type InsightHistory } from '../../../src/monitor/insight-history.js'
import type { DriftInsight } from '../../../src/monitor/insight.js'

const START_MS = Date.UTC(2026, 0, 5)
const STEP_MS = 600_000

/** Values around 0 that may step or ramp at an index. */
const courses = fc.record({
  noise: fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 30, maxLength: 160 }),
  onset: fc.double({ min: 0.2, max: 0.9, noNaN: true }),
  step: fc.double({ min: 0, max: 10, noNaN: true }),
  slope: fc.double({ min: 0, max: 0.3, noNaN: true }),
})
type Course = { readonly noise: readonly number[]; readonly onset: number; readonly step: number; readonly slope: number }

function valuesOf({ noise, onset, step, slope }: Course): { readonly values: readonly number[]; readonly index: number } {
  const index = Math.floor(onset * noise.length)
  return { index, values: noise.map((value, at) => value + (at >= index ? step + slope * (at - index) : 0)) }
}

function historyOf(values: readonly number[]): InsightHistory {
  const history = createInsightHistory()
  values.forEach((value, index) => pushInsightValue(history, START_MS + index * STEP_MS, value, 480))
  return history
}

function insightOf(values: readonly number[], index: number, side: 'above' | 'below', limit: number): DriftInsight {
  return driftInsight({ history: historyOf(values), context: { feature: 'f', recipe: 'a', state: 'production' }, timeMs: START_MS + (values.length - 1) * STEP_MS, phase: 'standing', side, onsetMs: START_MS + index * STEP_MS, afterMs: 0, windowS: 600, limit: { value: limit, source: 'definition' } })
}

describe('the insight of a drifting feature', () => {
  it('is the same turned upside down: what rises above falls below', () => {
    fc.assert(
      fc.property(courses, (course) => {
        const { values, index } = valuesOf(course)
        const up = insightOf(values, index, 'above', 30)
        const down = insightOf(values.map((value) => -value), index, 'below', -30)
        expect(down.shape).toBe(up.shape)
        expect(down.onsetMs).toBe(up.onsetMs)
        expect(down.level).toBeCloseTo(-up.level, 9)
        expect(down.dueMs).toEqual(up.dueMs)
        expect(down.noDate?.replace('falling', 'rising')).toBe(up.noDate)
      }),
      { numRuns: 60 },
    )
  })

  it('never dates what its own interval does not carry, and keeps its times in order', () => {
    fc.assert(
      fc.property(courses, fc.double({ min: 5, max: 60, noNaN: true }), (course, limit) => {
        const { values, index } = valuesOf(course)
        const insight = insightOf(values, index, 'above', limit)
        expect(insight.onsetFromMs).toBeLessThanOrEqual(insight.onsetMs)
        expect(insight.onsetMs).toBeLessThanOrEqual(insight.timeMs)
        expect(insight.onsetToMs).toBeLessThanOrEqual(insight.timeMs)
        expect((insight.dueMs === undefined) !== (insight.noDate === undefined)).toBe(true)
        if (insight.dueMs === undefined) return
        expect(insight.slopePerDayLower).toBeGreaterThan(0)
        const [p10, p50, p90] = insight.dueMs
        expect(p10).toBeLessThanOrEqual(p50)
        expect(p50).toBeLessThanOrEqual(p90)
        expect((p90 - insight.timeMs) / (p10 - insight.timeMs)).toBeLessThanOrEqual(4.001)
      }),
      { numRuns: 100 },
    )
  })
})

describe('the history behind it', () => {
  it('stays small, goes on from its text, and keeps the mean of what it merged', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -100, max: 100, noNaN: true }), { minLength: 1, maxLength: 700 }), fc.integer({ min: 0, max: 700 }), (values, cut) => {
        const whole = historyOf(values)
        let resumed = createInsightHistory()
        values.forEach((value, index) => {
          if (index === cut) resumed = JSON.parse(JSON.stringify(resumed)) as InsightHistory
          pushInsightValue(resumed, START_MS + index * STEP_MS, value, 480)
        })
        expect(resumed).toEqual(whole)
        expect(whole.fineValues.length).toBeLessThanOrEqual(40)
        const { points, block } = seriesAround(whole, 0, 0)
        expect(points.length).toBeLessThan(80)
        const covered = values.slice(0, points.length * block)
        const mean = (list: readonly number[]): number => list.reduce((sum, value) => sum + value, 0) / Math.max(1, list.length)
        expect(mean(points.map(({ value }) => value))).toBeCloseTo(mean(covered), 3)
      }),
      { numRuns: 60 },
    )
  })
})
