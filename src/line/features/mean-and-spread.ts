import { isSlotUsable, showsVariance, slotMean, slotWeight, type TrackState } from './channel-track.js'
import { HOUR_SLOTS, minutesIntoSlot } from './feature-spec.js'
import { addToMinute, clearBlock, createMinuteBlock, endBlockSlot, minuteSeries, residualVariance, withoutSlowCourse, type MinuteBlock } from './minute-block.js'
import { createReference, setpointNow, type SetpointReference } from './setpoint-reference.js'
import { isSettled, type Collector, type Slot } from './slot.js'
import { addValue, clearMoments, createMoments, lnSd, varianceAboutLine, type TrendMoments } from './trend-moments.js'

export interface MeanState {
  readonly moments: TrendMoments
  readonly block: MinuteBlock
  readonly reference: SetpointReference
}

export function createMeanState(): MeanState {
  return { moments: createMoments(), block: createMinuteBlock(HOUR_SLOTS), reference: createReference() }
}

/** What is made of one channel; a feature that is not named is not made. */
export interface MeanOptions {
  readonly channel: string
  readonly track: TrackState
  /** Mean of a slot. */
  readonly mean?: string
  /** Mean off the set-point, or plainly where none is published. */
  readonly offset?: { readonly feature: string; readonly setpoint: TrackState | undefined; readonly isExplicit: boolean; readonly blankMs: number }
  /** ln of the sd in a slot as a share of the mean. */
  readonly relativeSpread?: string
  /** ln of the sd in a slot. */
  readonly spread?: string
  /** ln of the sd of one minute means over an hour. */
  readonly slowSpread?: string
  readonly hourMean?: string
  /** Further condition on the slot. */
  readonly counts?: (slot: Slot) => boolean
}

/** Mean and spread of a channel while producing. */
export function createMeanAndSpread(options: MeanOptions, state: MeanState): Collector {
  const { channel, track } = options
  const needsBlock = options.slowSpread !== undefined || options.hourMean !== undefined
  return {
    channels: [channel],
    take(_index, timeMs, value) {
      addValue(state.moments, minutesIntoSlot(timeMs), value)
      if (needsBlock) addToMinute(state.block, timeMs, value)
    },
    endSlot(slot, give) {
      const { offset } = options
      const settled = offset === undefined || isSettled(slot, offset.setpoint?.changedMs ?? 0, offset.blankMs)
      const usable = slot.clean && slot.state === 'production' && settled && isSlotUsable(track) && (options.counts?.(slot) ?? true)
      if (usable) {
        const mean = slotMean(track)
        const weight = slotWeight(track)
        if (options.mean !== undefined) give(options.mean, slot.endMs, mean, weight)
        if (offset !== undefined) {
          const reference = setpointNow(state.reference, offset.setpoint, offset.isExplicit)
          if (reference !== 'waiting') give(offset.feature, slot.endMs, mean - (reference === 'plain' ? 0 : reference), weight)
        }
        if (showsVariance(track)) {
          const variance = varianceAboutLine(state.moments)
          const value = lnSd(variance, track.resolution)
          if (options.spread !== undefined && value !== undefined) give(options.spread, slot.endMs, value, weight)
          if (options.relativeSpread !== undefined && value !== undefined && mean > 0) give(options.relativeSpread, slot.endMs, value - Math.log(mean), weight)
        }
      }
      clearMoments(state.moments)
      if (!needsBlock || !endBlockSlot(state.block, slot, usable)) return
      const series = minuteSeries(state.block)
      const weight = series.minutes.length / state.block.sums.length
      if (options.hourMean !== undefined) give(options.hourMean, slot.endMs, series.means.reduce((sum, value) => sum + value, 0) / series.means.length, weight)
      const slow = showsVariance(track) ? lnSd(residualVariance(withoutSlowCourse(series)), 0) : undefined
      if (options.slowSpread !== undefined && slow !== undefined) give(options.slowSpread, slot.endMs, slow, weight)
      clearBlock(state.block, slot.endMs)
    },
  }
}
