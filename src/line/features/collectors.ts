import type { LineDefinition } from '../line-definition.js'
import type { TrackState } from './channel-track.js'
import type { PastContext } from './context-log.js'
import { createConveyorSpeed, createSpeedState } from './conveyor-speed.js'
import { createCustomState, createCustomValue } from './custom-value.js'
import type { DeclaredChannels } from './declared-channels.js'
import type { FeatureSpec } from './feature-spec.js'
import { createLevelState, createPotLevel } from './pot-level.js'
import { setpointOf, temperatureOf } from './preheat-specs.js'
import { createPreheatTemperatures, type PreheatState } from './preheat-temperatures.js'
import type { Collector, Give, LiveContext } from './slot.js'
import { createStepResponse, createStepState } from './step-response.js'
import { speedLines } from './transport-specs.js'
import { createStartUpState, createZoneStartUp } from './zone-start-up.js'

/** What collectors are built from. */
export interface CollectorParts {
  readonly definition: LineDefinition
  readonly channels: DeclaredChannels
  readonly specOf: ReadonlyMap<string, FeatureSpec>
  trackOf(channel: string): TrackState | undefined
  readonly live: LiveContext
  contextAt(timeMs: number): PastContext | undefined
  /** The kept state of a collector, or a new one. */
  stateOf<State>(name: string, create: () => State): State
}

export type FlushableCollector = Collector & { flush?(give: Give): void }

/** All collectors of a line, in the order in which they close their windows. */
export function createCollectors(parts: CollectorParts): FlushableCollector[] {
  return [...preheatCollectors(parts), ...speedCollector(parts), ...levelCollector(parts), ...customCollectors(parts)]
}

function preheatCollectors({ definition, channels, specOf, trackOf, live, stateOf }: CollectorParts): Collector[] {
  const zones = definition.machine.zones.flatMap((_, index) => {
    const zone = index + 1
    const temperature = trackOf(temperatureOf(zone))
    if (temperature === undefined) return []
    return [{ zone, temperature, setpoint: trackOf(setpointOf(zone)), setpointIsExplicit: channels.isExplicit(setpointOf(zone)), hasFast: specOf.has(`${temperatureOf(zone)}.fast`) }]
  })
  if (zones.length === 0) return []
  return [
    createPreheatTemperatures(zones, stateOf('preheat.temperatures', (): PreheatState => ({}))),
    ...zones.map(({ zone, setpoint }) => createZoneStartUp(zone, setpoint, live, stateOf(`preheat.zone-${zone}.start-up`, createStartUpState))),
    ...zones.filter(({ setpoint }) => setpoint !== undefined).map(({ zone, temperature }) => createStepResponse(zone, temperature, live, stateOf(`preheat.zone-${zone}.step`, createStepState))),
  ]
}

function speedCollector({ definition, channels, trackOf, stateOf }: CollectorParts): Collector[] {
  const speed = trackOf('conveyor.speed')
  if (speed === undefined) return []
  const parts = { speed, setpoint: trackOf('conveyor.setpoint'), setpointIsExplicit: channels.isExplicit('conveyor.setpoint') }
  return [createConveyorSpeed(parts, speedLines(definition, channels, []), stateOf('conveyor.speed', createSpeedState))]
}

function levelCollector({ trackOf, stateOf }: CollectorParts): Collector[] {
  const level = trackOf('pot.level')
  return level === undefined ? [] : [createPotLevel(level, stateOf('pot.level', createLevelState))]
}

function customCollectors({ channels, specOf, trackOf, stateOf }: CollectorParts): FlushableCollector[] {
  return channels.all.flatMap((channel) => {
    const track = trackOf(channel)
    const spec = specOf.get(`${channel}.value`)
    if (track === undefined || spec === undefined || !channel.startsWith('custom.')) return []
    return [createCustomValue(channel, track, spec.windowS, stateOf(channel, createCustomState))]
  })
}
