import { channelKindOf } from '../channels.js'
import type { LineStateName } from '../feature-value.js'
import type { DeclaredChannels } from './declared-channels.js'
import { ALL_DEFECTS } from './defect-pool.js'
import { featureSpec, type FeatureSpec } from './feature-spec.js'

/** Boards that make one value of a defect count: equal numbers of boards, so that counts can be compared. */
export const DEFECT_BOARDS = 50
/** Shortest window of a custom channel, s. */
export const CUSTOM_WINDOW_S_MIN = 60
/**
 * What room, load and the days make of the boards' temperature under one recipe, °C: it wanders by right, so its own scatter of the
 * first days is no measure of it. [ASM]
 */
const TOPSIDE_SIGMA_C = { air: 0.5, noAir: 0.9 } as const
/** Less than that says nothing of a heater: the sensors on boards scatter by as much. [ASM] */
const TOPSIDE_RELEVANT_C = { air: 1.5, noAir: 2 } as const
/** The house's other machines, doors and fans move the exhaust by some percent all day: on many lines it never stands still for long enough to learn a level, and a filter takes most of it. [ASM] */
const EXHAUST_SIGMA_SHARE = 0.03
/** More of every kind is what faults of the fluxer and the transport make that nothing else shows; its chart only asks the kinds, and what they say must stand. [ASM] */
const ALL_DEFECTS_WEIGHT = 10
const ANY_STATE: readonly LineStateName[] = ['off', 'warm-up', 'settling', 'production', 'idle', 'changeover', 'maintenance', 'run-in']

export function boardSpecs(channels: DeclaredChannels): FeatureSpec[] {
  const specs: FeatureSpec[] = []
  const topside = 'board.topside-temperature'
  if (channels.has(topside)) {
    // Room and exhaust can be taken out where both are seen.
    const seen = channels.has('ambient.temperature') && channels.has('preheat.zone-1.duty') && channels.has('preheat.zone-2.duty') ? 'air' : 'noAir'
    specs.push(
      featureSpec(`${topside}.mean`, {
        section: 'line', channels: [topside], unit: '°C', windowS: 1800, suspicious: 'both', mechanism: 'board-temperature', sigmaFloor: TOPSIDE_SIGMA_C[seen], relevant: TOPSIDE_RELEVANT_C[seen], title: 'Board: temperature at the end of preheat, at the usual recipe and air',
      }),
      featureSpec(`${topside}.spread`, {
        section: 'line', channels: [topside], unit: 'ln °C', windowS: 1800, suspicious: 'up', mechanism: 'board-temperature-spread', perRecipe: true, sigmaFloor: 0.08, title: 'Board: spread of the temperature from board to board',
      }),
    )
  }
  const defects = channels.all.filter((name) => name.startsWith('board.defects.'))
  for (const channel of defects) {
    const kind = channel.slice('board.defects.'.length)
    specs.push(featureSpec(`${channel}.count`, {
      section: 'line', channels: [channel], unit: 'count', windowS: 1500, chart: 'count', suspicious: 'up', mechanism: `defects-${kind}`, sigmaFloor: 0.3, relevant: 0.5, title: `Defects in ${DEFECT_BOARDS} boards of the usual mix: ${kind}`,
    }))
  }
  if (defects.length >= 2) {
    specs.push(featureSpec(ALL_DEFECTS, {
      section: 'line', channels: defects, unit: 'count', windowS: 1500, chart: 'count', suspicious: 'up', mechanism: 'defects-all', sigmaFloor: 0.3, relevant: 0.5, weight: ALL_DEFECTS_WEIGHT, title: `Defects in ${DEFECT_BOARDS} boards of the usual mix: all kinds together`,
    }))
  }
  if (channels.has('exhaust.pressure')) {
    specs.push(featureSpec('exhaust.pressure.mean', { section: 'line', channels: ['exhaust.pressure'], unit: 'Pa', suspicious: 'both', mechanism: 'exhaust', sigmaFloor: 0.5, standard: { sigma: 1, sigmaShare: EXHAUST_SIGMA_SHARE, centreValues: 12 }, oneWay: true, title: 'Exhaust: static pressure' }))
  }
  if (channels.has('ambient.temperature')) {
    specs.push(featureSpec('ambient.temperature.mean', { section: 'line', channels: ['ambient.temperature'], unit: '°C', windowS: 3600, suspicious: 'both', mechanism: 'ambient', sigmaFloor: 1, title: 'Ambient temperature' }))
  }
  return [...specs, ...customSpecs(channels)]
}

function customSpecs(channels: DeclaredChannels): FeatureSpec[] {
  return channels.all.filter((name) => name.startsWith('custom.') && channelKindOf(name)?.channelKind.valueType === 'number').map((channel) => {
    const windowS = Math.max(channels.periodS(channel), CUSTOM_WINDOW_S_MIN)
    return featureSpec(`${channel}.value`, {
      section: 'line', channels: [channel], unit: 'none', windowS, states: ANY_STATE, suspicious: 'both', mechanism: channel, sigmaFloor: 0,
      title: `${channel.slice('custom.'.length)}: value`, pointsPerWeek: Math.round(604_800 / windowS),
    })
  })
}
