import type { Section } from '../../line/feature-value.js'

/** What a cost is for, in the order in which it is shown. */
export const COST_KINDS = ['planned-stop', 'unplanned-stop', 'boards-not-made', 'scrap', 'orders-late', 'secondary-damage', 'labour', 'parts', 'cleaner', 'spare-sets', 'washing-machine'] as const
export type CostKind = (typeof COST_KINDS)[number]

/** A quantity that costs something; the money comes from the site's figures. */
export interface CostEvent {
  readonly timeMs: number
  readonly line: string
  readonly section: Section
  readonly kind: CostKind
  /** Hours, boards, orders, cycles, uses; for parts and secondary damage 1, or the money itself where it was noted. */
  readonly quantity: number
  /** Money as noted by people, where it was. */
  readonly amount?: number
  /** Which part or damage, where the figure depends on it. */
  readonly of?: string
}

/** Money, or the figures of the site that are missing for it; never a number without its figure. */
export type CostAmount = { readonly kind: 'amount'; readonly amount: number } | { readonly kind: 'no-figure'; readonly missing: readonly string[] }

export interface CostRow {
  /** Month in the plant's zone, e.g. `2026-11`. */
  readonly month: string
  readonly line: string
  readonly section: Section
  readonly kind: CostKind
  readonly quantity: number
  readonly cost: CostAmount
}

export interface CostTable {
  readonly currency: string
  readonly rows: readonly CostRow[]
  /** Sum of what has a figure, and the figures whose lack leaves something out. */
  readonly total: number
  readonly missing: readonly string[]
}
