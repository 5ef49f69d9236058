import type { Section } from '../../line/feature-value.js'
import type { FeatureHistory, ValueStretch } from './proof-history.js'
import type { ProofFact } from './proof-fact.js'

/** Work as the proof knows it. */
export interface ProvenWork {
  readonly record: string
  readonly work: string
  readonly section: Section
  readonly zone?: number
  readonly doneMs: number
  /** When it began, as far as known; values from here on are no longer "before". */
  readonly startMs: number
  readonly suggestion?: string
  readonly finding?: number
}

/** What a chart had learned, and since when it learns. */
export interface KnownLevel {
  readonly centre: number
  readonly sigma: number
  readonly n: number
  readonly usable: boolean
  readonly sinceMs: number
}

/** One job that is being proven. */
export interface ProofCase {
  readonly work: ProvenWork
  /** Features looked at: those of the job, and the same ones of zones on which nothing was done. */
  readonly features: readonly string[]
  /** By `<feature> <recipe>`. */
  readonly before: Record<string, ValueStretch>
  readonly after: Record<string, ValueStretch>
  readonly references: Record<string, { centre: number; sigma: number; n: number }>
}

/** Something that moves features of a place though nobody cleaned there. */
export interface Disturbance {
  readonly timeMs: number
  readonly reason: string
  readonly section?: Section
  readonly zone?: number
}

/** Plain JSON. */
export interface ProofState {
  version: 1
  histories: Record<string, FeatureHistory>
  /** By `<feature> <recipe>`. */
  levels: Record<string, KnownLevel>
  works: ProvenWork[]
  cases: ProofCase[]
  disturbances: (Disturbance & { readonly id: string })[]
  /** Starts and ends of production and run-in, for the run-in of late records. */
  producing: { timeMs: number; on: boolean }[]
  /** Last proofs, the newest last; those of open cases among them. */
  facts: ProofFact[]
  /** Newest time of each job and zone: what a full service is told by. */
  services: Record<string, number>
  references: Record<string, string>
  /** Suggestions that a record may answer, the newest last. */
  suggestions: { id: string; section: Section; zone?: number; work: readonly string[]; statusMs: number; active: boolean }[]
}

export function newProofState(): ProofState {
  return { version: 1, histories: {}, levels: {}, works: [], cases: [], disturbances: [], producing: [], facts: [], services: {}, references: {}, suggestions: [] }
}
