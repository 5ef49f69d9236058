import type { SuggestionReply } from '../maintenance/suggestion.js'
import type { LineInput } from '../monitor/line-event.js'
import { recordFromJson, replyFromJson } from './outside-inputs.js'
import type { ReplyOutcome } from './site-view.js'

export type PersonalOutcome = ReplyOutcome | { readonly kind: 'unknown' }

/** Whoever takes replies and records: a running line, or the port of one. */
export interface PersonalReceiver {
  submit(input: LineInput): Promise<{ readonly seq: number }>
  reply(reply: SuggestionReply): Promise<ReplyOutcome>
}

/**
 * Takes a reply `{suggestion, action, …}` or a record `{section, work, …}`, as an object or JSON text, through the
 * line's journal; resolves after the commit.
 */
export async function takePersonalInput(receiver: PersonalReceiver, payload: unknown): Promise<PersonalOutcome> {
  const fields = fieldsOf(payload)
  if (fields === undefined) return { kind: 'unknown' }
  if (Object.hasOwn(fields, 'action')) {
    const reply = replyFromJson(fields)
    return reply.kind === 'faults' ? { kind: 'refused', message: reply.message } : receiver.reply(reply.input)
  }
  if (!Object.hasOwn(fields, 'work')) return { kind: 'unknown' }
  const record = recordFromJson(fields, Date.now())
  if (record.kind === 'faults') return { kind: 'refused', message: record.message }
  await receiver.submit({ kind: 'record', record: record.input })
  return { kind: 'taken' }
}

function fieldsOf(payload: unknown): object | undefined {
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
