import { featureCatalogue, type FeatureSpec } from '../line/features/feature-catalogue.js'
import type { LineDefinition } from '../line/line-definition.js'
import { handCharts } from '../maintenance/rounds/hand-charts.js'
import { chartDesignFor } from '../monitor/chart-stage.js'

/** Every feature that a line charts: the catalogue's and the hand-measured values. */
export function chartedFeatures(definition: LineDefinition): readonly FeatureSpec[] {
  return [...featureCatalogue(definition), ...handCharts(definition)]
}

/** Points between two false signals of a feature's chart set, as the line's budget has it. */
export function arl0Of(definition: LineDefinition, spec: FeatureSpec, featureCount: number): number {
  return chartDesignFor(spec, definition.budget.falseSignalsPerWeek, featureCount).arl0
}

/**
 * Whether values of a feature in °C or mm/s are differences: they have no zero of the scale, so that 5 °C off are 9 °F.
 * A mean where no set-point is known is a temperature itself.
 */
export function isDifference({ feature, perRecipe, unit }: FeatureSpec): boolean {
  if (unit !== '°C') return false
  if (feature.endsWith('.offset')) return !perRecipe
  return /(?:overshoot|difference)$/.test(feature)
}
