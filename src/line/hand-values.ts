import type { LineStateName, Section } from './feature-value.js'
import { featureSpec, type FeatureSpec } from './features/feature-spec.js'
import type { LineDefinition } from './line-definition.js'
import type { RoundPeriod } from './round-periods.js'

/** What a hand-measured value may be before somebody has to act. */
export type HandBand =
  /** Fixed ends, in the value's unit. */
  | { readonly kind: 'fixed'; readonly lower?: number; readonly upper?: number }
  /** Share of the target, or of the line's own level where no target is given. */
  | { readonly kind: 'share'; readonly share: number }
  /** Distance from the target, or from the line's own level, in the value's unit. */
  | { readonly kind: 'distance'; readonly distance: number }
  | { readonly kind: 'none' }

/** A value that people measure by hand at a round. */
export interface HandValue {
  readonly check: string
  readonly value: string
  readonly section: Exclude<Section, 'line'>
  readonly unit: string
  /** What cannot be a true measurement: such an entry is refused. */
  readonly possibleMin: number
  readonly possibleMax: number
  readonly band: HandBand
  /** Where the band comes from: [S..] source of the process knowledge, [CP] common practice, [MEM] from memory, [ASM] assumed. */
  readonly source: string
  /** Standard deviation taken for a chart before the line has its own, in the unit, and as a share of the level. */
  readonly sigma: number
  readonly sigmaShare?: number
  readonly suspicious: 'up' | 'down' | 'both'
  readonly perZone: boolean
  readonly perRecipe: boolean
  /** Entered but not charted: the parts of a derived value. */
  readonly charted: boolean
  /** Computed from the other values of the same check instead of being entered; undefined where one is missing. */
  readonly derive?: (values: Readonly<Record<string, number>>) => number | undefined
  /** English, for charts. */
  readonly title: string
}

type Details = Partial<Pick<HandValue, 'sigmaShare' | 'suspicious' | 'perZone' | 'perRecipe' | 'charted' | 'derive'>>

function hand(id: string, section: HandValue['section'], unit: string, [possibleMin, possibleMax]: readonly [number, number], band: HandBand, source: string, sigma: number, title: string, details: Details = {}): HandValue {
  const [check = '', value = ''] = id.split('.')
  return { check, value, section, unit, possibleMin, possibleMax, band, source, sigma, title, suspicious: 'both', perZone: false, perRecipe: false, charted: true, ...details }
}

const NONE: HandBand = { kind: 'none' }
const difference = (a: string, b: string) => (values: Readonly<Record<string, number>>): number | undefined => (values[a] === undefined || values[b] === undefined ? undefined : values[a] - values[b])

/** Values people measure at the rounds, in the order a board travels. A site's own targets and bands stand in its definition. */
export const HAND_VALUES: readonly HandValue[] = [
  hand('weigh-dose.grams', 'fluxer', 'g', [0.02, 100], { kind: 'share', share: 0.1 }, '[CP] dose within 10 % of the recipe', 0.02, 'Fluxer: spray weight per board', { sigmaShare: 0.033, perRecipe: true }),
  hand('paper-test.left', 'fluxer', '%', [0, 100], { kind: 'fixed', lower: 95 }, '[ASM] any gap fails', 2, 'Fluxer: paper covered, left', { suspicious: 'down' }),
  hand('paper-test.middle', 'fluxer', '%', [0, 100], { kind: 'fixed', lower: 95 }, '[ASM] any gap fails', 2, 'Fluxer: paper covered, middle', { suspicious: 'down' }),
  hand('paper-test.right', 'fluxer', '%', [0, 100], { kind: 'fixed', lower: 95 }, '[ASM] any gap fails', 2, 'Fluxer: paper covered, right', { suspicious: 'down' }),
  hand('paper-test.left-right', 'fluxer', '%', [-100, 100], { kind: 'fixed', lower: -5, upper: 5 }, '[ASM]', 2, 'Fluxer: paper covered, left less right', { derive: difference('left', 'right') }),
  hand('pressure-hold.loss', 'fluxer', '%', [0, 100], { kind: 'fixed', upper: 5 }, '[CP] below 5 % in 5 min', 1, 'Fluxer: pressure lost in 5 min with the spray off', { suspicious: 'up' }),
  hand('look-at-exhaust-filter.pressure', 'fluxer', 'Pa', [0, 5000], { kind: 'share', share: 0.5 }, '[ASM]', 5, 'Exhaust filter: differential pressure', { sigmaShare: 0.15, suspicious: 'up' }),
  hand('look-at-vents.velocity-spread', 'preheat', '%', [0, 100], { kind: 'fixed', upper: 15 }, '[CP] below 15 % across the width', 3, 'Preheat: spread of the air velocity across the width', { suspicious: 'up' }),
  hand('look-at-thermocouple.depth-off', 'preheat', 'mm', [-60, 60], { kind: 'fixed', lower: -1, upper: 1 }, '[ASM]', 0.4, 'thermocouple off its depth mark', { perZone: true }),
  hand('profile-board.topside', 'preheat', '°C', [15, 220], { kind: 'distance', distance: 5 }, '[ASM]; flux data sheet wins', 1.7, 'Profile board: topside at the end of preheat', { perRecipe: true }),
  hand('look-at-rails.pull', 'transport', 'N', [0, 1000], { kind: 'share', share: 0.3 }, '[ASM]', 1, 'Rails: pull at a fixed place', { sigmaShare: 0.1, suspicious: 'up' }),
  hand('look-at-chain.stiff-links', 'transport', 'count', [0, 1000], { kind: 'fixed', upper: 0 }, '[ASM]', 0.34, 'Chain: stiff links found', { suspicious: 'up' }),
  hand('chain-length.length', 'transport', 'mm', [10, 20_000], NONE, '[S10]', 1, 'Chain: measured length', { charted: false }),
  hand('chain-length.links', 'transport', 'count', [5, 1000], NONE, '[S10] 20 links or more', 1, 'Chain: links measured', { charted: false }),
  hand('chain-length.pitch', 'transport', 'mm', [2, 300], NONE, '[S10] worn out at 3 % over the new pitch, 1.5 % on fixed centers', 0.02, 'Chain: length of a link', { sigmaShare: 0.002, suspicious: 'up', derive: ({ length, links }) => (length === undefined || links === undefined ? undefined : length / links) }),
  hand('gauge-fingers.bent', 'transport', 'count', [0, 2000], { kind: 'fixed', upper: 0 }, '[ASM]', 0.34, 'Fingers: bent or fouled ones found', { suspicious: 'up' }),
  hand('contact-time.left', 'transport', 's', [0.1, 30], { kind: 'fixed', lower: 2, upper: 5 }, '[S4b] 2-4 s, [MEM] lead-free often 3-5 s', 0.2, 'Contact time, left', { perRecipe: true }),
  hand('contact-time.right', 'transport', 's', [0.1, 30], { kind: 'fixed', lower: 2, upper: 5 }, '[S4b] 2-4 s, [MEM] lead-free often 3-5 s', 0.2, 'Contact time, right', { perRecipe: true }),
  hand('contact-time.difference', 'transport', 's', [-30, 30], { kind: 'fixed', lower: -0.2, upper: 0.2 }, '[S6] defects rise above 0.2 s side to side', 0.067, 'Contact time, left less right', { derive: difference('left', 'right') }),
  hand('compare-speed-under-load.empty', 'transport', 's', [1, 3600], NONE, '[CP]', 1, 'Chain: time of a mark, empty', { charted: false }),
  hand('compare-speed-under-load.loaded', 'transport', 's', [1, 3600], NONE, '[CP]', 1, 'Chain: time of a mark, loaded', { charted: false }),
  hand('compare-speed-under-load.slip', 'transport', '%', [-50, 100], { kind: 'fixed', upper: 1 }, '[ASM]', 0.3, 'Chain: slower under load', { suspicious: 'up', derive: ({ empty, loaded }) => (empty === undefined || loaded === undefined ? undefined : (loaded / empty - 1) * 100) }),
  hand('listen-to-bearings.warmest', 'transport', '°C', [0, 250], { kind: 'distance', distance: 10 }, '[ASM]', 3, 'Bearings: warmest, from outside', { suspicious: 'up' }),
  hand('empty-loops.loops', 'transport', 'count', [0, 50], { kind: 'fixed', lower: 2 }, '[CP] 2-3 loops', 1, 'Chain: empty loops run', { charted: false }),
  hand('dip-stick.level', 'pot', 'mm', [-200, 200], { kind: 'fixed', lower: -5, upper: 5 }, '[CP] band of 5 mm each side', 1.7, 'Pot: level by dip-stick'),
  hand('bars-added.kg', 'pot', 'kg', [0, 1000], NONE, '[CP]', 2, 'Pot: bars added', { sigmaShare: 0.3, suspicious: 'up' }),
  hand('dross-removed.kg', 'pot', 'kg', [0, 500], NONE, '[CP]', 1, 'Pot: dross removed', { sigmaShare: 0.3, suspicious: 'up' }),
  hand('wave-gauge.height', 'pot', 'mm', [0, 60], { kind: 'fixed', lower: 7, upper: 12 }, '[CP]', 0.5, 'Wave: height by gauge', { perRecipe: true }),
  hand('reference-probe.probe', 'pot', '°C', [100, 450], NONE, '[CP]', 1, 'Pot: reference probe', { charted: false }),
  hand('reference-probe.reading', 'pot', '°C', [100, 450], NONE, '[CP]', 1, 'Pot: reading beside it', { charted: false }),
  hand('reference-probe.difference', 'pot', '°C', [-350, 350], { kind: 'fixed', lower: -2, upper: 2 }, '[CP] below 2 °C', 0.6, 'Pot: reading less reference probe', { derive: difference('reading', 'probe') }),
  hand('bath-analysis.copper', 'pot', '%', [0, 5], NONE, '[S19] tin-lead 0.30 %; others: the contract', 0.03, 'Bath: copper', { suspicious: 'up' }),
  hand('bath-analysis.lead', 'pot', '%', [0, 100], NONE, '[S19] lead-free below 0.1 %', 0.02, 'Bath: lead', { suspicious: 'up' }),
  hand('bath-analysis.gold', 'pot', '%', [0, 5], NONE, '[S19] tin-lead 0.20 %', 0.02, 'Bath: gold', { suspicious: 'up' }),
]

/** Worn out at this stretch of the pitch [S10]. */
const STRETCH_MAX = 0.03
/** Adopted from the first three values where the site gives no target. */
const CENTRE_VALUES = 3
const ANY_STATE: readonly LineStateName[] = ['off', 'warm-up', 'settling', 'production', 'idle', 'changeover', 'maintenance', 'run-in']
/** Values in a week of five days and two shifts. */
const PER_WEEK: Readonly<Record<RoundPeriod, number>> = { shift: 10, day: 5, week: 1, month: 0.25, event: 1 }

/** Id of the feature a hand-measured value is charted under, e.g. `hand.weigh-dose.grams` or `hand.look-at-thermocouple.depth-off.zone-2`. */
export function handFeature(check: string, value: string, zone?: number): string {
  return `hand.${check}.${value}${zone === undefined ? '' : `.zone-${zone}`}`
}

/** Whether a feature is a hand-measured value. */
export function isHandFeature(feature: string): boolean {
  return feature.startsWith('hand.')
}

/** Values of a line: the catalogue's and those of the site's own checks. */
export function handValues(definition: LineDefinition): readonly HandValue[] {
  const own = (definition.rounds?.own ?? []).flatMap(({ check, section, values }) =>
    values.map((value) => hand(`${check}.${value.value}`, section, value.unit, [value.possibleMin, value.possibleMax], NONE, 'the site', sigmaOfOwn(value), value.title['en-US'])),
  )
  // What recipes want differently has a chart for each of them.
  return [...HAND_VALUES, ...own].map((value) => (value.perRecipe || siteLimits(definition, value)?.recipes === undefined ? value : { ...value, perRecipe: true }))
}

/** A site's value between two limits takes them for three sigmas; without them a hundredth of what is possible. [ASM] */
function sigmaOfOwn({ lower, upper, possibleMin, possibleMax }: { readonly lower?: number | undefined; readonly upper?: number | undefined; readonly possibleMin: number; readonly possibleMax: number }): number {
  return lower !== undefined && upper !== undefined && upper > lower ? (upper - lower) / 6 : (possibleMax - possibleMin) / 100
}

/** Values of a check in their order, those that are computed last. */
export function handValuesOf(definition: LineDefinition, check: string): readonly HandValue[] {
  return handValues(definition).filter((value) => value.check === check)
}

/** Limits of action for a value. `level` is the target, or the level the line itself has shown; without it relative bands say nothing. */
export interface HandLimits {
  readonly lower?: number
  readonly upper?: number
  /** Level the limits rest on. */
  readonly level?: number
}

/**
 * Limits of a value on a line: the site's own, else those of the machine's facts, else the catalogue's.
 *
 * @param ownLevel level the line has shown so far with this recipe, where no target is given
 * @param recipe that was run; what the site says of it comes before what it says of all
 */
export function handLimits(definition: LineDefinition, value: HandValue, ownLevel?: number, recipe = ''): HandLimits {
  const { recipes, ...forAll } = siteLimits(definition, value) ?? {}
  const site: SiteLimits = { ...forAll, ...ofRecipe(recipes, recipe) }
  const level = site.target ?? ownLevel
  const fixed = { ...catalogueLimits(definition, value, level), ...(site.lower === undefined ? {} : { lower: site.lower }), ...(site.upper === undefined ? {} : { upper: site.upper }) }
  return level === undefined ? fixed : { ...fixed, level }
}

interface SiteLimits {
  readonly target?: number | undefined
  readonly lower?: number | undefined
  readonly upper?: number | undefined
  readonly recipes?: Readonly<Record<string, Omit<SiteLimits, 'recipes'>>> | undefined
}

function ofRecipe(recipes: SiteLimits['recipes'], recipe: string): Omit<SiteLimits, 'recipes'> | undefined {
  return recipes !== undefined && Object.hasOwn(recipes, recipe) ? recipes[recipe] : undefined
}

/** Recipes for which the site wants something else of a value. */
export function recipesOf(definition: LineDefinition, value: HandValue): readonly string[] {
  return Object.keys(siteLimits(definition, value)?.recipes ?? {})
}

function siteLimits(definition: LineDefinition, { check, value }: HandValue): SiteLimits | undefined {
  const own = definition.rounds?.own.find((candidate) => candidate.check === check)?.values.find((candidate) => candidate.value === value)
  return definition.rounds?.values[`${check}.${value}`] ?? own
}

function catalogueLimits(definition: LineDefinition, value: HandValue, level: number | undefined): HandLimits {
  const { pot, conveyor } = definition.machine
  const id = `${value.check}.${value.value}`
  if (id === 'dip-stick.level' && pot.levelBandMm !== undefined) return { lower: pot.levelBandMm[0], upper: pot.levelBandMm[1] }
  if (id === 'chain-length.pitch' && conveyor.chainPitchMm !== undefined) return { upper: conveyor.chainPitchMm * (1 + STRETCH_MAX) }
  if (value.check === 'bath-analysis') return bathLimits(value.value, pot.alloy)
  const { band } = value
  if (band.kind === 'fixed') return { ...(band.lower === undefined ? {} : { lower: band.lower }), ...(band.upper === undefined ? {} : { upper: band.upper }) }
  if (band.kind === 'none' || level === undefined) return {}
  const reach = band.kind === 'share' ? band.share * Math.abs(level) : band.distance
  return { ...(value.suspicious === 'up' ? {} : { lower: level - reach }), ...(value.suspicious === 'down' ? {} : { upper: level + reach }) }
}

/** Extract of a published table for tin-lead baths, and lead in lead-free ones [S19]; the contract's revision wins. */
function bathLimits(metal: string, alloy: string | undefined): HandLimits {
  const isTinLead = alloy !== undefined && /pb|lead(?!.?free)|sn ?6[0-3]/i.test(alloy)
  if (isTinLead) return metal === 'copper' ? { upper: 0.3 } : metal === 'gold' ? { upper: 0.2 } : {}
  return metal === 'lead' ? { upper: 0.1 } : {}
}

/**
 * Charts of hand-measured values: limits adopted from the first few values, or from the site's target, since such values
 * come once a shift or a month. They belong to no channel, so a line without any sensor has them too.
 *
 * @param periodOf how often the check of a value comes on this line
 */
export function handFeatures(definition: LineDefinition, periodOf: (check: string) => RoundPeriod = () => 'day'): readonly FeatureSpec[] {
  return handValues(definition).filter(({ charted }) => charted).flatMap((value) => {
    const zones = value.perZone ? definition.machine.zones.map((_, index) => index + 1) : [undefined]
    const { target, recipes = {} } = siteLimits(definition, value) ?? {}
    const targets = Object.fromEntries(Object.entries(recipes).flatMap(([recipe, own]) => (own.target === undefined ? [] : [[recipe, own.target]])))
    const period = periodOf(value.check)
    return zones.map((zone) =>
      featureSpec(handFeature(value.check, value.value, zone), {
        section: value.section, channels: [], unit: value.unit, suspicious: value.suspicious, mechanism: `hand-${value.check}`, perRecipe: value.perRecipe, sigmaFloor: value.sigma / 3,
        windowS: Math.round((80 * 3600) / PER_WEEK[period]), pointsPerWeek: PER_WEEK[period], states: ANY_STATE,
        standard: { sigma: value.sigma, ...(value.sigmaShare === undefined ? {} : { sigmaShare: value.sigmaShare }), ...(target === undefined ? {} : { centre: target }), ...(Object.keys(targets).length === 0 ? {} : { centreOfRecipe: targets }), centreValues: CENTRE_VALUES },
        title: zone === undefined ? value.title : `Zone ${zone}: ${value.title}`, ...(zone === undefined ? {} : { zone }),
      }),
    )
  })
}
