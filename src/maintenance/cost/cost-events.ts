import type { Section } from '../../line/feature-value.js'
import { factsOf, type LineBook } from '../plan/line-book.js'
import type { StopFact } from '../plan/plan-fact.js'
import { shiftWindows } from '../plan/plan-week-calendar.js'
import { stockItemOf } from '../plan/stock-titles.js'
import { WORK_STOCK } from '../plan/work-parts.js'
import type { WorkRecord } from '../suggestion.js'
import { siteCatalogue } from '../site-catalogue.js'
import type { CostEvent } from './cost-table.js'

const HOUR_MS = 3_600_000
const DAY_MS = 24 * HOUR_MS

/**
 * What costs something on a line within a time: work as recorded, stops as agreed and granted, and what people noted
 * that followed. Quantities only; nothing is guessed where nobody noted it.
 */
export function costEvents(book: LineBook, fromMs: number, untilMs: number): CostEvent[] {
  const events = [...workEvents(book), ...ledgerEvents(book), ...agreedStopEvents(book)]
  return events.filter(({ timeMs }) => timeMs >= fromMs && timeMs <= untilMs).sort((a, b) => a.timeMs - b.timeMs)
}

function workEvents(book: LineBook): CostEvent[] {
  return factsOf(book, 'record')
    .filter(({ withdrawn }) => !withdrawn)
    .flatMap(({ record }) => recordEvents(record, book))
}

function recordEvents(record: WorkRecord, { definition }: LineBook): CostEvent[] {
  const item = siteCatalogue(definition).item(record.work)
  if (item === undefined) return []
  const parts = record.parts ?? []
  const sets = parts.filter((part) => stockItemOf(part) !== undefined && stockItemOf(part) === WORK_STOCK[record.work]?.spareSet?.item)
  const event = (kind: CostEvent['kind'], quantity: number, more: Partial<CostEvent> = {}): CostEvent => ({ timeMs: record.timeMs, line: definition.line, section: record.section, kind, quantity, ofFailure: false, ...more })
  return [
    event('labour', ((record.minutes ?? 0) / 60) * (record.people ?? item.people), record.minutes === undefined ? { lacks: 'record.minutes' } : {}),
    ...(item.kind === 'repair' || parts.length > sets.length ? [event('parts', 1, { of: record.work })] : []),
    ...(item.kind === 'cleaning' ? [event('cleaner', 1)] : []),
    ...(record.washer === true ? [event('washing-machine', 1)] : []),
    ...(sets.length > 0 ? [event('spare-sets', 1)] : []),
  ]
}

function ledgerEvents(book: LineBook): CostEvent[] {
  return factsOf(book, 'stop').flatMap((stop) => {
    const section = sectionOf(stop, book)
    const noted = stop.followed.flatMap((what) => consequenceEvents(what, what.section ?? section, book))
    const hasNotedStop = stop.followed.some(({ stopKind, stopMinutes }) => stopKind !== 'unplanned' && stopMinutes !== undefined)
    const granted = stop.status === 'granted' && !hasNotedStop && stop.minutes !== undefined && (stop.fromMs ?? stop.askedMs) <= book.nowMs ? stopEvents('planned-stop', stop.minutes / 60, stop.fromMs ?? stop.askedMs, section, book) : []
    return [...granted, ...noted]
  })
}

function sectionOf({ section, work }: StopFact, { definition }: LineBook): Section {
  const catalogue = siteCatalogue(definition)
  const sections = new Set(work.flatMap((id) => catalogue.item(id)?.section ?? []))
  return section ?? (sections.size === 1 ? [...sections][0]! : 'line')
}

function consequenceEvents(what: StopFact['followed'][number], section: Section, book: LineBook): CostEvent[] {
  const event = (kind: CostEvent['kind'], quantity: number, more: Partial<CostEvent> = {}): CostEvent => ({ timeMs: what.timeMs, line: book.definition.line, section, kind, quantity, ofFailure: true, ...more })
  const kind = what.stopKind === 'planned' ? 'planned-stop' : 'unplanned-stop'
  return [
    // Boards that people counted are not computed once more from the hours.
    ...(what.stopMinutes === undefined ? [] : stopEvents(kind, what.stopMinutes / 60, what.timeMs, section, book, what.boardsNotMade !== undefined)),
    ...(what.boardsNotMade === undefined ? [] : [event('boards-not-made', what.boardsNotMade, { ofFailure: what.stopKind !== 'planned' })]),
    ...(what.boardsScrapped === undefined ? [] : [event('scrap', what.boardsScrapped)]),
    ...(what.ordersLate === undefined ? [] : [event('orders-late', what.ordersLate)]),
    ...(what.secondaryDamage === undefined ? [] : [event('secondary-damage', 1, { amount: what.secondaryDamage, of: section })]),
  ]
}

function stopEvents(kind: 'planned-stop' | 'unplanned-stop', hours: number, timeMs: number, section: Section, { definition }: LineBook, withoutBoards = false): CostEvent[] {
  const mark = { timeMs, line: definition.line, section, ofFailure: kind === 'unplanned-stop' }
  const boardsPerHour = definition.costs?.boardsPerHour
  return [
    { ...mark, kind, quantity: hours },
    ...(withoutBoards ? [] : [{ ...mark, kind: 'boards-not-made' as const, quantity: hours * (boardsPerHour ?? 0), ...(boardsPerHour === undefined ? { lacks: 'boardsPerHour' } : {}) }]),
  ]
}

/** Agreed stops that have passed and are not in the ledger under their own id; those without production cost no stop. */
function agreedStopEvents(book: LineBook): CostEvent[] {
  const { definition, nowMs } = book
  const inLedger = new Set(factsOf(book, 'stop').map(({ id }) => id))
  return factsOf(book, 'plan')
    .filter(({ agreed }) => agreed)
    .flatMap(({ stops }) => stops)
    .filter(({ id, untilMs }) => !inLedger.has(id) && untilMs <= nowMs)
    .flatMap((stop) => {
      const shift = shiftWindows(definition.shifts, definition.timeZone, stop.fromMs - DAY_MS, stop.untilMs).find((window) => window.name === stop.shift && window.fromMs <= stop.fromMs && stop.untilMs <= window.untilMs)
      if (shift?.production === false) return []
      const sections = new Set(stop.jobs.map(({ section }) => section))
      return stopEvents('planned-stop', (stop.untilMs - stop.fromMs) / HOUR_MS, stop.fromMs, sections.size === 1 ? [...sections][0]! : 'line', book)
    })
}
