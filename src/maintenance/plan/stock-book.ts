import type { RecordFact } from '../jobs/job-fact.js'
import type { WorkRecord } from '../suggestion.js'
import type { StockEntry, StockItem } from './plan-entry.js'
import type { StockFact } from './plan-fact.js'
import { stockItemOf } from './stock-titles.js'
import { WORK_STOCK } from './work-parts.js'

/** Moves kept beside a count; older ones are added into it. */
const MOVES_KEPT = 200
/** Used a little at a time: one job does not use up one. */
const CONSUMED_BY_THE_WAY: readonly StockItem[] = ['solder-bars', 'chain-lubricant', 'cleaner']

interface Amounts {
  readonly ready: number
  readonly dirty: number
  readonly atWasher: number
}

interface StockMove extends Amounts {
  /** Id of the record or entry that moved it. */
  readonly id: string
  readonly timeMs: number
}

/** What is known of one item: counted by hand, and moved by records and entries since. Plain JSON. */
export interface StockState extends Amounts {
  readonly item: StockItem
  readonly countedMs: number
  readonly moves: readonly StockMove[]
}

/** What a record takes out of stock, and what it leaves behind: a set swapped in leaves the dirty one. */
export function stockUsedBy({ work, parts, washer }: Pick<WorkRecord, 'work' | 'parts' | 'washer'>): readonly (Amounts & { readonly item: StockItem })[] {
  const { spareSet, parts: needed = [] } = WORK_STOCK[work] ?? {}
  // Whoever names no part has still used what the job cannot be done without.
  const named = parts === undefined ? needed.filter((item) => !CONSUMED_BY_THE_WAY.includes(item)) : parts.flatMap((part) => stockItemOf(part) ?? [])
  return named.map((item) => {
    const isSet = item === spareSet?.item
    return { item, ready: -1, dirty: isSet && washer !== true ? 1 : 0, atWasher: isSet && washer === true ? 1 : 0 }
  })
}

/** An item counted by hand: what was moved before is in the count. */
export function counted({ item, ready, dirty = 0, atWasher = 0, timeMs }: Pick<StockEntry, 'item' | 'dirty' | 'atWasher' | 'timeMs'> & { readonly ready: number }, before: StockState | undefined): StockState {
  return { item, ready, dirty, atWasher, countedMs: timeMs, moves: (before?.moves ?? []).filter((move) => move.timeMs > timeMs) }
}

/** The same with what a record or an entry has moved; an earlier move of the same id is replaced, `undefined` takes it back. */
export function moved(state: StockState, id: string, move: Omit<StockMove, 'id'> | undefined): StockState {
  const others = state.moves.filter((one) => one.id !== id)
  if (move === undefined || move.timeMs < state.countedMs) return others.length === state.moves.length ? state : { ...state, moves: others }
  return folded({ ...state, moves: [...others, { id, ...move }].sort((a, b) => a.timeMs - b.timeMs || (a.id < b.id ? -1 : 1)) })
}

function folded(state: StockState): StockState {
  const oldest = state.moves.length > MOVES_KEPT ? state.moves[0] : undefined
  return oldest === undefined ? state : { ...state, ...sum([state, oldest]), countedMs: oldest.timeMs, moves: state.moves.slice(1) }
}

/** What is there now; never less than nothing, also where somebody took what nobody had counted. */
export function stockNow(state: StockState): Amounts {
  const { ready, dirty, atWasher } = sum([state, ...state.moves])
  return { ready: Math.max(0, ready), dirty: Math.max(0, dirty), atWasher: Math.max(0, atWasher) }
}

function sum(all: readonly Amounts[]): Amounts {
  return all.reduce<Amounts>((total, one) => ({ ready: total.ready + one.ready, dirty: total.dirty + one.dirty, atWasher: total.atWasher + one.atWasher }), { ready: 0, dirty: 0, atWasher: 0 })
}

export function stockFact(state: StockState, timeMs: number): StockFact {
  return { type: 'stock', id: `stock-${state.item}`, timeMs, item: state.item, ...stockNow(state), countedMs: state.countedMs, moves: state.moves.length }
}

/** Where a set goes: dirty to the washer, from there clean on the shelf. */
export function moveOf(entry: Pick<StockEntry, 'move' | 'count' | 'timeMs'>): Omit<StockMove, 'id'> {
  const count = entry.count ?? 1
  return entry.move === 'to-washer' ? { timeMs: entry.timeMs, ready: 0, dirty: -count, atWasher: count } : { timeMs: entry.timeMs, ready: count, dirty: 0, atWasher: -count }
}

/** Items whose state a record changes, with their new state; what nobody has counted stays unknown. */
export function afterRecord(states: readonly StockState[], { record, withdrawn }: Pick<RecordFact, 'record' | 'withdrawn'>): readonly StockState[] {
  const used = withdrawn ? [] : stockUsedBy(record)
  return states.flatMap((state) => {
    const own = used.filter(({ item }) => item === state.item)
    const next = moved(state, record.id, own.length === 0 ? undefined : { timeMs: record.timeMs, ...sum(own) })
    return JSON.stringify(next) === JSON.stringify(state) ? [] : [next]
  })
}
