import type { FactMark } from '../maintenance-fact.js'

/** A start of the line against what its own history lets expect. */
export interface StartUpFact extends FactMark {
  readonly type: 'start-up'
  /** Time to ready of each zone and the pot, s; expected where there is a baseline. */
  readonly parts: readonly { readonly part: string; readonly actualS: number; readonly expectedS?: number; readonly upperS?: number }[]
  readonly readyMs?: number
}
