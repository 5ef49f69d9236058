/** Jumps of the conveyor: short dips and what follows them. Plain JSON. */
export interface JumpState {
  /** Begin of the dip or excursion under way, ms UTC; 0 while there is none. */
  dipMs: number
  /** End of a dip that still waits for its overshoot; 0 while none does. */
  waitMs: number
  /** Found in the open slot. */
  count: number
}

/**
 * A dip counts from this depth (depth 20-100 % [ASM, B5.4]) until the noise is known, and later from six sigmas of
 * it: behind a stiff drive, or on the motor's shaft, a jump of the chain is a small dip that still stands far out of the noise.
 */
export const USUAL_DEPTH = 0.2
const DEPTH_MIN = 0.02
/** Sigmas of the speed's own noise that make a dip: noise alone does that less than once a year of readings. */
const DEPTH_SIGMAS = 6
/** What was held back comes after: an overshoot of the same area (B5.4), a quarter as high at least. */
const OVERSHOOT_PART = 0.25
/** A dip lasts 0.5-3 s [ASM]; a longer one is a stop. */
const DIP_MS_MAX = 3000
/** Readings further apart than this cannot show dip and overshoot of one jump. */
const PAIRED_PERIOD_S_MAX = 2

export function createJumps(): JumpState {
  return { dipMs: 0, waitMs: 0, count: 0 }
}

/** Depth from which a dip counts, as a share of the speed. @param noiseShare sd of the readings in calm minutes; 0 while unknown */
export function jumpDepth(noiseShare: number): number {
  return noiseShare === 0 ? USUAL_DEPTH : Math.min(USUAL_DEPTH, Math.max(DEPTH_MIN, DEPTH_SIGMAS * noiseShare))
}

/**
 * Counts jumps. Up to 2 s between readings a jump is a dip beyond `depth` for at most 3 s with an overshoot within
 * 3 s after it. Beyond that only single readings so far off are seen, dip or overshoot, and each counts once
 * when the speed is back within two readings; most jumps fall between, so the count is of those seen, not of all.
 */
export function noteJump(jumps: JumpState, timeMs: number, speedMmS: number, runningMmS: number, periodS: number, depth = USUAL_DEPTH): void {
  if (runningMmS <= 0) return
  const share = speedMmS / runningMmS
  const periodMs = periodS * 1000
  if (periodS > PAIRED_PERIOD_S_MAX) {
    const isOff = Math.abs(share - 1) > depth
    if (isOff && jumps.dipMs === 0) jumps.dipMs = timeMs
    else if (!isOff && jumps.dipMs > 0) {
      if (timeMs - jumps.dipMs <= 2.5 * periodMs) jumps.count += 1
      jumps.dipMs = 0
    }
    return
  }
  if (jumps.waitMs > 0 && timeMs - jumps.waitMs > DIP_MS_MAX) jumps.waitMs = 0
  if (share < 1 - depth) {
    if (jumps.dipMs === 0) jumps.dipMs = timeMs
    return
  }
  if (jumps.dipMs > 0) {
    jumps.waitMs = timeMs - jumps.dipMs <= DIP_MS_MAX + periodMs ? timeMs : 0
    jumps.dipMs = 0
  }
  if (jumps.waitMs > 0 && share > 1 + OVERSHOOT_PART * depth) {
    jumps.count += 1
    jumps.waitMs = 0
  }
}
