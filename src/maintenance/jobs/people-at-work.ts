import type { LineDefinition } from '../../line/line-definition.js'

const DAYS = ['sun', 'mon', 'tue', 'wed', 'thu', 'fri', 'sat'] as const

/**
 * People of the shifts that run at a time, added up.
 *
 * @returns undefined where the line has no shifts: then nobody can know; 0 outside every shift
 */
export function peopleAtWork({ shifts, timeZone }: Pick<LineDefinition, 'shifts' | 'timeZone'>, timeMs: number): number | undefined {
  if (shifts.length === 0) return undefined
  const { day, minute } = localTime(timeMs, timeZone)
  const before = (day + 6) % 7
  let people = 0
  for (const shift of shifts) {
    const [start, end] = [minutesOf(shift.start), minutesOf(shift.end)]
    const on = (weekday: number): boolean => shift.days.includes(DAYS[weekday]!)
    // A shift over midnight belongs to the day it began on.
    const runs = start < end ? on(day) && minute >= start && minute < end : (on(day) && minute >= start) || (on(before) && minute < end)
    if (runs) people += shift.people
  }
  return people
}

function minutesOf(clock: string): number {
  return Number(clock.slice(0, 2)) * 60 + Number(clock.slice(3, 5))
}

function localTime(timeMs: number, timeZone: string): { readonly day: number; readonly minute: number } {
  const parts = new Intl.DateTimeFormat('en-US', { timeZone, weekday: 'short', hour: '2-digit', minute: '2-digit', hourCycle: 'h23' }).formatToParts(timeMs)
  const part = (type: Intl.DateTimeFormatPartTypes): string => parts.find((candidate) => candidate.type === type)!.value
  return { day: DAYS.indexOf(part('weekday').toLowerCase() as (typeof DAYS)[number]), minute: Number(part('hour')) * 60 + Number(part('minute')) }
}
