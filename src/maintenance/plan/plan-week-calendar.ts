import type { LineDefinition } from '../../line/line-definition.js'
import { createZoneClock, type ZoneClock } from '../../line/telemetry/zone-time.js'

const DAY_MS = 86_400_000
const WEEK_MS = 7 * DAY_MS
const DAY_NAMES = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'] as const

/** A shift on a date; times ms UTC. */
export interface ShiftWindow {
  readonly name: string
  readonly fromMs: number
  readonly untilMs: number
  readonly people: number
  /** Whether boards are made in it; work in the others costs none. */
  readonly production: boolean
}

/** Years a plan can be asked for; the weeks before and after them can still be written. */
const YEARS = { first: 1970, last: 9998 } as const

/** Whether a text names a week that exists, as ISO 8601 writes it: `2026-W53` does, `2025-W53` does not. */
export function isIsoWeek(text: string): boolean {
  const parts = /^(\d{4})-W(\d{2})$/.exec(text)
  if (parts === null) return false
  const [year, week] = [Number(parts[1]), Number(parts[2])]
  return year >= YEARS.first && year <= YEARS.last && week >= 1 && week <= weeksOf(year)
}

/** A year has 53 weeks when its 28 December lies in week 53: when it begins on a Thursday, or in a leap year on a Wednesday. */
function weeksOf(year: number): number {
  return weekOfDay(Date.UTC(year, 11, 28)).week
}

/** ISO 8601: the week of a day is that of its Thursday, and week 1 has the year's first Thursday. */
function weekOfDay(dayMs: number): { readonly year: number; readonly week: number } {
  const thursdayMs = dayMs + (3 - weekdayOf(dayMs)) * DAY_MS
  const year = new Date(thursdayMs).getUTCFullYear()
  return { year, week: 1 + Math.floor((thursdayMs - Date.UTC(year, 0, 1)) / WEEK_MS) }
}

/** 0 Monday … 6 Sunday; 1 January 1970 was a Thursday. */
function weekdayOf(dayMs: number): number {
  return (((Math.floor(dayMs / DAY_MS) + 3) % 7) + 7) % 7
}

/** ISO week of a moment in a time zone, e.g. `2026-W48`. */
export function isoWeekOf(timeMs: number, timeZone: string): string {
  const { year, week } = weekOfDay(localDayMs(timeMs, timeZone))
  return `${String(year).padStart(4, '0')}-W${String(week).padStart(2, '0')}`
}

/** The week after or before one. @throws Error for a week that does not exist */
export function weekAfter(week: string, count: number): string {
  const { year, week: number } = weekOfDay(mondayOf(week) + count * WEEK_MS)
  return `${String(year).padStart(4, '0')}-W${String(number).padStart(2, '0')}`
}

/**
 * Monday 00:00 to Monday 00:00 of an ISO week in a time zone, ms UTC; 167 or 169 h where the clocks change.
 *
 * @throws Error for a week that does not exist
 */
export function weekRange(week: string, timeZone: string): { readonly fromMs: number; readonly untilMs: number } {
  const mondayMs = mondayOf(week)
  const clock = createZoneClock(timeZone)
  return { fromMs: toUtc(clock, mondayMs), untilMs: toUtc(clock, mondayMs + WEEK_MS) }
}

function mondayOf(week: string): number {
  if (!isIsoWeek(week)) throw new Error(`week "${week}"; expected an ISO week that exists, e.g. "2026-W48"`)
  const fourthMs = Date.UTC(Number(week.slice(0, 4)), 0, 4)
  return fourthMs - weekdayOf(fourthMs) * DAY_MS + (Number(week.slice(6)) - 1) * WEEK_MS
}

function localDayMs(timeMs: number, timeZone: string): number {
  const parts = Object.fromEntries(new Intl.DateTimeFormat('en-US', { timeZone, year: 'numeric', month: 'numeric', day: 'numeric' }).formatToParts(timeMs).map(({ type, value }) => [type, Number(value)]))
  return Date.UTC(parts['year'] ?? 0, (parts['month'] ?? 1) - 1, parts['day'] ?? 1)
}

/** A clock reading that does not exist, in the hour that is left out in spring, is taken an hour later. */
function toUtc(clock: ZoneClock, localMs: number): number {
  const result = clock.toUtc(localMs)
  if (result.kind === 'time') return result.timeMs
  const later = clock.toUtc(localMs + 3_600_000)
  if (later.kind !== 'time') throw new Error(`no such local time: ${new Date(localMs).toISOString().slice(0, 16)}`)
  return later.timeMs
}

/**
 * Shifts that begin within a time, in order; one that ends at or before its start goes on into the next day.
 *
 * @param shifts as in the line definition
 */
export function shiftWindows(shifts: LineDefinition['shifts'], timeZone: string, fromMs: number, untilMs: number): ShiftWindow[] {
  const clock = createZoneClock(timeZone)
  const windows: ShiftWindow[] = []
  for (let dayMs = localDayMs(fromMs, timeZone) - DAY_MS; dayMs <= untilMs + DAY_MS; dayMs += DAY_MS) {
    const name = DAY_NAMES[weekdayOf(dayMs)]!
    for (const shift of shifts) {
      if (!shift.days.includes(name)) continue
      const startMs = toUtc(clock, dayMs + minutesOf(shift.start) * 60_000)
      const endMs = toUtc(clock, dayMs + (minutesOf(shift.end) <= minutesOf(shift.start) ? DAY_MS : 0) + minutesOf(shift.end) * 60_000)
      if (startMs >= fromMs && startMs < untilMs && endMs > startMs) windows.push({ name: shift.name, fromMs: startMs, untilMs: endMs, people: shift.people, production: shift.production ?? true })
    }
  }
  return windows.sort((a, b) => a.fromMs - b.fromMs || a.untilMs - b.untilMs || a.name.localeCompare(b.name, 'en'))
}

function minutesOf(clockText: string): number {
  return Number(clockText.slice(0, 2)) * 60 + Number(clockText.slice(3, 5))
}
