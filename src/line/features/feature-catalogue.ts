import type { LineDefinition } from '../line-definition.js'
import { boardSpecs } from './board-specs.js'
import { declaredChannels } from './declared-channels.js'
import type { FeatureRefusal, FeatureSpec } from './feature-spec.js'
import { fluxerSpecs } from './fluxer-specs.js'
import { potSpecs } from './pot-specs.js'
import { preheatSpecs } from './preheat-specs.js'
import { transportSpecs } from './transport-specs.js'

export type { FeatureRefusal, FeatureSpec } from './feature-spec.js'

/**
 * The features a line can have, in the order they are computed: only those whose channels it declares, an empty list of
 * channels meaning all. What the machine facts or the sampling do not allow is left out; `featureRefusals` says why.
 */
export function featureCatalogue(definition: LineDefinition): readonly FeatureSpec[] {
  return catalogueOf(definition).specs
}

/** Features the line's channels would suggest but that it cannot have, each with its reason in plain words. */
export function featureRefusals(definition: LineDefinition): readonly FeatureRefusal[] {
  return catalogueOf(definition).refusals
}

function catalogueOf(definition: LineDefinition): { readonly specs: readonly FeatureSpec[]; readonly refusals: readonly FeatureRefusal[] } {
  const channels = declaredChannels(definition)
  const refusals: FeatureRefusal[] = []
  const specs = [
    ...fluxerSpecs(channels, refusals),
    ...preheatSpecs(definition, channels, refusals),
    ...transportSpecs(definition, channels, refusals),
    ...potSpecs(definition, channels),
    ...boardSpecs(channels),
  ]
  return { specs, refusals }
}
