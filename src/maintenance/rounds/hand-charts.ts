import type { FeatureSpec } from '../../line/features/feature-spec.js'
import { handFeatures } from '../../line/hand-values.js'
import type { LineDefinition } from '../../line/line-definition.js'
import { roundChecks } from './round-catalogue.js'

/** Charts of the hand-measured values of a line, each as rare as its check. */
export function handCharts(definition: LineDefinition): readonly FeatureSpec[] {
  const periods = new Map(roundChecks(definition).map(({ check, every }) => [check, every]))
  return handFeatures(definition, (check) => periods.get(check) ?? 'event')
}
