import type { Reading } from '../../line/reading.js'
import { createBoardCounter, noteBoardCount, takeSlotBoards, type BoardCounter } from '../../line/features/board-counter.js'
import { FLUX_DENSITY } from './usual-intervals.js'

/** How much the line has been used since its first data. */
export interface Use {
  readonly hours: number
  readonly boards: number
  readonly fluxG: number
  /** By the calendar, since the line's first data; absent in what was kept before it was counted. */
  readonly calendarHours?: number
}

/** Running totals, with a log to look back in for records that come late. Plain JSON. */
export interface UseClock {
  hours: number
  boards: number
  fluxG: number
  /** Whether the line runs, and when that was last added up, ms UTC. */
  running: boolean
  addedMs: number
  /** First data, ms UTC; absent until there are any. */
  beganMs?: number
  counter: BoardCounter
  spraying: boolean | undefined
  flowMlPerMin: number
  flowMs: number
  /** Oldest first, one an hour. */
  log: { timeMs: number; hours: number; boards: number; fluxG: number }[]
}

/** A longer silence of the data is a stop of the data, not of the line; it counts as this much. */
const GAP_MS_MAX = 30 * 60_000
/** A flow holds for so long after its reading. */
const FLOW_MS_MAX = 10_000
const LOG_EVERY_MS = 3_600_000
const LOG_KEPT = 400

export function createUseClock(): UseClock {
  return { hours: 0, boards: 0, fluxG: 0, running: false, addedMs: 0, counter: createBoardCounter(), spraying: undefined, flowMlPerMin: 0, flowMs: 0, log: [] }
}

/** Adds up to a time; `running` is what the line does from then on. */
export function advanceClock(clock: UseClock, timeMs: number, running = clock.running): void {
  if (clock.addedMs > 0 && timeMs > clock.addedMs && clock.running) clock.hours += Math.min(GAP_MS_MAX, timeMs - clock.addedMs) / 3_600_000
  if (timeMs > clock.addedMs) clock.addedMs = timeMs
  clock.beganMs ??= timeMs
  clock.running = running
  const last = clock.log.at(-1)
  if (last !== undefined && clock.addedMs - last.timeMs < LOG_EVERY_MS) return
  clock.log.push({ timeMs: clock.addedMs, hours: clock.hours, boards: clock.boards, fluxG: clock.fluxG })
  if (clock.log.length > LOG_KEPT) clock.log.shift()
}

/** Boards counted and flux sprayed: flow while spraying, or all flow where no channel says when it sprays. */
export function noteUse(clock: UseClock, { channel, timeMs, value }: Reading): void {
  if (typeof value !== 'number') return
  if (channel === 'board.count') {
    noteBoardCount(clock.counter, value)
    clock.boards += Math.max(0, takeSlotBoards(clock.counter))
  } else if (channel === 'fluxer.spray-on') {
    addFlux(clock, timeMs)
    clock.spraying = value > 0.5
  } else if (channel === 'fluxer.flow') {
    addFlux(clock, timeMs)
    clock.flowMlPerMin = Math.max(0, value)
  }
}

function addFlux(clock: UseClock, timeMs: number): void {
  const passedMs = Math.min(FLOW_MS_MAX, Math.max(0, timeMs - clock.flowMs))
  if (clock.flowMs > 0 && clock.spraying !== false) clock.fluxG += ((clock.flowMlPerMin * passedMs) / 60_000) * FLUX_DENSITY
  clock.flowMs = timeMs
}

/** The use up to now. */
export function useNow({ addedMs, beganMs, hours, boards, fluxG }: UseClock): Use {
  return { hours, boards, fluxG, ...(beganMs === undefined ? {} : { calendarHours: Math.max(0, addedMs - beganMs) / 3_600_000 }) }
}

/** The use at a time, looked up between the log's entries. */
export function useAt(clock: UseClock, timeMs: number): Use {
  const now = { timeMs: clock.addedMs, hours: clock.hours, boards: clock.boards, fluxG: clock.fluxG }
  const marks = [...clock.log, now]
  const calendar = (ms: number): Pick<Use, 'calendarHours'> => (clock.beganMs === undefined ? {} : { calendarHours: Math.max(0, ms - clock.beganMs) / 3_600_000 })
  const after = marks.findIndex((mark) => mark.timeMs >= timeMs)
  const to = after < 0 ? now : marks[after]!
  const from = after < 0 ? undefined : marks[after - 1]
  if (from === undefined || to.timeMs <= from.timeMs) return { hours: to.hours, boards: to.boards, fluxG: to.fluxG, ...calendar(to.timeMs) }
  const share = (timeMs - from.timeMs) / (to.timeMs - from.timeMs)
  return { hours: from.hours + share * (to.hours - from.hours), boards: from.boards + share * (to.boards - from.boards), fluxG: from.fluxG + share * (to.fluxG - from.fluxG), ...calendar(timeMs) }
}

export function useSince(now: Use, then: Use): Use {
  const since = { hours: Math.max(0, now.hours - then.hours), boards: Math.max(0, now.boards - then.boards), fluxG: Math.max(0, now.fluxG - then.fluxG) }
  return now.calendarHours === undefined || then.calendarHours === undefined ? since : { ...since, calendarHours: Math.max(0, now.calendarHours - then.calendarHours) }
}
