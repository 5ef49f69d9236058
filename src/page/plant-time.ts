/** Date-and-time fields speak the plant's time, as everything else on the page does, whatever zone the device is set to. */

/** What a date-and-time field holds for a time, e.g. "2026-03-02T14:30". */
export function fieldOfTime(iso: string, timeZone: string): string {
  const parts = new Map(new Intl.DateTimeFormat('en-CA', { timeZone, hourCycle: 'h23', year: 'numeric', month: '2-digit', day: '2-digit', hour: '2-digit', minute: '2-digit' }).formatToParts(new Date(iso)).map(({ type, value }) => [type, value]))
  const part = (name: Intl.DateTimeFormatPartTypes): string => parts.get(name) ?? ''
  return `${part('year')}-${part('month')}-${part('day')}T${part('hour')}:${part('minute')}`
}

/**
 * The time, ISO 8601 UTC, that a date-and-time field names at the plant. Of an hour that the clocks go through twice it is
 * one of the two, in one that they leave out it lies beside it by no more than that hour.
 *
 * @param field as the browser gives it, with or without seconds
 */
export function timeOfField(field: string, timeZone: string): string {
  const asUtcMs = Date.parse(`${field}Z`)
  const aheadMs = (timeMs: number): number => Date.parse(`${fieldOfTime(new Date(timeMs).toISOString(), timeZone)}Z`) - Math.floor(timeMs / 60_000) * 60_000
  const nearMs = asUtcMs - aheadMs(asUtcMs)
  return new Date(asUtcMs - aheadMs(nearMs)).toISOString()
}
