import { median } from './minute-block.js'

/** Levels of a feature under each recipe and its set-points, learned once and then left alone. Plain JSON. */
export interface UsualLevels {
  /** Level of the first recipe that was learned: what all others are brought to. Absent before. */
  usual?: number
  /** The recipe that was heard first, where its values pass as they are; absent before. */
  first?: string
  readonly levels: Record<string, RecipeLevel>
  /** How far the last values of known recipes were off the usual level, as a difference or a share; absent before. */
  recent?: number[]
}

interface RecipeLevel {
  values: number[]
  level?: number
  /** How far the line was off when the level was learned, where that was much: no more than a guess. */
  off?: number
}

export function createUsualLevels(): UsualLevels {
  return { levels: {} }
}

export interface LevelRule {
  /** Values a level is taken from. */
  readonly values: number
  /** How levels compare: of what is twice as much under one recipe, dirt takes twice as much as well. */
  readonly by: 'difference' | 'ratio'
  /** The recipe heard first is what the others are brought to, so that its own values need no waiting. */
  readonly firstPasses?: boolean
  /** What is much to be off, as `by` has it: a level learned meanwhile is learned again once the line has come back. Absent: never. */
  readonly much?: number
}

/** Values a level is taken from, where they come every twenty minutes or so: some hours of production. [ASM] */
export const LEVEL_VALUES = 10
const USUAL_RULE: LevelRule = { values: LEVEL_VALUES, by: 'difference' }
/** Of the recipe heard first so many do where another is known before it. [ASM] */
const FIRST_VALUES_MIN = 4
/** Values of known recipes that tell how far the line is off just now. [ASM] */
const RECENT_VALUES = 6
/** Share of what the line was off that may be left when it counts as back. [ASM] */
const BACK_SHARE = 0.5
/** Recipes and set-points kept; the oldest go first. */
const LEVELS_MAX = 200
/** Where levels differ by more than this factor, as of a zone that one recipe does without, a ratio would make changes of noise. [ASM] */
const RATIO_MAX = 5

/**
 * A value as it would be under the recipe that was learned first: brought there by the difference or the ratio of the two levels.
 * One chart over all recipes so learns within days what one for each would need weeks for. A level is left alone once learned: one
 * that went on learning would learn the fault. One learned while the others are off is taken to be off by as much itself: a recipe
 * that runs for the first time after dirt has gathered, or in a cold hall, does not make that its level. Dirt does not take as much from
 * every recipe, so such a level is a guess that stands until the line has been cleaned.
 *
 * @param key recipe, with the set-points that bear on the feature: an edit makes a level of its own
 * @returns undefined while the level is learned
 */
export function atUsualRecipe(known: UsualLevels, key: string, value: number, rule: LevelRule = USUAL_RULE): number | undefined {
  if (rule.firstPasses === true && known.usual === undefined) known.first ??= key
  const isFirst = known.first === key
  const entry = Object.hasOwn(known.levels, key) ? known.levels[key]! : (known.levels[key] = { values: [] })
  if (entry.off !== undefined && Math.abs(offNow(known)) < BACK_SHARE * Math.abs(entry.off)) {
    delete entry.level
    delete entry.off
  }
  if (entry.level === undefined) {
    learn(known, entry, value, rule, isFirst)
    const keys = Object.keys(known.levels)
    for (const old of keys.filter((one) => one !== known.first).slice(0, Math.max(0, keys.length - LEVELS_MAX))) delete known.levels[old]
    return isFirst ? value : undefined
  }
  const usual = known.usual ?? entry.level
  const moved = isAlike(entry.level, usual, rule) ? (value * usual) / entry.level : value - entry.level + usual
  if (entry.off === undefined) noteOff(known, isAlike(usual, usual, rule) ? moved / usual - 1 : moved - usual)
  return moved
}

function noteOff(known: UsualLevels, off: number): void {
  const recent = (known.recent ??= [])
  recent.push(off)
  if (recent.length > RECENT_VALUES) recent.shift()
}

function learn(known: UsualLevels, entry: RecipeLevel, value: number, rule: LevelRule, isFirst: boolean): void {
  const off = offNow(known)
  entry.values.push(known.usual !== undefined && isAlike(known.usual, known.usual, rule) ? value / Math.max(1 / RATIO_MAX, 1 + off) : value - off)
  if (entry.values.length < rule.values) return
  if (!isFirst) settleFirst(known)
  takeLevel(known, entry)
  if (rule.much !== undefined && Math.abs(off) >= rule.much) entry.off = off
}

/** What all others are brought to is known before them; a recipe that ran for a moment and hardly again is nothing to bring them to. */
function settleFirst(known: UsualLevels): void {
  const first = known.first === undefined ? undefined : known.levels[known.first]
  if (known.usual !== undefined || first === undefined) return
  if (first.values.length >= FIRST_VALUES_MIN) takeLevel(known, first)
  else delete known.first
}

function takeLevel(known: UsualLevels, entry: RecipeLevel): void {
  entry.level = median(entry.values)
  entry.values = []
  known.usual ??= entry.level
}

/** Whether two levels can be compared by their ratio, and are to be. */
function isAlike(level: number, usual: number, { by }: LevelRule): boolean {
  return by === 'ratio' && level > 0 && usual > 0 && level < RATIO_MAX * usual && usual < RATIO_MAX * level
}

function offNow({ recent = [] }: UsualLevels): number {
  return recent.length < RECENT_VALUES ? 0 : median(recent)
}
