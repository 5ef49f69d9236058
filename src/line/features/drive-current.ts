import { COVERAGE_MIN, isSlotUsable, showsVariance, slotMean, slotWeight, type TrackState } from './channel-track.js'
import { minutesIntoSlot } from './feature-spec.js'
import type { Collector, LiveContext } from './slot.js'
import { addValue, clearMoments, createMoments, lnSd, varianceAboutLine, type TrendMoments } from './trend-moments.js'

export interface CurrentState {
  readonly moments: TrendMoments
  /** The chain has moved since, ms UTC; 0 while it has stood long. */
  movingMs: number
  lastMovingMs: number
  /** Sum and number of currents of the first minutes after a stop; done is set when they are given or lost. */
  coldSum: number
  coldN: number
  isColdDone: boolean
}

export function createCurrentState(): CurrentState {
  return { moments: createMoments(), movingMs: 0, lastMovingMs: 0, coldSum: 0, coldN: 0, isColdDone: true }
}

/** The current falls for 30-60 min while the lubricant warms [ASM, A1]. */
const WARM_MS = 3_600_000
const COLD_MS = 1_200_000
/** A chain that stood this long is cold again. */
const STOOD_MS = 2 * 3_600_000
const MOVING_MM_S = 2
const SPEED = 1

/** Motor current of the conveyor: warm, in the first 20 min after a long stop, and its unrest. */
export function createDriveCurrent(current: TrackState, speed: TrackState | undefined, live: LiveContext, state: CurrentState): Collector {
  return {
    channels: ['conveyor.current', 'conveyor.speed'],

    take(index, timeMs, value, give) {
      if (index === SPEED) {
        if (value <= MOVING_MM_S) return
        noteMoving(state, timeMs, live)
        return
      }
      addValue(state.moments, minutesIntoSlot(timeMs), value)
      if (state.isColdDone) return
      if (timeMs - state.movingMs < COLD_MS) {
        // only while the chain moves
        if (timeMs - state.lastMovingMs <= 3000 * Math.max(1, speed?.periodS ?? 1)) {
          state.coldSum += value
          state.coldN += 1
        }
        return
      }
      state.isColdDone = true
      const weight = Math.min(1, (state.coldN * current.periodS * 1000) / COLD_MS)
      if (weight >= COVERAGE_MIN && !current.frozen) give('conveyor.current.cold', timeMs, state.coldSum / state.coldN, weight)
    },

    endSlot(slot, give) {
      if (slot.clean && slot.state === 'production' && isSlotUsable(current)) {
        const mean = slotMean(current)
        const warmSinceMs = speed !== undefined && speed.lastMs > 0 ? state.movingMs : live.offUntilMs
        if (slot.startMs - warmSinceMs >= WARM_MS) give('conveyor.current.warm', slot.endMs, mean, slotWeight(current))
        const spread = showsVariance(current) ? lnSd(varianceAboutLine(state.moments), current.resolution) : undefined
        if (spread !== undefined && mean > 0) give('conveyor.current.spread', slot.endMs, spread - Math.log(mean), slotWeight(current))
      }
      clearMoments(state.moments)
    },
  }
}

function noteMoving(state: CurrentState, timeMs: number, live: LiveContext): void {
  const stoodMs = timeMs - state.lastMovingMs
  const isFirst = state.lastMovingMs === 0
  if (isFirst || stoodMs >= STOOD_MS || stoodMs < 0) {
    state.movingMs = timeMs
    state.coldSum = 0
    state.coldN = 0
    // a chain first heard of while it runs may have run for hours
    state.isColdDone = isFirst && live.state !== 'warm-up' && live.state !== 'off'
  }
  state.lastMovingMs = timeMs
}
