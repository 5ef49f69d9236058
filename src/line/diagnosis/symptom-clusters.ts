import type { FeatureEvidence } from '../diagnosis.js'
import type { Section } from '../feature-value.js'
import type { LineDefinition } from '../line-definition.js'
import { expectedStrength, expectedMoves } from './likelihoods.js'
import { featureParts, FIRST_SYMPTOMS } from './symptom-map.js'

/** What diagnosis needs to know of a feature. */
export interface DiagnosisSpec {
  readonly feature: string
  readonly section: Section
  readonly zone?: number
  /** Features of one mechanism have one vote together. */
  readonly mechanism: string
  /** Directions that can mean fouling or wear. */
  readonly suspicious: 'up' | 'down' | 'both'
}

/** Evidence of one feature inside a cluster. */
export interface ClusterItem {
  readonly feature: string
  readonly mechanism: string
  readonly evidence: FeatureEvidence
  /** `moved` only in a direction that counts; a change for the better is `quiet`. */
  readonly state: 'up' | 'down' | 'quiet'
  /** Whether it can make the cluster a case of its own, or only lends weight. */
  readonly own: boolean
}

/** Symptoms that belong together: one diagnosis each. */
export interface SymptomCluster {
  readonly key: string
  readonly section: Section
  readonly zone?: number
  readonly items: readonly ClusterItem[]
  /** Whether the other zones, where they can be seen, stayed as they were while this zone moved. */
  readonly neighbours: 'quiet' | 'moved' | 'not-observable'
  /** Whether the drag of the chain rose far more after a stop than when warm. */
  readonly coldExcess: 'yes' | 'no' | 'not-observable'
  /** Of the air: the zones need as much more as an exhaust takes that draws as much more; absent where they do not, or it draws no more. */
  readonly heatsMoreAir?: boolean
  /** Of the boards: the exhaust was changed when they became colder or warmer, or has only just been. */
  readonly airMovedThen?: boolean
}

interface Observed {
  readonly spec: DiagnosisSpec
  readonly evidence: FeatureEvidence
  readonly state: 'up' | 'down' | 'quiet'
  readonly pattern: string
}

const CLUSTER_ORDER = ['fluxer', 'all-zones', 'zone', 'transport', 'pot', 'board']

/**
 * Sorts what the charts say into cases: each preheat zone, all zones together, fluxer, transport, pot, and the boards
 * where only they show something. Two faults in two places give two cases.
 *
 * @returns cases with at least one symptom, in the order a board travels
 */
export function clusterSymptoms(definition: LineDefinition, evidence: readonly FeatureEvidence[], specs: readonly DiagnosisSpec[]): SymptomCluster[] {
  const observed = observe(evidence, specs)
  const shared = observed.filter((item) => isBoard(item.pattern))
  const air = observed.filter((item) => isAir(item.pattern))
  const common = commonPatterns(observed, definition)
  const clusters: SymptomCluster[] = [...allZones(observed, air, common, zonesHeatMoreAir(evidence))]
  const comparesEffort = specs.filter(({ feature }) => feature.endsWith('.duty.effort-own')).length >= 2
  for (const zone of zonesOf(observed)) clusters.push(...oneZone(zone, observed, air, common, { definition, comparesEffort }))
  for (const section of ['fluxer', 'transport', 'pot'] as const) {
    const items = observed.filter((item) => item.spec.section === section && !isBoard(item.pattern)).map((item) => toItem(item, true))
    if (items.some(isSymptom)) clusters.push({ key: section, section, items, neighbours: 'not-observable', coldExcess: coldExcessOf(items) })
  }
  return withBoards(clusters, shared, observed, definition, firstOnesUndecided(evidence, specs)).sort((a, b) => order(a) - order(b))
}

function order(cluster: SymptomCluster): number {
  return CLUSTER_ORDER.indexOf(cluster.zone === undefined ? cluster.key : 'zone') * 100 + (cluster.zone ?? 0)
}

function isBoard(pattern: string): boolean {
  return pattern.startsWith('board.')
}

function isAir(pattern: string): boolean {
  return pattern === 'preheat.common-movement' || pattern.startsWith('exhaust.') || pattern.startsWith('ambient.')
}

function observe(evidence: readonly FeatureEvidence[], specs: readonly DiagnosisSpec[]): Observed[] {
  const specOf = new Map(specs.map((spec) => [spec.feature, spec]))
  const observed: Observed[] = []
  for (const item of evidence) {
    const spec = specOf.get(item.feature)
    if (spec === undefined || item.status === 'learning' || item.status === 'not-observable') continue
    const forTheWorse = spec.suspicious === 'both' || spec.suspicious === item.status
    observed.push({ spec, evidence: item, state: forTheWorse ? item.status : 'quiet', pattern: featureParts(item.feature).pattern })
  }
  return observed.sort((a, b) => (a.spec.feature < b.spec.feature ? -1 : 1))
}

function toItem({ spec, evidence, state }: Observed, own: boolean): ClusterItem {
  return { feature: spec.feature, mechanism: spec.mechanism, evidence, state, own: own && !explainsOnly(spec.feature) }
}

/** The hall's temperature explains what a zone does; by itself it is nothing to mend. */
function explainsOnly(feature: string): boolean {
  return feature.startsWith('ambient.')
}

function isSymptom(item: ClusterItem): boolean {
  return item.own && item.state !== 'quiet'
}

function zonesOf(observed: readonly Observed[]): number[] {
  return [...new Set(observed.flatMap(({ spec }) => (spec.zone === undefined ? [] : [spec.zone])))].sort((a, b) => a - b)
}

/** Patterns that moved one way in every zone that can be seen (two at least), where air or load can do that. */
function commonPatterns(observed: readonly Observed[], definition: LineDefinition): Map<string, 'up' | 'down'> {
  const byPattern = new Map<string, Observed[]>()
  for (const item of observed) if (item.spec.zone !== undefined) byPattern.set(item.pattern, [...(byPattern.get(item.pattern) ?? []), item])
  const common = new Map<string, 'up' | 'down'>()
  for (const [pattern, items] of byPattern) {
    const state = items[0]!.state
    if (items.length < 2 || state === 'quiet' || items.some((item) => item.state !== state)) continue
    const feature = items[0]!.spec.feature
    const airDoes = (['ambient-or-exhaust', 'board-load'] as const).some((cause) => expectedStrength(expectedMoves(cause, feature, definition), state) >= 1)
    if (airDoes) common.set(pattern, state)
  }
  return common
}

/** Share of a change of the air drawn that is in the effort of every zone [SIM: 30 % more air, 21 % more duty]; so much of that, and of the effort at least, tells. [ASM] */
const AIR_IN_EFFORT = 0.7
const AIR_TOLD_SHARE = 0.4
const AIR_TOLD_MIN = 0.03

/** Whether the zones' efforts rose as they do where more air is drawn, while the exhaust is seen to stand higher. The air goes with the root of the pressure. */
function zonesHeatMoreAir(evidence: readonly FeatureEvidence[]): boolean {
  const exhaust = evidence.find(({ feature, status }) => feature === 'exhaust.pressure.mean' && status === 'up')
  if (exhaust === undefined || !(exhaust.centre > 0)) return false
  const shares = evidence
    .filter(({ feature, centre }) => /^preheat\.zone-\d+\.duty\.effort$/.test(feature) && centre > 0)
    .flatMap(({ status, shift, lean, centre }) => (status === 'up' || status === 'down' ? [shift / centre] : lean === undefined ? [] : [lean / centre]))
    .sort((a, b) => a - b)
  const air = Math.sqrt(1 + exhaust.shift / exhaust.centre) - 1
  return shares.length >= 2 && shares[Math.floor((shares.length - 1) / 2)]! >= Math.max(AIR_TOLD_MIN, AIR_TOLD_SHARE * AIR_IN_EFFORT * air)
}

function allZones(observed: readonly Observed[], air: readonly Observed[], common: ReadonlyMap<string, 'up' | 'down'>, heatsMoreAir: boolean): SymptomCluster[] {
  // One zone speaks for all: the one that moved most, as the others say the same.
  const spoken = [...common.keys()].map((pattern) => {
    const items = observed.filter((item) => item.pattern === pattern)
    return items.reduce((most, item) => (Math.abs(item.evidence.shiftSigma) > Math.abs(most.evidence.shiftSigma) ? item : most))
  })
  const items = [...spoken, ...air].map((item) => toItem(item, true))
  return items.some(isSymptom) ? [{ key: 'all-zones', section: 'preheat', items, neighbours: 'moved', coldExcess: 'not-observable', ...(heatsMoreAir ? { heatsMoreAir } : {}) }] : []
}

function oneZone(zone: number, observed: readonly Observed[], air: readonly Observed[], common: ReadonlyMap<string, 'up' | 'down'>, line: { readonly definition: LineDefinition; readonly comparesEffort: boolean }): SymptomCluster[] {
  const { definition, comparesEffort } = line
  const inZone = observed.filter((item) => item.spec.zone === zone)
  const hasOwn = (whole: string): boolean => inZone.some((item) => item.pattern.endsWith(`.${whole}-own`))
  const items = inZone
    // The part of a movement that the zone does not share with the others says more than the whole of it.
    .filter(({ pattern }) => !['temperature.slow', 'temperature.fast'].some((whole) => pattern.endsWith(`.${whole}`) && hasOwn(whole)))
    // Of the effort only what the zone does beside the others, also while that is still learned: boards and air move that of all, and of one zone first.
    .filter(({ pattern }) => !(pattern.endsWith('.duty.effort') && comparesEffort))
    .filter(({ pattern }) => !common.has(pattern))
    .map((item) => toItem(item, true))
  const symptoms = items.filter(isSymptom)
  if (symptoms.length === 0) return []
  const specific = symptoms.some(({ feature, state }) => expectedStrength(expectedMoves('ambient-or-exhaust', feature, definition), state as 'up' | 'down') === 0)
  // Air that moved speaks only of symptoms that air can make; a coated thermocouple in a draughty week stays one.
  const airItems = air.filter((item) => item.state === 'quiet' || !specific).map((item) => toItem(item, false))
  return [{ key: `zone-${zone}`, section: 'preheat', zone, items: [...items, ...airItems], neighbours: neighboursOf(zone, symptoms, observed), coldExcess: 'not-observable' }]
}

function neighboursOf(zone: number, symptoms: readonly ClusterItem[], observed: readonly Observed[]): SymptomCluster['neighbours'] {
  let seen = false
  for (const { feature, state } of symptoms) {
    const { pattern } = featureParts(feature)
    const others = observed.filter((item) => item.pattern === pattern && item.spec.zone !== zone)
    if (others.length === 0) continue
    seen = true
    if (others.some((item) => item.state === state)) return 'moved'
  }
  return seen ? 'quiet' : 'not-observable'
}

/** From this ratio on the rise cold is called far more than the rise warm. [ASM] */
const COLD_OVER_WARM = 1.5

function coldExcessOf(items: readonly ClusterItem[]): SymptomCluster['coldExcess'] {
  const warm = items.find((item) => item.feature === 'conveyor.current.warm')
  const cold = items.find((item) => item.feature === 'conveyor.current.cold')
  if (warm === undefined || cold === undefined || cold.state !== 'up') return 'not-observable'
  return warm.state !== 'up' || cold.evidence.shift >= COLD_OVER_WARM * warm.evidence.shift ? 'yes' : 'no'
}

/** Hands the boards' own evidence to the cases it can belong to; what belongs to none becomes a case of its own. */
function withBoards(clusters: readonly SymptomCluster[], shared: readonly Observed[], observed: readonly Observed[], definition: LineDefinition, undecided: readonly ClusterItem[]): SymptomCluster[] {
  const placed = new Set<string>()
  const widened = clusters.map((cluster): SymptomCluster => {
    const items = shared.filter((item) => {
      if (!belongsTo(item, cluster, definition)) return false
      placed.add(item.spec.feature)
      return true
    })
    return { ...cluster, items: [...cluster.items, ...items.map((item) => toItem(item, false))] }
  })
  const left = [...shared, ...observed.filter((item) => item.spec.section === 'line' && !isBoard(item.pattern) && !isAir(item.pattern))]
    .filter((item) => item.state === 'quiet' || !placed.has(item.spec.feature))
    .map((item) => toItem(item, true))
  if (left.some(isSymptom)) widened.push({ key: 'board', section: 'line', items: [...left, ...quietElsewhere(observed), ...undecided], neighbours: 'not-observable', coldExcess: 'not-observable', ...(airMovedWith(left, observed) ? { airMovedThen: true } : {}) })
  return widened
}

/** Onsets this near to one another are one. [ASM] */
const SAME_HOURS_MS = 6 * 3_600_000
/** Boards that are cold already may get colder when the exhaust is switched; whether that lasts some hours tell. [ASM] */
const JUST_NOW_MS = 6 * 3_600_000

/** Whether the boards became colder or warmer when the exhaust changed, or it has only just changed. Which way they go with it depends on the line: more air cools boards, and emitters that it makes work harder warm them. */
function airMovedWith(items: readonly ClusterItem[], observed: readonly Observed[]): boolean {
  const boards = items.find(({ feature, state }) => feature === 'board.topside-temperature.mean' && state !== 'quiet')
  const exhaust = observed.find(({ spec, state }) => spec.feature === 'exhaust.pressure.mean' && state !== 'quiet')
  if (boards === undefined || exhaust === undefined) return false
  const { onsetMs, lastMs } = exhaust.evidence
  return Math.abs(boards.evidence.onsetMs - onsetMs) <= SAME_HOURS_MS || (lastMs !== undefined && lastMs - onsetMs <= JUST_NOW_MS)
}

/**
 * Boards get worse while all channels of a section stay as they were: that section is hardly to blame, and what no channel
 * shows (where the nozzle points, how the fingers hold) comes to the fore. [CP]
 */
function quietElsewhere(observed: readonly Observed[]): ClusterItem[] {
  return observed.filter(({ spec, state, pattern }) => state === 'quiet' && spec.zone === undefined && (spec.section !== 'line' || isAir(pattern)) && !isBoard(pattern)).map((item) => toItem(item, false))
}

/** What shows a fault first, has learned and does not stand off its level just now: to the boards it is as good as quiet. */
function firstOnesUndecided(evidence: readonly FeatureEvidence[], specs: readonly DiagnosisSpec[]): ClusterItem[] {
  const first = new Set(Object.values(FIRST_SYMPTOMS).flat())
  return evidence.flatMap((item) => {
    const spec = specs.find(({ feature }) => feature === item.feature)
    if (item.status !== 'learning' || item.lean === undefined || spec === undefined || spec.zone !== undefined || !first.has(item.feature)) return []
    return [{ feature: item.feature, mechanism: spec.mechanism, evidence: item, state: 'quiet' as const, own: false }]
  })
}

const BOARD_FAULTS = {
  fluxer: ['clogged-nozzle', 'misoriented-nozzle', 'leaking-seal', 'saturated-filter', 'bad-flux-hose', 'dosing-off', 'stroke-too-wide'],
  preheat: ['clogged-blower', 'coated-emitter', 'blocked-vents', 'coated-thermocouple', 'ageing-element'],
  transport: ['dirty-rails', 'dirty-chain', 'dry-chain', 'sticky-grease', 'residue-on-fingers', 'worn-sprocket', 'worn-bearing', 'worn-drive'],
  pot: ['low-level', 'dross-at-intake', 'drifting-pot-probe', 'ageing-element'],
} as const

function belongsTo(item: Observed, cluster: SymptomCluster, definition: LineDefinition): boolean {
  if (cluster.key === 'all-zones' || cluster.section === 'line') return false
  if (item.state === 'quiet') return true
  const faults = BOARD_FAULTS[cluster.section]
  return faults.some((fault) => expectedStrength(expectedMoves(fault, item.spec.feature, definition), item.state as 'up' | 'down') >= 1)
}
