import type { CauseId } from '../line/causes.js'
import type { CautionId, IsolationStep, MinutesRange, WorkItem } from './work-catalogue.js'

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

type Kind = WorkItem['kind']
interface Rest {
  readonly isolation: readonly IsolationStep[]
  readonly cautions: readonly CautionId[]
  readonly people?: number
  readonly electrician?: boolean
  readonly washer?: MinutesRange
  readonly neglected?: MinutesRange
  readonly followedBy?: string
}

function work(id: string, section: WorkItem['section'], kind: Kind, mends: readonly CauseId[], minutesByHand: MinutesRange, rest: Rest): WorkItem {
  return {
    id,
    section,
    kind,
    mends,
    people: rest.people ?? 1,
    needsElectrician: rest.electrician ?? false,
    minutesByHand,
    ...(rest.washer === undefined ? {} : { minutesWithWasher: rest.washer }),
    ...(rest.neglected === undefined ? {} : { minutesWhenNeglected: rest.neglected }),
    isolation: rest.isolation,
    cautions: rest.cautions,
    ...(rest.followedBy === undefined ? {} : { followedBy: rest.followedBy }),
  }
}

/** Durations: common practice, no source; starting values, to be replaced by the site's own records. */
export const WORK_ITEMS: readonly WorkItem[] = [
  // [CP] 10-20 min and 30 min of soaking by hand; washing machine 10-20 min, 5 of them labour.
  work('clean-nozzle', 'fluxer', 'cleaning', ['clogged-nozzle'], [10, 50], { washer: [10, 20], isolation: ALL_ISOLATED, cautions: FLUXER }),
  work('align-nozzle', 'fluxer', 'adjustment', ['misoriented-nozzle'], [5, 10], { isolation: ALL_ISOLATED, cautions: FLUXER }),
  work('replace-seals', 'fluxer', 'repair', ['leaking-seal'], [15, 30], { isolation: ALL_ISOLATED, cautions: FLUXER }),
  // [CP] 45-90 min; with a spare set 10-20 min of line stop, the dirty set 20-40 min in the washing machine.
  work('swap-exhaust-filter', 'fluxer', 'cleaning', ['saturated-filter'], [45, 90], { washer: [10, 40], isolation: ALL_ISOLATED, cautions: ['isolate-and-verify', 'fire-solvent', 'fire-flux', 'fire-ducts', 'cleaner-protection', 'flux-fume'] }),
  work('replace-flux-hose', 'fluxer', 'repair', ['bad-flux-hose'], [15, 30], { isolation: ALL_ISOLATED, cautions: FLUXER }),
  work('calibrate-dosing', 'fluxer', 'adjustment', ['dosing-off'], [15, 30], { isolation: ['stop-and-note'], cautions: ['bleed-pressure', 'fire-flux', 'flux-fume', 'cleaner-protection'] }),
  work('set-spray-stroke', 'fluxer', 'adjustment', ['stroke-too-wide'], [15, 30], { isolation: ['stop-and-note'], cautions: ['bleed-pressure', 'fire-flux', 'flux-fume', 'pinch-points'] }),
  // [CP] per zone; washing machine for housings and wheels, never for motors.
  work('clean-blower', 'preheat', 'cleaning', ['clogged-blower'], [60, 120], { washer: [30, 40], electrician: true, isolation: COLD, cautions: TUNNEL }),
  work('clean-emitters', 'preheat', 'cleaning', ['coated-emitter'], [30, 60], { isolation: COLD, cautions: [...TUNNEL, 'dry-before-heat'] }),
  work('clean-vents', 'preheat', 'cleaning', ['blocked-vents'], [60, 120], { washer: [20, 40], isolation: COLD, cautions: TUNNEL }),
  work('clean-thermocouple', 'preheat', 'cleaning', ['coated-thermocouple'], [5, 10], { isolation: COLD, cautions: TUNNEL }),
  // [ASM] 15-30 min, as for the pot's probe.
  work('replace-thermocouple', 'preheat', 'repair', ['coated-thermocouple'], [15, 30], { electrician: true, isolation: COLD, cautions: ['isolate-and-verify', 'hot-parts'] }),
  work('replace-element', 'preheat', 'repair', ['ageing-element'], [60, 240], { electrician: true, isolation: COLD, cautions: ['isolate-and-verify', 'hot-parts'] }),
  work('clean-rails', 'transport', 'cleaning', ['dirty-rails'], [30, 60], { isolation: OVER_POT, cautions: [...CHAIN, 'fire-solvent', 'cleaner-protection'] }),
  // [CP] 45-90 min in place, 2-4 h off the machine for a chain that is kept up; washing machine 1-4 h in all; by hand
  // on a chain left alone for long about two days.
  work('clean-chain', 'transport', 'cleaning', ['dirty-chain', 'sticky-grease'], [45, 240], {
    washer: [60, 240],
    neglected: [840, 1080],
    people: 2,
    isolation: OVER_POT,
    cautions: [...CHAIN, 'fire-solvent', 'cleaner-protection', 'rust-after-wash', 'heavy-parts'],
    followedBy: 'lubricate-chain',
  }),
  work('lubricate-chain', 'transport', 'lubrication', ['dry-chain', 'sticky-grease', 'dirty-chain'], [15, 30], { people: 2, isolation: OVER_POT, cautions: [...CHAIN, 'silicone-free', 'rust-after-wash'] }),
  work('clean-fingers', 'transport', 'cleaning', ['residue-on-fingers'], [60, 120], { washer: [20, 40], isolation: OVER_POT, cautions: [...CHAIN, 'fire-solvent', 'cleaner-protection'] }),
  work('replace-chain-and-sprockets', 'transport', 'repair', ['worn-sprocket'], [120, 480], { people: 2, isolation: OVER_POT, cautions: [...CHAIN, 'heavy-parts'], followedBy: 'lubricate-chain' }),
  work('replace-bearing', 'transport', 'repair', ['worn-bearing'], [120, 480], { people: 2, isolation: OVER_POT, cautions: [...CHAIN, 'heavy-parts'] }),
  work('repair-drive', 'transport', 'repair', ['worn-drive'], [120, 480], { people: 2, electrician: true, isolation: OVER_POT, cautions: [...CHAIN, 'heavy-parts'] }),
  work('skim-dross', 'pot', 'cleaning', ['dross-at-intake', 'low-level'], [10, 15], { isolation: ['stop-and-note'], cautions: MOLTEN }),
  work('top-up-pot', 'pot', 'top-up', ['low-level'], [5, 10], { isolation: ['stop-and-note'], cautions: MOLTEN }),
  work('strip-pump', 'pot', 'cleaning', ['dross-at-intake'], [120, 240], { people: 2, isolation: STOPPED, cautions: ['isolate-and-verify', ...MOLTEN, 'heavy-parts'] }),
  work('replace-pot-probe', 'pot', 'repair', ['drifting-pot-probe'], [15, 30], { electrician: true, isolation: STOPPED, cautions: ['isolate-and-verify', ...MOLTEN] }),
  work('replace-pot-element', 'pot', 'repair', ['ageing-element'], [60, 240], { electrician: true, isolation: STOPPED, cautions: ['isolate-and-verify', ...MOLTEN] }),
  work('sample-bath', 'pot', 'sample', [], [10, 10], { isolation: ['stop-and-note'], cautions: MOLTEN }),
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
