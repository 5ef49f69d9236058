import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { clearRecentHistory, createRecentHistory, forgetBefore, likelyOnset, pushRecentHistory, meanDeviations, recentMedian, segmentStartsMs } from '../../../src/spc/recent-history.js'

function filled(deviations: readonly number[]) {
  const history = createRecentHistory()
  deviations.forEach((deviation, i) => pushRecentHistory(history, i, deviation))
  return history
}

describe('recent history', () => {
  it('keeps every sum and count while it merges', () => {
    const history = filled(Array.from({ length: 1000 }, (_, i) => i / 100))
    const { mean, pointCount } = meanDeviations(history).all
    expect(pointCount).toBe(1000)
    expect(mean).toBeCloseTo(4.995, 9)
    const starts = segmentStartsMs(history)
    expect(starts).toHaveLength(24)
    expect(starts).toEqual([...starts].sort((a, b) => a - b))
  })

  it('keeps the newest points single: a recent onset is exact whatever lies before', () => {
    for (let before = 1; before < 200; before++) {
      const history = filled([...new Array(before).fill(0), ...new Array(8).fill(3)])
      expect(likelyOnset(history, 'above')).toMatchObject({ onsetMs: before, pointCount: 8, shiftSigma: 3 })
    }
  })

  it('finds an old onset to a small part of the time since', () => {
    for (const before of [100, 1000, 10_000]) {
      for (const since of [20, 60, 150, 400]) {
        const history = filled([...new Array(before).fill(-0.1), ...new Array(since).fill(1)])
        const error = Math.abs(likelyOnset(history, 'above')!.onsetMs - before)
        expect(error, `${since} points ago after ${before}`).toBeLessThanOrEqual(Math.max(1, since * 0.25))
      }
    }
    expect(likelyOnset(filled([1, 1]), 'below')).toBeUndefined()
  })

  it('forgets', () => {
    const history = filled([0, 0, 5, 5, 5])
    forgetBefore(history, 2)
    expect(meanDeviations(history).all).toEqual({ mean: 5, pointCount: 3 })
    expect(recentMedian(history)).toBe(5)
    clearRecentHistory(history)
    expect(recentMedian(history)).toBeUndefined()
  })

  it('answers at every point as if each merge were made at once, and asking changes nothing', () => {
    interface Segment { startMs: number; sum: number; count: number }
    /** Oldest first, one object a segment, merged whenever there are more than 24: the definition, without the row. */
    const push = (segments: readonly Segment[], timeMs: number, deviation: number): Segment[] => {
      const next = [...segments]
      if (next.length === 24) {
        const age = (i: number): number => next.slice(i).reduce((sum, { count }) => sum + count, 0)
        const cost = (i: number): number => ((i === 0 && age(2) > 500 ? 0 : next[i]!.count) + next[i + 1]!.count) / age(i + 1)
        let best = 14
        for (let i = 13; i >= 0; i--) if (cost(i) < cost(best)) best = i
        const [older, newer] = [next[best]!, next[best + 1]!]
        next.splice(best, 2, { startMs: older.startMs, sum: older.sum + newer.sum, count: older.count + newer.count })
      }
      return [...next, { startMs: timeMs, sum: deviation, count: 1 }]
    }
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -30_000, max: 30_000 }).map((x) => x / 1e4), { minLength: 1, maxLength: 900, size: 'max' }), fc.nat(), fc.integer({ min: 1, max: 40 }), (deviations, forgetAt, every) => {
        const history = createRecentHistory()
        let segments: Segment[] = []
        deviations.forEach((deviation, i) => {
          pushRecentHistory(history, i, deviation)
          segments = push(segments, i, deviation)
          if (i % every !== 0) return
          const before = JSON.stringify(history)
          expect(segmentStartsMs(history)).toEqual(segments.map(({ startMs }) => startMs))
          const { all, older, newer } = meanDeviations(history)
          expect(all).toEqual({ mean: segments.reduce((sum, segment) => sum + segment.sum, 0) / all.pointCount, pointCount: segments.reduce((sum, { count }) => sum + count, 0) })
          expect(older.pointCount + newer.pointCount).toBe(all.pointCount)
          expect(recentMedian(history)).toBeDefined()
          const change = likelyOnset(history, 'above')
          if (change !== undefined) expect(segments[change.segment]!.startMs).toBe(change.onsetMs)
          expect(JSON.stringify(history)).toBe(before)
          if (change === undefined || i % (1 + (forgetAt % 50)) !== 0) return
          forgetBefore(history, change.segment)
          segments = segments.slice(change.segment)
        })
      }),
      { numRuns: 60 },
    )
  })
})
