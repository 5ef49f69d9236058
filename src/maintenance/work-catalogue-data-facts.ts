import type { CauseId } from '../line/causes.js'
import type { CautionId, IsolationStep, MinutesRange, PassCriterion, WorkItem } from './work-catalogue.js'
import type { ProductClass } from './work-products.js'

/** Cautions in the order they are read out: what can kill or blind first. */
export const CAUTION_IDS = [
  'isolate-and-verify',
  'licensed-electrician',
  'no-water-in-solder',
  'pot-always-hot',
  'hot-parts',
  'pinch-points',
  'bleed-pressure',
  'fire-solvent',
  'fire-flux',
  'fire-ducts',
  'solder-protection',
  'cleaner-protection',
  'flux-fume',
  'lead-and-dross-dust',
  'dry-before-heat',
  'silicone-free',
  'rust-after-wash',
  'heavy-parts',
  'hung-up-boards',
  'own-alarms-protect',
  'other-rules-win',
  'advice-only',
] as const

const ALL_ISOLATED: readonly IsolationStep[] = ['stop-and-note', 'isolate-electricity', 'isolate-air-and-bleed', 'verify-zero-energy']
const COLD: readonly IsolationStep[] = [...ALL_ISOLATED, 'cool-down']
const OVER_POT: readonly IsolationStep[] = [...ALL_ISOLATED, 'cool-down', 'cover-pot']
const STOPPED: readonly IsolationStep[] = ['stop-and-note', 'isolate-electricity', 'verify-zero-energy']

const FLUXER: readonly CautionId[] = ['isolate-and-verify', 'bleed-pressure', 'fire-flux', 'cleaner-protection']
const TUNNEL: readonly CautionId[] = ['isolate-and-verify', 'hot-parts', 'fire-solvent', 'cleaner-protection', 'flux-fume']
const CHAIN: readonly CautionId[] = ['isolate-and-verify', 'pinch-points', 'hot-parts', 'no-water-in-solder', 'pot-always-hot']
const MOLTEN: readonly CautionId[] = ['no-water-in-solder', 'pot-always-hot', 'solder-protection', 'lead-and-dross-dust']

const CLEANERS: readonly ProductClass[] = ['aqueous-cleaner', 'engineered-cleaner', 'flux-remover', 'isopropyl-alcohol']
const CHAIN_LUBRICANTS: readonly ProductClass[] = ['ester-or-pao-oil', 'dry-film-graphite', 'dry-film-mos2', 'dry-film-ptfe']
const ALLOY: readonly ProductClass[] = ['same-certified-alloy']

type Kind = WorkItem['kind']
interface Rest {
  readonly isolation: readonly IsolationStep[]
  readonly cautions: readonly CautionId[]
  readonly check?: string
  readonly laterFor?: readonly CauseId[]
  readonly people?: number
  readonly electrician?: boolean
  readonly operator?: boolean
  readonly safety?: boolean
  readonly washer?: MinutesRange
  readonly neglected?: MinutesRange
  readonly products?: readonly ProductClass[]
  readonly passIf?: readonly PassCriterion[]
  readonly followedBy?: string
  readonly leadsTo?: readonly string[]
}

function work(id: string, section: WorkItem['section'], kind: Kind, mends: readonly CauseId[], minutesByHand: MinutesRange, rest: Rest): WorkItem {
  return {
    id,
    section,
    kind,
    mends,
    laterFor: rest.laterFor ?? [],
    ...(rest.check === undefined ? {} : { check: rest.check }),
    people: rest.people ?? 1,
    needsElectrician: rest.electrician ?? false,
    qualification: rest.electrician === true ? 'electrician' : rest.operator === true ? 'operator' : 'technician',
    safety: rest.safety ?? false,
    minutesByHand,
    ...(rest.washer === undefined ? {} : { minutesWithWasher: rest.washer }),
    ...(rest.neglected === undefined ? {} : { minutesWhenNeglected: rest.neglected }),
    isolation: rest.isolation,
    cautions: rest.cautions,
    products: rest.products ?? [],
    passIf: rest.passIf ?? [],
    ...(rest.followedBy === undefined ? {} : { followedBy: rest.followedBy }),
    leadsTo: rest.leadsTo ?? [],
  }
}

const NOTE: readonly IsolationStep[] = ['stop-and-note']

/**
 * Durations: common practice, no source; starting values, to be replaced by the site's own records. Limits of the hand
 * checks: process tables D1 [CP] unless tagged.
 */
export const WORK_ITEMS: readonly WorkItem[] = [
  // [CP] at every stop over 30 min.
  work('purge-nozzle', 'fluxer', 'cleaning', [], [3, 10], { operator: true, check: 'look-at-nozzle-tip', isolation: NOTE, cautions: ['fire-flux', 'flux-fume', 'bleed-pressure', 'cleaner-protection'] }),
  // [CP] 10-20 min and 30 min of soaking by hand; washing machine 10-20 min, 5 of them labour.
  work('clean-nozzle', 'fluxer', 'cleaning', ['clogged-nozzle'], [10, 50], { washer: [10, 20], check: 'look-at-nozzle-tip', isolation: ALL_ISOLATED, cautions: FLUXER, products: CLEANERS, passIf: [{ value: 'flowChange', unit: '%', lower: -5, upper: 5 }], leadsTo: ['align-nozzle'] }),
  work('align-nozzle', 'fluxer', 'adjustment', ['misoriented-nozzle'], [5, 10], { check: 'paper-test', isolation: ALL_ISOLATED, cautions: FLUXER }),
  work('replace-nozzle', 'fluxer', 'repair', [], [10, 20], { laterFor: ['clogged-nozzle'], check: 'look-at-nozzle-tip', isolation: ALL_ISOLATED, cautions: FLUXER, passIf: [{ value: 'flowChange', unit: '%', lower: -5, upper: 5 }], leadsTo: ['align-nozzle'] }),
  work('replace-seals', 'fluxer', 'repair', ['leaking-seal'], [15, 30], { safety: true, check: 'pressure-hold', isolation: ALL_ISOLATED, cautions: FLUXER, products: CLEANERS, passIf: [{ value: 'holdLoss', unit: '%', upper: 5 }] }),
  // [CP] 45-90 min; a spare set turns the stop into 10-20 min; washing machine 20-40 min, 10-15 labour.
  work('swap-exhaust-filter', 'fluxer', 'cleaning', ['saturated-filter'], [45, 90], { washer: [20, 40], safety: true, check: 'look-at-exhaust-filter', isolation: STOPPED, cautions: ['isolate-and-verify', 'fire-ducts', 'flux-fume', 'cleaner-protection'], products: CLEANERS }),
  work('replace-exhaust-filter', 'fluxer', 'repair', [], [30, 60], { laterFor: ['saturated-filter'], safety: true, check: 'look-at-exhaust-filter', isolation: STOPPED, cautions: ['isolate-and-verify', 'fire-ducts', 'flux-fume'] }),
  // [ASM] flux residue in ducts is a fire load [S8]; ducts must be openable.
  work('clean-ducts', 'fluxer', 'cleaning', [], [60, 180], { laterFor: ['saturated-filter'], safety: true, people: 2, check: 'look-at-exhaust-filter', isolation: STOPPED, cautions: ['isolate-and-verify', 'fire-ducts', 'flux-fume', 'cleaner-protection', 'heavy-parts'], products: ['aqueous-cleaner', 'engineered-cleaner'] }),
  work('replace-flux-hose', 'fluxer', 'repair', ['bad-flux-hose'], [15, 30], { check: 'look-at-flux-hose', isolation: ALL_ISOLATED, cautions: FLUXER, products: CLEANERS }),
  work('calibrate-dosing', 'fluxer', 'adjustment', ['dosing-off'], [15, 30], { check: 'weigh-dose', isolation: NOTE, cautions: ['bleed-pressure', 'fire-flux', 'flux-fume', 'cleaner-protection'], passIf: [{ value: 'doseDeviation', unit: '%', lower: -10, upper: 10 }] }),
  work('set-spray-stroke', 'fluxer', 'adjustment', ['stroke-too-wide'], [15, 30], { check: 'paper-test', isolation: NOTE, cautions: ['bleed-pressure', 'fire-flux', 'flux-fume', 'pinch-points'] }),
  work('repair-dosing', 'fluxer', 'repair', [], [30, 120], { laterFor: ['dosing-off', 'stroke-too-wide'], electrician: true, check: 'weigh-dose', isolation: ALL_ISOLATED, cautions: FLUXER, passIf: [{ value: 'doseDeviation', unit: '%', lower: -10, upper: 10 }] }),
  // [CP] per zone; washing machine for housings and wheels, never for motors.
  work('clean-blower', 'preheat', 'cleaning', ['clogged-blower'], [60, 120], { washer: [30, 40], electrician: true, check: 'look-at-blower', isolation: COLD, cautions: TUNNEL, products: CLEANERS }),
  work('replace-blower', 'preheat', 'repair', [], [60, 180], { laterFor: ['clogged-blower'], electrician: true, check: 'look-at-blower', isolation: COLD, cautions: ['isolate-and-verify', 'hot-parts', 'heavy-parts'] }),
  work('clean-emitters', 'preheat', 'cleaning', ['coated-emitter'], [30, 60], { check: 'look-at-emitters', isolation: COLD, cautions: [...TUNNEL, 'dry-before-heat'], products: CLEANERS }),
  work('replace-emitter', 'preheat', 'repair', [], [30, 120], { laterFor: ['coated-emitter'], electrician: true, check: 'look-at-emitters', isolation: COLD, cautions: ['isolate-and-verify', 'hot-parts'] }),
  work('clean-vents', 'preheat', 'cleaning', ['blocked-vents'], [60, 120], { washer: [20, 40], check: 'look-at-vents', isolation: COLD, cautions: TUNNEL, products: CLEANERS, passIf: [{ value: 'airSpread', unit: '%', upper: 15 }] }),
  work('replace-vent-plates', 'preheat', 'repair', [], [30, 60], { laterFor: ['blocked-vents'], check: 'look-at-vents', isolation: COLD, cautions: ['isolate-and-verify', 'hot-parts'], passIf: [{ value: 'airSpread', unit: '%', upper: 15 }] }),
  work('clean-thermocouple', 'preheat', 'cleaning', ['coated-thermocouple'], [5, 10], { check: 'look-at-thermocouple', isolation: COLD, cautions: TUNNEL, products: CLEANERS }),
  // [ASM] 15-30 min, as for the pot's probe.
  work('replace-thermocouple', 'preheat', 'repair', ['coated-thermocouple'], [15, 30], { electrician: true, check: 'look-at-thermocouple', isolation: COLD, cautions: ['isolate-and-verify', 'hot-parts'], passIf: [{ value: 'probeDifference', unit: '°C', lower: -2, upper: 2 }] }),
  work('replace-element', 'preheat', 'repair', ['ageing-element'], [60, 240], { electrician: true, check: 'compare-warm-up', isolation: COLD, cautions: ['isolate-and-verify', 'hot-parts'] }),
  work('clean-rails', 'transport', 'cleaning', ['dirty-rails'], [30, 60], { check: 'look-at-rails', isolation: OVER_POT, cautions: [...CHAIN, 'fire-solvent', 'cleaner-protection'], products: CLEANERS }),
  work('film-rails', 'transport', 'lubrication', [], [10, 20], { laterFor: ['dirty-rails'], check: 'look-at-rails', isolation: OVER_POT, cautions: [...CHAIN, 'silicone-free'], products: ['dry-film-graphite', 'dry-film-mos2', 'dry-film-ptfe'] }),
  work('align-rails', 'transport', 'repair', [], [30, 90], { laterFor: ['dirty-rails'], check: 'gauge-fingers', isolation: OVER_POT, cautions: CHAIN, passIf: [{ value: 'dwellDifference', unit: 's', lower: -0.2, upper: 0.2 }] }),
  // [CP] 45-90 min in place, 2-4 h off the machine for a chain that is kept up; washing machine 1-4 h in all; by hand
  // on a chain left alone for long about two days.
  work('clean-chain', 'transport', 'cleaning', ['dirty-chain', 'sticky-grease'], [45, 240], {
    washer: [60, 240],
    neglected: [840, 1080],
    people: 2,
    check: 'look-at-chain',
    isolation: OVER_POT,
    cautions: [...CHAIN, 'fire-solvent', 'cleaner-protection', 'rust-after-wash', 'heavy-parts'],
    products: CLEANERS,
    followedBy: 'lubricate-chain',
  }),
  work('lubricate-chain', 'transport', 'lubrication', ['dry-chain', 'sticky-grease', 'dirty-chain'], [15, 30], { people: 2, check: 'touch-lubricant', isolation: OVER_POT, cautions: [...CHAIN, 'silicone-free', 'rust-after-wash'], products: CHAIN_LUBRICANTS }),
  work('adjust-take-up', 'transport', 'adjustment', [], [10, 20], { laterFor: ['dirty-chain'], check: 'look-at-chain', isolation: OVER_POT, cautions: CHAIN }),
  work('clean-fingers', 'transport', 'cleaning', ['residue-on-fingers'], [60, 120], { washer: [20, 40], check: 'gauge-fingers', isolation: OVER_POT, cautions: [...CHAIN, 'fire-solvent', 'cleaner-protection'], products: CLEANERS, passIf: [{ value: 'dwellDifference', unit: 's', lower: -0.2, upper: 0.2 }] }),
  work('replace-fingers', 'transport', 'repair', [], [30, 120], { laterFor: ['residue-on-fingers'], check: 'gauge-fingers', isolation: OVER_POT, cautions: CHAIN, passIf: [{ value: 'dwellDifference', unit: 's', lower: -0.2, upper: 0.2 }] }),
  work('check-fingers-and-drive', 'transport', 'inspection', [], [5, 15], { check: 'gauge-fingers', isolation: OVER_POT, cautions: CHAIN }),
  work('run-empty-loops', 'transport', 'inspection', [], [10, 25], { operator: true, check: 'look-at-chain', isolation: NOTE, cautions: ['no-water-in-solder', 'pot-always-hot', 'hot-parts', 'pinch-points'] }),
  work('check-guards', 'transport', 'inspection', [], [5, 15], { safety: true, operator: true, isolation: NOTE, cautions: ['no-water-in-solder', 'pot-always-hot', 'hot-parts', 'pinch-points'] }),
  // [S10] replace at 3 % elongation, 1.5 % on fixed centres.
  work('replace-chain-and-sprockets', 'transport', 'repair', ['worn-sprocket'], [120, 480], { laterFor: ['dirty-chain', 'dry-chain', 'sticky-grease'], people: 2, check: 'look-at-sprockets', isolation: OVER_POT, cautions: [...CHAIN, 'heavy-parts'], followedBy: 'lubricate-chain', leadsTo: ['run-empty-loops'] }),
  work('replace-bearing', 'transport', 'repair', ['worn-bearing'], [120, 480], { people: 2, check: 'listen-to-bearings', isolation: OVER_POT, cautions: [...CHAIN, 'heavy-parts'], products: ['perfluorinated-grease'] }),
  work('repair-drive', 'transport', 'repair', ['worn-drive'], [120, 480], { people: 2, electrician: true, check: 'compare-speed-under-load', isolation: OVER_POT, cautions: [...CHAIN, 'heavy-parts'] }),
  work('skim-dross', 'pot', 'cleaning', ['dross-at-intake', 'low-level'], [10, 15], { operator: true, check: 'look-at-dross', isolation: NOTE, cautions: MOLTEN }),
  work('top-up-pot', 'pot', 'top-up', ['low-level'], [5, 10], { operator: true, check: 'dip-stick', isolation: NOTE, cautions: MOLTEN, products: ALLOY }),
  work('repair-bar-feeder', 'pot', 'repair', [], [30, 120], { laterFor: ['low-level'], electrician: true, check: 'dip-stick', isolation: STOPPED, cautions: ['isolate-and-verify', ...MOLTEN] }),
  work('strip-pump', 'pot', 'cleaning', ['dross-at-intake'], [120, 240], { people: 2, check: 'look-at-dross', isolation: STOPPED, cautions: ['isolate-and-verify', ...MOLTEN, 'heavy-parts'] }),
  work('repair-pump', 'pot', 'repair', [], [120, 480], { laterFor: ['dross-at-intake'], people: 2, electrician: true, check: 'look-at-dross', isolation: STOPPED, cautions: ['isolate-and-verify', ...MOLTEN, 'heavy-parts'] }),
  work('replace-pot-probe', 'pot', 'repair', ['drifting-pot-probe'], [15, 30], { electrician: true, check: 'reference-probe', isolation: STOPPED, cautions: ['isolate-and-verify', ...MOLTEN], passIf: [{ value: 'probeDifference', unit: '°C', lower: -2, upper: 2 }] }),
  work('replace-pot-element', 'pot', 'repair', ['ageing-element'], [60, 240], { electrician: true, check: 'compare-pot-warm-up', isolation: STOPPED, cautions: ['isolate-and-verify', ...MOLTEN] }),
  work('sample-bath', 'pot', 'sample', [], [10, 10], { isolation: NOTE, cautions: MOLTEN }),
  // What cannot wait, outside every budget. [ASM] minutes
  work('clear-standing-boards', 'transport', 'response', [], [5, 20], { operator: true, isolation: NOTE, cautions: ['hung-up-boards', 'pinch-points', 'hot-parts', 'pot-always-hot', 'solder-protection', 'no-water-in-solder', 'own-alarms-protect'] }),
  work('stop-for-low-level', 'pot', 'response', [], [5, 15], { operator: true, check: 'dip-stick', isolation: NOTE, cautions: [...MOLTEN, 'own-alarms-protect'] }),
  work('restore-exhaust', 'fluxer', 'response', [], [5, 30], { safety: true, check: 'look-at-exhaust-filter', isolation: NOTE, cautions: ['fire-ducts', 'flux-fume', 'fire-flux', 'own-alarms-protect'] }),
  work('stop-flux-leak', 'fluxer', 'response', [], [5, 30], { safety: true, check: 'pressure-hold', isolation: ALL_ISOLATED, cautions: ['isolate-and-verify', 'fire-flux', 'bleed-pressure', 'flux-fume', 'cleaner-protection', 'own-alarms-protect'] }),
]

const LOOK: readonly CautionId[] = ['hot-parts', 'pinch-points']
const AT_POT: readonly CautionId[] = ['pot-always-hot', 'no-water-in-solder', 'solder-protection']

/** Cautions of every check of the diagnosis. */
export const CHECK_CAUTIONS: Readonly<Record<string, readonly CautionId[]>> = {
  'look-in-log': ['advice-only'],
  'look-at-doors-and-exhaust': ['hot-parts'],
  'compare-with-second-instrument': ['hot-parts', 'licensed-electrician'],
  'look-at-boards': ['hot-parts'],
  'paper-test': ['fire-flux', 'flux-fume', 'pinch-points'],
  'look-at-nozzle-tip': ['fire-flux', 'bleed-pressure'],
  'pressure-hold': ['bleed-pressure', 'fire-flux'],
  'look-at-flux-hose': ['bleed-pressure', 'fire-flux', 'pinch-points'],
  'weigh-dose': ['fire-flux', 'flux-fume', 'bleed-pressure'],
  'look-at-exhaust-filter': ['fire-ducts', 'flux-fume'],
  'look-for-wet-chain': ['pinch-points', 'fire-flux'],
  'look-at-blower': ['isolate-and-verify', 'hot-parts'],
  'look-at-emitters': ['isolate-and-verify', 'hot-parts'],
  'look-at-vents': ['isolate-and-verify', 'hot-parts'],
  'look-at-thermocouple': ['isolate-and-verify', 'hot-parts'],
  'compare-warm-up': ['hot-parts'],
  'measure-element-current': ['licensed-electrician', 'hot-parts'],
  'look-at-rails': ['isolate-and-verify', ...LOOK],
  'look-at-chain': ['isolate-and-verify', ...LOOK],
  'touch-lubricant': ['isolate-and-verify', ...LOOK],
  'gauge-fingers': ['isolate-and-verify', ...LOOK],
  'look-at-sprockets': ['isolate-and-verify', ...LOOK],
  'listen-to-bearings': LOOK,
  'compare-speed-under-load': LOOK,
  'dip-stick': AT_POT,
  'look-at-dross': [...AT_POT, 'lead-and-dross-dust'],
  'reference-probe': AT_POT,
  'compare-pot-warm-up': ['pot-always-hot'],
}
