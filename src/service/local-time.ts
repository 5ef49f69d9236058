const LOCAL = /^(\d{4})-(\d{2})-(\d{2})(?:[T ](\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?)?$/
const WITH_ZONE = /(?:Z|[+-]\d{2}:?\d{2})$/i

/** A date and time of day without a zone, read in `timeZone`; what cannot be read so is given back as it came. */
export type TimeReader = (text: string, notBeforeMs: number) => number | string

const formats = new Map<string, Intl.DateTimeFormat>()

/**
 * Reads the times of a file. Numbers and texts with their own zone are left for the telemetry stage, which checks every
 * time alike; only a local time needs to know the zone of the file.
 *
 * The hour that is lived twice when the clocks go back is read in order: the first time unless that lies before the
 * row above (`notBeforeMs`). A time skipped when they go forward is read with the offset before the change.
 *
 * @param timeZone IANA name
 */
export function localTimeReader(timeZone: string): TimeReader {
  let hourKey = ''
  let hourOffsets: readonly number[] = []
  return (text, notBeforeMs) => {
    const trimmed = text.trim()
    if (WITH_ZONE.test(trimmed) && trimmed.includes(':')) return trimmed
    const match = LOCAL.exec(trimmed)
    if (match === null) return /^-?\d+(\.\d+)?$/.test(trimmed) ? Number(trimmed) : trimmed
    const [, year, month, day, hour = '0', minute = '0', second = '0', fraction = '0'] = match
    const asUtcMs = Date.UTC(Number(year), Number(month) - 1, Number(day), Number(hour), Number(minute), Number(second), Math.round(Number(`0.${fraction}`) * 1000))
    if (new Date(asUtcMs).getUTCDate() !== Number(day) || Number(month) > 12 || Number(hour) > 23 || Number(minute) > 59) return trimmed
    const key = trimmed.slice(0, 15)
    if (key !== hourKey) {
      hourKey = key
      hourOffsets = offsetsAt(asUtcMs, timeZone)
    }
    const candidates = hourOffsets.map((offsetMs) => asUtcMs - offsetMs)
    return candidates.find((candidate) => candidate >= notBeforeMs) ?? candidates.at(-1) ?? trimmed
  }
}

/** Offsets from UTC that give this local time back, ms, the earlier instant first; the offset before the gap if none does. */
function offsetsAt(localMs: number, timeZone: string): number[] {
  const before = offsetOf(localMs - 86_400_000, timeZone)
  const after = offsetOf(localMs + 86_400_000, timeZone)
  const fitting = [...new Set([before, after])].filter((offsetMs) => offsetOf(localMs - offsetMs, timeZone) === offsetMs)
  return fitting.length === 0 ? [before] : fitting.sort((a, b) => b - a)
}

function offsetOf(utcMs: number, timeZone: string): number {
  let format = formats.get(timeZone)
  if (format === undefined) {
    format = new Intl.DateTimeFormat('en-US', { timeZone, hourCycle: 'h23', year: 'numeric', month: '2-digit', day: '2-digit', hour: '2-digit', minute: '2-digit', second: '2-digit' })
    formats.set(timeZone, format)
  }
  const parts = Object.fromEntries(format.formatToParts(utcMs).map(({ type, value }) => [type, Number(value)]))
  const { year = 0, month = 1, day = 1, hour = 0, minute = 0, second = 0 } = parts
  return Date.UTC(year, month - 1, day, hour, minute, second) - Math.floor(utcMs / 1000) * 1000
}
