import { drawSite } from './draw-site.js'
import { hoursUntilShiftHours, shiftHoursPerDay } from './production-calendar.js'
import { RandomStream } from './random-stream.js'
import { sectionOfFault, SIMULATED_FAULTS, type SimulatedFault } from './simulation-causes.js'
import type { BenignConfig, DataTrap, FaultEpisode, MaintenanceWork, SimulationConfig } from './simulation-config.js'
import type { SiteParameters } from './site-parameters.js'

export interface ScenarioRequest {
  readonly seed: number
  /**
   * `healthy`: ordinary life with its benign events and no fault; `fault`: the same with one fault that grows; `fouling`: residue
   * builds up everywhere at its own rate and the shop cleans by the calendar.
   */
  readonly kind: 'healthy' | 'fault' | 'fouling'
  readonly channels: SimulationConfig['channels']
  /** Default 12. */
  readonly days?: number
  /** The fault; drawn when absent. */
  readonly cause?: SimulatedFault
  /** Preheat zone of the fault; drawn when absent. */
  readonly zone?: number
  /** Default 2026-01-05 00:00 UTC, a Monday. */
  readonly startMs?: number
  /** No benign events but the working day itself; default false. */
  readonly quiet?: boolean
  /** Publish once a minute while the line is off, as a gateway that sleeps; default false. */
  readonly sleepsWhenOff?: boolean
  /** `late` (default): the onset lies between 45 and 65 % of the span; `early`: after three to four production days. */
  readonly onset?: 'late' | 'early'
  /** Severity the fault ends at, 0-1; drawn from 0.75 to 1 when absent. */
  readonly severityEnd?: number
  /** 2: a second fault in another section, with an onset of its own in the same range; default 1. */
  readonly faultCount?: 1 | 2
  /** The second fault; drawn from another section when absent. */
  readonly secondCause?: SimulatedFault
}

const MONDAY_MS = Date.UTC(2026, 0, 5)

/**
 * A random plant with a random course of events, for judging a detector on many lines. The onset lies in production time
 * between 45 and 65 % of the span, so that there is a baseline before it and time to see it after.
 */
export function drawScenario(request: ScenarioRequest): SimulationConfig {
  const { seed, kind, channels } = request
  const days = request.days ?? 12
  const startMs = request.startMs ?? MONDAY_MS
  const site = drawSite(seed)
  const periods = new RandomStream(seed, 'scenario.periods')
  const config: SimulationConfig = {
    seed,
    startMs,
    durationHours: 24 * days,
    channels,
    periodsS: { 'preheat.zone-<n>.temperature': periods.pick([1, 2, 5, 5]), 'conveyor.speed': periods.pick([1, 1, 2]), 'pot.level': periods.pick([10, 30, 60]), ...richPeriodsS(periods) },
    site: 'drawn',
    faults: [],
    benign: request.quiet === true ? {} : drawBenign(seed, days, site.zones.length),
    cleanings: request.quiet === true ? [] : drawRoutineWork(seed, days, kind === 'fouling'),
    traps: request.quiet === true ? [] : drawTraps(seed, days, site.zones.length),
  }
  if (request.sleepsWhenOff === true) config.offPeriodS = 60
  if (kind === 'fouling') config.naturalDepositRate = 1
  if (kind === 'fault') {
    const fault = drawFault(request, 'scenario.fault', days, site, request.cause)
    config.faults = request.faultCount === 2 ? [fault, drawSecondFault(request, fault, days, site)] : [fault]
    // A chain runs dry because nobody lubricates it any more.
    for (const { cause, onsetHours } of config.faults) if (cause === 'dry-chain') config.cleanings = config.cleanings!.filter(({ atHours }) => atHours < onsetHours)
  }
  return config
}

/** A line with many channels publishes most of them every few seconds; all inside the usual sample periods of the channel list. */
function richPeriodsS(periods: RandomStream): Partial<Record<string, number>> {
  const heat = periods.pick([5, 10, 10])
  const drive = periods.pick([1, 2, 5])
  return {
    'preheat.zone-<n>.duty': heat,
    'preheat.zone-<n>.blower-current': heat,
    'pot.temperature': heat,
    'pot.duty': heat,
    'pot.pump-speed': heat,
    'conveyor.speed-sd': drive,
    'conveyor.speed-min': drive,
    'conveyor.speed-max': drive,
  }
}

const CAUSES = Object.keys(SIMULATED_FAULTS) as SimulatedFault[]

function drawFault(request: ScenarioRequest, stream: string, days: number, site: SiteParameters, wanted: SimulatedFault | undefined): FaultEpisode {
  const random = new RandomStream(request.seed, stream)
  const drawn = random.pick(CAUSES)
  const cause = wanted ?? drawn
  const zone = random.integer(1, site.zones.length)
  const inPot = random.chance(0.3)
  const { growth, zoned } = SIMULATED_FAULTS[cause]
  const onsetShare = random.next()
  const growthHours = growth === 'step' ? 0 : random.uniform(16, 48)
  const severityEnd = random.uniform(0.75, 1)
  const episode: FaultEpisode = {
    cause,
    onsetHours: onsetHours(request, days, site, onsetShare),
    growthHours,
    severityEnd: request.severityEnd ?? severityEnd,
    // Wear that takes months is shown in days, but as steadily as in life.
    ...(growth === 'wear' ? { shape: 'linear' as const } : {}),
  }
  const variants = VARIANTS[cause]
  if (variants !== undefined) episode.variant = random.pick(variants)
  if (request.zone !== undefined && zoned) episode.zone = request.zone
  else if (zoned && !(cause === 'ageing-element' && inPot)) episode.zone = zone
  return episode
}

/** A second fault sits in another section, so that each can be told from the other. */
function drawSecondFault(request: ScenarioRequest, first: FaultEpisode, days: number, site: SiteParameters): FaultEpisode {
  const firstSection = sectionOfFault(first.cause as SimulatedFault, first.zone)
  const others = CAUSES.filter((cause) => SIMULATED_FAULTS[cause].section !== firstSection)
  const cause = request.secondCause ?? new RandomStream(request.seed, 'scenario.second-cause').pick(others)
  return drawFault(request, 'scenario.fault-2', days, site, cause)
}

function onsetHours({ onset, startMs = MONDAY_MS }: ScenarioRequest, days: number, { habits }: SiteParameters, share: number): number {
  if (onset === 'early') return hoursUntilShiftHours(habits, startMs, shiftHoursPerDay(habits) * (3 + share))
  return days * 24 * (0.45 + 0.2 * share)
}

const VARIANTS: Partial<Record<SimulatedFault, readonly string[]>> = {
  'bad-flux-hose': ['bent', 'dirty'],
  'dosing-off': ['gap', 'overlap', 'narrow-fan'],
  'blocked-vents': ['extraction', 'extraction', 'outlet'],
  'drifting-pot-probe': ['reads-high', 'reads-low'],
  'leaking-seal': ['upstream-meter', 'downstream-meter'],
}

function drawBenign(seed: number, days: number, zoneCount: number): BenignConfig {
  const random = new RandomStream(seed, 'scenario.benign')
  const times = (perDay: number): number[] => Array.from({ length: random.poisson(perDay * days) }, () => random.uniform(0, days * 24))
  return {
    draughts: times(0.35).map((atHours) => ({ atHours, hours: random.uniform(0.5, 6), sd: random.uniform(0.06, 0.15) })),
    exhausts: times(0.12).map((atHours) => ({ atHours, hours: random.uniform(2, 36), factor: random.pick([random.uniform(0.8, 0.93), random.uniform(1.07, 1.25)]) })),
    ambients: times(0.15).map((atHours) => ({ atHours, hours: random.uniform(6, 48), deltaC: random.uniform(-5, 6) })),
    loads: times(0.4).map((atHours) => ({ atHours, hours: random.uniform(1, 8), rateFactor: random.uniform(0.6, 1.3), heatFactor: random.uniform(0.85, 1.3) })),
    setpointEdits: times(0.15).map((atHours) => {
      const target = random.pick(['conveyor', ...Array.from({ length: zoneCount }, (_, index) => `zone-${index + 1}`)])
      const sign = random.chance(0.5) ? 1 : -1
      return { atHours, hours: random.uniform(1, 12), target, delta: sign * (target === 'conveyor' ? 1 : 5) }
    }),
  }
}

/** Weekly care that has nothing to do with the fault: the chain is wiped and lubricated, the filter changed. */
function drawRoutineWork(seed: number, days: number, fouling: boolean): MaintenanceWork[] {
  const random = new RandomStream(seed, 'scenario.work')
  const works: MaintenanceWork[] = []
  for (let day = random.uniform(1, 6); day < days; day += random.uniform(5, 8)) {
    const atHours = Math.floor(day) * 24 + random.uniform(7, 20)
    if (fouling) works.push({ atHours, work: 'full-clean', causes: ['dirty-chain', 'dirty-rails', 'residue-on-fingers', 'clogged-nozzle', 'saturated-filter'], lubricated: random.chance(0.9), durationHours: 1.5 })
    else works.push({ atHours, work: 'lubricate', causes: [], durationHours: random.uniform(0.3, 0.8) })
  }
  return works
}

function drawTraps(seed: number, days: number, zoneCount: number): DataTrap[] {
  const random = new RandomStream(seed, 'scenario.traps')
  const traps: DataTrap[] = []
  const channels = ['conveyor.speed', 'pot.level', ...Array.from({ length: zoneCount }, (_, index) => `preheat.zone-${index + 1}.temperature`)]
  for (let count = random.poisson(0.25 * days); count > 0; count -= 1) {
    const channel = random.pick(channels)
    const codes: readonly (number | 'gap' | 'hold')[] = channel.startsWith('preheat') ? [0, 850, -200, 'gap', 'hold'] : ['gap', 'hold']
    traps.push({ kind: 'dropout', channel, atHours: random.uniform(0, 24 * days), hours: random.logUniform(0.01, 1), code: random.pick(codes) })
  }
  if (random.chance(0.2)) traps.push({ kind: 'duplicates', share: 0.001 })
  return traps
}
