import type { CauseId } from '../causes.js'
import type { EvidenceItem, FeatureEvidence } from '../diagnosis.js'
import type { LineDefinition } from '../line-definition.js'
import type { Candidate } from './cause-groups.js'
import { expectedMoves, expectedStrength, outcomesOf, type LikelihoodTable } from './likelihoods.js'
import { hasLearned } from './visibility.js'
import { SYMPTOM_SOURCES } from './symptom-map.js'
import type { ClusterItem, SymptomCluster } from './symptom-clusters.js'

/** A quiet feature is worth a word when a cause should have moved it with this chance. [ASM] */
const SHOULD_HAVE_MOVED = 0.3
const MISSING_MAX = 3

/**
 * The evidence of a case in words' raw form: for, against and missing, seen from the leading cause.
 *
 * @param candidates causes of the case with their probabilities
 * @param lead the leading cause, or the members of the leading group: the likeliest of them is what is looked from
 * @param all what the charts say of every feature of the line
 */
export function evidenceItems(definition: LineDefinition, cluster: SymptomCluster, candidates: readonly Candidate[], lead: readonly CauseId[], all: readonly FeatureEvidence[], table: LikelihoodTable): EvidenceItem[] {
  const ranked = [...candidates].sort((a, b) => b.probability - a.probability || (a.cause < b.cause ? -1 : 1))
  const leaders = ranked.filter(({ cause }) => lead.includes(cause))
  const leader = leaders[0] ?? ranked[0]!
  const second = ranked.find((candidate) => candidate !== leader)
  const items = cluster.items.flatMap((item) => (item.state === 'quiet' ? quietItem(item, leader.cause, second?.cause, definition, table) : movedItem(item, leaders.length > 0 ? leaders : [leader], ranked, definition, table)))
  return [...items, ...neighbourItem(cluster, leader), ...foundItem(cluster, leader, table), ...missingItems(definition, cluster, ranked, all)].sort(byStance)
}

const STANCE_ORDER: Readonly<Record<EvidenceItem['stance'], number>> = { for: 0, against: 1, missing: 2 }

function byStance(a: EvidenceItem, b: EvidenceItem): number {
  return STANCE_ORDER[a.stance] - STANCE_ORDER[b.stance]
}

/** What any of a group would do is for the group. */
function movedItem(item: ClusterItem, leaders: readonly Candidate[], ranked: readonly Candidate[], definition: LineDefinition, table: LikelihoodTable): EvidenceItem[] {
  const way = item.state as 'up' | 'down'
  const own = Math.max(...leaders.map(({ cause }) => outcomesOf(cause, item.feature, definition, table)[way]))
  const others = ranked.filter((candidate) => !leaders.includes(candidate))
  const weight = others.reduce((sum, { probability }) => sum + probability, 0)
  const mean = weight === 0 ? own : others.reduce((sum, { cause, probability }) => sum + probability * outcomesOf(cause, item.feature, definition, table)[way], 0) / weight
  const { shift, shiftSigma, centre, onsetMs, windows, trend, creeps, allKindsErrors } = item.evidence
  // What hardly any cause would do is no evidence against the leading one alone.
  const stance = own >= SHOULD_HAVE_MOVED || own >= mean ? 'for' : 'against'
  return [{ feature: item.feature, stance, key: `evidence.${way}`, values: { shift, shiftSigma, centre, onsetMs, windows, trend, mechanism: item.mechanism, ...(creeps === undefined ? {} : { creeps: creeps ? 'yes' : 'no' }), ...(allKindsErrors === undefined ? {} : { allKindsErrors }) } }]
}

function quietItem(item: ClusterItem, leader: CauseId, second: CauseId | undefined, definition: LineDefinition, table: LikelihoodTable): EvidenceItem[] {
  const moves = (cause: CauseId): number => 1 - outcomesOf(cause, item.feature, definition, table).quiet
  const changedForTheBetter = item.evidence.status !== 'quiet'
  const key = changedForTheBetter ? 'evidence.better' : 'evidence.quiet'
  const values = changedForTheBetter ? { shift: item.evidence.shift, centre: item.evidence.centre } : { centre: item.evidence.centre }
  if (moves(leader) >= 2 * SHOULD_HAVE_MOVED) return [{ feature: item.feature, stance: 'against', key, values }]
  const speaksAgainstSecond = second !== undefined && moves(second) >= 2 * SHOULD_HAVE_MOVED && moves(leader) < SHOULD_HAVE_MOVED
  return speaksAgainstSecond ? [{ feature: item.feature, stance: 'for', key, values }] : []
}

function neighbourItem(cluster: SymptomCluster, leader: Candidate): EvidenceItem[] {
  const feature = cluster.items.find((item) => item.own && item.state !== 'quiet')?.feature
  if (feature === undefined) return []
  if (cluster.key === 'all-zones') return [{ feature, stance: leader.kind === 'benign' ? 'for' : 'against', key: 'evidence.all-zones', values: {} }]
  if (cluster.zone === undefined || cluster.neighbours !== 'quiet') return []
  return [{ feature, stance: leader.kind === 'fault' ? 'for' : 'against', key: 'evidence.neighbours-quiet', values: { zone: cluster.zone } }]
}

/** What people found of earlier suggestions of the leading cause. */
function foundItem(cluster: SymptomCluster, leader: Candidate, { found }: LikelihoodTable): EvidenceItem[] {
  const feature = cluster.items.find((item) => item.own && item.state !== 'quiet')?.feature
  const known = found?.[leader.cause]
  if (feature === undefined || known === undefined || known.confirmed + known.somethingElse + known.nothingFound === 0) return []
  return [{ feature, stance: known.odds >= 1 ? 'for' : 'against', key: 'evidence.found-before', values: { confirmed: known.confirmed, other: known.somethingElse, nothing: known.nothingFound } }]
}

/** Features that the leading causes would move clearly, and that this line cannot show or has not learned yet. */
function missingItems(definition: LineDefinition, cluster: SymptomCluster, ranked: readonly Candidate[], all: readonly FeatureEvidence[]): EvidenceItem[] {
  const itemOf = new Map(all.map((item) => [item.feature, item]))
  const wanted = ranked.filter(({ kind, probability }) => kind === 'fault' && probability >= 0.1).slice(0, 3)
  const missing: { item: EvidenceItem; worth: number }[] = []
  for (const { pattern, channels } of SYMPTOM_SOURCES) {
    if (pattern.includes('<kind>') || (pattern.includes('<n>') && cluster.zone === undefined)) continue
    const feature = pattern.replace('<n>', String(cluster.zone ?? 1))
    const known = itemOf.get(feature)
    const status = known?.status ?? 'not-observable'
    if ((status !== 'learning' && status !== 'not-observable') || (status === 'learning' && hasLearned(known!))) continue
    const worth = wanted.reduce((sum, { cause, probability }) => {
      const moves = expectedMoves(cause, feature, definition)
      return sum + probability * Math.max(expectedStrength(moves, 'up'), expectedStrength(moves, 'down'))
    }, 0)
    if (worth < 0.5) continue
    const key = status === 'learning' ? 'evidence.learning' : 'evidence.no-channel'
    missing.push({ item: { feature, stance: 'missing', key, values: { channel: channels[0]! } }, worth })
  }
  return missing.sort((a, b) => b.worth - a.worth || (a.item.feature < b.item.feature ? -1 : 1)).slice(0, MISSING_MAX).map(({ item }) => item)
}
