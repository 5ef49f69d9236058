import { z } from 'zod'
import type { Language } from '../../maintenance/catalogue-language.js'
import { costCsv, costView, methodsView } from '../cost-view.js'
import { lineBook, siteBook, type SiteBook } from '../plan-book.js'
import { get, language, lineOf, rangeQuery, type Route, type RouteRequest } from './route-forms.js'

/** Costs are asked for by the month; without a time the last year is told. */
const USUAL_MS = 366 * 86_400_000
const time = z.iso.datetime()
const costQuery = z.strictObject({ ...rangeQuery, line: z.string().max(63).optional(), lang: language })
const methodsQuery = z.strictObject({
  surface: z.coerce.number().min(-50).max(600).optional().describe('Hottest surface within reach as measured by hand, °C'),
  production: z.enum(['true', 'false']).default('false').describe('true: the line stands for it in production time'),
  lang: language,
})

const costSchema = z.strictObject({
  from: time,
  until: time,
  currency: z.string(),
  total: z.number().describe('Sum of what has a figure'),
  totalText: z.string(),
  missing: z.array(z.string()).describe('Figures of the site without which something is left out'),
  missingTexts: z.array(z.string()).describe('The same in words: a figure of a job with the job’s name'),
  rows: z.array(z.strictObject({ month: z.string(), line: z.string(), title: z.string(), section: z.string(), sectionTitle: z.string(), kind: z.string(), kindTitle: z.string(), quantity: z.number(), amount: z.number().optional(), missing: z.array(z.string()).optional(), text: z.string() })),
  earlier: z.array(z.strictObject({ line: z.string(), title: z.string(), suggestion: z.string(), sectionTitle: z.string(), work: z.array(z.string()), suggested: time, done: time.optional(), events: z.array(z.string()), text: z.string(), assumption: z.string() })),
})
const methodsSchema = z.strictObject({
  currency: z.string(),
  verdict: z.string(),
  verdictText: z.string(),
  methods: z.array(z.strictObject({ method: z.string(), gate: z.string(), gateText: z.string(), passes: z.string(), low: z.number().optional(), likely: z.number().optional(), high: z.number().optional(), missing: z.array(z.string()).optional(), text: z.string(), breakEven: z.number().optional(), breakEvenText: z.string().optional() })),
})

/** Costs from the site's figures, what earlier cleaning would have saved, and ways of cleaning compared. */
export const COST_ROUTES: readonly Route[] = [
  get('api/cost', 'Costs by month, line, section and kind, and what earlier cleaning would have saved', costSchema, (request) => {
    const { site, fromMs, untilMs } = rangeOf(request)
    return costView(site, fromMs, untilMs, request.query['lang'] as Language)
  }, costQuery),
  { ...get('api/cost.csv', 'Costs as CSV', z.string(), (request) => {
    const { site, fromMs, untilMs } = rangeOf(request)
    return costCsv(site, fromMs, untilMs)
  }, costQuery), contentType: 'text/csv; charset=utf-8' },
  get('api/lines/:line/cleaning-methods', 'Ways of cleaning compared: the fire gate first, then the money', methodsSchema, (request) => {
    const { surface, production, lang } = request.query as z.output<typeof methodsQuery>
    return methodsView(lineBook(lineOf(request)), { ...(surface === undefined ? {} : { hottestSurfaceC: surface }), duringProduction: production === 'true' }, lang)
  }, methodsQuery),
]

function rangeOf({ site, query }: RouteRequest): { readonly site: SiteBook; readonly fromMs: number; readonly untilMs: number } {
  const { from, to, line } = query as z.output<typeof costQuery>
  const book = siteBook(site, line)
  const untilMs = to ?? book.nowMs ?? USUAL_MS
  return { site: book, fromMs: from ?? Math.max(0, untilMs - USUAL_MS), untilMs }
}
