import type { FactMark } from '../maintenance-fact.js'
import type { RoundEvent } from './round-catalogue.js'
import type { RoundEntry, RoundItem } from './round-entry.js'

/** A check that was not in order, or a value outside its limits of action. */
export interface RoundException {
  readonly check: string
  readonly zone?: number
  /** `round.not-in-order`, `round.finding`, `round.below`, `round.above`, `round.contact-both-ways`. */
  readonly reason: string
  readonly values: Readonly<Record<string, number | string>>
}

/** A hand-measured value as it went to its chart, with the limits of action it was judged by. */
export interface MeasuredValue {
  readonly check: string
  readonly value: string
  readonly zone?: number
  readonly measured: number
  readonly unit: string
  readonly lower?: number
  readonly upper?: number
}

/** A round that was entered. */
export interface RoundFact extends FactMark {
  readonly type: 'round'
  readonly round: RoundEntry['round']
  readonly items: readonly RoundItem[]
  readonly measured: readonly MeasuredValue[]
  /** Checks that were not in order or whose values lie outside their limits. */
  readonly exceptions: readonly RoundException[]
  readonly by?: string
}

/** How the rounds of a line stand: what was last done and what asks for a check. Due checks follow from it and the time. */
export interface RoundsFact extends FactMark {
  readonly type: 'rounds'
  /** When the line was first seen, ms UTC. */
  readonly sinceMs: number
  readonly last: readonly { readonly check: string; readonly timeMs: number; readonly inOrder: boolean }[]
  readonly events: readonly { readonly event: RoundEvent; readonly timeMs: number }[]
  /** Levels the line has shown in values without a target; they make relative limits. */
  readonly levels: readonly { readonly feature: string; readonly recipe: string; readonly level: number }[]
}
