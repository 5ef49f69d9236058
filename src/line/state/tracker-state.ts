import type { LineStateName } from '../feature-value.js'
import { emptyBoardActivity, type BoardActivity } from './board-activity.js'
import { emptyConveyorRun, type ConveyorRun } from './conveyor-run.js'
import type { KnownRecipe } from './recipe-book.js'
import { emptyPumpByLevel, type PumpByLevel } from './pump-by-level.js'
import { emptyHeatTrack, type HeatTrack } from './zone-heat.js'

/** Recipe of a line that has not yet stood at any level. */
export const RECIPE_UNKNOWN = 'unknown'

/** What the zones alone say of the line. */
export type HeatPhase = 'off' | 'warm-up' | 'settling' | 'changeover' | 'ready'

/** How the line came to the levels it stands at. */
export type Arrival = 'started' | 'left-levels' | 'stepped'

/** What decided last: text keys. */
export type BecauseKey = `state.by-${'zones' | 'setpoints' | 'recipe' | 'conveyor' | 'boards' | 'pump' | 'word' | 'work'}`

/** State of the tracker between readings: plain JSON. Times in ms UTC, 0 before the first. */
export interface TrackerState {
  version: 1
  state: LineStateName
  sinceMs: number
  recipe: string
  recipeSinceMs: number
  /** Recipe of the last change that was put out. */
  saidRecipe: string
  /** The open minute, counted from 1970. */
  minute: number
  heat: HeatPhase
  /** Minute in which the present phase began; 0 before any was judged. */
  heatMinute: number
  heatBecause: BecauseKey
  /** How the line came into the present settling. */
  arrival: Arrival
  steadySinceMs: number
  zones: HeatTrack[]
  pot: HeatTrack
  conveyor: ConveyorRun
  conveyorSetpointMmS: number
  boards: BoardActivity
  pump: { maxSpeed: number; running: boolean; sinceMs: number; seenMs: number }
  /** Used where no channel gives the pump's speed. */
  pumpByLevel: PumpByLevel
  /** Set-points changed lately, by channel. */
  edits: { channel: string; timeMs: number }[]
  /** What the machine itself says, where it does. */
  word: LineStateName | ''
  wordMs: number
  recipeWord: string
  recipes: KnownRecipe[]
  /** Minutes the levels of the present recipe rest on. */
  levelMinutes: number
  runInLeftMs: number
  /** Work noted for a time the readings have not reached yet. */
  workMs: number
}

export function emptyTrackerState(zoneCount: number): TrackerState {
  return {
    version: 1,
    state: 'off',
    sinceMs: 0,
    recipe: RECIPE_UNKNOWN,
    recipeSinceMs: 0,
    saidRecipe: RECIPE_UNKNOWN,
    minute: 0,
    heat: 'off',
    heatMinute: 0,
    heatBecause: 'state.by-zones',
    arrival: 'started',
    steadySinceMs: 0,
    zones: Array.from({ length: zoneCount }, emptyHeatTrack),
    pot: emptyHeatTrack(),
    conveyor: emptyConveyorRun(),
    conveyorSetpointMmS: 0,
    boards: emptyBoardActivity(),
    pump: { maxSpeed: 0, running: false, sinceMs: 0, seenMs: 0 },
    pumpByLevel: emptyPumpByLevel(),
    edits: [],
    word: '',
    wordMs: 0,
    recipeWord: '',
    recipes: [],
    levelMinutes: 0,
    runInLeftMs: 0,
    workMs: 0,
  }
}

export function presentRecipe(state: TrackerState): KnownRecipe | undefined {
  return state.recipes.find(({ id }) => id === state.recipe)
}

/** What a zone should hold: its set-point, else the level of the present recipe; 0 if neither is known. */
export function zoneLevelC(state: TrackerState, zone: HeatTrack): number {
  if (zone.setpointC > 0) return zone.setpointC
  return presentRecipe(state)?.levelsC[state.zones.indexOf(zone)] ?? 0
}
