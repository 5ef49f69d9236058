import type { Section } from './feature-value.js'

/** Faults: something a person can find and mend. */
export const FAULT_IDS = [
  'clogged-nozzle', 'misoriented-nozzle', 'leaking-seal', 'saturated-filter', 'bad-flux-hose', 'dosing-off', 'stroke-too-wide',
  'clogged-blower', 'coated-emitter', 'blocked-vents', 'coated-thermocouple',
  'dirty-rails', 'dirty-chain', 'dry-chain', 'sticky-grease', 'residue-on-fingers', 'worn-sprocket', 'worn-bearing', 'worn-drive',
  'low-level', 'dross-at-intake', 'drifting-pot-probe', 'ageing-element',
] as const

/** Benign causes: they explain a change and need no work. */
export const BENIGN_IDS = ['changeover', 'ambient-or-exhaust', 'idle', 'board-load', 'setpoint-edit', 'dropout', 'top-up', 'warm-up', 'pump-switched', 'run-in'] as const

export const NONE_OF_THESE = 'none-of-these'

export type FaultId = (typeof FAULT_IDS)[number]
export type BenignId = (typeof BENIGN_IDS)[number]
export type CauseId = FaultId | BenignId | typeof NONE_OF_THESE

/** One line of a diagnosis: a cause, or a group of causes that the channels of this line cannot tell apart. */
export interface RankedCause {
  /** The cause's id, or the group's own name, e.g. `transport-drag`. */
  readonly cause: string
  /** Causes in the group, the most probable first; absent for a single cause. */
  readonly members?: readonly CauseId[]
  readonly section: Section
  /** Preheat zone from 1, where the cause sits in one zone. */
  readonly zone?: number
  readonly kind: 'fault' | 'benign' | 'none-of-these'
  /** 0-1; all of a diagnosis sum to 1. */
  readonly probability: number
}
