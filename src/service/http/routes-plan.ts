import { z } from 'zod'
import type { Language } from '../../maintenance/catalogue-language.js'
import { asAgreed } from '../../maintenance/plan/agreed-stops.js'
import { calendarText } from '../../maintenance/plan/calendar-text.js'
import { factsOf } from '../../maintenance/plan/line-book.js'
import { planCsv } from '../../maintenance/plan/plan-csv.js'
import { isIsoWeek } from '../../maintenance/plan/plan-week-calendar.js'
import { stopRequestHtml } from '../../maintenance/plan/stop-request.js'
import type { WeekPlan } from '../../maintenance/plan/week-plan.js'
import { linesOverview } from '../plan-overview.js'
import { siteBook, type SiteBook } from '../plan-book.js'
import { ledgerCsv, ledgerView, stockView } from '../plan-stops-view.js'
import { planDigest, planView, sitePlan } from '../plan-view.js'
import { ProblemError } from './problem.js'
import { get, language, languageQuery, post, signed, type Route, type RouteRequest } from './route-forms.js'

const time = z.iso.datetime()
const week = z.string().refine(isIsoWeek, 'expected an ISO week that exists, e.g. "2026-W48"')
const weekQuery = z.strictObject({ week: week.optional().describe('The week of the lines where it is absent'), lang: language })
const requestQuery = z.strictObject({ stop: z.string().max(120).optional().describe('Id of a stop of the plan; the first one where it is absent'), week: week.optional(), lang: language })

const dueSchema = z.strictObject({
  work: z.string(),
  title: z.string(),
  section: z.string(),
  zone: z.int().optional(),
  place: z.string(),
  minutes: z.tuple([z.number(), z.number(), z.number()]).describe('Short, usual, and what the plan keeps free'),
  basis: z.enum(['hand', 'washing-machine', 'spare-set', 'neglected']),
  records: z.int(),
  people: z.int(),
  needsElectrician: z.boolean(),
  urgency: z.string(),
  due: time.optional(),
  suggestion: z.string().optional(),
  parts: z.array(z.strictObject({ item: z.string(), title: z.string(), ready: z.int().optional() })),
  because: z.array(z.string()),
})
const itemSchema = dueSchema.extend({ line: z.string(), lineTitle: z.string(), reason: z.string(), reasonKey: z.string() })
const stopSchema = z.strictObject({
  id: z.string(),
  line: z.string(),
  title: z.string(),
  from: time,
  until: time,
  minutes: z.number(),
  shift: z.string(),
  production: z.boolean(),
  people: z.int(),
  peopleOnShift: z.int(),
  setUp: z.strictObject({ isolation: z.number(), coolDown: z.number(), back: z.number(), warmUp: z.number() }),
  sharedMinutes: z.number(),
  agreed: z.boolean(),
  late: z.boolean(),
  part: z.strictObject({ number: z.int(), of: z.int() }).optional(),
  asked: z.string().optional().describe('How it stands in the ledger of stops'),
  jobs: z.array(dueSchema.extend({ from: time, until: time })),
})
const planSchema = z.strictObject({
  week: z.string(),
  current: z.string().optional(),
  previous: z.string(),
  next: z.string(),
  timeZone: z.string(),
  from: time,
  until: time,
  digest: z.string().describe('Of the stops; named when the week is agreed'),
  agreed: z.boolean(),
  agreedLines: z.array(z.string()),
  stops: z.array(stopSchema),
  now: z.array(itemSchema),
  unplanned: z.array(itemSchema),
  later: z.array(itemSchema),
  rounds: z.array(z.strictObject({ line: z.string(), title: z.string(), every: z.enum(['week', 'month']), count: z.int(), minutes: z.number(), overdue: z.int(), dueBy: time })),
  shifts: z.array(z.strictObject({ line: z.string(), name: z.string(), from: time, until: time, people: z.int(), production: z.boolean() })),
})
const ledgerSchema = z.strictObject({
  stops: z.array(z.strictObject({ id: z.string(), line: z.string(), title: z.string(), asked: time, status: z.string(), from: time.optional(), minutes: z.number().optional(), people: z.number().optional(), work: z.array(z.string()), answer: z.string(), followed: z.string(), followedCount: z.int() })),
})
const agreementSchema = z.strictObject({
  week,
  action: z.enum(['agree', 'reopen']),
  digest: z.string().max(64).optional().describe('Of the plan that is agreed to, as it was shown; needed to agree'),
  reason: z.string().trim().min(1).max(500).optional().describe('Needed to open the week again'),
  by: z.string().trim().min(1).max(80).optional(),
})

const lang = ({ query }: RouteRequest): Language => query['lang'] as Language

/** Plan, agreement, request for a stop, ledger of stops, stock and papers, and which line comes first. */
export const PLAN_ROUTES: readonly Route[] = [
  get('api/overview', 'Every line with what asks for work, the one that comes first this week first', z.strictObject({ lines: z.array(z.looseObject({ line: z.string(), title: z.string() })) }), (request) => ({ lines: linesOverview(request.site, lang(request)) }), languageQuery),
  get('api/plan', 'Plan of a week', planSchema, (request) => {
    const { site, plan } = planOf(request)
    return planView(site, plan, lang(request))
  }, weekQuery),
  { ...get('api/plan.ics', 'Stops of a week as a calendar (RFC 5545)', z.string(), (request) => {
    const { site, plan } = planOf(request)
    const agreedMs = Math.max(0, ...site.books.flatMap((book) => factsOf(book, 'plan').filter((fact) => fact.week === plan.week).map(({ timeMs }) => timeMs)))
    return calendarText(plan, lang(request), { stampMs: agreedMs > 0 ? agreedMs : (site.nowMs ?? plan.fromMs), titles: site.titles })
  }, weekQuery), contentType: 'text/calendar; charset=utf-8' },
  { ...get('api/plan.csv', 'Plan of a week as CSV', z.string(), (request) => planCsv(planOf(request).plan, lang(request)), weekQuery), contentType: 'text/csv; charset=utf-8' },
  post('api/plan/agreements', 'Agree on the stops of a week as shown, or open an agreed week again', agreementSchema, z.strictObject({ week: z.string(), agreed: z.boolean(), lines: z.array(z.string()) }), [409], agreementAnswer),
  { ...get('api/stop-request', 'Printable request for a stop of the plan', z.string(), requestAnswer, requestQuery), contentType: 'text/html; charset=utf-8', problems: [400, 404] },
  get('api/stops', 'Stops asked for, granted, refused, and what followed; the newest first', ledgerSchema, (request) => ({ stops: ledgerView(siteBook(request.site), lang(request)) }), languageQuery),
  { ...get('api/stops.csv', 'The same as CSV', z.string(), (request) => ledgerCsv(siteBook(request.site), lang(request)), languageQuery), contentType: 'text/csv; charset=utf-8' },
  get('api/stock', 'Spare sets, parts and papers of every line', z.looseObject({ lines: z.array(z.looseObject({ line: z.string() })) }), (request) => stockView(siteBook(request.site), lang(request)), languageQuery),
]

function planOf(request: RouteRequest): { readonly site: SiteBook; readonly plan: WeekPlan } {
  const site = siteBook(request.site)
  const wanted = (request.query['week'] as string | undefined) ?? site.week ?? '1970-W01'
  return { site, plan: sitePlan(site, wanted) }
}

function requestAnswer(request: RouteRequest): string {
  const { site, plan } = planOf(request)
  const wanted = request.query['stop'] as string | undefined
  const stop = wanted === undefined ? plan.stops[0] : plan.stops.find(({ id }) => id === wanted)
  const book = site.books.find(({ definition }) => definition.line === stop?.line)
  if (stop === undefined || book === undefined) throw new ProblemError(404, 'Not Found', wanted === undefined ? `week ${plan.week} has no stop` : `the plan of week ${plan.week} has no stop "${wanted}" any more`)
  return stopRequestHtml(stop, book, lang(request))
}

async function agreementAnswer(request: RouteRequest): Promise<unknown> {
  const { week: wanted, action, digest, reason, by } = signed(request, request.body as z.output<typeof agreementSchema>)
  const site = siteBook(request.site)
  const plan = sitePlan(site, wanted)
  if (action === 'agree' && digest !== planDigest(plan)) throw new ProblemError(409, 'Conflict', `the plan of week ${wanted} has changed since it was shown; look at it again`)
  if (action === 'reopen' && reason === undefined) throw new ProblemError(400, 'Bad Request', 'reason: expected why the agreed week is opened again')
  const lines = request.site.lines().filter(({ definition }) => plan.agreedLines.includes(definition.line) === (action === 'reopen'))
  for (const line of lines) {
    const { line: id } = line.definition
    const before = line.projection.factsOf('plan').find((fact) => fact.week === wanted)?.timeMs ?? 0
    const stops = action === 'agree' ? plan.stops.filter((stop) => stop.line === id).map(asAgreed) : []
    // The same agreement sent twice is one; after the week was opened again it is another.
    const outcome = await line.enter({ type: 'plan', id: `${action}-${wanted}-${planDigest(plan)}-${before}`, timeMs: line.nowMs(), action, week: wanted, stops, ...(reason === undefined ? {} : { reason }), ...(by === undefined ? {} : { by }) })
    if (outcome.kind === 'refused') throw new ProblemError(409, 'Conflict', `line "${id}": ${outcome.message}`)
  }
  return { week: wanted, agreed: action === 'agree', lines: lines.map(({ definition }) => definition.line) }
}
