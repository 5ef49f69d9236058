import type { SimulatedState } from './line-schedule.js'
import type { DataTrap, FaultEpisode } from './simulation-config.js'

/** Severity of one cause at one time, 0-1. */
export interface TrueSeverity {
  cause: string
  /** Preheat zone from 1, for causes in a zone. */
  zone?: number
  severity: number
}

/** What was really so at one time, taken every ten minutes. */
export interface TruthMoment {
  timeMs: number
  state: SimulatedState
  recipe: string
  severities: TrueSeverity[]
  zoneAirC: number[]
  potC: number
  levelMm: number
  /** Lubricant film on the chain, 1 fresh .. 0 gone. */
  film: number
  boards: number
  jumps: number
}

/** Something that happened to the line. */
export type TruthEvent =
  | { timeMs: number; kind: 'state'; state: SimulatedState; recipe: string }
  | { timeMs: number; kind: 'top-up'; kg: number }
  | { timeMs: number; kind: 'skim'; mm: number }
  | { timeMs: number; kind: 'work'; work: string; causes: readonly string[]; zone?: number; lubricated: boolean }
  | { timeMs: number; kind: 'benign'; cause: 'ambient-or-exhaust' | 'setpoint-edit' | 'board-load'; detail: string; begins: boolean }

/** The hidden truth of a simulation so far. */
export interface SimulationTruth {
  seed: number
  startMs: number
  endMs: number
  /** The episodes as configured, with their onset as a time. */
  faults: (FaultEpisode & { onsetMs: number })[]
  /** Faults of the data, as configured. */
  traps: DataTrap[]
  moments: TruthMoment[]
  events: TruthEvent[]
}
