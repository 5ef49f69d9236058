/** Whether boards pass: plain JSON. Times in ms UTC, 0 before the first. */
export interface BoardActivity {
  count: number
  countSeenMs: number
  firstSeenMs: number
  boardMs: number
  /** Smoothed time between boards. */
  intervalMs: number
  /** The last pauses between boards: their ends and lengths. */
  pauseEndsMs: number[]
  pausesMs: number[]
  spraySeenMs: number
  sprayMs: number
}

/** Until the line's own pauses are known it is idle after so long: more than a pause of loading by hand (180 s [ASM]). */
const IDLE_MS_UNKNOWN = 300_000
const IDLE_MS_MIN = 120_000
const IDLE_MS_MAX = 1_800_000
const IDLE_INTERVALS = 4
/** A pause is no interval between boards; one that comes as often as batches do is part of production. */
const PAUSE_INTERVALS = 2.5
const PAUSE_MS_MIN = 60_000
const PAUSES_KEPT = 12
const PAUSES_MIN = 6
const PAUSE_EVERY_MS_MAX = 1_500_000
const PAUSE_MARGIN = 1.3
const LEARNED_AFTER_MS = 4 * 3_600_000
/** A source that has said nothing for so long says nothing of the boards. */
const SILENT_MS = 600_000

export function emptyBoardActivity(): BoardActivity {
  return { count: 0, countSeenMs: 0, firstSeenMs: 0, boardMs: 0, intervalMs: 60_000, pauseEndsMs: [], pausesMs: [], spraySeenMs: 0, sprayMs: 0 }
}

/** Takes the running count of boards; a lower count is a counter that was reset. */
export function takeBoardCount(activity: BoardActivity, timeMs: number, count: number): void {
  const more = activity.countSeenMs > 0 && count > activity.count ? count - activity.count : 0
  if (more > 0) {
    takeBoards(activity, timeMs, more)
    activity.boardMs = timeMs
  } else if (activity.countSeenMs === 0) {
    activity.boardMs = timeMs
    activity.firstSeenMs = timeMs
  }
  activity.count = count
  activity.countSeenMs = timeMs
}

function takeBoards(activity: BoardActivity, timeMs: number, more: number): void {
  const sinceMs = timeMs - activity.boardMs
  if (activity.boardMs === 0 || sinceMs >= IDLE_MS_MAX) return
  if (sinceMs <= Math.max(PAUSE_MS_MIN, PAUSE_INTERVALS * activity.intervalMs)) {
    activity.intervalMs += 0.05 * (sinceMs / more - activity.intervalMs)
    return
  }
  // Slower boards are learned too, only more slowly, so that a new product is not taken for pauses for ever.
  activity.intervalMs += 0.01 * (sinceMs / more - activity.intervalMs)
  activity.pauseEndsMs.push(timeMs)
  activity.pausesMs.push(sinceMs)
  if (activity.pausesMs.length > PAUSES_KEPT) {
    activity.pauseEndsMs.shift()
    activity.pausesMs.shift()
  }
}

/** Time without a board after which the line is idle: longer than the pauses it makes many times a shift. */
export function idleAfterMs(activity: BoardActivity): number {
  const byInterval = Math.min(IDLE_MS_MAX, Math.max(IDLE_MS_MIN, IDLE_INTERVALS * activity.intervalMs))
  const { pausesMs, pauseEndsMs } = activity
  if (pausesMs.length < PAUSES_MIN) return activity.countSeenMs - activity.firstSeenMs >= LEARNED_AFTER_MS ? byInterval : Math.max(byInterval, IDLE_MS_UNKNOWN)
  // Nights and weekends between pauses do not make them rare.
  const apartMs = pauseEndsMs.slice(1).map((endMs, index) => Math.min(3_600_000, endMs - (pauseEndsMs[index] as number)))
  const everyMs = apartMs.reduce((sum, ms) => sum + ms, 0) / apartMs.length
  if (everyMs > PAUSE_EVERY_MS_MAX) return byInterval
  const sorted = [...pausesMs].sort((one, other) => one - other)
  return Math.min(IDLE_MS_MAX, Math.max(byInterval, PAUSE_MARGIN * (sorted[Math.floor(sorted.length / 2)] as number)))
}

/** Takes whether the fluxer sprays: it does so only for a board. */
export function takeSpray(activity: BoardActivity, timeMs: number, on: boolean): void {
  if (on || activity.spraySeenMs === 0) activity.sprayMs = timeMs
  activity.spraySeenMs = timeMs
}

/** Whether boards pass; `unknown` where no channel tells. The counter decides before the spray. */
export function boardsPass(activity: BoardActivity, timeMs: number): 'yes' | 'no' | 'unknown' {
  if (activity.countSeenMs > 0 && timeMs - activity.countSeenMs < SILENT_MS) return timeMs - activity.boardMs <= idleAfterMs(activity) ? 'yes' : 'no'
  if (activity.spraySeenMs > 0 && timeMs - activity.spraySeenMs < SILENT_MS) return timeMs - activity.sprayMs <= IDLE_MS_UNKNOWN ? 'yes' : 'no'
  return 'unknown'
}

/** Whether a board was counted within the last `withinMs`. */
export function boardWithin(activity: BoardActivity, timeMs: number, withinMs: number): boolean {
  return activity.countSeenMs > 0 && activity.count > 0 && activity.boardMs > activity.firstSeenMs && timeMs - activity.boardMs <= withinMs
}
