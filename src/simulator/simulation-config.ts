import type { GrowthShape, SimulatedFault } from './simulation-causes.js'
import type { SiteParameters } from './site-parameters.js'

export interface FaultEpisode {
  /** Cause id, e.g. `dirty-chain`. */
  cause: SimulatedFault | (string & {})
  /** Preheat zone from 1 for the causes that sit in a zone; for `ageing-element` its absence means the pot. */
  zone?: number
  /** Hours from the start of the simulation. */
  onsetHours: number
  /** Production hours from severity 0 to `severityEnd`. */
  growthHours: number
  shape?: GrowthShape
  /** 0-1; default 1. */
  severityEnd?: number
  /**
   * Form of the fault where there is more than one: `bent`|`dirty` (bad-flux-hose), `gap`|`overlap`|`narrow-fan` (dosing-off), `extraction`|`outlet`
   * (blocked-vents), `reads-high`|`reads-low` (drifting-pot-probe), `leg-lost` (ageing-element), `upstream-meter`|`downstream-meter` (leaking-seal).
   */
  variant?: string
}

export type MaintenanceWorkKind = 'full-clean' | 'wipe' | 'solvent-wipe' | 'repair' | 'lubricate' | 'top-up' | 'skim'

/** Work on the line. Stopping work puts the line into `maintenance`, then into a run-in of `runInHours`. */
export interface MaintenanceWork {
  /** Hours from the start of the simulation. */
  atHours: number
  work: MaintenanceWorkKind
  /** Causes the work is done against; with `zone` only in that zone. */
  causes: readonly (SimulatedFault | (string & {}))[]
  zone?: number
  /** Was the chain lubricated afterwards? Washing it takes the film off; default true. */
  lubricated?: boolean
  /** 0: done without stopping the line. */
  durationHours?: number
  /** Default 1.5 h after stopping work [ASM 1-2 h]. */
  runInHours?: number
}

export interface BenignConfig {
  /** Draught episodes: sd of the common loss factor while they last. */
  draughts?: readonly { atHours: number; hours: number; sd: number }[]
  /** House exhaust moves the loss of all zones by a factor; without `hours` for good. */
  exhausts?: readonly { atHours: number; hours?: number; factor: number }[]
  /** Hall warmer or colder by so many °C. */
  ambients?: readonly { atHours: number; hours?: number; deltaC: number }[]
  /** Edit of one set-point; without `hours` it stays. Target `zone-<n>`, `conveyor` (mm/s) or `pot`. */
  setpointEdits?: readonly { atHours: number; hours?: number; target: string; delta: number }[]
  /** Loading denser (factor above 1: more boards) or heavier (heat factor). */
  loads?: readonly { atHours: number; hours?: number; rateFactor: number; heatFactor?: number }[]
  changeovers?: boolean
  breaks?: boolean
  stops?: boolean
  /** Days on which people come late to top up the pot are ordinary; false: nobody ever tops up. */
  topUps?: boolean
}

/** Faults of the data, not of the line. `channel` is a channel id, or a beginning of one followed by `*`. */
export type DataTrap =
  | { kind: 'dead-band'; channel: string; width: number }
  | { kind: 'quantisation'; channel: string; step: number }
  | { kind: 'dropout'; channel: string; atHours: number; hours: number; code: number | 'gap' | 'hold' }
  | { kind: 'clock-jump'; atHours: number; seconds: number; hours?: number }
  | { kind: 'duplicates'; share: number }
  | { kind: 'late'; channel: string; hours: [number, number] }

export interface SimulationConfig {
  seed: number
  startMs: number
  durationHours: number
  channels: 'minimum' | 'minimum+' | 'rich' | readonly string[]
  /** Logging period by channel id or pattern (`preheat.zone-<n>.temperature`), s; `*` for all streaming channels. */
  periodsS?: Partial<Record<string, number>>
  /** Streaming channels are published this seldom while the line is off, s: a gateway that saves its breath at night. Default: as always. */
  offPeriodS?: number
  /** `drawn`: a random plant from the seed; parts given replace those of the reference line. */
  site?: Partial<SiteParameters> | 'drawn'
  faults: readonly FaultEpisode[]
  benign?: BenignConfig
  cleanings?: readonly MaintenanceWork[]
  traps?: readonly DataTrap[]
  /** Rate of ordinary fouling at all places, 1 = the shop's usual; 0 (default): only the given faults grow. */
  naturalDepositRate?: number
  /** Boards and pot as in production at the first moment, for physical studies; default false: a real working day. */
  alwaysProducing?: boolean
  /** Thermal step, s; default 0.5. */
  thermalStepS?: number
}

/** @throws Error telling the first thing wrong, where and what was expected */
export function checkConfig(config: SimulationConfig, isFault: (cause: string) => boolean): void {
  const finite = (value: number, where: string, lower: number): void => {
    if (!Number.isFinite(value) || value < lower) throw new Error(`${where} is ${String(value)}: expected a number of at least ${lower}`)
  }
  if (!Number.isSafeInteger(config.seed)) throw new Error(`seed is ${String(config.seed)}: expected a whole number`)
  if (!Number.isSafeInteger(config.startMs)) throw new Error(`startMs is ${String(config.startMs)}: expected whole milliseconds UTC`)
  finite(config.durationHours, 'durationHours', 0)
  config.faults.forEach((fault, index) => {
    const where = `faults[${index}]`
    if (!isFault(fault.cause)) throw new Error(`${where}.cause is "${fault.cause}": expected a cause the simulator knows, e.g. "dirty-chain"`)
    finite(fault.onsetHours, `${where}.onsetHours`, 0)
    finite(fault.growthHours, `${where}.growthHours`, 0)
    if (fault.severityEnd !== undefined && !(fault.severityEnd >= 0 && fault.severityEnd <= 1)) throw new Error(`${where}.severityEnd is ${fault.severityEnd}: expected 0 to 1`)
  })
  config.cleanings?.forEach((cleaning, index) => {
    finite(cleaning.atHours, `cleanings[${index}].atHours`, 0)
    for (const cause of cleaning.causes) if (!isFault(cause)) throw new Error(`cleanings[${index}].causes names "${cause}": expected causes the simulator knows`)
  })
  if (config.offPeriodS !== undefined && (!Number.isInteger(config.offPeriodS) || config.offPeriodS < 1)) throw new Error(`offPeriodS is ${String(config.offPeriodS)}: expected whole seconds of at least 1`)
  for (const [channel, period] of Object.entries(config.periodsS ?? {})) {
    if (period === undefined || !Number.isInteger(period) || period < 1) throw new Error(`periodsS["${channel}"] is ${String(period)}: expected whole seconds of at least 1`)
  }
}
