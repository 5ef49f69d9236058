import type { Section } from '../../line/feature-value.js'
import { factsOf, type LineBook } from '../plan/line-book.js'
import { costEvents } from './cost-events.js'
import { costOf, sumOf, type CostAmount, type CostEvent } from './cost-table.js'

/**
 * What cleaning when it was suggested would have saved. It rests on one assumption, which is always told with it: that
 * the work would have prevented everything that failed in its section between the suggestion and the work. The
 * cleaning itself costs the same at either time, so it is in neither side.
 */
export interface EarlierCleaning {
  readonly line: string
  readonly suggestion: string
  readonly section: Section
  readonly work: readonly string[]
  readonly suggestedMs: number
  /** When the work was done; absent while it is not. */
  readonly doneMs?: number
  readonly events: readonly CostEvent[]
  readonly saved: CostAmount
}

/** One entry for each suggestion after which something failed before its work was done, the newest first. */
export function earlierCleaning(book: LineBook, fromMs: number, untilMs: number): EarlierCleaning[] {
  const events = costEvents(book, fromMs, untilMs).filter(({ ofFailure }) => ofFailure)
  const records = factsOf(book, 'record').filter(({ withdrawn }) => !withdrawn)
  const costs = book.definition.costs ?? { currency: 'EUR' }
  const taken = new Set<CostEvent>()
  return [...book.suggestions]
    .sort((a, b) => a.raisedMs - b.raisedMs)
    .flatMap((suggestion): EarlierCleaning[] => {
      const { id, section, zone, work, raisedMs, status } = suggestion
      if (status === 'declined' || status === 'withdrawn') return []
      const done = records.find(({ record }) => record.timeMs >= raisedMs && (record.suggestion === id || (work.includes(record.work) && record.section === section && record.zone === zone)))
      const doneMs = done?.record.timeMs
      const own = events.filter((event) => !taken.has(event) && event.timeMs > raisedMs && event.timeMs <= (doneMs ?? untilMs) && (event.section === section || section === 'line'))
      if (own.length === 0) return []
      // What failed once is not saved twice, whichever suggestions stood at the time.
      for (const event of own) taken.add(event)
      return [{ line: book.definition.line, suggestion: id, section, work, suggestedMs: raisedMs, ...(doneMs === undefined ? {} : { doneMs }), events: own, saved: sumOf(own.map((event) => costOf(event, costs))) }]
    })
    .reverse()
}
