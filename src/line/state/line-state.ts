import { channelKindOf } from '../channels.js'
import type { LineStateName } from '../feature-value.js'
import type { LineDefinition } from '../line-definition.js'
import type { Reading } from '../reading.js'
import { boardsPass, boardWithin, takeBoardCount, takeSpray } from './board-activity.js'
import { takeSpeed } from './conveyor-run.js'
import { beginSettling, judgeMinute } from './heat-phase.js'
import type { LineStateChange } from './line-state-change.js'
import { addToMinute, emptySeries } from './minute-series.js'
import { stateOfWord } from './state-words.js'
import { emptyTrackerState, presentRecipe, type BecauseKey, type TrackerState } from './tracker-state.js'
import { emptyHeatTrack, type HeatTrack } from './zone-heat.js'

export type { LineStateChange } from './line-state-change.js'
export { RECIPE_UNKNOWN } from './tracker-state.js'

/** Follows the state and the recipe of one line from whatever channels it has. */
export interface LineStateTracker {
  /** Takes the next reading in the order of time; channels that say nothing of the state are passed over. */
  take(reading: Reading, emit: (change: LineStateChange) => void): void
  /** Work was done on the line: what it produces in the next hour and a half is a run-in. */
  noteWork(timeMs: number): void
  readonly state: LineStateName
  readonly recipe: string
  /** When the present state began, ms UTC; 0 before the first change. */
  readonly sinceMs: number
  readonly recipeSinceMs: number
  /** Since when all zones stand at their levels, ms UTC; 0 while they do not. */
  readonly zonesSteadySinceMs: number
  /** The wave pump, by its speed where that is a channel, else by the 1-3 mm [ASM] the level moves when it starts or stops. */
  readonly pump: { readonly running: 'yes' | 'no' | 'unknown'; readonly sinceMs: number }
  /** Plain JSON; `createLineStateTracker(definition, snapshot)` goes on exactly. */
  snapshot(): unknown
}

/** Run-in after maintenance: 1-2 h [CP]. */
const RUN_IN_MS = 5_400_000
/** Work noted so late says nothing of the present. */
const WORK_OLD_MS = 8 * 3_600_000
const MAINTENANCE_MS_MIN = 600_000
/** Several set-points within a minute are a changeover, one is an edit. */
const CHANGEOVER_MS = 60_000
/** Set-points below this are "off"; no zone preheats at it. */
const SETPOINT_C_MIN = 60
const PUMP_OFF_MS = 120_000
const PUMP_LOW_SHARE = 0.3
/** A board counted so lately proves that the chain moves, whatever its sensor says. */
const BOARD_PROVES_MS = 90_000
/** Clocks that go back further begin anew: minutes before are forgotten. */
const BACK_MINUTES_MAX = 5
/** After so long without data the recipe may be another one. */
const GAP_MINUTES = 120

type Role = { readonly kind: 'zone' | 'zone-setpoint'; readonly zone: number } | { readonly kind: 'speed' | 'conveyor-setpoint' | 'pot' | 'pot-setpoint' | 'pump' | 'level' | 'boards' | 'spray' | 'recipe' | 'word' | 'none' }

const ROLES: Readonly<Record<string, Exclude<Role['kind'], 'zone' | 'zone-setpoint' | 'none'>>> = {
  'conveyor.speed': 'speed',
  'conveyor.setpoint': 'conveyor-setpoint',
  'pot.temperature': 'pot',
  'pot.setpoint': 'pot-setpoint',
  'pot.pump-speed': 'pump',
  'pot.level': 'level',
  'board.count': 'boards',
  'fluxer.spray-on': 'spray',
  'line.recipe': 'recipe',
  'line.state': 'word',
}

/**
 * Tracks a line by what its channels tell. Zones decide between off, warm-up, settling and hot, by their set-points where
 * these are known, else by the levels they come to stand at; speed, boards and pump tell idle from production; set-points
 * and the machine's own words say the rest sooner and better.
 *
 * @param definition a checked line definition
 * @param snapshot what `snapshot()` gave, after a JSON round trip or not
 * @throws Error if the snapshot is of another version
 */
export function createLineStateTracker(definition: LineDefinition, snapshot?: unknown): LineStateTracker {
  const zoneCount = definition.machine.zones.length
  if (snapshot === undefined) return new Tracker(emptyTrackerState(zoneCount))
  const state = structuredClone(snapshot) as TrackerState
  if (state.version !== 1) throw new Error(`line state snapshot has version ${String(state.version)}; expected 1`)
  while (state.zones.length < zoneCount) state.zones.push(emptyHeatTrack())
  return new Tracker(state)
}

class Tracker implements LineStateTracker {
  private readonly roles = new Map<string, Role>()

  constructor(private readonly data: TrackerState) {}

  get state(): LineStateName {
    return this.data.state
  }

  get recipe(): string {
    return this.data.recipe
  }

  get sinceMs(): number {
    return this.data.sinceMs
  }

  get recipeSinceMs(): number {
    return this.data.recipeSinceMs
  }

  get zonesSteadySinceMs(): number {
    return this.data.steadySinceMs
  }

  get pump(): LineStateTracker['pump'] {
    const { pump, pumpByLevel } = this.data
    if (pump.seenMs === 0) {
      const running = ({ on: 'yes', off: 'no', unknown: 'unknown' } as const)[pumpByLevel.condition]
      return { running, sinceMs: running === 'unknown' ? 0 : pumpByLevel.sinceMinute * 60_000 }
    }
    return { running: pump.running ? 'yes' : 'no', sinceMs: pump.sinceMs }
  }

  snapshot(): unknown {
    return structuredClone(this.data)
  }

  noteWork(timeMs: number): void {
    this.data.workMs = Math.max(this.data.workMs, timeMs)
  }

  take(reading: Reading, emit: (change: LineStateChange) => void): void {
    const role = this.roleOf(reading.channel)
    if (role.kind === 'none') return
    this.toMinute(Math.floor(reading.timeMs / 60_000), emit)
    if (this.apply(role, reading)) this.decide(reading.timeMs, emit)
  }

  private roleOf(channel: string): Role {
    const known = this.roles.get(channel)
    if (known !== undefined) return known
    const zone = channelKindOf(channel)?.zone
    const named = Object.hasOwn(ROLES, channel) ? ROLES[channel] : undefined
    let role: Role = named === undefined ? { kind: 'none' } : { kind: named }
    if (zone !== undefined && zone <= this.data.zones.length) {
      if (channel.endsWith('.temperature')) role = { kind: 'zone', zone: zone - 1 }
      else if (channel.endsWith('.setpoint')) role = { kind: 'zone-setpoint', zone: zone - 1 }
    }
    this.roles.set(channel, role)
    return role
  }

  private toMinute(minute: number, emit: (change: LineStateChange) => void): void {
    const { data } = this
    if (minute === data.minute) return
    if (data.minute === 0) data.minute = minute
    if (minute < data.minute) {
      // Readings of slow channels may be a little behind; a clock set back is another matter.
      if (data.minute - minute > BACK_MINUTES_MAX) this.forgetMinutes(minute)
      return
    }
    const closed = data.minute
    judgeMinute(data, closed)
    this.spendRunIn()
    this.decide((closed + 1) * 60_000, emit)
    if (minute - closed > GAP_MINUTES) beginSettling(data, 'settling', minute, 'state.by-zones')
    data.minute = minute
  }

  private forgetMinutes(minute: number): void {
    const { data } = this
    for (const zone of [...data.zones, data.pot]) zone.series = emptySeries()
    data.conveyor.series = emptySeries()
    data.heatMinute = Math.min(data.heatMinute, minute)
    data.minute = minute
    data.boards.countSeenMs = 0
    data.boards.spraySeenMs = 0
    data.edits = []
  }

  /** Takes the reading up; true if it may change the state at once. */
  private apply(role: Role, { timeMs, value, channel }: Reading): boolean {
    const { data } = this
    if (typeof value === 'string') return role.kind === 'word' ? this.takeWord(timeMs, value) : role.kind === 'recipe' && this.takeRecipe(timeMs, value)
    switch (role.kind) {
      case 'zone':
        addToMinute((data.zones[role.zone] as HeatTrack).series, timeMs, value)
        return false
      case 'pot':
        addToMinute(data.pot.series, timeMs, value)
        return false
      case 'level':
        addToMinute(data.pumpByLevel.series, timeMs, value)
        return false
      case 'speed':
        return takeSpeed(data.conveyor, timeMs, value, presentRecipe(data)?.speedMmS ?? 0)
      case 'zone-setpoint':
        return this.takeSetpoint(data.zones[role.zone] as HeatTrack, channel, timeMs, value)
      case 'pot-setpoint':
        return this.takeSetpoint(data.pot, channel, timeMs, value)
      case 'conveyor-setpoint': {
        const before = data.conveyorSetpointMmS
        // A set-point of nothing is a conveyor switched off, not a recipe.
        if (value > 0) data.conveyorSetpointMmS = value
        return before > 0 && value > 0 && Math.abs(value / before - 1) > 0.01 && this.noteEdit(channel, timeMs)
      }
      case 'pump':
        return this.takePump(timeMs, value)
      case 'boards':
        takeBoardCount(data.boards, timeMs, value)
        return true
      case 'spray':
        takeSpray(data.boards, timeMs, value > 0.5)
        return true
      default:
        return false
    }
  }

  private takeSetpoint(track: HeatTrack, channel: string, timeMs: number, value: number): boolean {
    const before = track.setpointC
    track.setpointC = value > SETPOINT_C_MIN ? value : 0
    if (before === 0 || track.setpointC === 0 || Math.abs(value - before) < 0.5) return false
    return this.noteEdit(channel, timeMs)
  }

  private noteEdit(channel: string, timeMs: number): boolean {
    const { data } = this
    data.edits = data.edits.filter((edit) => edit.channel !== channel && timeMs - edit.timeMs <= CHANGEOVER_MS)
    data.edits.push({ channel, timeMs })
    beginSettling(data, data.edits.length >= 2 ? 'changeover' : 'settling', Math.floor(timeMs / 60_000) + 1, 'state.by-setpoints')
    return true
  }

  private takePump(timeMs: number, speed: number): boolean {
    const { pump } = this.data
    pump.maxSpeed = Math.max(speed, pump.maxSpeed)
    const running = speed > 0 && speed >= PUMP_LOW_SHARE * pump.maxSpeed
    if (running !== pump.running || pump.seenMs === 0) {
      pump.running = running
      pump.sinceMs = timeMs
    }
    pump.seenMs = timeMs
    return true
  }

  private takeRecipe(timeMs: number, recipe: string): boolean {
    const { data } = this
    if (recipe === data.recipeWord) return false
    const first = data.recipeWord === ''
    data.recipeWord = recipe
    data.recipe = recipe
    data.recipeSinceMs = timeMs
    if (!first) beginSettling(data, 'changeover', Math.floor(timeMs / 60_000) + 1, 'state.by-recipe')
    return true
  }

  private takeWord(timeMs: number, text: string): boolean {
    const { data } = this
    const word = stateOfWord(text) ?? ''
    if (word === data.word) return false
    if (data.word === 'maintenance' && timeMs - data.wordMs >= MAINTENANCE_MS_MIN) data.runInLeftMs = RUN_IN_MS
    data.word = word
    data.wordMs = timeMs
    return true
  }

  private spendRunIn(): void {
    if (this.data.state === 'run-in') this.data.runInLeftMs = Math.max(0, this.data.runInLeftMs - 60_000)
  }

  private decide(timeMs: number, emit: (change: LineStateChange) => void): void {
    const { data } = this
    if (data.workMs > 0 && timeMs >= data.workMs) {
      if (timeMs - data.workMs < WORK_OLD_MS) data.runInLeftMs = RUN_IN_MS
      data.workMs = 0
    }
    // Nothing is said of the state before the zones have been seen for a minute, unless the machine says it.
    if (data.heatMinute === 0 && data.word === '' && data.recipe === data.saidRecipe) return
    let [state, because] = this.byChannels(timeMs)
    const worded = this.byWord(state, timeMs)
    if (worded !== state) [state, because] = [worded, 'state.by-word']
    if (state === 'production' && data.runInLeftMs > 0) [state, because] = ['run-in', 'state.by-work']
    const recipeChanged = data.recipe !== data.saidRecipe
    if (state === data.state && data.sinceMs !== 0 && !recipeChanged) return
    const previous = data.state
    if (state !== previous || data.sinceMs === 0) data.sinceMs = timeMs
    data.state = state
    data.saidRecipe = data.recipe
    emit({ timeMs, state, previous, recipe: data.recipe, because: recipeChanged && state === previous ? 'state.by-recipe' : because })
  }

  private byChannels(timeMs: number): [LineStateName, BecauseKey] {
    const { data } = this
    if (data.heat !== 'ready') return [data.heat, data.heatBecause]
    const boards = boardsPass(data.boards, timeMs)
    if (data.conveyor.stopped && !boardWithin(data.boards, timeMs, BOARD_PROVES_MS)) return ['idle', 'state.by-conveyor']
    if (boards === 'no') return ['idle', 'state.by-boards']
    if (boards === 'unknown' && this.pumpRests(timeMs)) return ['idle', 'state.by-pump']
    return ['production', data.heatBecause]
  }

  private pumpRests(timeMs: number): boolean {
    const { pump, pumpByLevel } = this.data
    if (pump.seenMs === 0) return pumpByLevel.condition === 'off'
    return !pump.running && pump.maxSpeed > 0 && timeMs - pump.sinceMs >= PUMP_OFF_MS
  }

  /** What the machine's own word makes of the state: it knows what no sensor shows, but it may be stuck. */
  private byWord(state: LineStateName, timeMs: number): LineStateName {
    const { word, heat, boards } = this.data
    switch (word) {
      case '':
      case 'production':
      case 'settling':
        return state
      case 'idle':
        return state === 'production' ? 'idle' : state
      case 'run-in':
        return state === 'production' ? 'run-in' : state
      case 'off':
      case 'warm-up':
        return heat === 'ready' && boardsPass(boards, timeMs) === 'yes' ? state : word
      case 'changeover':
      case 'maintenance':
        return word
    }
  }
}
