import { isSlotUsable, slotWeight, type TrackState } from './channel-track.js'
import { HOUR_SLOTS, SLOT_MS } from './feature-spec.js'
import { addToMinute, clearBlock, createMinuteBlock, endBlockSlot, mean, median, minuteSeries, MINUTE_MS, type MinuteBlock, type MinuteSeries } from './minute-block.js'
import type { Collector } from './slot.js'

export interface LevelState {
  readonly block: MinuteBlock
}

export function createLevelState(): LevelState {
  return { block: createMinuteBlock(HOUR_SLOTS) }
}

/** A step is at least this much: a 5 kg bar gives 2.65 mm, the pump 1-3 mm, skimming 0.2-1 mm [SIM, ASM, B4]. */
const STEP_MM_MIN = 0.8
/** ... and stands this far out of the noise of three-minute means. */
const STEP_NOISE = 5
/** Minutes left out on each side of a step: a bar melts in 1-3 min [ASM]. */
const STEP_MARGIN = 3
const PIECE_MINUTES_MIN = 8
const PIECES_MINUTES_MIN = 30
/** sd of differences of neighbours is √2 of theirs; 1.4826 makes a median deviation a sd (normal distribution). */
const NOISE_FROM_MEDIAN = 1.4826 / Math.SQRT2

/** Level of the solder and its fall between top-ups. */
export function createPotLevel(level: TrackState, state: LevelState): Collector {
  return {
    channels: ['pot.level'],
    take(_index, timeMs, value) {
      addToMinute(state.block, timeMs, value)
    },
    endSlot(slot, give) {
      const usable = slot.clean && slot.state === 'production' && isSlotUsable(level)
      const { block } = state
      if (usable) {
        const from = Math.round((slot.startMs - block.startMs) / MINUTE_MS)
        const { means } = minuteSeries(block, from, from + SLOT_MS / MINUTE_MS)
        if (means.length > 0) give('pot.level.offset', slot.endMs, median(means), slotWeight(level))
      }
      if (!endBlockSlot(block, slot, usable)) return
      const series = minuteSeries(block)
      const slope = slopeBetweenSteps(series)
      if (slope !== undefined) give('pot.level.slope', slot.endMs, slope, series.minutes.length / block.sums.length)
      clearBlock(block, slot.endMs)
    },
  }
}

/**
 * Slope of a level in mm/h from one minute means: one slope for all pieces between steps (top-ups, pump, skimming),
 * each piece with a level of its own.
 *
 * @returns undefined where the pieces hold less than half an hour together
 */
export function slopeBetweenSteps(series: MinuteSeries): number | undefined {
  const cuts = stepsIn(series)
  let minutes = 0
  let txSum = 0
  let ttSum = 0
  let from = 0
  for (const cut of [...cuts, series.means.length + STEP_MARGIN]) {
    const to = cut - STEP_MARGIN
    const times = series.minutes.slice(from, Math.max(from, to))
    const means = series.means.slice(from, Math.max(from, to))
    from = cut + STEP_MARGIN
    if (times.length < PIECE_MINUTES_MIN) continue
    const meanTime = mean(times)
    const meanLevel = mean(means)
    minutes += times.length
    times.forEach((time, at) => {
      txSum += (time - meanTime) * ((means[at] ?? 0) - meanLevel)
      ttSum += (time - meanTime) ** 2
    })
  }
  return minutes >= PIECES_MINUTES_MIN && ttSum > 0 ? (txSum / ttSum) * 60 : undefined
}

/** Places of steps in the series: where three minutes before and after differ most, beyond what noise does. */
function stepsIn(series: MinuteSeries): number[] {
  const { means } = series
  const neighbours = means.slice(1).map((value, at) => Math.abs(value - (means[at] ?? 0)))
  if (neighbours.length < 6) return []
  const noise = NOISE_FROM_MEDIAN * median(neighbours)
  const least = Math.max(STEP_MM_MIN, STEP_NOISE * noise * Math.sqrt(2 / 3))
  const sizes = means.map((_, at) => (at < 3 || at > means.length - 3 ? 0 : Math.abs(mean(means.slice(at, at + 3)) - mean(means.slice(at - 3, at)))))
  const steps: number[] = []
  sizes.forEach((size, at) => {
    if (size < least) return
    const around = sizes.slice(Math.max(0, at - STEP_MARGIN), at + STEP_MARGIN + 1)
    const last = steps.at(-1)
    if (size >= Math.max(...around) && (last === undefined || at - last > STEP_MARGIN)) steps.push(at)
  })
  return steps
}
