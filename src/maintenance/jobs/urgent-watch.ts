import type { LineDefinition } from '../../line/line-definition.js'
import type { Reading } from '../../line/reading.js'
import type { LineStateChange } from '../../line/state/line-state-change.js'
import type { MaintenanceContext } from '../maintenance-part.js'

/** Below this the conveyor stands, mm/s. [ASM] */
const STANDS_MMS = 0.5
/** A stop this short burns no board. [ASM] */
const STAND_MS_MIN = 60_000
/** Boards counted so shortly before the stop may still be inside. [ASM, transit of a line] */
const INSIDE_MS = 5 * 60_000
/** From here on preheat dries and chars boards that stand, °C. [ASM] */
const HOT_C = 80
/** mm below the usual level at which the pump may draw dross, where the line names no alarm. [A1: alarm -8 to -12 mm] */
const LOW_LEVEL_MM = 12
const LOW_LEVEL_MS_MIN = 120_000
/** Share of its usual pressure below which the exhaust counts as lost. [ASM] */
const EXHAUST_SHARE = 0.2
const EXHAUST_MS_MIN = 60_000
/** What is usual is a slow mean; before so much time nothing is known of it. [ASM] */
const USUAL_TAU_MS = 24 * 3_600_000
const USUAL_MS_MIN = 8 * 3_600_000
/** Longer than this between two readings nothing is known of the time between. */
const GAP_MS = 60_000
const PUMP_RUNS = 1

/** A slow mean of one channel, with how much time it rests on. Plain JSON. */
interface Usual {
  mean: number
  ms: number
  lastMs: number
}

/** Plain JSON state of what is watched for the urgent class. */
export interface UrgentWatch {
  speedMs: number
  standSinceMs?: number
  /** Boards were counted, or the line produced, at this time. */
  boardMs: number
  boards?: number
  hot: Record<string, number>
  pump?: number
  level?: Usual
  lowSinceMs?: number
  exhaust?: Usual
  noExhaustSinceMs?: number
  producing: boolean
  /** Conditions that were said and still stand. */
  said: string[]
  /** Conditions as they are now. */
  now: string[]
}

export function createUrgentWatch(): UrgentWatch {
  return { speedMs: 0, boardMs: 0, hot: {}, producing: false, said: [], now: [] }
}

/** Jobs of the urgent class that channels can call for. */
export const URGENT_BY_CHANNEL = { standing: 'clear-standing-boards', level: 'stop-for-low-level', exhaust: 'restore-exhaust' } as const

export function watchState(watch: UrgentWatch, { state, previous, timeMs }: LineStateChange): void {
  watch.producing = state === 'production' || state === 'run-in'
  // Without a count of boards the end of production is the last that is known of them.
  if (watch.boards === undefined && (previous === 'production' || previous === 'run-in')) watch.boardMs = timeMs
}

/**
 * Takes a reading.
 * @returns whether a condition of the urgent class begins or ends with it
 */
export function watchReading(watch: UrgentWatch, { channel, value, timeMs }: Reading, { definition }: Pick<MaintenanceContext, 'definition'>): boolean {
  if (typeof value !== 'number') return false
  switch (channel) {
    case 'conveyor.speed':
      noteSpeed(watch, value, timeMs)
      return settle(watch, URGENT_BY_CHANNEL.standing, boardsStand(watch, timeMs))
    case 'board.count':
      if (watch.boards !== undefined && value > watch.boards) watch.boardMs = timeMs
      watch.boards = value
      return false
    case 'pot.pump-speed':
      watch.pump = value
      return false
    case 'pot.level':
      return settle(watch, URGENT_BY_CHANNEL.level, levelIsLow(watch, value, timeMs, definition))
    case 'exhaust.pressure':
      return settle(watch, URGENT_BY_CHANNEL.exhaust, exhaustIsLost(watch, Math.abs(value), timeMs))
    default:
      if (channel.endsWith('.temperature') && channel.startsWith('preheat.')) watch.hot[channel] = value
      return false
  }
}

/** What began or ended since it was last asked. */
export function urgentChanges(watch: UrgentWatch): readonly { readonly work: string; readonly begins: boolean }[] {
  const began = watch.now.filter((work) => !watch.said.includes(work)).map((work) => ({ work, begins: true }))
  const ended = watch.said.filter((work) => !watch.now.includes(work)).map((work) => ({ work, begins: false }))
  watch.said = [...watch.now]
  return [...began, ...ended]
}

function settle(watch: UrgentWatch, work: string, stands: boolean): boolean {
  if (watch.now.includes(work) === stands) return false
  watch.now = stands ? [...watch.now, work] : watch.now.filter((known) => known !== work)
  return true
}

function noteSpeed(watch: UrgentWatch, speed: number, timeMs: number): void {
  const gap = timeMs - watch.speedMs > GAP_MS
  watch.speedMs = timeMs
  if (Math.abs(speed) >= STANDS_MMS) {
    delete watch.standSinceMs
    if (watch.boards === undefined && watch.producing) watch.boardMs = timeMs
  } else if (watch.standSinceMs === undefined || gap) watch.standSinceMs = timeMs
}

function boardsStand(watch: UrgentWatch, timeMs: number): boolean {
  const { standSinceMs, boardMs } = watch
  if (standSinceMs === undefined || timeMs - standSinceMs < STAND_MS_MIN || boardMs === 0) return false
  const inside = standSinceMs - boardMs < INSIDE_MS
  const hot = Object.values(watch.hot).some((temperature) => temperature >= HOT_C) || (watch.pump ?? 0) > PUMP_RUNS
  return inside && hot
}

function levelIsLow(watch: UrgentWatch, level: number, timeMs: number, { machine }: Pick<LineDefinition, 'machine'>): boolean {
  const runs = watch.pump === undefined ? watch.producing : watch.pump > PUMP_RUNS
  const alarm = machine.pot.levelAlarmMm ?? usualLess(watch.level, LOW_LEVEL_MM)
  if (runs) watch.level = withValue(watch.level, level, timeMs)
  if (!runs || alarm === undefined || level > alarm) {
    delete watch.lowSinceMs
    return false
  }
  watch.lowSinceMs ??= timeMs
  return timeMs - watch.lowSinceMs >= LOW_LEVEL_MS_MIN
}

function usualLess(usual: Usual | undefined, below: number): number | undefined {
  return usual === undefined || usual.ms < USUAL_MS_MIN ? undefined : usual.mean - below
}

function exhaustIsLost(watch: UrgentWatch, pressure: number, timeMs: number): boolean {
  const usual = watch.exhaust
  const known = usual !== undefined && usual.ms >= USUAL_MS_MIN
  const hot = Object.values(watch.hot).some((temperature) => temperature >= HOT_C) || watch.producing
  if (known && hot && pressure < EXHAUST_SHARE * usual.mean) {
    watch.noExhaustSinceMs ??= timeMs
    return timeMs - watch.noExhaustSinceMs >= EXHAUST_MS_MIN
  }
  delete watch.noExhaustSinceMs
  // A fan that is off over night teaches nothing of what is usual.
  if (hot) watch.exhaust = withValue(usual, pressure, timeMs)
  return false
}

function withValue(usual: Usual | undefined, value: number, timeMs: number): Usual {
  if (usual === undefined) return { mean: value, ms: 0, lastMs: timeMs }
  const passedMs = Math.min(GAP_MS, Math.max(0, timeMs - usual.lastMs))
  const total = usual.ms + passedMs
  const share = passedMs / Math.max(passedMs, Math.min(total, USUAL_TAU_MS), 1)
  return { mean: usual.mean + share * (value - usual.mean), ms: Math.min(total, USUAL_TAU_MS), lastMs: timeMs }
}
