import type { TimeMarkView } from './api-types.js'
import type { ShiftView } from './charts-client.js'

/** How far back the charts look. */
export type RangeKind = 'shift' | 'day' | 'week' | 'cleaning' | 'all'
export const RANGES: readonly RangeKind[] = ['shift', 'day', 'week', 'cleaning', 'all']

const HOUR_MS = 3_600_000
/** Without shifts in the definition, the last eight hours are the shift. */
const SHIFT_HOURS = 8

export interface RangeQuestion {
  readonly nowMs: number
  readonly timeZone: string
  readonly shifts: readonly ShiftView[]
  readonly marks: readonly TimeMarkView[]
  readonly section: string
}

/** Begin of a range, ms UTC; undefined where everything is shown. */
export function rangeStartMs(kind: RangeKind, question: RangeQuestion): number | undefined {
  switch (kind) {
    case 'shift':
      return shiftStartMs(question)
    case 'day':
      return question.nowMs - 24 * HOUR_MS
    case 'week':
      return question.nowMs - 7 * 24 * HOUR_MS
    case 'cleaning': {
      const last = question.marks.filter((mark) => mark.cleaning === true && mark.section === question.section).at(-1)
      return last === undefined ? undefined : Date.parse(last.time)
    }
    case 'all':
      return undefined
  }
}

const DAYS: Readonly<Record<string, string>> = { Mon: 'mon', Tue: 'tue', Wed: 'wed', Thu: 'thu', Fri: 'fri', Sat: 'sat', Sun: 'sun' }

/** The newest start of a shift up to now, on the plant's clock; an hour more where the clocks change is no harm. */
function shiftStartMs({ nowMs, timeZone, shifts }: RangeQuestion): number {
  const clock = new Intl.DateTimeFormat('en-GB', { timeZone, weekday: 'short', hour: '2-digit', minute: '2-digit', hourCycle: 'h23' })
  const minuteMs = Math.floor(nowMs / 60_000) * 60_000
  for (let back = 0; back < 7 * 24 * 60; back += 1) {
    const timeMs = minuteMs - back * 60_000
    const parts = Object.fromEntries(clock.formatToParts(timeMs).map(({ type, value }) => [type, value]))
    const day = DAYS[parts['weekday'] ?? ''] ?? ''
    const time = `${parts['hour']}:${parts['minute']}`
    if (shifts.some((shift) => shift.start === time && shift.days.includes(day))) return timeMs
    if (shifts.length === 0) break
  }
  return nowMs - SHIFT_HOURS * HOUR_MS
}
