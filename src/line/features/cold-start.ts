/** Jumps of the chain in the first hour after it stood for long. Plain JSON. */
export interface ColdStart {
  /** The chain moves since, ms UTC; 0 before any start that counts. */
  startMs: number
  lastMs: number
  jumps: number
  /** The hour was given, or does not count. */
  done: boolean
}

const MOVING_MM_S = 2
/** A chain that stood this long is cold again. */
const STOOD_MS = 2 * 3_600_000
/** Its lubricant warms in 30-60 min [ASM, A1]. */
const COLD_MS = 3_600_000

export function createColdStart(): ColdStart {
  return { startMs: 0, lastMs: 0, jumps: 0, done: true }
}

/** Takes a speed. @returns the jumps of a cold hour that has just passed */
export function noteColdMoving(cold: ColdStart, timeMs: number, speedMmS: number): number | undefined {
  if (speedMmS <= MOVING_MM_S) return undefined
  if (cold.lastMs > 0 && timeMs - cold.lastMs >= STOOD_MS) {
    cold.startMs = timeMs
    cold.jumps = 0
    cold.done = false
  }
  cold.lastMs = timeMs
  if (cold.done || timeMs - cold.startMs < COLD_MS) return undefined
  cold.done = true
  return cold.jumps
}

export function noteColdJump(cold: ColdStart): void {
  if (!cold.done) cold.jumps += 1
}
