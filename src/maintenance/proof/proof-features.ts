import type { FaultId } from '../../line/causes.js'
import { FAULT_FACTS } from '../../line/diagnosis/cause-priors.js'
import { expectedMoves } from '../../line/diagnosis/likelihoods.js'
import { invisibleFaults } from '../../line/diagnosis/visibility.js'
import { featureCatalogue, type FeatureSpec } from '../../line/features/feature-catalogue.js'
import type { LineDefinition } from '../../line/line-definition.js'
import { siteCatalogue } from '../site-catalogue.js'

/** A feature that can show whether a job helped. */
export interface ProofFeature {
  readonly spec: FeatureSpec
  /** Where the faults that the job mends move it; `either` where it depends on what nobody knows. */
  readonly bad: 'up' | 'down' | 'either'
  /** Strength of the strongest such move: 0.5 doubtful, 1 weak, 2 clear, 3 obvious. */
  readonly strength: number
  /** Values come hourly at most, or once a start-up. */
  readonly rare: boolean
}

/** People keep the level by topping up: where it stands says nothing of a cleaning. */
const KEPT_BY_HAND = 'pot.level.offset'
/** Strength below which a move is no ground for a verdict. */
const STRENGTH_MIN = 1

/**
 * Features by which a job is proven: those that the faults it mends move, in its own section and zone, and the boards'
 * temperature for the preheat. Defects are left out: too many other things make them.
 *
 * @returns none where no channel of the line can show the job's faults
 */
export function proofFeatures(definition: LineDefinition, work: string, zone: number | undefined): readonly ProofFeature[] {
  const section = siteCatalogue(definition).item(work)?.section
  if (section === undefined) return []
  const mends = mendedBy(work, definition)
  const invisible: readonly string[] = invisibleFaults(definition)
  if (!mends.some((fault) => !invisible.includes(fault))) return []
  return featureCatalogue(definition).flatMap((spec) => {
    if (spec.feature === KEPT_BY_HAND || !isHome(spec, section, zone)) return []
    const found = badSide(spec, mends, definition)
    return found === undefined || found.strength < STRENGTH_MIN ? [] : [{ spec, ...found, rare: spec.windowS > 1800 || !spec.states.includes('production') }]
  })
}

function isHome(spec: FeatureSpec, section: string, zone: number | undefined): boolean {
  if (section === 'preheat') {
    if (spec.feature.startsWith('board.topside-temperature.')) return true
    return spec.section === 'preheat' && spec.zone !== undefined && spec.zone === zone
  }
  return spec.section === section
}

function badSide(spec: FeatureSpec, mends: readonly FaultId[], definition: LineDefinition): { readonly bad: ProofFeature['bad']; readonly strength: number } | undefined {
  const sides = { up: 0, down: 0, either: 0 }
  for (const fault of mends) {
    for (const { direction, strength, weight } of expectedMoves(fault, spec.feature, definition)) sides[direction] = Math.max(sides[direction], weight < 0.5 ? strength * weight : strength)
  }
  const strength = Math.max(sides.up, sides.down, sides.either)
  if (strength === 0) return undefined
  if (spec.suspicious !== 'both') return { bad: spec.suspicious, strength: spec.suspicious === 'up' ? Math.max(sides.up, sides.either) : Math.max(sides.down, sides.either) }
  if (sides.either > 0 || (sides.up > 0 && sides.down > 0)) return { bad: 'either', strength }
  return { bad: sides.up > 0 ? 'up' : 'down', strength }
}

/** Faults a job mends, at first or where other jobs did not help; none for an unknown job. */
export function mendedBy(work: string, definition: LineDefinition): readonly FaultId[] {
  const item = siteCatalogue(definition).item(work)
  return item === undefined ? [] : [...item.mends, ...item.laterFor].filter((cause): cause is FaultId => Object.hasOwn(FAULT_FACTS, cause))
}
