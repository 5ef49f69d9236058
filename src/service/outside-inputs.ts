import { createHash } from 'node:crypto'
import { z } from 'zod'
import type { SuggestionReply, WorkRecord } from '../maintenance/suggestion.js'

/** Limits of what people and other systems may write; a text field is a remark, not a document. */
const word = z.string().trim().min(1).max(80)
const time = z.iso.datetime({ offset: true, local: false, error: 'expected an ISO 8601 time with a zone, e.g. "2026-03-02T14:30:00Z"' }).transform((text) => Date.parse(text))

/** A reply as JSON from page, MQTT or wire; the suggestion's id stands in the path of the HTTP call instead. */
export const replyBodySchema = z
  .strictObject({
    id: word.optional().describe('The same reply sent twice under one id counts once'),
    action: z.enum(['take', 'put-off', 'decline', 'done']),
    reason: word.optional().describe('Reason id from /api/reasons; needed to put off or decline'),
    until: time.optional().describe('Needed to put off'),
    by: word.optional(),
    engineer: word.optional().describe('Who answers for putting off filter, ducts or seals past the limit'),
    found: z.enum(['confirmed', 'something-else', 'nothing-found']).optional().describe('With "done": what the check found'),
  })
  .superRefine((reply, context) => {
    if ((reply.action === 'put-off' || reply.action === 'decline') && reply.reason === undefined) context.addIssue({ code: 'custom', path: ['reason'], message: `expected a reason to ${reply.action === 'decline' ? 'decline' : 'put off'}` })
    if (reply.action === 'put-off' && reply.until === undefined) context.addIssue({ code: 'custom', path: ['until'], message: 'expected the time until which it is put off' })
  })

/** A record of work as JSON. */
export const recordBodySchema = z.strictObject({
  id: word.optional().describe('Made from the record where it is absent, so that the same record sent twice counts once'),
  time: time.optional().describe('When the work was done; now where it is absent'),
  section: z.enum(['fluxer', 'preheat', 'transport', 'pot', 'line']),
  zone: z.int().min(1).max(12).optional(),
  work: word.describe('Work catalogue id'),
  suggestion: word.optional(),
  finding: z.int().min(0).max(4).optional().describe('0 clean … 4 blocked, as found'),
  minutes: z.number().nonnegative().max(100_000).optional(),
  product: word.optional().describe('Name of the site’s list, or a product class of the catalogue'),
  remark: z.string().max(2000).optional(),
  by: word.optional(),
  job: word.optional(),
  values: z.record(z.string().regex(/^[a-z][A-Za-z0-9-]{0,39}$/, 'expected a name such as "holdLoss"'), z.number().min(-1e9).max(1e9)).refine((values) => Object.keys(values).length <= 20, 'expected at most 20 values').optional().describe('Hand-measured values by name'),
  passes: z.int().min(1).max(100).optional(),
  parts: z.array(word).min(1).max(20).optional(),
  lot: word.optional(),
  washer: z.boolean().optional().describe('Done in a washing machine'),
  people: z.int().min(1).max(50).optional(),
  handCheck: z.enum(['passed', 'failed']).optional().describe('The job’s own check afterwards'),
  surfaceC: z.number().min(-50).max(600).optional().describe('Hottest surface within reach before a cleaner was used, measured by hand, °C'),
  deviation: z.string().trim().min(1).max(500).optional().describe('Why a product that is not approved was used'),
  photo: z
    .strictObject({ name: word, type: z.enum(['image/jpeg', 'image/png', 'image/webp']), size: z.int().positive().max(10_000_000), sha256: z.string().regex(/^[0-9a-f]{64}$/, 'expected 64 hex digits') })
    .optional()
    .describe('Answer of the upload of a photo'),
})

export const baselineBodySchema = z.strictObject({
  feature: z.string().min(1).max(128),
  recipe: z.string().max(80).optional().describe('All recipes where it is absent'),
  decision: z.enum(['accept', 'reject', 'refit']),
  by: word.optional(),
  reason: z.string().max(500).optional(),
})

export type ReplyBody = z.output<typeof replyBodySchema>
export type RecordBody = z.output<typeof recordBodySchema>

export type InputResult<T> = { readonly kind: 'input'; readonly input: T } | { readonly kind: 'faults'; readonly message: string }

/** A reply whose suggestion stands inside, as it comes over MQTT or a wire. */
export function replyFromJson(value: unknown): InputResult<SuggestionReply> {
  const outer = z.looseObject({ suggestion: word }).safeParse(fromText(value))
  if (!outer.success) return faults(outer.error)
  const { suggestion, ...rest } = outer.data
  const body = replyBodySchema.safeParse(rest)
  return body.success ? { kind: 'input', input: replyOf(suggestion, body.data) } : faults(body.error)
}

export function replyOf(suggestion: string, body: ReplyBody): SuggestionReply {
  const { until, action, id, reason, by, engineer, found } = body
  return { suggestion, action, ...defined({ id, reason, untilMs: until, by, engineer, found }) }
}

/** @param nowMs time of a record that names none, ms UTC */
export function recordFromJson(value: unknown, nowMs: number): InputResult<WorkRecord> {
  const body = recordBodySchema.safeParse(fromText(value))
  return body.success ? { kind: 'input', input: recordOf(body.data, nowMs) } : faults(body.error)
}

export function recordOf(body: RecordBody, nowMs: number): WorkRecord {
  const { id, time: timeMs = nowMs, section, work, ...optional } = body
  const rest = { timeMs, section, work, ...defined(optional) }
  return { id: id ?? `record-${createHash('sha256').update(JSON.stringify(rest)).digest('hex').slice(0, 16)}`, ...rest }
}

type Defined<T> = { [K in keyof T]?: Exclude<T[K], undefined> }

function defined<T extends Readonly<Record<string, unknown>>>(object: T): Defined<T> {
  return Object.fromEntries(Object.entries(object).filter(([, value]) => value !== undefined)) as Defined<T>
}

/** JSON text and parsed JSON alike; what is no JSON fails in the schema. */
function fromText(value: unknown): unknown {
  if (typeof value !== 'string') return value
  try {
    return JSON.parse(value) as unknown
  } catch {
    return value
  }
}

function faults(error: z.ZodError): { kind: 'faults'; message: string } {
  return { kind: 'faults', message: error.issues.map((issue) => `${issue.path.join('.') || 'body'}: ${issue.message}`).join('; ') }
}
