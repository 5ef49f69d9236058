import type { Section } from '../../line/feature-value.js'
import type { LineDefinition } from '../../line/line-definition.js'

/** What a cost is for, in the order in which it is shown. */
export const COST_KINDS = ['planned-stop', 'unplanned-stop', 'boards-not-made', 'scrap', 'orders-late', 'secondary-damage', 'labour', 'parts', 'cleaner', 'spare-sets', 'washing-machine'] as const
export type CostKind = (typeof COST_KINDS)[number]

export type SiteCosts = NonNullable<LineDefinition['costs']>

/** A quantity that costs something; the money comes from the site's figures. */
export interface CostEvent {
  readonly timeMs: number
  readonly line: string
  readonly section: Section
  readonly kind: CostKind
  /** Hours, boards, orders, cycles or uses; 1 for parts and damage. */
  readonly quantity: number
  /** Money as noted by people, where it was. */
  readonly amount?: number
  /** Work or section a figure depends on. */
  readonly of?: string
  /** Figure without which not even the quantity is known. */
  readonly lacks?: string
  /** It came of a failure, not of maintenance. */
  readonly ofFailure: boolean
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

/** Figure of the site a kind rests on. */
function figureOf({ kind, of }: CostEvent, costs: SiteCosts): { readonly name: string; readonly value: number | undefined } {
  switch (kind) {
    case 'planned-stop':
      return { name: 'lineStopPerHour', value: costs.lineStopPerHour }
    case 'unplanned-stop':
      return { name: 'unplannedStopPerHour', value: costs.unplannedStopPerHour }
    case 'boards-not-made':
      return { name: 'contributionPerBoard', value: costs.contributionPerBoard }
    case 'scrap':
      return { name: 'scrapPerBoard', value: costs.scrapPerBoard }
    case 'orders-late':
      return { name: 'orderLate', value: costs.orderLate }
    case 'labour':
      return { name: 'labourPerHour', value: costs.labourPerHour }
    case 'cleaner':
      return { name: 'cleanerPerJob', value: costs.cleanerPerJob }
    case 'spare-sets':
      return { name: 'spareSetPerUse', value: costs.spareSetPerUse }
    case 'washing-machine':
      return { name: 'washerPerCycle', value: costs.washerPerCycle }
    case 'parts':
      return { name: `partsPerWork.${of ?? ''}`, value: ownOf(costs.partsPerWork, of) }
    case 'secondary-damage':
      return { name: `damagePerFailure.${of ?? ''}`, value: ownOf(costs.damagePerFailure, of) }
  }
}

function ownOf(table: Readonly<Record<string, number>> | undefined, key: string | undefined): number | undefined {
  return table !== undefined && key !== undefined && Object.hasOwn(table, key) ? table[key] : undefined
}

/** What an event costs by the site's figures. */
export function costOf(event: CostEvent, costs: SiteCosts): CostAmount {
  if (event.amount !== undefined) return { kind: 'amount', amount: event.amount }
  const figure = figureOf(event, costs)
  const missing = [...(event.lacks === undefined ? [] : [event.lacks]), ...(figure.value === undefined ? [figure.name] : [])]
  return figure.value === undefined || event.lacks !== undefined ? { kind: 'no-figure', missing } : { kind: 'amount', amount: event.quantity * figure.value }
}

/** Sum of amounts; as soon as one has no figure the sum has none either. */
export function sumOf(amounts: readonly CostAmount[]): CostAmount {
  const missing = [...new Set(amounts.flatMap((amount) => (amount.kind === 'no-figure' ? amount.missing : [])))].sort()
  return missing.length > 0 ? { kind: 'no-figure', missing } : { kind: 'amount', amount: amounts.reduce((sum, amount) => sum + (amount.kind === 'amount' ? amount.amount : 0), 0) }
}

/**
 * Costs by month, line, section and kind. What lacks a figure is a row that says so and is left out of the total.
 *
 * @param costsOf the figures of a line; every line of a table has the same currency
 * @param timeZone zone in which months begin
 */
export function costTable(events: readonly CostEvent[], costsOf: (line: string) => SiteCosts | undefined, timeZone: string): CostTable {
  const month = new Intl.DateTimeFormat('en-CA', { timeZone, year: 'numeric', month: '2-digit' })
  const groups = new Map<string, CostEvent[]>()
  for (const event of events) {
    const parts = Object.fromEntries(month.formatToParts(event.timeMs).map(({ type, value }) => [type, value]))
    const key = [`${parts['year'] ?? ''}-${parts['month'] ?? ''}`, event.line, event.section, event.kind].join(' ')
    groups.set(key, [...(groups.get(key) ?? []), event])
  }
  const rows = [...groups].map(([key, group]): CostRow => {
    const first = group[0]!
    const costs = costsOf(first.line) ?? NO_FIGURES
    return { month: key.slice(0, 7), line: first.line, section: first.section, kind: first.kind, quantity: group.reduce((sum, { quantity }) => sum + quantity, 0), cost: sumOf(group.map((event) => costOf(event, costs))) }
  })
  rows.sort((a, b) => compare(a.month, b.month) || compare(a.line, b.line) || SECTIONS.indexOf(a.section) - SECTIONS.indexOf(b.section) || COST_KINDS.indexOf(a.kind) - COST_KINDS.indexOf(b.kind))
  return {
    currency: [...new Set(rows.map(({ line }) => costsOf(line)?.currency ?? NO_FIGURES.currency))].join('/') || NO_FIGURES.currency,
    rows,
    total: rows.reduce((sum, { cost }) => sum + (cost.kind === 'amount' ? cost.amount : 0), 0),
    missing: [...new Set(rows.flatMap(({ cost }) => (cost.kind === 'no-figure' ? cost.missing : [])))].sort(),
  }
}

const SECTIONS: readonly Section[] = ['fluxer', 'preheat', 'transport', 'pot', 'line']
const NO_FIGURES: SiteCosts = { currency: 'EUR' }

function compare(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0
}
