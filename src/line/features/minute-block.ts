import { SLOT_MS } from './feature-spec.js'
import type { Slot } from './slot.js'

/** Means of single minutes over clean slots on end. Plain JSON. */
export interface MinuteBlock {
  /** 0 before the first slot. */
  startMs: number
  /** Clean slots so far. */
  slots: number
  sums: number[]
  counts: number[]
}

export const MINUTE_MS = 60_000
const SLOT_MINUTES = SLOT_MS / MINUTE_MS

export function createMinuteBlock(slots: number): MinuteBlock {
  return { startMs: 0, slots: 0, sums: new Array<number>(slots * SLOT_MINUTES).fill(0), counts: new Array<number>(slots * SLOT_MINUTES).fill(0) }
}

export function addToMinute(block: MinuteBlock, timeMs: number, value: number): void {
  if (block.startMs === 0) block.startMs = Math.floor(timeMs / SLOT_MS) * SLOT_MS
  const minute = Math.floor((timeMs - block.startMs) / MINUTE_MS)
  if (minute < 0 || minute >= block.sums.length) return
  block.sums[minute] = (block.sums[minute] ?? 0) + value
  block.counts[minute] = (block.counts[minute] ?? 0) + 1
}

/** Counts a slot that has ended. A slot that is not usable starts the block anew. @returns true when the block is full */
export function endBlockSlot(block: MinuteBlock, slot: Slot, usable: boolean): boolean {
  if (!usable || block.startMs + block.slots * SLOT_MS !== slot.startMs) {
    clearBlock(block, slot.endMs)
    return false
  }
  block.slots += 1
  return block.slots * SLOT_MINUTES >= block.sums.length
}

/** Empties the block; the next one starts at `startMs`. */
export function clearBlock(block: MinuteBlock, startMs: number): void {
  block.startMs = startMs
  block.slots = 0
  block.sums.fill(0)
  block.counts.fill(0)
}

/** Minutes from the block's begin that held readings, with their means. */
export interface MinuteSeries {
  readonly minutes: readonly number[]
  readonly means: readonly number[]
}

/** The block's minutes from `from` up to before `to`. */
export function minuteSeries(block: MinuteBlock, from = 0, to = block.sums.length): MinuteSeries {
  const minutes: number[] = []
  const means: number[] = []
  for (let minute = from; minute < to; minute += 1) {
    const count = block.counts[minute] ?? 0
    if (count === 0) continue
    minutes.push(minute)
    means.push((block.sums[minute] ?? 0) / count)
  }
  return { minutes, means }
}

/**
 * What is left of a series when its slow course is taken out: a parabola over the block. Over an hour that leaves
 * movements of 1 to about 20 min and takes those above about 40 min.
 *
 * @returns residuals, one per minute of the series; needs at least 10 minutes, empty below
 */
export function withoutSlowCourse(series: MinuteSeries): number[] {
  const n = series.minutes.length
  if (n < 10) return []
  const middle = mean(series.minutes)
  const linear = series.minutes.map((minute) => minute - middle)
  const square = orthogonal(linear.map((t) => t * t), [new Array<number>(n).fill(1), linear])
  const first = series.means[0] ?? 0
  return orthogonal(series.means.map((value) => value - first), [new Array<number>(n).fill(1), linear, square])
}

/** Smallest sd that is more than rounding error of the sums it is made from. */
const SD_MIN = 1e-9

/** Variance of residuals of a parabola; 0 where there are too few or they are nothing but rounding error. */
export function residualVariance(residuals: readonly number[]): number {
  if (residuals.length < 10) return 0
  let squares = 0
  for (const residual of residuals) squares += residual * residual
  const variance = squares / (residuals.length - 3)
  return variance > SD_MIN * SD_MIN ? variance : 0
}

export function mean(values: readonly number[]): number {
  let sum = 0
  for (const value of values) sum += value
  return sum / values.length
}

/** Middle value; of two middle ones their mean. */
export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b)
  const middle = sorted.length >> 1
  const upper = sorted[middle] ?? 0
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] ?? 0) + upper) / 2
}

/** Middle value; of two middle ones the lower or the upper, so that one odd value of two does not count. */
export function middleOf(values: readonly number[], ofTwo: 'lower' | 'upper'): number {
  const sorted = [...values].sort((a, b) => a - b)
  return sorted[ofTwo === 'upper' ? sorted.length >> 1 : (sorted.length - 1) >> 1] ?? 0
}

/** `values` less their projections on each of the mutually orthogonal `basis`. */
function orthogonal(values: number[], basis: readonly (readonly number[])[]): number[] {
  for (const vector of basis) {
    let dot = 0
    let norm = 0
    vector.forEach((part, index) => {
      dot += part * (values[index] ?? 0)
      norm += part * part
    })
    if (norm === 0) continue
    const share = dot / norm
    vector.forEach((part, index) => (values[index] = (values[index] ?? 0) - share * part))
  }
  return values
}
