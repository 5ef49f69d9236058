import type { LineDefinition } from '../line-definition.js'
import type { DeclaredChannels } from './declared-channels.js'
import { featureSpec, UNREST_RELEVANT, type FeatureSpec, type SpecDetails } from './feature-spec.js'

/** Width of a usual level band, +-5 mm [CP], where the line does not give its own. */
const USUAL_BAND_MM = [-5, 5] as const
/** A working shift of ten-minute values finds the middle the level is kept at, where no band is given. */
const LEVEL_CENTRE_VALUES = 48
/**
 * What boards, bars and room leave of their own in the effort of a pot, share of it: half-hour values are too few in the first days
 * to learn that, and an element that fails moves it by tens of hundredths. [ASM, from tuning seeds of the simulator: SIM]
 */
const POT_EFFORT_SHARE = 0.04

/** A wave is set again by a few percent now and then; dross at the intake takes a third of its head. [ASM] */
const WAVE_RELEVANT = 0.045

export function potSpecs(definition: LineDefinition, channels: DeclaredChannels): FeatureSpec[] {
  const specs: FeatureSpec[] = []
  const add = (needed: readonly string[], feature: string, details: Omit<SpecDetails, 'section' | 'channels'>): void => {
    if (needed.every((channel) => channels.has(channel))) specs.push(featureSpec(feature, { section: 'pot', channels: needed, ...details }))
  }
  const [bandLower, bandUpper] = definition.machine.pot.levelBandMm ?? USUAL_BAND_MM
  const centre = definition.machine.pot.levelBandMm === undefined ? {} : { centre: (bandLower + bandUpper) / 2 }
  add(['pot.level'], 'pot.level.offset', {
    unit: 'mm', suspicious: 'both', mechanism: 'pot-level',
    // the level wanders through its band between top-ups by right: the band is taken for +-3 sigma
    sigmaFloor: (bandUpper - bandLower) / 12,
    standard: { sigma: (bandUpper - bandLower) / 6, ...centre, centreValues: LEVEL_CENTRE_VALUES },
    title: 'Pot: solder level',
  })
  add(['pot.level'], 'pot.level.slope', {
    unit: 'mm/h', windowS: 3600, suspicious: 'down', mechanism: 'pot-loss', sigmaFloor: 0.15, title: 'Pot: change of the level between top-ups',
  })
  add(['pot.temperature'], 'pot.temperature.offset', {
    unit: '°C', suspicious: 'both', mechanism: 'pot-temperature', perRecipe: !channels.isExplicit('pot.setpoint'), sigmaFloor: 0.15, title: 'Pot: temperature off its set-point',
  })
  add(['pot.temperature'], 'pot.temperature.spread', {
    unit: 'ln °C', windowS: 3600, suspicious: 'up', mechanism: 'pot-swing', perRecipe: true, sigmaFloor: 0.08, title: 'Pot: slow swing of the temperature',
  })
  add(['pot.duty', 'pot.temperature'], 'pot.duty.effort', {
    unit: '% per 100 °C', windowS: 1800, suspicious: 'both', mechanism: 'pot-effort', sigmaFloor: 0.2, standard: { sigma: 0.3, sigmaShare: POT_EFFORT_SHARE, centreValues: 4 }, title: 'Pot: heating effort at the same temperature, load and recipe',
  })
  add(['pot.wave-height', 'pot.pump-speed'], 'pot.wave.height-for-speed', {
    unit: 'mm', suspicious: 'down', mechanism: 'wave-pump', atUsualRecipe: 'ratio', sigmaFloor: 0.05, relevantShare: WAVE_RELEVANT, title: 'Wave: height at the same pump speed and level',
  })
  add(['pot.wave-height', 'pot.pump-speed'], 'pot.wave.speed-for-height', {
    unit: 'share', suspicious: 'up', mechanism: 'wave-pump', atUsualRecipe: 'ratio', sigmaFloor: 0.005, relevantShare: WAVE_RELEVANT, title: 'Wave: pump speed needed for the same height',
  })
  add(['pot.wave-height'], 'pot.wave-height.spread', {
    unit: 'ln mm', suspicious: 'up', mechanism: 'wave-unrest', sigmaFloor: 0.05, relevant: UNREST_RELEVANT, title: 'Wave: unrest of the height',
  })
  return specs
}
