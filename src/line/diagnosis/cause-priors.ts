import type { BenignId, FaultId } from '../causes.js'
import type { Section } from '../feature-value.js'

/** What is known of a fault before any symptom. */
export interface FaultFacts {
  readonly section: Section
  /** Whether the fault sits in one preheat zone. */
  readonly perZone: boolean
  /**
   * How often it is met against the others of its section. [ASM] From the running hours to half severity (nozzle 50,
   * chain and fingers 139, dross 150, rails 167, emitter 324, filter 333, vents 457, blower 685, thermocouple 1333;
   * wear thousands; a level sinks every shift), flattened, since sites differ fivefold.
   */
  readonly weight: number
}

export const FAULT_FACTS: Readonly<Record<FaultId, FaultFacts>> = {
  'clogged-nozzle': { section: 'fluxer', perZone: false, weight: 4 },
  'misoriented-nozzle': { section: 'fluxer', perZone: false, weight: 1.5 },
  'leaking-seal': { section: 'fluxer', perZone: false, weight: 1.5 },
  'saturated-filter': { section: 'fluxer', perZone: false, weight: 2 },
  'bad-flux-hose': { section: 'fluxer', perZone: false, weight: 1 },
  'dosing-off': { section: 'fluxer', perZone: false, weight: 1.5 },
  'stroke-too-wide': { section: 'fluxer', perZone: false, weight: 0.7 },
  'clogged-blower': { section: 'preheat', perZone: true, weight: 1.2 },
  'coated-emitter': { section: 'preheat', perZone: true, weight: 1.5 },
  'blocked-vents': { section: 'preheat', perZone: true, weight: 1.3 },
  'coated-thermocouple': { section: 'preheat', perZone: true, weight: 1.2 },
  'dirty-rails': { section: 'transport', perZone: false, weight: 2.2 },
  'dirty-chain': { section: 'transport', perZone: false, weight: 3 },
  'dry-chain': { section: 'transport', perZone: false, weight: 2.5 },
  'sticky-grease': { section: 'transport', perZone: false, weight: 1.2 },
  'residue-on-fingers': { section: 'transport', perZone: false, weight: 1.5 },
  'worn-sprocket': { section: 'transport', perZone: false, weight: 0.7 },
  'worn-bearing': { section: 'transport', perZone: false, weight: 0.6 },
  'worn-drive': { section: 'transport', perZone: false, weight: 0.8 },
  'low-level': { section: 'pot', perZone: false, weight: 6 },
  'dross-at-intake': { section: 'pot', perZone: false, weight: 2.5 },
  'drifting-pot-probe': { section: 'pot', perZone: false, weight: 0.6 },
  'ageing-element': { section: 'preheat', perZone: true, weight: 0.8 },
}

/**
 * How often a benign cause gets past the line state and the masks of the features, against the others. [ASM] Idle, warm-up and
 * top-ups hardly do: their windows are left out; neither does a dropout, since a frozen channel gives no features.
 */
export const BENIGN_WEIGHTS: Readonly<Record<BenignId, number>> = {
  changeover: 0.4,
  'ambient-or-exhaust': 2,
  idle: 0.05,
  'board-load': 1.2,
  'setpoint-edit': 1,
  dropout: 0.25,
  'top-up': 0.15,
  'warm-up': 0.15,
  'pump-switched': 0.4,
  'run-in': 0.3,
}

/** Channels that tell a benign cause when it is there; a line without them must reckon with it more. */
export const BENIGN_CONTEXT: Readonly<Partial<Record<BenignId, readonly string[]>>> = {
  changeover: ['line.recipe'],
  'setpoint-edit': ['preheat.zone-1.setpoint', 'conveyor.setpoint'],
  'ambient-or-exhaust': ['ambient.temperature', 'exhaust.pressure'],
  'board-load': ['board.count'],
}
/** How much more. [ASM] */
export const UNTOLD = 2

/** Shares of the prior: an unlisted cause never starts below one in ten. [ASM] */
export const PRIOR_SHARES = { faults: 0.7, benign: 0.18, noneOfThese: 0.12 } as const

/** What moves all zones one way is seldom dirt. [ASM] */
export const PRIOR_SHARES_ALL_ZONES = { faults: 0.2, benign: 0.65, noneOfThese: 0.15 } as const

/** A fault met outside its own section (a dripping filter on the chain, flux on the chain) starts with less. [ASM] */
export const AWAY_FROM_HOME = 0.25

/** Work history of one cause: how much has gathered since the last cleaning. */
export interface CleaningHistory {
  /** Running hours (or grams of flux) since the last cleaning or repair. */
  readonly since: number
  /** Usual interval in the same unit. */
  readonly interval: number
}

/**
 * Factor on a fault's prior from its work history: severity grows as 1 - exp(-ln2 (m/m50)^1.5), and a cause just
 * cleaned is unlikely, one long overdue likely; held within a fifth and the double. [ASM]
 *
 * @throws Error if the interval is not above 0 or the time since is negative or not finite
 */
export function historyFactor({ since, interval }: CleaningHistory): number {
  if (!(Number.isFinite(since) && since >= 0 && Number.isFinite(interval) && interval > 0)) {
    throw new Error(`work history: since ${since}, interval ${interval}; expected since >= 0 and interval > 0`)
  }
  const severity = 1 - Math.exp(-Math.LN2 * (since / interval) ** 1.5)
  return Math.min(2, Math.max(0.2, severity / 0.5))
}
