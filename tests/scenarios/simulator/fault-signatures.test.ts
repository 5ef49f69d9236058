import { describe, expect, it } from 'vitest'
import { SIMULATED_FAULTS, type SimulatedFault } from '../../../src/simulator/simulation-causes.js'
import type { SimulationConfig } from '../../../src/simulator/simulation-config.js'
import { referenceRecipe, referenceSite, referenceZone, type ZoneParameters } from '../../../src/simulator/site-parameters.js'
import { studyProduction, whileSpraying, type ChannelStatistics } from './telemetry-study.js'

type Study = Record<string, ChannelStatistics>

function withFault(cause: SimulatedFault, change: Partial<SimulationConfig> & { readonly variant?: string; readonly severity?: number; readonly noZone?: boolean } = {}, hours = 8): Study {
  const { variant, severity = 0.8, noZone = false, ...rest } = change
  const zone = SIMULATED_FAULTS[cause].zoned && !noZone ? { zone: 2 } : {}
  return studyProduction({ faults: [{ cause, ...zone, onsetHours: 0, growthHours: 0, shape: 'step', severityEnd: severity, ...(variant === undefined ? {} : { variant }) }], ...rest }, { hours })
}

const metered = (): Partial<SimulationConfig> => ({ site: { fluxer: { ...referenceSite().fluxer, feed: 'metered-pump' } } })
const zonesWith = (change: Partial<ZoneParameters>): Partial<SimulationConfig> => ({ site: { zones: [1, 2, 3].map(() => ({ ...referenceZone(), ...change })) } })

const clean = studyProduction({}, { hours: 8 })
/** Defects are rare: they need many joints, and only a few channels. */
const dayOfBoards: Partial<SimulationConfig> = {
  site: { recipes: [{ ...referenceRecipe(), jointCount: 5000 }] },
  channels: ['conveyor.speed', 'fluxer.flow', 'fluxer.spray-on', 'board.defects.skip', 'board.defects.residue'],
}
const cleanDay = studyProduction(dayOfBoards, { hours: 16 })
const ratio = (study: Study, channel: string, statistic: 'mean' | 'sd', base: Study = clean): number => study[channel]![statistic] / base[channel]![statistic]

/** Signs of the symptom matrix, at severity 0.8, on the reference line in endless production. */
describe('what each fault does to the channels', () => {
  it('clogged nozzle: flow down and sputtering under pressure feed, pressure up at the same flow with a metered pump', () => {
    const pressureFed = withFault('clogged-nozzle')
    expect(whileSpraying(pressureFed, 'fluxer.flow').mean / whileSpraying(clean, 'fluxer.flow').mean).toBeCloseTo(0.52, 2) // area -48 %
    expect(whileSpraying(pressureFed, 'fluxer.flow').sd).toBeGreaterThan(1.7 * whileSpraying(clean, 'fluxer.flow').sd)
    expect(whileSpraying(pressureFed, 'fluxer.pressure').mean).toBeCloseTo(whileSpraying(clean, 'fluxer.pressure').mean, 2)
    const cleanPump = studyProduction(metered(), { hours: 4 })
    const pumped = withFault('clogged-nozzle', metered(), 4)
    expect(whileSpraying(pumped, 'fluxer.flow').mean / whileSpraying(cleanPump, 'fluxer.flow').mean).toBeCloseTo(1, 2)
    expect(whileSpraying(pumped, 'fluxer.pressure').mean).toBeGreaterThan(2 * whileSpraying(cleanPump, 'fluxer.pressure').mean)
  })

  it('metered pump, area -20 %: pressure up by about 1.56, less the share of the hose', () => {
    const cleanPump = studyProduction(metered(), { hours: 4 })
    const pumped = withFault('clogged-nozzle', { ...metered(), severity: 1 / 3 }, 4)
    const up = whileSpraying(pumped, 'fluxer.pressure').mean / whileSpraying(cleanPump, 'fluxer.pressure').mean
    expect(up).toBeGreaterThan(1 + 0.85 * 0.5625)
    expect(up).toBeLessThan(1.58)
  })

  it('misoriented nozzle: no flux channel moves, skips rise', () => {
    const study = withFault('misoriented-nozzle', { ...dayOfBoards, severity: 1 }, 16)
    const base = cleanDay
    expect(whileSpraying(study, 'fluxer.flow').mean).toBeCloseTo(whileSpraying(base, 'fluxer.flow').mean, 6)
    expect(study['board.defects.skip']!.mean).toBeGreaterThan(2 * base['board.defects.skip']!.mean)
  })

  it('leaking seal: pressure down, flow up at a meter before the leak and down at one behind it, idle pressure falls fast', () => {
    const before = withFault('leaking-seal')
    const behind = withFault('leaking-seal', { variant: 'downstream-meter' })
    expect(whileSpraying(before, 'fluxer.pressure').mean).toBeLessThan(0.7 * whileSpraying(clean, 'fluxer.pressure').mean)
    expect(whileSpraying(before, 'fluxer.flow').mean).toBeGreaterThan(1.1 * whileSpraying(clean, 'fluxer.flow').mean)
    expect(whileSpraying(behind, 'fluxer.flow').mean).toBeLessThan(0.8 * whileSpraying(clean, 'fluxer.flow').mean)
    expect(before['fluxer.pressure']!.min).toBeLessThan(0.2 * clean['fluxer.pressure']!.min)
  })

  it('saturated filter: suction down, duty of zone 1 a little down, the others unmoved, residue up', () => {
    const study = withFault('saturated-filter')
    expect(Math.abs(ratio(study, 'exhaust.pressure', 'mean'))).toBeLessThan(0.4)
    expect(ratio(study, 'preheat.zone-1.duty', 'mean')).toBeLessThan(0.95)
    expect(ratio(study, 'preheat.zone-3.duty', 'mean')).toBeCloseTo(1, 1)
    expect(ratio(study, 'board.defects.residue', 'mean')).toBeGreaterThan(1.5)
  })

  it('flux hose: flow and pressure at the head down; a bent one swings at the stroke frequency', () => {
    const dirty = withFault('bad-flux-hose', { variant: 'dirty' })
    const bent = withFault('bad-flux-hose', { variant: 'bent' })
    for (const study of [dirty, bent]) {
      expect(whileSpraying(study, 'fluxer.flow').mean).toBeLessThan(0.85 * whileSpraying(clean, 'fluxer.flow').mean)
      expect(whileSpraying(study, 'fluxer.pressure').mean).toBeLessThan(0.75 * whileSpraying(clean, 'fluxer.pressure').mean)
    }
    expect(whileSpraying(bent, 'fluxer.flow').sd).toBeGreaterThan(3 * whileSpraying(dirty, 'fluxer.flow').sd)
  })

  it('dosing: flow follows the dose; gaps make skips', () => {
    const gap = withFault('dosing-off', { ...dayOfBoards, variant: 'gap', severity: 1 }, 16)
    const overlap = withFault('dosing-off', { ...dayOfBoards, variant: 'overlap', severity: 1 }, 16)
    const base = cleanDay
    expect(whileSpraying(gap, 'fluxer.flow').mean / whileSpraying(base, 'fluxer.flow').mean).toBeCloseTo(0.7, 2)
    expect(whileSpraying(overlap, 'fluxer.flow').mean / whileSpraying(base, 'fluxer.flow').mean).toBeCloseTo(1.3, 2)
    expect(gap['board.defects.skip']!.mean).toBeGreaterThan(2 * base['board.defects.skip']!.mean)
    expect(overlap['board.defects.residue']!.mean).toBeGreaterThan(1.3 * base['board.defects.residue']!.mean)
  })

  it('stroke too wide: flow up at once, the chain slowly dirtier', () => {
    const study = withFault('stroke-too-wide', { channels: ['fluxer.flow', 'fluxer.spray-on', 'conveyor.current'] }, 60)
    expect(whileSpraying(study, 'fluxer.flow').mean / whileSpraying(clean, 'fluxer.flow').mean).toBeCloseTo(1.32, 2)
    const early = study['conveyor.current']!.values.slice(0, 3600)
    const late = study['conveyor.current']!.values.slice(-3600)
    expect(late.reduce((sum, value) => sum + value, 0)).toBeGreaterThan(1.01 * early.reduce((sum, value) => sum + value, 0))
  })

  it('clogged blower: board colder and current down at an unmoved reading; duty up at board level, down at the heater outlet', () => {
    const study = withFault('clogged-blower')
    expect(study['preheat.zone-2.temperature']!.mean).toBeCloseTo(130, 1)
    expect(study['board.topside-temperature']!.mean).toBeLessThan(clean['board.topside-temperature']!.mean - 4)
    expect(ratio(study, 'preheat.zone-2.blower-current', 'mean')).toBeCloseTo(0.72, 1)
    const duty = ratio(study, 'preheat.zone-2.duty', 'mean')
    expect(duty).toBeGreaterThan(1.005)
    expect(duty).toBeLessThan(1.05)
    const outlet = zonesWith({ thermocouple: 'heater-outlet' })
    expect(ratio(withFault('clogged-blower', outlet), 'preheat.zone-2.duty', 'mean', studyProduction(outlet, { hours: 8 }))).toBeLessThan(0.95)
    const constantFlow = zonesWith({ blower: 'constant-flow' })
    expect(ratio(withFault('clogged-blower', constantFlow), 'preheat.zone-2.blower-current', 'mean', studyProduction(constantFlow, { hours: 8 }))).toBeGreaterThan(1.1)
  })

  it('coated emitter: board colder, duty a little up with the sensor in air and down with it on the element', () => {
    const study = withFault('coated-emitter')
    expect(study['preheat.zone-2.temperature']!.mean).toBeCloseTo(130, 1)
    expect(study['board.topside-temperature']!.mean).toBeLessThan(clean['board.topside-temperature']!.mean - 2)
    expect(ratio(study, 'preheat.zone-2.duty', 'mean')).toBeGreaterThan(1.02)
    const element = zonesWith({ thermocouple: 'on-element' })
    expect(ratio(withFault('coated-emitter', element), 'preheat.zone-2.duty', 'mean', studyProduction(element, { hours: 8 }))).toBeLessThan(0.95)
  })

  it('blocked vents: duty of that zone far down, others unmoved; blocked outlets push it up', () => {
    const study = withFault('blocked-vents', { variant: 'extraction' })
    expect(ratio(study, 'preheat.zone-2.duty', 'mean')).toBeLessThan(0.75)
    expect(ratio(study, 'preheat.zone-3.duty', 'mean')).toBeCloseTo(1, 1)
    expect(ratio(withFault('blocked-vents', { variant: 'outlet' }), 'preheat.zone-2.duty', 'mean')).toBeGreaterThan(1.005)
  })

  it('ageing element: duty far up in that zone at the same reading, or in the pot', () => {
    const zone = withFault('ageing-element')
    expect(zone['preheat.zone-2.temperature']!.mean).toBeCloseTo(130, 1)
    expect(ratio(zone, 'preheat.zone-2.duty', 'mean')).toBeCloseTo(1 / 0.6, 1)
    const pot = withFault('ageing-element', { noZone: true })
    expect(ratio(pot, 'pot.duty', 'mean')).toBeGreaterThan(1.5)
    expect(ratio(pot, 'preheat.zone-2.duty', 'mean')).toBeCloseTo(1, 1)
    const leg = withFault('ageing-element', { variant: 'leg-lost', severity: 1 })
    expect(ratio(leg, 'preheat.zone-2.duty', 'mean')).toBeCloseTo(1.5, 1)
  })

  it('transport: dirt, dryness and grease raise the current; dirt and dryness roughen the speed, warm grease does not', () => {
    const studies = Object.fromEntries((['dirty-rails', 'dirty-chain', 'dry-chain', 'sticky-grease'] as const).map((cause) => [cause, withFault(cause)]))
    for (const study of Object.values(studies)) expect(ratio(study, 'conveyor.current', 'mean')).toBeGreaterThan(1.08)
    for (const cause of ['dirty-rails', 'dirty-chain', 'dry-chain']) {
      expect(ratio(studies[cause]!, 'conveyor.speed', 'sd'), cause).toBeGreaterThan(2)
      expect(ratio(studies[cause]!, 'conveyor.speed-sd', 'mean'), cause).toBeGreaterThan(3)
    }
    expect(ratio(studies['sticky-grease']!, 'conveyor.speed', 'sd')).toBeLessThan(1.2)
    expect(ratio(studies['sticky-grease']!, 'conveyor.speed-sd', 'mean')).toBeLessThan(0.8)
    expect(ratio(studies['dirty-chain']!, 'conveyor.speed', 'sd')).toBeGreaterThan(1.5 * ratio(studies['dirty-rails']!, 'conveyor.speed', 'sd'))
    expect(ratio(studies['dry-chain']!, 'conveyor.current', 'mean')).toBeGreaterThan(ratio(studies['dirty-chain']!, 'conveyor.current', 'mean'))
  })

  it('sticky grease: far higher current cold than warm', () => {
    const cold = studyProduction({ faults: [{ cause: 'sticky-grease', onsetHours: 0, growthHours: 0, shape: 'step', severityEnd: 0.8 }] }, { hours: 3, skipHours: 0 })['conveyor.current']!.values
    const early = cold.slice(120, 420).reduce((sum, value) => sum + value, 0) / 300
    const late = cold.slice(-300).reduce((sum, value) => sum + value, 0) / 300
    expect(early).toBeGreaterThan(1.25 * late)
  })

  it('wear: sprocket writes a line at its turn, a weary drive falls below its set-point, a bearing raises the drag', () => {
    const sprocket = withFault('worn-sprocket')
    expect(power(sprocket['conveyor.speed']!.values, 20 / 25.4 / 12)).toBeGreaterThan(50 * power(clean['conveyor.speed']!.values, 20 / 25.4 / 12))
    const drive = withFault('worn-drive')
    expect(drive['conveyor.speed']!.mean).toBeCloseTo(20 * (1 - 0.03 * 0.8), 1)
    expect(ratio(drive, 'conveyor.current', 'mean')).toBeGreaterThan(1.12)
    expect(ratio(withFault('worn-bearing'), 'conveyor.current', 'mean')).toBeGreaterThan(1.03)
  })

  it('dirty rails ring at the finger pass, a dirty chain once per loop', () => {
    const loopHz = 20 / 12_000
    const rails = withFault('dirty-rails')['conveyor.speed']!.values
    expect(power(rails, 20 / 50.8)).toBeGreaterThan(20 * power(clean['conveyor.speed']!.values, 20 / 50.8))
    const chain = withFault('dirty-chain')['conveyor.speed']!.values
    expect(power(chain, loopHz)).toBeGreaterThan(3 * power(rails, loopHz))
  })

  it('residue on fingers: no process channel moves, skips rise', () => {
    const study = withFault('residue-on-fingers', { ...dayOfBoards, severity: 1 }, 16)
    const base = cleanDay
    expect(ratio(study, 'conveyor.speed', 'sd', base)).toBeCloseTo(1, 6)
    expect(ratio(study, 'board.defects.skip', 'mean', base)).toBeGreaterThan(1.8)
  })

  it('low level: the level lies 30 mm low, the wave is lower and uneven, more so than the level alone lets it fall', () => {
    const study = withFault('low-level', { severity: 1 })
    expect(study['pot.level']!.min).toBeLessThan(-29)
    expect(study['pot.wave-height']!.mean).toBeCloseTo(8.27, 0)
    expect(ratio(study, 'pot.wave-height', 'sd')).toBeGreaterThan(3)
  })

  it('dross at the intake: wave lower and uneven, or the pump faster where the height is held; a float reads high', () => {
    const study = withFault('dross-at-intake')
    expect(study['pot.wave-height']!.mean).toBeLessThan(7.2)
    expect(ratio(study, 'pot.wave-height', 'sd')).toBeGreaterThan(3)
    const held: Partial<SimulationConfig> = { site: { pot: { ...referenceSite().pot, waveControl: 'height', levelSensor: 'float' } } }
    const heldClean = studyProduction(held, { hours: 8 })
    expect(ratio(withFault('dross-at-intake', held), 'pot.pump-speed', 'mean', heldClean)).toBeGreaterThan(1.3)
    expect(withFault('dross-at-intake', { ...held, benign: { topUps: false } })['pot.level']!.values[0]! - studyProduction({ ...held, benign: { topUps: false } }, { hours: 1 })['pot.level']!.values[0]!).toBeGreaterThan(1)
  })

  it('drifting pot probe: reading unmoved, the true temperature off, the duty tells', () => {
    const high = withFault('drifting-pot-probe', { variant: 'reads-high' })
    const low = withFault('drifting-pot-probe', { variant: 'reads-low' })
    for (const study of [high, low]) expect(study['pot.temperature']!.mean).toBeCloseTo(260, 0)
    expect(ratio(high, 'pot.duty', 'mean')).toBeLessThan(0.985)
    expect(ratio(low, 'pot.duty', 'mean')).toBeGreaterThan(1.01)
  })

  it('every fault has a signature above', () => {
    const covered: readonly SimulatedFault[] = [
      'clogged-nozzle', 'misoriented-nozzle', 'leaking-seal', 'saturated-filter', 'bad-flux-hose', 'dosing-off', 'stroke-too-wide', 'clogged-blower', 'coated-emitter', 'blocked-vents', 'dirty-rails', 'dirty-chain', 'dry-chain',
      'sticky-grease', 'residue-on-fingers', 'worn-sprocket', 'worn-bearing', 'worn-drive', 'low-level', 'dross-at-intake', 'drifting-pot-probe', 'ageing-element',
      'coated-thermocouple', // in behaviour.test.ts
    ]
    expect([...covered].sort()).toEqual(Object.keys(SIMULATED_FAULTS).sort())
  })
})

/** Power of a 1 s signal at one frequency (single-bin Fourier sum), per value. */
function power(values: readonly number[], frequencyHz: number): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length
  let real = 0
  let imaginary = 0
  values.forEach((value, index) => {
    real += (value - mean) * Math.cos(2 * Math.PI * frequencyHz * index)
    imaginary += (value - mean) * Math.sin(2 * Math.PI * frequencyHz * index)
  })
  return (real * real + imaginary * imaginary) / values.length
}
