import type { Side } from './chart-point.js'

/**
 * Deviations from the centre line over the recent past in a bounded number of segments: the newest points one by one,
 * older ones merged with their neighbours, so that the span grows while the memory does not. Plain JSON.
 */
export interface RecentHistory {
  /** Segments in use, oldest first. */
  length: number
  /** One row of fixed length: points in each segment, time of each one's first point (ms UTC), sum of each one's deviations (sigmas). */
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

/** Where the times and the sums stand in the row; the counts come first. */
const START = SEGMENTS_MAX
const SUM = 2 * SEGMENTS_MAX

export function createRecentHistory(): RecentHistory {
  return { length: 0, row: new Array<number>(3 * SEGMENTS_MAX).fill(0) }
}

export function clearRecentHistory(history: RecentHistory): void {
  history.length = 0
}

/** Forgets the segments before the given one. */
export function forgetBefore(history: RecentHistory, segment: number): void {
  if (segment <= 0) return
  moveDown(history.row, 0, segment, history.length)
  history.length -= segment
}

/**
 * Adds the newest point; O(1), no allocation. When all segments are in use, the two neighbours are merged whose joint
 * length is smallest for their age, so that the resolution is about the same share of the age everywhere.
 */
export function pushRecentHistory(history: RecentHistory, timeMs: number, deviationSigma: number): void {
  const { row } = history
  if (history.length === SEGMENTS_MAX) {
    const at = cheapestMerge(row)
    row[at]! += row[at + 1]!
    row[SUM + at]! += row[SUM + at + 1]!
    moveDown(row, at + 1, at + 2, SEGMENTS_MAX)
    history.length--
  }
  const { length } = history
  row[length] = 1
  row[START + length] = timeMs
  // Four digits are far below the noise and keep the stored state short.
  row[SUM + length] = Math.round(deviationSigma * 1e4) / 1e4
  history.length++
}

/** Moves the segments from `from` on, up to before `end`, down to `to`. */
function moveDown(row: number[], to: number, from: number, end: number): void {
  const distance = from - to
  for (let i = to; i < end - distance; i++) {
    row[i] = row[i + distance]!
    row[START + i] = row[START + i + distance]!
    row[SUM + i] = row[SUM + i + distance]!
  }
}

/** Index of the older of the two segments to merge; the newest points stay single. */
function cheapestMerge(row: readonly number[]): number {
  let age = SEGMENTS_SINGLE
  let best = Number.MAX_VALUE
  let at = 0
  for (let i = SEGMENTS_MAX - SEGMENTS_SINGLE - 2; i >= 0; i--) {
    const newer = row[i + 1]!
    // Beyond the span that matters the oldest segment takes in whatever there is.
    const older = i === 0 && age > SPAN_RESOLVED ? 0 : row[i]!
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
  const { row } = history
  let sum = 0
  let count = 0
  let best = 0
  let change: LevelChange | undefined
  for (let i = history.length - 1; i >= 0; i--) {
    sum += row[SUM + i]! * sign
    count += row[i]!
    const likelihood = sum > 0 ? (sum * sum) / count : 0
    if (likelihood > best) {
      best = likelihood
      change = { onsetMs: row[START + i]!, shiftSigma: (sign * sum) / count, pointCount: count, segment: i }
    }
  }
  return change
}

/** Median of the newest single points, at most eight of them; sigmas. */
export function recentMedian(history: RecentHistory): number | undefined {
  const recent: number[] = []
  for (let i = history.length - 1; i >= 0 && recent.length < SEGMENTS_SINGLE; i--) recent.push(history.row[SUM + i]! / history.row[i]!)
  if (recent.length === 0) return undefined
  recent.sort((a, b) => a - b)
  const middle = recent.length >> 1
  return recent.length % 2 === 1 ? recent[middle]! : (recent[middle - 1]! + recent[middle]!) / 2
}

/** Time of a segment's first point, ms UTC. */
export function segmentStartMs(history: RecentHistory, segment: number): number {
  return history.row[START + segment]!
}

/** Mean deviation of the points of segments [from, to), and how many there are. */
export function segmentMean(history: RecentHistory, from: number, to: number): { mean: number; pointCount: number } {
  let sum = 0
  let pointCount = 0
  for (let i = from; i < to; i++) {
    sum += history.row[SUM + i]!
    pointCount += history.row[i]!
  }
  return { mean: pointCount === 0 ? 0 : sum / pointCount, pointCount }
}

/** Index of the first segment of the newer half of the points. */
export function middleSegment(history: RecentHistory): number {
  const { length, row } = history
  const total = segmentMean(history, 0, length).pointCount
  let middle = 0
  let older = 0
  while (middle < length - 1 && older < total / 2) older += row[middle++]!
  return middle
}
