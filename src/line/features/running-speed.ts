/** The speed the conveyor is meant to run at, as far as its readings tell. Plain JSON. */
export interface RunningSpeed {
  /** mm/s; 0 before the first reading. */
  mmS: number
  /** How long readings have been far from it, s. */
  awayS: number
}

const SMOOTH_S = 30
/** One reading moves the mean by no more than this share of it, so that jumps hardly count. */
const PULL_SHARE_MAX = 0.1
const AWAY_S_MAX = 20

export function createRunningSpeed(): RunningSpeed {
  return { mmS: 0, awayS: 0 }
}

/** Follows slow changes, hardly moves for jumps, and starts anew at another speed after 20 s of it. */
export function noteSpeed(running: RunningSpeed, speedMmS: number, intervalS: number): void {
  if (running.mmS <= 0) {
    running.mmS = Math.max(0, speedMmS)
    return
  }
  const isAway = speedMmS > 1.7 * running.mmS || speedMmS < 0.3 * running.mmS
  running.awayS = isAway ? running.awayS + intervalS : 0
  if (running.awayS > AWAY_S_MAX) {
    running.mmS = Math.max(0, speedMmS)
    running.awayS = 0
    return
  }
  const limit = PULL_SHARE_MAX * running.mmS
  const pull = Math.max(-limit, Math.min(limit, speedMmS - running.mmS))
  running.mmS += pull * Math.min(1, intervalS / SMOOTH_S)
}
