import { z } from 'zod'
import { PAPER_KINDS, STOCK_ITEMS, STOCK_MOVES } from '../maintenance/plan/plan-entry.js'

const word = z.string().trim().min(1).max(80)
const remark = z.string().trim().min(1).max(2000)
const time = z.iso.datetime({ offset: true, local: false, error: 'expected an ISO 8601 time with a zone, e.g. "2026-03-02T14:30:00Z"' }).transform((text) => Date.parse(text))
const section = z.enum(['fluxer', 'preheat', 'transport', 'pot'])
const count = z.int().min(0).max(100_000)
const people = z.int().min(0).max(50)

const mark = {
  id: word.optional().describe('Made by the sender, so that the same entry sent twice counts once; made from the entry where it is absent'),
  time: time.optional().describe('When it happened; now where it is absent'),
  by: word.optional(),
}

const jobSchema = z.strictObject({ work: word, section, zone: z.int().min(1).max(12).optional(), from: time, until: time, people })
const stopSchema = z.strictObject({ id: word, from: time, until: time, shift: word, people, jobs: z.array(jobSchema).min(1).max(100) })

const planSchema = z.strictObject({
  ...mark,
  type: z.literal('plan'),
  action: z.enum(['agree', 'reopen']),
  week: z.string().regex(/^\d{4}-W\d{2}$/, 'expected an ISO week, e.g. "2026-W48"'),
  stops: z.array(stopSchema).max(100).default([]),
  reason: remark.optional().describe('Needed to open an agreed week again'),
})

const followedSchema = z.strictObject({
  text: remark.optional(),
  stopKind: z.enum(['planned', 'unplanned']).optional(),
  stopMinutes: z.number().nonnegative().max(100_000).optional(),
  boardsScrapped: count.optional(),
  boardsNotMade: count.optional(),
  ordersLate: count.optional(),
  secondaryDamage: z.number().nonnegative().max(1e9).optional().describe('Damage to other parts, in the site\'s currency'),
  section: section.optional(),
})

const stopEntrySchema = z.strictObject({
  ...mark,
  type: z.literal('stop'),
  action: z.enum(['ask', 'grant', 'refuse', 'followed', 'withdraw']),
  stop: word.optional().describe('Needed for everything but "ask"'),
  from: time.optional(),
  minutes: z.number().nonnegative().max(100_000).optional(),
  people: people.optional(),
  work: z.array(word).max(100).optional(),
  section: section.optional(),
  reason: remark.optional().describe('Needed to refuse'),
  followed: followedSchema.optional(),
})

const stockSchema = z.strictObject({
  ...mark,
  type: z.literal('stock'),
  item: z.enum(STOCK_ITEMS),
  ready: count.optional().describe('Clean sets, or parts on the shelf; needed for a count, which replaces what was known'),
  dirty: count.optional(),
  atWasher: count.optional(),
  move: z.enum(STOCK_MOVES).optional().describe('In place of a count: dirty sets that go to the washer, or come back clean'),
  count: z.int().min(1).max(100_000).optional().describe('How many are moved; one where it is absent'),
})

const paperSchema = z.strictObject({
  ...mark,
  type: z.literal('paper'),
  paper: z.enum(PAPER_KINDS),
  of: word.describe('Work catalogue id for an instruction or a qualification; instrument for a calibration'),
  reference: word.describe('Revision, or number of the certificate'),
  validFrom: time,
  due: time.optional().describe('When it must be renewed'),
  people: people.optional().describe('How many people hold a qualification'),
})

/** Entries about the plan, stops, stock and papers. */
export const PLAN_ENTRY_SCHEMAS = [planSchema, stopEntrySchema, stockSchema, paperSchema] as const

const TIMES = new Set(['from', 'until', 'validFrom', 'due'])

/** Times of these entries under the names they have inside, with their unit; other entries come back as they are. */
export function withPlanTimes(entry: Readonly<Record<string, unknown>>): Record<string, unknown> {
  if (!PLAN_ENTRY_SCHEMAS.some(({ shape }) => shape.type.value === entry['type'])) return { ...entry }
  return renamed(entry) as Record<string, unknown>
}

function renamed(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(renamed)
  if (typeof value !== 'object' || value === null) return value
  return Object.fromEntries(Object.entries(value).map(([name, inner]) => [TIMES.has(name) && typeof inner === 'number' ? `${name}Ms` : name, renamed(inner)]))
}
