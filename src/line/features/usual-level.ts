import { median } from './minute-block.js'

/** Levels of a feature under each recipe and its set-points, learned once and then left alone. Plain JSON. */
export interface UsualLevels {
  /** Level of the first recipe that was learned: what all others are brought to. Absent before. */
  usual?: number
  readonly levels: Record<string, { values: number[]; level?: number }>
  /** How far the last values of known recipes were off their levels; absent before. */
  recent?: number[]
}

export function createUsualLevels(): UsualLevels {
  return { levels: {} }
}

/** Values a level is taken from, where they come every twenty minutes or so: some hours of production. [ASM] */
export const LEVEL_VALUES = 10
/** Values of known recipes that tell how far the line is off just now. [ASM] */
const RECENT_VALUES = 6
/** Recipes and set-points kept; the oldest go first. */
const LEVELS_MAX = 200

/**
 * A value as it would be under the recipe that was learned first: brought there by the difference of the two levels. One chart
 * over all recipes so learns within days what one for each would need weeks for. A level is left alone once learned: one that
 * went on learning would learn the fault. One learned while the others are off is taken to be off by as much itself: a recipe
 * that runs for the first time after dirt has gathered, or in a cold hall, does not make that its level.
 *
 * @param key recipe, with the set-points that bear on the feature: an edit makes a level of its own
 * @param levelValues values a level is taken from
 * @returns undefined while the level is learned
 */
export function atUsualRecipe(known: UsualLevels, key: string, value: number, levelValues = LEVEL_VALUES): number | undefined {
  const entry = (known.levels[key] ??= { values: [] })
  if (entry.level !== undefined) {
    const recent = (known.recent ??= [])
    recent.push(value - entry.level)
    if (recent.length > RECENT_VALUES) recent.shift()
    return value - entry.level + (known.usual ?? entry.level)
  }
  entry.values.push(value - offNow(known))
  if (entry.values.length >= levelValues) {
    entry.level = median(entry.values)
    entry.values = []
    known.usual ??= entry.level
  }
  const keys = Object.keys(known.levels)
  for (const old of keys.slice(0, Math.max(0, keys.length - LEVELS_MAX))) delete known.levels[old]
  return undefined
}

function offNow({ recent = [] }: UsualLevels): number {
  return recent.length < RECENT_VALUES ? 0 : median(recent)
}
