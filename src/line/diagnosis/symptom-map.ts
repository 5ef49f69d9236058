import type { BenignId, CauseId, FaultId } from '../causes.js'
import type { CellCondition, CellEffect, EffectCode, MatrixColumn } from './fault-table.js'

/** Which cells of the matrix a feature shows. */
export interface SymptomSource {
  /** Feature id with `<n>` for the zone and `<kind>` for a kind of defect. */
  readonly pattern: string
  /** Channels the feature is made from; the first is the one to ask for. */
  readonly channels: readonly string[]
  readonly column: MatrixColumn
  /** Codes looked for, the first that the cell holds counts; a part is looked for exactly. */
  readonly codes: readonly { readonly code: EffectCode; readonly part?: string }[]
  /** True where the feature falls when the effect grows, e.g. the time a pressure is held. */
  readonly inverted?: boolean
}

type Wanted = SymptomSource['codes'][number]

/** `M`, or `P@loop`: a code and the part of the channel. */
function wanted(list: string): Wanted[] {
  return list.split(' ').map((word) => {
    const [code, part] = word.split('@')
    return part === undefined ? { code: code as EffectCode } : { code: code as EffectCode, part }
  })
}

function source(pattern: string, column: MatrixColumn, codes: string, channels: string | readonly string[], inverted = false): SymptomSource {
  return { pattern, channels: typeof channels === 'string' ? [channels] : channels, column, codes: wanted(codes), ...(inverted ? { inverted } : {}) }
}

const ZONE = 'preheat.zone-<n>.'
const ZONE_T = `${ZONE}temperature`

/**
 * Feature by feature, where its symptom stands in the matrix. A mean falls back on the slow trend of the same channel:
 * where the matrix gives a trend alone, the level it leads to is what a chart of means sees.
 */
export const SYMPTOM_SOURCES: readonly SymptomSource[] = [
  source(`${ZONE_T}.offset`, 'Tz', 'M M@saturated', ZONE_T),
  source(`${ZONE_T}.fast`, 'Tz', 'HF', ZONE_T),
  source(`${ZONE_T}.fast-own`, 'Tz', 'HF', ZONE_T),
  source(`${ZONE_T}.slow`, 'Tz', 'LF', ZONE_T),
  source(`${ZONE_T}.slow-own`, 'Tz', 'LF', ZONE_T),
  source('preheat.common-movement', 'Tz', 'X', ZONE_T),
  source(`${ZONE}warm-up-time`, 'Tz', 'R@warm-up', ZONE_T),
  source(`${ZONE}warm-up-overshoot`, 'Tz', 'overshoot', ZONE_T),
  source(`${ZONE}step-response`, 'Tz', 'R', [ZONE_T, `${ZONE}setpoint`]),
  source(`${ZONE}step-overshoot`, 'Tz', 'overshoot', [ZONE_T, `${ZONE}setpoint`]),
  source(`${ZONE}duty.effort`, 'Uz', 'M', `${ZONE}duty`),
  source(`${ZONE}duty.effort-own`, 'Uz', 'M', `${ZONE}duty`),
  source(`${ZONE}duty.spread`, 'Uz', 'V', `${ZONE}duty`),
  source(`${ZONE}blower-current.mean`, 'Ib', 'M@current', `${ZONE}blower-current`),
  source(`${ZONE}blower-current.spread`, 'Ib', 'V', `${ZONE}blower-current`),
  source('conveyor.speed.offset', 'v', 'M', 'conveyor.speed'),
  source('conveyor.speed.spread', 'v', 'V', 'conveyor.speed'),
  source('conveyor.speed-sd.spread', 'v', 'V', ['conveyor.speed-sd', 'conveyor.speed']),
  source('conveyor.speed-range.spread', 'v', 'V', ['conveyor.speed-max', 'conveyor.speed-min', 'conveyor.speed']),
  source('conveyor.speed.jumps', 'v', 'J', 'conveyor.speed'),
  source('conveyor.speed.cold-jumps', 'v', 'J@cold J', 'conveyor.speed'),
  source('conveyor.speed.turn-line', 'v', 'P@turn', 'conveyor.speed'),
  source('conveyor.speed.tooth-line', 'v', 'P@tooth', 'conveyor.speed'),
  source('conveyor.speed.loop-line', 'v', 'P@loop', 'conveyor.speed'),
  source('conveyor.speed.finger-line', 'v', 'P@finger', 'conveyor.speed'),
  source('conveyor.current.warm', 'Im', 'M T', 'conveyor.current'),
  source('conveyor.current.cold', 'Im', 'M@cold M T', 'conveyor.current'),
  source('conveyor.current.spread', 'Im', 'V', 'conveyor.current'),
  source('pot.level.offset', 'L', 'M', 'pot.level'),
  source('pot.level.slope', 'L', 'T', 'pot.level'),
  source('pot.temperature.offset', 'Tp', 'M M@saturated', 'pot.temperature'),
  source('pot.temperature.spread', 'Tp', 'V', 'pot.temperature'),
  source('pot.duty.effort', 'Up', 'M', 'pot.duty'),
  source('pot.wave.height-for-speed', 'hw', 'M', ['pot.wave-height', 'pot.pump-speed']),
  source('pot.wave.speed-for-height', 'np', 'M', ['pot.pump-speed', 'pot.wave-height']),
  source('pot.wave-height.spread', 'hw', 'V V@drawing', 'pot.wave-height'),
  source('fluxer.flow.mean', 'Qf', 'M', 'fluxer.flow'),
  source('fluxer.flow.spread', 'Qf', 'V', 'fluxer.flow'),
  source('fluxer.flow-for-pressure', 'Qf', 'X', ['fluxer.pressure', 'fluxer.flow']),
  source('fluxer.pressure.mean', 'Pf', 'M', 'fluxer.pressure'),
  source('fluxer.pressure.spread', 'Pf', 'V', 'fluxer.pressure'),
  source('fluxer.pressure.hold', 'Pf', 'decay', 'fluxer.pressure', true),
  source('fluxer.flow.stroke-line', 'Qf', 'P@stroke', 'fluxer.flow'),
  source('fluxer.flux-per-board', 'Cf', 'M', ['fluxer.flow', 'board.count']),
  source('board.topside-temperature.mean', 'Tb', 'M M@saturated', 'board.topside-temperature'),
  source('board.topside-temperature.spread', 'Tb', 'V', 'board.topside-temperature'),
  source('board.defects.<kind>.count', 'D', 'M', 'board.defects.<kind>'),
  source('exhaust.pressure.mean', 'Tz', 'X@exhaust', 'exhaust.pressure'),
  source('ambient.temperature.mean', 'Tz', 'X@ambient', 'ambient.temperature'),
]

/** An effect the matrix does not spell out for a feature, or one that the feature sees otherwise than its channel. */
export interface Supplement {
  readonly cause: FaultId | BenignId
  /** As of a source; of defects with the matrix's word for the kind. */
  readonly pattern: string
  readonly effects: readonly CellEffect[]
  readonly evidence: 'CP' | 'SIM' | 'ASM'
  readonly why: string
}

function extra(cause: FaultId | BenignId, pattern: string, direction: CellEffect['direction'], strength: number, evidence: Supplement['evidence'], why: string, when?: CellCondition): Supplement {
  return { cause, pattern, effects: strength === 0 ? [] : [{ code: 'M', direction, strength, ...(when === undefined ? {} : { when }) }], evidence, why }
}

const PRESSURE_FEED: CellCondition = { feed: 'pressure' }
const METERED_FEED: CellCondition = { feed: 'metered-pump' }

/** Supplements take the place of the matrix for their cause and feature. */
export const SUPPLEMENTS: readonly Supplement[] = [
  extra('clogged-blower', `${ZONE}warm-up-time`, 'up', 0.5, 'SIM', 'model: 760 s clean, 800 s at 0.6 and 854 s at 0.4 of the air flow'),
  extra('coated-emitter', `${ZONE}warm-up-time`, 'up', 0.5, 'CP', 'only when severe'),
  extra('blocked-vents', `${ZONE}warm-up-time`, 'up', 0.5, 'CP', 'only when severe, outlet holes'),
  extra('ambient-or-exhaust', `${ZONE}warm-up-time`, 'either', 2, 'CP', 'more air drawn or a cold hall makes every zone slower, less air makes it faster'),
  extra('coated-emitter', `${ZONE_T}.offset`, 'down', 0.5, 'CP', 'no effect until the duty limit'),
  extra('blocked-vents', `${ZONE_T}.offset`, 'up', 0.5, 'CP', 'only a zone with a low set-point stands above it, at no duty'),
  extra('ageing-element', `${ZONE_T}.offset`, 'down', 1, 'CP', 'only when the duty is at its limit'),
  extra('ageing-element', `${ZONE_T}.slow-own`, 'up', 1, 'ASM', 'at its duty limit the loop is open and the load swings the zone'),
  extra('ageing-element', `${ZONE_T}.slow`, 'up', 1, 'ASM', 'at its duty limit the loop is open and the load swings the zone'),
  extra('ageing-element', 'pot.temperature.offset', 'down', 1, 'CP', 'only when the duty is at its limit'),
  extra('ageing-element', 'board.topside-temperature.mean', 'down', 0.5, 'CP', 'only when saturated'),
  extra('ageing-element', `${ZONE}step-response`, 'up', 1, 'ASM', 'a weak element saturates during a step'),
  extra('ambient-or-exhaust', `${ZONE_T}.slow-own`, 'up', 0, 'CP', 'all zones move together, so nothing is left of it in one'),
  extra('board-load', `${ZONE_T}.slow-own`, 'up', 0.5, 'ASM', 'zones answer to the load with unequal strength'),
  extra('idle', `${ZONE_T}.slow-own`, 'down', 0, 'CP', 'all zones go quiet together'),
  extra('ambient-or-exhaust', 'preheat.common-movement', 'up', 3, 'CP', 'one sign in all zones, correlated above 0.5'),
  extra('board-load', 'preheat.common-movement', 'up', 2, 'CP', 'the slow part follows the board count in all zones'),
  extra('idle', 'preheat.common-movement', 'down', 1, 'CP', 'no boards, no common swing'),
  extra('ambient-or-exhaust', `${ZONE}duty.spread`, 'up', 2, 'SIM', 'model: sd of duty 0.040 clean, 0.084 with a 15 % draught'),
  extra('ambient-or-exhaust', 'exhaust.pressure.mean', 'either', 3, 'CP', 'a step or day rhythm of the house exhaust'),
  extra('saturated-filter', 'exhaust.pressure.mean', 'either', 3, 'CP', 'filter differential up or exhaust static down is what tells it from vents and draughts'),
  extra('blocked-vents', 'exhaust.pressure.mean', 'either', 0.5, 'ASM', 'one zone of several'),
  extra('ambient-or-exhaust', 'ambient.temperature.mean', 'either', 3, 'CP', 'hall temperature, door, season'),
  extra('ambient-or-exhaust', `${ZONE}duty.effort-own`, 'either', 0.5, 'ASM', 'all zones move together; little of it is left in one'),
  extra('board-load', `${ZONE}duty.effort-own`, 'up', 0.5, 'ASM', 'boards take heat from all zones, from the first somewhat more'),
  // Effort is duty for a given difference to the room and per recipe: what remains of another set-point is the boards' part.
  ...(['setpoint-edit', 'changeover'] as const).flatMap((cause) => [extra(cause, `${ZONE}duty.effort`, 'either', 1, 'SIM', 'set-point and recipe are taken out of the effort'), extra(cause, `${ZONE}duty.effort-own`, 'either', 0.5, 'SIM', 'set-point and recipe are taken out of the effort')]),
  extra('idle', `${ZONE}duty.effort-own`, 'down', 0, 'CP', 'all zones together'),
  extra('ambient-or-exhaust', 'board.topside-temperature.mean', 'either', 2, 'SIM', 'boards enter at the temperature of the room, and air drawn off takes heat from the zones'),
  extra('board-load', 'board.topside-temperature.mean', 'down', 1, 'ASM', 'heavier boards get less warm'),
  extra('coated-thermocouple', 'preheat.common-movement', 'up', 0, 'CP', 'neighbours are unchanged'),
  // What too little flux, or too short a time in the wave, does to the other kinds of defects.
  ...(['clogged-nozzle', 'misoriented-nozzle', 'leaking-seal', 'bad-flux-hose'] as const).map((cause) => extra(cause, 'board.defects.bridges.count', 'up', 1, 'CP', 'flux exhausted or too little makes bridges')),
  extra('dosing-off', 'board.defects.bridges.count', 'either', 1, 'CP', 'too little flux makes bridges, more of it takes some away'),
  ...(['misoriented-nozzle', 'leaking-seal', 'bad-flux-hose', 'dosing-off'] as const).map((cause) => extra(cause, 'board.defects.hole-fill.count', 'up', 1, 'CP', 'flux that does not get into the holes')),
  extra('residue-on-fingers', 'board.defects.hole-fill.count', 'up', 1, 'CP', 'a lifted side is too short in the wave'),
  extra('clogged-nozzle', 'fluxer.flow-for-pressure', 'down', 3, 'CP', 'orifice law, either feed: the area is smaller (20 % less area = 20 % less flow or 1.56 times the pressure)'),
  extra('bad-flux-hose', 'fluxer.flow-for-pressure', 'down', 1, 'ASM', 'with the pressure taken before the hose; none with it at the head'),
  extra('leaking-seal', 'fluxer.flow-for-pressure', 'either', 1, 'ASM', 'more of it with the meter before the leak, less with the meter behind it'),
  extra('dosing-off', 'fluxer.flow-for-pressure', 'either', 2, 'ASM', 'a pressure feed is dosed by valve time and nozzle at the same pressure; a pump moves flow and pressure together', PRESSURE_FEED),
  extra('dosing-off', 'fluxer.pressure.mean', 'either', 2, 'CP', 'orifice law: what a metering pump delivers it needs pressure for, as the square', METERED_FEED),
  extra('stroke-too-wide', 'fluxer.flow.mean', 'up', 1, 'ASM', 'where the board is to have its dose all the same, more flows'),
  extra('stroke-too-wide', 'fluxer.flow-for-pressure', 'up', 1, 'ASM', 'as the flow, at the same pressure'),
  extra('worn-sprocket', 'conveyor.current.spread', 'up', 2, 'CP', 'the ripple at tooth and turn is part of the spread'),
  extra('worn-drive', 'conveyor.speed.offset', 'down', 2, 'CP', 'a speed below the set-point under load is what tells it from drag'),
  extra('low-level', 'pot.level.slope', 'down', 2, 'CP', 'falls at the rate of the mass balance while nobody tops up'),
  extra('low-level', 'pot.wave-height.spread', 'up', 1, 'CP', 'only when the intake draws dross or air'),
]

/**
 * Symptoms that show well before all others of their cause: while one is quiet, the cause hardly stands. With a lag of 10 s the
 * fast part is down to 0.6 and the slow one up by 6 % only [SIM].
 */
export const FIRST_SYMPTOMS: Readonly<Partial<Record<FaultId | BenignId, readonly string[]>>> = {
  'coated-thermocouple': [`${ZONE_T}.fast-own`, `${ZONE_T}.fast`],
  // A tight system holds its pressure for an hour, one with a small leak for minutes, and a leak takes from the pressure before it takes from the flow. [ASM]
  'leaking-seal': ['fluxer.pressure.hold', 'fluxer.pressure.mean'],
  // A nozzle that clogs lets less through at the same pressure, whatever the feed, and sputters. [CP, ASM]
  'clogged-nozzle': ['fluxer.flow-for-pressure', 'fluxer.flow.spread'],
  'low-level': ['pot.level.offset'],
  // Joints that got no flux, or no solder, are skipped before anything else happens to them. [CP: F2]
  'misoriented-nozzle': ['board.defects.skips.count'],
  'residue-on-fingers': ['board.defects.skips.count'],
}

/** The first symptom that tells its cause whatever the other first ones do: a pump keeps the pressure up against a leak that shows as soon as it rests. [ASM] */
export const TELLS_ALONE: Readonly<Partial<Record<CauseId, string>>> = { 'leaking-seal': 'fluxer.pressure.hold' }

/** Whether a feature is one of those that show a cause first. */
export function showsFirst(cause: CauseId, feature: string): boolean {
  const { pattern, defectKind } = featureParts(feature)
  return FIRST_SYMPTOMS[cause as FaultId | BenignId]?.includes(pattern.replace('<kind>', defectKind ?? '')) === true
}

/** A feature id in parts: its pattern, and the zone or kind of defect in it. */
export interface FeatureParts {
  readonly pattern: string
  readonly zone?: number
  readonly defectKind?: string
}

/** Takes a feature id apart, e.g. `preheat.zone-2.duty.effort` into its pattern and zone 2. */
export function featureParts(feature: string): FeatureParts {
  const zone = /^preheat\.zone-([1-9]\d?)\./.exec(feature)
  if (zone !== null) return { pattern: feature.replace(/zone-\d+/, 'zone-<n>'), zone: Number(zone[1]) }
  const defect = /^board\.defects\.([^.]+)\.count$/.exec(feature)
  if (defect !== null) return { pattern: 'board.defects.<kind>.count', defectKind: defectKindOf(defect[1]!) }
  return { pattern: feature }
}

/** The matrix's words for kinds of defects, and what a site's word must hold to mean one. */
export const DEFECT_KINDS: readonly (readonly [kind: string, expression: RegExp])[] = [
  ['skips', /skip|no-solder|unsoldered/],
  ['bridges', /bridg|short/],
  ['hole-fill', /hole|fill/],
  ['residue', /residue|spot/],
  ['balls', /ball/],
  ['icicles', /icicle|spike/],
  ['inclusions', /inclusion/],
]

/** The matrix's word for a site's kind of defect; `other` where it has none: such a kind speaks for the causes that make any defects, and tells none of them apart. */
export function defectKindOf(word: string): string {
  return DEFECT_KINDS.find(([, expression]) => expression.test(word))?.[0] ?? 'other'
}
