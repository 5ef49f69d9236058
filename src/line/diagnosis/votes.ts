import { BENIGN_IDS, NONE_OF_THESE, type CauseId, type FaultId } from '../causes.js'
import type { FeatureEvidence } from '../diagnosis.js'
import { declaredChannels } from '../features/declared-channels.js'
import type { LineDefinition } from '../line-definition.js'
import { FAULT_FACTS } from './cause-priors.js'
import { outcomesOf, silenceOf, type LikelihoodTable } from './likelihoods.js'
import type { ClusterItem, SymptomCluster } from './symptom-clusters.js'
import { TELLS_ALONE } from './symptom-map.js'

/** Weight of defects that have not risen, against that of another quiet feature, where a channel tells of the fault. [ASM] */
const DEFECTS_COME_LAST = 0.3

/** Log-likelihood of what was seen under a cause, by mechanism. */
export function votesOf(cause: CauseId, cluster: SymptomCluster, definition: LineDefinition, table: LikelihoodTable): Record<string, number> {
  const votes: Record<string, number> = { 'other-zones': neighbourVote(cause, cluster), 'cold-over-warm': coldVote(cause, cluster), course: courseVote(cause, cluster), 'exhaust-course': exhaustVote(cause, cluster), 'air-then': airThenVote(cause, cluster), frozen: frozenVote(cause, cluster), 'many-defects': manyVote(cause, cluster), 'pot-effort-size': potEffortVote(cause, cluster, definition) }
  // Boards are the last to feel a fault: a channel that shows it and is still quiet speaks against it in full, and boards that are still good say little.
  const silenceBy = (feature: string): number => (cluster.key === 'board' ? 1 : table.quietWeight * (feature.startsWith('board.defects.') ? DEFECTS_COME_LAST : 1))
  const told = cluster.items.some(({ feature, state }) => state !== 'quiet' && feature === TELLS_ALONE[cause])
  const silence = (feature: string): number => silenceOf(cause, feature, definition, table, silenceBy(feature), told)
  for (const [mechanism, items] of mechanismsOf(cluster.items)) votes[mechanism] = voteOf(cause, items, definition, table, silence)
  return votes
}

/** Items by mechanism, in the order of their features. */
function mechanismsOf(items: readonly ClusterItem[]): Map<string, ClusterItem[]> {
  const groups = new Map<string, ClusterItem[]>()
  for (const item of items) groups.set(item.mechanism, [...(groups.get(item.mechanism) ?? []), item])
  return groups
}

/**
 * One vote a mechanism: what moved in it, averaged by how sure the movements are; if nothing moved, the one feature
 * that the cause would have moved most.
 */
function voteOf(cause: CauseId, items: readonly ClusterItem[], definition: LineDefinition, table: LikelihoodTable, silence: (feature: string) => number): number {
  let weight = 0
  let vote = 0
  let quietest = 0
  for (const { feature, state, evidence } of items) {
    if (state === 'quiet') {
      quietest = Math.min(quietest, silence(feature))
      continue
    }
    const outcomes = outcomesOf(cause, feature, definition, table)
    const sure = sureness(evidence)
    weight += sure
    vote += sure * Math.log(sure * outcomes[state] + (1 - sure) * outcomes.quiet)
  }
  return weight > 0 ? vote / weight : quietest
}

/**
 * How sure a movement is, 0-1: soft in its size, firmer the longer it stands. One sigma that stands ten windows is
 * nearly as sure as two sigmas in one; four are sure at once. [ASM]
 */
export function sureness({ shiftSigma, windows, trend }: Pick<FeatureEvidence, 'shiftSigma' | 'windows' | 'trend'>): number {
  const size = Math.abs(shiftSigma) * (1 + 0.1 * Math.min(10, Math.max(0, windows)))
  const sure = 1 / (1 + Math.exp(-(size - 1.2) / 0.6))
  return Math.max(0.02, trend === 'fading' ? sure * 0.7 : sure)
}

/** Chance that the other zones stayed quiet while one moved. [ASM] */
const NEIGHBOURS_QUIET: Readonly<Partial<Record<CauseId, number>>> = { 'ambient-or-exhaust': 0.12, 'board-load': 0.12, idle: 0.12, 'warm-up': 0.12, changeover: 0.4, 'run-in': 0.6, [NONE_OF_THESE]: 0.75 }
const AIR_SEEN_TO_MOVE = 0.5
/** Chance that a fault of one zone shows the same way in all of them at once, and of a fault they share. [ASM] */
const ALL_AT_ONCE = { zoneFault: 0.05, sharedFault: 0.4, noneOfThese: 0.4, benign: 0.88 } as const

function neighbourVote(cause: CauseId, { key, neighbours, zone, items }: SymptomCluster): number {
  if (key === 'all-zones') return Math.log(allAtOnce(cause))
  if (zone === undefined || neighbours === 'not-observable') return 0
  // Where the exhaust or the room is itself seen to have moved, quiet zones are those that draw less of it.
  const airMoved = cause === 'ambient-or-exhaust' && items.some(({ feature, state }) => state !== 'quiet' && /^(exhaust|ambient)\./.test(feature))
  const quiet = airMoved ? AIR_SEEN_TO_MOVE : (NEIGHBOURS_QUIET[cause] ?? 0.88)
  return Math.log(neighbours === 'quiet' ? quiet : 1 - quiet)
}

function allAtOnce(cause: CauseId): number {
  if (cause === NONE_OF_THESE) return ALL_AT_ONCE.noneOfThese
  if ((BENIGN_IDS as readonly string[]).includes(cause)) return ALL_AT_ONCE.benign
  return FAULT_FACTS[cause as FaultId].perZone ? ALL_AT_ONCE.zoneFault : ALL_AT_ONCE.sharedFault
}

/** Chance that the drag rose far more cold than warm: grease that turned sticky does that, dirt and wear do not. [ASM] */
const COLDER = { stickyGrease: 0.7, noneOfThese: 0.3, others: 0.15 } as const

function coldVote(cause: CauseId, { coldExcess }: SymptomCluster): number {
  if (coldExcess === 'not-observable') return 0
  const chance = cause === 'sticky-grease' ? COLDER.stickyGrease : cause === NONE_OF_THESE ? COLDER.noneOfThese : COLDER.others
  return Math.log(coldExcess === 'yes' ? chance : 1 - chance)
}

/** What somebody sets, switches, tops up or puts back askew, and a broken reading, is there at once. */
const STEPS: ReadonlySet<CauseId> = new Set<CauseId>(['changeover', 'setpoint-edit', 'dropout', 'top-up', 'pump-switched', 'misoriented-nozzle'])
/** A filter saturates and residue gathers over days and weeks; a step of the exhaust is the house's. [CP] */
const ALWAYS_SLOW: ReadonlySet<CauseId> = new Set<CauseId>(['saturated-filter', 'residue-on-fingers'])
/** Chance that a change went on growing after it was first seen. [ASM] */
const CREEPS = { step: 0.04, slow: 0.9, others: 0.5 } as const

export const EXHAUST = 'exhaust.pressure.mean'

/** One vote on the course of all that moved: it crept if any of it did. The exhaust has a vote of its own. */
function courseVote(cause: CauseId, { key, items }: SymptomCluster): number {
  if (key === 'board') return trendVote(cause, items)
  const known = items.filter((item) => item.own && item.feature !== EXHAUST && item.state !== 'quiet' && item.evidence.creeps !== undefined)
  if (known.length === 0) return 0
  const chance = STEPS.has(cause) ? CREEPS.step : ALWAYS_SLOW.has(cause) ? CREEPS.slow : CREEPS.others
  return Math.log(known.some((item) => item.evidence.creeps) ? chance : 1 - chance)
}

/** Chance that the exhaust went on drifting one way: a filter that fills up does, the house's exhaust is switched or follows the day. [CP, sizes ASM] */
const EXHAUST_DRIFTS = { filter: 0.8, ambient: 0.04, others: 0.2 } as const
/** Chance that the zones need as much more as the air takes that a higher exhaust draws: the house's draws it, one that stands high behind a full filter draws less. [CP, sizes ASM] */
const HEATS_MORE_AIR = { filter: 0.02, ambient: 0.8, others: 0.1 } as const

function exhaustVote(cause: CauseId, { items, heatsMoreAir }: SymptomCluster): number {
  if (heatsMoreAir === true) return Math.log(cause === 'saturated-filter' ? HEATS_MORE_AIR.filter : cause === 'ambient-or-exhaust' ? HEATS_MORE_AIR.ambient : HEATS_MORE_AIR.others)
  const exhaust = items.find(({ feature, state }) => feature === EXHAUST && state !== 'quiet')
  if (exhaust === undefined) return 0
  // A suction, published below zero, that grows is the house's: a filter takes from it.
  if (exhaust.state === 'down' && exhaust.evidence.centre < 0) return cause === 'saturated-filter' ? Math.log(EXHAUST_DRIFTS.ambient) : 0
  if (exhaust.evidence.creeps === undefined) return 0
  const chance = cause === 'saturated-filter' ? EXHAUST_DRIFTS.filter : cause === 'ambient-or-exhaust' ? EXHAUST_DRIFTS.ambient : EXHAUST_DRIFTS.others
  return Math.log(exhaust.evidence.creeps && exhaust.evidence.trend !== 'fading' ? chance : 1 - chance)
}

/** Chance that boards became colder or warmer within the hours in which the exhaust changed. [ASM] */
const AIR_THEN = { ambient: 0.8, noneOfThese: 0.3, others: 0.08 } as const

function airThenVote(cause: CauseId, { airMovedThen }: SymptomCluster): number {
  if (airMovedThen !== true) return 0
  return Math.log(cause === 'ambient-or-exhaust' ? AIR_THEN.ambient : cause === NONE_OF_THESE ? AIR_THEN.noneOfThese : AIR_THEN.others)
}

/** Chance that counts of defects still rise after some hours: they scatter so much that a trend is hard to see. [ASM] */
const STILL_RISES = { step: 0.12, slow: 0.5, others: 0.3 } as const
const TREND_WINDOWS_MIN = 8

function trendVote(cause: CauseId, items: readonly ClusterItem[]): number {
  const moved = items.filter((item) => item.own && item.state !== 'quiet' && item.evidence.windows >= TREND_WINDOWS_MIN)
  if (moved.length === 0) return atOnceVote(cause, items)
  const chance = STEPS.has(cause) ? STILL_RISES.step : ALWAYS_SLOW.has(cause) ? STILL_RISES.slow : STILL_RISES.others
  return Math.log(moved.some(({ evidence }) => evidence.creeps === true || evidence.trend === 'growing') ? chance : 1 - chance) + atOnceVote(cause, items)
}

/** Chance that defects were far above their level from the first: what grows is small when it is first seen. [ASM] */
const AT_ONCE = { step: 0.6, slow: 0.12, others: 0.3 } as const
const AT_ONCE_SIGMA = 2.3

function atOnceVote(cause: CauseId, items: readonly ClusterItem[]): number {
  const sizes = items.flatMap(({ own, state, evidence: { atFirstSigma } }) => (own && state === 'up' && atFirstSigma !== undefined ? [atFirstSigma] : []))
  if (sizes.length === 0) return 0
  const chance = STEPS.has(cause) ? AT_ONCE.step : ALWAYS_SLOW.has(cause) ? AT_ONCE.slow : AT_ONCE.others
  return Math.log(Math.max(...sizes) >= AT_ONCE_SIGMA ? chance : 1 - chance)
}

/**
 * Chance that some kind of defect comes many times as often as usual. A tilt of the fingers of a millimetre or two makes half as many
 * again at most, since it shortens the contact of one side only; joints without flux fail by the dozen. [SIM: defect model of the process knowledge]
 */
const MANY_TIMES = { fingers: 0.08, nozzle: 0.6, others: 0.3 } as const
const MANY = 2.2

function manyVote(cause: CauseId, { key, items }: SymptomCluster): number {
  if (key !== 'board') return 0
  const ratios = items.flatMap(({ own, feature, state, evidence: { shift, centre } }) => (own && state === 'up' && feature.startsWith('board.defects.') && centre > 0 ? [1 + shift / centre] : []))
  // Fewer say nothing, for every fault begins with few; nor does one kind alone, which a lot of parts makes.
  if (ratios.length < 2 || Math.max(...ratios) < MANY) return 0
  const chance = cause === 'residue-on-fingers' ? MANY_TIMES.fingers : cause === 'misoriented-nozzle' ? MANY_TIMES.nozzle : MANY_TIMES.others
  return Math.log(chance)
}

/** A reading that froze has lost its fast part at once and altogether, more than e^1.5 fold; what has lost half of it and goes on losing lives. [ASM] */
const FROZEN_LN = -1.5
const DROPOUT_LIVES = 0.1

function frozenVote(cause: CauseId, { items }: SymptomCluster): number {
  const lives = items.some(({ feature, state, evidence }) => state === 'down' && /\.temperature\.fast(-own)?$/.test(feature) && evidence.shift > FROZEN_LN && evidence.creeps === true)
  return cause === 'dropout' && lives ? Math.log(DROPOUT_LIVES) : 0
}

/** A probe off by a few degrees moves the pot's effort by a hundredth or two. Boards take a fifth of it at the usual load [SIM, B4]; their number is taken out where they are counted, not how heavy they are. [ASM] */
const POT_EFFORT_LARGE = { counted: 0.3, uncounted: 0.5 } as const
/** Chance that the pot's effort rose by more than that. A leg of three lost makes it half as large again. [B7, ASM] */
const POT_EFFORT = { element: 0.6, noneOfThese: 0.3, others: 0.06 } as const

function potEffortVote(cause: CauseId, { items }: SymptomCluster, definition: LineDefinition): number {
  const effort = items.find(({ own, feature, state }) => own && state === 'up' && feature === 'pot.duty.effort')
  if (effort === undefined || !isPotEffortLarge(effort.evidence, definition)) return 0
  return Math.log(cause === 'ageing-element' ? POT_EFFORT.element : cause === NONE_OF_THESE ? POT_EFFORT.noneOfThese : POT_EFFORT.others)
}

/** Whether the pot's effort rose by more than boards can make of it. */
export function isPotEffortLarge({ shift, centre }: Pick<FeatureEvidence, 'shift' | 'centre'>, definition: LineDefinition): boolean {
  return shift >= POT_EFFORT_LARGE[declaredChannels(definition).has('board.count') ? 'counted' : 'uncounted'] * centre
}
