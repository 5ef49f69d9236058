import { median } from './minute-block.js'

/** How the efforts of the zones move together, learned once and then left alone. Plain JSON. */
export interface CommonEffort {
  /** By zone; empty while it is learned. */
  zones: Record<string, ZoneShare>
  /** Usual efforts by recipe and zone, of recipes that were trained long enough; others have those of `zones`. */
  recipes: Record<string, Record<string, number>>
  windows: EffortWindow[]
  /** Windows from before the zones' load was known: what they teach waits for it. */
  waiting: LoadedWindow[]
  /** The last windows since, and what they taught of how the zones move together; absent before. */
  recent?: RecentWindow[]
  moved?: Record<string, Moved>
}

interface RecentWindow {
  readonly recipe: string
  readonly ratios: Ratios
}

/** Sums over changes of the others beside those of the zone. */
interface Moved {
  squares: number
  products: number
}

export interface ZoneShare {
  /** Effort at which nothing is corrected. */
  readonly usual: number
  /** Share of the others' relative change that this zone goes along with. */
  readonly slope: number
}

export interface EffortWindow {
  readonly recipe: string
  /** Effort by zone; two zones at least. */
  readonly efforts: Readonly<Record<string, number>>
}

/** A window whose efforts still hold what its boards took. */
export interface LoadedWindow extends EffortWindow {
  readonly boards: number
}

/** About seven hours of production. */
const TRAINING_WINDOWS = 40
/** An hour of a recipe tells what its zones need. [ASM] */
const RECIPE_WINDOWS = 6
/** Boards and air take more from the first zone than from the last, but not several times as much. [ASM] */
const SLOPE_MAX = 1.5
/**
 * What the air drawn off, the room and the mains change, they change by the same share in every zone [B2: heat lost goes with the air
 * drawn]: that stands until the zones have moved together by more than chance moves each of them, which is this share of the effort. [ASM]
 */
const USUAL_SLOPE = 1
const CHANCE_SHARE = 0.01
/** A zone further from the middle of the others than this share is off by itself; it then counts as this far off. [ASM] */
const OFF_SHARE = 0.04
/** Air, boards and mains change a zone's effort by less than half. [ASM] */
const COMMON_SHARE_MAX = 0.5

/** Share by which the others must have moved within an hour to teach how a zone goes along with them: what fouls or ages in them is slower, air, boards and mains are not. [ASM] */
const MOVE_MIN = 0.06
const MOVE_WINDOWS = 6
const RECENT_WINDOWS = 12
/** Weight of the slope from the training, in squares of shares: as much as one change by a fifth. [ASM] */
const TRAINED_WEIGHT = 0.05
/** A zone that went along by another share than these did something of its own at the same time. [ASM] */
const GOES_ALONG = { min: 0.3, max: 2.5 } as const

/** Windows that tell what is common now. */
const SHARE_WINDOWS = 2

export function createCommonEffort(): CommonEffort {
  return { zones: {}, recipes: {}, windows: [], waiting: [] }
}

/**
 * Effort of each zone at the usual effort of the others: boards, exhaust, draught and mains voltage move all zones together,
 * what fouls or ages in one does not. Where the zones turn out to have nothing in common the slope is near 0 and the effort
 * stays as it is. Usual efforts are fixed after the training: what went on learning would learn the fault; slopes go on being learned
 * from what the zones do together within an hour. A zone heard for the first time after the training starts it anew.
 *
 * @returns by zone; undefined while the shares are learned
 */
export function effortsBesideOthers(common: CommonEffort, window: EffortWindow): Record<string, number> | undefined {
  const zones = Object.keys(window.efforts)
  if (zones.some((zone) => common.zones[zone] === undefined)) {
    common.zones = {}
    common.recipes = {}
    common.windows = common.windows.filter(({ efforts }) => zones.every((zone) => efforts[zone] !== undefined) && zones.length === Object.keys(efforts).length)
    common.windows.push(window)
    if (common.windows.length >= TRAINING_WINDOWS) learn(common, zones)
    return undefined
  }
  const usual = usualOf(common, window.recipe)
  const ratios = ratiosOf(window, usual)
  noteMoves(common, { recipe: window.recipe, ratios })
  return Object.fromEntries(zones.map((zone) => [zone, (window.efforts[zone] as number) - slopeOf(common, zone) * (usual[zone] as number) * (othersOf(ratios, zone) - 1)]))
}

/** What the zones do within an hour they do together: that goes on teaching their slopes, which slow faults cannot bend. */
function noteMoves(common: CommonEffort, window: RecentWindow): void {
  const recent = (common.recent ??= [])
  const moved = (common.moved ??= {})
  const before = recent.slice(0, Math.max(0, recent.length - MOVE_WINDOWS + 1)).findLast(({ recipe }) => recipe === window.recipe)
  recent.push(window)
  if (recent.length > RECENT_WINDOWS) recent.shift()
  if (before === undefined) return
  for (const zone of Object.keys(window.ratios)) {
    const others = othersOf(window.ratios, zone) - othersOf(before.ratios, zone)
    const own = (window.ratios[zone] as number) - (before.ratios[zone] as number)
    if (Math.abs(others) < MOVE_MIN || own / others < GOES_ALONG.min || own / others > GOES_ALONG.max) continue
    const sums = (moved[zone] ??= { squares: 0, products: 0 })
    sums.squares += others * others
    sums.products += others * own
  }
}

function slopeOf({ zones, moved }: CommonEffort, zone: string): number {
  const { slope } = zones[zone] as ZoneShare
  const { squares, products } = moved?.[zone] ?? { squares: 0, products: 0 }
  return Math.min(SLOPE_MAX, (TRAINED_WEIGHT * slope + products) / (TRAINED_WEIGHT + squares))
}

/** Keeps a window until the load of its zones is known. */
export function keepLoaded(common: CommonEffort, window: LoadedWindow): void {
  common.waiting.push(window)
  if (common.waiting.length > TRAINING_WINDOWS) common.waiting.shift()
}

/** Learns from the windows kept. @param atUsualLoad effort of a zone in them, brought to the usual load */
export function takeLoaded(common: CommonEffort, atUsualLoad: (zone: string, window: LoadedWindow) => number): void {
  const waiting = common.waiting
  common.waiting = []
  for (const window of waiting) {
    effortsBesideOthers(common, { recipe: window.recipe, efforts: Object.fromEntries(Object.keys(window.efforts).map((zone) => [zone, atUsualLoad(zone, window)])) })
  }
}

/**
 * By which share the zones together need more than usual: what the exhaust, the room, the mains or the boards ask of all of them.
 *
 * @returns undefined while that is learned, and after a changeover until the recipe's first window
 */
export function commonShare({ recent = [] }: CommonEffort, recipe: string): number | undefined {
  const last = recent.slice(-SHARE_WINDOWS).filter((window) => window.recipe === recipe)
  if (recent.at(-1)?.recipe !== recipe || last.length === 0) return undefined
  return last.reduce((sum, { ratios }) => sum + middleOf(Object.values(ratios)) - 1, 0) / last.length
}

type Ratios = Readonly<Record<string, number>>

function usualOf({ zones, recipes }: Pick<CommonEffort, 'zones' | 'recipes'>, recipe: string): Record<string, number> {
  // A recipe may be called like something every object has.
  const trained = Object.hasOwn(recipes, recipe) ? recipes[recipe] : undefined
  return trained ?? Object.fromEntries(Object.entries(zones).map(([zone, { usual }]) => [zone, usual]))
}

function ratiosOf({ efforts }: EffortWindow, usual: Readonly<Record<string, number>>): Ratios {
  return Object.fromEntries(Object.entries(efforts).map(([zone, effort]) => {
    const beside = usual[zone] ?? 0
    return [zone, beside > 0 ? Math.min(1 + COMMON_SHARE_MAX, Math.max(1 - COMMON_SHARE_MAX, effort / beside)) : 1]
  }))
}

/** Of two the one that changed less is the middle. */
function middleOf(ratios: readonly number[]): number {
  const [one, two] = ratios as [number, number]
  return ratios.length !== 2 ? median(ratios) : Math.abs(one - 1) <= Math.abs(two - 1) ? one : two
}

/** Mean effort of the other zones beside their usual one; one of them that is off by itself hardly moves it. */
function othersOf(ratios: Ratios, zone: string): number {
  const others = Object.entries(ratios).filter(([one]) => one !== zone).map(([, ratio]) => ratio)
  const middle = middleOf(others)
  return others.reduce((sum, ratio) => sum + Math.min(middle + OFF_SHARE, Math.max(middle - OFF_SHARE, ratio)), 0) / others.length
}

function learn(common: CommonEffort, zones: readonly string[]): void {
  const { windows } = common
  const mediansOf = (some: readonly EffortWindow[]): Record<string, number> => Object.fromEntries(zones.map((zone) => [zone, median(some.map(({ efforts }) => efforts[zone] as number))]))
  const overall = mediansOf(windows)
  const recipes = [...new Set(windows.map(({ recipe }) => recipe))].map((recipe) => ({ recipe, some: windows.filter((window) => window.recipe === recipe) }))
  common.recipes = Object.fromEntries(recipes.filter(({ some }) => some.length >= RECIPE_WINDOWS).map(({ recipe, some }) => [recipe, mediansOf(some)]))
  common.zones = Object.fromEntries(zones.map((zone) => [zone, { usual: overall[zone] as number, slope: USUAL_SLOPE }]))
  const rows = windows.map((window) => ({ recipe: window.recipe, ratios: ratiosOf(window, usualOf(common, window.recipe)) }))
  common.zones = Object.fromEntries(zones.map((zone) => {
    const pairs = rows.map(({ recipe, ratios }) => ({ recipe, others: othersOf(ratios, zone), effort: ratios[zone] as number }))
    return [zone, { usual: overall[zone] as number, slope: Math.min(SLOPE_MAX, Math.max(0, slopeWithinRecipes(pairs))) }]
  }))
  common.windows = []
}

/**
 * Median of the slopes of all pairs within one recipe, weighed by how far they lie apart, so that neither odd windows nor pairs that differ by
 * noise alone bend it; beside them the usual slope weighs as pairs do that lie as far apart as chance alone would have them.
 */
function slopeWithinRecipes(pairs: readonly { recipe: string; others: number; effort: number }[]): number {
  const slopes: { slope: number; weight: number }[] = []
  let usualWeight = 0
  pairs.forEach((one, at) => {
    for (const other of pairs.slice(at + 1)) {
      if (other.recipe !== one.recipe) continue
      usualWeight += CHANCE_SHARE
      const apart = other.others - one.others
      if (apart !== 0) slopes.push({ slope: (other.effort - one.effort) / apart, weight: Math.abs(apart) })
    }
  })
  slopes.push({ slope: USUAL_SLOPE, weight: usualWeight })
  slopes.sort((a, b) => a.slope - b.slope)
  const half = slopes.reduce((sum, { weight }) => sum + weight, 0) / 2
  let sum = 0
  for (const { slope, weight } of slopes) {
    sum += weight
    if (sum >= half) return slope
  }
  return USUAL_SLOPE
}
