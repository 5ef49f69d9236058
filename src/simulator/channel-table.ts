import { DEFECT_KINDS } from './defect-model.js'
import { RandomStream } from './random-stream.js'
import type { SimulatedLine } from './simulated-line.js'
import type { SiteParameters } from './site-parameters.js'

/** One published channel: how often, how rounded, and where the value comes from. */
export interface PublishedChannel {
  readonly id: string
  /** Pattern of the id, e.g. `preheat.zone-<n>.temperature`. */
  readonly pattern: string
  readonly periodS: number
  /** `on-change` values are repeated every period as well. */
  readonly arrival: 'streaming' | 'on-change' | 'per-board'
  readonly quantum: number
  readonly read: () => number | string
}

export type ChannelSet = 'minimum' | 'minimum+' | 'rich'

/** All channels of a line in the order of the channel list; sensor noise comes from a stream of each channel's own. */
export function channelTable(line: SimulatedLine, site: SiteParameters, seed: number): PublishedChannel[] {
  return [...zoneChannels(line, site, seed), ...conveyorChannels(line), ...potChannels(line, site, seed), ...otherChannels(line, seed)]
}

/** @throws Error when a wanted channel is not one the simulator can publish */
export function wantedChannels(table: readonly PublishedChannel[], wanted: ChannelSet | readonly string[]): PublishedChannel[] {
  if (wanted === 'rich') return [...table]
  if (wanted === 'minimum' || wanted === 'minimum+') return table.filter((channel) => MINIMUM.has(channel.pattern) || (wanted === 'minimum+' && MINIMUM_PLUS.has(channel.pattern)))
  const unknown = wanted.find((id) => !table.some((channel) => channel.id === id))
  if (unknown !== undefined) throw new Error(`channels names "${unknown}": expected "minimum", "minimum+", "rich" or ids such as ${table.slice(0, 3).map((channel) => channel.id).join(', ')}`)
  return table.filter((channel) => wanted.includes(channel.id))
}

const MINIMUM = new Set(['preheat.zone-<n>.temperature', 'conveyor.speed', 'pot.level'])
const MINIMUM_PLUS = new Set(['preheat.zone-<n>.setpoint', 'conveyor.setpoint', 'board.count', 'line.recipe'])

type Arrival = PublishedChannel['arrival']

function entry(id: string, periodS: number, quantum: number, read: () => number | string, arrival: Arrival = 'streaming'): PublishedChannel {
  return { id, pattern: id.replace(/zone-\d+/, 'zone-<n>'), periodS, arrival, quantum, read }
}

function zoneChannels(line: SimulatedLine, site: SiteParameters, seed: number): PublishedChannel[] {
  const { tunnel, effects } = line
  const each = (make: (index: number) => PublishedChannel): PublishedChannel[] => site.zones.map((_, index) => make(index))
  const noiseOf = (name: string): RandomStream => new RandomStream(seed, `sensor.${name}`)
  return [
    ...each((index) => {
      const noise = noiseOf(`zone-${index + 1}.temperature`)
      const bias = site.zones[index]!.sensorBiasC
      return entry(`preheat.zone-${index + 1}.temperature`, 5, site.temperatureQuantumC, () => tunnel.sensedC[index]! + bias + 0.05 * noise.gaussian())
    }),
    ...each((index) => entry(`preheat.zone-${index + 1}.setpoint`, 60, 0.1, () => tunnel.setpointC[index]!, 'on-change')),
    ...each((index) => entry(`preheat.zone-${index + 1}.duty`, 5, 0.1, () => 100 * tunnel.duty[index]!)),
    ...each((index) => {
      const noise = noiseOf(`zone-${index + 1}.blower`)
      const nominalA = site.zones[index]!.blowerCurrentA
      return entry(`preheat.zone-${index + 1}.blower-current`, 5, 0.001, () => {
        if (!line.schedule.heating) return 0
        // Falls 2-4 % as the air warms and thins; an unbalanced wheel shakes.
        const density = 1 - 0.03 * Math.min(1, Math.max(0, (tunnel.airC[index]! - 30) / 120))
        const clogged = Math.abs(1 - effects.blowerCurrentFactor[index]!)
        const standby = line.schedule.state === 'standby' ? 0.55 : 1
        return nominalA * standby * density * effects.blowerCurrentFactor[index]! * (1 + (0.007 + 0.02 * clogged) * noise.gaussian())
      })
    }),
  ]
}

function conveyorChannels(line: SimulatedLine): PublishedChannel[] {
  const { conveyor } = line
  return [
    entry('conveyor.speed', 1, 0.01, () => conveyor.speedMmS),
    entry('conveyor.setpoint', 60, 0.01, () => line.conveyorSetpointMmS, 'on-change'),
    entry('conveyor.speed-sd', 1, 0.01, () => conveyor.speedSdMmS),
    entry('conveyor.speed-min', 1, 0.01, () => conveyor.speedMinMmS),
    entry('conveyor.speed-max', 1, 0.01, () => conveyor.speedMaxMmS),
    entry('conveyor.current', 1, 0.001, () => conveyor.currentA),
  ]
}

function potChannels(line: SimulatedLine, site: SiteParameters, seed: number): PublishedChannel[] {
  const { pot, effects } = line
  const level = new RandomStream(seed, 'sensor.pot.level')
  const pump = new RandomStream(seed, 'sensor.pot.pump')
  const heat = new RandomStream(seed, 'sensor.pot.temperature')
  const wave = new RandomStream(seed, 'sensor.pot.wave')
  return [
    entry('pot.level', 30, site.pot.levelQuantumMm, () => pot.sensedLevelMm(effects) + site.pot.levelNoiseMm * (pot.pumpOn ? 1 : 0.3) * level.gaussian()),
    entry('pot.temperature', 5, 0.1, () => pot.sensedC(effects) + 0.1 * heat.gaussian()),
    entry('pot.setpoint', 60, 0.1, () => pot.setpointC, 'on-change'),
    entry('pot.duty', 5, 0.1, () => 100 * pot.duty),
    entry('pot.pump-speed', 5, 0.1, () => (pot.pumpShare === 0 ? 0 : site.pot.pumpNominalPercent * pot.pumpShare * (1 + 0.002 * pump.gaussian()))),
    entry('pot.wave-height', 5, 0.01, () => (pot.waveMm === 0 ? 0 : Math.max(0, pot.waveMm + 0.05 * wave.gaussian()))),
  ]
}

function otherChannels(line: SimulatedLine, seed: number): PublishedChannel[] {
  const ambient = new RandomStream(seed, 'sensor.ambient')
  const exhaust = new RandomStream(seed, 'sensor.exhaust')
  const { fluxer } = line
  return [
    entry('fluxer.flow', 1, 0.01, () => fluxer.flowMlPerMin),
    entry('fluxer.pressure', 1, 0.001, () => fluxer.pressureBar),
    entry('fluxer.spray-on', 1, 1, () => (fluxer.spraying ? 1 : 0)),
    entry('board.count', 30, 1, () => line.loading.count),
    entry('board.topside-temperature', 1, 0.1, () => 0, 'per-board'),
    ...DEFECT_KINDS.map((kind) => entry(`board.defects.${kind}`, 1, 1, () => 0, 'per-board')),
    entry('line.recipe', 60, 0, () => line.activeRecipe.id, 'on-change'),
    entry('line.state', 60, 0, () => line.schedule.state, 'on-change'),
    entry('ambient.temperature', 60, 0.1, () => line.benign.ambientC + 0.15 * ambient.gaussian()),
    // Suction under the hood falls with the square of the air drawn.
    entry('exhaust.pressure', 10, 0.1, () => -120 * (line.effects.exhaustShare * line.benign.exhaustFactor) ** 2 * (1 + 0.02 * exhaust.gaussian())),
  ]
}
