import { describe, expect, it } from 'vitest'
import { featureCatalogue } from '../../../src/line/features/feature-catalogue.js'
import type { FeatureSpec } from '../../../src/line/features/feature-spec.js'
import { chartStageOver, createChartStage } from '../../../src/monitor/chart-stage.js'
import { RICH_LINE } from '../line/diagnosis/diagnosis-cases.js'

const specs = featureCatalogue(RICH_LINE)
const specOf = (feature: string): FeatureSpec => specs.find((spec) => spec.feature === feature)!
const STEP_MS = 600_000

/** Status of a feature after 200 values at a level and 60 at another share of it; the values alternate by half a percent. */
function statusAfter(feature: string, level: number, share: number): string {
  const stage = chartStageOver(createChartStage(), specs, 5)
  const spec = specOf(feature)
  let timeMs = Date.UTC(2031, 4, 5)
  const give = (count: number, centre: number): void => {
    for (let index = 0; index < count; index += 1) {
      timeMs += STEP_MS
      const scatter = 0.005 * Math.sin(index * 12.9898 + 1) // no two alike, no drift
      stage.take({ feature, timeMs, value: centre * (1 + scatter), weight: 1 }, spec, { feature: spec.feature, recipe: 'a', state: 'production' }, () => undefined)
    }
  }
  give(200, level)
  give(60, level * share)
  return stage.evidence(timeMs).find((item) => item.feature === feature)!.status
}

describe('a change must matter', () => {
  // each: a lasting change that stands far out of the scatter and is of no consequence, and one of consequence
  it.each([
    ['conveyor.current.warm', 0.9, 1.03, 1.08],
    ['preheat.zone-1.blower-current.mean', 1.6, 0.97, 0.92],
    ['fluxer.flow.mean', 30, 1.05, 1.13],
    ['fluxer.pressure.mean', 1.2, 0.9, 0.75],
    ['preheat.zone-2.duty.effort-own', 45, 1.015, 1.06],
  ])('%s', (feature, level, small, large) => {
    expect(statusAfter(feature, level, small)).toBe('learning')
    expect(statusAfter(feature, level, large)).toBe(large > 1 ? 'up' : 'down')
  })

  it('is a share of the level, whatever its size, above what the instrument shows', () => {
    for (const factor of [0.5, 10]) {
      expect(statusAfter('fluxer.flow.mean', 30 * factor, 1.05)).toBe('learning')
      expect(statusAfter('fluxer.flow.mean', 30 * factor, 1.13)).toBe('up')
    }
  })
})

describe('what wanders by right is watched all the same', () => {
  it('an exhaust that never stands still, and falls to half', () => {
    const stage = chartStageOver(createChartStage(), specs, 5)
    const spec = specOf('exhaust.pressure.mean')
    let timeMs = Date.UTC(2031, 4, 5)
    for (let index = 0; index < 160; index += 1) {
      timeMs += STEP_MS
      const house = Math.floor(index / 7) % 2 === 0 ? 1 : 1.02
      stage.take({ feature: spec.feature, timeMs, value: 150 * house * (index < 100 ? 1 : 1 - (0.5 * (index - 100)) / 60), weight: 1 }, spec, { feature: spec.feature, recipe: 'a', state: 'production' }, () => undefined)
      if (index === 99) expect(stage.evidence(timeMs).find((item) => item.feature === spec.feature)!.status).toBe('quiet')
    }
    expect(stage.evidence(timeMs).find((item) => item.feature === spec.feature)).toMatchObject({ status: 'down', creeps: true })
  })
})

describe('a chart kept from before its feature was charted otherwise', () => {
  it('begins anew instead of stopping the line', () => {
    const [exhaust, topside] = [specOf('exhaust.pressure.mean'), specOf('board.topside-temperature.mean')]
    const before = specs.map((spec) => (spec === topside ? { ...spec, standard: { sigma: 1, centreValues: 3 } } : spec === exhaust ? { ...spec, standard: undefined } : spec)) as FeatureSpec[]
    const state = createChartStage()
    let timeMs = Date.UTC(2031, 4, 5)
    const feed = (stage: ReturnType<typeof chartStageOver>, catalogue: readonly FeatureSpec[]): void => {
      for (let index = 0; index < 150; index += 1) {
        timeMs += STEP_MS
        for (const [feature, value] of [[exhaust.feature, 150], [topside.feature, 112]] as const) {
          stage.take({ feature, timeMs, value: value + Math.sin(index * 12.9898), weight: 1 }, catalogue.find((spec) => spec.feature === feature)!, { feature, recipe: 'a', state: 'production' }, () => undefined)
        }
      }
    }
    feed(chartStageOver(state, before, 5), before)
    const after = chartStageOver(JSON.parse(JSON.stringify(state)) as typeof state, specs, 5)
    expect(after.evidence(timeMs).filter(({ feature }) => feature === exhaust.feature || feature === topside.feature).map(({ status }) => status)).toEqual(['learning', 'learning'])
    expect(after.centreOf(topside.feature, 'a')).toBe(0)
    feed(after, specs)
    expect(after.evidence(timeMs).find(({ feature }) => feature === exhaust.feature)!.status).toBe('quiet')
    expect(after.centreOf(topside.feature, 'a')).toBeCloseTo(112, 0)
  })
})
