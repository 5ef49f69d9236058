/** Jumps of the conveyor: short dips and what follows them. Plain JSON. */
export interface JumpState {
  /** Begin of the dip or excursion under way, ms UTC; 0 while there is none. */
  dipMs: number
  /** End of a dip that still waits for its overshoot; 0 while none does. */
  waitMs: number
  /** Found in the open slot. */
  count: number
}

/** Dips below this share of the running speed count (depth 20-100 % [ASM, B5.4]). */
const DIP_SHARE = 0.8
/** What was held back comes after: an overshoot of the same area (B5.4); noise is 0.2-1 % [ASM]. */
const OVERSHOOT_SHARE = 1.05
/** A dip lasts 0.5-3 s [ASM]; a longer one is a stop. */
const DIP_MS_MAX = 3000
/** Readings further apart than this cannot show dip and overshoot of one jump. */
const PAIRED_PERIOD_S_MAX = 2

export function createJumps(): JumpState {
  return { dipMs: 0, waitMs: 0, count: 0 }
}

/**
 * Counts jumps. Up to 2 s between readings a jump is a dip of more than 20 % for at most 3 s with an overshoot within
 * 3 s after it. Beyond that only single readings more than 20 % off are seen, dip or overshoot, and each counts once
 * when the speed is back within two readings; most jumps fall between, so the count is of those seen, not of all.
 */
export function noteJump(jumps: JumpState, timeMs: number, speedMmS: number, runningMmS: number, periodS: number): void {
  if (runningMmS <= 0) return
  const share = speedMmS / runningMmS
  const periodMs = periodS * 1000
  if (periodS > PAIRED_PERIOD_S_MAX) {
    const isOff = Math.abs(share - 1) > 1 - DIP_SHARE
    if (isOff && jumps.dipMs === 0) jumps.dipMs = timeMs
    else if (!isOff && jumps.dipMs > 0) {
      if (timeMs - jumps.dipMs <= 2.5 * periodMs) jumps.count += 1
      jumps.dipMs = 0
    }
    return
  }
  if (jumps.waitMs > 0 && timeMs - jumps.waitMs > DIP_MS_MAX) jumps.waitMs = 0
  if (share < DIP_SHARE) {
    if (jumps.dipMs === 0) jumps.dipMs = timeMs
    return
  }
  if (jumps.dipMs > 0) {
    jumps.waitMs = timeMs - jumps.dipMs <= DIP_MS_MAX + periodMs ? timeMs : 0
    jumps.dipMs = 0
  }
  if (jumps.waitMs > 0 && share > OVERSHOOT_SHARE) {
    jumps.count += 1
    jumps.waitMs = 0
  }
}
