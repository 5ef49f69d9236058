import type { FeatureEvidence } from '../../line/diagnosis.js'
import type { Section } from '../../line/feature-value.js'
import { featureCatalogue, type FeatureSpec } from '../../line/features/feature-catalogue.js'
import { isHandFeature } from '../../line/hand-values.js'
import type { LineDefinition } from '../../line/line-definition.js'

/** Windows in which a change must stand: three in a row. */
const WINDOWS_MIN = 3
/** One mechanism alone must stand through so much production; two of one section are believed at once. */
export const SINGLE_MS_MIN = 90 * 60_000
/** What moves with the hall or with all zones is no fouling. */
const BENIGN_MECHANISMS: readonly string[] = ['ambient', 'exhaust', 'preheat-common']

/** A feature that stands off its own normal in the direction that can mean fouling or wear. */
export interface StandingFeature {
  readonly feature: string
  readonly section: Section
  readonly mechanism: string
  readonly onsetMs: number
}

const SPECS = new WeakMap<LineDefinition, ReadonlyMap<string, FeatureSpec>>()

function specsOf(definition: LineDefinition): ReadonlyMap<string, FeatureSpec> {
  let specs = SPECS.get(definition)
  if (specs === undefined) SPECS.set(definition, (specs = new Map(featureCatalogue(definition).map((spec) => [spec.feature, spec]))))
  return specs
}

/** Features that vary now, beyond what ambient air and load explain: all zones moving together are none. */
export function standingFeatures(definition: LineDefinition, evidence: readonly FeatureEvidence[]): readonly StandingFeature[] {
  const specs = specsOf(definition)
  const off = evidence.flatMap(({ feature, status, windows, onsetMs }) => {
    const spec = specs.get(feature)
    if (spec === undefined || isHandFeature(feature) || (status !== 'up' && status !== 'down') || windows < WINDOWS_MIN) return []
    return [{ feature, section: spec.section, mechanism: spec.mechanism, onsetMs, suspicious: spec.suspicious === 'both' || spec.suspicious === status }]
  })
  const isCommon = off.some(({ mechanism }) => BENIGN_MECHANISMS.includes(mechanism))
  return off.filter(({ suspicious, mechanism, section }) => suspicious && !BENIGN_MECHANISMS.includes(mechanism) && !(isCommon && section === 'preheat')).map(({ suspicious: _, ...standing }) => standing)
}

/** Sections in which at least two independent mechanisms stand. */
export function unsettledSections(standing: readonly StandingFeature[]): readonly Section[] {
  const sections = [...new Set(standing.map(({ section }) => section))]
  return sections.filter((section) => new Set(standing.filter((item) => item.section === section).map(({ mechanism }) => mechanism)).size >= 2)
}
