import { DEFECT_BOARDS } from './board-specs.js'
import type { PastContext } from './context-log.js'
import { countAtUsualMix, type DefectLevels } from './defect-levels.js'
import { ALL_DEFECTS, countOfAllKinds, type DefectPool } from './defect-pool.js'
import { addValue, clearMoments, createMoments, lnSd, meanOf, readingCount, varianceAboutMean, type TrendMoments } from './trend-moments.js'
import type { Collector, Give } from './slot.js'
import { boardsAtUsualAir, type AirNow, type BoardAir } from './boards-at-usual-air.js'
import { atUsualRecipe, type UsualLevels } from './usual-level.js'

/** Values of boards on end, one recipe. Plain JSON. */
export interface GroupState {
  readonly moments: TrendMoments
  recipe: string
  /** What the boards' temperature was set by when the first of them came. */
  setpoints?: string
  firstMs: number
  latestMs: number
}

export function createGroupState(): GroupState {
  return { moments: createMoments(), recipe: '', firstMs: 0, latestMs: 0 }
}

/** Boards of one value of the board temperature: about half an hour. */
const TOPSIDE_BOARDS = 40
/** A group that takes longer than a shift compares what is not alike. */
const GROUP_MS_MAX = 8 * 3_600_000
const FLUSH_SHARE_MIN = 0.6

type GiveIn = (feature: string, timeMs: number, value: number, weight: number, recipe: string) => void

interface Grouped {
  readonly size: number
  /** Boards of other set-points begin a group of their own. */
  readonly setpoints?: () => string
  give(state: GroupState, weight: number, give: GiveIn): void
}

export interface GroupParts {
  contextAt(timeMs: number): PastContext | undefined
  readonly give: GiveIn
}

export interface Surroundings {
  setpoints(): string
  readonly air: BoardAir
  airNow(recipe: string): AirNow
}

/**
 * Mean and spread of the temperature with which boards leave the preheat, the mean as it would be under the first recipe, in the
 * usual room and at the usual draw of air.
 *
 * @param surroundings.setpoints what the boards' temperature is set by just now, in words: another makes another level
 */
export function createTopsideGroups(parts: GroupParts, surroundings: Surroundings, levels: UsualLevels, state: GroupState): Collector & { flush(give: Give): void } {
  return createGroups('board.topside-temperature', parts, state, {
    size: TOPSIDE_BOARDS,
    setpoints: surroundings.setpoints,
    give(group, weight, give) {
      const { moments, latestMs, recipe } = group
      const key = `${recipe} ${group.setpoints ?? ''}`
      const mean = atUsualRecipe(levels, key, boardsAtUsualAir(surroundings.air, key, meanOf(moments), surroundings.airNow(recipe)))
      if (mean !== undefined) give('board.topside-temperature.mean', latestMs, mean, weight, recipe)
      const variance = varianceAboutMean(moments)
      const spread = lnSd(variance > 1e-12 ? variance : 0, 0)
      if (spread !== undefined) give('board.topside-temperature.spread', latestMs, spread, weight, recipe)
    },
  })
}

export interface DefectKinds {
  /** Channels of all kinds of the line. */
  readonly channels: readonly string[]
  readonly levels: DefectLevels
  readonly pool: DefectPool
}

/**
 * Defects of one kind in equal numbers of boards, at the line's usual mix of them; each reading is one board's count. Two kinds or more are
 * summed as well.
 *
 * @param kinds shared by all kinds of the line
 */
export function createDefectGroups(channel: string, parts: GroupParts, kinds: DefectKinds, state: GroupState): Collector {
  return createGroups(channel, parts, state, {
    size: DEFECT_BOARDS,
    give(group, weight, give) {
      // a count of fewer boards is another count
      if (readingCount(group.moments) !== DEFECT_BOARDS) return
      const count = countAtUsualMix(kinds.levels, channel, group.recipe, Math.round(meanOf(group.moments) * DEFECT_BOARDS))
      if (count === undefined) return
      give(`${channel}.count`, group.latestMs, count, weight, group.recipe)
      const all = kinds.channels.length < 2 ? undefined : countOfAllKinds(kinds.pool, kinds.channels, channel, count)
      if (all !== undefined) give(ALL_DEFECTS, group.latestMs, all, weight, group.recipe)
    },
  })
}

/** Groups of boards in the order their values come, by the state and recipe of the time they carry. */
function createGroups(channel: string, parts: GroupParts, state: GroupState, grouped: Grouped): Collector & { flush(give: Give): void } {
  const close = (): void => {
    const share = readingCount(state.moments) / grouped.size
    if (share >= FLUSH_SHARE_MIN) grouped.give(state, Math.min(1, share), parts.give)
    clearMoments(state.moments)
  }
  return {
    channels: [channel],
    take(_index, timeMs, value) {
      const context = parts.contextAt(timeMs)
      if (context?.state !== 'production') return
      const { moments } = state
      const setpoints = grouped.setpoints?.() ?? ''
      if (readingCount(moments) > 0 && (context.recipe !== state.recipe || setpoints !== (state.setpoints ?? '') || timeMs - state.firstMs > GROUP_MS_MAX || timeMs < state.firstMs - GROUP_MS_MAX)) close()
      if (readingCount(moments) === 0) {
        state.recipe = context.recipe
        if (grouped.setpoints !== undefined) state.setpoints = setpoints
        state.firstMs = timeMs
        state.latestMs = timeMs
      }
      addValue(moments, 0, value)
      if (timeMs > state.latestMs) state.latestMs = timeMs
      if (readingCount(moments) >= grouped.size) close()
    },
    endSlot() {
      // boards are counted, not timed
    },
    flush: close,
  }
}
