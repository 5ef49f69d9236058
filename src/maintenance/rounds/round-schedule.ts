import type { LineDefinition } from '../../line/line-definition.js'
import { ROUND_PERIODS, type RoundPeriod } from '../../line/round-periods.js'
import { createZoneClock, type ZoneClock } from '../../line/telemetry/zone-time.js'
import { fnv1a64 } from '../suggestion-id.js'
import { roundChecks, type RoundCheck, type RoundEvent } from './round-catalogue.js'

const MINUTE_MS = 60_000
const HOUR_MS = 60 * MINUTE_MS
const DAY_MS = 24 * HOUR_MS
const DAYS = ['sun', 'mon', 'tue', 'wed', 'thu', 'fri', 'sat'] as const

/** A stretch of time, ms UTC, the end left out. */
export interface TimeWindow {
  readonly fromMs: number
  readonly untilMs: number
}

export interface ShiftWindow extends TimeWindow {
  readonly name: string
}

/** What is known of the rounds of a line: what the part keeps. */
export interface RoundsKnown {
  /** When the line was first seen, ms UTC: nothing was due before. */
  readonly sinceMs: number
  /** When each check was last entered, ms UTC. */
  readonly lastMs: Readonly<Record<string, number>>
  /** Events that ask for checks, the newest of each kind. */
  readonly events: Readonly<Partial<Record<RoundEvent, number>>>
}

export interface DueCheck {
  readonly check: RoundCheck
  readonly status: 'due' | 'overdue'
  /** Begin of the window it is due in, or when the event happened; overdue ones since the window they were first missed in. */
  readonly sinceMs: number
  /** End of the window; nothing for events. */
  readonly dueByMs?: number
  /** The event that asks for it. */
  readonly event?: RoundEvent
  /** It was not done in the window before either. */
  readonly carriedOver: boolean
}

interface LocalDay {
  /** Local midnight as if it were UTC, ms. */
  readonly localMs: number
  readonly weekday: number
}

const CLOCKS = new Map<string, ZoneClock>()
const FORMATS = new Map<string, Intl.DateTimeFormat>()

function clockOf(timeZone: string): ZoneClock {
  let clock = CLOCKS.get(timeZone)
  if (clock === undefined) CLOCKS.set(timeZone, (clock = createZoneClock(timeZone)))
  return clock
}

/** The local calendar day of a time. */
function localDay(timeZone: string, timeMs: number): LocalDay {
  let format = FORMATS.get(timeZone)
  if (format === undefined) FORMATS.set(timeZone, (format = new Intl.DateTimeFormat('en-US', { timeZone, year: 'numeric', month: 'numeric', day: 'numeric' })))
  const parts = Object.fromEntries(format.formatToParts(timeMs).map(({ type, value }) => [type, Number(value)]))
  const localMs = Date.UTC(parts['year']!, parts['month']! - 1, parts['day']!)
  return { localMs, weekday: new Date(localMs).getUTCDay() }
}

/** A local clock reading in UTC; one that daylight saving skips is the hour after. */
function utcOf(timeZone: string, localMs: number): number {
  const clock = clockOf(timeZone)
  const result = clock.toUtc(localMs)
  if (result.kind === 'time') return result.timeMs
  const later = clock.toUtc(localMs + HOUR_MS)
  return later.kind === 'time' ? later.timeMs : localMs
}

function minutesOf(clock: string): number {
  const [hour = '0', minute = '0'] = clock.split(':')
  return Number(hour) * 60 + Number(minute)
}

/** Shifts that begin on a local day, in order; a line without shifts has the whole day as one. */
function shiftsOf(definition: LineDefinition, day: LocalDay): ShiftWindow[] {
  const { shifts, timeZone } = definition
  if (shifts.length === 0) return [{ name: '', fromMs: utcOf(timeZone, day.localMs), untilMs: utcOf(timeZone, day.localMs + DAY_MS) }]
  return shifts
    .filter(({ days }) => days.includes(DAYS[day.weekday]!))
    .map(({ name, start, end }) => {
      const from = minutesOf(start)
      const until = minutesOf(end)
      return { name, fromMs: utcOf(timeZone, day.localMs + from * MINUTE_MS), untilMs: utcOf(timeZone, day.localMs + (until > from ? until : until + 24 * 60) * MINUTE_MS) }
    })
    .sort((a, b) => a.fromMs - b.fromMs)
}

/** The shift a time lies in, or the last one that has ended; a night shift belongs to the day it began on. */
export function shiftAt(definition: LineDefinition, timeMs: number): ShiftWindow {
  const today = localDay(definition.timeZone, timeMs)
  for (let back = 0; back <= 8; back += 1) {
    const localMs = today.localMs - back * DAY_MS
    const begun = shiftsOf(definition, { localMs, weekday: new Date(localMs).getUTCDay() }).filter(({ fromMs }) => fromMs <= timeMs)
    const last = begun.find(({ untilMs }) => untilMs > timeMs) ?? begun.at(-1)
    if (last !== undefined) return last
  }
  return { name: '', fromMs: utcOf(definition.timeZone, today.localMs), untilMs: utcOf(definition.timeZone, today.localMs + DAY_MS) }
}

/** The window of a period that a time lies in: a shift, or the local day, week (from Monday) or month its shift began in. */
export function periodAt(definition: LineDefinition, period: Exclude<RoundPeriod, 'event'>, timeMs: number): TimeWindow {
  const { timeZone } = definition
  const shift = shiftAt(definition, timeMs)
  if (period === 'shift') return shift
  // What is done after midnight in a night shift belongs to the day the shift began.
  const day = localDay(timeZone, timeMs < shift.untilMs ? shift.fromMs : timeMs)
  const from = period === 'day' ? day.localMs : period === 'week' ? day.localMs - ((day.weekday + 6) % 7) * DAY_MS : Date.UTC(new Date(day.localMs).getUTCFullYear(), new Date(day.localMs).getUTCMonth(), 1)
  const until = period === 'day' ? from + DAY_MS : period === 'week' ? from + 7 * DAY_MS : Date.UTC(new Date(from).getUTCFullYear(), new Date(from).getUTCMonth() + 1, 1)
  // A day or week ends with its last shift, not at midnight.
  const end = Math.max(utcOf(timeZone, until), day.localMs + DAY_MS === until ? shift.untilMs : 0)
  return { fromMs: utcOf(timeZone, from), untilMs: end }
}

/** The last window of the same period with a shift in it that ended before this one began. */
function windowBefore(definition: LineDefinition, period: Exclude<RoundPeriod, 'event'>, window: TimeWindow): TimeWindow {
  // A moment inside the shift before this window: over a weekend that is Friday's.
  const before = shiftAt(definition, window.fromMs - 1)
  return periodAt(definition, period, before.untilMs <= window.fromMs ? before.untilMs - 1 : before.fromMs)
}

/**
 * Checks that are due at a time, in walking order: those not yet entered in the present shift, day, week or month, and
 * those that an event asks for. A check of a shift lapses with its shift; a longer one missed in the window before is
 * overdue and carried over.
 */
export function dueChecks(definition: LineDefinition, known: RoundsKnown, nowMs: number): readonly DueCheck[] {
  const due: DueCheck[] = []
  const shiftFromMs = shiftAt(definition, nowMs).fromMs
  for (const check of roundChecks(definition)) {
    const lastMs = known.lastMs[check.check]
    const event = openEvent(check, known, lastMs, shiftFromMs)
    if (event !== undefined) {
      due.push({ check, status: 'due', sinceMs: known.events[event]!, event, carriedOver: false })
      continue
    }
    if (check.every === 'event') continue
    const window = periodAt(definition, check.every, nowMs)
    if (lastMs !== undefined && lastMs >= window.fromMs) continue
    const before = windowBefore(definition, check.every, window)
    const missed = check.every !== 'shift' && before.fromMs >= known.sinceMs && (lastMs === undefined || lastMs < before.fromMs)
    due.push({ check, status: missed ? 'overdue' : 'due', sinceMs: missed ? before.fromMs : window.fromMs, dueByMs: window.untilMs, carriedOver: missed })
  }
  return due
}

/** A line is heated up so long before its shift begins at most. [ASM] */
const START_BEFORE_SHIFT_MS = 3 * HOUR_MS

/** The newest event that asks for the check and came after it was last done. The short list of a start lapses with its shift. */
function openEvent(check: RoundCheck, known: RoundsKnown, lastMs: number | undefined, shiftFromMs: number): RoundEvent | undefined {
  return check.after
    .filter((event) => event !== 'start-up' || (known.events[event] ?? 0) >= shiftFromMs - START_BEFORE_SHIFT_MS)
    .filter((event) => known.events[event] !== undefined && (lastMs === undefined || lastMs < known.events[event]!))
    .sort((a, b) => known.events[b]! - known.events[a]!)[0]
}

/** Share of the checks of a round that are asked to be told. */
const ASKED_SHARE = 0.34

/**
 * Checks of which "all fine" is not enough now: each asks a value or what was seen, so that nobody ticks blind. Those
 * with a value that makes the check are always among them; the others change from shift to shift (day, week, month) and
 * are the same for everybody who looks: they follow from line, round and window alone.
 */
export function askedChecks(definition: LineDefinition, nowMs: number): ReadonlySet<string> {
  const asked = new Set<string>()
  for (const period of ROUND_PERIODS) {
    const pool = roundChecks(definition).filter(({ every }) => every === period)
    const { fromMs } = period === 'event' ? shiftAt(definition, nowMs) : periodAt(definition, period, nowMs)
    const turns = pool
      .filter(({ looks, valuesNeeded }) => looks && !valuesNeeded)
      .map(({ check }) => ({ check, rank: fnv1a64(`${definition.line}|${period}|${fromMs}|${check}`) }))
      .sort((a, b) => (a.rank < b.rank ? -1 : 1))
    for (const { check } of turns.slice(0, Math.ceil(turns.length * ASKED_SHARE))) asked.add(check)
    for (const { check, valuesNeeded } of pool) if (valuesNeeded) asked.add(check)
  }
  return asked
}

/** The three sentences of a look in an order that changes, so that the first is not always the good one; findings 0, 2 and 4. */
export function lookOrder(definition: LineDefinition, check: string, nowMs: number): readonly (0 | 2 | 4)[] {
  const { fromMs } = shiftAt(definition, nowMs)
  const orders: readonly (readonly (0 | 2 | 4)[])[] = [[0, 2, 4], [2, 0, 4], [4, 2, 0], [2, 4, 0]]
  return orders[Number(fnv1a64(`${definition.line}|${fromMs}|look|${check}`) % 4n)]!
}
