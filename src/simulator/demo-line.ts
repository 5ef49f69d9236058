import { hoursUntilShiftHours, shiftHoursPerDay } from './production-calendar.js'
import { RandomStream } from './random-stream.js'
import type { SimulatedFault } from './simulation-causes.js'
import type { BenignConfig, FaultEpisode, SimulationConfig } from './simulation-config.js'
import { referenceRecipe, referenceSite, type SiteParameters } from './site-parameters.js'
import type { SimulatedSample } from './telemetry-output.js'

export const DEMO_DAYS = 8
/** Production days before the fault of the faulty line begins: its baseline. */
const ONSET_PRODUCTION_DAYS = 3.5

/** Faults that zone temperatures, speed and level alone can show. */
export const DEMO_FAULTS: readonly SimulatedFault[] = ['dirty-chain', 'dry-chain', 'coated-thermocouple', 'low-level', 'worn-sprocket', 'ageing-element']

export interface DemoRequest {
  readonly seed: number
  readonly line: 'faulty' | 'healthy'
  readonly startMs: number
}

/**
 * A line of the demonstration: eight days, minimum channels with set-points, recipe and board count. The faulty line's fault comes
 * from the seed, begins after three and a half production days and is severe one and a half to two production days later.
 */
export function demoConfig({ seed, line, startMs }: DemoRequest): SimulationConfig {
  const site = demoSite(seed, line)
  return {
    seed,
    startMs,
    durationHours: DEMO_DAYS * 24,
    // The usual few and the drive's current, which shows what a dry or dirty chain costs before its motion does.
    channels: [...site.zones.flatMap((_, index) => [`preheat.zone-${index + 1}.temperature`, `preheat.zone-${index + 1}.setpoint`]), 'conveyor.speed', 'conveyor.setpoint', 'conveyor.current', 'pot.level', 'board.count', 'line.recipe'],
    // One message every two simulated seconds keeps the rate bearable at thousands of times real time.
    periodsS: { 'conveyor.speed': 2, 'conveyor.current': 4, 'preheat.zone-<n>.temperature': 4, 'pot.level': 30, 'board.count': 30 },
    site,
    faults: line === 'faulty' ? [demoFault(seed, site, startMs)] : [],
    benign: demoBenign(seed, line),
  }
}

/** The JSON payload one tick is published as: `{"t": ms UTC, "v": {channel: value}}`. */
export function samplesAsMessage(sample: SimulatedSample): string {
  return JSON.stringify({ t: sample.timeMs, v: Object.fromEntries(sample.values) })
}

function demoSite(seed: number, line: DemoRequest['line']): SiteParameters {
  const random = new RandomStream(seed, `demo.site.${line}`)
  const site = referenceSite()
  for (const zone of site.zones) {
    zone.sensorLagS = random.uniform(3, 5)
    zone.sensorBiasC = random.uniform(-1, 1)
    zone.airLossWPerK *= random.uniform(0.9, 1.15)
    zone.gainPerK *= random.uniform(0.85, 1.15)
  }
  const shiftC = 5 * random.integer(-1, 1)
  site.recipes = [
    { ...referenceRecipe(), id: 'control-board', zoneTemperaturesC: [110 + shiftC, 130 + shiftC, 150 + shiftC] },
    { ...referenceRecipe(), id: 'power-board', zoneTemperaturesC: [120 + shiftC, 140 + shiftC, 160 + shiftC], speedMmS: 17.5, boardIntervalS: 36, boardHeatCapacityJPerK: 460, boardTauS: 72 },
  ]
  site.conveyor.noiseShare = random.uniform(0.006, 0.008)
  site.habits = { ...site.habits, workdays: [0, 1, 2, 3, 4, 5, 6], changeoversPerShift: [1, 2], intervalJitterS: 3 }
  return site
}

function demoFault(seed: number, site: SiteParameters, startMs: number): FaultEpisode {
  const random = new RandomStream(seed, 'demo.fault')
  const cause = random.pick(DEMO_FAULTS)
  const zone = random.integer(1, site.zones.length)
  const dayHours = shiftHoursPerDay(site.habits)
  const episode: FaultEpisode = {
    cause,
    onsetHours: hoursUntilShiftHours(site.habits, startMs, ONSET_PRODUCTION_DAYS * dayHours),
    growthHours: random.uniform(1.5, 2) * dayHours,
  }
  // Wear that takes months is shown in days, but as steadily as in life.
  if (cause === 'worn-sprocket' || cause === 'ageing-element') episode.shape = 'linear'
  if (cause === 'ageing-element' || cause === 'coated-thermocouple') episode.zone = zone
  return episode
}

/** What an ordinary week brings: draught, a warmer hall, busier and quieter hours. */
function demoBenign(seed: number, line: DemoRequest['line']): BenignConfig {
  const random = new RandomStream(seed, `demo.benign.${line}`)
  const at = (): number => random.uniform(24, DEMO_DAYS * 24)
  return {
    draughts: Array.from({ length: 3 }, () => ({ atHours: at(), hours: random.uniform(0.5, 2), sd: random.uniform(0.06, 0.12) })),
    ambients: [{ atHours: at(), hours: random.uniform(12, 30), deltaC: random.uniform(-3, 4) }],
    loads: Array.from({ length: 3 }, () => ({ atHours: at(), hours: random.uniform(2, 6), rateFactor: random.uniform(0.7, 1.2), heatFactor: random.uniform(0.9, 1.2) })),
  }
}
