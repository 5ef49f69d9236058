import type { CauseId } from '../../line/causes.js'
import { CHECKS } from '../../line/diagnosis/checks.js'
import type { Section } from '../../line/feature-value.js'
import { handValuesOf, type HandValue } from '../../line/hand-values.js'
import type { LineDefinition } from '../../line/line-definition.js'
import type { RoundPeriod } from '../../line/round-periods.js'
import type { ChangeKind } from '../changes/change-entry.js'
import { CAUTION_IDS } from '../work-catalogue-data-facts.js'
import { cautionsOfCheck, type CautionId } from '../work-catalogue.js'

/** What opens a check of the round `event`. */
export type RoundEvent = 'start-up' | 'long-stop' | 'nozzle-refitted' | 'jam' | 'chain-refitted'

/** One check of the rounds; its words stand in the catalogue's checks or in the texts of the rounds, under the same id. */
export interface RoundCheck {
  readonly check: string
  readonly section: Exclude<Section, 'line'>
  readonly every: RoundPeriod
  /** Minutes at the line, without cooling down. [CP] */
  readonly minutes: number
  /** Faults that it shows. */
  readonly sees: readonly CauseId[]
  readonly cautions: readonly CautionId[]
  /** Whether what is seen can be told by one of three sentences: findings 0, 2 and 4. */
  readonly looks: boolean
  /** Whether findings and values belong to one preheat zone each. */
  readonly perZone: boolean
  /** Values that must be entered whenever the check is; others are entered where they were measured. */
  readonly valuesNeeded: boolean
  /** Events that ask for it besides its period. */
  readonly after: readonly RoundEvent[]
}

interface Details {
  readonly looks?: boolean
  readonly perZone?: boolean
  readonly valuesNeeded?: boolean
  readonly after?: readonly RoundEvent[]
  readonly sees?: readonly CauseId[]
  readonly cautions?: readonly CautionId[]
  readonly minutes?: number
}

function round(check: string, section: RoundCheck['section'], every: RoundPeriod, details: Details = {}): RoundCheck {
  const known = CHECKS.find((candidate) => candidate.check === check)
  return {
    check,
    section,
    every,
    minutes: details.minutes ?? known?.minutes ?? 1,
    sees: details.sees ?? known?.shows ?? [],
    cautions: withStanding(details.cautions ?? cautionsOfCheck(check)),
    looks: details.looks ?? true,
    perZone: details.perZone ?? false,
    valuesNeeded: details.valuesNeeded ?? false,
    after: details.after ?? [],
  }
}

function withStanding(cautions: readonly CautionId[]): CautionId[] {
  const wanted = new Set<string>([...cautions, 'other-rules-win', 'advice-only'])
  return CAUTION_IDS.filter((id) => wanted.has(id))
}

const AT_POT: readonly CautionId[] = ['pot-always-hot', 'no-water-in-solder', 'solder-protection']
const AT_FLUXER: readonly CautionId[] = ['fire-flux', 'flux-fume', 'pinch-points']

/**
 * Checks of the rounds in the order a board travels. How often: the trade's starting intervals, common practice, no
 * source; the checks of a shift together take under three minutes.
 */
export const ROUND_CHECKS: readonly RoundCheck[] = [
  round('exhaust-and-guards', 'fluxer', 'shift', { minutes: 0.5, sees: ['saturated-filter'], cautions: ['flux-fume', 'pinch-points'] }),
  round('look-at-nozzle-tip', 'fluxer', 'shift', { minutes: 0.5 }),
  round('purge-nozzle', 'fluxer', 'event', { minutes: 1, sees: ['clogged-nozzle'], cautions: AT_FLUXER, after: ['long-stop', 'start-up'] }),
  round('paper-test', 'fluxer', 'day', { after: ['start-up', 'nozzle-refitted'] }),
  round('weigh-dose', 'fluxer', 'week', { looks: false, valuesNeeded: true }),
  round('look-for-wet-chain', 'fluxer', 'week'),
  round('pressure-hold', 'fluxer', 'week', { looks: false, valuesNeeded: true }),
  round('look-at-exhaust-filter', 'fluxer', 'week'),
  round('look-at-flux-hose', 'fluxer', 'month'),
  round('profile-board', 'preheat', 'month', { minutes: 15, looks: false, valuesNeeded: true, sees: ['clogged-blower', 'coated-emitter', 'blocked-vents', 'coated-thermocouple'], cautions: ['hot-parts'] }),
  round('look-at-emitters', 'preheat', 'week'),
  round('look-at-vents', 'preheat', 'month'),
  round('look-at-blower', 'preheat', 'month'),
  round('look-at-thermocouple', 'preheat', 'month', { perZone: true }),
  round('look-at-rails', 'transport', 'week'),
  round('look-at-chain', 'transport', 'week'),
  round('chain-length', 'transport', 'month', { minutes: 6, looks: false, valuesNeeded: true, sees: ['worn-sprocket'], cautions: ['isolate-and-verify', 'hot-parts', 'pinch-points'] }),
  round('gauge-fingers', 'transport', 'week', { after: ['jam'] }),
  round('contact-time', 'transport', 'week', { minutes: 6, looks: false, valuesNeeded: true, sees: ['residue-on-fingers', 'dirty-chain', 'dry-chain'], cautions: [...AT_POT, 'hot-parts'] }),
  round('touch-lubricant', 'transport', 'week'),
  round('listen-to-bearings', 'transport', 'month'),
  round('compare-speed-under-load', 'transport', 'month', { looks: false, valuesNeeded: true, after: ['jam'] }),
  round('look-at-shaft', 'transport', 'month', { minutes: 3, sees: ['worn-bearing', 'worn-sprocket'], cautions: ['isolate-and-verify', 'hot-parts', 'pinch-points'] }),
  round('look-at-sprockets', 'transport', 'month'),
  round('empty-loops', 'transport', 'event', { minutes: 5, looks: false, valuesNeeded: true, sees: ['dirty-chain', 'dry-chain'], cautions: ['pinch-points'], after: ['chain-refitted', 'start-up'] }),
  round('dip-stick', 'pot', 'shift', { minutes: 0.5 }),
  round('look-at-dross', 'pot', 'shift', { minutes: 0.5 }),
  round('bars-added', 'pot', 'shift', { minutes: 0.5, looks: false, sees: ['low-level'], cautions: [...AT_POT, 'lead-and-dross-dust'] }),
  round('dross-removed', 'pot', 'shift', { minutes: 0.5, looks: false, sees: ['dross-at-intake'], cautions: [...AT_POT, 'lead-and-dross-dust'] }),
  round('wave-gauge', 'pot', 'day', { minutes: 2, looks: false, valuesNeeded: true, sees: ['dross-at-intake', 'low-level'], cautions: AT_POT }),
  round('reference-probe', 'pot', 'month', { looks: false, valuesNeeded: true }),
  round('compare-pot-warm-up', 'pot', 'month'),
  round('bath-analysis', 'pot', 'month', { minutes: 10, looks: false, cautions: [...AT_POT, 'lead-and-dross-dust'] }),
  round('melt-complete', 'pot', 'event', { minutes: 1, sees: ['ageing-element'], cautions: AT_POT, after: ['start-up'] }),
  round('first-board', 'pot', 'event', { minutes: 5, cautions: ['hot-parts'], after: ['start-up'] }),
]

/** Checks of a line: the catalogue's with the site's edits, then the site's own. Order of the walk: fluxer, preheat, transport, pot. */
export function roundChecks(definition: LineDefinition): readonly RoundCheck[] {
  const site = definition.rounds
  const kept = ROUND_CHECKS.filter(({ check }) => site?.off.includes(check) !== true).map((check) => ({ ...check, every: site?.every[check.check] ?? check.every }))
  const own = (site?.own ?? []).map(({ check, section, every, minutes, cautions, values }): RoundCheck => ({
    check, section, every, minutes, sees: [], cautions: withStanding(cautions as CautionId[]), looks: false, perZone: false, valuesNeeded: values.length > 0, after: [],
  }))
  const places = ['fluxer', 'preheat', 'transport', 'pot']
  return [...kept, ...own.filter(({ check }) => !kept.some((known) => known.check === check))].sort((a, b) => places.indexOf(a.section) - places.indexOf(b.section))
}

/** A check of the line, or undefined. */
export function roundCheck(definition: LineDefinition, check: string): RoundCheck | undefined {
  return roundChecks(definition).find((known) => known.check === check)
}

/** Values that a person enters at a check; those that follow from them are left out. */
export function enteredValues(definition: LineDefinition, check: string): readonly HandValue[] {
  return handValuesOf(definition, check).filter(({ derive }) => derive === undefined)
}

/** Checks that an event asks for, in walking order. */
export function checksAfter(definition: LineDefinition, event: RoundEvent): readonly RoundCheck[] {
  return roundChecks(definition).filter(({ after }) => after.includes(event))
}

const EVENT_OF_CHANGE: Partial<Record<ChangeKind, RoundEvent>> = { 'nozzle-refitted': 'nozzle-refitted', 'chain-refitted': 'chain-refitted', jam: 'jam', 'long-stop': 'long-stop' }

/** The event a change makes for the rounds, where it makes one. */
export function eventOfChange(change: ChangeKind): RoundEvent | undefined {
  return EVENT_OF_CHANGE[change]
}
