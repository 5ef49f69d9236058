import type { DriftPoint } from '../spc/drift.js'

/**
 * Values of a feature over the last weeks in bounded memory: the newest one by one, and all as means of blocks that
 * grow until they span `SPAN_WEEKS`. Plain JSON; times are whole minutes, values have seven digits, so that the
 * snapshot stays small.
 */
export interface InsightHistory {
  fineMinutes: number[]
  fineValues: number[]
  blockMinutes: number[]
  blockValues: number[]
  /** Values in a finished block. */
  block: number
  openSum: number
  openCount: number
}

/** Values in time order, all of about equal weight. */
export interface InsightSeries {
  readonly points: readonly DriftPoint[]
  /** Values behind each point. */
  readonly block: number
}

const FINE_MAX = 40
const BLOCKS_MAX = 80
const SPAN_WEEKS = 4
/** Single values that must lie before a change for it to be looked at among them. */
const FINE_BEFORE_MIN = 12

export function createInsightHistory(): InsightHistory {
  return { fineMinutes: [], fineValues: [], blockMinutes: [], blockValues: [], block: 1, openSum: 0, openCount: 0 }
}

/**
 * Adds a value. A time before the newest one (a clock set back) begins anew: what came before is no history of it.
 *
 * @param pointsPerWeek values of the feature in a week; decides how long blocks grow
 */
export function pushInsightValue(history: InsightHistory, timeMs: number, value: number, pointsPerWeek: number): void {
  const minute = Math.round(timeMs / 60_000)
  const rounded = Number(value.toPrecision(7))
  if (minute < (history.fineMinutes.at(-1) ?? minute)) Object.assign(history, createInsightHistory())
  history.fineMinutes.push(minute)
  history.fineValues.push(rounded)
  if (history.fineMinutes.length > FINE_MAX) {
    history.fineMinutes.shift()
    history.fineValues.shift()
  }
  history.openSum += value
  history.openCount += 1
  if (history.openCount < history.block) return
  history.blockMinutes.push(minute)
  history.blockValues.push(Number((history.openSum / history.openCount).toPrecision(7)))
  history.openSum = history.openCount = 0
  if (history.blockMinutes.length < BLOCKS_MAX) return
  if (history.block * BLOCKS_MAX < SPAN_WEEKS * pointsPerWeek) mergePairs(history)
  else {
    history.blockMinutes.shift()
    history.blockValues.shift()
  }
}

function mergePairs(history: InsightHistory): void {
  const { blockMinutes, blockValues } = history
  history.blockMinutes = blockMinutes.filter((_, index) => index % 2 === 1)
  history.blockValues = history.blockMinutes.map((_, index) => Number(((blockValues[2 * index]! + blockValues[2 * index + 1]!) / 2).toPrecision(7)))
  history.block *= 2
}

/**
 * The values to look for a change in: single ones where the change is so young that enough of them lie before it,
 * else the blocks.
 *
 * @param onsetMs where the chart puts the change, ms UTC
 * @param afterMs values up to this time belong to an earlier episode and are left out, if at least 16 remain
 */
export function seriesAround(history: InsightHistory, onsetMs: number, afterMs: number): InsightSeries {
  const fine = history.fineMinutes.map((minute, index) => ({ timeMs: minute * 60_000, value: history.fineValues[index]! }))
  const before = fine.filter(({ timeMs }) => timeMs < onsetMs).length
  if (before >= FINE_BEFORE_MIN || history.block === 1) return { points: history.block === 1 ? cut(blocksOf(history), afterMs) : fine, block: 1 }
  return { points: cut(blocksOf(history), afterMs), block: history.block }
}

/** Values since a time: the blocks where there are ten of them, else single values as far as they reach back. */
export function seriesSince(history: InsightHistory, sinceMs: number): InsightSeries {
  const blocks = blocksOf(history).filter(({ timeMs }) => timeMs >= sinceMs)
  if (blocks.length >= 10) return { points: blocks, block: history.block }
  const fine = history.fineMinutes.map((minute, index) => ({ timeMs: minute * 60_000, value: history.fineValues[index]! })).filter(({ timeMs }) => timeMs >= sinceMs)
  return { points: fine, block: 1 }
}

function blocksOf(history: InsightHistory): DriftPoint[] {
  return history.blockMinutes.map((minute, index) => ({ timeMs: minute * 60_000, value: history.blockValues[index]! }))
}

function cut(points: readonly DriftPoint[], afterMs: number): readonly DriftPoint[] {
  const rest = points.filter(({ timeMs }) => timeMs > afterMs)
  return rest.length >= 16 ? rest : points
}
