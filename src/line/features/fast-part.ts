/** What moves faster than 20 s: each reading against the mean of the 20 s around it. Plain JSON. */
export interface FastPart {
  /** Readings on each side of the middle one; 0 while it is switched off. */
  half: number
  /** Period of the readings it was fitted to, s; absent before the first fit. */
  fittedS?: number
  ring: number[]
  at: number
  filled: number
  sum: number
  /** Squares of the differences in the open slot, and their number. */
  squares: number
  n: number
  /** sd of the last slot, 0 before any: single spikes are cut at six of it. */
  lastSd: number
}

const HALF_WIDTH_S = 10
const HALF_MAX = 100
/** The declared limit of 6 s and what the running median wanders. */
const PERIOD_S_MAX = 6.6
const SPIKE_SD = 6

export function createFastPart(): FastPart {
  return { half: 0, ring: [], at: 0, filled: 0, sum: 0, squares: 0, n: 0, lastSd: 0 }
}

/** Fits the part to the channel's period; called between slots. Long periods leave too few readings in 20 s. */
export function fitFastPart(part: FastPart, periodS: number): void {
  part.fittedS = periodS
  const half = periodS > PERIOD_S_MAX ? 0 : Math.min(HALF_MAX, Math.max(2, Math.round(HALF_WIDTH_S / periodS)))
  if (half === part.half) return
  part.half = half
  part.ring = new Array<number>(half === 0 ? 0 : 2 * half + 1).fill(0)
  breakFastPart(part)
}

/** A gap in the readings: the mean starts anew. */
export function breakFastPart(part: FastPart): void {
  part.at = 0
  part.filled = 0
  part.sum = 0
}

export function addToFastPart(part: FastPart, value: number): void {
  const { ring, half } = part
  const size = ring.length
  if (size === 0) return
  const { at } = part
  if (part.filled === size) part.sum += value - (ring[at] ?? 0)
  else {
    part.sum += value
    part.filled += 1
  }
  ring[at] = value
  part.at = at + 1 === size ? 0 : at + 1
  if (part.filled < size) return
  if (part.at === 0) {
    // the running sum collects rounding errors: it is made anew once per turn of the ring
    let sum = 0
    for (const kept of ring) sum += kept
    part.sum = sum
  }
  const middle = at - half < 0 ? at - half + size : at - half
  let difference = (ring[middle] ?? 0) - part.sum / size
  const limit = SPIKE_SD * part.lastSd
  if (limit > 0) difference = Math.max(-limit, Math.min(limit, difference))
  part.squares += difference * difference
  part.n += 1
}

/** Variance of the fast part in the slot, as white noise would have it; 0 where there is none. */
export function fastVariance(part: FastPart): number {
  return part.n === 0 ? 0 : part.squares / part.n / (1 - 1 / part.ring.length)
}

export function endFastSlot(part: FastPart, usable: boolean): void {
  if (usable && part.n > 0) part.lastSd = Math.sqrt(part.squares / part.n)
  part.squares = 0
  part.n = 0
}
