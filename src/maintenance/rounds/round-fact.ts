import type { FactMark } from '../maintenance-fact.js'
import type { RoundEntry, RoundItem } from './round-entry.js'

/** A round that was entered. */
export interface RoundFact extends FactMark {
  readonly type: 'round'
  readonly round: RoundEntry['round']
  readonly items: readonly RoundItem[]
  /** Checks that were not in order or whose values lie outside their limits. */
  readonly exceptions: readonly { readonly check: string; readonly zone?: number; readonly reason: string; readonly values: Readonly<Record<string, number | string>> }[]
  readonly by?: string
}
