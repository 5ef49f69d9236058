import { z } from 'zod'
import type { Language } from '../../maintenance/catalogue-language.js'
import { PROOF_VERDICTS } from '../../maintenance/proof/proof-fact.js'
import { proofViews, referenceViews } from '../proof-view.js'
import { get, language, limitQuery, lineOf, type Route } from './route-forms.js'

const time = z.iso.datetime()
const proofsQuery = z.strictObject({ lang: language, limit: limitQuery(200) })

const proofSchema = z.strictObject({
  id: z.string(),
  record: z.string(),
  work: z.string(),
  title: z.string(),
  section: z.string(),
  zone: z.int().optional(),
  suggestion: z.string().optional(),
  verdict: z.enum(PROOF_VERDICTS),
  verdictText: z.string(),
  reasons: z.array(z.string()),
  done: time.describe('When the work was done'),
  time: time.describe('When the verdict was given'),
  verdictBy: time.optional().describe('Too early: when the verdict can be expected'),
  offersReference: z.array(z.strictObject({ feature: z.string(), title: z.string() })),
  compared: z.array(
    z.strictObject({
      feature: z.string(),
      title: z.string(),
      recipe: z.string(),
      before: z.number(),
      after: z.number(),
      reference: z.number().optional(),
      sigma: z.number(),
      nBefore: z.number().describe('Independent values they are worth'),
      nAfter: z.number(),
      probability: z.number().min(0).max(1).describe('That it is better than before'),
    }),
  ),
})

const referenceSchema = z.strictObject({
  id: z.string(),
  section: z.string(),
  zone: z.int().optional(),
  provisional: z.boolean().describe('No full service is recorded yet'),
  words: z.string(),
  missing: z.array(z.strictObject({ work: z.string(), title: z.string() })),
  serviced: time.optional(),
  offers: z.array(z.strictObject({ feature: z.string(), title: z.string(), recipe: z.string(), centre: z.number(), since: z.number(), windows: z.int() })),
})

/** Whether recorded work helped, and what the references of the sections are worth. */
export const PROOF_ROUTES: readonly Route[] = [
  get('api/lines/:line/proofs', 'Whether work helped, the work done last first; what the references of the sections are worth', z.strictObject({ proofs: z.array(proofSchema), references: z.array(referenceSchema) }), (request) => {
    const { lang, limit } = request.query as { lang: Language; limit: number }
    const line = lineOf(request)
    return { proofs: proofViews(line, lang, limit), references: referenceViews(line, lang) }
  }, proofsQuery),
]
