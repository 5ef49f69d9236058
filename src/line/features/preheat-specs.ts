import type { LineDefinition } from '../line-definition.js'
import type { DeclaredChannels } from './declared-channels.js'
import { featureSpec, UNREST_RELEVANT, type FeatureRefusal, type FeatureSpec, type SpecDetails } from './feature-spec.js'

/** The fast part (below 20 s) needs at least five readings in a little over 20 s. */
export const FAST_PERIOD_S_MAX = 6
/** Start-ups a week. */
const STARTS_PER_WEEK = 5
/** Set-point steps a week in the usable range of sizes: a guess from 1-6 recipe changes a shift [ASM]. */
const STEPS_PER_WEEK = 20

export function preheatSpecs(definition: LineDefinition, channels: DeclaredChannels, refusals: FeatureRefusal[]): FeatureSpec[] {
  const zones = definition.machine.zones.map((_, index) => index + 1)
  const withTemperature = zones.filter((zone) => channels.has(temperatureOf(zone)))
  return [
    ...withTemperature.flatMap((zone) => temperatureSpecs(zone, withTemperature.length, channels, refusals)),
    ...(withTemperature.length >= 2 ? [commonSpec(withTemperature)] : []),
    ...zones.flatMap((zone) => [...dutySpecs(zone, heatedZones(zones, channels)), ...blowerSpecs(zone, channels)]),
  ]
}

export function temperatureOf(zone: number): string {
  return `preheat.zone-${zone}.temperature`
}

export function setpointOf(zone: number): string {
  return `preheat.zone-${zone}.setpoint`
}

function temperatureSpecs(zone: number, zoneCount: number, channels: DeclaredChannels, refusals: FeatureRefusal[]): FeatureSpec[] {
  const channel = temperatureOf(zone)
  const zoned = (details: Omit<SpecDetails, 'section' | 'zone' | 'channels'>): SpecDetails => ({ section: 'preheat', zone, channels: [channel], ...details })
  const withSetpoint = channels.isExplicit(setpointOf(zone))
  const specs = [
    featureSpec(`${channel}.offset`, zoned({
      unit: '°C', suspicious: 'both', mechanism: `zone-${zone}-mean`, perRecipe: !withSetpoint,
      // sd of a 10 min mean: 0.05 °C under steady load (worked number G26), 0.6 °C with boards in batches (0.93 °C, 120 s) [SIM]
      sigmaFloor: 0.3, title: withSetpoint ? `Zone ${zone}: temperature off its set-point` : `Zone ${zone}: mean temperature`,
    })),
    featureSpec(`${channel}.slow`, zoned({
      unit: 'ln °C', windowS: 3600, suspicious: 'up', mechanism: `zone-${zone}-swing`, perRecipe: true,
      sigmaFloor: 0.05, title: `Zone ${zone}: slow swing of the temperature (1 to 20 min)`,
    })),
  ]
  if (zoneCount >= 2) {
    specs.push(featureSpec(`${channel}.slow-own`, zoned({
      unit: 'ln ratio', windowS: 3600, suspicious: 'up', mechanism: `zone-${zone}-swing`,
      sigmaFloor: 0.05, title: `Zone ${zone}: slow swing beside that of the other zones`,
    })))
  }
  specs.push(...fastSpecs(zone, zoneCount, channels, refusals, zoned), ...responseSpecs(zone, channels, zoned))
  return specs
}

type Zoned = (details: Omit<SpecDetails, 'section' | 'zone' | 'channels'>) => SpecDetails

/**
 * Draught and load make the fast movement a tenth and more livelier or calmer for days, and hardly less of that is left beside the other
 * zones, which get another share of both; a coat that doubles the sensor's time takes half of it. [ASM]
 */
const FAST_RELEVANT = 0.2

/** A tenth slower is a mains two per cent low and a cold morning; a centre of three starts is no better known. [ASM] */
const START_UP_RELEVANT = 0.1

function fastSpecs(zone: number, zoneCount: number, channels: DeclaredChannels, refusals: FeatureRefusal[], zoned: Zoned): FeatureSpec[] {
  const channel = temperatureOf(zone)
  const periodS = channels.periodS(channel)
  const names = zoneCount >= 2 ? [`${channel}.fast`, `${channel}.fast-own`] : [`${channel}.fast`]
  if (periodS > FAST_PERIOD_S_MAX) {
    for (const feature of names) refusals.push({ feature, reason: `${channel} comes every ${periodS} s; the part faster than 20 s needs a reading at least every ${FAST_PERIOD_S_MAX} s` })
    return []
  }
  return names.map((feature) => featureSpec(feature, zoned({
    unit: feature.endsWith('-own') ? 'ln ratio' : 'ln °C', suspicious: 'down', mechanism: `zone-${zone}-sensor-speed`,
    sigmaFloor: 0.03, relevant: FAST_RELEVANT, passes: true, title: feature.endsWith('-own') ? `Zone ${zone}: fast movement beside that of the other zones` : `Zone ${zone}: fast movement of the temperature (below 20 s)`,
  })))
}

function responseSpecs(zone: number, channels: DeclaredChannels, zoned: Zoned): FeatureSpec[] {
  const base = `preheat.zone-${zone}`
  const specs = [
    featureSpec(`${base}.warm-up-time`, zoned({
      unit: 's', windowS: 1800, states: ['warm-up'], suspicious: 'up', mechanism: `zone-${zone}-heating`, pointsPerWeek: STARTS_PER_WEEK,
      // three starts make the centre; mains voltage (2 % is 4 % of the power) and the hall leave some 5 % [ASM], the sampling 4 s
      // and half the time between two readings
      sigmaFloor: Math.max(2, channels.periodS(temperatureOf(zone)) / 4), standard: { sigma: Math.max(4, channels.periodS(temperatureOf(zone)) / 2), sigmaShare: 0.06, centreValues: 3 }, relevantShare: START_UP_RELEVANT, toldByOne: true, title: `Zone ${zone}: time to heat up`,
    })),
    featureSpec(`${base}.warm-up-overshoot`, zoned({
      unit: '°C', windowS: 1800, states: ['warm-up'], suspicious: 'up', mechanism: `zone-${zone}-damping`, pointsPerWeek: STARTS_PER_WEEK,
      // a coat on the sensor makes the overshoot several times as large [SIM]; a degree and a fifth of it come and go with the start,
      // two degrees and more with what it heats up to, which few start-ups cannot take out
      sigmaFloor: 0.3, relevant: 2.5, standard: { sigma: 1, sigmaShare: 0.2, centreValues: 3 }, title: `Zone ${zone}: overshoot at the end of heating up`,
    })),
  ]
  if (channels.has(setpointOf(zone))) {
    const step = (details: Pick<SpecDetails, 'unit' | 'sigmaFloor' | 'title'>): SpecDetails => ({
      ...zoned({ ...details, windowS: 900, states: ['production', 'settling', 'changeover', 'idle'], suspicious: 'up', mechanism: `zone-${zone}-damping`, perRecipe: true, pointsPerWeek: STEPS_PER_WEEK }),
      channels: [temperatureOf(zone), setpointOf(zone)],
    })
    specs.push(
      featureSpec(`${base}.step-response`, step({ unit: 's', sigmaFloor: 4, title: `Zone ${zone}: time to follow a set-point step (63 %)` })),
      featureSpec(`${base}.step-overshoot`, step({ unit: 'share', sigmaFloor: 0.03, title: `Zone ${zone}: overshoot after a set-point step` })),
    )
  }
  return specs
}

function commonSpec(zones: readonly number[]): FeatureSpec {
  return featureSpec('preheat.common-movement', {
    section: 'preheat', channels: zones.map(temperatureOf), unit: 'ln °C', windowS: 3600, suspicious: 'up', mechanism: 'preheat-common',
    perRecipe: true, sigmaFloor: 0.05, title: 'Preheat: movement that all zones share',
  })
}

function heatedZones(zones: readonly number[], channels: DeclaredChannels): number[] {
  return zones.filter((zone) => channels.has(`preheat.zone-${zone}.duty`) && channels.has(temperatureOf(zone)))
}

/** Mains, air and the boards' mix leave a percent or two of their own in each zone. [ASM] */
const EFFORT_RELEVANT = 0.02

function dutySpecs(zone: number, heated: readonly number[]): FeatureSpec[] {
  const channel = `preheat.zone-${zone}.duty`
  if (!heated.includes(zone)) return []
  const effort = { section: 'preheat', zone, unit: '% per 100 °C', suspicious: 'both', mechanism: `zone-${zone}-effort`, atUsualRecipe: 'ratio', passes: true } as const
  const specs = [featureSpec(`${channel}.effort`, { ...effort, channels: [channel, temperatureOf(zone)], sigmaFloor: 0.3, title: `Zone ${zone}: heating effort at the same temperature and load` })]
  if (heated.length >= 2) {
    specs.push(featureSpec(`${channel}.effort-own`, {
      ...effort, channels: heated.flatMap((one) => [`preheat.zone-${one}.duty`, temperatureOf(one)]),
      sigmaFloor: 0.15, relevantShare: EFFORT_RELEVANT, title: `Zone ${zone}: heating effort beside that of the other zones`,
    }))
  }
  return [...specs, featureSpec(`${channel}.spread`, {
    section: 'preheat', zone, channels: [channel], unit: 'ln %', windowS: 3600, suspicious: 'up', mechanism: `zone-${zone}-swing`,
    perRecipe: true, sigmaFloor: 0.05, title: `Zone ${zone}: slow swing of the heater duty`,
  })]
}

/** Mains and the room's air move a blower's current by a percent or two; a clogged one draws a third less, or a fifth more where its flow is kept. [ASM] */
const BLOWER_RELEVANT = 0.04

function blowerSpecs(zone: number, channels: DeclaredChannels): FeatureSpec[] {
  const channel = `preheat.zone-${zone}.blower-current`
  if (!channels.has(channel)) return []
  return [
    featureSpec(`${channel}.mean`, {
      section: 'preheat', zone, channels: [channel], unit: 'A', suspicious: 'both', mechanism: `zone-${zone}-blower`,
      atUsualRecipe: 'ratio', sigmaFloor: 0.005, relevantShare: BLOWER_RELEVANT, title: `Zone ${zone}: blower current`,
    }),
    featureSpec(`${channel}.spread`, {
      section: 'preheat', zone, channels: [channel], unit: 'ln share', suspicious: 'up', mechanism: `zone-${zone}-blower-balance`,
      sigmaFloor: 0.05, relevant: UNREST_RELEVANT, title: `Zone ${zone}: unrest of the blower current`,
    }),
  ]
}
