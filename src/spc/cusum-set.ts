import type { Side } from './chart-point.js'

/**
 * The two-sided CUSUMs of a chart set in one row, so that a step reads one stretch of memory: of each in turn its reference
 * value k, its limit h, the upper and the lower sum, all in sigmas. Plain JSON.
 */
export type CusumSet = number[]

/** Reference value and limit of one CUSUM. */
export interface CusumLimits {
  readonly k: number
  readonly h: number
}

/** Numbers of one CUSUM in the row, and where they stand. */
const WIDTH = 4
const LIMIT = 1
const UPPER = 2
const LOWER = 3

/** Sums begin at 0. */
export function createCusumSet(limits: readonly CusumLimits[]): CusumSet {
  return limits.flatMap(({ k, h }) => [k, h, 0, 0])
}

/** New limits; the sums go on. */
export function setCusumLimits(set: CusumSet, limits: readonly CusumLimits[]): void {
  limits.forEach(({ k, h }, i) => {
    set[i * WIDTH] = k
    set[i * WIDTH + LIMIT] = h
  })
}

/** Moves all sums on by one standardised value; held at their limits, so that they come back soon after a change has ended. O(1). */
export function stepCusumSet(set: CusumSet, z: number): void {
  for (let at = 0; at < set.length; at += WIDTH) {
    const reference = set[at]!
    const limit = set[at + LIMIT]!
    const rise = set[at + UPPER]! + z - reference
    const fall = set[at + LOWER]! - z - reference
    set[at + UPPER] = rise > 0 ? (rise < limit ? rise : limit) : 0
    set[at + LOWER] = fall > 0 ? (fall < limit ? fall : limit) : 0
  }
}

/** Largest sum of one side as a share of its limit, 0-1. */
export function cusumShare(set: CusumSet, side: Side): number {
  const sum = side === 'above' ? UPPER : LOWER
  let share = 0
  for (let at = 0; at < set.length; at += WIDTH) {
    const ratio = set[at + sum]! / set[at + LIMIT]!
    if (ratio > share) share = ratio
  }
  return share
}

/** Limit of the first CUSUM, in which the plotted statistic is scaled. */
export function firstCusumLimit(set: CusumSet): number {
  return set[LIMIT]!
}

/** Sets the sums of one side, or of both, to the given share of their limits. */
export function startCusums(set: CusumSet, share: number, side?: Side): void {
  for (let at = 0; at < set.length; at += WIDTH) {
    const start = share * set[at + LIMIT]!
    if (side !== 'below') set[at + UPPER] = start
    if (side !== 'above') set[at + LOWER] = start
  }
}
