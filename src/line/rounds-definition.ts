import { z } from 'zod'
import { ROUND_PERIODS } from './round-periods.js'

const name = z.string().regex(/^[a-z][a-z0-9-]{0,39}$/, 'expected lower-case letters, digits and hyphens, at most 40')
const words = z.string().trim().min(3).max(300)
/** A text in both languages of the catalogue: what a person reads at the line never falls back to another language. */
const inLanguages = <Schema extends z.ZodType>(schema: Schema) => z.strictObject({ 'en-US': schema, es: schema })

const limits = {
  target: z.number().optional().describe('What the value should be; the chart has its centre there'),
  lower: z.number().optional().describe('Below it somebody acts'),
  upper: z.number().optional().describe('Above it somebody acts'),
}

const ownCheckSchema = z.strictObject({
  check: name,
  section: z.enum(['fluxer', 'preheat', 'transport', 'pot']),
  every: z.enum(ROUND_PERIODS),
  minutes: z.number().positive().max(240),
  title: inLanguages(words),
  steps: inLanguages(z.array(words).min(1).max(12)),
  cautions: z.array(name).max(12).default([]).describe('Caution ids of the work catalogue; those for every check are added'),
  values: z
    .array(z.strictObject({ value: name, title: inLanguages(words), unit: z.string().max(20), possibleMin: z.number(), possibleMax: z.number(), ...limits }).refine(({ possibleMin, possibleMax }) => possibleMin < possibleMax, 'expected possibleMin below possibleMax'))
    .max(8)
    .default([]),
})

/** What a site changes at the rounds of a line. */
export const roundsSchema = z.strictObject({
  off: z.array(name).max(60).default([]).describe('Checks of the catalogue that this line does without'),
  every: z.record(name, z.enum(ROUND_PERIODS)).default({}).describe('How often a check comes here, where the catalogue says otherwise'),
  values: z
    .record(z.string().regex(/^[a-z][a-z0-9-]*\.[a-z][a-z0-9-]*$/, 'expected "<check>.<value>"'), z.strictObject(limits).refine(({ lower, upper }) => lower === undefined || upper === undefined || lower < upper, 'expected lower below upper'))
    .default({})
    .describe('Targets and limits of hand-measured values, by "<check>.<value>", e.g. "weigh-dose.grams"'),
  own: z.array(ownCheckSchema).max(40).default([]).describe('Checks of the site'),
})
