import { budgetShares } from '../monitor/chart-stage.js'
import type { FeatureSpec } from '../line/features/feature-catalogue.js'
import { isHandFeature } from '../line/hand-values.js'
import type { Language } from '../maintenance/catalogue-language.js'
import { workTitle } from '../maintenance/plan/plan-words.js'
import type { BaselineProgress } from '../monitor/line-output.js'
import type { PointBody } from '../ports/line-store.js'
import { limitCost } from './chart-answers.js'
import { chartedFeatures, isDifference } from './charted-features.js'
import { featureTitle } from './line-view.js'
import { isoTime } from './output-json.js'
import type { SiteLine } from './site-view.js'

/** Every baseline of a line as an engineer judges it: what it rests on, its limits, and what they cost. */
export function baselineViews(line: SiteLine, language: Language): Record<string, unknown> {
  const { definition, projection } = line
  const specs = chartedFeatures(definition)
  const shown = specs.flatMap((spec) => {
    const baselines = projection.baselinesOf(spec.feature)
    const newest = baselines.length === 0 ? new Map<string, PointBody>() : newestWithLimits(line, spec)
    return baselines.map((baseline) => ({ spec, baseline, newest: newest.get(baseline.recipe) }))
  })
  const charted = specs.filter(({ feature }) => projection.baselinesOf(feature).length > 0)
  const sharesOf = budgetShares(specs, definition.budget.weights)
  const costs = new Map(charted.map((spec) => [spec.feature, limitCost(definition, spec, sharesOf(spec))]))
  const sum = (of: (cost: ReturnType<typeof limitCost>) => number): number => [...costs.values()].reduce((total, cost) => total + of(cost), 0)
  return {
    baselines: shown.map(({ spec, baseline, newest }) => ({ ...baselineView(line, spec, baseline, newest, language), cost: costs.get(spec.feature)! })),
    falsePerWeek: sum(({ falsePerWeek }) => falsePerWeek),
    textbook: { threeSigma: sum(({ textbook }) => textbook.threeSigma.falsePerWeek), fourRules: sum(({ textbook }) => textbook.fourRules.falsePerWeek) },
  }
}

/** Points looked through for the newest of each recipe. */
const POINTS_READ = 300

/** The newest point that rests on limits, by recipe; all recipes share one chart where the recipe does not matter. */
function newestWithLimits({ store, definition }: SiteLine, spec: FeatureSpec): Map<string, PointBody> {
  const newest = new Map<string, PointBody>()
  for (const { feature, chart } of store.series(definition.line)) {
    if (feature !== spec.feature || chart.startsWith('cusum')) continue
    for (const point of store.points({ line: definition.line, feature, chart, limit: spec.perRecipe ? POINTS_READ : 1 })) {
      if (point.baseline === 'self-starting') continue
      const known = newest.get(point.recipe)
      if (known === undefined || point.timeMs >= known.timeMs) newest.set(point.recipe, point)
    }
  }
  return newest
}

function baselineView(line: SiteLine, spec: FeatureSpec, baseline: BaselineProgress, newest: PointBody | undefined, language: Language): Record<string, unknown> {
  const { projection } = line
  const { feature, section, zone, unit } = spec
  const { recipe, status, n, target, centre, sigma, reason, timeMs } = baseline
  const provisionalBecause = whyProvisional(line, spec, status, language)
  return {
    feature,
    recipe,
    title: featureTitle(spec, language),
    section,
    ...(zone === undefined ? {} : { zone }),
    unit,
    ...(isDifference(spec) ? { difference: true } : {}),
    ...(isHandFeature(feature) ? { hand: true } : {}),
    time: isoTime(timeMs),
    status,
    n,
    target,
    centre,
    sigma,
    ...(reason === undefined ? {} : { reason }),
    ...(newest === undefined ? {} : { limits: { lower: newest.lower, upper: newest.upper, chart: newest.chart } }),
    standsGiven: spec.standard !== undefined,
    signal: ['up', 'down'].includes(projection.featureNow(feature).status),
    ...(provisionalBecause === undefined ? {} : { provisionalBecause }),
  }
}

/** A reference learned before every cleaning job of its section was done once may be that of a half fouled machine. */
function whyProvisional({ projection, definition }: SiteLine, spec: FeatureSpec, status: BaselineProgress['status'], language: Language): { readonly reason: 'no-full-service' | 'not-accepted'; readonly missing: readonly string[] } | undefined {
  const reference = projection.factsOf('reference').find(({ section, zone }) => section === spec.section && zone === spec.zone) ?? projection.factsOf('reference').find(({ section, zone }) => section === spec.section && zone === undefined)
  if (reference?.provisional === true) return { reason: 'no-full-service', missing: reference.missing.map((work) => workTitle(work, language, definition)) }
  return status === 'provisional' ? { reason: 'not-accepted', missing: [] } : undefined
}
