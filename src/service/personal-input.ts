import type { MaintenanceEntry } from '../maintenance/maintenance-entry.js'
import type { SuggestionReply, WorkRecord } from '../maintenance/suggestion.js'
import { entryFromJson } from './entry-inputs.js'
import { recordFromJson, replyFromJson } from './outside-inputs.js'
import type { EntryOutcome, ReplyOutcome } from './site-view.js'

export type PersonalOutcome = ReplyOutcome | { readonly kind: 'unknown' }

/** Whoever takes replies, records and entries: a running line, or the port of one. */
export interface PersonalReceiver {
  reply(reply: SuggestionReply): Promise<ReplyOutcome>
  record(record: WorkRecord): Promise<EntryOutcome>
  enter(entry: MaintenanceEntry): Promise<EntryOutcome>
}

/**
 * Takes a reply `{suggestion, action, …}`, a record `{section, work, …}` or an entry `{type, …}`, as an object or JSON
 * text, through the line's journal; resolves when it has been stepped.
 *
 * @param nowMs time of what names none, ms UTC
 */
export async function takePersonalInput(receiver: PersonalReceiver, payload: unknown, nowMs: number = Date.now()): Promise<PersonalOutcome> {
  const fields = fieldsOf(payload)
  if (fields === undefined) return { kind: 'unknown' }
  if (Object.hasOwn(fields, 'type')) {
    const entry = entryFromJson(fields, nowMs)
    return entry.kind === 'faults' ? { kind: 'refused', message: entry.message } : outcomeOf(await receiver.enter(entry.input))
  }
  if (Object.hasOwn(fields, 'action')) {
    const reply = replyFromJson(fields)
    return reply.kind === 'faults' ? { kind: 'refused', message: reply.message } : receiver.reply(reply.input)
  }
  if (!Object.hasOwn(fields, 'work')) return { kind: 'unknown' }
  const record = recordFromJson(fields, nowMs)
  return record.kind === 'faults' ? { kind: 'refused', message: record.message } : outcomeOf(await receiver.record(record.input))
}

function outcomeOf(outcome: EntryOutcome): PersonalOutcome {
  return outcome.kind === 'taken' ? { kind: 'taken' } : outcome
}

/** The fields of an input as an object or JSON text; undefined for anything else. */
export function fieldsOf(payload: unknown): object | undefined {
  let value = payload
  if (Buffer.isBuffer(value)) value = value.toString('utf8')
  if (typeof value === 'string') {
    try {
      value = JSON.parse(value) as unknown
    } catch {
      return undefined
    }
  }
  return typeof value === 'object' && value !== null && !Array.isArray(value) ? value : undefined
}
