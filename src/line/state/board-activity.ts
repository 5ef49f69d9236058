/** Whether boards pass: plain JSON. Times in ms UTC, 0 before the first. */
export interface BoardActivity {
  count: number
  countSeenMs: number
  boardMs: number
  /** Smoothed time between boards. */
  intervalMs: number
  spraySeenMs: number
  sprayMs: number
}

/** Without a board for so long the line is idle: longer than the pauses of loading by hand (180 s [ASM]). */
const IDLE_MS_MIN = 300_000
const IDLE_MS_MAX = 1_800_000
const IDLE_INTERVALS = 4
/** A source that has said nothing for so long says nothing of the boards. */
const SILENT_MS = 600_000

export function emptyBoardActivity(): BoardActivity {
  return { count: 0, countSeenMs: 0, boardMs: 0, intervalMs: 60_000, spraySeenMs: 0, sprayMs: 0 }
}

/** Takes the running count of boards; a lower count is a counter that was reset. */
export function takeBoardCount(activity: BoardActivity, timeMs: number, count: number): void {
  const more = activity.countSeenMs > 0 && count > activity.count ? count - activity.count : 0
  if (more > 0) {
    const sinceMs = timeMs - activity.boardMs
    // A pause is no interval between boards.
    if (activity.boardMs > 0 && sinceMs < IDLE_MS_MAX) activity.intervalMs += 0.05 * (sinceMs / more - activity.intervalMs)
    activity.boardMs = timeMs
  } else if (activity.countSeenMs === 0) activity.boardMs = timeMs
  activity.count = count
  activity.countSeenMs = timeMs
}

/** Takes whether the fluxer sprays: it does so only for a board. */
export function takeSpray(activity: BoardActivity, timeMs: number, on: boolean): void {
  if (on || activity.spraySeenMs === 0) activity.sprayMs = timeMs
  activity.spraySeenMs = timeMs
}

/** Whether boards pass; `unknown` where no channel tells. The counter decides before the spray. */
export function boardsPass(activity: BoardActivity, timeMs: number): 'yes' | 'no' | 'unknown' {
  if (activity.countSeenMs > 0 && timeMs - activity.countSeenMs < SILENT_MS) {
    const idleMs = Math.min(IDLE_MS_MAX, Math.max(IDLE_MS_MIN, IDLE_INTERVALS * activity.intervalMs))
    return timeMs - activity.boardMs <= idleMs ? 'yes' : 'no'
  }
  if (activity.spraySeenMs > 0 && timeMs - activity.spraySeenMs < SILENT_MS) return timeMs - activity.sprayMs <= IDLE_MS_MIN ? 'yes' : 'no'
  return 'unknown'
}

/** Whether a board was counted within the last `withinMs`. */
export function boardWithin(activity: BoardActivity, timeMs: number, withinMs: number): boolean {
  return activity.countSeenMs > 0 && activity.boardMs > 0 && activity.count > 0 && timeMs - activity.boardMs <= withinMs
}
