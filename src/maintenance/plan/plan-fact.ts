import type { Section } from '../../line/feature-value.js'
import type { FactMark } from '../maintenance-fact.js'
import type { AgreedStop, PaperEntry, StockItem, StopConsequence } from './plan-entry.js'

/** The stops of a week as agreed for this line; frozen until it is opened again. */
export interface PlanFact extends FactMark {
  readonly type: 'plan'
  readonly week: string
  readonly agreed: boolean
  readonly stops: readonly AgreedStop[]
  readonly by?: string
  readonly reason?: string
}

export type StopStatus = 'asked' | 'granted' | 'refused' | 'withdrawn'

/** A stop in the ledger: asked, answered, and what followed. */
export interface StopFact extends FactMark {
  readonly type: 'stop'
  readonly status: StopStatus
  readonly askedMs: number
  readonly answeredMs?: number
  readonly fromMs?: number
  readonly minutes?: number
  readonly people?: number
  readonly work: readonly string[]
  readonly section?: Exclude<Section, 'line'>
  readonly reason?: string
  readonly followed: readonly (StopConsequence & { readonly timeMs: number })[]
  readonly by?: string
}

/** Spare sets and parts as last counted by hand and as moved by records and entries since. */
export interface StockFact extends FactMark {
  readonly type: 'stock'
  readonly item: StockItem
  readonly ready: number
  readonly dirty: number
  readonly atWasher: number
  /** When somebody counted last, ms UTC, and moves since. */
  readonly countedMs?: number
  readonly moves?: number
}

/** A document an audit asks for, as it holds now. */
export interface PaperFact extends FactMark, Pick<PaperEntry, 'paper' | 'of' | 'reference' | 'validFromMs' | 'dueMs' | 'people'> {
  readonly type: 'paper'
}
