import { isSlotUsable, slotMean, slotWeight, type TrackState } from './channel-track.js'
import type { Collector } from './slot.js'

export interface DriveState {
  /** Sum of squares of the drive's sd in the open slot, and their number. */
  squares: number
  n: number
}

export function createDriveState(): DriveState {
  return { squares: 0, n: 0 }
}

export interface DriveChannels {
  readonly speed: TrackState
  readonly sd: TrackState | undefined
  readonly lowest: TrackState | undefined
  readonly highest: TrackState | undefined
}

const STANDING_MM_S = 1
const SD = 0

/**
 * Unrest within a second, from the statistics a drive exports: ln of its root mean square sd, and of its mean range,
 * both as shares of the speed. They see stick-slip of 1-4 Hz that single readings a second alias (B5.5).
 */
export function createDriveStatistics(channels: DriveChannels, state: DriveState): Collector {
  const { speed, sd, lowest, highest } = channels
  return {
    channels: ['conveyor.speed-sd'],
    take(index, _timeMs, value) {
      if (index !== SD) return
      state.squares += value * value
      state.n += 1
    },
    endSlot(slot, give) {
      const mean = speed.n > 0 ? slotMean(speed) : 0
      if (slot.clean && slot.state === 'production' && mean >= STANDING_MM_S) {
        if (sd !== undefined && isSlotUsable(sd) && state.squares > 0) give('conveyor.speed-sd.spread', slot.endMs, 0.5 * Math.log(state.squares / state.n) - Math.log(mean), slotWeight(sd))
        if (lowest !== undefined && highest !== undefined && isSlotUsable(lowest) && isSlotUsable(highest)) {
          const range = slotMean(highest) - slotMean(lowest)
          if (range > 0) give('conveyor.speed-range.spread', slot.endMs, Math.log(range / mean), Math.min(slotWeight(lowest), slotWeight(highest)))
        }
      }
      state.squares = 0
      state.n = 0
    },
  }
}
