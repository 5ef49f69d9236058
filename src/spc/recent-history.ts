import type { Side } from './chart-point.js'

/**
 * Deviations from the centre line over the recent past in a bounded number of segments: the newest points one by one,
 * older ones merged with their neighbours, so that the span grows while the memory does not.
 */
export interface RecentHistory {
  /** Segments in use, oldest first. */
  length: number
  /** Time of each segment's first point, ms UTC. */
  startMs: number[]
  /** Sum of the deviations of each segment, in sigmas. */
  sum: number[]
  /** Points in each segment. */
  count: number[]
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

export function createRecentHistory(): RecentHistory {
  return { length: 0, startMs: [], sum: [], count: [] }
}

export function clearRecentHistory(history: RecentHistory): void {
  history.length = 0
}

/** Forgets the segments before the given one. */
export function forgetBefore(history: RecentHistory, segment: number): void {
  if (segment <= 0) return
  const { startMs, sum, count } = history
  for (let i = segment; i < history.length; i++) {
    startMs[i - segment] = startMs[i]!
    sum[i - segment] = sum[i]!
    count[i - segment] = count[i]!
  }
  history.length -= segment
}

/**
 * Adds the newest point; O(1), no allocation once all segments have been in use. When they are, the two neighbours are
 * merged whose joint length is smallest for their age, so that the resolution is about the same share of the age everywhere.
 */
export function pushRecentHistory(history: RecentHistory, timeMs: number, deviationSigma: number): void {
  const { startMs, sum, count } = history
  if (history.length === SEGMENTS_MAX) {
    const at = cheapestMerge(count)
    sum[at]! += sum[at + 1]!
    count[at]! += count[at + 1]!
    for (let i = at + 1; i < SEGMENTS_MAX - 1; i++) {
      startMs[i] = startMs[i + 1]!
      sum[i] = sum[i + 1]!
      count[i] = count[i + 1]!
    }
    history.length--
  }
  startMs[history.length] = timeMs
  // Four digits are far below the noise and keep the stored state short.
  sum[history.length] = Math.round(deviationSigma * 1e4) / 1e4
  count[history.length] = 1
  history.length++
}

/** Index of the older of the two segments to merge; the newest points stay single. */
function cheapestMerge(count: readonly number[]): number {
  let age = SEGMENTS_SINGLE
  let best = Number.MAX_VALUE
  let at = 0
  for (let i = SEGMENTS_MAX - SEGMENTS_SINGLE - 2; i >= 0; i--) {
    const newer = count[i + 1]!
    // Beyond the span that matters the oldest segment takes in whatever there is.
    const older = i === 0 && age > SPAN_RESOLVED ? 0 : count[i]!
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
  let sum = 0
  let count = 0
  let best = 0
  let change: LevelChange | undefined
  for (let i = history.length - 1; i >= 0; i--) {
    sum += history.sum[i]! * sign
    count += history.count[i]!
    const likelihood = sum > 0 ? (sum * sum) / count : 0
    if (likelihood > best) {
      best = likelihood
      change = { onsetMs: history.startMs[i]!, shiftSigma: (sign * sum) / count, pointCount: count, segment: i }
    }
  }
  return change
}

/** Median of the newest single points, at most eight of them; sigmas. */
export function recentMedian(history: RecentHistory): number | undefined {
  const recent: number[] = []
  for (let i = history.length - 1; i >= 0 && recent.length < SEGMENTS_SINGLE; i--) recent.push(history.sum[i]! / history.count[i]!)
  if (recent.length === 0) return undefined
  recent.sort((a, b) => a - b)
  const middle = recent.length >> 1
  return recent.length % 2 === 1 ? recent[middle]! : (recent[middle - 1]! + recent[middle]!) / 2
}

/** Mean deviation of the points of segments [from, to), and how many there are. */
export function segmentMean(history: RecentHistory, from: number, to: number): { mean: number; pointCount: number } {
  let sum = 0
  let pointCount = 0
  for (let i = from; i < to; i++) {
    sum += history.sum[i]!
    pointCount += history.count[i]!
  }
  return { mean: pointCount === 0 ? 0 : sum / pointCount, pointCount }
}
