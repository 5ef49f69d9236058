import { budgetShares } from '../../monitor/chart-stage.js'
import { z } from 'zod'
import type { FeatureSpec } from '../../line/features/feature-catalogue.js'
import type { Language } from '../../maintenance/catalogue-language.js'
import type { PointBody } from '../../ports/line-store.js'
import type { Specification } from '../../spc/capability.js'
import { baselineViews } from '../baseline-view.js'
import { arl0Of, chartedFeatures } from '../charted-features.js'
import { capabilityOf, ewmaPoints, spreadPoints, togetherPoints, type DerivedPoint } from '../chart-answers.js'
import { isoTime } from '../output-json.js'
import { pointsCsv } from '../points-csv.js'
import type { SiteLine } from '../site-view.js'
import { timeMarks } from '../time-marks.js'
import { ProblemError } from './problem.js'
import { between, get, language, languageQuery, limitQuery, lineOf, rangeQuery, type Route, type RouteRequest } from './route-forms.js'

const feature = z.string().min(1).max(128)
const time = z.iso.datetime()
const count = z.int().nonnegative()
const interval = z.strictObject({ lower: z.number(), upper: z.number() })
const index = z.strictObject({ value: z.number(), interval: interval.optional() })
const limit = z.coerce.number({ error: 'expected a number in the unit of the feature' }).refine(Number.isFinite, 'expected a finite number').optional()

const csvQuery = z.strictObject({ feature, ...rangeQuery, limit: limitQuery(10_000) })
const capabilityQuery = z.strictObject({ feature, recipe: z.string().max(80).optional(), lower: limit, upper: limit })
const derivedQuery = z.strictObject({ feature, kind: z.enum(['ewma', 'spread']).default('ewma'), ...rangeQuery, limit: limitQuery(1500) })
const togetherQuery = z.strictObject({ of: z.enum(['zones', 'defects']).default('zones'), ...rangeQuery, limit: limitQuery(1500) })

const marksQuery = z.strictObject({ ...rangeQuery, lang: language, limit: limitQuery(500) })

const markSchema = z.strictObject({
  time,
  kind: z.enum(['record', 'change', 'proof']),
  section: z.string().optional(),
  zone: z.int().optional(),
  words: z.string(),
  cleaning: z.literal(true).optional().describe('Work that cleans or lubricates'),
  verdict: z.string().optional(),
  channel: z.string().optional(),
  from: z.union([z.number(), z.string()]).optional(),
  to: z.union([z.number(), z.string()]).optional(),
})

const derivedSchema = z.strictObject({ time, statistic: z.number(), centre: z.number(), lower: z.number(), upper: z.number(), n: z.number() })
const cost = z.strictObject({ falsePerWeek: z.number(), delayPoints: z.number() })

const capabilitySchema = z.strictObject({
  feature: z.string(),
  unit: z.string(),
  lower: z.number().optional(),
  upper: z.number().optional(),
  from: time.optional(),
  to: time.optional(),
  recipe: z.string(),
  correlated: z.boolean().describe('Neighbouring values resemble each other: the intervals are narrower than they should be'),
  result: z.union([
    z.strictObject({
      kind: z.literal('capability'),
      n: count,
      mean: z.number(),
      sigma: z.number(),
      pp: index.optional(),
      ppk: index,
      cp: index.optional(),
      cpk: index.optional(),
      ppkLowerBound: z.number(),
      ppmBelow: z.number(),
      ppmAbove: z.number(),
    }),
    z.strictObject({ kind: z.enum(['no-limits', 'no-variation']) }),
    z.strictObject({ kind: z.literal('too-few-values'), valueCount: count, valueCountMin: count }),
    z.strictObject({ kind: z.literal('not-stable'), signalCount: count }),
    z.strictObject({ kind: z.literal('not-normal'), p: z.number() }),
  ]),
})

const togetherSchema = z.union([
  z.strictObject({ kind: z.literal('together'), features: z.array(z.string()), baselineCount: count, points: z.array(derivedSchema) }),
  z.strictObject({ kind: z.literal('too-few-values'), valueCount: count, valueCountMin: count }),
  z.strictObject({ kind: z.literal('no-variation') }),
  z.strictObject({ kind: z.literal('dependent'), feature: z.string() }),
])

const baselineSchema = z.strictObject({
  feature: z.string(),
  recipe: z.string(),
  title: z.string(),
  section: z.string(),
  zone: z.int().optional(),
  unit: z.string(),
  difference: z.literal(true).optional(),
  hand: z.literal(true).optional(),
  time,
  status: z.string(),
  n: z.number(),
  target: z.number(),
  centre: z.number(),
  sigma: z.number(),
  reason: z.string().optional(),
  limits: z.strictObject({ lower: z.number(), upper: z.number(), chart: z.string() }).optional().describe('In force at the newest point'),
  standsGiven: z.boolean().describe('Limits are given, only the centre is learned'),
  signal: z.boolean().describe('A signal stands on this feature'),
  provisionalBecause: z.strictObject({ reason: z.enum(['no-full-service', 'not-accepted']), missing: z.array(z.string()) }).optional(),
  cost: z.strictObject({ pointsPerWeek: z.number(), ...cost.shape, textbook: z.strictObject({ threeSigma: cost, fourRules: cost }) }),
})

/** Charts made from the points in the history, capability, baselines with what their limits cost, and points as a table. */
export const CHART_ROUTES: readonly Route[] = [
  {
    ...get('api/lines/:line/points.csv', 'Points of a feature as CSV, oldest first', z.string(), csvAnswer, csvQuery),
    contentType: 'text/csv; charset=utf-8',
  },
  get('api/lines/:line/capability', 'Capability of a feature against the limits given, or those of the definition', capabilitySchema, capabilityAnswer, capabilityQuery),
  get('api/lines/:line/derived-points', 'EWMA or spread of a feature, made from its points; drawn to be looked at, they raise no alarm', z.strictObject({ kind: z.enum(['ewma', 'spread']), points: z.array(derivedSchema) }), derivedAnswer, derivedQuery),
  get('api/lines/:line/together', 'Several features on one chart (T²), made from their points; it raises no alarm', togetherSchema, togetherAnswer, togetherQuery),
  get('api/lines/:line/marks', 'Work, changes and what came of work, for the time axis of charts', z.strictObject({ marks: z.array(markSchema) }), (request) => {
    const query = request.query as z.output<typeof marksQuery>
    return { marks: timeMarks(lineOf(request), query.lang, query.from ?? 0, query.to ?? Number.MAX_SAFE_INTEGER).slice(-query.limit) }
  }, marksQuery),
  get('api/lines/:line/baselines', 'Every baseline of a line, with what its limits cost', z.strictObject({ baselines: z.array(baselineSchema), falsePerWeek: z.number(), textbook: z.strictObject({ threeSigma: z.number(), fourRules: z.number() }) }), (request) => baselineViews(lineOf(request), request.query['lang'] as Language), languageQuery),
]

function specOf(line: SiteLine, wanted: string): { readonly spec: FeatureSpec; readonly featureCount: number } {
  const specs = chartedFeatures(line.definition)
  const spec = specs.find((candidate) => candidate.feature === wanted)
  if (spec === undefined) throw new ProblemError(404, 'Not Found', `line "${line.definition.line}" has no feature "${wanted}"`)
  return { spec, featureCount: budgetShares(specs, line.definition.budget.weights)(spec) }
}

/** The value chart's points of a feature; which kind of chart it is, the history knows. */
function valuePoints(line: SiteLine, wanted: string, query: { readonly limit: number; readonly from?: number | undefined; readonly to?: number | undefined }): readonly PointBody[] {
  const charts = line.store.series(line.definition.line).filter((series) => series.feature === wanted && !series.chart.startsWith('cusum'))
  const points = charts.flatMap(({ chart }) => line.store.points({ line: line.definition.line, feature: wanted, chart, limit: query.limit, ...between(query.from, query.to) }))
  return points.sort((a, b) => a.timeMs - b.timeMs).slice(-query.limit)
}

function csvAnswer(request: RouteRequest): string {
  const query = request.query as z.output<typeof csvQuery>
  const line = lineOf(request)
  const { spec } = specOf(line, query.feature)
  return pointsCsv(valuePoints(line, query.feature, query), spec)
}

function capabilityAnswer(request: RouteRequest): z.output<typeof capabilitySchema> {
  const query = request.query as z.output<typeof capabilityQuery>
  const line = lineOf(request)
  const { spec } = specOf(line, query.feature)
  const specification = specificationOf(line, query)
  const points = valuePoints(line, query.feature, { limit: 3000 })
  const recipe = query.recipe ?? points.at(-1)?.recipe ?? ''
  const signals = line.store.outputs({ line: line.definition.line, kinds: ['signal'], feature: query.feature, limit: 500 })
  const starts = signals.flatMap(({ output }) => (output.kind === 'signal' && output.body.phase === 'start' ? [output.body.timeMs] : []))
  const head = { feature: query.feature, unit: spec.unit, ...specification, recipe }
  if (specification.lower === undefined && specification.upper === undefined) return { ...head, correlated: false, result: { kind: 'no-limits' } }
  const answer = capabilityOf(points.filter((point) => point.recipe === recipe), specification, starts)
  const span = answer.fromMs > 0 ? { from: isoTime(answer.fromMs), to: isoTime(answer.toMs) } : {}
  const { result } = answer
  if (result.kind !== 'capability') return { ...head, ...span, correlated: answer.correlated, result }
  const { kind, n, mean, sigma, pp, ppk, cp, cpk, ppkLowerBound, ppmBelow, ppmAbove } = result
  const optional = { ...(pp === undefined ? {} : { pp }), ...(cp === undefined ? {} : { cp }), ...(cpk === undefined ? {} : { cpk }) }
  return { ...head, ...span, correlated: answer.correlated, result: { kind, n, mean, sigma, ppk, ...optional, ppkLowerBound, ppmBelow, ppmAbove } }
}

/** The limits asked for; without any, those of the definition. */
function specificationOf(line: SiteLine, { feature: wanted, lower, upper }: z.output<typeof capabilityQuery>): Specification {
  const own = line.definition.featureLimits?.[wanted]?.specification
  const [low, high] = lower === undefined && upper === undefined ? [own?.lower, own?.upper] : [lower, upper]
  if (low !== undefined && high !== undefined && low >= high) throw new ProblemError(400, 'Bad Request', `query: expected lower below upper, found ${low} and ${high}`)
  return { ...(low === undefined ? {} : { lower: low }), ...(high === undefined ? {} : { upper: high }) }
}

function derivedAnswer(request: RouteRequest): unknown {
  const query = request.query as z.output<typeof derivedQuery>
  const line = lineOf(request)
  const { spec, featureCount } = specOf(line, query.feature)
  const points = valuePoints(line, query.feature, query)
  return { kind: query.kind, points: (query.kind === 'ewma' ? ewmaPoints(points, arl0Of(line.definition, spec, featureCount)) : spreadPoints(points)).map(derivedView) }
}

function togetherAnswer(request: RouteRequest): unknown {
  const query = request.query as z.output<typeof togetherQuery>
  const line = lineOf(request)
  const specs = chartedFeatures(line.definition)
  const wanted = specs.filter(({ feature: name }) => (query.of === 'zones' ? /^preheat\.zone-\d+\.temperature\.offset$/.test(name) : /^board\.defects\..*\.count$/.test(name)))
  const series = new Map(wanted.map(({ feature: name }) => [name, valuePoints(line, name, query)] as const).filter(([, points]) => points.length > 0))
  const share = wanted[0] === undefined ? 0.01 : 1 / arl0Of(line.definition, wanted[0], specs.length)
  const answer = togetherPoints(series, share)
  return answer.kind === 'together' ? { ...answer, points: answer.points.map(derivedView) } : answer
}

function derivedView({ timeMs, ...rest }: DerivedPoint): z.output<typeof derivedSchema> {
  return { time: isoTime(timeMs), ...rest }
}
