import { describe, expect, it } from 'vitest'
import { slopeBetweenSteps } from '../../../src/line/features/pot-level.js'
import { FeatureRun, lineWith, meanOf, normal, rounded, sampled, seeded } from './feature-run.js'

const series = (at: (minute: number) => number, count = 60) => ({
  minutes: Array.from({ length: count }, (_, minute) => minute),
  means: Array.from({ length: count }, (_, minute) => at(minute)),
})

describe('slope between steps', () => {
  it('is the slope where nothing steps', () => {
    expect(slopeBetweenSteps(series((minute) => 2 - (1.06 / 60) * minute))).toBeCloseTo(-1.06, 9)
  })

  it.each([[2.65, 'a bar'], [-1.5, 'the pump starting'], [1.2, 'the pump stopping']])('is not changed by a step of %d mm (%s)', (size) => {
    const noise = normal(seeded(1))
    const slopes = Array.from({ length: 40 }, () => slopeBetweenSteps(series((minute) => (minute > 25 ? size : 0) - (1.06 / 60) * minute + 0.12 * noise())))
    expect(meanOf(slopes as number[])).toBeCloseTo(-1.06, 1)
  })

  it('bridges the minutes in which a bar melts', () => {
    const melt = (minute: number): number => 2.65 * Math.min(1, Math.max(0, (minute - 28) / 3))
    expect(slopeBetweenSteps(series((minute) => melt(minute) - (1.06 / 60) * minute))).toBeCloseTo(-1.06, 1)
  })

  it('says nothing where the pieces are too short', () => {
    expect(slopeBetweenSteps(series((minute) => minute, 25))).toBeUndefined()
    expect(slopeBetweenSteps(series((minute) => 3 * Math.floor(minute / 12)))).toBeUndefined()
  })
})

describe('pot level features', () => {
  const level = (hours: number, at: (second: number) => number) => sampled('pot.level', 30, 0, hours * 3600, at)

  it('gives the level every ten minutes and the slope every hour, from readings rounded to 0.5 mm', () => {
    const noise = normal(seeded(2))
    const run = new FeatureRun(lineWith([{ channel: 'pot.level', periodS: 30 }])).take(level(12, (second) => rounded(4 - (1.06 / 3600) * second + 0.3 * noise(), 0.5)))
    expect(run.of('pot.level.offset')).toHaveLength(71)
    expect(run.of('pot.level.slope')).toHaveLength(11)
    expect(meanOf(run.of('pot.level.slope'))).toBeCloseTo(-1.06, 0)
    expect(run.of('pot.level.offset')[0]).toBeCloseTo(4 - 1.06 / 12, 0)
  })

  it('gives the level by its median: a single wrong reading moves it by nothing', () => {
    const definition = lineWith([{ channel: 'pot.level', periodS: 30 }])
    const at = (spike: number) => new FeatureRun(definition).take(level(0.5, (second) => (second === 300 ? spike : (second % 7) * 0.01))).of('pot.level.offset')[0]
    expect(Math.abs(at(60)! - at(0)!)).toBeLessThan(0.02)
  })
})
