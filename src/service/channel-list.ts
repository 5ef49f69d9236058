import { CHANNEL_KINDS, type ChannelKind } from '../line/channels.js'
import { DEFECT_KINDS } from '../line/diagnosis/symptom-map.js'
import { STATE_WORDS } from '../line/state/state-words.js'
import { writtenUnitsFor } from '../line/units.js'

/** What a channel carries, for people who wire it up. */
export const CHANNEL_MEANINGS: Readonly<Record<string, string>> = {
  'preheat.zone-<n>.temperature': 'reading of the zone\'s control sensor',
  'preheat.zone-<n>.setpoint': 'what that sensor is to read',
  'preheat.zone-<n>.duty': 'output of the zone\'s controller',
  'preheat.zone-<n>.blower-current': 'motor current of the zone\'s blower',
  'conveyor.speed': 'speed of chain or motor shaft (machine.conveyor.speedSensor says which)',
  'conveyor.setpoint': 'speed that is set',
  'conveyor.speed-sd': 'standard deviation of the speed within each second, from the drive',
  'conveyor.speed-min': 'lowest speed within each second, from the drive',
  'conveyor.speed-max': 'highest speed within each second, from the drive',
  'conveyor.current': 'motor current of the conveyor drive',
  'pot.level': 'solder level beside the one it is kept at; a lower number is less solder',
  'pot.temperature': 'reading of the pot\'s control probe',
  'pot.setpoint': 'what that probe is to read',
  'pot.duty': 'output of the pot\'s controller',
  'pot.pump-speed': 'speed of the solder pump',
  'pot.wave-height': 'height of the wave over the nozzle',
  'fluxer.flow': 'flux to the nozzle; 0 between boards is no loss',
  'fluxer.pressure': 'pressure of the flux before the nozzle',
  'fluxer.spray-on': '1, on or true while it sprays, else 0, off or false',
  'board.count': 'running total of boards; where it falls it was reset',
  'board.topside-temperature': 'top of a board as it leaves the preheat, one value a board',
  'board.defects.<kind>': `defects of a board, one value a board and kind. Diagnosed by: ${DEFECT_KINDS.map(([word]) => word).join(', ')}; other kinds are charted and hardly tell causes apart. Boards without defects send 0`,
  'line.recipe': 'name of the recipe or product that runs',
  'line.state': `what the machine says of itself. Understood: ${Object.entries(STATE_WORDS).map(([state, words]) => `${state} (${words.join(', ')})`).join('; ')}; capitals, blanks and hyphens do not matter. The tool works without it`,
  'ambient.temperature': 'air of the hall beside the machine',
  'exhaust.pressure': 'static pressure in the exhaust, suction below zero; or the pressure across its filter',
  'custom.lot': 'lot the boards belong to, for tracing',
  'custom.order': 'order the boards belong to, for tracing',
  'custom.<name>': 'anything else: charted, and no cause is told by it',
}

const ARRIVALS: Readonly<Record<ChannelKind['arrival'], string>> = { streaming: 'steadily', delayed: 'per board, may be late', 'on-change': 'when it changes' }

/** All channels a line can have, as text: id, unit with the others that convert to it, how it arrives, what it is. */
export function channelList(): string {
  const lines = CHANNEL_KINDS.flatMap((kind) => {
    const units = kind.unit === 'none' ? (kind.valueType === 'text' ? 'text' : 'any unit') : [...new Set([kind.unit, ...writtenUnitsFor(kind.unit), ...kind.unitsAsIs])].join(', ')
    return [`${kind.pattern}${kind.minimum ? ' *' : ''}`, `  ${units}; ${ARRIVALS[kind.arrival]}`, `  ${CHANNEL_MEANINGS[kind.pattern] ?? ''}`]
  })
  return `${lines.join('\n')}\n\n* belongs to the smallest set the tool works with. <n> is a zone from 1, in a definition also {n} for all of them; <kind> and <name> are words of yours.\n`
}
