import type { FactMark } from '../maintenance-fact.js'

/** One part of a start: a zone or the pot, against what its own history lets expect. */
export interface StartUpPart {
  /** `zone-1` … or `pot`. */
  readonly part: string
  readonly actualS: number
  /** Median of the starts before, and where the slowest usual ones lie, s; from three starts on. */
  readonly expectedS?: number
  readonly lowerS?: number
  readonly upperS?: number
  /** Starts the expectation rests on. */
  readonly starts: number
}

/** A start of the line against what its own history lets expect. */
export interface StartUpFact extends FactMark {
  readonly type: 'start-up'
  /** When the line began to heat, ms UTC. */
  readonly sinceMs: number
  /** Time to ready of each zone and the pot, s; expected where there is a baseline. */
  readonly parts: readonly StartUpPart[]
  readonly readyMs?: number
  /** The pump ran before the solder was molten, ms UTC. */
  readonly pumpBeforeMeltMs?: number
}
