import { isSlotUsable, slotMean, slotWeight, type TrackState } from './channel-track.js'
import { HOUR_SLOTS } from './feature-spec.js'
import { createLoadCorrection, effortAtUsualLoad, type LoadCorrection, type LoadTraining } from './load-correction.js'
import { addToMinute, clearBlock, createMinuteBlock, endBlockSlot, median, minuteSeries, residualVariance, withoutSlowCourse, type MinuteBlock } from './minute-block.js'
import { isSettled, POT_BLANK_MS, ZONE_BLANK_MS, type Collector, type Slot } from './slot.js'
import { lnSd } from './trend-moments.js'

export interface EffortState {
  readonly correction: LoadCorrection
  readonly block: MinuteBlock
  boards: number
  temperature: number
}

export function createZoneEffortState(): EffortState {
  return { correction: createLoadCorrection(), block: createMinuteBlock(HOUR_SLOTS), boards: 0, temperature: 0 }
}

export function createPotEffortState(): EffortState {
  return { correction: createLoadCorrection(), block: createMinuteBlock(POT_SLOTS), boards: 0, temperature: 0 }
}

export interface EffortChannels {
  readonly duty: TrackState
  readonly temperature: TrackState
  readonly setpoint: TrackState | undefined
  readonly ambient: TrackState | undefined
}

/** About seven hours of production. Boards take 0.036 of 0.561 of a zone's duty [SIM, B2] ... */
const ZONE_TRAINING: LoadTraining = { windows: 40, usualShare: 0.064 }
/** ... and 0.9 of 4.4 kW of the pot's [SIM, B4]. */
const POT_TRAINING: LoadTraining = { windows: 16, usualShare: 0.2 }
/** Half an hour: a bar's heat is spread over 1-3 min of full power and does not move the median of it. */
const POT_SLOTS = 3
/** Room temperature where none is measured (28 ± 3 °C [ASM, B2]). */
const ROOM_C = 28
const RISE_C_MIN = 30

/**
 * Duty for 100 °C above the room. Heat lost grows with the temperature difference, so the ratio takes out set-point and
 * room; in the model duty falls from 0.561 to 0.525 for 8 °C more room temperature, which is the ratio of the
 * differences [SIM, B2].
 */
function effortOf(dutyPercent: number, temperatureC: number, ambient: TrackState | undefined): number | undefined {
  const roomC = ambient !== undefined && ambient.lastMs > 0 ? ambient.last : ROOM_C
  const riseC = temperatureC - roomC
  return riseC < RISE_C_MIN ? undefined : (dutyPercent * 100) / riseC
}

/** Heating effort of a zone at the usual load, and the slow swing of its duty. */
export function createZoneEffort(zone: number, channels: EffortChannels, state: EffortState): Collector {
  const { duty, temperature, setpoint, ambient } = channels
  const channel = `preheat.zone-${zone}.duty`
  return {
    channels: [channel],
    take(_index, timeMs, value) {
      addToMinute(state.block, timeMs, value)
    },
    endSlot(slot, give) {
      const usable = slot.clean && slot.state === 'production' && isSettled(slot, setpoint?.changedMs ?? 0, ZONE_BLANK_MS) && isSlotUsable(duty)
      if (usable && isSlotUsable(temperature)) {
        const effort = effortOf(slotMean(duty), slotMean(temperature), ambient)
        const value = effort === undefined ? undefined : effortAtUsualLoad(state.correction, { recipe: slot.recipe, boards: slot.boards, effort }, ZONE_TRAINING)
        if (value !== undefined) give(`${channel}.effort`, slot.endMs, value, slotWeight(duty))
      }
      if (!endBlockSlot(state.block, slot, usable)) return
      const series = minuteSeries(state.block)
      const spread = lnSd(residualVariance(withoutSlowCourse(series)), 0)
      if (spread !== undefined) give(`${channel}.spread`, slot.endMs, spread, series.minutes.length / state.block.sums.length)
      clearBlock(state.block, slot.endMs)
    },
  }
}

/** Heating effort of the pot at the usual load. */
export function createPotEffort(channels: EffortChannels, state: EffortState): Collector {
  const { duty, temperature, setpoint, ambient } = channels
  const isUsable = (slot: Slot): boolean =>
    slot.clean && slot.state === 'production' && isSettled(slot, setpoint?.changedMs ?? 0, POT_BLANK_MS) && isSlotUsable(duty) && isSlotUsable(temperature)
  return {
    channels: ['pot.duty'],
    take(_index, timeMs, value) {
      addToMinute(state.block, timeMs, value)
    },
    endSlot(slot, give) {
      const usable = isUsable(slot)
      if (usable) {
        if (state.block.slots === 0) {
          state.boards = 0
          state.temperature = 0
        }
        state.boards += slot.boards
        state.temperature += slotMean(temperature)
      }
      if (!endBlockSlot(state.block, slot, usable)) return
      const series = minuteSeries(state.block)
      const effort = effortOf(median(series.means), state.temperature / POT_SLOTS, ambient)
      const boards = slot.boards < 0 ? -1 : Math.max(0, state.boards)
      const value = effort === undefined ? undefined : effortAtUsualLoad(state.correction, { recipe: slot.recipe, boards, effort }, POT_TRAINING)
      if (value !== undefined) give('pot.duty.effort', slot.endMs, value, series.minutes.length / state.block.sums.length)
      clearBlock(state.block, slot.endMs)
    },
  }
}
