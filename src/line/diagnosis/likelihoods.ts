import { z } from 'zod'
import { declaredChannels } from '../features/declared-channels.js'
import { GROWS_WITH_STRENGTH, growsWithStrength, LIKELIHOOD_PARTS } from '../likelihood-parts.js'
import { NONE_OF_THESE, type CauseId } from '../causes.js'
import type { LineDefinition } from '../line-definition.js'
import { conditionHolds, matrixRow, type CellEffect } from './fault-table.js'
import { showsFirst, SUPPLEMENTS, SYMPTOM_SOURCES, featureParts, type SymptomSource } from './symptom-map.js'

/** Chances of what a chart says of a feature under one cause; they sum to 1, but for `none-of-these`. */
export interface Outcomes {
  readonly up: number
  readonly down: number
  readonly quiet: number
}

/**
 * How matrix strengths become chances; a site may put its own in place of any part.
 * Strengths are common practice and these numbers modelling values, to be learned from closed suggestions. [ASM]
 */
export interface LikelihoodTable {
  /** Chance that a symptom of a strength (0.5 doubtful, 1 weak, 2 clear, 3 obvious) shows in its direction. */
  readonly shows: Readonly<Record<'0.5' | '1' | '2' | '3', number>>
  /** Chance, each way, that a feature moves though the cause does not touch it. */
  readonly stray: number
  /**
   * Chance, each way, of a movement under a cause that is not in the table: the same for all features. Its quiet
   * features are weighed like those of a cause that leaves them alone, since whatever it is, it moves some features and
   * not others; otherwise every further quiet channel would speak against the unlisted.
   */
  readonly unknown: number
  /**
   * Weight of a quiet feature against one that moved: a fault shows first in its strongest symptom, so the silence of
   * the others says less than the arithmetic of independent features would have it.
   */
  readonly quietWeight: number
  /** Divides the evidence before it meets the priors: features are less independent than the arithmetic takes them for. */
  readonly temperature: number
  /** Own chances for a cause and a feature pattern, e.g. `dry-chain conveyor.current.warm`. */
  readonly own: Readonly<Record<string, { readonly up: number; readonly down: number }>>
  /** What people found of this line's suggestions, by cause; absent before they found anything. */
  readonly found?: Readonly<Record<string, SiteFound>>
}

/** How often suggestions of a cause, alone or in its group, were found right or not. */
export interface SiteFound {
  readonly confirmed: number
  readonly somethingElse: number
  readonly nothingFound: number
  /** Factor on the prior odds of the cause. */
  readonly odds: number
}

export const DEFAULT_LIKELIHOODS: LikelihoodTable = {
  shows: { '0.5': 0.15, '1': 0.35, '2': 0.65, '3': 0.88 },
  stray: 0.015,
  unknown: 0.08,
  quietWeight: 0.5,
  temperature: 1.1,
  own: {},
}

/** Form of a whole table. */
export const likelihoodTableSchema = z.strictObject(LIKELIHOOD_PARTS).refine((table) => growsWithStrength(table.shows), GROWS_WITH_STRENGTH)

const SITE_TABLES = new WeakMap<LineDefinition, LikelihoodTable>()

/** The table of a line: the default one, with the parts its definition puts in their place. */
export function siteLikelihoods(definition: LineDefinition): LikelihoodTable {
  const given = definition.likelihoods
  if (given === undefined) return DEFAULT_LIKELIHOODS
  let table = SITE_TABLES.get(definition)
  if (table === undefined) {
    const parts = Object.fromEntries(Object.entries(given).filter(([, part]) => part !== undefined))
    SITE_TABLES.set(definition, (table = { ...DEFAULT_LIKELIHOODS, ...parts }))
  }
  return table
}

const SOURCE_BY_PATTERN = new Map(SYMPTOM_SOURCES.map((source) => [source.pattern, source]))
const SUPPLEMENT_BY_KEY = new Map(SUPPLEMENTS.map((supplement) => [`${supplement.cause} ${supplement.pattern}`, supplement]))

/** How many values a machine fact can have: an unknown one is weighed as if each were equally likely. */
const FACT_VALUES = { feed: 2, thermocouple: 3, blower: 2, zone: 3 } as const

/** A movement a cause is expected to make in a feature. */
export interface ExpectedMove {
  readonly direction: 'up' | 'down' | 'either'
  readonly strength: number
  /** Chance that the machine is one on which the move is made; below 1 where the definition does not say. */
  readonly weight: number
}

/** Whether the table says anything about a feature. */
export function isMapped(feature: string): boolean {
  return SOURCE_BY_PATTERN.has(featureParts(feature).pattern)
}

/** Where in the matrix a feature's symptom stands; undefined for a feature the table does not know. */
export function symptomSource(feature: string): SymptomSource | undefined {
  return SOURCE_BY_PATTERN.get(featureParts(feature).pattern)
}

/** What was looked up before, by feature and cause: it follows from definition and table, and is asked for all the time. */
type Known<Value> = Map<string, Map<CauseId, Value>>
const MOVES = new WeakMap<LineDefinition, Known<readonly ExpectedMove[]>>()
const OUTCOMES = new WeakMap<LikelihoodTable, WeakMap<LineDefinition, Known<Outcomes>>>()

function knownOrNew<Value>(known: Known<Value>, feature: string, cause: CauseId, compute: () => Value): Value {
  let byCause = known.get(feature)
  if (byCause === undefined) known.set(feature, (byCause = new Map()))
  let value = byCause.get(cause)
  if (value === undefined) byCause.set(cause, (value = compute()))
  return value
}

/** The movements a cause is expected to make in a feature on this machine; empty where it leaves the feature alone. */
export function expectedMoves(cause: CauseId, feature: string, definition: LineDefinition): readonly ExpectedMove[] {
  if (cause === NONE_OF_THESE) return []
  let known = MOVES.get(definition)
  if (known === undefined) MOVES.set(definition, (known = new Map()))
  return knownOrNew(known, feature, cause, () => lookUpMoves(cause, feature, definition))
}

function lookUpMoves(cause: Exclude<CauseId, typeof NONE_OF_THESE>, feature: string, definition: LineDefinition): ExpectedMove[] {
  const { pattern, zone, defectKind } = featureParts(feature)
  const source = SOURCE_BY_PATTERN.get(pattern)
  if (source === undefined || (followsSetpoint(cause) && isOffPublishedSetpoint(pattern, zone, definition))) return []
  const supplement = SUPPLEMENT_BY_KEY.get(`${cause} ${pattern.replace('<kind>', defectKind ?? '')}`)
  const effects = supplement === undefined ? cellEffects(source, matrixRow(cause).cells[source.column]?.effects ?? [], defectKind) : supplement.effects
  const moves: ExpectedMove[] = []
  for (const effect of effects) {
    const weight = weightOf(effect, definition, zone)
    if (weight === 0) continue
    moves.push({ direction: source.inverted === true ? opposite(effect.direction) : effect.direction, strength: seenStrength(effect.strength, pattern, definition), weight })
  }
  return moves
}

/**
 * ln of the chance that a feature is quiet under a cause, as it weighs: little, but in full for what shows a cause first.
 *
 * @param weight how much a silence weighs, 0-1; absent: as the table has it
 * @param told whether the symptom was seen that tells the cause alone
 */
export function silenceOf(cause: CauseId, feature: string, definition: LineDefinition, table: LikelihoodTable, weight = table.quietWeight, told = false): number {
  return showsFirst(cause, feature) && !told ? Math.log(1 - table.shows['3']) : Math.log(outcomesOf(cause, feature, definition, table).quiet) * weight
}

/** What a person sets or a recipe brings moves reading and set-point together. */
function followsSetpoint(cause: CauseId): boolean {
  return cause === 'setpoint-edit' || cause === 'changeover'
}

const SETPOINTS: Readonly<Record<string, string>> = { 'preheat.zone-<n>.temperature.offset': 'preheat.zone-<n>.setpoint', 'conveyor.speed.offset': 'conveyor.setpoint', 'pot.temperature.offset': 'pot.setpoint' }

/** Whether a mean is taken against a set-point that the line publishes. */
function isOffPublishedSetpoint(pattern: string, zone: number | undefined, definition: LineDefinition): boolean {
  const setpoint = SETPOINTS[pattern]?.replace('<n>', String(zone ?? 1))
  return setpoint !== undefined && declaredChannels(definition).isExplicit(setpoint)
}

const CHAIN_MOTION = /^conveyor\.speed\.(spread|jumps|cold-jumps|loop-line|finger-line)$/

/** An encoder on the motor shaft sees less of what the chain does: one strength less. [CP] */
function seenStrength(strength: number, pattern: string, definition: LineDefinition): number {
  if (definition.machine.conveyor.speedSensor !== 'motor' || !CHAIN_MOTION.test(pattern)) return strength
  return Math.max(0.5, strength - 1)
}

/** Effects of the first wanted code the cell holds. */
function cellEffects(source: SymptomSource, effects: readonly CellEffect[], defectKind: string | undefined): readonly CellEffect[] {
  if (source.column === 'D') return effects.filter((effect) => effect.code === 'M' && (effect.part === defectKind || effect.part === 'any'))
  for (const { code, part } of source.codes) {
    const found = effects.filter((effect) => effect.code === code && effect.part === part)
    if (found.length > 0) return found
  }
  return []
}

function weightOf(effect: CellEffect, definition: LineDefinition, zone: number | undefined): number {
  const holds = conditionHolds(effect.when, definition, zone)
  if (holds !== 'unknown') return holds === 'yes' ? 1 : 0
  const { when } = effect
  let weight = 1
  if (when?.feed !== undefined) weight /= FACT_VALUES.feed
  if (when?.blower !== undefined) weight /= FACT_VALUES.blower
  if (when?.zone !== undefined) weight /= FACT_VALUES.zone
  if (when?.thermocouple !== undefined) weight *= when.thermocouple.length / FACT_VALUES.thermocouple
  return weight
}

function opposite(direction: ExpectedMove['direction']): ExpectedMove['direction'] {
  return direction === 'either' ? 'either' : direction === 'up' ? 'down' : 'up'
}

/** Strength of the strongest movement that can go in a direction; one made on few machines only counts less. */
export function expectedStrength(moves: readonly ExpectedMove[], direction: 'up' | 'down'): number {
  return moves.reduce((strongest, move) => {
    if (move.direction !== direction && move.direction !== 'either') return strongest
    return Math.max(strongest, move.strength * (move.weight < 0.5 ? move.weight : 1))
  }, 0)
}

/**
 * Chances of up, down and quiet for a feature under a cause.
 *
 * @param feature feature id, e.g. `preheat.zone-2.warm-up-time`
 * @returns for `none-of-these` the same for every feature; for a feature the table does not know, that of a stray movement
 */
export function outcomesOf(cause: CauseId, feature: string, definition: LineDefinition, table: LikelihoodTable = DEFAULT_LIKELIHOODS): Outcomes {
  let byDefinition = OUTCOMES.get(table)
  if (byDefinition === undefined) OUTCOMES.set(table, (byDefinition = new WeakMap()))
  let known = byDefinition.get(definition)
  if (known === undefined) byDefinition.set(definition, (known = new Map()))
  return knownOrNew(known, feature, cause, () => computeOutcomes(cause, feature, definition, table))
}

function computeOutcomes(cause: CauseId, feature: string, definition: LineDefinition, table: LikelihoodTable): Outcomes {
  if (cause === NONE_OF_THESE) return { up: table.unknown, down: table.unknown, quiet: 1 - 2 * table.stray }
  const own = table.own[`${cause} ${featureParts(feature).pattern}`]
  if (own !== undefined && Object.hasOwn(table.own, `${cause} ${featureParts(feature).pattern}`)) return { up: own.up, down: own.down, quiet: 1 - own.up - own.down }
  const moves = expectedMoves(cause, feature, definition)
  const untouched: Outcomes = { up: table.stray, down: table.stray, quiet: 1 - 2 * table.stray }
  let restWeight = 1
  let up = 0
  let down = 0
  for (const move of moves) {
    const weight = Math.min(move.weight, restWeight)
    restWeight -= weight
    const shows = showsAt(move.strength, table)
    const [chanceUp, chanceDown] = move.direction === 'either' ? [shows / 2, shows / 2] : move.direction === 'up' ? [shows, table.stray * 0.75] : [table.stray * 0.75, shows]
    up += weight * Math.max(chanceUp, table.stray * 0.75)
    down += weight * Math.max(chanceDown, table.stray * 0.75)
  }
  up += restWeight * untouched.up
  down += restWeight * untouched.down
  return { up, down, quiet: 1 - up - down }
}

function showsAt(strength: number, table: LikelihoodTable): number {
  const shows = table.shows[String(strength) as keyof LikelihoodTable['shows']]
  if (shows === undefined) throw new Error(`likelihood table: no chance for strength ${strength}; expected 0.5, 1, 2 or 3`)
  return shows
}
