import type { SimulatedFault } from '../../simulator/simulation-causes.js'

/** How well the channels of a line can show a fault: `weak` shows late, with low confidence, or with luck. */
export type Observability = 'observable' | 'weak' | 'invisible'

/** What decides how well a fault can be seen. */
export interface ObservedFault {
  readonly cause: SimulatedFault
  readonly zone?: number
  readonly variant?: string
}

export interface ObservingLine {
  /** Channel ids that are published. */
  readonly channels: readonly string[]
  readonly speedSensor: 'chain' | 'motor'
  readonly speedPeriodS: number
}

export const OBSERVABLE_BY =
  'observable: with temperatures, speed and level alone what the process knowledge gives at least medium confidence (low level; coated thermocouple; ageing element of a zone; the transport group where the speed is measured on the chain, at least every 2 s; a worn sprocket); with more channels what moves one of them at strength 2 or more in the symptom matrix (fixtures/process-matrix.csv); weak: strength 1 or low confidence'

/** Confidence that zone temperatures, speed and level give by themselves; the transport group with the speed of the chain. */
const BY_MINIMUM: Readonly<Record<SimulatedFault, Observability>> = {
  'clogged-nozzle': 'invisible',
  'misoriented-nozzle': 'invisible',
  'leaking-seal': 'invisible',
  'saturated-filter': 'invisible',
  'bad-flux-hose': 'invisible',
  'dosing-off': 'invisible',
  'stroke-too-wide': 'invisible',
  'clogged-blower': 'invisible',
  'coated-emitter': 'weak', // only once the duty saturates
  'blocked-vents': 'weak', // likewise
  'coated-thermocouple': 'observable',
  'dirty-rails': 'observable',
  'dirty-chain': 'observable',
  'dry-chain': 'observable',
  'sticky-grease': 'observable',
  'residue-on-fingers': 'invisible',
  'worn-sprocket': 'observable',
  'worn-bearing': 'observable',
  'worn-drive': 'observable',
  'low-level': 'observable',
  'dross-at-intake': 'weak', // a steeper level slope
  'drifting-pot-probe': 'invisible',
  'ageing-element': 'observable', // of a zone, by the warm-up time
}

/** Strength, 1-3, at which a fault moves a channel beyond the minimum set: the largest of the cell of the symptom matrix. */
export const STRENGTHS: Readonly<Record<SimulatedFault, Readonly<Partial<Record<string, 1 | 2 | 3>>>>> = {
  'clogged-nozzle': { 'fluxer.flow': 3, 'fluxer.pressure': 3, 'board.defects': 2 },
  'misoriented-nozzle': { 'board.defects': 2 },
  'leaking-seal': { 'fluxer.flow': 2, 'fluxer.pressure': 3, 'board.defects': 1 },
  'saturated-filter': { 'preheat.duty': 1, 'conveyor.current': 1, 'board.defects': 2, 'exhaust.pressure': 2 }, // the last from what tells it from its look-alikes
  'bad-flux-hose': { 'fluxer.flow': 2, 'fluxer.pressure': 2, 'board.defects': 1 },
  'dosing-off': { 'fluxer.flow': 1, 'fluxer.per-board': 2, 'board.defects': 2 },
  'stroke-too-wide': { 'conveyor.current': 1, 'fluxer.per-board': 1, 'board.defects': 1 },
  'clogged-blower': { 'preheat.duty': 2, 'preheat.blower-current': 2, 'board.topside-temperature': 2, 'board.defects': 2 },
  'coated-emitter': { 'preheat.duty': 2, 'board.topside-temperature': 2, 'board.defects': 1 },
  'blocked-vents': { 'preheat.duty': 2, 'board.topside-temperature': 1, 'board.defects': 1 }, // the spread across the width needs two sensors
  'coated-thermocouple': { 'preheat.duty': 2, 'board.topside-temperature': 2, 'board.defects': 1 },
  'dirty-rails': { 'conveyor.current': 2, 'board.topside-temperature': 1, 'board.defects': 1 },
  'dirty-chain': { 'conveyor.current': 3, 'board.topside-temperature': 1, 'board.defects': 2 },
  'dry-chain': { 'conveyor.current': 3, 'board.defects': 1 },
  'sticky-grease': { 'conveyor.current': 3, 'board.defects': 1 },
  'residue-on-fingers': { 'conveyor.current': 1, 'board.topside-temperature': 1, 'board.defects': 2 },
  'worn-sprocket': { 'conveyor.current': 2, 'board.defects': 1 },
  'worn-bearing': { 'conveyor.current': 1, 'board.defects': 1 },
  'worn-drive': { 'conveyor.current': 2, 'board.defects': 1 },
  'low-level': { 'pot.temperature': 1, 'pot.duty': 1, 'pot.pump-speed': 1, 'pot.wave-height': 3, 'board.defects': 3 },
  'dross-at-intake': { 'pot.temperature': 1, 'pot.duty': 1, 'pot.pump-speed': 2, 'pot.wave-height': 2, 'board.defects': 2 },
  'drifting-pot-probe': { 'pot.duty': 1, 'board.defects': 2 },
  'ageing-element': { 'preheat.duty': 3, 'pot.duty': 3, 'board.topside-temperature': 1, 'board.defects': 1 },
}

/** The same for the minimum set. */
const MINIMUM_STRENGTHS: Readonly<Partial<Record<SimulatedFault, readonly string[]>>> = {
  'saturated-filter': ['preheat.temperature'],
  'stroke-too-wide': ['conveyor.speed'],
  'coated-emitter': ['preheat.temperature'],
  'blocked-vents': ['preheat.temperature'],
  'coated-thermocouple': ['preheat.temperature'],
  'ageing-element': ['preheat.temperature'],
  'dirty-rails': ['conveyor.speed'],
  'dirty-chain': ['conveyor.speed'],
  'dry-chain': ['conveyor.speed'],
  'sticky-grease': ['conveyor.speed'],
  'worn-sprocket': ['conveyor.speed'],
  'worn-bearing': ['conveyor.speed'],
  'worn-drive': ['conveyor.speed'],
  'low-level': ['pot.level'],
  'dross-at-intake': ['pot.level'],
  'drifting-pot-probe': ['pot.level'],
}

/** Kinds of channel that a fault moves at all, by the symptom matrix. */
export function movedKinds(cause: SimulatedFault): ReadonlySet<string> {
  return new Set([...(MINIMUM_STRENGTHS[cause] ?? []), ...Object.keys(STRENGTHS[cause])])
}

/** Faults that share the drag of the transport and are named as a group. */
const TRANSPORT_GROUP: ReadonlySet<SimulatedFault> = new Set<SimulatedFault>(['dirty-rails', 'dirty-chain', 'dry-chain', 'sticky-grease', 'worn-bearing', 'worn-drive'])
/** Slower than this the speed no longer shows jumps and rough motion. */
const SPEED_PERIOD_MAX_S = 2
/** Turns of the sprocket need a value at least every 5 s. */
const TURN_PERIOD_MAX_S = 5

/** How well a fault shows on a line, by the process knowledge and the channels alone; what a detector finds plays no part. */
export function observabilityOf(fault: ObservedFault, line: ObservingLine): Observability {
  return stronger(byMinimumSet(fault, line), byFurtherChannels(fault, line))
}

function byMinimumSet({ cause, zone }: ObservedFault, line: ObservingLine): Observability {
  if (cause === 'ageing-element' && zone === undefined) return 'invisible'
  if (TRANSPORT_GROUP.has(cause)) return line.speedSensor === 'chain' && line.speedPeriodS <= SPEED_PERIOD_MAX_S ? 'observable' : 'weak'
  if (cause === 'worn-sprocket') return line.speedPeriodS <= TURN_PERIOD_MAX_S ? 'observable' : 'weak'
  return BY_MINIMUM[cause]
}

function byFurtherChannels(fault: ObservedFault, { channels }: ObservingLine): Observability {
  const { cause, zone, variant } = fault
  if (TRANSPORT_GROUP.has(cause) && channels.includes('conveyor.current')) return 'observable'
  const kinds = new Set(channels.map(kindOf))
  if (kinds.has('fluxer.flow') && kinds.has('fluxer.spray-on') && kinds.has('board.count')) kinds.add('fluxer.per-board')
  let most = 0
  for (const [kind, strength] of Object.entries(STRENGTHS[cause])) {
    if (!kinds.has(kind)) continue
    if (cause === 'ageing-element' && kind.endsWith('.duty') && kind !== (zone === undefined ? 'pot.duty' : 'preheat.duty')) continue
    // Forms of a fault that move a channel less than its usual form.
    const less = (variant === 'narrow-fan' && kind.startsWith('fluxer.')) || (variant === 'outlet' && kind === 'preheat.duty') || (variant === 'reads-low' && kind === 'board.defects')
    most = Math.max(most, less ? Math.min(1, strength!) : strength!)
  }
  return most >= 2 ? 'observable' : most === 1 ? 'weak' : 'invisible'
}

/** `preheat.zone-2.duty` is of kind `preheat.duty`, `board.defects.skip` of kind `board.defects`. */
function kindOf(channel: string): string {
  return channel.startsWith('board.defects.') ? 'board.defects' : channel.replace(/\.zone-\d+\./, '.')
}

const ORDER: readonly Observability[] = ['invisible', 'weak', 'observable']

function stronger(a: Observability, b: Observability): Observability {
  return ORDER.indexOf(a) >= ORDER.indexOf(b) ? a : b
}

/** Faults that a line's channels cannot show at all, wherever they sit. */
export function invisibleOn(line: ObservingLine): SimulatedFault[] {
  return (Object.keys(BY_MINIMUM) as SimulatedFault[]).filter((cause) => observabilityOf({ cause, zone: 1 }, line) === 'invisible')
}
