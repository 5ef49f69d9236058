import type { Side } from './chart-point.js'

/**
 * Deviations from the centre line over the recent past in a bounded number of segments: the newest points one by one,
 * older ones merged with their neighbours, so that the span grows while the memory does not. Plain JSON.
 *
 * A few points wait to be merged together, so that most points touch the end of the row alone. Whoever asks for segments
 * is answered as if each merge had been made at its point.
 */
export interface RecentHistory {
  /** Segments in use, oldest first; those above `SEGMENTS_MAX` wait. */
  length: number
  /** Of each segment in turn the time of its first point (ms UTC), the sum of its deviations (sigmas) and its number of points. */
  readonly row: number[]
}

/** When a change of level began, and how large it is. */
export interface LevelChange {
  readonly onsetMs: number
  /** Mean deviation since the onset, sigmas, signed. */
  readonly shiftSigma: number
  /** Points since the onset. */
  readonly pointCount: number
  /** Index of the first segment after the onset. */
  readonly segment: number
}

const SEGMENTS_MAX = 24
/** The newest points, never merged. */
const SEGMENTS_SINGLE = 8
/** Points back to which an onset is resolved to about a quarter of its age. */
const SPAN_RESOLVED = 500

/** Points that wait to be merged, at most. */
const WAITING_MAX = 4
/** Numbers of a segment in the row, and where they stand; its time comes first. */
const WIDTH = 3
const SUM = 1
const COUNT = 2

export function createRecentHistory(): RecentHistory {
  return { length: 0, row: new Array<number>(WIDTH * (SEGMENTS_MAX + WAITING_MAX)).fill(0) }
}

export function clearRecentHistory(history: RecentHistory): void {
  history.length = 0
}

/** Forgets the segments before the given one, an index as `likelyOnset` gives it. */
export function forgetBefore(history: RecentHistory, segment: number): void {
  settle(history)
  moveDown(history.row, WIDTH * segment, WIDTH * history.length, WIDTH * segment)
  history.length -= segment
}

/**
 * Adds the newest point; O(1), no allocation. More than all segments are merged with their neighbours: in turn the two
 * whose joint length is smallest for their age, so that the resolution is about the same share of the age everywhere.
 */
export function pushRecentHistory(history: RecentHistory, timeMs: number, deviationSigma: number): void {
  if (history.length === SEGMENTS_MAX + WAITING_MAX) settle(history)
  const { row } = history
  const at = WIDTH * history.length
  row[at] = timeMs
  // Four digits are far below the noise and keep the stored state short.
  row[at + SUM] = Math.round(deviationSigma * 1e4) / 1e4
  row[at + COUNT] = 1
  history.length++
}

/** Merges what waits, as if each merge had been made when the point after it came. */
function settle(history: RecentHistory): void {
  const { row } = history
  const end = WIDTH * SEGMENTS_MAX
  for (let next = SEGMENTS_MAX; next < history.length; next++) {
    const at = WIDTH * cheapestMerge(row)
    row[at + SUM]! += row[at + WIDTH + SUM]!
    row[at + COUNT]! += row[at + WIDTH + COUNT]!
    moveDown(row, at + 2 * WIDTH, end, WIDTH)
    moveDown(row, WIDTH * next, WIDTH * (next + 1), WIDTH * next - end + WIDTH)
  }
  if (history.length > SEGMENTS_MAX) history.length = SEGMENTS_MAX
}

function moveDown(row: number[], from: number, end: number, distance: number): void {
  for (let i = from; i < end; i++) row[i - distance] = row[i]!
}

/** The history with nothing waiting: itself, or a copy. */
function settled(history: RecentHistory): RecentHistory {
  if (history.length <= SEGMENTS_MAX) return history
  const copy = { length: history.length, row: history.row.slice() }
  settle(copy)
  return copy
}

/** Index of the older of the two segments to merge, of the oldest `SEGMENTS_MAX`; the newest of these stay single. */
function cheapestMerge(row: readonly number[]): number {
  let age = SEGMENTS_SINGLE
  let best = Number.MAX_VALUE
  let at = 0
  for (let i = SEGMENTS_MAX - SEGMENTS_SINGLE - 2; i >= 0; i--) {
    const newer = row[WIDTH * (i + 1) + COUNT]!
    // Beyond the span that matters the oldest segment takes in whatever there is.
    const older = i === 0 && age > SPAN_RESOLVED ? 0 : row[WIDTH * i + COUNT]!
    const cost = (older + newer) / (age + newer)
    if (cost < best) {
      best = cost
      at = i
    }
    age += newer
  }
  return at
}

/**
 * Most likely begin of a lasting change to one side: the split that maximises (points since)*(mean since)^2, which is
 * the maximum-likelihood estimate for a step away from a known level (Samuel, Pignatiello and Calvin, 1998).
 * Exact for the newest 8 points, resolved to about a quarter of its age for older ones.
 *
 * @returns undefined when no suffix of the history deviates to that side
 */
export function likelyOnset(history: RecentHistory, side: Side): LevelChange | undefined {
  const sign = side === 'above' ? 1 : -1
  const { length, row } = settled(history)
  let sum = 0
  let count = 0
  let best = 0
  let change: LevelChange | undefined
  for (let at = WIDTH * (length - 1); at >= 0; at -= WIDTH) {
    sum += row[at + SUM]! * sign
    count += row[at + COUNT]!
    const likelihood = sum > 0 ? (sum * sum) / count : 0
    if (likelihood > best) {
      best = likelihood
      change = { onsetMs: row[at]!, shiftSigma: (sign * sum) / count, pointCount: count, segment: at / WIDTH }
    }
  }
  return change
}

/** Median of the newest single points, at most eight of them; sigmas. */
export function recentMedian(history: RecentHistory): number | undefined {
  const recent: number[] = []
  for (let at = WIDTH * (history.length - 1); at >= 0 && recent.length < SEGMENTS_SINGLE; at -= WIDTH) recent.push(history.row[at + SUM]! / history.row[at + COUNT]!)
  if (recent.length === 0) return undefined
  recent.sort((a, b) => a - b)
  const middle = recent.length >> 1
  return recent.length % 2 === 1 ? recent[middle]! : (recent[middle - 1]! + recent[middle]!) / 2
}

/** Mean deviation of points, and how many there are. */
export interface StretchMean {
  /** Sigmas; 0 where there are no points. */
  readonly mean: number
  readonly pointCount: number
}

/** Means of all points, and of the older and the newer half of them. */
export function meanDeviations(history: RecentHistory): { readonly all: StretchMean; readonly older: StretchMean; readonly newer: StretchMean } {
  const whole = settled(history)
  const { length, row } = whole
  const all = segmentMean(whole, 0, length)
  let middle = 0
  let before = 0
  while (middle < length - 1 && before < all.pointCount / 2) before += row[WIDTH * middle++ + COUNT]!
  return { all, older: segmentMean(whole, 0, middle), newer: segmentMean(whole, middle, length) }
}

function segmentMean({ row }: RecentHistory, from: number, to: number): StretchMean {
  let sum = 0
  let pointCount = 0
  for (let at = WIDTH * from; at < WIDTH * to; at += WIDTH) {
    sum += row[at + SUM]!
    pointCount += row[at + COUNT]!
  }
  return { mean: pointCount === 0 ? 0 : sum / pointCount, pointCount }
}

/** Times of the segments' first points, oldest first, ms UTC. */
export function segmentStartsMs(history: RecentHistory): number[] {
  const { length, row } = settled(history)
  return Array.from({ length }, (_, i) => row[WIDTH * i]!)
}
