import { z } from 'zod'
import { ROUND_PERIODS } from './round-periods.js'

const name = z.string().regex(/^[a-z][a-z0-9-]{0,39}$/, 'expected lower-case letters, digits and hyphens, at most 40')
const words = z.string().trim().min(3).max(300)
/** A text in both languages of the catalogue: what a person reads at the line never falls back to another language. */
const inLanguages = <Schema extends z.ZodType>(schema: Schema) => z.strictObject({ 'en-US': schema, es: schema })

const ends = {
  target: z.number().optional().describe('What the value should be; the chart has its centre there'),
  lower: z.number().optional().describe('Below it somebody acts'),
  upper: z.number().optional().describe('Above it somebody acts'),
}
const hasOrder = ({ lower, upper }: { readonly lower?: number | undefined; readonly upper?: number | undefined }): boolean => lower === undefined || upper === undefined || lower < upper
const IN_ORDER = 'expected lower below upper'
const ofRecipeSchema = z.strictObject(ends).refine((given) => Object.keys(given).length > 0, 'expected at least one of target, lower, upper').refine(hasOrder, IN_ORDER)

const limits = {
  ...ends,
  recipes: z.record(z.string().trim().min(1).max(80), ofRecipeSchema).optional().describe('Where a recipe wants something else: target and limits by recipe; what it does not give is as for all'),
}

type Ends = z.output<typeof ofRecipeSchema>

/** Every recipe has its target between its limits, those for all that it does not change included. */
function recipesInOrder({ recipes = {}, ...forAll }: Ends & { readonly recipes?: Readonly<Record<string, Ends>> | undefined }, context: z.RefinementCtx): void {
  if (!hasOrder(forAll)) context.addIssue({ code: 'custom', message: IN_ORDER })
  for (const [recipe, own] of Object.entries(recipes)) {
    const { lower = Number.NEGATIVE_INFINITY, target, upper = Number.POSITIVE_INFINITY } = { ...forAll, ...own }
    const fault = lower >= upper ? IN_ORDER : target !== undefined && (target < lower || target > upper) ? 'expected the target between its limits' : undefined
    if (fault !== undefined) context.addIssue({ code: 'custom', path: ['recipes', recipe], message: `${fault}, those for all recipes included` })
  }
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
    .array(z.strictObject({ value: name, title: inLanguages(words), unit: z.string().max(20), possibleMin: z.number(), possibleMax: z.number(), ...limits }).refine(({ possibleMin, possibleMax }) => possibleMin < possibleMax, 'expected possibleMin below possibleMax').superRefine(recipesInOrder))
    .max(8)
    .default([]),
})

/** What a site changes at the rounds of a line. */
export const roundsSchema = z.strictObject({
  off: z.array(name).max(60).default([]).describe('Checks of the catalogue that this line does without'),
  every: z.record(name, z.enum(ROUND_PERIODS)).default({}).describe('How often a check comes here, where the catalogue says otherwise'),
  values: z
    .record(z.string().regex(/^[a-z][a-z0-9-]*\.[a-z][a-z0-9-]*$/, 'expected "<check>.<value>"'), z.strictObject(limits).superRefine(recipesInOrder))
    .default({})
    .describe('Targets and limits of hand-measured values, by "<check>.<value>", e.g. "weigh-dose.grams"'),
  own: z.array(ownCheckSchema).max(40).default([]).describe('Checks of the site'),
})
