import type { WorkRecord } from '../suggestion.js'
import type { RecordFact } from './job-fact.js'

/** Records kept at hand for corrections and follow-ups; all stay in the history. */
export const RECORDS_KEPT = 500

/** Versions of one record kept beside it: the first and the newest; all stay in the history. */
const VERSIONS_KEPT = 20

/** The records of a line, the first entered first. Plain data, changed in place. */
export type RecordBook = RecordFact[]

export function findRecord(book: RecordBook, id: string): RecordFact | undefined {
  return book.find((fact) => fact.id === id)
}

/** Puts a record in. @param keep ids that must stay, however old */
export function addRecord(book: RecordBook, record: WorkRecord, enteredMs: number, keep: ReadonlySet<string>): RecordFact {
  const fact: RecordFact = { type: 'record', id: record.id, timeMs: record.timeMs, record, enteredMs, earlier: [], withdrawn: false }
  book.push(fact)
  if (book.length > RECORDS_KEPT) {
    const oldest = book.findIndex(({ id }) => !keep.has(id))
    book.splice(Math.max(0, oldest), 1)
  }
  return fact
}

/** Replaces a record's content or takes it back; what it said before is kept with the reason. */
export function correctRecord(book: RecordBook, id: string, correction: { readonly record: WorkRecord | undefined; readonly reason: string; readonly timeMs: number; readonly by: string | undefined }): RecordFact | undefined {
  const index = book.findIndex((fact) => fact.id === id)
  const known = book[index]
  if (known === undefined) return undefined
  const { reason, timeMs, by } = correction
  const versions = [...known.earlier, { record: known.record, reason, correctedMs: timeMs, ...(by === undefined ? {} : { by }) }]
  const earlier = versions.length > VERSIONS_KEPT ? [versions[0]!, ...versions.slice(1 - VERSIONS_KEPT)] : versions
  const record = correction.record === undefined ? known.record : { ...correction.record, id }
  const fact: RecordFact = { ...known, timeMs: record.timeMs, record, earlier, withdrawn: correction.record === undefined }
  book[index] = fact
  return fact
}

/** Newest record of a work that was not taken back; by the time it was done. */
export function newestOf(book: RecordBook, work: string, zone: number | undefined): RecordFact | undefined {
  return book.filter((fact) => !fact.withdrawn && fact.record.work === work && fact.record.zone === zone).reduce<RecordFact | undefined>((best, fact) => (best === undefined || fact.timeMs >= best.timeMs ? fact : best), undefined)
}

/** Whether the work was done at or after a time. */
export function wasDoneSince(book: RecordBook, work: string, zone: number | undefined, sinceMs: number): boolean {
  return book.some((fact) => !fact.withdrawn && fact.record.work === work && fact.record.zone === zone && fact.timeMs >= sinceMs)
}
