import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { LineStateName } from '../../../src/line/feature-value.js'
import { addToFastPart, createFastPart, fastVariance, fitFastPart } from '../../../src/line/features/fast-part.js'
import { addValue, clearMoments, createMoments, meanOf, varianceAboutLine, varianceAboutMean } from '../../../src/line/features/trend-moments.js'
import { slopeBetweenSteps } from '../../../src/line/features/pot-level.js'
import type { Reading } from '../../../src/line/reading.js'
import { FeatureRun, inOrder, lineWith, normal, sampled, seeded, START_MS, type Phase } from '../../unit/line-features/feature-run.js'

const CHANNELS = [
  { channel: 'preheat.zone-{n}.temperature', periodS: 5 }, { channel: 'preheat.zone-{n}.setpoint' }, { channel: 'preheat.zone-1.duty', periodS: 5 },
  { channel: 'conveyor.speed', periodS: 2 }, { channel: 'conveyor.current', periodS: 5 }, { channel: 'pot.level', periodS: 30 }, { channel: 'fluxer.flow', periodS: 5 },
  { channel: 'board.count', periodS: 30 }, { channel: 'board.topside-temperature' }, { channel: 'custom.fan', periodS: 60 },
]
const MACHINE = { zones: [{}, {}], conveyor: { chainPitchMm: 25.4, sprocketTeeth: 12, chainLoopM: 12 } }
const DEFINITION = lineWith(CHANNELS, MACHINE)
const HOURS = 3

interface Story {
  readonly seed: number
  readonly phases: readonly Phase[]
  /** Channels that fall silent for a while, s. */
  readonly gap: { readonly channel: string; readonly fromS: number; readonly lengthS: number }
}

const states = fc.constantFrom<LineStateName>('production', 'production', 'production', 'idle', 'changeover', 'warm-up', 'off')

const story: fc.Arbitrary<Story> = fc.record({
  seed: fc.integer({ min: 1, max: 1e6 }),
  phases: fc.array(fc.record({ fromS: fc.integer({ min: 0, max: HOURS * 3600 }), state: states, recipe: fc.constantFrom('a', 'b') }), { maxLength: 4 }).map((list) => [
    { fromS: -1e6, state: 'production' as const, recipe: 'a' },
    ...list.sort((one, other) => one.fromS - other.fromS),
  ]),
  gap: fc.record({ channel: fc.constantFrom('conveyor.speed', 'pot.level', 'preheat.zone-1.temperature'), fromS: fc.integer({ min: 0, max: HOURS * 3600 }), lengthS: fc.integer({ min: 0, max: 5000 }) }),
})

function readingsOf({ seed, gap }: Story, shiftMs = 0, speedFactor = 1): Reading[] {
  const noise = normal(seeded(seed))
  const endS = HOURS * 3600
  const jump = (second: number): number => (second % 700 === 300 ? 0.4 : second % 700 === 302 ? 1.5 : 1)
  return inOrder(
    ...[1, 2].map((zone) => sampled(`preheat.zone-${zone}.setpoint`, 60, 0, endS, (second) => (second < 6000 ? 120 : 128))),
    ...[1, 2].map((zone) => sampled(`preheat.zone-${zone}.temperature`, 5, 0, endS, (second) => (second < 6000 ? 120 : 128) + 0.2 * noise() + Math.sin(second / 60 + zone))),
    sampled('preheat.zone-1.duty', 5, 0, endS, (second) => 50 + 2 * Math.sin(second / 80) + noise()),
    sampled('conveyor.speed', 2, 0, endS, (second) => speedFactor * 20 * jump(second) * (1 + 0.008 * noise())),
    sampled('conveyor.current', 5, 0, endS, () => 0.76 * (1 + 0.007 * noise())),
    sampled('pot.level', 30, 0, endS, (second) => 2 - second / 3600 + 0.2 * noise() + (second > 7000 ? 2.65 : 0)),
    sampled('fluxer.flow', 5, 0, endS, (second) => (second % 30 < 15 ? 25 + 0.5 * noise() : 0)),
    sampled('board.count', 30, 0, endS, (second) => Math.floor(second / 30)),
    sampled('board.topside-temperature', 30, 0, endS, () => 112 + noise()),
    sampled('custom.fan', 60, 0, endS, () => noise()),
  )
    .filter(({ channel, timeMs }) => !(channel === gap.channel && timeMs >= START_MS + gap.fromS * 1000 && timeMs < START_MS + (gap.fromS + gap.lengthS) * 1000))
    .map((reading) => ({ ...reading, timeMs: reading.timeMs + shiftMs }))
}

function shifted(phases: readonly Phase[], seconds: number): Phase[] {
  return phases.map((phase) => ({ ...phase, fromS: phase.fromS + seconds }))
}

describe('feature set', () => {
  it('gives finite values with weights of 0.5 to 1, each feature in the order of time', () => {
    fc.assert(
      fc.property(story, (told) => {
        const { values } = new FeatureRun(DEFINITION, told.phases).take(readingsOf(told)).flush()
        expect(values.length).toBeGreaterThan(0)
        const lastMs = new Map<string, number>()
        for (const { feature, timeMs, value, weight } of values) {
          expect(Number.isFinite(value)).toBe(true)
          expect(weight).toBeGreaterThan(0)
          expect(weight).toBeLessThanOrEqual(1)
          expect(timeMs).toBeGreaterThanOrEqual(lastMs.get(feature) ?? 0)
          lastMs.set(feature, timeMs)
        }
      }),
      { numRuns: 12 },
    )
  })

  it('goes on from a snapshot through JSON as if nothing had happened', () => {
    fc.assert(
      fc.property(story, fc.double({ min: 0, max: 1, noNaN: true }), (told, where) => {
        const readings = readingsOf(told)
        const cut = Math.floor(where * readings.length)
        const whole = new FeatureRun(DEFINITION, told.phases).take(readings).flush()
        const before = new FeatureRun(DEFINITION, told.phases).take(readings.slice(0, cut))
        const snapshot: unknown = JSON.parse(JSON.stringify(before.features.snapshot()))
        const after = new FeatureRun(DEFINITION, told.phases, snapshot).take(readings.slice(cut)).flush()
        expect([...before.values, ...after.values]).toEqual(whole.values)
      }),
      { numRuns: 15 },
    )
  })

  it('keeps nothing in its snapshot that JSON would lose', () => {
    fc.assert(
      fc.property(story, (told) => {
        const snapshot = new FeatureRun(DEFINITION, told.phases).take(readingsOf(told)).features.snapshot()
        expect(JSON.parse(JSON.stringify(snapshot))).toEqual(snapshot)
      }),
      { numRuns: 8 },
    )
  })

  it('gives the same values at another time of day, whole windows later', () => {
    fc.assert(
      fc.property(story, fc.integer({ min: -500, max: 500 }), (told, slots) => {
        const shiftMs = slots * 600_000
        const here = new FeatureRun(DEFINITION, told.phases).take(readingsOf(told)).values
        const there = new FeatureRun(DEFINITION, shifted(told.phases, slots * 600)).take(readingsOf(told, shiftMs)).values
        expect(there.map(({ feature, value, timeMs }) => ({ feature, value, timeMs: timeMs - shiftMs }))).toEqual(here.map(({ feature, value, timeMs }) => ({ feature, value, timeMs })))
      }),
      { numRuns: 8 },
    )
  })

  it('does not mind the unit of the speed where a feature is a share of it or a count', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), fc.constantFrom(0.5, 1.5, 2), (seed, factor) => {
        const told: Story = { seed, phases: [{ fromS: -1e6, state: 'production', recipe: 'a' }], gap: { channel: 'pot.level', fromS: 0, lengthS: 0 } }
        // without machine facts: a line at a fixed length of chain moves with the speed, as it should
        const definition = lineWith(CHANNELS, { zones: [{}, {}] })
        const of = (speedFactor: number): number[] => {
          const run = new FeatureRun(definition, told.phases).take(readingsOf(told, 0, speedFactor))
          return ['conveyor.speed.offset', 'conveyor.speed.spread', 'conveyor.speed.jumps'].flatMap((feature) => run.of(feature))
        }
        const here = of(1)
        of(factor).forEach((value, at) => expect(value).toBeCloseTo(here[at]!, 9))
        expect(here.length).toBeGreaterThan(40)
      }),
      { numRuns: 6 },
    )
  })
})

describe('streaming equals batch', () => {
  const values = fc.array(fc.double({ min: -50, max: 50, noNaN: true }), { minLength: 25, maxLength: 120 })

  it('for mean and variance about the line, however far from zero the values are', () => {
    fc.assert(
      fc.property(values, fc.constantFrom(0, 150, 1e5), (noise, level) => {
        const moments = createMoments()
        noise.forEach((value, minute) => addValue(moments, minute, level + value))
        const n = noise.length
        const meanX = noise.reduce((sum, value) => sum + value, 0) / n
        const meanT = (n - 1) / 2
        const slope = noise.reduce((sum, value, t) => sum + (t - meanT) * (value - meanX), 0) / noise.reduce((sum, _, t) => sum + (t - meanT) ** 2, 0)
        const rest = noise.reduce((sum, value, t) => sum + (value - meanX - slope * (t - meanT)) ** 2, 0) / (n - 2)
        expect(meanOf(moments)).toBeCloseTo(level + meanX, 6)
        expect(Math.abs(varianceAboutLine(moments) - rest)).toBeLessThan(1e-6 * (1 + rest))
        const variance = noise.reduce((sum, value) => sum + (value - meanX) ** 2, 0) / (n - 1)
        expect(Math.abs(varianceAboutMean(moments) - variance)).toBeLessThan(1e-6 * (1 + variance))
        clearMoments(moments)
        expect(moments).toEqual(createMoments())
      }),
    )
  })

  it('for the fast part: each reading against the plain mean of those around it', () => {
    fc.assert(
      fc.property(values, fc.constantFrom(1, 2, 5), (list, periodS) => {
        const part = createFastPart()
        fitFastPart(part, periodS)
        list.forEach((value) => addToFastPart(part, value))
        const { half } = part
        const size = 2 * half + 1
        const squares: number[] = []
        for (let at = half; at < list.length - half; at += 1) {
          const around = list.slice(at - half, at + half + 1)
          squares.push((list[at]! - around.reduce((sum, value) => sum + value, 0) / size) ** 2)
        }
        const expected = squares.length === 0 ? 0 : squares.reduce((sum, square) => sum + square, 0) / squares.length / (1 - 1 / size)
        expect(fastVariance(part)).toBeCloseTo(expected, 6)
      }),
    )
  })

  it('a top-up anywhere in the hour leaves the slope between steps alone', () => {
    fc.assert(
      fc.property(fc.integer({ min: 12, max: 47 }), fc.double({ min: 1.2, max: 5, noNaN: true }), fc.double({ min: -3, max: 0, noNaN: true }), (minute, size, slope) => {
        const minutes = Array.from({ length: 60 }, (_, at) => at)
        const means = minutes.map((at) => (slope / 60) * at + (at >= minute ? size : 0))
        expect(slopeBetweenSteps({ minutes, means })).toBeCloseTo(slope, 6)
      }),
    )
  })
})
