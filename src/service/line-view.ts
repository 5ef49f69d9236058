import { invisibleFaults } from '../line/diagnosis/visibility.js'
import type { FeatureSpec } from '../line/features/feature-catalogue.js'
import { isHandFeature } from '../line/hand-values.js'
import { featureParts } from '../line/diagnosis/symptom-map.js'
import type { Language } from '../maintenance/catalogue-language.js'
import { FEATURE_WORDS } from '../maintenance/wording-data-features.js'
import { fill } from '../maintenance/wording-format.js'
import { causeTitle, invisibleText } from '../maintenance/wording.js'
import { chartedFeatures, isDifference } from './charted-features.js'
import { isoTime } from './output-json.js'
import type { SiteLine } from './site-view.js'

/** A line in short, as `/api/lines` gives it. */
export function lineSummary(line: SiteLine): Record<string, unknown> {
  const { definition, projection } = line
  const { total, byReason } = projection.rejected()
  const { stages, paused, receivedMs } = line.status()
  return {
    line: definition.line,
    title: definition.title ?? definition.line,
    timeZone: definition.timeZone,
    simulated: definition.simulated,
    state: projection.state,
    ...(projection.stateSinceMs === undefined ? {} : { stateSince: isoTime(projection.stateSinceMs) }),
    ...(projection.recipe === '' ? {} : { recipe: projection.recipe }),
    ...(projection.dataMs === undefined ? {} : { dataTime: isoTime(projection.dataMs) }),
    ...(receivedMs === undefined ? {} : { receivedTime: isoTime(receivedMs) }),
    openSuggestions: projection.openSuggestions().length,
    baselines: projection.baselineCounts(),
    rejected: { total, byReason },
    ...(paused === undefined ? {} : { paused }),
    stages,
  }
}

/** A line in full: with its definition, what it cannot see, what was rejected and what was set aside. */
export function lineDetail(line: SiteLine, language: Language): Record<string, unknown> {
  const { definition, projection, store } = line
  const invisible = invisibleFaults(definition)
  return {
    ...lineSummary(line),
    definition,
    invisible: invisible.map((cause) => ({ cause, title: causeTitle(cause, language) })),
    invisibleText: invisibleText(invisible, language),
    rejectedLast: projection.rejected().last.map(({ count, last }) => ({ reason: last.reason, where: last.where, time: isoTime(last.timeMs), found: last.found, expected: last.expected, count })),
    damage: store.damage(definition.line).map(({ what, seq, message }) => ({ what, seq, message })),
  }
}

/** Features a line can have, each with what its charts rest on and say now. */
export function featureViews(line: SiteLine, language: Language): Record<string, unknown>[] {
  const { definition, projection, store } = line
  const charts = new Map<string, string[]>()
  for (const { feature, chart } of store.series(definition.line)) charts.set(feature, [...(charts.get(feature) ?? []), chart])
  // A line that lists no channels could have everything: of those only what has come is worth showing.
  const specs = chartedFeatures(definition).filter(({ feature }) => (definition.channels.length > 0 && !isHandFeature(feature)) || projection.latestOf(feature) !== undefined)
  return specs.map((spec) => featureView(spec, line, charts.get(spec.feature) ?? [], language))
}

function featureView(spec: FeatureSpec, line: SiteLine, charts: readonly string[], language: Language): Record<string, unknown> {
  const { projection } = line
  const { feature, section, zone, unit, windowS } = spec
  const latest = projection.latestOf(feature)
  const { status, shiftSigma, onsetMs } = projection.featureNow(feature)
  const baselines = projection.baselinesOf(feature)
  // The recipe in hand decides; without its own baseline the one that last changed.
  const baseline = baselines.find(({ recipe }) => recipe === projection.recipe) ?? baselines.at(-1)
  return {
    feature,
    title: featureTitle(spec, language),
    section,
    ...(zone === undefined ? {} : { zone }),
    unit,
    ...(isDifference(spec) ? { difference: true } : {}),
    ...(isHandFeature(feature) ? { hand: true } : {}),
    windowS,
    charts,
    baseline: baseline === undefined ? { status: 'learning', n: 0, target: 0 } : { status: baseline.status, n: baseline.n, target: baseline.target, ...(baseline.reason === undefined ? {} : { reason: baseline.reason }) },
    ...(latest === undefined ? {} : { latest: { time: isoTime(latest.timeMs), value: latest.value } }),
    evidence: { status, shiftSigma, ...(onsetMs === undefined ? {} : { onset: isoTime(onsetMs) }) },
  }
}

const AT_USUAL_RECIPE: Readonly<Record<Language, string>> = { 'en-US': ', at the usual recipe', es: ', con la receta habitual' }

/** Name of a feature; one the wording does not know keeps the catalogue's English one. */
export function featureTitle(spec: FeatureSpec, language: Language): string {
  const { pattern, zone } = featureParts(spec.feature)
  const words = FEATURE_WORDS[pattern]?.words[language].name
  const recipe = spec.atUsualRecipe === undefined ? '' : AT_USUAL_RECIPE[language]
  if (language === 'en-US' || words === undefined) return `${spec.title}${recipe}`
  const name = fill(words, { zone: String(zone ?? ''), kind: /^board\.defects\.([^.]+)\./.exec(spec.feature)?.[1] ?? '' })
  return `${name.charAt(0).toUpperCase()}${name.slice(1)}${recipe}`
}
