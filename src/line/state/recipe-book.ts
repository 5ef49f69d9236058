/** A recipe as its levels show it: plain JSON. 0 stands for a level that is not known. */
export interface KnownRecipe {
  readonly id: string
  /** Zone levels in order, °C: set-points where they are known, else what the zones held last. */
  levelsC: number[]
  speedMmS: number
  usedMs: number
}

/** What the line holds now, to be compared with the recipes known. */
export interface HeldLevels {
  readonly levelsC: readonly number[]
  /** Whether each zone's level is its set-point. */
  readonly exact: readonly boolean[]
  readonly speedMmS: number
  readonly speedExact: boolean
  /** How far a measured speed may lie off by its own scatter, share. */
  readonly speedDoubtShare: number
}

export const RECIPES_MAX = 60

/** Levels of one recipe differ by less from day to day: loops hold their set-points within 1 °C, draughts move the mean by 1.5 °C [SIM]. */
const LEVEL_TOLERANCE_C = 3
const SETPOINT_TOLERANCE_C = 0.6
const SPEED_TOLERANCE_SHARE = 0.035
const SPEED_SETPOINT_TOLERANCE_SHARE = 0.01

/** On-element sensors read two to three times as high as air, and swing as much more. */
export function levelScale(levelC: number): number {
  return Math.min(3, Math.max(1, levelC / 150))
}

/** Zones of a recipe whose level the line does not hold. */
export function differingZones(recipe: KnownRecipe, held: HeldLevels): readonly number[] {
  const differing: number[] = []
  held.levelsC.forEach((levelC, index) => {
    const knownC = recipe.levelsC[index] ?? 0
    if (levelC === 0 || knownC === 0) return
    const tolerance = held.exact[index] === true ? SETPOINT_TOLERANCE_C : LEVEL_TOLERANCE_C * levelScale(levelC)
    if (Math.abs(levelC - knownC) > tolerance) differing.push(index)
  })
  return differing
}

export function speedDiffers(recipe: KnownRecipe, held: HeldLevels): boolean {
  if (held.speedMmS === 0 || recipe.speedMmS === 0) return false
  return Math.abs(held.speedMmS / recipe.speedMmS - 1) > speedToleranceShare(held)
}

function speedToleranceShare(held: HeldLevels): number {
  return held.speedExact ? SPEED_SETPOINT_TOLERANCE_SHARE : Math.max(SPEED_TOLERANCE_SHARE, held.speedDoubtShare)
}

/** Recipes the held levels fit, the nearest first. */
export function fittingRecipes(recipes: readonly KnownRecipe[], held: HeldLevels): readonly KnownRecipe[] {
  return recipes
    .filter((recipe) => differingZones(recipe, held).length === 0 && !speedDiffers(recipe, held))
    .map((recipe) => ({ recipe, distance: distance(recipe, held) }))
    .sort((one, other) => one.distance - other.distance)
    .map(({ recipe }) => recipe)
}

function distance(recipe: KnownRecipe, held: HeldLevels): number {
  const zones = held.levelsC.reduce((sum, levelC, index) => {
    const knownC = recipe.levelsC[index] ?? 0
    return levelC === 0 || knownC === 0 ? sum : sum + ((levelC - knownC) / LEVEL_TOLERANCE_C) ** 2
  }, 0)
  return held.speedMmS === 0 || recipe.speedMmS === 0 ? zones : zones + ((held.speedMmS / recipe.speedMmS - 1) / speedToleranceShare(held)) ** 2
}

/** Adds a recipe under a name made of its levels, or under its own; the one longest unused makes room. */
export function addRecipe(recipes: KnownRecipe[], held: HeldLevels, timeMs: number, name?: string): KnownRecipe {
  if (recipes.length >= RECIPES_MAX) {
    const oldest = recipes.reduce((least, recipe) => (recipe.usedMs < least.usedMs ? recipe : least))
    recipes.splice(recipes.indexOf(oldest), 1)
  }
  const recipe: KnownRecipe = { id: name ?? uniqueName(recipes, held), levelsC: [...held.levelsC], speedMmS: held.speedMmS, usedMs: timeMs }
  recipes.push(recipe)
  return recipe
}

function uniqueName(recipes: readonly KnownRecipe[], held: HeldLevels): string {
  const kind = held.exact.every(Boolean) ? 'setpoints' : 'levels'
  const zones = held.levelsC.map((levelC) => (levelC === 0 ? 'x' : String(Math.round(levelC)))).join('-')
  const name = held.speedMmS === 0 ? `${kind}-${zones}` : `${kind}-${zones}-at-${held.speedMmS.toFixed(1)}`
  let unique = name
  for (let count = 2; recipes.some(({ id }) => id === unique); count++) unique = `${name}-${count}`
  return unique
}
