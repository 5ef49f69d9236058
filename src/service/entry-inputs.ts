import { createHash } from 'node:crypto'
import { z } from 'zod'
import { CHANGE_KINDS } from '../maintenance/changes/change-entry.js'
import { JOB_ACTIONS } from '../maintenance/jobs/job-entry.js'
import type { MaintenanceEntry } from '../maintenance/maintenance-entry.js'
import { PLAN_ENTRY_SCHEMAS, withPlanTimes } from './plan-entry-inputs.js'
import { recordBodySchema, recordOf, type InputResult } from './outside-inputs.js'

const word = z.string().trim().min(1).max(80)
const remark = z.string().trim().min(1).max(2000)
const time = z.iso.datetime({ offset: true, local: false, error: 'expected an ISO 8601 time with a zone, e.g. "2026-03-02T14:30:00Z"' }).transform((text) => Date.parse(text))
const zone = z.int().min(1).max(12)

const mark = {
  id: word.optional().describe('Made by the sender, so that the same entry sent twice counts once; made from the entry where it is absent'),
  time: time.optional().describe('When it happened; now where it is absent'),
  by: word.optional(),
}

const roundSchema = z.strictObject({
  ...mark,
  type: z.literal('round'),
  round: z.enum(['shift', 'day', 'week', 'month', 'event']),
  items: z
    .array(
      z.strictObject({
        check: word,
        ok: z.boolean(),
        values: z.record(word, z.number()).optional(),
        finding: z.int().min(0).max(4).optional(),
        zone: zone.optional(),
        remark: remark.optional(),
      }),
    )
    .min(1)
    .max(200),
})

const jobSchema = z.strictObject({
  ...mark,
  type: z.literal('job'),
  job: word.optional(),
  action: z.enum(JOB_ACTIONS),
  work: word.optional(),
  section: z.enum(['fluxer', 'preheat', 'transport', 'pot']).optional(),
  zone: zone.optional(),
  suggestion: word.optional(),
  reason: word.optional(),
  until: time.optional(),
  people: z.int().min(1).max(50).optional(),
  dismantled: remark.optional(),
  product: word.optional(),
  part: word.optional(),
  step: word.optional(),
  surfaceC: z.number().min(-50).max(600).optional(),
  engineer: word.optional(),
  remark: remark.optional(),
})

const correctionSchema = z.strictObject({ ...mark, type: z.literal('correction'), of: word, record: recordBodySchema.optional(), reason: remark })

const holdSchema = z.strictObject({
  ...mark,
  type: z.literal('hold'),
  action: z.enum(['end-early', 'explain-change', 'exempt']),
  reason: remark,
  until: time.optional(),
  change: word.optional(),
  recipe: z.string().trim().min(1).max(80).optional(),
})

const changeSchema = z.strictObject({ ...mark, type: z.literal('change'), change: z.enum(CHANGE_KINDS), text: remark.optional(), zone: zone.optional() })

/** An entry as JSON from page, MQTT or wire. */
export const entryBodySchema = z.discriminatedUnion('type', [roundSchema, jobSchema, correctionSchema, holdSchema, changeSchema, ...PLAN_ENTRY_SCHEMAS])
export type EntryBody = z.output<typeof entryBodySchema>

/** @param nowMs time of an entry that names none, ms UTC */
export function entryOf(body: EntryBody, nowMs: number): MaintenanceEntry {
  const { id, time: timeMs = nowMs, ...rest } = body
  const inside = {
    ...Object.fromEntries(Object.entries(rest).filter(([name, value]) => value !== undefined && name !== 'until' && name !== 'record')),
    timeMs,
    ...('until' in rest && rest.until !== undefined ? { untilMs: rest.until } : {}),
    ...(rest.type === 'correction' && rest.record !== undefined ? { record: recordOf(rest.record, timeMs) } : {}),
  }
  return { id: id ?? `entry-${createHash('sha256').update(JSON.stringify(inside)).digest('hex').slice(0, 16)}`, ...withPlanTimes(inside) } as MaintenanceEntry
}

/**
 * What a device wrote down while it had no network carries the time of the device. On a simulated line, whose clock is that
 * of its data, this lies ahead and means now.
 */
export function notAhead<T extends { readonly timeMs: number }>(input: T, line: { readonly definition: { readonly simulated: boolean }; nowMs(): number }): T {
  return line.definition.simulated && input.timeMs > line.nowMs() ? { ...input, timeMs: line.nowMs() } : input
}

/** JSON text and parsed JSON alike. */
export function entryFromJson(value: unknown, nowMs: number): InputResult<MaintenanceEntry> {
  const body = entryBodySchema.safeParse(parsed(value))
  if (body.success) return { kind: 'input', input: entryOf(body.data, nowMs) }
  return { kind: 'faults', message: body.error.issues.map((issue) => `${issue.path.join('.') || 'body'}: ${issue.message}`).join('; ') }
}

function parsed(value: unknown): unknown {
  if (typeof value !== 'string') return value
  try {
    return JSON.parse(value) as unknown
  } catch {
    return value
  }
}
