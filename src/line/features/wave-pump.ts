import { isSlotUsable, slotMean, slotWeight, type TrackState } from './channel-track.js'
import type { Collector } from './slot.js'

export interface WaveState {
  /** Pump speed and wave height of the first window, to which later ones are brought; 0 before it. */
  speed: number
  heightMm: number
}

export function createWaveState(): WaveState {
  return { speed: 0, heightMm: 0 }
}

/** Height goes with this power of the pump speed: ±5 % of speed give 9.4 and 10.6 mm [SIM, B4]. */
const HEIGHT_EXPONENT = 1.2
/** Height per mm of level: -10 mm of level give 9.49 for 10 mm [SIM, B4]. */
const HEIGHT_PER_LEVEL = 0.05
const HEIGHT_MM_MIN = 1

/**
 * What the pump makes of its speed: the height at the first window's speed, and the speed needed for its height. Both
 * tell the same, each where the other is held by the machine. Brought to the reference level where the level is known.
 */
export function createWavePump(pump: TrackState, height: TrackState, level: TrackState | undefined, state: WaveState): Collector {
  return {
    channels: [],
    take() {
      // the channels' own means are enough
    },
    endSlot(slot, give) {
      if (!slot.clean || slot.state !== 'production' || !isSlotUsable(pump) || !isSlotUsable(height)) return
      const speed = slotMean(pump)
      const levelMm = level !== undefined && level.n > 0 && !level.frozenInSlot ? slotMean(level) : 0
      const heightMm = slotMean(height) - HEIGHT_PER_LEVEL * levelMm
      if (speed <= 0 || heightMm < HEIGHT_MM_MIN) return
      if (state.speed === 0) {
        state.speed = speed
        state.heightMm = heightMm
      }
      const weight = Math.min(slotWeight(pump), slotWeight(height))
      give('pot.wave.height-for-speed', slot.endMs, heightMm * (speed / state.speed) ** -HEIGHT_EXPONENT, weight)
      give('pot.wave.speed-for-height', slot.endMs, (speed / state.speed) * (heightMm / state.heightMm) ** (-1 / HEIGHT_EXPONENT), weight)
    },
  }
}
