import { runningLevel, speedScatterShare } from './conveyor-run.js'
import { minuteWindow } from './minute-series.js'
import { addRecipe, differingZones, fittingRecipes, levelScale, speedDiffers, type HeldLevels, type KnownRecipe } from './recipe-book.js'
import { presentRecipe, type Arrival, type TrackerState } from './tracker-state.js'
import { believedZones, isRound, newestC, wentFast } from './zone-heat.js'

/** Minutes a new recipe's levels rest on, and the most they come to rest on: two hours, so that a slow drift is followed. */
const LEVEL_MINUTES_NEW = 5
const LEVEL_MINUTES_MAX = 120
const FOLLOWED_C = 2.5
const NEARLY_C = 5

/** Levels the line holds in the last ten minutes, set-points where they are known. */
export function heldLevels(state: TrackerState, minute: number, speedMmS?: number): HeldLevels {
  const believed = believedZones(state.zones, minute)
  const levelsC = state.zones.map((zone) => {
    if (zone.setpointC > 0) return zone.setpointC
    const window = believed.includes(zone) ? minuteWindow(zone.series, minute - 9, minute) : { kind: 'empty' as const }
    return window.kind === 'window' ? window.mean : 0
  })
  const speedExact = state.conveyorSetpointMmS > 0
  return {
    levelsC,
    exact: state.zones.map((zone) => zone.setpointC > 0),
    speedMmS: speedExact ? state.conveyorSetpointMmS : (speedMmS ?? runningLevel(state.conveyor, Math.max(state.heatMinute + 2, minute - 15), 3)),
    speedExact,
    speedDoubtShare: 3 * speedScatterShare(state.conveyor, presentRecipe(state)?.speedMmS ?? 0),
  }
}

/**
 * Decides which recipe the levels belong to: the machine's own word; else the present one if it still fits; else one
 * that is known; else a new one, unless the levels look like a fault: a zone that sank slowly, or a single one that came
 * up at a level nobody sets.
 */
export function resolveRecipe(state: TrackerState, held: HeldLevels, timeMs: number, arrival: Arrival): void {
  const present = presentRecipe(state)
  if (state.recipeWord !== '') {
    const named = state.recipes.find(({ id }) => id === state.recipeWord) ?? addRecipe(state.recipes, held, timeMs, state.recipeWord)
    takeUp(state, named, held, timeMs)
    return
  }
  const fits = present !== undefined && differingZones(present, held).length === 0 && !speedDiffers(present, held)
  if (present !== undefined && (fits || looksLikeFault(state, present, held, arrival))) {
    takeUp(state, present, held, timeMs)
    return
  }
  const known = fittingRecipes(state.recipes, held)[0]
  takeUp(state, known ?? addRecipe(state.recipes, held, timeMs), held, timeMs)
}

/**
 * Whether the levels are nearly those of a known recipe, so that it pays to wait: a loop that cooled down with its heater
 * off stands a few degrees below its set-point for a while before it comes back.
 */
export function isNearlyKnown(state: TrackerState, held: HeldLevels): boolean {
  const present = presentRecipe(state)
  if (state.recipeWord !== '' || fittingRecipes(state.recipes, held).length > 0) return false
  return state.recipes.some((recipe) => {
    if (speedDiffers(recipe, held) || (state.arrival === 'left-levels' && recipe === present)) return false
    return differingZones(recipe, held).every((index) => {
      const knownC = recipe.levelsC[index] as number
      return held.exact[index] !== true && Math.abs(knownC - (held.levelsC[index] as number)) <= NEARLY_C * levelScale(knownC)
    })
  })
}

function looksLikeFault(state: TrackerState, present: KnownRecipe, held: HeldLevels, arrival: Arrival): boolean {
  const differing = differingZones(present, held)
  if (differing.length === 0 || speedDiffers(present, held) || differing.some((index) => held.exact[index] === true)) return false
  if (arrival === 'started') {
    const only = differing[0] as number
    return differing.length === 1 && !isRound(held.levelsC[only] as number) && fittingRecipes(state.recipes, held).length === 0
  }
  if (arrival === 'stepped') return false
  const left = differing.filter((index) => (state.zones[index]?.departedMinute ?? 0) >= state.heatMinute - 5)
  return left.length > 0 && left.every((index) => !wentFast(state.zones[index] as TrackerState['zones'][number], present.levelsC[index] as number, held.levelsC[index] as number))
}

function takeUp(state: TrackerState, recipe: KnownRecipe, held: HeldLevels, timeMs: number): void {
  const isNew = recipe.usedMs === timeMs
  const differing = differingZones(recipe, held)
  // Where the levels still fit, the recipe's own rest on more minutes than these.
  recipe.levelsC = held.levelsC.map((levelC, index) => {
    const knownC = recipe.levelsC[index] ?? 0
    return knownC === 0 || held.exact[index] === true || (levelC > 0 && differing.includes(index)) ? levelC : knownC
  })
  if (recipe.speedMmS === 0 || held.speedExact || speedDiffers(recipe, held)) recipe.speedMmS = held.speedMmS > 0 ? held.speedMmS : recipe.speedMmS
  recipe.usedMs = timeMs
  state.levelMinutes = isNew ? LEVEL_MINUTES_NEW : LEVEL_MINUTES_MAX / 4
  if (state.recipe === recipe.id) return
  state.recipe = recipe.id
  state.recipeSinceMs = timeMs
}

/** Lets the levels of the present recipe follow what the zones hold, slowly: a drift is no new recipe. */
export function followLevels(state: TrackerState, minute: number): void {
  const recipe = presentRecipe(state)
  if (recipe === undefined) return
  recipe.usedMs = minute * 60_000
  const weight = 1 / Math.min(LEVEL_MINUTES_MAX, state.levelMinutes + 1)
  state.levelMinutes += 1
  const believed = believedZones(state.zones, minute)
  state.zones.forEach((zone, index) => {
    if (zone.setpointC > 0) recipe.levelsC[index] = zone.setpointC
    else if (believed.includes(zone) && zone.departedCount === 0 && zone.series.minutes.at(-1) === minute) {
      const levelC = recipe.levelsC[index] ?? 0
      const offC = newestC(zone) - levelC
      // What may be the beginning of a step must not pull the level after it.
      if (levelC === 0) recipe.levelsC[index] = newestC(zone)
      else if (Math.abs(offC) <= FOLLOWED_C * levelScale(levelC)) recipe.levelsC[index] = levelC + weight * offC
    }
  })
  if (state.conveyorSetpointMmS > 0) recipe.speedMmS = state.conveyorSetpointMmS
  else if (state.conveyor.series.minutes.at(-1) === minute) {
    if (recipe.speedMmS === 0) recipe.speedMmS = runningLevel(state.conveyor, minute - 5, 3)
    else {
      const offMmS = (state.conveyor.series.means.at(-1) as number) - recipe.speedMmS
      if (Math.abs(offMmS) <= Math.max(0.025, 3 * state.conveyor.levelSdShare) * recipe.speedMmS) recipe.speedMmS += weight * offMmS
    }
  }
}
