import { NONE_OF_THESE, type CauseId } from '../causes.js'
import type { CheckRef } from '../diagnosis.js'
import type { Section } from '../feature-value.js'

/** A check a person can do at the line; its texts stand in the work catalogue under the same id. */
export interface CheckFacts extends CheckRef {
  readonly section: Section
  /** Causes that the check shows when they are there. */
  readonly shows: readonly CauseId[]
}

/** Chance that a check shows a cause that is there, and that it seems to show one that is not. [ASM] */
const HIT = 0.88
const FALSE_HIT = 0.07

/** Minutes are common practice, no source: for a person at the line, without waiting for parts to cool. */
export const CHECKS: readonly CheckFacts[] = [
  check('look-in-log', 'line', 2, ['changeover', 'setpoint-edit', 'run-in', 'board-load']),
  check('look-at-doors-and-exhaust', 'line', 3, ['ambient-or-exhaust']),
  check('compare-with-second-instrument', 'line', 5, ['dropout']),
  check('look-at-boards', 'line', 5, ['misoriented-nozzle', 'residue-on-fingers', 'dosing-off']),
  check('paper-test', 'fluxer', 5, ['clogged-nozzle', 'misoriented-nozzle', 'dosing-off', 'stroke-too-wide']),
  check('look-at-nozzle-tip', 'fluxer', 3, ['clogged-nozzle']),
  check('pressure-hold', 'fluxer', 6, ['leaking-seal']),
  check('look-at-flux-hose', 'fluxer', 4, ['bad-flux-hose']),
  check('weigh-dose', 'fluxer', 10, ['dosing-off', 'clogged-nozzle', 'leaking-seal']),
  check('look-at-exhaust-filter', 'fluxer', 5, ['saturated-filter']),
  check('look-for-wet-chain', 'fluxer', 3, ['stroke-too-wide']),
  check('look-at-blower', 'preheat', 10, ['clogged-blower']),
  check('look-at-emitters', 'preheat', 10, ['coated-emitter']),
  check('look-at-vents', 'preheat', 8, ['blocked-vents']),
  check('look-at-thermocouple', 'preheat', 8, ['coated-thermocouple']),
  check('compare-warm-up', 'preheat', 5, ['ageing-element']),
  check('measure-element-current', 'preheat', 15, ['ageing-element'], true),
  check('look-at-rails', 'transport', 5, ['dirty-rails']),
  check('look-at-chain', 'transport', 6, ['dirty-chain', 'dry-chain']),
  check('touch-lubricant', 'transport', 4, ['dry-chain', 'sticky-grease']),
  check('gauge-fingers', 'transport', 10, ['residue-on-fingers']),
  check('look-at-sprockets', 'transport', 12, ['worn-sprocket']),
  check('listen-to-bearings', 'transport', 8, ['worn-bearing']),
  check('compare-speed-under-load', 'transport', 8, ['worn-drive']),
  check('dip-stick', 'pot', 3, ['low-level']),
  check('look-at-dross', 'pot', 4, ['dross-at-intake']),
  check('reference-probe', 'pot', 20, ['drifting-pot-probe']),
  check('compare-pot-warm-up', 'pot', 5, ['ageing-element']),
]

function check(id: string, section: Section, minutes: number, shows: readonly CauseId[], needsElectrician = false): CheckFacts {
  return { check: id, section, minutes, shows, needsElectrician }
}

/** Chance of a cause, for weighing checks. */
export interface CauseChance {
  readonly cause: CauseId
  readonly probability: number
}

/**
 * The check that tells most about the causes for each minute it takes. One for a licensed electrician is never first.
 *
 * @param chances causes with their probabilities, which need not sum to 1
 * @param section section of the case: a weak heater is looked for where it was seen
 */
export function bestCheck(chances: readonly CauseChance[], section: Section): CheckRef {
  const { check: id, minutes, needsElectrician } = rankChecks(chances, section)[0]!
  return { check: id, minutes, needsElectrician }
}

/** All checks a person without a licence can do, the most telling per minute first. */
export function rankChecks(chances: readonly CauseChance[], section: Section): readonly CheckFacts[] {
  return CHECKS.filter((candidate) => !candidate.needsElectrician && fitsSection(candidate, section))
    .map((candidate) => ({ candidate, worth: expectedInformation(candidate.shows, chances) / candidate.minutes }))
    .sort((a, b) => b.worth - a.worth || a.candidate.minutes - b.candidate.minutes || (a.candidate.check < b.candidate.check ? -1 : 1))
    .map(({ candidate }) => candidate)
}

/** An element sits in a zone or in the pot: the check is the one of its own place. */
function fitsSection({ check: id }: CheckFacts, section: Section): boolean {
  if (id === 'compare-pot-warm-up') return section === 'pot'
  if (id === 'compare-warm-up') return section !== 'pot'
  return true
}

/** Mutual information, in nats, between the outcome of a check and the causes. */
function expectedInformation(shows: readonly CauseId[], chances: readonly CauseChance[]): number {
  const total = chances.reduce((sum, { probability }) => sum + probability, 0)
  if (total <= 0) return 0
  let positive = 0
  let within = 0
  for (const { cause, probability } of chances) {
    const hit = shows.includes(cause) ? HIT : cause === NONE_OF_THESE ? 2 * FALSE_HIT : FALSE_HIT
    positive += (probability / total) * hit
    within += (probability / total) * entropy(hit)
  }
  return Math.max(0, entropy(positive) - within)
}

function entropy(share: number): number {
  if (share <= 0 || share >= 1) return 0
  return -share * Math.log(share) - (1 - share) * Math.log(1 - share)
}
