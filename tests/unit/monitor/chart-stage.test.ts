import { describe, expect, it } from 'vitest'
import type { FeatureSpec } from '../../../src/line/features/feature-catalogue.js'
import { featureCatalogue } from '../../../src/line/features/feature-catalogue.js'
import { budgetShares, chartDesignFor, chartStageOver, createChartStage, type BudgetWeights, type ChartStageState } from '../../../src/monitor/chart-stage.js'
import { ALL_RECIPES } from '../../../src/monitor/recipe-levels.js'
import type { LineOutput } from '../../../src/monitor/line-output.js'
import { normalSource } from '../../property/spc/random.js'
import { BENCH_DEFINITION, define, START_MS } from './monitor-bench.js'

const specs = featureCatalogue(define({ channels: [...BENCH_DEFINITION.channels, ...[1, 2].map((zone) => ({ channel: `preheat.zone-${zone}.duty`, periodS: 10 })), { channel: 'exhaust.pressure', periodS: 10 }] }))
const specOf = (feature: string): FeatureSpec => {
  const spec = specs.find((one) => one.feature === feature)
  if (spec === undefined) throw new Error(`no feature "${feature}" among ${specs.map((one) => one.feature).join(', ')}`)
  return spec
}
const SPREAD = 'conveyor.speed.spread'
const ZONE = 'preheat.zone-1.temperature.offset'
const TEN_MINUTES = 600_000

class StageBench {
  readonly outputs: LineOutput[] = []
  state: ChartStageState = createChartStage()
  private stage = chartStageOver(this.state, specs, 1)
  private readonly noise = normalSource(20)

  restart(levelled?: readonly string[]): this {
    this.state = JSON.parse(JSON.stringify(this.state)) as ChartStageState
    this.stage = chartStageOver(this.state, specs, 1, [], {}, levelled === undefined ? undefined : new Set(levelled))
    return this
  }

  give(feature: string, index: number, value: number, recipe = 'board-a'): this {
    this.stage.take({ feature, timeMs: START_MS + index * TEN_MINUTES, value, weight: 1 }, specOf(feature), { feature, recipe, state: 'production' }, (output) => this.outputs.push(structuredClone(output)))
    return this
  }

  learn(feature: string, from: number, count: number, recipe = 'board-a'): this {
    for (let index = from; index < from + count; index += 1) this.give(feature, index, levelOf(feature) + sigmaOf(feature) * this.noise(), recipe)
    return this
  }

  evidenceOf(feature: string, index: number) {
    return this.stage.evidence(START_MS + index * TEN_MINUTES).find((one) => one.feature === feature)!
  }

  decide(feature: string, recipe: string | undefined, decision: 'accept' | 'reject' | 'refit', index: number): number {
    return this.stage.decide(feature, recipe, decision, START_MS + index * TEN_MINUTES, { feature, recipe: 'board-a', state: 'production' }, (output) => this.outputs.push(structuredClone(output)))
  }

  signals(): string[] {
    return this.outputs.flatMap((output) => (output.kind === 'signal' ? [`${output.body.feature} ${output.body.phase} ${output.body.side}`] : []))
  }

  baselines(feature: string): string[] {
    return this.outputs.flatMap((output) => (output.kind === 'baseline' && output.body.feature === feature ? [`${output.body.status} ${output.body.reason ?? ''}`] : []))
  }
}

const levelOf = (feature: string): number => (feature === SPREAD ? 0.01 : 0)
/** Spread a good way above the smallest one an instrument shows. */
const sigmaOf = (feature: string): number => 2 * specOf(feature).sigmaFloor

describe('the charts of a line', () => {
  it('share the budget: more features or more points a week make every chart stricter', () => {
    const spec = specOf(SPREAD)
    expect(chartDesignFor(spec, 1, 20).arl0).toBe(spec.pointsPerWeek * 20)
    expect(chartDesignFor(spec, 4, 20).arl0).toBe(spec.pointsPerWeek * 5)
    expect(chartDesignFor({ ...spec, pointsPerWeek: 2 }, 1000, 1).arl0).toBe(50)
  })

  it('share it by weight: the whole is kept, and a section of twice the weight signals twice as often', () => {
    const rate = (spec: FeatureSpec, weights: BudgetWeights): number => 1 / budgetShares(specs, weights)(spec)
    for (const weights of [{}, { preheat: 2 }, { preheat: 2, transport: 0.5, pot: 3 }] as BudgetWeights[]) {
      expect(specs.reduce((sum, spec) => sum + rate(spec, weights), 0)).toBeCloseTo(1, 9)
    }
    const [zone, motion] = [specs.find(({ section }) => section === 'preheat')!, specOf(SPREAD)]
    expect(rate(zone, { preheat: 2 }) / rate(motion, { preheat: 2 })).toBeCloseTo(2, 9)
    expect(budgetShares(specs)(zone)).toBe(specs.length)
  })

  it('want fewer values of what comes seldom', () => {
    const spec = specOf(SPREAD)
    expect(chartDesignFor({ ...spec, pointsPerWeek: 5000 }, 1, 20)).toMatchObject({ baselineTarget: 300, baselineMin: 30 })
    expect(chartDesignFor({ ...spec, pointsPerWeek: 40 }, 1, 20)).toMatchObject({ baselineTarget: 100, baselineMin: 16 })
    expect(chartDesignFor({ ...spec, pointsPerWeek: 5 }, 1, 20)).toMatchObject({ baselineTarget: 20, baselineMin: 8 })
  })

  it('are kept apart by recipe only where the recipe matters', () => {
    const perRecipe = specs.find((spec) => spec.perRecipe && spec.standard === undefined)!.feature
    const forAll = specs.find((spec) => !spec.perRecipe && spec.standard === undefined)!.feature
    const bench = new StageBench().give(perRecipe, 0, 0.01, 'board-a').give(perRecipe, 1, 0.01, 'board-b').give(forAll, 2, 0, 'board-a').give(forAll, 3, 0, 'board-b')
    expect(Object.values(bench.state.entries).map(({ feature, recipe }) => [feature, recipe])).toEqual([[perRecipe, 'board-a'], [perRecipe, 'board-b'], [forAll, ALL_RECIPES]])
  })

  it('say nothing of a single value that stood out, and say up of a change that lasts', () => {
    const bench = new StageBench().learn(ZONE, 0, 120)
    expect(bench.evidenceOf(ZONE, 120).status).toBe('quiet')
    const far = 12 * sigmaOf(ZONE)
    bench.give(ZONE, 120, far)
    expect(bench.signals().at(-1)).toBe(`${ZONE} start above`)
    bench.learn(ZONE, 121, 2)
    expect(bench.evidenceOf(ZONE, 123).status).toBe('learning')
    const lasting = new StageBench().learn(ZONE, 0, 120)
    for (let index = 120; index < 126; index += 1) lasting.give(ZONE, index, far)
    const evidence = lasting.evidenceOf(ZONE, 126)
    expect(evidence).toMatchObject({ status: 'up', onsetMs: START_MS + 120 * TEN_MINUTES })
    expect(evidence.shift).toBeCloseTo(far, 0)
  })

  it('keep their word for three days and not longer', () => {
    const bench = new StageBench().learn(ZONE, 0, 120)
    expect(bench.evidenceOf(ZONE, 119 + 72 * 6).status).toBe('quiet')
    expect(bench.evidenceOf(ZONE, 119 + 72 * 6 + 1).status).toBe('learning')
  })

  it('that have learned speak before those that have not', () => {
    const perRecipe = specs.find((spec) => spec.perRecipe && spec.standard === undefined && spec.chart === 'individuals' && spec.pointsPerWeek > 200)!.feature
    const bench = new StageBench().learn(perRecipe, 0, 120, 'board-a')
    const before = bench.evidenceOf(perRecipe, 120)
    bench.learn(perRecipe, 121, 3, 'board-b')
    expect(bench.evidenceOf(perRecipe, 124)).toEqual(before)
  })

  it('of a section under suspicion stop learning until the signal has ended', () => {
    const other = 'preheat.zone-1.temperature.slow'
    const bench = new StageBench().learn(ZONE, 0, 120).learn(other, 0, 60).learn(SPREAD, 0, 60)
    for (let index = 120; index < 126; index += 1) bench.give(ZONE, index, 12 * sigmaOf(ZONE))
    bench.learn(other, 126, 1).learn(SPREAD, 126, 1)
    expect(heldOf(bench, other)).toBe(true)
    expect(heldOf(bench, SPREAD)).toBe(false)
    bench.restart().learn(ZONE, 127, 60)
    expect(bench.signals().at(-1)).toBe(`${ZONE} end above`)
    expect(heldOf(bench, other)).toBe(false)
  })

  it('of the effort of zones learn nothing while the exhaust is off its level, a chart that begins then included; of the effort beside the others they do', () => {
    const [exhaust, effort] = ['exhaust.pressure.mean', 'preheat.zone-1.duty.effort']
    const bench = new StageBench().learn(exhaust, 0, 120).learn(effort, 0, 10)
    for (let index = 120; index < 126; index += 1) bench.give(exhaust, index, 12 * sigmaOf(exhaust))
    bench.learn(effort, 126, 1).learn('preheat.zone-2.duty.effort', 127, 1).learn(SPREAD, 126, 1).learn(`${effort}-own`, 126, 1)
    expect(heldOf(bench, `${effort}-own`)).toBe(false)
    expect(Object.values(bench.state.entries).flatMap(({ feature, chart }) => (feature.endsWith('.duty.effort') && chart.kind === 'learned' ? [chart.state.hold] : []))).toEqual([true, true])
    expect(heldOf(bench, SPREAD)).toBe(false)
    bench.learn(exhaust, 128, 60)
    expect(bench.signals().at(-1)).toBe(`${exhaust} end above`)
    expect(heldOf(bench, effort)).toBe(false)
  })

  it('that see a change and cannot tell yet take back the calm of another recipe, and not its change', () => {
    const perRecipe = specs.find((spec) => spec.perRecipe && spec.standard === undefined && spec.chart === 'individuals' && spec.pointsPerWeek > 200)!.feature
    const calm = new StageBench().learn(perRecipe, 0, 120, 'board-a').learn(perRecipe, 120, 120, 'board-b')
    expect(calm.evidenceOf(perRecipe, 240).status).toBe('quiet')
    calm.give(perRecipe, 240, 12 * sigmaOf(perRecipe), 'board-b')
    expect(calm.evidenceOf(perRecipe, 241).status).toBe('learning')
    const moved = new StageBench().learn(perRecipe, 0, 120, 'board-a').learn(perRecipe, 120, 120, 'board-b')
    for (let index = 240; index < 246; index += 1) moved.give(perRecipe, index, 12 * sigmaOf(perRecipe), 'board-a')
    moved.give(perRecipe, 246, 12 * sigmaOf(perRecipe), 'board-b')
    expect(moved.evidenceOf(perRecipe, 247).status).toBe('up')
  })

  it('kept from before all recipes shared one are left out, so that none holds what no value will ever end', () => {
    const bench = new StageBench().learn(SPREAD, 0, 120)
    const kept = bench.state.entries[`${SPREAD} ${ALL_RECIPES}`]!
    bench.state.entries[`${SPREAD} board-b`] = { ...structuredClone(kept), recipe: 'board-b', openSignals: ['cusum-up above'] }
    bench.restart()
    expect(Object.values(bench.state.entries).map(({ feature, recipe }) => [feature, recipe])).toEqual([[SPREAD, ALL_RECIPES]])
    bench.outputs.length = 0
    bench.learn(SPREAD, 120, 2)
    // whoever heard the signal hears its end, once
    expect(bench.outputs.flatMap((output) => (output.kind === 'signal' ? [[output.body.recipe, output.body.phase, output.body.chart, output.body.side]] : []))).toEqual([['board-b', 'end', 'cusum-up', 'above']])
  })

  it('of all recipes from before their values were brought to one begin anew', () => {
    const kept = (levelled?: readonly string[]): number => Object.keys(new StageBench().learn(SPREAD, 0, 120).learn(ZONE, 0, 5).restart(levelled).state.entries).length
    expect([kept(), kept([SPREAD]), kept([])]).toEqual([2, 2, 1])
  })

  it('of a feature that stands for several have a larger share of the budget, and the whole is kept', () => {
    const weighted = specs.map((spec) => (spec.feature === SPREAD ? { ...spec, weight: 10 } : spec))
    const sharesOf = budgetShares(weighted)
    expect(weighted.reduce((sum, spec) => sum + 1 / sharesOf(spec), 0)).toBeCloseTo(1, 9)
    expect(sharesOf(specOf(ZONE)) / sharesOf(weighted.find(({ feature }) => feature === SPREAD)!)).toBeCloseTo(10, 9)
  })

  it('do not tell a zone’s heat or fast movement that came and went before, and tell that of other features', () => {
    const statusAfter = (feature: string): string => {
      const bench = new StageBench()
      const noise = normalSource(7)
      // a zone that needs 50 % per 100 °C, or any other level, and for four hours a tenth more, twice
      for (let index = 0; index < 200; index += 1) {
        const isOff = (index >= 120 && index < 144) || index >= 176
        bench.give(feature, index, 50 + (isOff ? 5 : 0) + 0.3 * noise())
      }
      return bench.evidenceOf(feature, 199).status
    }
    for (const feature of ['preheat.zone-1.duty.effort', 'preheat.zone-1.duty.effort-own']) expect([feature, statusAfter(feature)]).toEqual([feature, 'learning'])
    expect(statusAfter(SPREAD)).toBe('up')
    const quick = featureCatalogue(define({ channels: [1, 2].map((zone) => ({ channel: `preheat.zone-${zone}.temperature`, periodS: 2 })) }))
    expect(quick.filter(({ passes }) => passes === true).map(({ feature }) => feature)).toEqual([1, 2].flatMap((zone) => ['fast', 'fast-own'].map((what) => `preheat.zone-${zone}.temperature.${what}`)))
  })

  it('take a start-up for slower from a tenth on', () => {
    // one that stood out, and what they take since
    const statusAfter = (share: number): string => {
      const bench = new StageBench()
      for (let day = 0; day < 9; day += 1) bench.give('preheat.zone-1.warm-up-time', day * 144, 200 * (day < 4 ? 1 : day === 4 ? 1.25 : 1 + share))
      return bench.evidenceOf('preheat.zone-1.warm-up-time', 8 * 144).status
    }
    expect(statusAfter(0.12)).toBe('up')
    expect(statusAfter(0.08)).toBe('learning')
  })

  it('take an engineer’s decision for one recipe or for all, and count the charts it fits', () => {
    const perRecipe = specs.find((spec) => spec.perRecipe && spec.standard === undefined)!.feature
    const bench = new StageBench().learn(perRecipe, 0, 5, 'board-a').learn(perRecipe, 10, 5, 'board-b')
    expect(bench.decide(perRecipe, 'board-a', 'reject', 20)).toBe(1)
    expect(bench.decide(perRecipe, undefined, 'reject', 20)).toBe(2)
    expect(bench.decide('pot.mood', undefined, 'reject', 20)).toBe(0)
    expect(bench.baselines(perRecipe).at(-1)).toMatch(/^learning/)
  })

  it('go on exactly from their text', () => {
    const run = (restarts: boolean): string[] => {
      const bench = new StageBench()
      for (let index = 0; index < 200; index += 1) {
        bench.give(ZONE, index, (index >= 150 ? 6 : 1) * sigmaOf(ZONE) * normalSource(index)()).learn(SPREAD, index, 1)
        if (restarts && index % 7 === 3) bench.restart()
      }
      return bench.outputs.map((output) => JSON.stringify(output))
    }
    expect(run(true)).toEqual(run(false))
  })
})

function heldOf(bench: StageBench, feature: string): boolean {
  return Object.values(bench.state.entries).some((entry) => entry.feature === feature && entry.chart.kind === 'learned' && entry.chart.state.hold)
}
