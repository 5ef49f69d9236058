import type { ShiftWindow } from './plan-week-calendar.js'
import { unitNeedsCold, type ScheduledItem, type SetUpMinutes, type StopSchedule, type WorkUnit } from './stop-schedule.js'

const MINUTE_MS = 60_000
/** A part that leaves less than this for the work itself is not worth opening the line. [ASM] */
const WORK_MINUTES_MIN = 30

export interface WorkPart {
  readonly shift: ShiftWindow
  readonly schedule: StopSchedule
}

/**
 * Spreads a unit that no shift can hold over shifts that follow each other without production in between: the line
 * stands taken apart from the first part to the last. The line is isolated anew for each part; it cools before the
 * first, and goes back into service after the last.
 *
 * @param shifts shifts that may be used, in order
 * @param around all shifts of the line, to see whether boards are made between two parts
 * @returns the parts of the first run of shifts that is long enough, at least two; undefined where there is none
 */
export function splitOverShifts(
  unit: WorkUnit,
  shifts: readonly ShiftWindow[],
  around: readonly ShiftWindow[],
  figures: { readonly isolation: number; readonly coolDown: number; readonly back: number },
  isFree: (fromMs: number, untilMs: number, shift: ShiftWindow) => boolean,
): readonly WorkPart[] | undefined {
  const quiet = shifts.filter(({ production }) => !production)
  for (let first = 0; first < quiet.length; first += 1) {
    const run: ShiftWindow[] = []
    for (const shift of quiet.slice(first)) {
      const last = run.at(-1)
      if (last !== undefined && around.some((other) => other.production && other.fromMs < shift.fromMs && other.untilMs > last.untilMs)) break
      if (last !== undefined && shift.fromMs < last.untilMs) continue
      if (!isFree(shift.fromMs, shift.untilMs, shift)) break
      run.push(shift)
      const parts = fill(unit, run, figures)
      if (parts !== undefined) return parts
    }
  }
  return undefined
}

/** Work of the unit in the run, or undefined where it is too short; the last part ends when the work is done. */
function fill(unit: WorkUnit, run: readonly ShiftWindow[], figures: { readonly isolation: number; readonly coolDown: number; readonly back: number }): readonly WorkPart[] | undefined {
  const people = Math.max(...unit.items.map((item) => item.people))
  const left = unit.items.map((item) => ({ item, minutes: item.minutes.planned }))
  // At most half in any part: what would fit into one very long shift is still not done in one.
  const shareMinutes = Math.ceil(left.reduce((sum, { minutes }) => sum + minutes, 0) / 2)
  const parts: WorkPart[] = []
  for (const [index, shift] of run.entries()) {
    const isLast = index === run.length - 1
    const setUp: SetUpMinutes = { isolation: figures.isolation, coolDown: index === 0 && unitNeedsCold(unit) ? figures.coolDown : 0, back: isLast ? figures.back : 0, warmUp: 0 }
    const roomMinutes = (shift.untilMs - shift.fromMs) / MINUTE_MS - setUp.isolation - setUp.coolDown - setUp.back
    if (roomMinutes < WORK_MINUTES_MIN) return undefined
    const startMs = shift.fromMs + (setUp.isolation + setUp.coolDown) * MINUTE_MS
    // The last part has work too: a line is not left taken apart to be put into service another day.
    const remaining = left.reduce((sum, { minutes }) => sum + minutes, 0)
    const laterMinutes = isLast ? 0 : Math.ceil(Math.min(WORK_MINUTES_MIN, remaining / 2))
    const jobs = takeWork(left, Math.min(roomMinutes, shareMinutes, remaining - laterMinutes), startMs)
    if (jobs.length === 0) return undefined
    const endMs = jobs.at(-1)?.untilMs ?? startMs
    parts.push({ shift, schedule: { fromMs: shift.fromMs, untilMs: endMs + setUp.back * MINUTE_MS, jobs, setUp, people } })
  }
  return left.some(({ minutes }) => minutes > 0) ? undefined : parts
}

function takeWork(left: { readonly item: ScheduledItem['item']; minutes: number }[], roomMinutes: number, startMs: number): ScheduledItem[] {
  const jobs: ScheduledItem[] = []
  let room = roomMinutes
  let at = startMs
  for (const work of left) {
    const minutes = Math.min(work.minutes, room)
    if (minutes <= 0) continue
    jobs.push({ item: work.item, fromMs: at, untilMs: at + minutes * MINUTE_MS })
    at += minutes * MINUTE_MS
    room -= minutes
    work.minutes -= minutes
  }
  return jobs
}
