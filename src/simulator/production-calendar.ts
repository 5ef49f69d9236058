import type { HabitParameters } from './site-parameters.js'

/**
 * Hours from the start until so many hours of shift have passed, over nights and days off.
 *
 * @param startMs start of the simulation, ms UTC
 * @param shiftHours hours of shift, at least 0
 */
export function hoursUntilShiftHours(habits: Pick<HabitParameters, 'workdays' | 'dayStartMinute' | 'dayEndMinute'>, startMs: number, shiftHours: number): number {
  const { workdays, dayStartMinute, dayEndMinute } = habits
  if (workdays.length === 0 || dayEndMinute <= dayStartMinute) throw new Error('habits have no shift: expected at least one workday and an end after the start')
  let left = shiftHours * 60
  let minute = 0
  for (; left > 0; minute += 1) {
    const clockMinute = Math.floor(startMs / 60_000) + minute
    const day = Math.floor(clockMinute / 1440)
    const minuteOfDay = clockMinute - day * 1440
    if (workdays.includes((day + 4) % 7) && minuteOfDay >= dayStartMinute && minuteOfDay < dayEndMinute) left -= 1 // 1970-01-01 was a Thursday
  }
  return minute / 60
}

/** Hours of one day's shifts. */
export function shiftHoursPerDay({ dayStartMinute, dayEndMinute }: Pick<HabitParameters, 'dayStartMinute' | 'dayEndMinute'>): number {
  return (dayEndMinute - dayStartMinute) / 60
}
