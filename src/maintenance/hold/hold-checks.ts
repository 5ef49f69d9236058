import type { CauseId } from '../../line/causes.js'
import type { LineDefinition } from '../../line/line-definition.js'
import type { ChangeKind } from '../changes/change-entry.js'
import { roundCheck } from '../rounds/round-catalogue.js'
import { workItem } from '../work-catalogue.js'
import type { HoldCheck } from './hold-fact.js'

/** One point of the list that is gone through before any setting is touched. */
export interface HoldPoint {
  readonly check: string
  readonly section: HoldCheck['section']
  /** Work that settles it; the first one's interval counts. */
  readonly works: readonly string[]
  /** Round checks any of which, passed, is its hand check. */
  readonly handChecks: readonly string[]
  /** One point for each preheat zone. */
  readonly perZone: boolean
  /** Changes after which an earlier check counts no more. */
  readonly undoneBy: readonly ChangeKind[]
}

function point(check: string, section: HoldPoint['section'], works: readonly string[], handChecks: readonly string[], rest: { readonly perZone?: boolean; readonly undoneBy?: readonly ChangeKind[] } = {}): HoldPoint {
  return { check, section, works, handChecks, perZone: rest.perZone ?? false, undoneBy: rest.undoneBy ?? [] }
}

/**
 * The maintenance checks in the order a board travels, as practice goes through them [CP]: fluxer, preheat with the
 * rails, chain, fingers, lubrication, drive, pot.
 */
export const HOLD_POINTS: readonly HoldPoint[] = [
  point('nozzle', 'fluxer', ['clean-nozzle'], ['weigh-dose', 'paper-test'], { undoneBy: ['nozzle-refitted'] }),
  point('nozzle-direction', 'fluxer', ['align-nozzle'], ['paper-test'], { undoneBy: ['nozzle-refitted'] }),
  point('seals', 'fluxer', ['replace-seals'], ['pressure-hold']),
  point('stroke', 'fluxer', ['set-spray-stroke'], ['look-for-wet-chain']),
  point('hose', 'fluxer', ['replace-flux-hose'], ['look-at-flux-hose']),
  point('filter', 'fluxer', ['swap-exhaust-filter'], ['look-at-exhaust-filter']),
  point('dose', 'fluxer', ['calibrate-dosing'], ['weigh-dose'], { undoneBy: ['flux-lot'] }),
  point('vents', 'preheat', ['clean-vents'], ['look-at-vents']),
  point('elements', 'preheat', ['clean-emitters', 'replace-element'], ['look-at-emitters']),
  point('blowers', 'preheat', ['clean-blower'], ['look-at-blower']),
  point('rails', 'transport', ['clean-rails'], ['look-at-rails']),
  point('thermocouples', 'preheat', ['clean-thermocouple', 'replace-thermocouple'], ['look-at-thermocouple'], { perZone: true, undoneBy: ['sensor-replaced'] }),
  point('chain', 'transport', ['clean-chain'], ['look-at-chain'], { undoneBy: ['chain-refitted'] }),
  point('fingers', 'transport', ['clean-fingers'], ['gauge-fingers', 'contact-time'], { undoneBy: ['jam'] }),
  point('lubrication', 'transport', ['lubricate-chain'], ['touch-lubricant'], { undoneBy: ['chain-refitted', 'lubricant-lot'] }),
  point('bearings', 'transport', ['replace-bearing'], ['listen-to-bearings']),
  point('motor', 'transport', ['repair-drive'], ['compare-speed-under-load'], { undoneBy: ['jam'] }),
  point('shaft', 'transport', [], ['look-at-shaft'], { undoneBy: ['jam'] }),
  point('sprockets', 'transport', ['replace-chain-and-sprockets'], ['look-at-sprockets', 'chain-length']),
  point('pot-level', 'pot', ['top-up-pot'], ['dip-stick']),
  point('dross', 'pot', ['skim-dross'], ['look-at-dross']),
  point('pump', 'pot', ['strip-pump'], ['wave-gauge']),
  point('pot-probe', 'pot', ['replace-pot-probe'], ['reference-probe']),
  point('pot-element', 'pot', ['replace-pot-element'], ['compare-pot-warm-up']),
]

/** A point at its place on a line. */
export interface PlacedPoint extends HoldPoint {
  readonly zone?: number
  readonly minutes: number
}

/** The points of a line in their order. A hand check that the site has left out asks for nothing; a point without any is left out too. */
export function holdPoints(definition: LineDefinition): readonly PlacedPoint[] {
  return HOLD_POINTS.flatMap((raw) => {
    const checks = raw.handChecks.flatMap((check) => roundCheck(definition, check) ?? [])
    if (checks.length === 0 && raw.works.length === 0) return []
    const placed = { ...raw, handChecks: checks.map(({ check }) => check), minutes: checks[0]?.minutes ?? workItem(raw.works[0]!).minutesByHand[0] }
    return raw.perZone ? definition.machine.zones.map((_, index) => ({ ...placed, zone: index + 1 })) : [placed]
  })
}

/** Points whose work mends one of the causes, or whose hand check shows it. */
export function mendsAny(point: HoldPoint, causes: readonly string[], definition: LineDefinition): boolean {
  return (
    point.works.some((work) => workItem(work).mends.some((cause) => causes.includes(cause))) ||
    point.handChecks.some((check) => roundCheck(definition, check)?.sees.some((cause: CauseId) => causes.includes(cause)) === true)
  )
}

/** Points that a hand check out of its limits speaks against; too little flux is the nozzle and the dose, too much the dose and the stroke. */
export function pointsFailedBy(roundCheckId: string, reason: string): (point: HoldPoint) => boolean {
  if (roundCheckId === 'weigh-dose' && reason === 'round.above') return ({ check }) => check === 'dose' || check === 'stroke'
  if (roundCheckId === 'contact-time' && reason === 'round.contact-both-ways') return ({ check }) => check === 'chain' || check === 'lubrication'
  return ({ handChecks }) => handChecks.includes(roundCheckId)
}
