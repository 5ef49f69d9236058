import { describe, expect, it } from 'vitest'
import type { CauseId } from '../../../../src/line/causes.js'
import type { FeatureEvidence } from '../../../../src/line/diagnosis.js'
import { DEFAULT_LIKELIHOODS } from '../../../../src/line/diagnosis/likelihoods.js'
import { clusterSymptoms } from '../../../../src/line/diagnosis/symptom-clusters.js'
import { votesOf } from '../../../../src/line/diagnosis/votes.js'
import { featureCatalogue } from '../../../../src/line/features/feature-catalogue.js'
import type { LineDefinition } from '../../../../src/line/line-definition.js'
import { definitionOf, diagnoseMoves, evidenceOf, MINIMUM_CHANNELS, onlyDiagnosis, probabilityOf, RICH_LINE } from './diagnosis-cases.js'
import { workForCauses, workItem } from '../../../../src/maintenance/work-catalogue.js'
import { invisibleFaults } from '../../../../src/line/diagnosis/visibility.js'

const zone2 = (feature: string): string => `preheat.zone-2.${feature}`

/** Symptoms as the matrix has them: the leading cause must be the fault, alone or in a group. */
const CASES: readonly (readonly [string, string, Readonly<Record<string, number>>])[] = [
  ['F01 pressure-fed', 'clogged-nozzle', { 'fluxer.flow.mean': -5, 'fluxer.flow.spread': 3, 'fluxer.flow-for-pressure': -5 }],
  ['F03', 'leaking-seal', { 'fluxer.pressure.mean': -4, 'fluxer.pressure.hold': -5, 'fluxer.flow.mean': -3 }],
  ['F05', 'bad-flux-hose', { 'fluxer.pressure.mean': -3, 'fluxer.pressure.spread': 4, 'fluxer.flow.mean': -4 }],
  ['F06 overlap', 'dosing-off', { 'fluxer.flux-per-board': 4, 'board.defects.residue.count': 4 }],
  ['F08', 'clogged-blower', { [zone2('blower-current.mean')]: -4, 'board.topside-temperature.mean': -4 }],
  ['F09', 'coated-emitter', { [zone2('duty.effort-own')]: 2, 'board.topside-temperature.mean': -4 }],
  ['F10', 'blocked-vents', { [zone2('duty.effort-own')]: -5 }],
  ['F11', 'coated-thermocouple', { [zone2('temperature.fast-own')]: -4, [zone2('duty.spread')]: 3, [zone2('step-response')]: 4 }],
  ['F21 zone', 'ageing-element', { [zone2('duty.effort-own')]: 6, [zone2('warm-up-time')]: 4 }],
  ['F12', 'dirty-rails', { 'conveyor.current.warm': 4, 'conveyor.current.cold': 4, 'conveyor.speed.finger-line': 3 }],
  ['F13', 'dirty-chain', { 'conveyor.current.warm': 3, 'conveyor.current.spread': 5, 'conveyor.speed.spread': 5, 'conveyor.speed.jumps': 5, 'conveyor.speed.loop-line': 3 }],
  ['F14', 'dry-chain', { 'conveyor.current.warm': 6, 'conveyor.current.spread': 3, 'conveyor.speed.spread': 3 }],
  ['F15', 'sticky-grease', { 'conveyor.current.warm': 5, 'conveyor.current.cold': 9 }],
  ['F17a', 'worn-sprocket', { 'conveyor.speed.turn-line': 5, 'conveyor.speed.spread': 2 }],
  ['F17c', 'worn-drive', { 'conveyor.current.warm': 3, 'conveyor.speed.offset': -3, 'conveyor.speed.spread': 2 }],
  ['F18', 'low-level', { 'pot.level.offset': -5, 'pot.level.slope': -2 }],
  ['F19', 'dross-at-intake', { 'pot.wave.height-for-speed': -4, 'pot.wave.speed-for-height': 4, 'pot.wave-height.spread': 3 }],
]

describe('what every channel can tell', () => {
  it.each(CASES)('%s: %s leads, alone or in its group', (_id, fault, moved) => {
    const lead = onlyDiagnosis(RICH_LINE, moved).causes[0]!
    expect([lead.cause, ...(lead.members ?? [])]).toContain(fault)
  })

  it('metered feed turns the sign: pressure up at constant flow is a clogged nozzle', () => {
    const metered = definitionOf({ machine: { fluxer: { feed: 'metered-pump' } } })
    const moved = { 'fluxer.pressure.mean': 5, 'fluxer.flow-for-pressure': -4 }
    const lead = onlyDiagnosis(metered, moved).causes[0]!
    expect((lead.members ?? [lead.cause])[0]).toBe('clogged-nozzle')
    expect(lead.probability).toBeGreaterThan(0.8)
    expect(probabilityOf(onlyDiagnosis(RICH_LINE, { 'fluxer.pressure.mean': 5 }), 'clogged-nozzle')).toBeLessThan(probabilityOf(onlyDiagnosis(metered, { 'fluxer.pressure.mean': 5 }), 'clogged-nozzle'))
  })

  it('thermocouple position turns the sign of a clogged blower: less duty at the heater outlet', () => {
    const outlet = definitionOf({ machine: { zones: [1, 2, 3].map(() => ({ thermocouple: 'heater-outlet' as const, blower: 'fixed-speed' as const })) } })
    const moved = { [zone2('duty.effort-own')]: -4, 'board.topside-temperature.mean': -4 }
    expect(probabilityOf(onlyDiagnosis(outlet, moved), 'clogged-blower')).toBeGreaterThan(2 * probabilityOf(onlyDiagnosis(RICH_LINE, moved), 'clogged-blower'))
  })

  it('blower kind turns the sign of its current', () => {
    const constantFlow = definitionOf({ machine: { zones: [1, 2, 3].map(() => ({ thermocouple: 'board-air' as const, blower: 'constant-flow' as const })) } })
    const rising = { [zone2('blower-current.mean')]: 4, 'board.topside-temperature.mean': -4 }
    expect(probabilityOf(onlyDiagnosis(constantFlow, rising), 'clogged-blower')).toBeGreaterThan(2 * probabilityOf(onlyDiagnosis(RICH_LINE, rising), 'clogged-blower'))
  })

  it('duty of all zones with the exhaust: air, not fouling', () => {
    const moved = { 'preheat.zone-1.duty.effort': 4, 'preheat.zone-2.duty.effort': 5, 'preheat.zone-3.duty.effort': 4, 'exhaust.pressure.mean': 5 }
    expect(onlyDiagnosis(RICH_LINE, moved).causes[0]).toMatchObject({ cause: 'ambient-or-exhaust', kind: 'benign' })
  })

  it('skips alone: the boards point to several sections, and nothing is claimed', () => {
    const diagnosis = onlyDiagnosis(RICH_LINE, { 'board.defects.skip.count': 4 })
    expect(diagnosis.abstains).toBe(true)
    expect(new Set(diagnosis.causes.filter(({ probability }) => probability > 0.02).map(({ section }) => section)).size).toBeGreaterThanOrEqual(3)
  })

  it('defects of all kinds together are no symptom of their own', () => {
    const evidence = evidenceOf(RICH_LINE, { 'board.all-defects.count': 6 })
    expect(evidence.filter(({ status }) => status === 'up').map(({ feature }) => feature)).toEqual(['board.all-defects.count'])
    expect(diagnoseMoves(RICH_LINE, {}, { evidence })).toEqual([])
  })

  it('skips, bridges and poor hole fill while all channels are quiet: what no channel shows comes first, not a pot whose level stands', () => {
    const moved = { 'board.defects.skip.count': 4, 'board.defects.bridge.count': 3, 'board.defects.hole-fill.count': 3 }
    const diagnosis = onlyDiagnosis(RICH_LINE, {}, { evidence: evidenceOf(RICH_LINE, moved, { windows: 10, trend: 'steady' }) })
    const unseen = probabilityOf(diagnosis, 'misoriented-nozzle') + probabilityOf(diagnosis, 'residue-on-fingers')
    expect(unseen).toBeGreaterThan(0.5)
    expect(probabilityOf(diagnosis, 'low-level')).toBeLessThan(0.05)
    // The same without a level: it can be low.
    const blind = evidenceOf(RICH_LINE, moved, { windows: 10, trend: 'steady' }).map((item) => (item.feature.startsWith('pot.level') ? { ...item, status: 'not-observable' as const } : item))
    expect(probabilityOf(onlyDiagnosis(RICH_LINE, {}, { evidence: blind }), 'low-level')).toBeGreaterThan(2 * probabilityOf(diagnosis, 'low-level'))
  })

  it('defects that still rise after hours speak for residue that gathers, those that stepped up for a nozzle put back askew', () => {
    const first = (trend: 'growing' | 'steady'): string | undefined => {
      const lead = onlyDiagnosis(RICH_LINE, {}, { evidence: evidenceOf(RICH_LINE, { 'board.defects.skip.count': 4, 'board.defects.hole-fill.count': 3 }, { windows: 10, trend }) }).causes[0]!
      return (lead.members ?? [lead.cause])[0]
    }
    expect(first('growing')).toBe('residue-on-fingers')
    expect(first('steady')).toBe('misoriented-nozzle')
    // Named together they have one probability: how far the course weighs for the one and against the other stands in the votes.
    const likelihood = (trend: 'growing' | 'steady', cause: CauseId): number => {
      const evidence = evidenceOf(RICH_LINE, { 'board.defects.skip.count': 4, 'board.defects.bridge.count': 3 }, { windows: 10, trend })
      const cluster = clusterSymptoms(RICH_LINE, evidence, featureCatalogue(RICH_LINE)).find(({ key }) => key === 'board')!
      return Math.exp(Object.values(votesOf(cause, cluster, RICH_LINE, DEFAULT_LIKELIHOODS)).reduce((sum, vote) => sum + vote, 0))
    }
    const odds = (trend: 'growing' | 'steady'): number => likelihood(trend, 'misoriented-nozzle') / likelihood(trend, 'residue-on-fingers')
    expect(odds('steady')).toBeGreaterThan(2 * odds('growing'))
    expect(likelihood('steady', 'misoriented-nozzle')).toBeGreaterThan(2 * likelihood('growing', 'misoriented-nozzle'))
  })

  it.each([
    [4, 1.5, 'misoriented-nozzle'],
    [1, 0.3, 'residue-on-fingers'],
  ])('defects %s sigmas above their level from the first, and %s of it above it now, speak for a %s first', (atFirstSigma, shift, expected) => {
    const evidence = evidenceOf(RICH_LINE, { 'board.defects.skip.count': 4, 'board.defects.bridge.count': 3, 'board.defects.hole-fill.count': 3 }, { windows: 5, trend: 'steady', atFirstSigma, shift })
    const lead = onlyDiagnosis(RICH_LINE, {}, { evidence }).causes[0]!
    expect((lead.members ?? [lead.cause])[0]).toBe(expected)
  })

  it('defects that come many times as often speak against fingers, which make half as many again at most', () => {
    const odds = (shift: number): number => {
      const evidence = evidenceOf(RICH_LINE, { 'board.defects.skip.count': 4, 'board.defects.bridge.count': 3 }, { windows: 12, trend: 'steady', shift })
      const cluster = clusterSymptoms(RICH_LINE, evidence, featureCatalogue(RICH_LINE)).find(({ key }) => key === 'board')!
      const likelihood = (cause: 'misoriented-nozzle' | 'residue-on-fingers'): number => Object.values(votesOf(cause, cluster, RICH_LINE, DEFAULT_LIKELIHOODS)).reduce((sum, vote) => sum + vote, 0)
      return likelihood('misoriented-nozzle') - likelihood('residue-on-fingers')
    }
    expect(odds(1.3) - odds(0.5)).toBeGreaterThan(Math.log(4))
  })

  it('a nozzle that points aside or fingers that hold askew skip joints before anything else: no skips speak against them in full', () => {
    const evidence = evidenceOf(RICH_LINE, { 'board.defects.bridge.count': 4, 'board.defects.hole-fill.count': 3 }, { windows: 10, trend: 'steady' })
    const cluster = clusterSymptoms(RICH_LINE, evidence, featureCatalogue(RICH_LINE)).find(({ key }) => key === 'board')!
    const voteOf = (cause: CauseId): number => votesOf(cause, cluster, RICH_LINE, DEFAULT_LIKELIHOODS)['defects-skip']!
    for (const cause of ['misoriented-nozzle', 'residue-on-fingers'] as const) expect(voteOf(cause)).toBeCloseTo(Math.log(1 - DEFAULT_LIKELIHOODS.shows['3']), 9)
    expect(voteOf('misoriented-nozzle')).toBeLessThan(voteOf('dross-at-intake') - 0.5)
  })

  it('counts do not tell a nozzle that points aside from fingers that hold askew: named together, with the work of both', () => {
    const lead = onlyDiagnosis(RICH_LINE, {}, { evidence: evidenceOf(RICH_LINE, { 'board.defects.skip.count': 4, 'board.defects.bridge.count': 3 }, { windows: 10, trend: 'steady' }) }).causes[0]!
    expect(lead).toMatchObject({ cause: 'one-sided-boards' })
    expect([...lead.members!].sort()).toEqual(['misoriented-nozzle', 'residue-on-fingers'])
    expect(new Set(workForCauses([lead]).map((id) => workItem(id).section))).toEqual(new Set(['fluxer', 'transport']))
  })

  it('more flow at an unchanged pressure is a dose or a stroke, with a pump more pressure as well; a leak takes pressure', () => {
    const leadOf = (definition: LineDefinition, moved: Readonly<Record<string, number>>): readonly string[] => {
      const lead = onlyDiagnosis(definition, moved).causes[0]!
      return lead.members ?? [lead.cause]
    }
    const more = leadOf(RICH_LINE, { 'fluxer.flow.mean': 6, 'fluxer.flow-for-pressure': 6 })
    expect(more).toEqual(expect.arrayContaining(['dosing-off', 'stroke-too-wide']))
    expect(more).not.toContain('leaking-seal')
    const metered = definitionOf({ machine: { fluxer: { feed: 'metered-pump' } } })
    expect(leadOf(metered, { 'fluxer.flow.mean': 6, 'fluxer.pressure.mean': 8 })).toContain('dosing-off')
    const less = { 'fluxer.flow.mean': -6, 'fluxer.flow-for-pressure': -6 }
    expect(probabilityOf(onlyDiagnosis(RICH_LINE, less), 'dosing-off')).toBeGreaterThan(4 * probabilityOf(onlyDiagnosis(RICH_LINE, { ...less, 'fluxer.flow.spread': 4 }), 'dosing-off'))
  })

  it('the effort of a zone by itself, on a line that has others to compare it with, is no case', () => {
    const evidence = evidenceOf(RICH_LINE, { [zone2('duty.effort')]: -6 }).map((item) => (/zone-[13]\.duty\.effort$|effort-own$/.test(item.feature) ? { ...item, status: 'learning' as const } : item))
    expect(diagnoseMoves(RICH_LINE, {}, { evidence })).toEqual([])
  })

  it('an exhaust that goes on drifting is a filter, one that was switched is the house, and more suction is never a filter', () => {
    const filter = (shift: number, details: Partial<FeatureEvidence>): number => {
      const evidence = evidenceOf(RICH_LINE, { 'exhaust.pressure.mean': shift }, { centre: -120, windows: 60, ...details })
      return probabilityOf(onlyDiagnosis(RICH_LINE, {}, { evidence }), 'saturated-filter')
    }
    expect(filter(8, { trend: 'growing', creeps: true })).toBeGreaterThan(0.6)
    expect(filter(8, { trend: 'steady', creeps: false })).toBeLessThan(0.3)
    expect(filter(-8, { trend: 'growing', creeps: true })).toBeLessThan(0.1)
  })

  it('a pressure behind the filter that rises while the zones heat as much more air is the house, however it drifts', () => {
    const lead = (effortShare: number): string => {
      const evidence = evidenceOf(RICH_LINE, { 'exhaust.pressure.mean': 8 }, { centre: 130, shift: 65, windows: 60, trend: 'growing', creeps: true })
        .map((item) => (/^preheat\.zone-\d\.duty\.effort$/.test(item.feature) ? { ...item, status: 'learning' as const, centre: 40, lean: 40 * effortShare } : item))
      return onlyDiagnosis(RICH_LINE, {}, { evidence }).causes[0]!.cause
    }
    // half as much pressure more is 22 % more air, and 16 % more effort
    expect(lead(0.14)).toBe('ambient-or-exhaust')
    expect(lead(0)).toBe('saturated-filter')
    expect(lead(-0.05)).toBe('saturated-filter')
  })

  it('boards that got colder when the exhaust changed are the air, and are not where it had changed days before', () => {
    const HOUR_MS = 3_600_000
    const air = (hoursBefore: number): number => {
      const evidence = evidenceOf(RICH_LINE, { 'board.topside-temperature.mean': -5, 'exhaust.pressure.mean': -6 }, { centre: 120, windows: 12, onsetMs: 100 * HOUR_MS })
        .map((item) => (item.feature === 'exhaust.pressure.mean' ? { ...item, onsetMs: (100 - hoursBefore) * HOUR_MS, creeps: false } : item))
      const boards = diagnoseMoves(RICH_LINE, {}, { evidence }).find(({ features }) => features.includes('board.topside-temperature.mean'))!
      return boards.causes.reduce((sum, { kind, probability }) => sum + (kind === 'fault' ? probability : 0), 0)
    }
    // what the faults have together must be more than six tenths to be told
    expect(air(1)).toBeLessThan(0.45)
    expect(air(40)).toBeGreaterThan(0.6)
  })

  it('evidence is for or against the group in the lead, whichever of its causes makes it, also where one cause outside has more than each of them', () => {
    const diagnosis = onlyDiagnosis(RICH_LINE, { 'preheat.zone-1.duty.effort-own': 5, 'preheat.zone-1.warm-up-overshoot': 3.5 })
    const [lead, second] = diagnosis.causes
    expect(lead!.cause).toBe('zone-weak')
    expect(second!.probability).toBeGreaterThan(lead!.probability / lead!.members!.length)
    const stances = Object.fromEntries(diagnosis.evidence.filter(({ key }) => key === 'evidence.up').map(({ feature, stance }) => [feature, stance]))
    expect(stances).toEqual({ 'preheat.zone-1.duty.effort-own': 'for', 'preheat.zone-1.warm-up-overshoot': 'against' })
  })

  it('a feature without a value since the change began is no witness of quiet', () => {
    const moved = { 'fluxer.flow.mean': -4, 'fluxer.pressure.mean': -4 }
    const leak = (lastMs: number): number => probabilityOf(onlyDiagnosis(RICH_LINE, {}, { evidence: evidenceOf(RICH_LINE, moved).map((item) => (item.feature === 'fluxer.pressure.hold' ? { ...item, lastMs } : item)) }), 'leaking-seal')
    expect(leak(500_000)).toBeGreaterThan(leak(1_500_000) + 0.05)
  })

  it('a pressure that no longer holds at rest is a leak even while the pump keeps it up', () => {
    const lead = onlyDiagnosis(RICH_LINE, { 'fluxer.pressure.hold': -9 }).causes[0]!
    expect(lead.cause).toBe('leaking-seal')
    expect(lead.probability).toBeGreaterThan(0.6)
    // without the hold a pressure as usual still speaks against it
    expect(probabilityOf(onlyDiagnosis(RICH_LINE, { 'fluxer.flow.mean': -4 }), 'leaking-seal')).toBeLessThan(0.1)
  })

  it('a pot effort that rose by more than boards can take is the element', () => {
    const at = (shift: number, cause: string): number => probabilityOf(onlyDiagnosis(RICH_LINE, {}, { evidence: evidenceOf(RICH_LINE, { 'pot.duty.effort': 6 }, { shift, windows: 8 }) }), cause)
    expect(at(0.35, 'ageing-element')).toBeGreaterThan(0.65)
    expect(at(0.1, 'ageing-element')).toBeLessThan(0.6)
    expect(at(0.35, 'board-load')).toBeLessThan(at(0.1, 'board-load') / 3)
  })

  it('a sensor that lost half of its fast part and goes on losing is no frozen one', () => {
    const fast = zone2('temperature.fast-own')
    const frozen = (creeps: boolean): number => probabilityOf(onlyDiagnosis(RICH_LINE, {}, { evidence: evidenceOf(RICH_LINE, { [fast]: -6 }, { windows: 15, creeps }) }), 'dropout')
    expect(frozen(true)).toBeLessThan(frozen(false) / 3)
  })

  it('a benign cause that no channel of the line would tell is reckoned with more', () => {
    const [untold, told] = [MINIMUM_CHANNELS, [...MINIMUM_CHANNELS, { channel: 'preheat.zone-1.setpoint' }]].map((channels) => definitionOf({ channels }))
    const edited = (definition: LineDefinition): number => probabilityOf(onlyDiagnosis(definition, { 'conveyor.speed.offset': -3 }), 'setpoint-edit')
    expect(edited(told!)).toBeGreaterThan(0)
    expect(edited(untold!)).toBeGreaterThan(1.2 * edited(told!))
  })

  it('symptoms no cause of the table makes: none of these leads and the tool abstains', () => {
    const diagnosis = onlyDiagnosis(RICH_LINE, { 'fluxer.flow.spread': 4, 'fluxer.pressure.mean': 4, 'fluxer.pressure.spread': 4, 'fluxer.flux-per-board': 4 })
    expect(diagnosis.causes[0]!.kind).toBe('none-of-these')
    expect(diagnosis.abstainReason).toBe('none-of-these-leads')
  })

  it('a stronger change weighs more than a weak one', () => {
    const weak = onlyDiagnosis(RICH_LINE, {}, { evidence: evidenceOf(RICH_LINE, { 'fluxer.flow-for-pressure': -1 }, { windows: 1 }) })
    const strong = onlyDiagnosis(RICH_LINE, {}, { evidence: evidenceOf(RICH_LINE, { 'fluxer.flow-for-pressure': -4 }, { windows: 1 }) })
    expect(probabilityOf(strong, 'clogged-nozzle')).toBeGreaterThan(probabilityOf(weak, 'clogged-nozzle') + 0.1)
  })

  it('one vote a mechanism: cold current adds nothing to warm current', () => {
    const warm = onlyDiagnosis(RICH_LINE, { 'conveyor.current.warm': 4 })
    const both = onlyDiagnosis(RICH_LINE, { 'conveyor.current.warm': 4, 'conveyor.current.cold': 4 })
    const lead = (diagnosis: typeof warm): number => diagnosis.causes[0]!.probability
    expect(both.causes[0]!.cause).toBe(warm.causes[0]!.cause)
    // The second reading of the same drag only takes weight from sticky grease, which would show more of it cold.
    expect(lead(both) - lead(warm)).toBeLessThan(0.1)
  })

  it('work history moves the prior: just cleaned is unlikely, long overdue likely', () => {
    const moved = { 'board.topside-temperature.mean': -3, [zone2('duty.effort-own')]: 2 }
    const first = (since: number): string => {
      const lead = onlyDiagnosis(RICH_LINE, moved, { priors: { 'coated-emitter/2': { since, interval: 300 } } }).causes[0]!
      return lead.members?.[0] ?? lead.cause
    }
    expect(first(900)).toBe('coated-emitter')
    expect(first(2)).not.toBe('coated-emitter')
    expect(() => onlyDiagnosis(RICH_LINE, moved, { priors: { 'coated-emitter': { since: -1, interval: 300 } } })).toThrow('expected since >= 0')
  })

  it('abstains where a deciding feature is in doubt', () => {
    const diagnosis = onlyDiagnosis(RICH_LINE, { 'pot.level.offset': -5 }, { doubtful: ['pot.level.offset'] })
    expect(diagnosis.abstainReason).toBe('data-quality')
    expect(diagnosis.causes[0]!.cause).toBe('low-level')
  })

  it('refuses numbers that are none', () => {
    const evidence = evidenceOf(RICH_LINE, { 'pot.level.offset': -5 }).map((item) => ({ ...item, shiftSigma: Number.NaN }))
    expect(() => onlyDiagnosis(RICH_LINE, {}, { evidence })).toThrow('expected finite numbers')
  })

  it('can show all but a stroke that is a little wide', () => {
    expect(invisibleFaults(RICH_LINE)).toEqual(['stroke-too-wide'])
  })

  it('a line that lists no channels sees only what its charts know', () => {
    const unseen = (prefixes: RegExp): readonly string[] => {
      const evidence = evidenceOf(RICH_LINE, { 'pot.level.offset': -5 }).map((item) => (prefixes.test(item.feature) ? { ...item, status: 'learning' as const, centre: 0 } : item))
      return onlyDiagnosis(RICH_LINE, {}, { evidence }).invisible
    }
    expect(unseen(/^(fluxer|board)\./)).toContain('clogged-nozzle')
    // Skips and poor hole fill still show in the boards.
    expect(unseen(/^fluxer\./)).not.toContain('clogged-nozzle')
  })
})
