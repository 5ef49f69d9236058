import { z } from 'zod'
import type { LineOutputKind } from '../../monitor/line-output.js'
import type { StoredOutput } from '../../ports/line-store.js'
import type { SiteLine } from '../site-view.js'
import { baselineBodySchema, replyBodySchema, replyOf } from '../outside-inputs.js'
import { withinRetention } from '../names-of-people.js'
import { outputJson, pointJson } from '../output-json.js'
import type { Language } from '../../maintenance/catalogue-language.js'
import type { Suggestion } from '../../maintenance/suggestion.js'
import { isCodeOf } from '../../maintenance/suggestion-id.js'
import { isActive } from '../../maintenance/suggestion-replies.js'
import { minutesNow } from '../../maintenance/plan/work-effort.js'
import { siteCatalogue } from '../../maintenance/site-catalogue.js'
import { reasonLists, suggestionView, type SuggestionView } from '../../maintenance/wording.js'
import { effortBook } from '../plan-book.js'
import { findJob } from '../jobs-view.js'
import { featureViews, lineDetail, lineSummary } from '../line-view.js'
import { featureSchema, lineDetailSchema, lineSummarySchema, pointSchema, reasonsSchema, refusedLineSchema, ruleEndSchema, ruleHitSchema, signalSchema, stateSchema, suggestionSchema } from './api-schemas.js'
import { ProblemError } from './problem.js'
import { between, get, language, languageQuery, limitQuery, lineOf, post, rangeQuery, requireRole, signed, takenSchema, type Route, type RouteRequest } from './route-forms.js'
import { CHART_ROUTES } from './routes-charts.js'
import { COST_ROUTES } from './routes-cost.js'
import { FACT_ROUTES } from './routes-facts.js'
import { JOB_ROUTES } from './routes-jobs.js'
import { HISTORY_ROUTES } from './routes-history.js'
import { PLAN_ROUTES } from './routes-plan.js'
import { REPORT_ROUTES } from './routes-report.js'
import { INTERVAL_ROUTES } from './routes-intervals.js'
import { PROOF_ROUTES } from './routes-proofs.js'
import { ROUND_ROUTES } from './routes-rounds.js'
import { SESSION_ROUTES } from './routes-session.js'
import { SETUP_ROUTES } from './routes-setup.js'

const pointsQuery = z.strictObject({ feature: z.string().min(1).max(128), chart: z.string().max(40).optional(), ...rangeQuery, limit: limitQuery(1500) })
const historyQuery = z.strictObject({ feature: z.string().min(1).max(128).optional(), ...rangeQuery, limit: limitQuery(500) })
const statesQuery = z.strictObject({ ...rangeQuery, limit: limitQuery(500) })
const suggestionsQuery = z.strictObject({ line: z.string().optional(), status: z.enum(['open', 'taken', 'put-off', 'declined', 'done', 'withdrawn']).optional(), lang: language, limit: limitQuery(200) })

const cardSchema = z.union([z.strictObject({ kind: z.enum(['job', 'suggestion']), id: z.string(), line: z.string() }), z.strictObject({ kind: z.literal('none') })])

export const ROUTES: readonly Route[] = [
  get('api/lines', 'Every line in short, and those that could not be opened with the reason', z.strictObject({ lines: z.array(lineSummarySchema), refused: z.array(refusedLineSchema) }), ({ site }) => ({ lines: site.lines().map(lineSummary), refused: site.refusedLines() })),
  get('api/lines/:line', 'A line in full', lineDetailSchema, (request) => lineDetail(lineOf(request), request.query['lang'] as Language), languageQuery),
  get('api/lines/:line/features', 'Features and what their charts rest on', z.strictObject({ features: z.array(featureSchema) }), (request) => ({ features: featureViews(lineOf(request), request.query['lang'] as Language) }), languageQuery),
  get('api/lines/:line/points', 'Points of a feature, oldest first', z.strictObject({ points: z.array(pointSchema) }), pointsAnswer, pointsQuery),
  get('api/lines/:line/rule-hits', 'Rule hits, oldest first', z.strictObject({ ruleHits: z.array(ruleHitSchema) }), (request) => ({ ruleHits: history(request, 'rule-hit') }), historyQuery),
  get('api/lines/:line/rule-ends', 'Ends of what rule hits began: the first point that no longer fulfils the rule; oldest first', z.strictObject({ ruleEnds: z.array(ruleEndSchema) }), (request) => ({ ruleEnds: history(request, 'rule-end') }), historyQuery),
  get('api/lines/:line/signals', 'Signals, oldest first', z.strictObject({ signals: z.array(signalSchema) }), (request) => ({ signals: history(request, 'signal') }), historyQuery),
  get('api/lines/:line/states', 'Line states, oldest first', z.strictObject({ states: z.array(stateSchema) }), (request) => ({ states: history(request, 'state') }), statesQuery),
  get('api/suggestions', 'Suggestions, the last changed first', z.strictObject({ suggestions: z.array(suggestionSchema) }), suggestionsAnswer, suggestionsQuery),
  get('api/suggestions/:id', 'One suggestion', suggestionSchema, (request) => {
    const { line, suggestion } = suggestionOf(request)
    return shown(line, suggestion, request.query['lang'] as Language)
  }, languageQuery),
  get('api/cards/:code', 'What the code of a printed card stands for', cardSchema, cardAnswer),
  get('api/reasons', 'Reasons to put off or decline', reasonsSchema, ({ query }) => reasonLists(query['lang'] as Language), languageQuery),
  post('api/suggestions/:id/replies', 'Reply to a suggestion', replyBodySchema, z.strictObject({ suggestion: suggestionSchema }), [404, 409], replyAnswer),
  post('api/lines/:line/baselines', 'Decide on a baseline', baselineBodySchema, takenSchema, [404, 409], baselineAnswer),
  ...FACT_ROUTES,
  ...JOB_ROUTES,
  ...PLAN_ROUTES,
  ...COST_ROUTES,
  ...REPORT_ROUTES,
  ...ROUND_ROUTES,
  ...INTERVAL_ROUTES,
  ...PROOF_ROUTES,
  ...CHART_ROUTES,
  ...HISTORY_ROUTES,
  ...SETUP_ROUTES,
  ...SESSION_ROUTES,
]

interface FoundSuggestion {
  readonly line: SiteLine
  readonly suggestion: Suggestion
}

function cardAnswer({ site, path }: RouteRequest): z.output<typeof cardSchema> {
  const code = path['code'] ?? ''
  const job = findJob(site.lines(), code)
  if (job !== undefined) return { kind: 'job', id: job.job.id, line: job.line.definition.line }
  const found = suggestionByCode(site.lines(), code)
  return found === undefined ? { kind: 'none' } : { kind: 'suggestion', id: found.suggestion.id, line: found.line.definition.line }
}

function suggestionByCode(lines: readonly SiteLine[], code: string): FoundSuggestion | undefined {
  const found = lines.flatMap((line) => line.projection.allSuggestions().filter(({ id }) => isCodeOf(id, code)).map((suggestion) => ({ line, suggestion })))
  // Of two with the same code the one that asks for work.
  return found.find(({ suggestion }) => isActive(suggestion)) ?? found.at(-1)
}

function suggestionOf({ site, path }: RouteRequest): FoundSuggestion {
  for (const line of site.lines()) {
    const suggestion = line.projection.suggestion(path['id'] ?? '')
    if (suggestion !== undefined) return { line, suggestion }
  }
  throw new ProblemError(404, 'Not Found', `there is no suggestion "${path['id'] ?? ''}"`)
}

function shown(line: SiteLine, suggestion: Suggestion, language: Language): SuggestionView {
  const view = suggestionView(withinRetention(suggestion, line.definition, line.nowMs()), language, line.definition.timeZone)
  const book = effortBook(line)
  // What a job takes here is told as on its card and in the plan, not as the catalogue has it.
  const minutesOf = (work: string, section: string | undefined): readonly [number, number] => {
    const { low, planned } = minutesNow(work, section === 'preheat' ? suggestion.zone : undefined, true, book)
    return [low, planned]
  }
  const catalogue = siteCatalogue(line.definition)
  return { ...view, work: view.work.map((work) => ({ ...work, minutes: minutesOf(work.id, catalogue.item(work.id)?.section) })) }
}

function pointsAnswer(request: RouteRequest): unknown {
  const { feature, chart, from, to, limit } = request.query as z.output<typeof pointsQuery>
  const line = lineOf(request)
  const points = line.store.points({ line: line.definition.line, feature, limit, ...(chart === undefined ? {} : { chart }), ...between(from, to) })
  return { points: points.map(pointJson) }
}

function history(request: RouteRequest, kind: LineOutputKind): unknown[] {
  const { feature, from, to, limit } = request.query as z.output<typeof historyQuery>
  const line = lineOf(request)
  const stored: readonly StoredOutput[] = line.store.outputs({ line: line.definition.line, kinds: [kind], limit, ...(feature === undefined ? {} : { feature }), ...between(from, to) })
  return stored.map(({ output }) => outputJson(output))
}

function suggestionsAnswer({ site, query }: RouteRequest): unknown {
  const { line: only, status, lang, limit } = query as z.output<typeof suggestionsQuery>
  const found = site
    .lines()
    .filter((line) => only === undefined || line.definition.line === only)
    .flatMap((line) => line.projection.allSuggestions().map((suggestion) => ({ line, suggestion })))
    .filter(({ suggestion }) => status === undefined || suggestion.status === status)
    .sort((a, b) => b.suggestion.statusMs - a.suggestion.statusMs)
  return { suggestions: found.slice(0, limit).map(({ line, suggestion }) => shown(line, suggestion, lang)) }
}

async function replyAnswer(request: RouteRequest): Promise<unknown> {
  const { line, suggestion } = suggestionOf(request)
  const outcome = await line.reply(replyOf(suggestion.id, signed(request, request.body as z.output<typeof replyBodySchema>)))
  if (outcome.kind === 'refused') throw new ProblemError(409, 'Conflict', outcome.message)
  const now = line.projection.suggestion(suggestion.id) ?? suggestion
  return { suggestion: shown(line, now, request.query['lang'] as Language) }
}

async function baselineAnswer(request: RouteRequest): Promise<unknown> {
  const line = lineOf(request)
  requireRole(request.access, 'engineer')
  const { feature, recipe, decision, by = request.access.reader.person?.name, reason } = request.body as z.output<typeof baselineBodySchema>
  const known = line.projection.baselinesOf(feature).filter((baseline) => recipe === undefined || baseline.recipe === recipe)
  if (known.length === 0) throw new ProblemError(409, 'Conflict', `feature "${feature}" has no baseline${recipe === undefined ? '' : ` for recipe "${recipe}"`} to decide on yet`)
  const { seq } = await line.submit({ kind: 'baseline', feature, decision, ...(recipe === undefined ? {} : { recipe }), ...(by === undefined ? {} : { by }), ...(reason === undefined ? {} : { reason }) })
  return { line: line.definition.line, seq }
}
