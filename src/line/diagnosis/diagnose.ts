import { BENIGN_IDS, FAULT_IDS, NONE_OF_THESE, type BenignId, type CauseId, type FaultId, type RankedCause } from '../causes.js'
import type { Diagnosis, FeatureEvidence } from '../diagnosis.js'
import { declaredChannels } from '../features/declared-channels.js'
import { ALL_DEFECTS } from '../features/defect-pool.js'
import type { LineDefinition } from '../line-definition.js'
import { groupCauses, type Candidate, type Moved } from './cause-groups.js'
import { AWAY_FROM_HOME, BENIGN_CONTEXT, BENIGN_WEIGHTS, FAULT_FACTS, historyFactor, PRIOR_SHARES, PRIOR_SHARES_ALL_ZONES, UNTOLD, type CleaningHistory } from './cause-priors.js'
import { bestCheck } from './checks.js'
import { evidenceItems } from './evidence-items.js'
import { DEFAULT_LIKELIHOODS, expectedMoves, expectedStrength, outcomesOf, type LikelihoodTable } from './likelihoods.js'
import { withoutSpoiltComparisons } from './spoilt-comparisons.js'
import { clusterSymptoms, type ClusterItem, type DiagnosisSpec, type SymptomCluster } from './symptom-clusters.js'
import { holdUnseen } from './unseen-causes.js'
import { channelThatWouldTell, invisibleFaults } from './visibility.js'
import { EXHAUST, votesOf } from './votes.js'

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
  const input = { ...given, evidence: withoutSpoiltComparisons(given.evidence).filter(({ feature }) => feature !== ALL_DEFECTS) }
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
  const moved = movesOf(symptoms)
  const causes = holdUnseen(groupCauses(candidates, moved), invisible)
  const chances = candidates.map(({ cause, probability }) => ({ cause, probability }))
  const abstainReason = reasonToAbstain(causes, symptoms, input.doubtful ?? [])
  const channel = channelThatWouldTell(definition, chances, cluster.section, cluster.zone, input.evidence)
  return {
    timeMs,
    causes,
    evidence: evidenceItems(definition, cluster, candidates, leadOf(causes), input.evidence, input.table ?? DEFAULT_LIKELIHOODS),
    checkFirst: bestCheck(chances, cluster.section),
    abstains: abstainReason !== undefined,
    ...(abstainReason === undefined ? {} : { abstainReason }),
    invisible,
    ...(channel === undefined ? {} : { channelThatWouldTell: channel }),
    onsetMs: onsetOf(symptoms, timeMs),
    features: symptoms.map((item) => item.feature),
  }
}

function leadOf([first]: readonly RankedCause[]): readonly CauseId[] {
  return first === undefined ? [] : (first.members ?? [first.cause as CauseId])
}

function movesOf(symptoms: readonly ClusterItem[]): Moved {
  const moved = new Map<string, ('up' | 'down')[]>()
  for (const { mechanism, state } of symptoms) if (state !== 'quiet') moved.set(mechanism, [...(moved.get(mechanism) ?? []), state])
  return moved
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
  const known = new Map<CauseId, Record<string, number>>()
  const votesFor = (cause: CauseId): Record<string, number> => {
    let votes = known.get(cause)
    if (votes === undefined) known.set(cause, (votes = votesOf(cause, cluster, input.definition, table)))
    return votes
  }
  const faults = FAULT_IDS.flatMap((fault) => faultWeight(fault, input, cluster, table)).map(({ cause, weight }) => ({
    cause,
    weight: quietOnes.length === 0 ? weight : weight * Math.exp(silence(votesFor(cause)) / table.temperature),
  }))
  const benign = BENIGN_IDS.filter((cause) => touches(cause, cluster, input.definition)).map((cause) => ({ cause: cause as CauseId, weight: BENIGN_WEIGHTS[cause] }))
  const shares = cluster.key === 'all-zones' ? PRIOR_SHARES_ALL_ZONES : PRIOR_SHARES
  const open: { cause: CauseId; prior: number }[] = [
    // What a site found right or wrong shifts weight between the fault and all else, not only among the faults.
    ...inShare(faults, shares.faults).map(({ cause, prior }) => ({ cause, prior: prior * (table.found?.[cause]?.odds ?? 1) })),
    ...inShare(benign, shares.benign).map(({ cause, prior }) => ({ cause, prior: prior * (hasContext(cause as BenignId, input.definition) ? 1 : UNTOLD) })),
    { cause: NONE_OF_THESE, prior: shares.noneOfThese },
  ]
  // A cause that moves nothing of what moved would need a coincidence; that is what "none of these" is for.
  const weighed = open.filter(({ cause }) => cause === NONE_OF_THESE || explains(cause, cluster, input.definition, table)).map(({ cause, prior }) => {
    const votes = votesFor(cause)
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
function hasContext(cause: BenignId, definition: LineDefinition): boolean {
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
