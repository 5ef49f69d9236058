import { isSlotUsable, slotMean, slotWeight, type TrackState } from './channel-track.js'
import { effortsBesideOthers, keepLoaded, takeLoaded, type CommonEffort } from './effort-beside-others.js'
import { HOUR_SLOTS } from './feature-spec.js'
import { createLoadCorrection, effortAtUsualLoad, type LoadCorrection, type LoadTraining } from './load-correction.js'
import { addToMinute, clearBlock, createMinuteBlock, endBlockSlot, median, minuteSeries, residualVariance, withoutSlowCourse, type MinuteBlock } from './minute-block.js'
import { ROOM_C, roomTemperature } from './room-temperature.js'
import { isSettled, POT_BLANK_MS, ZONE_BLANK_MS, type Collector, type Give, type Slot } from './slot.js'
import { lnSd } from './trend-moments.js'
import { atUsualRecipe, type UsualLevels, type LevelRule } from './usual-level.js'

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
/** Half hours without a stop or a changeover are few: two hours of them make a level. [ASM] */
const POT_LEVELS: LevelRule = { values: 4, by: 'difference' }
/** Half an hour: a bar's heat is spread over 1-3 min of full power and does not move the median of it. */
const POT_SLOTS = 3
const RISE_C_MIN = 30

/**
 * Duty for 100 °C above the room. Heat lost grows with the temperature difference, so the ratio takes out set-point and
 * room; in the model duty falls from 0.561 to 0.525 for 8 °C more room temperature, which is the ratio of the
 * differences [SIM, B2].
 */
function effortOf(dutyPercent: number, temperatureC: number, ambient: TrackState | undefined): number | undefined {
  const roomC = roomTemperature(ambient) ?? ROOM_C
  const riseC = temperatureC - roomC
  return riseC < RISE_C_MIN ? undefined : (dutyPercent * 100) / riseC
}

export interface ZoneEffortParts {
  readonly zone: number
  readonly channels: EffortChannels
  readonly state: EffortState
}

/** Heating effort of every zone at the usual load, each beside the others, and the slow swing of its duty. */
export function createZoneEfforts(zones: readonly ZoneEffortParts[], common: CommonEffort): Collector {
  return {
    channels: zones.map(({ zone }) => dutyOf(zone)),
    take(index, timeMs, value) {
      addToMinute((zones[index] as ZoneEffortParts).state.block, timeMs, value)
    },
    endSlot(slot, give) {
      const efforts = zones.map((zone) => endZoneSlot(zone, slot, give))
      if (zones.length >= 2) giveBesideOthers(zones, efforts, common, slot, give)
    },
  }
}

function dutyOf(zone: number): string {
  return `preheat.zone-${zone}.duty`
}

interface SlotEffort {
  readonly raw: number
  /** The same at the usual load; undefined while its share is learned. */
  readonly effort: number | undefined
}

/** @returns the effort of the slot; undefined where it says nothing */
function endZoneSlot({ zone, channels: { duty, temperature, setpoint, ambient }, state }: ZoneEffortParts, slot: Slot, give: Give): SlotEffort | undefined {
  const usable = slot.clean && slot.state === 'production' && isSettled(slot, setpoint?.changedMs ?? 0, ZONE_BLANK_MS) && isSlotUsable(duty)
  const raw = usable && isSlotUsable(temperature) ? effortOf(slotMean(duty), slotMean(temperature), ambient) : undefined
  const effort = raw === undefined ? undefined : effortAtUsualLoad(state.correction, { recipe: slot.recipe, boards: slot.boards, effort: raw }, ZONE_TRAINING)
  if (effort !== undefined) give(`${dutyOf(zone)}.effort`, slot.endMs, effort, slotWeight(duty))
  if (endBlockSlot(state.block, slot, usable)) {
    const series = minuteSeries(state.block)
    const spread = lnSd(residualVariance(withoutSlowCourse(series)), 0)
    if (spread !== undefined) give(`${dutyOf(zone)}.spread`, slot.endMs, spread, series.minutes.length / state.block.sums.length)
    clearBlock(state.block, slot.endMs)
  }
  return raw === undefined ? undefined : { raw, effort }
}

/** Only slots in which all zones that were ever heard speak: others that come and go would have another level. */
function giveBesideOthers(zones: readonly ZoneEffortParts[], ended: readonly (SlotEffort | undefined)[], common: CommonEffort, slot: Slot, give: Give): void {
  const known = zones.flatMap((part, index) => {
    const one = ended[index]
    return one === undefined ? [] : [{ ...part, ...one, name: String(part.zone) }]
  })
  if (known.length < 2 || known.length < zones.filter(({ channels }) => channels.duty.lastMs > 0).length) return
  if (known.some(({ effort }) => effort === undefined)) {
    keepLoaded(common, { recipe: slot.recipe, boards: slot.boards, efforts: Object.fromEntries(known.map(({ name, raw }) => [name, raw])) })
    return
  }
  takeLoaded(common, (zone, { recipe, boards, efforts }) => {
    const raw = efforts[zone] as number
    const correction = known.find(({ name }) => name === zone)?.state.correction
    return (correction?.learned === true ? effortAtUsualLoad(correction, { recipe, boards, effort: raw }, ZONE_TRAINING) : undefined) ?? raw
  })
  const own = effortsBesideOthers(common, { recipe: slot.recipe, efforts: Object.fromEntries(known.map(({ name, raw, effort }) => [name, effort ?? raw])) })
  if (own === undefined) return
  for (const { zone, name, channels } of known) give(`${dutyOf(zone)}.effort-own`, slot.endMs, own[name] as number, slotWeight(channels.duty))
}

/** Heating effort of the pot at the usual load, as it would be under the first recipe. */
export function createPotEffort(channels: EffortChannels, levels: UsualLevels, state: EffortState): Collector {
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
      const loaded = effort === undefined ? undefined : effortAtUsualLoad(state.correction, { recipe: slot.recipe, boards, effort }, POT_TRAINING)
      const value = loaded === undefined ? undefined : atUsualRecipe(levels, slot.recipe, loaded, POT_LEVELS)
      if (value !== undefined) give('pot.duty.effort', slot.endMs, value, series.minutes.length / state.block.sums.length)
      clearBlock(state.block, slot.endMs)
    },
  }
}
