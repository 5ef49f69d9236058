import { createZoneClock, type ZoneClock } from './zone-time.js'

/** Form of a time in a payload; without it texts are ISO 8601 and numbers are told apart by their size. */
export type TimeUnit = 'iso' | 's' | 'ms'

export type TimeResult = { readonly kind: 'time'; readonly timeMs: number } | { readonly kind: 'bad-time'; readonly expected: string }

/**
 * A stamp outside is a clock that was never set, or a count in another unit: no plant history reaches back further
 * than the first of these, and no line is planned beyond the second.
 */
const TIME_MS_MIN = Date.UTC(1990, 0, 1)
const TIME_MS_MAX = Date.UTC(2100, 0, 1)

/** Numbers from here on are milliseconds: as seconds this would be the year 5138, as milliseconds it is 1973. */
const MS_FROM = 1e11

const EXPECTED = 'ISO 8601 such as 2026-03-29T08:15:00Z, or seconds or milliseconds since 1970 (UTC), between 1990 and 2100'

const ISO = /^(\d{4})-(\d{2})-(\d{2})(?:[T ](\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?)?(?: ?(Z|z|[+-]\d{2}(?::?\d{2})?))?$/
const NUMBER = /^[+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?$/

const clocks = new Map<string, ZoneClock>()

/**
 * Reads a time of a payload, a file or a wire.
 *
 * @param value text or number, still unchecked
 * @param options.timeUnit form, where the definition gives one
 * @param options.timeZone IANA zone of texts that carry none; an hour that is repeated when clocks go back means its
 * first pass unless `notBeforeMs` says otherwise, and an hour that is left out is refused
 * @param options.notBeforeMs time of the reading before it, ms UTC
 */
export function parseReadingTime(value: unknown, options: { readonly timeZone: string; readonly timeUnit?: TimeUnit; readonly notBeforeMs?: number }): TimeResult {
  if (typeof value === 'number') return numberTime(value, options.timeUnit)
  if (typeof value !== 'string') return { kind: 'bad-time', expected: EXPECTED }
  const text = value.trim()
  if (NUMBER.test(text) && options.timeUnit !== 'iso') return numberTime(Number(text), options.timeUnit)
  if (options.timeUnit === 's' || options.timeUnit === 'ms') return { kind: 'bad-time', expected: `a number of ${options.timeUnit} since 1970 (UTC)` }
  return isoTime(text, options.timeZone, options.notBeforeMs)
}

function numberTime(value: number, timeUnit: TimeUnit | undefined): TimeResult {
  if (!Number.isFinite(value) || timeUnit === 'iso') return { kind: 'bad-time', expected: timeUnit === 'iso' ? 'a text in ISO 8601' : EXPECTED }
  const seconds = timeUnit === 's' || (timeUnit === undefined && Math.abs(value) < MS_FROM)
  return checkedTime(Math.round(seconds ? value * 1000 : value))
}

function isoTime(text: string, timeZone: string, notBeforeMs: number | undefined): TimeResult {
  const match = ISO.exec(text)
  if (match === null) return { kind: 'bad-time', expected: EXPECTED }
  const [, year, month, day, hour = '0', minute = '0', second = '0', fraction = '', zone] = match
  const localMs = Date.UTC(Number(year), Number(month) - 1, Number(day), Number(hour), Number(minute), Number(second)) + Number(fraction.padEnd(3, '0').slice(0, 3))
  if (!isCalendarTime(localMs, match)) return { kind: 'bad-time', expected: 'a day and a time of day that exist' }
  if (zone === undefined) {
    const local = clockOf(timeZone).toUtc(localMs, notBeforeMs)
    return local.kind === 'time' ? checkedTime(local.timeMs) : { kind: 'bad-time', expected: `a time that exists in ${timeZone}: clocks were put forward over it` }
  }
  if (zone === 'Z' || zone === 'z') return checkedTime(localMs)
  const minutes = Number(zone.slice(1, 3)) * 60 + Number(zone.slice(3).replace(':', '') || '0')
  if (minutes > 15 * 60) return { kind: 'bad-time', expected: 'an offset from UTC within 15 h' }
  return checkedTime(localMs - (zone.startsWith('-') ? -minutes : minutes) * 60_000)
}

function isCalendarTime(localMs: number, match: RegExpExecArray): boolean {
  const date = new Date(localMs)
  return date.getUTCMonth() + 1 === Number(match[2]) && date.getUTCDate() === Number(match[3]) && date.getUTCHours() === Number(match[4] ?? 0) && date.getUTCMinutes() === Number(match[5] ?? 0) && date.getUTCSeconds() === Number(match[6] ?? 0)
}

function checkedTime(timeMs: number): TimeResult {
  return timeMs >= TIME_MS_MIN && timeMs < TIME_MS_MAX ? { kind: 'time', timeMs } : { kind: 'bad-time', expected: EXPECTED }
}

function clockOf(timeZone: string): ZoneClock {
  let clock = clocks.get(timeZone)
  if (clock === undefined) {
    clock = createZoneClock(timeZone)
    clocks.set(timeZone, clock)
  }
  return clock
}
