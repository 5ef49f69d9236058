import { describe, expect, it } from 'vitest'
import { createRecentValues, leanOf, pushRecentValue, standingChange, type RecentValues } from '../../../src/monitor/standing-change.js'
import type { ChartEvidence } from '../../../src/spc/process-chart.js'

const ONSET_MS = 10_000

function said(status: ChartEvidence['status'], more: Partial<ChartEvidence> = {}): ChartEvidence {
  return { status, shiftSigma: 4, shift: 8, centre: 100, sigma: 2, onsetMs: ONSET_MS, windows: 2, trend: 'growing', n: 100, target: 300, ...more }
}

/** Values after the onset, in sigmas from the centre. */
function recent(...sigmas: number[]): RecentValues {
  const values = createRecentValues()
  sigmas.forEach((sigma, index) => pushRecentValue(values, ONSET_MS + index * 1000, 100 + 2 * sigma))
  return values
}

const plain = { relevant: 0.03, rare: false, counts: false }

describe('a standing change', () => {
  it('leaves what is no symptom as it is', () => {
    for (const status of ['quiet', 'learning', 'not-observable'] as const) {
      const evidence = said(status as ChartEvidence['status'])
      expect(standingChange(evidence, recent(9, 9, 9, 9), plain)).toBe(evidence)
    }
  })

  it('is not one value that stood out, however far, but is one that lasts', () => {
    expect(standingChange(said('up'), recent(12, 0.1, -0.2, 0.3), plain)).toMatchObject({ status: 'learning', shiftSigma: 0, shift: 0, onsetMs: 0, windows: 0, trend: 'steady' })
    expect(standingChange(said('up'), recent(3, 3.5, 2.5, 4), plain)).toMatchObject({ status: 'up', shiftSigma: 3.25, shift: 6.5, windows: 4, trend: 'growing', onsetMs: ONSET_MS })
  })

  it('is none any more where the newest values have come back, as after a top-up; a rare one is waited for', () => {
    expect(standingChange(said('down'), recent(-8, -8, -8, -8, -2, -1), plain).status).toBe('learning')
    expect(standingChange(said('down'), recent(-8, -8, -8, -8, -2, -6), plain).status).toBe('down')
    expect(standingChange(said('down'), recent(-8, -8, -8, -8, -2, -1), { ...plain, rare: true }).status).toBe('down')
  })

  it('goes below as it goes above', () => {
    expect(standingChange(said('down'), recent(-3, -3.5, -2.5, -4), plain)).toMatchObject({ status: 'down', shiftSigma: -3.25, shift: -6.5 })
    expect(standingChange(said('down'), recent(3, 3.5, 2.5, 4), plain).status).toBe('learning')
  })

  it('waits for three values, for two where they are rare', () => {
    expect(standingChange(said('up'), recent(4, 4), plain).status).toBe('learning')
    expect(standingChange(said('up'), recent(4, 4, 4), plain).status).toBe('up')
    expect(standingChange(said('up'), recent(4), { ...plain, rare: true }).status).toBe('learning')
    expect(standingChange(said('up'), recent(4, 4), { ...plain, rare: true }).status).toBe('up')
  })

  it('counts only values since the onset', () => {
    const values = createRecentValues()
    for (let index = 0; index < 3; index += 1) pushRecentValue(values, ONSET_MS - 3000 + index * 1000, 120)
    for (let index = 0; index < 2; index += 1) pushRecentValue(values, ONSET_MS + index * 1000, 120)
    expect(standingChange(said('up'), values, plain).status).toBe('learning')
    pushRecentValue(values, ONSET_MS + 2000, 120)
    expect(standingChange(said('up'), values, plain).status).toBe('up')
  })

  it('is of no consequence below what is relevant', () => {
    expect(standingChange(said('up'), recent(3, 3, 3), { ...plain, relevant: 6.01 }).status).toBe('learning')
    expect(standingChange(said('up'), recent(3, 3, 3), { ...plain, relevant: 5.99 }).status).toBe('up')
  })

  const counts = (...values: number[]): RecentValues => {
    const kept = createRecentValues()
    values.forEach((value, index) => pushRecentValue(kept, ONSET_MS + index * 1000, value))
    return kept
  }
  /** A count of 0.4 in the mean of its roots, with the spread such a count has. */
  const rareDefects = said('up', { centre: 0.4, sigma: 0.5 })

  it('of counts is in their mean, since most are nought', () => {
    const mostlyNought = counts(4, 0, 4, 0, 0)
    expect(standingChange(rareDefects, mostlyNought, { ...plain, rare: true }).status).toBe('learning')
    expect(standingChange(rareDefects, mostlyNought, { ...plain, rare: true, counts: true })).toMatchObject({ status: 'up', windows: 5 })
  })

  it('of counts is no burst or two, however high, but a rate', () => {
    const quiet = new Array<number>(12).fill(0)
    const ofDay = (...newest: number[]): RecentValues => {
      const kept = createRecentValues()
      ;[...quiet, ...newest].forEach((value, index) => pushRecentValue(kept, ONSET_MS + index * 1000, value, 'above', { max: 24 }))
      return kept
    }
    expect(standingChange(rareDefects, ofDay(0, 140, 140, 0, 0, 140, 0, 0), { ...plain, counts: true }).status).toBe('learning')
    expect(standingChange(rareDefects, ofDay(5, 4, 7, 0, 5, 6, 4, 9), { ...plain, counts: true }).status).toBe('up')
  })

  it('of counts is on the scale of their chart: the mean of counts that did not change is no change', () => {
    // 0, 0, 1, 1, 0, 1: their mean is 0.5, and the count at the mean of their roots 0.4
    expect(standingChange(rareDefects, counts(0, 0, 1, 1, 0, 1), { ...plain, counts: true }).status).toBe('learning')
    const risen = standingChange(rareDefects, counts(4, 4, 4, 4), { ...plain, counts: true })
    expect(risen.shift).toBeCloseTo(3.6, 9)
    expect(risen.shiftSigma).toBeCloseTo(((Math.sqrt(4.375) - Math.sqrt(0.775)) * 2 * Math.sqrt(0.775)) / 0.5, 9)
  })

  it('of counts says how large it was at first, once some values have come', () => {
    const kept = createRecentValues()
    for (let index = 0; index < 2; index += 1) pushRecentValue(kept, ONSET_MS + index * 1000, 9, 'above')
    expect(standingChange(rareDefects, kept, { ...plain, counts: true }).atFirstSigma).toBeUndefined()
    for (let index = 2; index < 9; index += 1) pushRecentValue(kept, ONSET_MS + index * 1000, index < 6 ? 9 : 2, 'above')
    expect(standingChange(rareDefects, kept, { ...plain, counts: true }).atFirstSigma).toBeCloseTo(((Math.sqrt(9.375) - Math.sqrt(0.775)) * 2 * Math.sqrt(0.775)) / 0.5, 9)
    expect(standingChange(rareDefects, kept, plain).atFirstSigma).toBeUndefined()
  })

  it('says nothing where the spread is not known', () => {
    expect(standingChange(said('up', { sigma: 0 }), recent(4, 4, 4, 4), plain).status).toBe('learning')
  })

  it('keeps the newest eight values', () => {
    const values = recent(...Array.from({ length: 20 }, (_, index) => index))
    expect(values.values).toEqual(Array.from({ length: 8 }, (_, index) => 100 + 2 * (index + 12)))
    expect(values.timesMs).toHaveLength(8)
  })

  it('waits for three values after a time in which a run-in may show', () => {
    const long = recent(4, 4, 4, 4, 4, 4)
    expect(standingChange(said('up'), long, plain).status).toBe('up')
    expect(standingChange(said('up'), long, { ...plain, runInUntilMs: ONSET_MS + 3500 }).status).toBe('learning')
    expect(standingChange(said('up', { windows: 30 }), long, { ...plain, runInUntilMs: ONSET_MS + 2500 })).toMatchObject({ status: 'up', windows: 3 })
  })

  it('believes one start-up alone only where it stands out by four sigmas and a half', () => {
    const startUp = { ...plain, rare: true, toldByOne: true }
    expect(standingChange(said('up', { windows: 1 }), recent(5), startUp)).toMatchObject({ status: 'up', windows: 1, shiftSigma: 5 })
    expect(standingChange(said('up', { windows: 1 }), recent(4.6), startUp).status).toBe('up')
    expect(standingChange(said('up', { windows: 1 }), recent(4.4), startUp).status).toBe('learning')
    expect(standingChange(said('up', { windows: 1 }), recent(4.6), { ...startUp, toldByOne: false }).status).toBe('learning')
  })

  it('of start-ups is as large as the newest where that alone is believed, and what most of them show where it is not', () => {
    const startUp = { ...plain, rare: true, toldByOne: true }
    expect(standingChange(said('up', { windows: 2 }), recent(0.5, 6.5), startUp)).toMatchObject({ status: 'up', shiftSigma: 6.5 })
    expect(standingChange(said('up', { windows: 3 }), recent(9, 8, 5), startUp)).toMatchObject({ status: 'up', shiftSigma: 8 })
    expect(standingChange(said('up', { windows: 2 }), recent(1.5, 2.5), startUp)).toMatchObject({ status: 'up', shiftSigma: 2 })
    // one that is as ever after it takes half of it back
    expect(standingChange(said('up', { windows: 2 }), recent(6.5, 0.5), startUp)).toMatchObject({ status: 'up', shiftSigma: 3.5 })
  })

  it('creeps where it went on growing after its first values, and not where it was there at once', () => {
    const course = (sigmaOf: (index: number) => number): boolean | undefined => {
      const values = createRecentValues()
      for (let index = 0; index < 24; index += 1) pushRecentValue(values, ONSET_MS + index * 1000, 100 + 2 * sigmaOf(index), 'above')
      return standingChange(said('up', { windows: 24 }), values, plain).creeps
    }
    expect(course((index) => 3 + 0.4 * index)).toBe(true)
    expect(course((index) => (index === 0 ? 1 : 20))).toBe(false)
    expect(course(() => 4)).toBe(false)
  })

  it('of what goes one way only does not creep where it went back in between, until it is far above what it was then', () => {
    const creepsAfter = (sigmas: readonly number[], oneWay: boolean): boolean | undefined => {
      const kept = createRecentValues()
      sigmas.forEach((sigma, index) => pushRecentValue(kept, ONSET_MS + index * 1000, 100 + 2 * sigma, 'above', { oneWay }))
      return standingChange(said('up', { windows: sigmas.length }), kept, plain).creeps
    }
    const hours = (...levels: readonly number[]): number[] => levels.flatMap((level) => Array.from({ length: 6 }, () => level))
    expect(creepsAfter(hours(4, 5, 6, 8, 9), true)).toBe(true)
    expect(creepsAfter(hours(4, 7, 4.5, 7, 9), true)).toBe(false)
    expect(creepsAfter(hours(4, 7, 4.5, 7, 9), false)).toBe(true)
    // less than three tenths of it is the air's own unrest
    expect(creepsAfter(hours(4, 7, 5.2, 7, 9), true)).toBe(true)
    expect(creepsAfter(hours(4, 8, 5, 8, 10, 13), true)).toBe(true)
  })

  it('of what goes one way only must have grown by eight tenths, and not by one leap: the house switches its exhaust more than once', () => {
    const creepsAfter = (...levels: readonly number[]): boolean | undefined => {
      const kept = createRecentValues()
      const sigmas = levels.flatMap((level) => Array.from({ length: 6 }, () => level))
      sigmas.forEach((sigma, index) => pushRecentValue(kept, ONSET_MS + index * 1000, 100 + 2 * sigma, 'above', { oneWay: true }))
      return standingChange(said('up', { windows: sigmas.length }), kept, plain).creeps
    }
    expect(creepsAfter(4, 5, 6, 7, 7.1)).toBe(false)
    expect(creepsAfter(4, 5, 6, 7, 7.3)).toBe(true)
    expect(creepsAfter(4, 4, 4, 9, 9)).toBe(false)
    // switched in the middle of an hour
    expect(creepsAfter(4, 4, 7, 10, 10)).toBe(false)
    expect(creepsAfter(4, 4, 6.8, 9.5, 10)).toBe(true)
    expect(creepsAfter(4, 5, 7, 9, 9)).toBe(true)
    expect(creepsAfter(4, 5, 6, 7.5, 9)).toBe(true)
  })

  it('of what goes one way only is remembered over an end of the signal shorter than a shift, on its side', () => {
    const creepsAfter = (pause: number, side?: 'above' | 'below'): boolean | undefined => {
      const kept = createRecentValues()
      const push = (sigma: number, signalled?: 'above' | 'below'): void => pushRecentValue(kept, ONSET_MS + kept.timesMs.length * 1000, 100 + 2 * sigma, signalled, { oneWay: true })
      for (const sigma of [4, 5, 6]) for (let value = 0; value < 6; value += 1) push(sigma, 'above')
      for (let value = 0; value < pause; value += 1) push(side === undefined ? 0 : -9, side)
      for (const sigma of [7, 8, 8.5]) for (let value = 0; value < 6; value += 1) push(sigma, 'above')
      return standingChange(said('up', { windows: 18 }), kept, plain).creeps
    }
    expect(creepsAfter(0)).toBe(true)
    expect(creepsAfter(48)).toBe(true)
    // begun anew at 7 it has not grown by that
    expect(creepsAfter(49)).toBe(false)
    expect(creepsAfter(6, 'below')).toBe(false)
  })

  it('is nothing new where it came and went before within a day, nearly as large', () => {
    const statusAfter = (shape: readonly (readonly [hours: number, sigma: number])[], passes = true): ChartEvidence['status'] => {
      const kept = createRecentValues()
      const sigmas = shape.flatMap(([hours, sigma]) => Array.from({ length: 6 * hours }, () => sigma))
      sigmas.forEach((sigma, index) => pushRecentValue(kept, ONSET_MS + index * 1000, 100 + 2 * sigma, undefined, { passes }))
      return standingChange(said('up', { windows: 24 }), kept, plain).status
    }
    const before = [[5, 0], [4, 3.5], [5, 0.3]] as const
    expect(statusAfter([...before, [4, 4]])).toBe('learning')
    expect(statusAfter([...before, [4, 4]], false)).toBe('up')
    // clearly larger than what passed
    expect(statusAfter([...before, [4, 5]])).toBe('up')
    // an hour that stood out was no change
    expect(statusAfter([[5, 0], [1, 3.5], [5, 0], [4, 4]])).toBe('up')
    // what came over more than a day and went was mended by somebody
    expect(statusAfter([[5, 0], [20, 2], [4, 3.5], [5, 0], [4, 4]])).toBe('up')
    // a dip of an hour is none, one of two hours is, and what then stands twice as long as what stood before is something else
    expect(statusAfter([[5, 0], [4, 4], [1, 0], [4, 4]])).toBe('up')
    expect(statusAfter([[5, 0], [4, 4], [2, 0], [8, 4]])).toBe('learning')
    expect(statusAfter([[5, 0], [4, 4], [2, 0], [9, 4]])).toBe('up')
    // never for more than a production day
    expect(statusAfter([[5, 0], [16, 4], [2, 0], [16, 4]])).toBe('learning')
    expect(statusAfter([[5, 0], [16, 4], [2, 0], [17, 4]])).toBe('up')
    expect(statusAfter([[5, 0], [17, 4], [2, 0], [1, 4]])).toBe('up')
    // a third of it left is not gone, nor is a third more of it the same
    expect(statusAfter([[5, 0], [4, 4], [5, 1.2], [4, 4]])).toBe('up')
    expect(statusAfter([[5, 0], [4, 4], [5, 1], [4, 4]])).toBe('learning')
    expect(statusAfter([[5, 0], [4, 4], [5, 0], [4, 5.1]])).toBe('learning')
    expect(statusAfter([[5, 0], [4, 4], [5, 0], [4, 5.3]])).toBe('up')
    // the other side says nothing
    expect(statusAfter([[5, 0], [4, -3.5], [5, 0], [4, 4]])).toBe('up')
    // three days later it is forgotten
    expect(statusAfter([...before, [60, 0], [4, 4]])).toBe('up')
    expect(statusAfter([[5, 0], [12, 4]])).toBe('up')
  })

  it('does not know whether it creeps before twice six values, and forgets the first ones when the signal ends', () => {
    const values = createRecentValues()
    for (let index = 0; index < 8; index += 1) pushRecentValue(values, ONSET_MS + index * 1000, 110, 'above')
    expect(standingChange(said('up', { windows: 8 }), values, plain).creeps).toBeUndefined()
    pushRecentValue(values, ONSET_MS + 9000, 100)
    expect(values.early).toBeUndefined()
  })

  it('leans by the median of the newest values, also where that is no change, and not before there are enough', () => {
    expect(leanOf(said('quiet'), recent(1, 1, 9, 1))).toBeCloseTo(2, 9)
    expect(leanOf(said('quiet'), recent(-1, -0.5, -1, -1))).toBeCloseTo(-2, 9)
    expect(leanOf(said('quiet'), recent(1, 1))).toBeUndefined()
    expect(leanOf(said('learning', { sigma: 0 }), recent(1, 1, 1, 1))).toBeUndefined()
  })
})
