import { describe, expect, it } from 'vitest'
import { clearRecentHistory, createRecentHistory, forgetBefore, likelyOnset, pushRecentHistory, recentMedian, segmentMean, segmentStartMs } from '../../../src/spc/recent-history.js'

function filled(deviations: readonly number[]) {
  const history = createRecentHistory()
  deviations.forEach((deviation, i) => pushRecentHistory(history, i, deviation))
  return history
}

describe('recent history', () => {
  it('keeps every sum and count while it merges', () => {
    const history = filled(Array.from({ length: 1000 }, (_, i) => i / 100))
    expect(history.length).toBeLessThanOrEqual(24)
    const { mean, pointCount } = segmentMean(history, 0, history.length)
    expect(pointCount).toBe(1000)
    expect(mean).toBeCloseTo(4.995, 9)
    const starts = Array.from({ length: history.length }, (_, i) => segmentStartMs(history, i))
    expect(starts).toEqual([...starts].sort((a, b) => a - b))
    expect(new Set(starts).size).toBe(history.length)
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
    expect(segmentMean(history, 0, history.length)).toEqual({ mean: 5, pointCount: 3 })
    expect(recentMedian(history)).toBe(5)
    clearRecentHistory(history)
    expect(recentMedian(history)).toBeUndefined()
  })
})
