import { closeSpeedMinute, judgeSpeed, learnSpeedScatter } from './conveyor-run.js'
import { closeMinute, minuteChange } from './minute-series.js'
import { judgePump, notePumpUnseen, noteStart } from './pump-by-level.js'
import { fittingRecipes, levelScale } from './recipe-book.js'
import { followLevels, heldLevels, isNearlyKnown, resolveRecipe } from './recipe-resolution.js'
import { presentRecipe, zoneLevelC, type BecauseKey, type HeatPhase, type TrackerState } from './tracker-state.js'
import { hasSettled, heatPicture, isRound, newestC, smallStepC, watchDeparture, watchJumps, type HeatPicture } from './zone-heat.js'

/** After so long the line is taken as it is: a loop that swings for good would never count as settled. */
const SETTLE_MINUTES_MAX = 60
/** So long a loop may take to come back to a level that is known. */
const KNOWN_MINUTES_MAX = 40
/** A line found at such a temperature is in use; below it may still be cooling. */
const HOT_C = 70
const ARRIVED_C = 3
/** Minutes after a change of recipe in which its speed is not judged. */
const FRESH_MINUTES = 4
/** How fast the recipe's speed follows one that drifted away from it, per minute. */
const DRIFT_WEIGHT = 1 / 20
/** Several zones off their levels by so much move together. */
const MOVED_C = 3

/** Closes a minute of all channels and judges what the zones do. */
export function judgeMinute(state: TrackerState, minute: number): void {
  for (const zone of state.zones) closeMinute(zone.series, minute)
  // Only a hot line is watched for jumps: a bare element heats up by more than 40 °C in a minute.
  if (state.heat === 'off' || state.heat === 'warm-up') for (const zone of state.zones) zone.jumpedMinute = 0
  else watchJumps(state.zones, minute, (zone) => zoneLevelC(state, zone))
  closeMinute(state.pot.series, minute)
  closeMinute(state.pumpByLevel.series, minute)
  closeSpeedMinute(state.conveyor, minute)
  judgeZones(state, minute)
  if (state.heat === 'off' || state.heat === 'warm-up') notePumpUnseen(state.pumpByLevel)
  else judgePump(state.pumpByLevel, minute)
}

function judgeZones(state: TrackerState, minute: number): void {
  const picture = heatPicture(state.zones, minute, (zone) => zoneLevelC(state, zone))
  if (picture.believed.length === 0) return
  if (picture.cold) {
    setPhase(state, picture.rising ? 'warm-up' : 'off', minute, 'state.by-zones')
    return
  }
  switch (state.heat) {
    case 'off':
      return judgeOff(state, picture, minute)
    case 'warm-up':
      return judgeWarmUp(state, picture, minute)
    case 'settling':
    case 'changeover':
      return judgeSettling(state, picture, minute)
    case 'ready':
      return judgeReady(state, picture, minute)
  }
}

/** Begins a phase; one that goes on keeps its beginning. */
export function setPhase(state: TrackerState, phase: HeatPhase, minute: number, because: BecauseKey): void {
  if (state.heat === phase && state.heatMinute !== 0) return
  state.heat = phase
  state.heatMinute = minute
  state.heatBecause = because
  state.arrival = 'started'
  state.steadySinceMs = 0
}

/** A change that begins the settling anew, even while it lasts. */
export function beginSettling(state: TrackerState, phase: 'settling' | 'changeover', minute: number, because: BecauseKey): void {
  if (state.heat === 'off' || state.heat === 'warm-up') return
  if (state.heat !== 'changeover' || state.heatBecause === 'state.by-zones') state.heat = phase
  state.heatMinute = minute
  state.heatBecause = because
  state.arrival = 'started'
  state.steadySinceMs = 0
}

function judgeOff(state: TrackerState, picture: HeatPicture, minute: number): void {
  const hot = picture.believed.every((zone) => newestC(zone) >= HOT_C)
  if (picture.rising) setPhase(state, 'warm-up', minute, 'state.by-zones')
  else if (state.heatMinute === 0) setPhase(state, hot && !picture.falling ? 'settling' : 'off', minute, 'state.by-zones')
  else if (hot && allSettled(state, picture, minute)) becomeReady(state, minute)
}

function judgeWarmUp(state: TrackerState, picture: HeatPicture, minute: number): void {
  if (picture.falling) {
    setPhase(state, 'off', minute, 'state.by-zones')
    return
  }
  const arrived = picture.believed.every((zone) => {
    if (hasSettled(zone, minute, state.heatMinute)) return true
    return zone.setpointC > 0 ? Math.abs(newestC(zone) - zone.setpointC) <= ARRIVED_C * levelScale(zone.setpointC) : picture.flat
  })
  if (arrived && !potStillHeats(state, minute)) setPhase(state, 'settling', minute, 'state.by-zones')
}

function judgeSettling(state: TrackerState, picture: HeatPicture, minute: number): void {
  if (isSwitchedOff(state, picture)) {
    setPhase(state, 'off', minute, 'state.by-zones')
    return
  }
  if (picture.farBelow && picture.rising && state.heatBecause === 'state.by-zones') {
    setPhase(state, 'warm-up', minute, 'state.by-zones')
    return
  }
  if (state.arrival === 'left-levels') {
    for (const zone of picture.believed) watchDeparture(zone, minute, zoneLevelC(state, zone))
    if (movedCount(state, picture) >= 2) state.heat = 'changeover'
  }
  const waits = minute - state.heatMinute < KNOWN_MINUTES_MAX && isNearlyKnown(state, heldLevels(state, minute))
  const longEnough = minute - state.heatMinute >= SETTLE_MINUTES_MAX && picture.flat && !picture.falling
  if ((allSettled(state, picture, minute) && !waits) || longEnough) becomeReady(state, minute)
}

function judgeReady(state: TrackerState, picture: HeatPicture, minute: number): void {
  if (isSwitchedOff(state, picture)) return setPhase(state, 'off', minute, 'state.by-zones')
  if (picture.farBelow && picture.rising) return setPhase(state, 'warm-up', minute, 'state.by-zones')
  const departed = picture.believed.filter((zone) => zone.setpointC === 0 && watchDeparture(zone, minute, zoneLevelC(state, zone)))
  if (departed.length > 0) {
    const first = Math.min(...departed.map((zone) => zone.departedMinute))
    setPhase(state, movedCount(state, picture) >= 2 ? 'changeover' : 'settling', first, 'state.by-zones')
    state.arrival = 'left-levels'
    return
  }
  if (judgeSpeedLevel(state, picture, minute)) return
  const stepsC = picture.believed.map((zone) => (zone.setpointC === 0 ? smallStepC(zone, minute, zoneLevelC(state, zone)) : 0)).filter((levelC) => levelC > 0)
  if (stepsC.length > 0) {
    // People set multiples of 5 °C or go back to where they were; a draught or a fault ends there by chance only.
    const held = heldLevels(state, minute)
    if (stepsC.some(isRound) || fittingRecipes(state.recipes, held).length > 0) resolveRecipe(state, held, minuteEndMs(minute), 'stepped')
  }
  followLevels(state, minute)
}

/** True if the speed went to another level together with the zones: that is a changeover still under way. */
function judgeSpeedLevel(state: TrackerState, picture: HeatPicture, minute: number): boolean {
  const recipe = presentRecipe(state)
  if (recipe === undefined || state.conveyorSetpointMmS > 0 || recipe.speedMmS === 0) return false
  // Just after a change the window still holds minutes of the recipe before.
  if (minute - Math.floor(state.recipeSinceMs / 60_000) < FRESH_MINUTES) return false
  const verdict = judgeSpeed(state.conveyor, recipe.speedMmS, minute)
  if (verdict.kind === 'same') {
    if (state.conveyor.series.minutes.at(-1) === minute) learnSpeedScatter(state.conveyor, recipe.speedMmS)
    return false
  }
  const held = heldLevels(state, minute, verdict.levelMmS)
  if (verdict.kind === 'drift' && fittingRecipes(state.recipes, held).length === 0) {
    recipe.speedMmS += DRIFT_WEIGHT * (verdict.levelMmS - recipe.speedMmS)
    return false
  }
  if (movedCount(state, picture) >= 1) {
    setPhase(state, 'changeover', minute - 2, 'state.by-zones')
    state.arrival = 'left-levels'
    return true
  }
  resolveRecipe(state, held, minuteEndMs(minute), 'stepped')
  return false
}

function becomeReady(state: TrackerState, minute: number): void {
  resolveRecipe(state, heldLevels(state, minute), minuteEndMs(minute), state.arrival)
  const because = state.heatBecause
  if (state.pumpByLevel.condition === 'unknown' && state.arrival === 'started' && because === 'state.by-zones') noteStart(state.pumpByLevel, minute)
  setPhase(state, 'ready', minute, because)
  state.steadySinceMs = minuteEndMs(minute - 10)
  for (const zone of state.zones) zone.departedCount = 0
}

function allSettled(state: TrackerState, picture: HeatPicture, minute: number): boolean {
  return picture.believed.every((zone) => hasSettled(zone, minute, state.heatMinute))
}

/** Zones that fall below what they should hold: heaters are off, unless the chain still runs and the next recipe may be colder. */
function isSwitchedOff(state: TrackerState, picture: HeatPicture): boolean {
  const { conveyor } = state
  if (conveyor.series.lastMs === 0) return picture.lost
  return picture.falling && conveyor.stopped
}

function movedCount(state: TrackerState, picture: HeatPicture): number {
  return picture.believed.filter((zone) => {
    const levelC = zoneLevelC(state, zone)
    return zone.setpointC === 0 && levelC > 0 && Math.abs(newestC(zone) - levelC) > MOVED_C * levelScale(levelC)
  }).length
}

/** The pot takes longer than the zones: while it still climbs to its working temperature the line is not ready. */
function potStillHeats(state: TrackerState, minute: number): boolean {
  const { pot } = state
  if (pot.series.minutes.at(-1) !== minute && pot.series.minutes.at(-1) !== minute - 1) return false
  if (pot.setpointC > 0 && newestC(pot) >= pot.setpointC - ARRIVED_C) return false
  return minuteChange(pot.series, [minute - 19, minute - 10], [minute - 9, minute]) > 1
}

function minuteEndMs(minute: number): number {
  return (minute + 1) * 60_000
}
