import { z } from 'zod'

const workId = z.string().regex(/^[a-z][a-z0-9-]{1,62}$/, 'expected a job id such as "clean-chain": lower-case letters, digits and hyphens')
const minutes = z.tuple([z.number().positive().max(10_000), z.number().positive().max(10_000)]).refine(([shortest, longest]) => shortest <= longest, 'expected [shortest, longest]')
const line = z.string().trim().min(3).max(1000)
const jobTextSchema = z.strictObject({ title: line, steps: z.array(line).min(1).max(40), tools: z.array(line).min(1).max(40), verification: line })
const languageTag = z.string().regex(/^[a-z]{2,3}(-[A-Za-z0-9]{2,8})?$/, 'expected a language tag, e.g. "de" or "fr-CA"')
const texts = z.record(languageTag, jobTextSchema)

/** A cleaner, lubricant or alloy that the site has on its shelf. */
const productSchema = z.strictObject({
  name: z.string().trim().min(1).max(80),
  class: z.string().min(1).max(40).describe('Product class of the work catalogue, e.g. "engineered-cleaner" or "ester-or-pao-oil"'),
  flashPointC: z.number().min(-60).max(400).optional().describe('Flash point from its safety data sheet, °C; leave it out for a product that has none'),
})

const instructionSchema = z.strictObject({ id: z.string().min(1).max(80), revision: z.string().min(1).max(40) })

/** How often a site does a job before its own history tells. */
const intervalSchema = z.strictObject({
  start: z.number().positive().max(10_000_000).describe('Starting interval on its scale'),
  scale: z.enum(['running-hours', 'boards', 'flux-g', 'calendar-hours']).default('running-hours').describe('What it is counted in to begin with: running hours, boards, g of flux sprayed or hours by the calendar; the line’s own history may show a better one'),
  perZone: z.boolean().default(false).describe('Of a preheat job: whether every zone has an interval of its own'),
})

/** What a site changes at a job of the catalogue. It can ask for more care, never for less. */
const editSchema = z.strictObject({
  people: z.int().min(1).max(8).optional().describe('At least as many as the catalogue asks for'),
  minutesByHand: minutes.optional(),
  minutesWithWasher: minutes.optional(),
  minutesWhenNeglected: minutes.optional(),
  products: z.array(z.string().max(40)).optional().describe('Product classes approved here; some of those of the catalogue'),
  cautions: z.array(z.string().max(40)).optional().describe('Cautions added to those of the catalogue'),
  instruction: instructionSchema.optional().describe('The site’s own work instruction in force'),
  interval: intervalSchema.omit({ perZone: true }).optional().describe('The site’s own starting interval; that of a safety item can only be shorter than the catalogue’s'),
  texts: texts.optional(),
})

const jobSchema = z.strictObject({
  id: workId,
  section: z.enum(['fluxer', 'preheat', 'transport', 'pot']),
  kind: z.enum(['cleaning', 'lubrication', 'adjustment', 'top-up', 'repair', 'sample', 'inspection']),
  people: z.int().min(1).max(8).default(1),
  needsElectrician: z.boolean().default(false),
  safety: z.boolean().default(false),
  minutesByHand: minutes,
  minutesWithWasher: minutes.optional(),
  minutesWhenNeglected: minutes.optional(),
  isolation: z.array(z.string().max(40)).min(1),
  cautions: z.array(z.string().max(40)).min(1),
  products: z.array(z.string().max(40)).default([]),
  followedBy: workId.optional(),
  interval: intervalSchema.optional().describe('Starting interval; without it the job is done when somebody asks for it'),
  instruction: instructionSchema.optional(),
  texts,
})

/** All texts of the work catalogue in one further language; completeness is checked against the catalogue. */
const languageSchema = z.strictObject({
  jobs: z.record(workId, jobTextSchema),
  cautions: z.record(z.string().max(40), line),
  isolation: z.record(z.string().max(40), line),
  returns: z.record(z.string().max(40), line),
  products: z.record(z.string().max(40), line),
})

/** A site's own part of the work catalogue. */
export const siteWorkSchema = z.strictObject({
  products: z.array(productSchema).max(200).default([]),
  safetyPutOffDays: z.number().positive().max(14).default(7).describe('Longest time that filter, ducts, seals and guards can be put off without a named engineer, days'),
  edits: z.record(workId, editSchema).default({}),
  jobs: z.array(jobSchema).max(200).default([]),
  languages: z.record(languageTag, languageSchema).default({}).describe('Further languages of the work catalogue; one with a missing caution is refused'),
})
export type SiteWork = z.output<typeof siteWorkSchema>

/** Names of people in entries and records. */
export const peopleSchema = z.strictObject({
  names: z.enum(['kept', 'none']).default('kept').describe('"none": names are taken off before anything is kept; only who holds an isolation stays, until it is released'),
  keepDays: z.int().min(1).max(3650).default(365).describe('Names older than this are erased, days'),
})
