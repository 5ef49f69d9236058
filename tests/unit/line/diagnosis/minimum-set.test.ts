import { describe, expect, it } from 'vitest'
import { invisibleFaults } from '../../../../src/line/diagnosis/visibility.js'
import { MINIMUM_LINE, MINIMUM_LINE_WITH_CHAIN, definitionOf, diagnoseMoves, evidenceOf, MINIMUM_CHANNELS, onlyDiagnosis, probabilityOf } from './diagnosis-cases.js'

const zone = (n: number, feature: string): string => `preheat.zone-${n}.${feature}`

describe('what zone temperatures, speed and level alone can tell (list C6 of the fault matrix)', () => {
  it('low level: named with high confidence, dip-stick first', () => {
    const diagnosis = onlyDiagnosis(MINIMUM_LINE, { 'pot.level.offset': -4 })
    expect(diagnosis.causes[0]).toMatchObject({ cause: 'low-level', section: 'pot', kind: 'fault' })
    expect(diagnosis.causes[0]!.probability).toBeGreaterThan(0.8)
    expect(diagnosis.abstains).toBe(false)
    expect(diagnosis.checkFirst.check).toBe('dip-stick')
    expect(onlyDiagnosis(MINIMUM_LINE, { 'pot.level.offset': -4, 'pot.level.slope': -3 }).causes[0]!.cause).toBe('low-level')
  })

  it('transport drag: one group of residue, lubricant and wear, and motor current would tell them apart', () => {
    const diagnosis = onlyDiagnosis(MINIMUM_LINE, { 'conveyor.speed.spread': 3 })
    const lead = diagnosis.causes[0]!
    expect(lead).toMatchObject({ cause: 'transport-drag', section: 'transport' })
    expect([...lead.members!].sort()).toEqual(['dirty-chain', 'dirty-rails', 'dry-chain', 'sticky-grease', 'worn-bearing', 'worn-drive', 'worn-sprocket'])
    expect(lead.members![0]).toBe('dirty-chain')
    expect(diagnosis.channelThatWouldTell).toBe('conveyor.current')
  })

  it('strong jumps: still the group, residue and lubricant before wear', () => {
    const lead = onlyDiagnosis(MINIMUM_LINE, { 'conveyor.speed.spread': 5, 'conveyor.speed.jumps': 6 }).causes[0]!
    expect(lead.cause).toBe('transport-drag')
    expect(lead.members!.slice(0, 2)).toEqual(['dirty-chain', 'dry-chain'])
  })

  it('worn sprocket: a line once per turn points away from cleaning', () => {
    const diagnosis = onlyDiagnosis(MINIMUM_LINE_WITH_CHAIN, { 'conveyor.speed.turn-line': 5, 'conveyor.speed.spread': 2 })
    expect(diagnosis.causes[0]).toMatchObject({ cause: 'worn-sprocket' })
    expect(diagnosis.causes[0]!.members).toBeUndefined()
  })

  it('dirty chain against dirty rails: a line once per chain loop decides', () => {
    const repeated = onlyDiagnosis(MINIMUM_LINE_WITH_CHAIN, { 'conveyor.speed.spread': 4, 'conveyor.speed.jumps': 4, 'conveyor.speed.loop-line': 4 })
    expect(repeated.causes[0]!.cause).toBe('dirty-chain')
    const notRepeated = onlyDiagnosis(MINIMUM_LINE_WITH_CHAIN, { 'conveyor.speed.spread': 4, 'conveyor.speed.jumps': 4 })
    expect(notRepeated.causes[0]!.members).toContain('dirty-rails')
  })

  it('coated thermocouple: fast part down, slow part up, overshoot up in one zone; neighbours unchanged speaks for it', () => {
    const moved = { [zone(2, 'temperature.fast-own')]: -4, [zone(2, 'temperature.slow-own')]: 3, [zone(2, 'warm-up-overshoot')]: 3 }
    const diagnosis = onlyDiagnosis(MINIMUM_LINE, moved)
    expect(diagnosis.causes[0]).toMatchObject({ cause: 'coated-thermocouple', section: 'preheat', zone: 2 })
    expect(diagnosis.causes[0]!.probability).toBeGreaterThan(0.9)
    expect(diagnosis.evidence.some((item) => item.key === 'evidence.neighbours-quiet' && item.stance === 'for')).toBe(true)
    expect(diagnosis.checkFirst.check).toBe('look-at-thermocouple')
  })

  it('coated thermocouple on one feature only: leads with less than "likely", and on a faint one the tool abstains', () => {
    const fast = zone(2, 'temperature.fast-own')
    const one = onlyDiagnosis(MINIMUM_LINE, { [fast]: -3 })
    expect(one.causes[0]!.cause).toBe('coated-thermocouple')
    expect(one.causes[0]!.probability).toBeLessThan(0.8)
    const faint = onlyDiagnosis(MINIMUM_LINE, {}, { evidence: evidenceOf(MINIMUM_LINE, { [fast]: -0.8 }, { windows: 1 }) })
    expect(faint.abstains).toBe(true)
    expect(faint.causes[0]!.probability).toBeLessThan(0.6)
  })

  it('weak element: a group led by it, heater duty would separate, no electrician first', () => {
    const diagnosis = onlyDiagnosis(MINIMUM_LINE, { [zone(3, 'warm-up-time')]: 4 })
    const lead = diagnosis.causes[0]!
    expect(lead).toMatchObject({ cause: 'zone-weak', zone: 3 })
    expect(lead.members![0]).toBe('ageing-element')
    expect([...lead.members!].sort()).toEqual(['ageing-element', 'blocked-vents', 'clogged-blower', 'coated-emitter'])
    expect(diagnosis.channelThatWouldTell).toBe('preheat.zone-<n>.duty')
    expect(diagnosis.checkFirst.needsElectrician).toBe(false)
  })

  it('solder loss steeper than usual: low confidence, never dross alone at half the weight or more', () => {
    const diagnosis = onlyDiagnosis(MINIMUM_LINE, { 'pot.level.slope': -4 })
    expect(diagnosis.causes[0]!.section).toBe('pot')
    expect(probabilityOf(diagnosis, 'low-level') + probabilityOf(diagnosis, 'dross-at-intake')).toBeGreaterThan(0.6)
    const alone = diagnosis.causes.find((cause) => cause.cause === 'dross-at-intake')
    expect(alone?.probability ?? 0).toBeLessThan(0.5)
  })

  it('ambient or exhaust: all zones together are air, not fouling', () => {
    const together = { 'preheat.common-movement': 4, [zone(1, 'temperature.slow')]: 3, [zone(2, 'temperature.slow')]: 4, [zone(3, 'temperature.slow')]: 3 }
    const diagnosis = onlyDiagnosis(MINIMUM_LINE, together)
    expect(diagnosis.causes[0]).toMatchObject({ cause: 'ambient-or-exhaust', kind: 'benign', section: 'line' })
    const slower = onlyDiagnosis(MINIMUM_LINE, { [zone(1, 'warm-up-time')]: 3, [zone(2, 'warm-up-time')]: 4, [zone(3, 'warm-up-time')]: 3 })
    expect(slower.causes[0]!.cause).toBe('ambient-or-exhaust')
  })

  it('set-point edit: a mean that moves alone is not called dirt with confidence', () => {
    const diagnosis = onlyDiagnosis(MINIMUM_LINE, { [zone(2, 'temperature.offset')]: 6 })
    expect(diagnosis.abstains).toBe(true)
    expect(diagnosis.causes.slice(0, 3).some((cause) => cause.kind === 'benign')).toBe(true)
    for (const cause of diagnosis.causes.filter(({ kind }) => kind === 'fault')) expect(cause.probability).toBeLessThan(0.5)
  })

  it('top-up and pump switched: a level that reads high is no low level', () => {
    const diagnosis = onlyDiagnosis(MINIMUM_LINE, { 'pot.level.offset': 4 })
    expect(probabilityOf(diagnosis, 'low-level')).toBeLessThan(0.15)
    expect(diagnosis.causes.some(({ cause }) => cause === 'top-up')).toBe(true)
    expect(diagnosis.causes.some(({ cause }) => cause === 'pump-switched')).toBe(true)
  })

  it('is blind to the whole fluxer, blowers, emitters, vents, fingers, early dross and the pot probe', () => {
    const blind = ['clogged-nozzle', 'misoriented-nozzle', 'leaking-seal', 'saturated-filter', 'bad-flux-hose', 'dosing-off', 'stroke-too-wide', 'clogged-blower', 'coated-emitter', 'blocked-vents', 'residue-on-fingers', 'dross-at-intake', 'drifting-pot-probe']
    expect([...invisibleFaults(MINIMUM_LINE)].sort()).toEqual(blind.sort())
    expect(onlyDiagnosis(MINIMUM_LINE, { 'pot.level.offset': -4 }).invisible).toEqual(invisibleFaults(MINIMUM_LINE))
  })

  it('sees less of the chain with the encoder on the motor shaft', () => {
    const motor = definitionOf({ channels: MINIMUM_CHANNELS, machine: { conveyor: { speedSensor: 'motor' } } })
    expect(invisibleFaults(motor)).toContain('dirty-rails')
    expect(invisibleFaults(MINIMUM_LINE)).not.toContain('dirty-rails')
  })

  it('two faults in two places give two diagnoses, in the order of the board', () => {
    const found = diagnoseMoves(MINIMUM_LINE, { 'pot.level.offset': -4, [zone(2, 'temperature.fast-own')]: -4, [zone(2, 'temperature.slow-own')]: 4, 'conveyor.speed.spread': 4 })
    expect(found.map((diagnosis) => diagnosis.causes[0]!.cause)).toEqual(['coated-thermocouple', 'transport-drag', 'low-level'])
  })

  it('says nothing while nothing moves, and nothing of changes for the better', () => {
    expect(diagnoseMoves(MINIMUM_LINE, {})).toEqual([])
    expect(diagnoseMoves(MINIMUM_LINE, { 'conveyor.speed.spread': -5, [zone(1, 'warm-up-time')]: -5, [zone(2, 'temperature.fast-own')]: 5, 'pot.level.slope': 5 })).toEqual([])
  })

  it('is not blinded by a draughty week: a specific symptom in one zone stays one', () => {
    const found = diagnoseMoves(MINIMUM_LINE, { 'preheat.common-movement': 4, [zone(1, 'temperature.slow')]: 3, [zone(2, 'temperature.slow')]: 4, [zone(3, 'temperature.slow')]: 3, [zone(2, 'temperature.fast-own')]: -4, [zone(2, 'warm-up-overshoot')]: 4 })
    expect(found.map((diagnosis) => diagnosis.causes[0]!.cause)).toEqual(['ambient-or-exhaust', 'coated-thermocouple'])
  })
})
