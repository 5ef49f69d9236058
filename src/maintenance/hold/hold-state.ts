import type { Section } from '../../line/feature-value.js'
import type { HeldChange } from './hold-fact.js'

/** A hold from its begin to its end. Plain JSON. */
export interface OpenHold {
  readonly id: string
  readonly sinceMs: number
  onsetMs: number
  because: string
  sections: Section[]
  /** Open suggestions and standing features that it rests on. */
  suggestions: string[]
  features: string[]
  causes: string[]
  /** When all checks were found done, ms UTC; 0 while some are open. */
  allDoneMs: number
  /** Production since then, and production without variation, ms. */
  watchedMs: number
  calmMs: number
  changes: HeldChange[]
  /** Ended by an engineer until then, ms UTC; 0 while it is on. */
  suspendedUntilMs: number
  /** Absent once the name is older than the site keeps names. */
  suspendedBy?: string
  suspendedReason: string
}

/** Plain JSON. */
export interface HoldState {
  open: OpenHold | null
  /** Newest pass and newest failure of each round check, by `<check>` or `<check>/<zone>`. */
  passedMs: Record<string, number>
  failed: Record<string, { roundCheck: string; reason: string; timeMs: number; values: Record<string, number | string> }>
  /** Newest record of each work or check, by `<work>` or `<work>/<zone>`, with the record's id and what its own hand check came to. */
  worked: Record<string, { timeMs: number; record: string; handCheck?: 'passed' | 'failed' }>
  /** Newest change of each kind, ms UTC. */
  changedMs: Record<string, number>
  /** Share of the learned interval used, by work and zone; absent where nothing is learned yet. */
  usedInterval: Record<string, number>
  /** Open suggestions that a fault leads. */
  suggestions: Record<string, { section: Section; causes: string[]; onsetMs: number }>
  /** Since when a mechanism of a section has stood through production, ms of production. */
  standingMs: Record<string, number>
  /** What the last hold ended with and what still stands: it raises no hold again. */
  settled: { suggestions: string[]; features: string[] }
  exempt: { recipe: string; reason: string; untilMs: number }[]
  tickMs: number
  said: string
}

export function createHoldState(): HoldState {
  return {
    open: null, passedMs: {}, failed: {}, worked: {}, changedMs: {}, usedInterval: {}, suggestions: {}, standingMs: {},
    settled: { suggestions: [], features: [] }, exempt: [], tickMs: 0, said: '',
  }
}
