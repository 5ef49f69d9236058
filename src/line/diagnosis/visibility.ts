import { FAULT_IDS, type FaultId } from '../causes.js'
import type { FeatureEvidence } from '../diagnosis.js'
import { declaredChannels, USUAL_DEFECTS } from '../features/declared-channels.js'
import { featureCatalogue, type FeatureSpec } from '../features/feature-catalogue.js'
import type { Section } from '../feature-value.js'
import type { LineDefinition } from '../line-definition.js'
import { FAULT_FACTS } from './cause-priors.js'
import { GROUP_FAMILIES } from './cause-groups.js'
import type { CauseChance } from './checks.js'
import { outcomesOf } from './likelihoods.js'
import { SYMPTOM_SOURCES } from './symptom-map.js'

/** A fault is visible when some feature moves in it with this chance: strength 2, clear, or more. [ASM] */
const CLEAR_CHANCE = 0.6
/** A member of a group is visible with it when it moves, at least weakly, what another member moves obviously. [ASM] */
const WEAK_CHANCE = 0.3
const OBVIOUS_CHANCE = 0.8
/** Information, in nats, below which a further channel is not worth naming. [ASM] */
const WORTH_NAMING = 0.05

/** The last answer by definition: it changes only with the features that can be seen. */
const LAST_INVISIBLE = new WeakMap<LineDefinition, { readonly key: string; readonly invisible: readonly FaultId[] }>()
const OFFERED = new WeakMap<LineDefinition, readonly FeatureSpec[]>()

function offeredBy(definition: LineDefinition): readonly FeatureSpec[] {
  let specs = OFFERED.get(definition)
  if (specs === undefined) OFFERED.set(definition, (specs = featureCatalogue(definition)))
  return specs
}

/**
 * Faults that no channel of the line can show.
 *
 * @param definition a line that lists no channels takes all of the channel list
 * @param evidence what the charts say, where it is known: a line that lists no channels then has those whose features
 *   have a baseline; features that are not observable do not count on any line
 */
export function invisibleFaults(definition: LineDefinition, evidence?: readonly FeatureEvidence[]): readonly FaultId[] {
  const features = seenFeatures(definition, evidence)
  const key = features.join(' ')
  const last = LAST_INVISIBLE.get(definition)
  if (last?.key === key) return last.invisible
  const invisible = computeInvisible(definition, features)
  LAST_INVISIBLE.set(definition, { key, invisible })
  return invisible
}

function computeInvisible(definition: LineDefinition, features: readonly string[]): FaultId[] {
  const clear = (fault: FaultId, feature: string): boolean => 1 - outcomesOf(fault, feature, definition).quiet >= CLEAR_CHANCE
  const placesOf = (fault: FaultId): (number | undefined)[] => (FAULT_FACTS[fault].perZone ? definition.machine.zones.map((_zone, index) => index + 1) : [undefined])
  const seenAt = (fault: FaultId, zone: number | undefined): string[] => features.filter((feature) => isAt(feature, zone) && isHome(fault, feature))
  const visible = (fault: FaultId): boolean => placesOf(fault).every((zone) => seenAt(fault, zone).some((feature) => clear(fault, feature)))
  const clearlyVisible = new Set(FAULT_IDS.filter(visible))
  const visibleInGroup = (fault: FaultId): boolean => {
    const family = Object.values(GROUP_FAMILIES).find((members) => members.includes(fault)) ?? []
    const leaders = family.filter((member) => clearlyVisible.has(member as FaultId)) as FaultId[]
    return placesOf(fault).every((zone) => seenAt(fault, zone).some((feature) => leaders.some((leader) => sharesWay(fault, leader, feature, definition))))
  }
  return FAULT_IDS.filter((fault) => !clearlyVisible.has(fault) && !visibleInGroup(fault))
}

function isAt(feature: string, zone: number | undefined): boolean {
  return zone === undefined || !/zone-\d/.test(feature) || feature.includes(`.zone-${zone}.`)
}

/** A fault is known by its own section or by the boards and the air; what drips on the chain later shows the chain. */
function isHome(fault: FaultId, feature: string): boolean {
  const { section } = FAULT_FACTS[fault]
  if (feature.startsWith('board.') || feature.startsWith('exhaust.')) return true
  return feature.startsWith(section === 'transport' ? 'conveyor.' : `${section}.`)
}

function sharesWay(fault: FaultId, leader: FaultId, feature: string, definition: LineDefinition): boolean {
  const own = outcomesOf(fault, feature, definition)
  const leading = outcomesOf(leader, feature, definition)
  return (['up', 'down'] as const).some((way) => own[way] >= WEAK_CHANCE && leading[way] >= OBVIOUS_CHANCE)
}

/** A chart that has learned a level and cannot say just now whether it still stands is no blind one. */
export function hasLearned({ status, centre }: Pick<FeatureEvidence, 'status' | 'centre'>): boolean {
  return status !== 'learning' || centre !== 0
}

/** Features a line can show: those of its catalogue, less what the charts cannot see. */
function seenFeatures(definition: LineDefinition, evidence: readonly FeatureEvidence[] | undefined): string[] {
  const offered = offeredBy(definition).map((spec) => spec.feature)
  if (evidence === undefined) return offered
  const itemOf = new Map(evidence.map((item) => [item.feature, item]))
  return offered.filter((feature) => {
    const item = itemOf.get(feature)
    if (item?.status === 'not-observable') return false
    return definition.channels.length > 0 || (item !== undefined && hasLearned(item))
  })
}

/**
 * The channel the line lacks whose features would say most about which of the causes it is.
 *
 * @param chances causes of one case with their probabilities
 * @param section section of the case
 * @param zone zone of the case, where it is about one
 * @param evidence what the charts say: a line that lists no channels has those that were ever observable
 * @returns a channel pattern of the channel list; undefined where none would help
 */
export function channelThatWouldTell(definition: LineDefinition, chances: readonly CauseChance[], section: Section, zone: number | undefined, evidence: readonly FeatureEvidence[]): string | undefined {
  const has = channelsOf(definition, evidence)
  let best: { channel: string; worth: number } | undefined
  for (const source of SYMPTOM_SOURCES) {
    if ((source.pattern.includes('<n>') && zone === undefined) || !isAbout(source.pattern, section)) continue
    const missing = source.channels.filter((channel) => !has(placed(channel, zone)))
    if (missing.length !== 1) continue
    const worth = information(placed(source.pattern, zone), chances, definition)
    if (worth >= WORTH_NAMING && (best === undefined || worth > best.worth)) best = { channel: missing[0]!, worth }
  }
  return best?.channel
}

/** The channels that can tell of a section: its own, the boards' temperature and the exhaust. Defects come too late. */
function isAbout(pattern: string, section: Section): boolean {
  if (section === 'line') return true
  if (pattern.startsWith('board.defects')) return false
  if (section === 'preheat' && /^(board|exhaust|ambient)\./.test(pattern)) return true
  return pattern.startsWith(section === 'transport' ? 'conveyor.' : `${section}.`)
}

/** Whether the line has a channel. One that lists none has those of which the charts know something. */
function channelsOf(definition: LineDefinition, evidence: readonly FeatureEvidence[]): (channel: string) => boolean {
  if (definition.channels.length > 0) {
    const declared = declaredChannels(definition)
    return (channel) => declared.has(channel)
  }
  const known = new Set(evidence.filter((item) => item.status !== 'not-observable').map((item) => item.feature))
  const channels = new Set(offeredBy(definition).flatMap((spec) => (known.has(spec.feature) ? spec.channels : [])))
  return (channel) => channels.has(channel)
}

function placed(pattern: string, zone: number | undefined): string {
  return pattern.replace('<n>', String(zone ?? 1)).replace('<kind>', USUAL_DEFECTS[0]!)
}

/** Mutual information, in nats, between what a feature would do and the causes. */
function information(feature: string, chances: readonly CauseChance[], definition: LineDefinition): number {
  const total = chances.reduce((sum, { probability }) => sum + probability, 0)
  if (total <= 0) return 0
  const mean = { up: 0, down: 0, quiet: 0 }
  let within = 0
  for (const { cause, probability } of chances) {
    const raw = outcomesOf(cause, feature, definition)
    const sum = raw.up + raw.down + raw.quiet
    for (const way of ['up', 'down', 'quiet'] as const) {
      const chance = raw[way] / sum
      mean[way] += (probability / total) * chance
      within -= (probability / total) * chance * Math.log(chance)
    }
  }
  const between = -(['up', 'down', 'quiet'] as const).reduce((sum, way) => sum + mean[way] * Math.log(mean[way]), 0)
  return Math.max(0, between - within)
}
