import type { DeclaredChannels } from './declared-channels.js'
import { featureSpec, UNREST_RELEVANT, type FeatureRefusal, type FeatureSpec, type SpecDetails } from './feature-spec.js'

/** Doses are trimmed by a few percent by right; faults take or give 20 to 40 % in the end, and of the pressure twice as much (orifice law). [ASM] */
const DOSE_RELEVANT = 0.06
const PRESSURE_RELEVANT = 2 * DOSE_RELEVANT

export function fluxerSpecs(channels: DeclaredChannels, refusals: FeatureRefusal[]): FeatureSpec[] {
  const specs: FeatureSpec[] = []
  const add = (needed: readonly string[], feature: string, details: Omit<SpecDetails, 'section' | 'channels'>): void => {
    if (needed.every((channel) => channels.has(channel))) specs.push(featureSpec(feature, { section: 'fluxer', channels: needed, ...details }))
  }
  add(['fluxer.flow'], 'fluxer.flow.mean', {
    unit: 'mL/min', suspicious: 'both', mechanism: 'flux-flow', atUsualRecipe: 'ratio', sigmaFloor: 0.1, relevantShare: DOSE_RELEVANT, title: 'Fluxer: flow while spraying',
  })
  add(['fluxer.flow'], 'fluxer.flow.spread', {
    // how long a burst is, and what its begin has in it, goes with the board
    unit: 'ln share', suspicious: 'up', mechanism: 'flux-unrest', atUsualRecipe: 'difference', sigmaFloor: 0.05, relevant: UNREST_RELEVANT, title: 'Fluxer: unrest of the flow while spraying',
  })
  add(['fluxer.pressure'], 'fluxer.pressure.mean', {
    unit: 'bar', suspicious: 'both', mechanism: 'flux-pressure', atUsualRecipe: 'ratio', sigmaFloor: 0.003, relevantShare: PRESSURE_RELEVANT, title: 'Fluxer: pressure while spraying',
  })
  add(['fluxer.pressure'], 'fluxer.pressure.spread', {
    unit: 'ln share', suspicious: 'up', mechanism: 'flux-pressure-unrest', atUsualRecipe: 'difference', sigmaFloor: 0.05, relevant: UNREST_RELEVANT, title: 'Fluxer: unrest of the pressure while spraying',
  })
  add(['fluxer.flow', 'fluxer.pressure'], 'fluxer.flow-for-pressure', {
    unit: 'mL/min per √bar', suspicious: 'both', mechanism: 'flux-conductance', atUsualRecipe: 'ratio', sigmaFloor: 0.15, relevantShare: DOSE_RELEVANT, title: 'Fluxer: flow at the same pressure',
  })
  add(['fluxer.pressure', 'fluxer.spray-on'], 'fluxer.pressure.hold', {
    // a handful of idle spells a day: four make the centre; 8 % fall in five minutes where it is tight, read to 1 % of the pressure [ASM]
    unit: 'ln s', windowS: 300, states: ['idle'], suspicious: 'down', mechanism: 'flux-hold', pointsPerWeek: 40, sigmaFloor: 0.1, standard: { sigma: 0.15, centreValues: 4 }, title: 'Fluxer: how long the pressure holds with the spray off',
  })
  add(['fluxer.flow', 'board.count'], 'fluxer.flux-per-board', {
    unit: 'mL', windowS: 1800, suspicious: 'both', mechanism: 'flux-flow', perRecipe: true, sigmaFloor: 0.03, relevantShare: DOSE_RELEVANT, title: 'Fluxer: flux sprayed per board',
  })
  if (channels.has('fluxer.flow')) {
    refusals.push({ feature: 'fluxer.flow.stroke-line', reason: 'the time of a spray stroke is no machine fact of the definition, and a stroke frequency near 0.8 Hz needs a reading at least every 0.5 s' })
  }
  return specs
}
