import { describe, expect, it } from 'vitest'
import { createTrack, frozenRun, noteReading, slotWeight, startSlot, type TrackState } from '../../../src/line/features/channel-track.js'
import { normal, rounded, seeded, START_MS } from './feature-run.js'

const JUDGED = { rail: 0, isJudged: true }

function feed(track: TrackState, count: number, periodS: number, at: (step: number) => number | undefined): TrackState {
  const from = track.lastMs === 0 ? START_MS : track.lastMs + periodS * 1000
  for (let step = 0; step < count; step += 1) {
    const value = at(step)
    if (value !== undefined) noteReading(track, from + step * periodS * 1000, value, 'production', JUDGED)
  }
  return track
}

describe('channel track', () => {
  it('finds the period that is published, whatever was declared', () => {
    for (const [declared, real] of [[5, 1], [1, 10], [5, 5.1]] as const) {
      expect(feed(createTrack(declared), 400, real, (step) => step).periodS / real).toBeCloseTo(1, 1)
    }
  })

  it('weighs a slot by its readings', () => {
    const track = feed(createTrack(5), 60, 5, (step) => step)
    expect(slotWeight(track)).toBeCloseTo(0.5, 6)
    startSlot(track)
    expect(slotWeight(track)).toBe(0)
  })

  it('calls a channel quantised when most neighbours are equal, and a finer one good', () => {
    const noise = normal(seeded(1))
    const slow = (sd: number) => {
      let value = 150
      return (): number => (value = 150 + 0.94 * (value - 150) + sd * noise())
    }
    const coarse = slow(0.1)
    expect(feed(createTrack(5), 700, 5, () => rounded(coarse(), 1)).verdict).toBe('quantised')
    const fine = slow(0.1)
    const track = feed(createTrack(5), 700, 5, () => rounded(fine(), 0.1))
    expect(track.verdict).toBe('good')
    expect(track.resolution).toBeCloseTo(0.1, 9)
  })

  it('does not turn against a channel whose sensor becomes slow', () => {
    const noise = normal(seeded(2))
    const track = feed(createTrack(5), 700, 5, () => rounded(150 + 0.15 * noise(), 0.1))
    expect(feed(track, 1400, 5, () => rounded(150.02 + 0.02 * noise(), 0.1)).verdict).toBe('good')
  })

  it('finds a dead-band by its missing small steps', () => {
    const noise = normal(seeded(3))
    let shown = 150
    const track = feed(createTrack(5), 12_000, 5, (step) => {
      const value = 150 + Math.sin(step / 40) + 0.1 * noise()
      if (Math.abs(value - shown) <= 0.5) return undefined
      return (shown = value)
    })
    expect(track.verdict).toBe('dead-banded')
  })

  it('finds a frozen value by the channel own repeats: soon where none repeat, late where they often do', () => {
    const noise = normal(seeded(4))
    const lively = feed(createTrack(1), 2000, 1, () => 20 + 0.2 * noise())
    const sticky = feed(createTrack(1), 8000, 1, (step) => 20 + Math.floor(step / 12) * 0.1)
    expect(frozenRun(lively)).toBeLessThan(45)
    expect(frozenRun(sticky)).toBeGreaterThan(100)
    expect(sticky.frozen).toBe(false)
    feed(lively, 100, 1, () => 20)
    expect(lively.frozen).toBe(true)
    feed(lively, 1, 1, () => 20.3)
    expect(lively.frozen).toBe(false)
  })

  it('holds nothing against zeros, a channel at its stop, or one that has never moved', () => {
    const track = feed(createTrack(1), 500, 1, (step) => step % 7)
    expect(feed(track, 6000, 1, () => 0).frozen).toBe(false)
    expect(feed(createTrack(1), 9000, 1, () => 42).frozen).toBe(false)
  })
})
