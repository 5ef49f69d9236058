import type { WorkRecord } from '../suggestion.js'
import { siteCatalogue } from '../site-catalogue.js'
import type { WorkItem } from '../work-catalogue.js'
import { factsOf, type LineBook } from './line-book.js'
import type { StockItem } from './plan-entry.js'
import { stockItemOf } from './stock-titles.js'
import { workMinutes, type MinutesBasis, type WorkMinutes } from './work-minutes.js'
import { WORK_STOCK } from './work-parts.js'

/** Used twice over, or never recorded at all, a chain counts as long neglected. [ASM] */
const USED_NEGLECTED = 2
/** A finding of 3 or more is to be expected from here on. [ASM] */
const USED_HEAVY = 1.2

/** How long a job takes now, and what it needs from stock: the one answer for plan, job card and suggestion. */
export interface WorkEffort {
  readonly minutes: WorkMinutes
  /** Set that would be swapped in, or parts that are needed; with what is known of the stock. */
  readonly parts: readonly { readonly item: StockItem; readonly ready?: number }[]
}

type EffortBook = Pick<LineBook, 'definition' | 'facts'>

/** How long a job at a place takes as things stand. @param asked a suggestion asks for it: heavy work is to be expected */
export function minutesNow(work: string, zone: number | undefined, asked: boolean, book: EffortBook): WorkMinutes {
  const used = factsOf(book, 'interval').find((fact) => fact.work === work && fact.zone === zone)?.used
  return effortOf(work, zone, [{ ...(used === undefined ? {} : { used }), ...(asked ? { suggestion: work } : {}) }], book, stockOf(book)).minutes
}

/** What is ready in stock, as it is used up by one job after the other; items nobody counted are not in it. */
export function stockOf(book: EffortBook): Map<StockItem, number> {
  return new Map(factsOf(book, 'stock').map(({ item, ready }) => [item, ready]))
}

/** A job as it holds at the site. @throws Error for one that the line's catalogue does not hold */
export function catalogueItem(work: string, { definition }: Pick<LineBook, 'definition'>): WorkItem {
  const item = siteCatalogue(definition).item(work)
  if (item === undefined) throw new Error(`work catalogue of line "${definition.line}" has no job "${work}"`)
  return item
}

/**
 * Minutes and stock of a job, also of one that only follows another.
 *
 * @param stock what is left; what the job takes is taken out
 */
export function effortOf(work: string, zone: number | undefined, reasons: readonly { readonly used?: number; readonly suggestion?: string | undefined }[], book: EffortBook, stock: Map<StockItem, number>): WorkEffort {
  const item = catalogueItem(work, book)
  const recorded = factsOf(book, 'record').filter(({ record, withdrawn }) => !withdrawn && record.work === work).map(({ record }) => record)
  const used = Math.max(0, ...reasons.map((reason) => reason.used ?? 0))
  const { spareSet, parts = [] } = WORK_STOCK[work] ?? {}
  const hasSet = spareSet !== undefined && (stock.get(spareSet.item) ?? 0) > 0
  const basis = basisOf({ hasSet, washer: book.definition.planning?.washingMachine === true, item, isNeglected: used >= USED_NEGLECTED || !recorded.some((record) => record.zone === zone) })
  const records = recorded.filter((record) => wayOf(record, spareSet?.item, basis) === (basis === 'neglected' ? 'hand' : basis))
  const heavy = used >= USED_HEAVY || reasons.some(({ suggestion }) => suggestion !== undefined)
  const wanted = [...(hasSet && spareSet !== undefined ? [spareSet.item] : []), ...parts]
  return {
    minutes: workMinutes({ work, item, basis, ...(spareSet === undefined ? {} : { spareSetMinutes: spareSet.minutes }), records, heavy }),
    parts: wanted.map((name) => {
      const ready = stock.get(name)
      if (ready === undefined) return { item: name }
      stock.set(name, Math.max(0, ready - 1))
      return { item: name, ready }
    }),
  }
}

function basisOf({ hasSet, washer, item, isNeglected }: { readonly hasSet: boolean; readonly washer: boolean; readonly item: WorkItem; readonly isNeglected: boolean }): MinutesBasis {
  if (hasSet) return 'spare-set'
  if (washer && item.minutesWithWasher !== undefined) return 'washing-machine'
  return isNeglected && item.minutesWhenNeglected !== undefined ? 'neglected' : 'hand'
}

/** How a recorded job was done; where nobody noted the machine it counts for the way that is usual here. */
function wayOf({ parts = [], washer }: WorkRecord, set: StockItem | undefined, basis: MinutesBasis): 'hand' | 'washing-machine' | 'spare-set' {
  if (set !== undefined && parts.some((part) => stockItemOf(part) === set)) return 'spare-set'
  return washer === undefined ? (basis === 'washing-machine' ? 'washing-machine' : 'hand') : washer ? 'washing-machine' : 'hand'
}
