/** Means of one channel minute by minute, and what is open of the present minute: plain JSON. */
export interface MinuteSeries {
  sum: number
  count: number
  /** Closed minutes that held readings, oldest first, counted from 1970. */
  minutes: number[]
  means: number[]
  /** Time and value of the newest reading, and since when that value has not changed; ms UTC, 0 before the first. */
  lastMs: number
  lastValue: number
  unchangedSinceMs: number
}

/** Mean, extremes and number of the minutes of a window; `empty` where it holds none. */
export type WindowResult = { readonly kind: 'window'; readonly mean: number; readonly min: number; readonly max: number; readonly minuteCount: number } | { readonly kind: 'empty' }

/** Minutes kept: enough to look behind a change that took half an hour. */
export const MINUTES_KEPT = 45

const EMPTY: WindowResult = { kind: 'empty' }

export function emptySeries(): MinuteSeries {
  return { sum: 0, count: 0, minutes: [], means: [], lastMs: 0, lastValue: 0, unchangedSinceMs: 0 }
}

export function addToMinute(series: MinuteSeries, timeMs: number, value: number): void {
  if (value !== series.lastValue || series.lastMs === 0) series.unchangedSinceMs = timeMs
  series.lastMs = timeMs
  series.lastValue = value
  series.sum += value
  series.count += 1
}

/** Closes the open minute; true if it held readings. */
export function closeMinute(series: MinuteSeries, minute: number): boolean {
  if (series.count === 0) return false
  series.minutes.push(minute)
  series.means.push(series.sum / series.count)
  if (series.minutes.length > MINUTES_KEPT) {
    series.minutes.shift()
    series.means.shift()
  }
  series.sum = 0
  series.count = 0
  return true
}

/** The closed minutes from `from` to `to`, both included. */
export function minuteWindow(series: MinuteSeries, from: number, to: number): WindowResult {
  const { minutes, means } = series
  let sum = 0
  let minuteCount = 0
  let min = Number.POSITIVE_INFINITY
  let max = Number.NEGATIVE_INFINITY
  for (let index = minutes.length - 1; index >= 0; index--) {
    const minute = minutes[index] as number
    if (minute < from) break
    if (minute > to) continue
    const mean = means[index] as number
    sum += mean
    minuteCount += 1
    if (mean < min) min = mean
    if (mean > max) max = mean
  }
  return minuteCount === 0 ? EMPTY : { kind: 'window', mean: sum / minuteCount, min, max, minuteCount }
}

/** Change of the mean from one window to a later one; 0 where either holds nothing. */
export function minuteChange(series: MinuteSeries, earlier: readonly [number, number], later: readonly [number, number]): number {
  const before = minuteWindow(series, earlier[0], earlier[1])
  const after = minuteWindow(series, later[0], later[1])
  return before.kind === 'window' && after.kind === 'window' ? after.mean - before.mean : 0
}
