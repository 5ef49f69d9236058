import { describe, expect, it } from 'vitest'
import { featureCatalogue, featureRefusals } from '../../../src/line/features/feature-catalogue.js'
import { lineWith } from './feature-run.js'

const MINIMUM = [{ channel: 'preheat.zone-{n}.temperature' }, { channel: 'conveyor.speed' }, { channel: 'pot.level' }]
const CHAIN = { conveyor: { chainPitchMm: 25.4, sprocketTeeth: 12, chainLoopM: 12, fingerPitchMm: 50.8 } }

describe('featureCatalogue', () => {
  it('offers the minimum channels only what they can show', () => {
    const names = featureCatalogue(lineWith(MINIMUM)).map(({ feature }) => feature)
    expect(names).toContain('preheat.zone-3.temperature.fast-own')
    expect(names).toContain('preheat.common-movement')
    expect(names).toContain('conveyor.speed.jumps')
    expect(names).toContain('pot.level.slope')
    expect(names.filter((name) => /^(fluxer|board|exhaust|ambient)|duty|current|setpoint|step-response/.test(name))).toEqual([])
  })

  it('takes an empty list of channels for all of them, with the usual kinds of defects', () => {
    const names = featureCatalogue(lineWith([])).map(({ feature }) => feature)
    for (const name of ['fluxer.flow-for-pressure', 'preheat.zone-2.duty.effort', 'conveyor.current.cold', 'pot.wave.speed-for-height', 'board.defects.bridge.count', 'preheat.zone-1.step-response']) expect(names).toContain(name)
  })

  it('names no feature twice and needs only declared channels', () => {
    for (const definition of [lineWith(MINIMUM), lineWith([]), lineWith([], CHAIN)]) {
      const specs = featureCatalogue(definition)
      expect(new Set(specs.map(({ feature }) => feature)).size).toBe(specs.length)
      expect(specs.filter(({ channels, title, sigmaFloor, pointsPerWeek }) => channels.length === 0 || title === '' || sigmaFloor < 0 || pointsPerWeek <= 0)).toEqual([])
    }
  })

  it('has nothing of one zone beside others where there is only one', () => {
    const names = featureCatalogue(lineWith([{ channel: 'preheat.zone-1.temperature' }], { zones: [{}] })).map(({ feature }) => feature)
    expect(names).toContain('preheat.zone-1.temperature.slow')
    expect(names.filter((name) => name.endsWith('-own') || name.includes('common'))).toEqual([])
  })

  it('keeps one baseline for all recipes where the set-point is named, one per recipe where it is not', () => {
    const perRecipe = (setpoint: boolean): boolean | undefined =>
      featureCatalogue(lineWith([...MINIMUM, ...(setpoint ? [{ channel: 'preheat.zone-{n}.setpoint' }] : [])])).find(({ feature }) => feature === 'preheat.zone-1.temperature.offset')?.perRecipe
    expect(perRecipe(true)).toBe(false)
    expect(perRecipe(false)).toBe(true)
  })

  it('charts all kinds of defects together where there are two, with more of the budget than one', () => {
    const together = (kinds: readonly string[]) => featureCatalogue(lineWith(kinds.map((kind) => ({ channel: `board.defects.${kind}` })))).find(({ feature }) => feature === 'board.all-defects.count')
    expect(together(['skip'])).toBeUndefined()
    expect(together(['skip', 'bridge'])).toMatchObject({ chart: 'count', channels: ['board.defects.skip', 'board.defects.bridge'], weight: 10 })
  })

  it('gives a custom channel a window of its own period, a minute at least', () => {
    const specs = featureCatalogue(lineWith([{ channel: 'custom.bearing', periodS: 300 }, { channel: 'custom.fan', periodS: 1 }]))
    expect(specs.map(({ feature, windowS, pointsPerWeek }) => [feature, windowS, pointsPerWeek])).toEqual([
      ['custom.bearing.value', 300, 2016],
      ['custom.fan.value', 60, 10080],
    ])
  })
})

describe('featureRefusals', () => {
  const reasonFor = (channels: Parameters<typeof lineWith>[0], feature: string, machine = {}): string | undefined =>
    featureRefusals(lineWith(channels, machine)).find((refusal) => refusal.feature === feature)?.reason

  it('refuses the fast part of slow readings and says which period it needs', () => {
    expect(reasonFor([{ channel: 'preheat.zone-1.temperature', periodS: 10 }], 'preheat.zone-1.temperature.fast')).toMatch(/every 10 s.*at least every 6 s/)
    expect(reasonFor([{ channel: 'preheat.zone-1.temperature', periodS: 5 }], 'preheat.zone-1.temperature.fast')).toBeUndefined()
  })

  it('refuses what readings of 1 s would alias: 0.787 Hz of the teeth, not the turn', () => {
    const channels = [{ channel: 'conveyor.speed', periodS: 1 }]
    expect(reasonFor(channels, 'conveyor.speed.tooth-line', CHAIN)).toMatch(/0\.787 Hz/)
    expect(reasonFor(channels, 'conveyor.speed.turn-line', CHAIN)).toBeUndefined()
    expect(reasonFor([{ channel: 'conveyor.speed', periodS: 0.1 }], 'conveyor.speed.tooth-line', CHAIN)).toBeUndefined()
    expect(reasonFor([{ channel: 'conveyor.speed', periodS: 10 }], 'conveyor.speed.turn-line', CHAIN)).toMatch(/needs a reading/)
  })

  it('asks for the machine fact a line needs', () => {
    expect(reasonFor([{ channel: 'conveyor.speed' }], 'conveyor.speed.loop-line')).toMatch(/chainLoopM/)
  })

  it('refuses jumps between readings further apart than 10 s, and says in the title what 5 s can see', () => {
    expect(reasonFor([{ channel: 'conveyor.speed', periodS: 30 }], 'conveyor.speed.jumps')).toMatch(/falls between readings/)
    const title = featureCatalogue(lineWith([{ channel: 'conveyor.speed', periodS: 5 }])).find(({ feature }) => feature === 'conveyor.speed.jumps')?.title
    expect(title).toMatch(/most fall between/)
  })

  it('never refuses what it offers', () => {
    for (const definition of [lineWith([]), lineWith([], CHAIN), lineWith(MINIMUM, CHAIN)]) {
      const offered = new Set(featureCatalogue(definition).map(({ feature }) => feature))
      expect(featureRefusals(definition).filter(({ feature }) => offered.has(feature))).toEqual([])
    }
  })
})
