import { FAULT_IDS, type FaultId } from '../../../../src/line/causes.js'
import type { FeatureEvidence } from '../../../../src/line/diagnosis.js'
import { BENIGN_WEIGHTS, FAULT_FACTS } from '../../../../src/line/diagnosis/cause-priors.js'
import { expectedMoves } from '../../../../src/line/diagnosis/likelihoods.js'
import { featureCatalogue } from '../../../../src/line/features/feature-catalogue.js'
import type { LineDefinition } from '../../../../src/line/line-definition.js'
import { evidenceOf } from './diagnosis-cases.js'

/** Park and Miller's generator (1988): x' = 16807 x mod 2^31 - 1. */
export function randomFrom(seed: number): () => number {
  let state = seed
  return () => {
    state = (state * 16_807) % 2_147_483_647
    return state / 2_147_483_647
  }
}

export interface GeneratedCase {
  readonly cause: string
  readonly section: string
  readonly zone?: number
  readonly evidence: readonly FeatureEvidence[]
}

/**
 * A fault (or draught, or board load) as another site would have it: strengths of the matrix off by a factor of up to
 * two either way, one cell in eight without effect, severity from a third to full, a stray movement now and then.
 * Not the chances the diagnosis works with: it may be wrong about each of them.
 */
export function generateCase(definition: LineDefinition, random: () => number, faults: readonly FaultId[] = FAULT_IDS): GeneratedCase | undefined {
  const cause = pickCause(random, faults)
  const zones = definition.machine.zones.length
  const facts = FAULT_FACTS[cause as FaultId]
  const inPot = cause === 'ageing-element' && random() < 0.25
  const zone = facts?.perZone === true && !inPot ? 1 + Math.floor(random() * zones) : undefined
  const severity = 0.35 + 0.65 * random()
  const shared = new Map<string, number>()
  const moved: Record<string, number> = {}
  for (const spec of featureCatalogue(definition)) {
    if (zone !== undefined && spec.zone !== undefined && spec.zone !== zone) continue
    if (inPot ? spec.section === 'preheat' : cause === 'ageing-element' && spec.section === 'pot') continue
    let sigma = 0
    for (const move of expectedMoves(cause, spec.feature, definition)) {
      if (random() > move.weight) continue
      const signKey = spec.feature.replace(/zone-\d+/, 'zone')
      if (!shared.has(signKey)) shared.set(signKey, random() < 0.5 ? 1 : -1)
      const sign = move.direction === 'up' ? 1 : move.direction === 'down' ? -1 : shared.get(signKey)!
      sigma = random() < 0.125 ? 0 : sign * severity * move.strength * 1.8 * 2 ** (2 * random() - 1)
    }
    if (random() < 0.004) sigma += random() < 0.5 ? 2 : -2
    if (Math.abs(sigma) >= 1) moved[spec.feature] = sigma
  }
  const evidence = evidenceOf(definition, moved).map((item) => (item.status === 'quiet' ? item : { ...item, windows: 1 + Math.floor(random() * 8) }))
  const visible = evidence.some((item) => item.status !== 'quiet')
  if (!visible) return undefined
  return { cause, section: facts === undefined ? 'line' : inPot ? 'pot' : facts.section, ...(zone === undefined ? {} : { zone }), evidence }
}

function pickCause(random: () => number, faults: readonly FaultId[]): FaultId | 'ambient-or-exhaust' | 'board-load' {
  if (random() < 0.15) return random() < BENIGN_WEIGHTS['ambient-or-exhaust'] / (BENIGN_WEIGHTS['ambient-or-exhaust'] + BENIGN_WEIGHTS['board-load']) ? 'ambient-or-exhaust' : 'board-load'
  const total = faults.reduce((sum, fault) => sum + Math.sqrt(FAULT_FACTS[fault].weight), 0)
  let left = random() * total
  for (const fault of faults) {
    left -= Math.sqrt(FAULT_FACTS[fault].weight)
    if (left <= 0) return fault
  }
  return faults.at(-1)!
}
