import { z } from 'zod'
import { channelConversion, channelKindOf } from './channels.js'
import { peopleSchema, siteWorkSchema } from './site-work.js'
import { roundsSchema } from './rounds-definition.js'
import { siteLikelihoodsSchema } from './likelihood-parts.js'

/** Ids become topic levels, file names and keys: no dots, slashes or blanks. */
const idSchema = z.string().regex(/^[a-z0-9][a-z0-9-]{0,62}$/, 'expected lower-case letters, digits and hyphens, at most 63, e.g. "line-a"')

const timeZoneSchema = z.string().refine(isTimeZone, 'expected an IANA time zone, e.g. "Europe/Madrid" or "UTC"')

const topicSchema = z
  .string()
  .min(1)
  .max(512)
  .refine((topic) => !topic.startsWith('$') && !topic.includes('\u0000'), 'expected an MQTT topic that does not start with "$"')
  .refine(isTopicFilter, 'expected "+" and named parts such as "{n}" to fill a whole level, and "#" only as the last level')

/** No path may reach into the language's own machinery. */
const pathSchema = z
  .string()
  .max(200)
  .refine((path) => !/(^|\.)(__proto__|constructor|prototype)(\.|$)/.test(path), 'expected names of the payload only')

const payloadSchema = z.strictObject({
  value: pathSchema.default('').describe('Path of the value in a JSON payload, e.g. "data.value" or "0.v"; empty: the payload itself'),
  time: pathSchema.optional().describe('Path of the time'),
  timeUnit: z.enum(['iso', 's', 'ms']).optional().describe('Form of the time; without it ISO texts and s or ms numbers are told apart'),
  unit: pathSchema.optional().describe('Path of the unit name'),
  quality: pathSchema.optional().describe('Path of a quality flag'),
  goodQuality: z.array(z.union([z.string(), z.number(), z.boolean()])).optional().describe('Values of the flag that mean good'),
  samples: pathSchema.optional().describe('Path of an array of samples; the other paths then start at each sample'),
})

const channelSchema = z
  .strictObject({
    channel: z.string().max(128).describe('Channel id; may hold named parts of the topic, e.g. "preheat.zone-{n}.temperature"'),
    topic: topicSchema.optional().describe('MQTT topic; without it "<topicRoot>/<line>/telemetry/<channel>"'),
    unit: z.string().optional().describe('Unit the source publishes in, e.g. "°F" or "m/min"; without it the base unit of the channel'),
    periodS: z.number().positive().max(86_400).optional().describe('Usual time between readings, s'),
    latenessS: z.number().nonnegative().max(172_800).optional().describe('How late a reading may come and still count, s; without it two periods'),
    payload: payloadSchema.optional(),
  })
  .superRefine((entry, context) => {
    const plain = entry.channel.replaceAll(/\{n\}/g, '1').replaceAll(/\{[a-z]+\}/g, 'x')
    const found = channelKindOf(plain)
    if (found === undefined) {
      context.addIssue({ code: 'custom', path: ['channel'], message: `unknown channel "${entry.channel}"; expected one of the channel list, or "custom.<name>"` })
      return
    }
    if (entry.unit !== undefined) {
      const conversion = channelConversion(found.channelKind, entry.unit)
      if (conversion.kind === 'unknown-unit') context.addIssue({ code: 'custom', path: ['unit'], message: `unknown unit "${entry.unit}"; expected one of ${conversion.expected}` })
    }
    const missing = [...entry.channel.matchAll(/\{[a-z]+\}/g)].map(([part]) => part).find((part) => entry.topic?.split('/').includes(part) === false)
    if (missing !== undefined) context.addIssue({ code: 'custom', path: ['topic'], message: `expected a level "${missing}" that fills in "${entry.channel}"` })
  })

const zoneSchema = z.strictObject({
  kind: z.enum(['convection', 'radiant']).default('convection'),
  thermocouple: z.enum(['board-air', 'heater-outlet', 'on-element', 'unknown']).default('unknown').describe('What the control thermocouple measures: it decides the sign of several symptoms'),
  blower: z.enum(['fixed-speed', 'constant-flow', 'none', 'unknown']).default('unknown'),
})

const machineSchema = z.strictObject({
  fluxer: z.strictObject({ feed: z.enum(['pressure', 'metered-pump', 'unknown']).default('unknown') }).prefault({}),
  zones: z.array(zoneSchema).min(1).max(12).prefault([{}, {}, {}]),
  conveyor: z
    .strictObject({
      chainPitchMm: z.number().positive().max(200).optional(),
      sprocketTeeth: z.int().min(5).max(200).optional(),
      chainLoopM: z.number().positive().max(200).optional(),
      fingerPitchMm: z.number().positive().max(1000).optional(),
      speedSensor: z.enum(['chain', 'motor', 'unknown']).default('unknown'),
    })
    .prefault({}),
  pot: z
    .strictObject({
      surfaceAreaM2: z.number().positive().max(10).optional(),
      alloy: z.string().max(60).optional(),
      levelBandMm: z.tuple([z.number(), z.number()]).optional().describe('Normal band of the level reading, mm to reference; without it 10 mm around the level the pot is kept at'),
      levelAlarmMm: z.number().optional().describe('Level at which the pump may draw dross, mm to reference'),
    })
    .prefault({})
    .refine(({ levelBandMm: band, levelAlarmMm: alarm }) => band === undefined || (band[0] < band[1] && (alarm === undefined || alarm < band[1])), 'expected levelBandMm as [lower, upper] and levelAlarmMm below the upper end'),
})

const shiftSchema = z.strictObject({
  name: z.string().min(1).max(40),
  days: z.array(z.enum(['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'])).min(1),
  start: z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'expected a time of day as HH:MM'),
  end: z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'expected a time of day as HH:MM'),
  people: z.int().min(1).max(50).default(1).describe('People of the crew on this shift who do maintenance; the same people for every line of the site'),
  production: z.boolean().optional().describe('false: no boards are made in this shift, so work in it stops nothing, e.g. a Saturday for maintenance'),
})

const money = z.number().nonnegative().max(1e9)

/** A way of cleaning, for comparing cost: n passes, each with its time, litres and price. */
const cleaningMethodSchema = z
  .strictObject({
    method: z.string().min(1).max(60).describe('What people call it, e.g. "engineered cleaner, by hand"'),
    passes: z.number().positive().max(100).describe('Passes until clean, counted on the site\'s own residue'),
    passesRange: z.tuple([z.number().positive(), z.number().positive()]).optional().describe('Fewest and most passes counted; without it the passes are taken as known to 20 %'),
    hoursPerPass: z.number().nonnegative().max(100),
    litresPerPass: z.number().nonnegative().max(1000),
    pricePerLitre: money,
    wastePerLitre: money.default(0),
    flashPointC: z.number().min(-100).max(500).nullable().optional().describe('Of the safety data sheet, °C; null: the sheet says there is none; absent: not known, and the method is not offered'),
    coolDownHours: z.number().nonnegative().max(100).default(0).describe('Extra cooling that the flash point asks for'),
    riskPerJob: money.default(0).describe('Chance of fire times loss, with insurance and storage, for one job'),
  })
  .refine(({ passes, passesRange }) => passesRange === undefined || (passesRange[0] <= passes && passes <= passesRange[1]), 'expected passesRange as [fewest, most] around passes')

/** What the site knows of its own costs; every figure may be left out, and what rests on it is then not given. */
const costsSchema = z.strictObject({
  currency: z.string().min(1).max(8).default('EUR'),
  lineStopPerHour: money.optional().describe('An hour of planned stop, without the boards not made in it'),
  unplannedStopPerHour: money.optional().describe('An hour of unplanned stop, without the boards not made in it'),
  unplannedStopHours: z.number().nonnegative().max(1000).optional().describe('Usual length of an unplanned stop, h'),
  labourPerHour: money.optional(),
  scrapPerBoard: money.optional(),
  contributionPerBoard: money.optional().describe('What a board not made costs'),
  boardsPerHour: z.number().nonnegative().max(100_000).optional().describe('Boards a line makes in an hour of production'),
  orderLate: money.optional().describe('An order delivered late'),
  cleanerPerJob: money.optional().describe('Cleaner used by one cleaning'),
  washerPerCycle: money.optional().describe('One cycle of the washing machine'),
  spareSetPerUse: money.optional().describe('Wear of a spare set each time it is swapped in'),
  partsPerWork: z.record(z.string().max(60), money).optional().describe('Parts of a job by its work catalogue id, e.g. {"replace-seals": 40}'),
  damagePerFailure: z.record(z.string().max(60), money).optional().describe('Usual damage to other parts when a section fails, e.g. {"transport": 3000}'),
  cleaningMethods: z.array(cleaningMethodSchema).max(20).optional(),
})

/** What the plan has to know besides shifts. */
const planningSchema = z.strictObject({
  washingMachine: z.boolean().default(false).describe('Whether the site has a washing machine for filters, fingers, plates and chains'),
  coolDownMinutes: z.number().positive().max(600).default(60).describe('Until preheat parts are below 50 °C, min; 30 to 60 are usual'),
  isolationMinutes: z.number().nonnegative().max(240).default(10).describe('To isolate, lock and verify, min'),
  returnMinutes: z.number().nonnegative().max(240).default(15).describe('Guards on, tools out, empty run, min'),
  warmUpMinutes: z.number().nonnegative().max(600).default(45).describe('From cold to ready, min'),
})

const limitPairSchema = z
  .strictObject({ lower: z.number().optional(), upper: z.number().optional() })
  .refine(({ lower, upper }) => lower === undefined || upper === undefined || lower < upper, 'expected lower below upper')

const featureLimitsSchema = z.strictObject({
  action: limitPairSchema.optional().describe('Levels at which somebody has to act, feature unit: dates are given for reaching them'),
  specification: limitPairSchema.optional().describe('Limits of the specification, feature unit: capability is stated against them'),
})

/** Rules beside the four zone rules, each off unless named. */
export const SUPPLEMENTARY_RULE_NAMES = ['steady-trend', 'alternation', 'too-quiet', 'avoids-middle', 'nine-on-one-side'] as const

/**
 * The description of one line. Unknown keys are refused, so that a misspelt one is not silently ignored.
 * Costs are kept in the site's own currency.
 */
export const lineDefinitionSchema = z
  .strictObject({
    schemaVersion: z.literal(1).default(1),
    line: idSchema.describe('Id of the line; never changed'),
    title: z.string().min(1).max(80).optional(),
    timeZone: timeZoneSchema.default('UTC'),
    simulated: z.boolean().default(false).describe('A simulated line takes its clock from its data and says so everywhere'),
    topicRoot: z.string().regex(/^[^#+$][^#+]*[^#+/]$/, 'expected a topic without "+" and "#", e.g. "wave-solder"').default('wave-solder'),
    machine: machineSchema.prefault({}),
    channels: z.array(channelSchema).max(500).default([]).describe('Empty: every channel of the list is taken from its standard topic in its base unit'),
    shifts: z.array(shiftSchema).max(50).default([]),
    budget: z
      .strictObject({
        falseSignalsPerWeek: z.number().positive().max(1000).default(1),
        falseSuggestionsPerWeek: z.number().positive().max(100).default(0.05),
        weights: z
          .partialRecord(z.enum(['fluxer', 'preheat', 'transport', 'pot', 'line']), z.number().positive().max(100))
          .optional()
          .describe('Share of the false signals a feature of a section may have beside the others, 1 without it: more where a missed fault costs more'),
      })
      .prefault({}),
    costs: costsSchema.optional(),
    planning: planningSchema.optional(),
    likelihoods: siteLikelihoodsSchema.optional(),
    suggestions: z.strictObject({ webhook: z.url().optional() }).optional(),
    siteWork: siteWorkSchema.optional().describe('The site’s own part of the work catalogue; in a definition file it can be the name of a JSON file beside it'),
    people: peopleSchema.optional(),
    rounds: roundsSchema.optional().describe('What this line changes at the rounds: checks left out, how often, targets and limits, checks of its own'),
    featureLimits: z.record(z.string().max(128), featureLimitsSchema).optional().describe('By feature, e.g. "preheat.zone-1.temperature.offset"'),
    rules: z
      .strictObject({ supplementary: z.array(z.enum(SUPPLEMENTARY_RULE_NAMES)).max(5).default([]).describe('Further rules shown as hits on the charts; they never raise an alarm, and make hits frequent') })
      .optional(),
  })
  .superRefine((definition, context) => {
    const seen = new Set<string>()
    definition.channels.forEach((entry, index) => {
      const key = `${entry.channel} ${entry.topic ?? ''}`
      if (seen.has(key)) context.addIssue({ code: 'custom', path: ['channels', index], message: `channel "${entry.channel}" is given twice for the same topic` })
      seen.add(key)
      const zone = channelKindOf(entry.channel)?.zone
      if (zone !== undefined && zone > definition.machine.zones.length) {
        context.addIssue({ code: 'custom', path: ['channels', index, 'channel'], message: `zone ${zone} is not among the ${definition.machine.zones.length} of machine.zones` })
      }
    })
  })

/** A checked line definition, all defaults filled in. */
export type LineDefinition = z.output<typeof lineDefinitionSchema>
/** What a person writes: everything but `line` may be left out. */
export type LineDefinitionInput = z.input<typeof lineDefinitionSchema>

export interface DefinitionFault {
  /** Where, e.g. `channels[3].unit`; empty for the whole. */
  readonly path: string
  readonly message: string
}

export type DefinitionResult = { readonly kind: 'definition'; readonly definition: LineDefinition } | { readonly kind: 'faults'; readonly faults: readonly DefinitionFault[] }

/** Checks an unknown value as a line definition; every fault is reported with its path, not only the first. */
export function parseLineDefinition(input: unknown): DefinitionResult {
  const result = lineDefinitionSchema.safeParse(input)
  if (result.success) return { kind: 'definition', definition: result.data }
  return {
    kind: 'faults',
    faults: result.error.issues.map((issue) => ({ path: pathText(issue.path), message: issue.message })),
  }
}

/** JSON Schema (draft 2020-12) of what a person writes, for editors and other tools. */
export function lineDefinitionJsonSchema(): Record<string, unknown> {
  return z.toJSONSchema(lineDefinitionSchema, { io: 'input' }) as Record<string, unknown>
}

function pathText(path: readonly PropertyKey[]): string {
  return path.reduce<string>((text, part) => (typeof part === 'number' ? `${text}[${part}]` : text === '' ? String(part) : `${text}.${String(part)}`), '')
}

function isTopicFilter(topic: string): boolean {
  const levels = topic.split('/')
  return levels.every((level, index) => {
    if (level === '#') return index === levels.length - 1
    if (level === '+') return true
    if (/[{}]/.test(level)) return /^\{[a-z]+\}$/.test(level)
    return !/[+#]/.test(level)
  })
}

/** Whether it names a zone of the IANA database that this machine knows. */
export function isTimeZone(timeZone: string): boolean {
  try {
    new Intl.DateTimeFormat('en', { timeZone })
    return true
  } catch {
    return false
  }
}
