import type { LineDefinition } from '../line-definition.js'
import type { TrackState } from './channel-track.js'
import { createDefectGroups, createGroupState, createTopsideGroups } from './board-groups.js'
import type { PastContext } from './context-log.js'
import { createConveyorSpeed, createSpeedState } from './conveyor-speed.js'
import { createCustomState, createCustomValue } from './custom-value.js'
import type { DeclaredChannels } from './declared-channels.js'
import { createDefectLevels } from './defect-levels.js'
import { createDefectPool } from './defect-pool.js'
import { createCurrentState, createDriveCurrent } from './drive-current.js'
import { createDriveState, createDriveStatistics } from './drive-statistics.js'
import type { FeatureSpec } from './feature-spec.js'
import { createBoardAir, type AirNow } from './boards-at-usual-air.js'
import { commonShare, createCommonEffort } from './effort-beside-others.js'
import { createPotEffort, createPotEffortState, createZoneEfforts, createZoneEffortState, type ZoneEffortParts } from './heat-effort.js'
import { createMeanAndSpread, createMeanState } from './mean-and-spread.js'
import { createLevelState, createPotLevel } from './pot-level.js'
import { setpointOf, temperatureOf } from './preheat-specs.js'
import { createPreheatTemperatures, type PreheatState } from './preheat-temperatures.js'
import { createHoldState, createPressureHold } from './pressure-hold.js'
import { POT_BLANK_MS, type Collector, type Give, type LiveContext } from './slot.js'
import { createSprayBursts, createSprayState } from './spray-bursts.js'
import { createStepResponse, createStepState } from './step-response.js'
import { roomTemperature } from './room-temperature.js'
import { speedLines } from './transport-specs.js'
import { createUsualLevels } from './usual-level.js'
import { createWavePump, createWaveState } from './wave-pump.js'
import { createStartUpState, createZoneStartUp } from './zone-start-up.js'

/** What collectors are built from. */
export interface CollectorParts {
  readonly definition: LineDefinition
  readonly channels: DeclaredChannels
  readonly specOf: ReadonlyMap<string, FeatureSpec>
  trackOf(channel: string): TrackState | undefined
  readonly live: LiveContext
  contextAt(timeMs: number): PastContext | undefined
  /** Gives a value taken in production under a recipe that may no longer run. */
  giveFor(feature: string, timeMs: number, value: number, weight: number, recipe: string): void
  /** The kept state of a collector, or a new one. */
  stateOf<State>(name: string, create: () => State): State
}

export type FlushableCollector = Collector & { flush?(give: Give): void }

/** All collectors of a line, in the order in which they close their windows. */
export function createCollectors(parts: CollectorParts): FlushableCollector[] {
  return [
    ...sprayCollectors(parts),
    ...preheatCollectors(parts),
    ...effortCollectors(parts),
    ...transportCollectors(parts),
    ...potCollectors(parts),
    ...boardCollectors(parts),
    ...surroundingsCollectors(parts),
    ...customCollectors(parts),
  ]
}

function sprayCollectors({ trackOf, live, stateOf }: CollectorParts): Collector[] {
  const channels = { flow: trackOf('fluxer.flow'), pressure: trackOf('fluxer.pressure'), valve: trackOf('fluxer.spray-on') }
  const collectors: Collector[] = []
  if (channels.flow !== undefined || channels.pressure !== undefined) collectors.push(createSprayBursts(channels, stateOf('fluxer.bursts', createSprayState), live))
  if (channels.pressure !== undefined && channels.valve !== undefined) collectors.push(createPressureHold(live, stateOf('fluxer.hold', createHoldState)))
  return collectors
}

const COMMON_EFFORT = 'preheat.common-effort'

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

function effortCollectors({ definition, trackOf, stateOf }: CollectorParts): Collector[] {
  const heated: ZoneEffortParts[] = []
  const blown: Collector[] = []
  for (const zone of definition.machine.zones.map((_, index) => index + 1)) {
    const base = `preheat.zone-${zone}`
    const temperature = trackOf(temperatureOf(zone))
    const duty = trackOf(`${base}.duty`)
    const blower = trackOf(`${base}.blower-current`)
    if (duty !== undefined && temperature !== undefined) {
      heated.push({ zone, channels: { duty, temperature, setpoint: trackOf(setpointOf(zone)), ambient: trackOf('ambient.temperature') }, state: stateOf(`${base}.effort`, createZoneEffortState) })
    }
    if (blower !== undefined) {
      const channel = `${base}.blower-current`
      blown.push(createMeanAndSpread({ channel, track: blower, mean: `${channel}.mean`, relativeSpread: `${channel}.spread` }, stateOf(channel, createMeanState)))
    }
  }
  const efforts = heated.length === 0 ? [] : [createZoneEfforts(heated, stateOf(COMMON_EFFORT, createCommonEffort))]
  return [...efforts, ...blown]
}

function transportCollectors({ definition, channels, trackOf, live, stateOf }: CollectorParts): Collector[] {
  const speed = trackOf('conveyor.speed')
  const current = trackOf('conveyor.current')
  const drive = { sd: trackOf('conveyor.speed-sd'), lowest: trackOf('conveyor.speed-min'), highest: trackOf('conveyor.speed-max') }
  const collectors: Collector[] = []
  if (speed !== undefined) {
    const parts = { speed, setpoint: trackOf('conveyor.setpoint'), setpointIsExplicit: channels.isExplicit('conveyor.setpoint') }
    collectors.push(createConveyorSpeed(parts, speedLines(definition, channels, []), stateOf('conveyor.speed', createSpeedState)))
    if (Object.values(drive).some((track) => track !== undefined)) collectors.push(createDriveStatistics({ speed, ...drive }, stateOf('conveyor.drive', createDriveState)))
  }
  if (current !== undefined) collectors.push(createDriveCurrent(current, speed, live, stateOf('conveyor.current', createCurrentState)))
  return collectors
}

function potCollectors({ channels, trackOf, stateOf }: CollectorParts): Collector[] {
  const level = trackOf('pot.level')
  const temperature = trackOf('pot.temperature')
  const setpoint = trackOf('pot.setpoint')
  const duty = trackOf('pot.duty')
  const pump = trackOf('pot.pump-speed')
  const height = trackOf('pot.wave-height')
  const collectors: Collector[] = []
  if (level !== undefined) collectors.push(createPotLevel(level, stateOf('pot.level', createLevelState)))
  if (temperature !== undefined) {
    const offset = { feature: 'pot.temperature.offset', setpoint, isExplicit: channels.isExplicit('pot.setpoint'), blankMs: POT_BLANK_MS }
    collectors.push(createMeanAndSpread({ channel: 'pot.temperature', track: temperature, offset, slowSpread: 'pot.temperature.spread' }, stateOf('pot.temperature', createMeanState)))
    if (duty !== undefined) collectors.push(createPotEffort({ duty, temperature, setpoint, ambient: trackOf('ambient.temperature') }, stateOf('pot.effort.levels', createUsualLevels), stateOf('pot.effort', createPotEffortState)))
  }
  if (height !== undefined) {
    if (pump !== undefined) collectors.push(createWavePump(pump, height, level, stateOf('pot.wave', createWaveState)))
    collectors.push(createMeanAndSpread({ channel: 'pot.wave-height', track: height, spread: 'pot.wave-height.spread' }, stateOf('pot.wave-height', createMeanState)))
  }
  return collectors
}

function boardCollectors({ definition, channels, contextAt, giveFor, trackOf, stateOf }: CollectorParts): FlushableCollector[] {
  const parts = { contextAt, give: giveFor }
  const topside = 'board.topside-temperature'
  // Rounded to half a degree or a tenth of a millimetre a second: a set-point that trembles is none that was edited.
  const setpoints = (): string => setBy.map(({ track, step }) => (track.lastMs === 0 ? '' : Math.round(track.last / step))).join(',')
  const setBy = [...definition.machine.zones.map((_, index) => ({ channel: setpointOf(index + 1), step: 0.5 })), { channel: 'conveyor.setpoint', step: 0.1 }].flatMap(({ channel, step }) => {
    const track = channels.isExplicit(channel) ? trackOf(channel) : undefined
    return track === undefined ? [] : [{ track, step }]
  })
  const ambient = trackOf('ambient.temperature')
  const common = stateOf(COMMON_EFFORT, createCommonEffort)
  const airNow = (recipe: string): AirNow => ({ ambientC: roomTemperature(ambient), share: commonShare(common, recipe) })
  const defects = channels.all.filter((channel) => channel.startsWith('board.defects.'))
  const kinds = { channels: defects, levels: stateOf('board.defect-levels', createDefectLevels), pool: stateOf('board.defect-pool', createDefectPool) }
  return [
    ...(trackOf(topside) === undefined ? [] : [createTopsideGroups(parts, { setpoints, air: stateOf(`${topside}.air`, createBoardAir), airNow }, stateOf(`${topside}.levels`, createUsualLevels), stateOf(topside, createGroupState))]),
    ...defects.map((channel) => createDefectGroups(channel, parts, kinds, stateOf(channel, createGroupState))),
  ]
}

function surroundingsCollectors({ trackOf, stateOf }: CollectorParts): Collector[] {
  const exhaust = trackOf('exhaust.pressure')
  const ambient = trackOf('ambient.temperature')
  return [
    ...(exhaust === undefined ? [] : [createMeanAndSpread({ channel: 'exhaust.pressure', track: exhaust, mean: 'exhaust.pressure.mean' }, stateOf('exhaust.pressure', createMeanState))]),
    ...(ambient === undefined ? [] : [createMeanAndSpread({ channel: 'ambient.temperature', track: ambient, hourMean: 'ambient.temperature.mean' }, stateOf('ambient.temperature', createMeanState))]),
  ]
}

function customCollectors({ channels, specOf, trackOf, stateOf }: CollectorParts): FlushableCollector[] {
  return channels.all.flatMap((channel) => {
    const track = trackOf(channel)
    const spec = specOf.get(`${channel}.value`)
    if (track === undefined || spec === undefined || !channel.startsWith('custom.')) return []
    return [createCustomValue(channel, track, spec.windowS, stateOf(channel, createCustomState))]
  })
}
