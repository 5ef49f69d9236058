import { BENIGN_IDS, FAULT_IDS, NONE_OF_THESE, type BenignId, type CauseId, type FaultId, type RankedCause } from '../causes.js'
import type { Diagnosis, FeatureEvidence } from '../diagnosis.js'
import { declaredChannels } from '../features/declared-channels.js'
import type { LineDefinition } from '../line-definition.js'
import { groupCauses, type Candidate } from './cause-groups.js'
import { AWAY_FROM_HOME, BENIGN_CONTEXT, BENIGN_WEIGHTS, FAULT_FACTS, historyFactor, PRIOR_SHARES, PRIOR_SHARES_ALL_ZONES, UNTOLD, type CleaningHistory } from './cause-priors.js'
import { bestCheck } from './checks.js'
import { evidenceItems } from './evidence-items.js'
import { DEFAULT_LIKELIHOODS, expectedMoves, expectedStrength, outcomesOf, silenceOf, type LikelihoodTable } from './likelihoods.js'
import { withoutSpoiltComparisons } from './spoilt-comparisons.js'
import { clusterSymptoms, type ClusterItem, type DiagnosisSpec, type SymptomCluster } from './symptom-clusters.js'
import { holdUnseen } from './unseen-causes.js'
import { channelThatWouldTell, invisibleFaults } from './visibility.js'

export interface DiagnosisInput {
  readonly definition: LineDefinition
  readonly timeMs: number
  /** What the charts say now, one item a feature, in any order. */
  readonly evidence: readonly FeatureEvidence[]
  readonly specs: readonly DiagnosisSpec[]
  /** A site's own likelihoods. */
  readonly table?: LikelihoodTable
  /** Work history by cause id, or `<cause>/<zone>` for one zone. */
  readonly priors?: Readonly<Record<string, CleaningHistory>>
  /** Features whose readings are in doubt just now: a diagnosis that rests on one abstains. */
  readonly doubtful?: readonly string[]
}

/** Below these a cause is not named alone. */
const LEAD_MIN = 0.6
const LEAD_OVER_SECOND_MIN = 0.2

/**
 * Which causes explain the symptoms: log-odds naive Bayes over the fault table, one diagnosis for each place that shows
 * symptoms. Evidence has three states (moved, quiet, not observable); the last weighs nothing. A movement weighs by its
 * size; features of one mechanism have one vote; movements for the better count as quiet.
 *
 * @returns one diagnosis a place, in the order a board travels; empty while nothing moves
 * @throws Error if an evidence item has a number that is not finite
 */
export function diagnose(given: DiagnosisInput): readonly Diagnosis[] {
  const input = { ...given, evidence: withoutSpoiltComparisons(given.evidence) }
  for (const item of input.evidence) {
    if (!Number.isFinite(item.shiftSigma) || !Number.isFinite(item.shift)) throw new Error(`evidence of "${item.feature}": shift ${item.shift}, shiftSigma ${item.shiftSigma}; expected finite numbers`)
  }
  const clusters = clusterSymptoms(input.definition, input.evidence, input.specs).map(heardSinceOnset)
  if (clusters.length === 0) return []
  const invisible = invisibleFaults(input.definition, input.evidence)
  return clusters.map((cluster) => diagnoseCluster(input, cluster, invisible))
}

/** A feature that has had no value since the change began, e.g. one of start-ups or idle spells, is no witness of quiet. */
function heardSinceOnset(cluster: SymptomCluster): SymptomCluster {
  const onsetMs = onsetOf(cluster.items.filter((item) => item.own && item.state !== 'quiet'), Number.MAX_SAFE_INTEGER)
  if (onsetMs === Number.MAX_SAFE_INTEGER) return cluster
  return { ...cluster, items: cluster.items.filter(({ state, evidence }) => state !== 'quiet' || evidence.lastMs === undefined || evidence.lastMs >= onsetMs) }
}

function diagnoseCluster(input: DiagnosisInput, cluster: SymptomCluster, invisible: readonly FaultId[]): Diagnosis {
  const { definition, timeMs } = input
  const candidates = weighCandidates(input, cluster)
  const symptoms = cluster.items.filter((item) => item.own && item.state !== 'quiet')
  const moved = new Set(symptoms.map((item) => item.mechanism))
  const causes = holdUnseen(groupCauses(candidates, moved), invisible)
  const chances = candidates.map(({ cause, probability }) => ({ cause, probability }))
  const abstainReason = reasonToAbstain(causes, symptoms, input.doubtful ?? [])
  const channel = channelThatWouldTell(definition, chances, cluster.section, cluster.zone, input.evidence)
  return {
    timeMs,
    causes,
    evidence: evidenceItems(definition, cluster, candidates, input.evidence, input.table ?? DEFAULT_LIKELIHOODS),
    checkFirst: bestCheck(chances, cluster.section),
    abstains: abstainReason !== undefined,
    ...(abstainReason === undefined ? {} : { abstainReason }),
    invisible,
    ...(channel === undefined ? {} : { channelThatWouldTell: channel }),
    onsetMs: onsetOf(symptoms, timeMs),
    features: symptoms.map((item) => item.feature),
  }
}

function onsetOf(symptoms: readonly ClusterItem[], timeMs: number): number {
  return symptoms.reduce((first, { evidence: { onsetMs } }) => (onsetMs > 0 ? Math.min(first, onsetMs) : first), timeMs)
}

function reasonToAbstain(causes: readonly RankedCause[], symptoms: readonly ClusterItem[], doubtful: readonly string[]): Diagnosis['abstainReason'] {
  const [first, second] = causes
  if (symptoms.some((item) => doubtful.includes(item.feature))) return 'data-quality'
  if (first === undefined || first.kind === 'none-of-these') return 'none-of-these-leads'
  if (first.probability < LEAD_MIN) return 'weak-lead'
  if (second !== undefined && first.probability - second.probability < LEAD_OVER_SECOND_MIN) return 'close-second'
  return undefined
}

/** All causes that a case can have, with priors, evidence and probabilities that sum to 1. */
function weighCandidates(input: DiagnosisInput, cluster: SymptomCluster): Candidate[] {
  const table = input.table ?? DEFAULT_LIKELIHOODS
  const quietOnes = cluster.key === 'board' ? mechanismsElsewhere(cluster.items) : []
  const silence = (votes: Readonly<Record<string, number>>): number => quietOnes.reduce((sum, mechanism) => sum + (votes[mechanism] ?? 0), 0)
  const faults = FAULT_IDS.flatMap((fault) => faultWeight(fault, input, cluster, table)).map(({ cause, weight }) => ({
    cause,
    weight: quietOnes.length === 0 ? weight : weight * Math.exp(silence(votesOf(cause, cluster, input.definition, table)) / table.temperature),
  }))
  const benign = BENIGN_IDS.filter((cause) => touches(cause, cluster, input.definition)).map((cause) => ({ cause: cause as CauseId, weight: BENIGN_WEIGHTS[cause] }))
  const shares = cluster.key === 'all-zones' ? PRIOR_SHARES_ALL_ZONES : PRIOR_SHARES
  const open: { cause: CauseId; prior: number }[] = [
    // What a site found right or wrong shifts weight between the fault and all else, not only among the faults.
    ...inShare(faults, shares.faults).map(({ cause, prior }) => ({ cause, prior: prior * (table.found?.[cause]?.odds ?? 1) })),
    ...inShare(benign, shares.benign).map(({ cause, prior }) => ({ cause, prior: prior * (isTold(cause as BenignId, input.definition) ? 1 : UNTOLD) })),
    { cause: NONE_OF_THESE, prior: shares.noneOfThese },
  ]
  // A cause that moves nothing of what moved would need a coincidence; that is what "none of these" is for.
  const weighed = open.filter(({ cause }) => cause === NONE_OF_THESE || explains(cause, cluster, input.definition, table)).map(({ cause, prior }) => {
    const votes = votesOf(cause, cluster, input.definition, table)
    const evidence = Object.values(votes).reduce((sum, vote) => sum + vote, -silence(votes))
    return { cause, votes, score: Math.log(prior) + evidence / table.temperature }
  })
  const highest = weighed.reduce((most, { score }) => Math.max(most, score), -Infinity)
  const total = weighed.reduce((sum, { score }) => sum + Math.exp(score - highest), 0)
  return weighed.map(({ cause, votes, score }) => {
    const probability = Math.exp(score - highest) / total
    return { ...placeOf(cause, cluster), cause, probability, votes, signature: signatureOf(cause, cluster, input.definition) }
  })
}

/** Whether the line has a channel that tells a benign cause when it is there; one that needs none is told by the line state. */
function isTold(cause: BenignId, definition: LineDefinition): boolean {
  const channels = BENIGN_CONTEXT[cause]
  return channels === undefined || channels.some((channel) => declaredChannels(definition).has(channel))
}

/**
 * Channels that could have shown a fault and are quiet say which faults are left of those the boards can have, not that there is
 * none: their weight stays with what no channel shows.
 */
function mechanismsElsewhere(items: readonly ClusterItem[]): string[] {
  const own = new Set(items.flatMap(({ own, mechanism }) => (own ? [mechanism] : [])))
  return [...new Set(items.flatMap(({ mechanism }) => (own.has(mechanism) ? [] : [mechanism])))]
}

function inShare(list: readonly { cause: CauseId; weight: number }[], share: number): { cause: CauseId; prior: number }[] {
  const total = list.reduce((sum, { weight }) => sum + weight, 0)
  return list.map(({ cause, weight }) => ({ cause, prior: (share * weight) / total }))
}

/**
 * How much a fault weighs before the symptoms are looked at: how often it is met, how well it shows in what can be seen
 * here (one that cannot show makes no case), and how long ago its place was cleaned.
 */
function faultWeight(fault: FaultId, input: DiagnosisInput, cluster: SymptomCluster, table: LikelihoodTable): { cause: CauseId; weight: number }[] {
  const { section, weight } = FAULT_FACTS[fault]
  const home = cluster.key === 'all-zones' ? false : section === cluster.section || (fault === 'ageing-element' && cluster.section === 'pot')
  if (!home && !touches(fault, cluster, input.definition)) return []
  const shows = cluster.items.reduce((most, item) => (item.own ? Math.max(most, 1 - outcomesOf(fault, item.feature, input.definition, table).quiet) : most), 0)
  const priors = input.priors ?? {}
  const known = (cluster.zone === undefined ? undefined : priors[`${fault}/${cluster.zone}`]) ?? priors[fault]
  // The filter's own sign is in the exhaust, which is read with the zones it draws from.
  const atHome = home || cluster.key === 'board' || (fault === 'saturated-filter' && cluster.items.some(({ feature, state }) => feature === EXHAUST && state !== 'quiet'))
  return [{ cause: fault, weight: weight * shows * (atHome ? 1 : AWAY_FROM_HOME) * (known === undefined ? 1 : historyFactor(known)) }]
}

/** Whether a cause makes one of the movements seen likelier than a cause that is not in the table does. */
function explains(cause: CauseId, cluster: SymptomCluster, definition: LineDefinition, table: LikelihoodTable): boolean {
  return cluster.items.some(({ feature, state }) => state !== 'quiet' && outcomesOf(cause, feature, definition, table)[state] > table.unknown)
}

/** Whether a cause is expected to move, at least weakly, a feature that makes this case. */
function touches(cause: FaultId | BenignId, cluster: SymptomCluster, definition: LineDefinition): boolean {
  return cluster.items.some((item) => item.own && (['up', 'down'] as const).some((way) => expectedStrength(expectedMoves(cause, item.feature, definition), way) >= 1))
}

function placeOf(cause: CauseId, cluster: SymptomCluster): Pick<Candidate, 'section' | 'zone' | 'kind'> {
  if (cause === NONE_OF_THESE) return { section: cluster.section, ...(cluster.zone === undefined ? {} : { zone: cluster.zone }), kind: 'none-of-these' }
  if ((BENIGN_IDS as readonly string[]).includes(cause)) return { section: 'line', kind: 'benign' }
  const { section, perZone } = FAULT_FACTS[cause as FaultId]
  if (cause === 'ageing-element' && cluster.section === 'pot') return { section: 'pot', kind: 'fault' }
  return { section, ...(perZone && cluster.zone !== undefined ? { zone: cluster.zone } : {}), kind: 'fault' }
}

/** Log-likelihood of what was seen under a cause, by mechanism. */
function votesOf(cause: CauseId, cluster: SymptomCluster, definition: LineDefinition, table: LikelihoodTable): Record<string, number> {
  const votes: Record<string, number> = { 'other-zones': neighbourVote(cause, cluster), 'cold-over-warm': coldVote(cause, cluster), course: courseVote(cause, cluster), 'exhaust-course': exhaustVote(cause, cluster), frozen: frozenVote(cause, cluster) }
  // Boards are the last to feel a fault: a channel that shows it and is still quiet speaks against it in full.
  const silence = cluster.key === 'board' ? 1 : table.quietWeight
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
function voteOf(cause: CauseId, items: readonly ClusterItem[], definition: LineDefinition, table: LikelihoodTable, silence: number): number {
  let weight = 0
  let vote = 0
  let quietest = 0
  for (const { feature, state, evidence } of items) {
    if (state === 'quiet') {
      quietest = Math.min(quietest, silenceOf(cause, feature, definition, table, silence))
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

const EXHAUST = 'exhaust.pressure.mean'

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

function exhaustVote(cause: CauseId, { items }: SymptomCluster): number {
  const exhaust = items.find(({ feature, state }) => feature === EXHAUST && state !== 'quiet')
  if (exhaust === undefined) return 0
  // A suction, published below zero, that grows is the house's: a filter takes from it.
  if (exhaust.state === 'down' && exhaust.evidence.centre < 0) return cause === 'saturated-filter' ? Math.log(EXHAUST_DRIFTS.ambient) : 0
  if (exhaust.evidence.creeps === undefined) return 0
  const chance = cause === 'saturated-filter' ? EXHAUST_DRIFTS.filter : cause === 'ambient-or-exhaust' ? EXHAUST_DRIFTS.ambient : EXHAUST_DRIFTS.others
  return Math.log(exhaust.evidence.creeps && exhaust.evidence.trend === 'growing' ? chance : 1 - chance)
}

/** Chance that counts of defects still rise after some hours: they scatter so much that a trend is hard to see. [ASM] */
const STILL_RISES = { step: 0.12, slow: 0.5, others: 0.3 } as const
const TREND_WINDOWS_MIN = 8

function trendVote(cause: CauseId, items: readonly ClusterItem[]): number {
  const moved = items.filter((item) => item.own && item.state !== 'quiet' && item.evidence.windows >= TREND_WINDOWS_MIN)
  if (moved.length === 0) return 0
  const chance = STEPS.has(cause) ? STILL_RISES.step : ALWAYS_SLOW.has(cause) ? STILL_RISES.slow : STILL_RISES.others
  return Math.log(moved.some(({ evidence }) => evidence.creeps === true || evidence.trend === 'growing') ? chance : 1 - chance)
}

/** A reading that froze has lost its fast part at once and altogether, more than e^1.5 fold; what has lost half of it and goes on losing lives. [ASM] */
const FROZEN_LN = -1.5
const DROPOUT_LIVES = 0.1

function frozenVote(cause: CauseId, { items }: SymptomCluster): number {
  const lives = items.some(({ feature, state, evidence }) => state === 'down' && /\.temperature\.fast(-own)?$/.test(feature) && evidence.shift > FROZEN_LN && evidence.creeps === true)
  return cause === 'dropout' && lives ? Math.log(DROPOUT_LIVES) : 0
}

function signatureOf(cause: CauseId, cluster: SymptomCluster, definition: LineDefinition): Candidate['signature'] {
  const signature: Record<string, { up: number; down: number }> = {}
  for (const { feature, mechanism } of cluster.items) {
    const moves = expectedMoves(cause, feature, definition)
    const known = (signature[mechanism] ??= { up: 0, down: 0 })
    known.up = Math.max(known.up, expectedStrength(moves, 'up'))
    known.down = Math.max(known.down, expectedStrength(moves, 'down'))
  }
  return signature
}
