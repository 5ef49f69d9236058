import { z } from 'zod'

/** Forms of the API's answers: the OpenAPI document is made from them, and a test holds the real answers to them. */
const time = z.iso.datetime()
const count = z.int().nonnegative()

export const lineSummarySchema = z.strictObject({
  line: z.string(),
  title: z.string(),
  timeZone: z.string(),
  simulated: z.boolean(),
  state: z.string(),
  stateSince: time.optional(),
  recipe: z.string().optional(),
  dataTime: time.optional().describe('Time of the newest data, by their own clock'),
  receivedTime: time.optional().describe('When the newest message came, by the wall clock'),
  openSuggestions: count,
  baselines: z.strictObject({ learning: count, provisional: count, accepted: count, refused: count }),
  rejected: z.strictObject({ total: count, byReason: z.record(z.string(), count) }),
  paused: z.string().optional().describe('Why reading has paused'),
  stages: z.array(z.string()),
})

export const lineDetailSchema = lineSummarySchema.extend({
  definition: z.looseObject({}),
  invisible: z.array(z.strictObject({ cause: z.string(), title: z.string() })).describe('Faults no channel of this line can show'),
  invisibleText: z.string(),
  rejectedLast: z.array(z.strictObject({ reason: z.string(), where: z.string(), time, found: z.string(), expected: z.string(), count })),
  damage: z.array(z.strictObject({ what: z.string(), seq: count, message: z.string() })),
})

export const featureSchema = z.strictObject({
  feature: z.string(),
  title: z.string(),
  section: z.string(),
  zone: z.int().optional(),
  unit: z.string(),
  difference: z.literal(true).optional().describe('A difference of temperatures: it has no zero of the scale'),
  hand: z.literal(true).optional().describe('Measured by hand'),
  windowS: z.number(),
  charts: z.array(z.string()),
  baseline: z.strictObject({ status: z.string(), n: z.number(), target: z.number(), reason: z.string().optional() }),
  latest: z.strictObject({ time, value: z.number() }).optional(),
  evidence: z.strictObject({ status: z.string(), shiftSigma: z.number(), onset: time.optional() }),
})

const chartContext = { feature: z.string(), chart: z.string(), recipe: z.string(), state: z.string() }

export const pointSchema = z.strictObject({
  time,
  ...chartContext,
  value: z.number(),
  statistic: z.number(),
  centre: z.number(),
  lower: z.number(),
  upper: z.number(),
  sigma: z.number(),
  n: z.number(),
  baseline: z.string(),
})

export const refusedLineSchema = z.strictObject({ line: z.string(), title: z.string(), reason: z.string() })
export const ruleHitSchema = z.strictObject({ time, ...chartContext, rule: z.string(), side: z.string(), points: z.array(time) })
export const ruleEndSchema = z.strictObject({ time, ...chartContext, rule: z.string(), side: z.string() })
export const signalSchema = z.strictObject({ time, ...chartContext, phase: z.enum(['start', 'end']), side: z.string(), onset: time, shiftSigma: z.number() })
export const stateSchema = z.strictObject({ time, state: z.string(), previous: z.string(), recipe: z.string(), because: z.string() })

const checkSchema = z.strictObject({ check: z.string(), title: z.string(), minutes: z.number(), needsElectrician: z.boolean(), steps: z.array(z.string()) })
const minutes = z.tuple([z.number(), z.number()])
const workSchema = z.strictObject({
  id: z.string(),
  title: z.string(),
  steps: z.array(z.string()).describe('Isolation, job, return to service and verification, in order'),
  people: z.number(),
  minutes,
  minutesWithWasher: minutes.optional(),
  tools: z.array(z.string()),
  needsElectrician: z.boolean(),
  verification: z.string(),
})
const causeSchema = z.strictObject({
  cause: z.string(),
  title: z.string(),
  probability: z.number(),
  words: z.string().describe('e.g. "about 7 in 10"'),
  kind: z.enum(['fault', 'benign', 'none-of-these']),
  section: z.string(),
  zone: z.int().optional(),
  members: z.array(z.string()).optional(),
  memberTitles: z.array(z.string()).optional(),
})

export const suggestionSchema = z.strictObject({
  id: z.string(),
  shortCode: z.string(),
  line: z.string(),
  raised: time,
  onset: time,
  section: z.string(),
  zone: z.int().optional(),
  status: z.string(),
  statusTime: time,
  history: z.array(z.strictObject({ time, status: z.string(), reason: z.string().optional(), until: time.optional(), by: z.string().optional() })),
  urgency: z.enum(['urgent', 'soon', 'plan']),
  due: z.union([z.strictObject({ kind: z.literal('date'), earliest: time, likely: time }), z.strictObject({ kind: z.literal('too-early') })]).optional().describe('When a drifting feature reaches its limit'),
  abstains: z.boolean(),
  headline: z.string(),
  byWhen: z.string(),
  causes: z.array(causeSchema),
  evidence: z.array(z.looseObject({ feature: z.string(), stance: z.enum(['for', 'against', 'missing']) })),
  reasons: z.array(z.string()),
  against: z.array(z.string()),
  missing: z.array(z.string()),
  checkFirst: checkSchema,
  work: z.array(workSchema),
  cautions: z.array(z.string()).min(1),
  cautionIds: z.array(z.string()),
  features: z.array(z.string()),
  invisible: z.array(z.string()),
  invisibleText: z.string(),
  channelThatWouldTell: z.string().optional(),
})

const reason = z.strictObject({ id: z.string(), title: z.string() })
export const reasonsSchema = z.strictObject({ putOff: z.array(reason), decline: z.array(reason) })

export const problemSchema = z.strictObject({
  type: z.string(),
  title: z.string(),
  status: z.int(),
  detail: z.string(),
  faults: z.array(z.strictObject({ path: z.string(), message: z.string() })).optional(),
})
