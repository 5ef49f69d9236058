const HOUR_MS = 3_600_000
const DAY_MS = 24 * HOUR_MS

/** A clock reading turned into UTC, or why it cannot be. */
export type LocalTimeResult = { readonly kind: 'time'; readonly timeMs: number } | { readonly kind: 'does-not-exist' }

/** Offsets of one local day: one all day, or two with the moment of change. Offset = local minus UTC, ms. */
interface DayOffsets {
  readonly beforeMs: number
  readonly afterMs: number
  /** ms UTC of the change; meaningless where both offsets are equal. */
  readonly changeMs: number
}

/** Turns local clock readings of one time zone into UTC. */
export interface ZoneClock {
  /**
   * @param localMs the clock reading as if it were UTC, ms
   * @param notBeforeMs a time known to lie before or close to it, ms UTC: it decides which pass of a repeated hour is
   * meant; without it the first
   */
  toUtc(localMs: number, notBeforeMs?: number): LocalTimeResult
}

/** How far before `notBeforeMs` the first pass of a repeated hour may lie and still be meant. */
const REPEAT_TOLERANCE_MS = HOUR_MS / 2

/** Days kept; a file of many years goes on computing, it only forgets the oldest day. */
const DAYS_KEPT_MAX = 4000

/**
 * A clock of a time zone, daylight saving included. Offsets are found once per local day, so that a long file costs no
 * more than its days.
 *
 * @throws Error if the zone is not known
 */
export function createZoneClock(timeZone: string): ZoneClock {
  const offsetAt = createOffsetLookup(timeZone)
  const days = new Map<number, DayOffsets>()

  function offsetsOf(day: number): DayOffsets {
    const known = days.get(day)
    if (known !== undefined) return known
    const found = findDayOffsets(offsetAt, day)
    if (days.size >= DAYS_KEPT_MAX) days.delete(days.keys().next().value as number)
    days.set(day, found)
    return found
  }

  return {
    toUtc(localMs, notBeforeMs) {
      const { beforeMs, afterMs, changeMs } = offsetsOf(Math.floor(localMs / DAY_MS))
      if (beforeMs === afterMs) return { kind: 'time', timeMs: localMs - beforeMs }
      const first = localMs - beforeMs
      const second = localMs - afterMs
      const firstExists = first < changeMs
      const secondExists = second >= changeMs
      if (firstExists && secondExists) {
        const secondPass = notBeforeMs !== undefined && first < notBeforeMs - REPEAT_TOLERANCE_MS
        return { kind: 'time', timeMs: secondPass ? second : first }
      }
      if (firstExists) return { kind: 'time', timeMs: first }
      return secondExists ? { kind: 'time', timeMs: second } : { kind: 'does-not-exist' }
    },
  }
}

function findDayOffsets(offsetAt: (utcMs: number) => number, day: number): DayOffsets {
  // No zone is more than 14 h off UTC: these two moments enclose the local day whatever the zone.
  let lowMs = day * DAY_MS - 15 * HOUR_MS
  let highMs = (day + 1) * DAY_MS + 15 * HOUR_MS
  const beforeMs = offsetAt(lowMs)
  const afterMs = offsetAt(highMs)
  if (beforeMs === afterMs) return { beforeMs, afterMs, changeMs: 0 }
  while (highMs - lowMs > 1000) {
    const middleMs = lowMs + Math.floor((highMs - lowMs) / 2000) * 1000
    if (offsetAt(middleMs) === beforeMs) lowMs = middleMs
    else highMs = middleMs
  }
  return { beforeMs, afterMs, changeMs: highMs }
}

function createOffsetLookup(timeZone: string): (utcMs: number) => number {
  const format = new Intl.DateTimeFormat('en-US', {
    timeZone, hourCycle: 'h23', year: 'numeric', month: 'numeric', day: 'numeric', hour: 'numeric', minute: 'numeric', second: 'numeric',
  })
  return (utcMs) => {
    const parts: Record<string, number> = {}
    for (const part of format.formatToParts(utcMs)) {
      if (part.type !== 'literal') parts[part.type] = Number(part.value)
    }
    const local = Date.UTC(parts['year'] ?? 0, (parts['month'] ?? 1) - 1, parts['day'] ?? 1, parts['hour'] ?? 0, parts['minute'] ?? 0, parts['second'] ?? 0)
    return local - Math.floor(utcMs / 1000) * 1000
  }
}
