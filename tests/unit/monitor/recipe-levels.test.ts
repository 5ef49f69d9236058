import { describe, expect, it } from 'vitest'
import { featureSpec } from '../../../src/line/features/feature-spec.js'
import { valueAtUsualRecipe, type RecipeLevels } from '../../../src/monitor/recipe-levels.js'

const flow = featureSpec('fluxer.flow.mean', { section: 'fluxer', channels: ['fluxer.flow'], unit: 'mL/min', suspicious: 'both', mechanism: 'flux-flow', sigmaFloor: 0.1, atUsualRecipe: 'ratio', title: 'flow' })
const unrest = featureSpec('conveyor.speed.spread', { section: 'transport', channels: ['conveyor.speed'], unit: 'ln share', suspicious: 'up', mechanism: 'chain-motion', sigmaFloor: 0.05, atUsualRecipe: 'difference', title: 'unrest' })
const level = featureSpec('pot.level.offset', { section: 'pot', channels: ['pot.level'], unit: 'mm', suspicious: 'down', mechanism: 'pot-level', sigmaFloor: 0.3, title: 'level' })
const value = (spec: { feature: string }, x: number) => ({ feature: spec.feature, timeMs: 1, value: x, weight: 0.5 })

describe('values charted over all recipes', () => {
  it('are those of the recipe heard first, each feature by its own levels; what no recipe touches stays as it is', () => {
    const levels: RecipeLevels = {}
    for (let at = 0; at < 12; at += 1) {
      expect(valueAtUsualRecipe(levels, flow, value(flow, 40), 'a')).toEqual(value(flow, 40))
      expect(valueAtUsualRecipe(levels, unrest, value(unrest, -4), 'a')).toEqual(value(unrest, -4))
    }
    for (let at = 0; at < 12; at += 1) {
      expect(valueAtUsualRecipe(levels, flow, value(flow, 60), 'b')).toBeUndefined()
      expect(valueAtUsualRecipe(levels, unrest, value(unrest, -3), 'b')).toBeUndefined()
    }
    expect(valueAtUsualRecipe(levels, flow, value(flow, 48), 'b')).toMatchObject({ value: expect.closeTo(32, 9), weight: 0.5, timeMs: 1 })
    expect(valueAtUsualRecipe(levels, unrest, value(unrest, -2.5), 'b')).toMatchObject({ value: expect.closeTo(-3.5, 9) })
    expect(valueAtUsualRecipe(levels, level, value(level, -3), 'b')).toEqual(value(level, -3))
    expect(Object.keys(levels).sort()).toEqual(['conveyor.speed.spread', 'fluxer.flow.mean'])
  })
})
