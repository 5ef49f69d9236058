import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { featureCatalogue } from '../../../src/line/features/feature-catalogue.js'
import { HAND_VALUES, handFeature, handFeatures, handLimits, handValuesOf, recipesOf } from '../../../src/line/hand-values.js'
import { lineDefinitionJsonSchema, parseLineDefinition, type LineDefinition } from '../../../src/line/line-definition.js'

function define(input: object = {}): LineDefinition {
  const result = parseLineDefinition({ line: 'line-a', ...input })
  if (result.kind === 'faults') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

const valueOf = (check: string, value: string) => HAND_VALUES.find((hand) => hand.check === check && hand.value === value)!

describe('limits of hand-measured values', () => {
  it('of the dose are 10 % of the target, or of the line\'s own level, or none yet', () => {
    const dose = valueOf('weigh-dose', 'grams')
    expect(handLimits(define(), dose)).toEqual({})
    expect(handLimits(define(), dose, 5)).toEqual({ lower: 4.5, upper: 5.5, level: 5 })
    expect(handLimits(define({ rounds: { values: { 'weigh-dose.grams': { target: 4 } } } }), dose, 5)).toEqual({ lower: 3.6, upper: 4.4, level: 4 })
  })

  it('of the site win over those of the catalogue, each end by itself', () => {
    const wave = valueOf('wave-gauge', 'height')
    expect(handLimits(define(), wave)).toEqual({ lower: 7, upper: 12 })
    expect(handLimits(define({ rounds: { values: { 'wave-gauge.height': { upper: 10 } } } }), wave)).toEqual({ lower: 7, upper: 10 })
  })

  it('are those of the recipe where it has its own, and else those for all', () => {
    const definition = define({ rounds: { values: { 'weigh-dose.grams': { target: 4, recipes: { 'power-board': { target: 8 }, 'thin-board': { upper: 4.1 } } } } } })
    const [dose] = handValuesOf(definition, 'weigh-dose')
    expect(handLimits(definition, dose!, 5, 'any')).toEqual({ lower: 3.6, upper: 4.4, level: 4 })
    expect(handLimits(definition, dose!, 5, 'power-board')).toEqual({ lower: 7.2, upper: 8.8, level: 8 })
    expect(handLimits(definition, dose!, 5, 'thin-board')).toEqual({ lower: 3.6, upper: 4.1, level: 4 })
    expect(handLimits(definition, dose!, 5, 'constructor')).toEqual(handLimits(definition, dose!, 5))
    expect(recipesOf(definition, dose!)).toEqual(['power-board', 'thin-board'])
  })

  it('that are one recipe’s own change those of no other, nor of any other value', () => {
    const end = fc.option(fc.integer({ min: 1, max: 50 }), { nil: undefined })
    fc.assert(
      fc.property(fc.record({ target: end, lower: end, upper: end }), fc.record({ target: end, lower: end, upper: end }), fc.integer({ min: 1, max: 60 }), (forAll, own, level) => {
        const clean = (given: object): object => JSON.parse(JSON.stringify(given)) as object
        const read = parseLineDefinition({ line: 'line-a', rounds: { values: { 'dip-stick.level': { ...clean(forAll), recipes: { a: clean(own) } } } } })
        const plain = parseLineDefinition({ line: 'line-a', rounds: { values: { 'dip-stick.level': clean(forAll) } } })
        const merged = { ...clean(forAll), ...clean(own) } as { target?: number; lower?: number; upper?: number }
        const outside = merged.target !== undefined && (merged.target < (merged.lower ?? -1) || merged.target > (merged.upper ?? 99))
        const isSound = plain.kind === 'definition' && Object.keys(clean(own)).length > 0 && !(merged.lower !== undefined && merged.upper !== undefined && merged.lower >= merged.upper) && !outside
        expect(read.kind).toBe(isSound ? 'definition' : 'faults')
        if (read.kind === 'faults' || plain.kind === 'faults') return
        const level_ = valueOf('dip-stick', 'level')
        expect(handLimits(read.definition, level_, level, 'b')).toEqual(handLimits(plain.definition, level_, level))
        expect(handLimits(read.definition, level_, level, 'a')).toMatchObject(merged.lower === undefined ? {} : { lower: merged.lower })
        expect(handLimits(read.definition, valueOf('wave-gauge', 'height'), level, 'a')).toEqual(handLimits(plain.definition, valueOf('wave-gauge', 'height'), level))
      }),
    )
  })

  it('follow the machine: level band, pitch of the chain (3 % stretch), alloy of the pot', () => {
    expect(handLimits(define({ machine: { pot: { levelBandMm: [-3, 4] } } }), valueOf('dip-stick', 'level'))).toEqual({ lower: -3, upper: 4 })
    expect(handLimits(define({ machine: { conveyor: { chainPitchMm: 25.4 } } }), valueOf('chain-length', 'pitch')).upper).toBeCloseTo(26.162, 9)
    expect(handLimits(define({ machine: { pot: { alloy: 'Sn63Pb37' } } }), valueOf('bath-analysis', 'copper'))).toEqual({ upper: 0.3 })
    expect(handLimits(define({ machine: { pot: { alloy: 'SnAgCu' } } }), valueOf('bath-analysis', 'lead'))).toEqual({ upper: 0.1 })
    expect(handLimits(define({ machine: { pot: { alloy: 'lead-free SnCu' } } }), valueOf('bath-analysis', 'copper'))).toEqual({})
  })
})

describe('charts of hand-measured values', () => {
  it('stand beside the catalogue of the channels and change nothing in it', () => {
    const definition = define({ channels: [{ channel: 'conveyor.speed' }] })
    const hand = handFeatures(definition)
    expect(featureCatalogue(definition).some(({ feature }) => feature.startsWith('hand.'))).toBe(false)
    expect(new Set(hand.map(({ feature }) => feature)).size).toBe(hand.length)
    expect(hand.every(({ channels, standard, pointsPerWeek }) => channels.length === 0 && standard !== undefined && pointsPerWeek > 0)).toBe(true)
  })

  it('have one for each zone where a value belongs to one, and none for the parts of a computed value', () => {
    const names = handFeatures(define()).map(({ feature }) => feature)
    expect(names.filter((name) => name.startsWith('hand.look-at-thermocouple.'))).toEqual([1, 2, 3].map((zone) => handFeature('look-at-thermocouple', 'depth-off', zone)))
    expect(names).toContain('hand.chain-length.pitch')
    expect(names).not.toContain('hand.chain-length.links')
  })

  it('have their centre at the site\'s target', () => {
    const definition = define({ rounds: { values: { 'weigh-dose.grams': { target: 4.2 } } } })
    expect(handFeatures(definition).find(({ feature }) => feature === 'hand.weigh-dose.grams')?.standard).toMatchObject({ centre: 4.2, centreValues: 3 })
  })

  it('are kept for each recipe where recipes want something else, each with its centre', () => {
    const spec = handFeatures(define({ rounds: { values: { 'dip-stick.level': { recipes: { 'power-board': { target: -2 } } } } } })).find(({ feature }) => feature === 'hand.dip-stick.level')
    expect(spec).toMatchObject({ perRecipe: true, standard: { centreOfRecipe: { 'power-board': -2 } } })
    expect(handFeatures(define()).find(({ feature }) => feature === 'hand.dip-stick.level')?.perRecipe).toBe(false)
  })

  it('know the site\'s own values', () => {
    const own = { check: 'nitrogen', section: 'pot', every: 'day', minutes: 1, title: { 'en-US': 'Nitrogen', es: 'Nitrógeno' }, steps: { 'en-US': ['Read.'], es: ['Leer.'] }, values: [{ value: 'oxygen', title: { 'en-US': 'Oxygen', es: 'Oxígeno' }, unit: 'ppm', possibleMin: 0, possibleMax: 1000, lower: 0, upper: 60 }] }
    const definition = define({ rounds: { own: [own] } })
    expect(handValuesOf(definition, 'nitrogen')).toMatchObject([{ unit: 'ppm', sigma: 10 }])
    expect(handLimits(definition, handValuesOf(definition, 'nitrogen')[0]!)).toEqual({ lower: 0, upper: 60 })
  })
})

describe('rounds of a line definition', () => {
  const faultsOf = (rounds: unknown): string[] => {
    const result = parseLineDefinition({ line: 'line-a', rounds })
    return result.kind === 'faults' ? result.faults.map(({ path }) => path) : []
  }

  it('are refused where they cannot be, with the path', () => {
    expect(faultsOf({ values: { 'weigh-dose.grams': { lower: 3, upper: 2 } } })).toEqual(['rounds.values.weigh-dose.grams'])
    expect(faultsOf({ every: { 'weigh-dose': 'year' } })).toEqual(['rounds.every.weigh-dose'])
    expect(faultsOf({ own: [{ check: 'x', section: 'pot', every: 'day', minutes: 1, title: { 'en-US': 'Only English' }, steps: { 'en-US': ['Read.'], es: ['Leer.'] } }] })).toEqual(['rounds.own[0].title.es'])
    expect(faultsOf({ of: [] })).toEqual(['rounds'])
  })

  it('stand in the JSON Schema', () => {
    expect(JSON.stringify(lineDefinitionJsonSchema())).toContain('checks left out, how often')
  })
})
