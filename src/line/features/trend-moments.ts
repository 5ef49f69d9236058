/**
 * Sums of a window's readings about a straight line, in one row: every reading touches them, so they are kept small and
 * together. In turn: readings, the first value, sums of minutes, minutes², values, values², minutes times values; values
 * are taken from the first, so that small spreads on large values stay exact. Plain JSON.
 */
export type TrendMoments = number[]

const N = 0
const FIRST = 1
const T = 2
const TT = 3
const X = 4
const XX = 5
const TX = 6

export function createMoments(): TrendMoments {
  return [0, 0, 0, 0, 0, 0, 0]
}

/** @param minutes time from the begin of the slot, min; 0 where only mean and variance are wanted */
export function addValue(moments: TrendMoments, minutes: number, value: number): void {
  if (moments[N] === 0) moments[FIRST] = value
  const x = value - moments[FIRST]!
  moments[N]! += 1
  moments[T]! += minutes
  moments[TT]! += minutes * minutes
  moments[X]! += x
  moments[XX]! += x * x
  moments[TX]! += minutes * x
}

export function clearMoments(moments: TrendMoments): void {
  moments.fill(0)
}

/** Readings in the window. */
export function readingCount(moments: TrendMoments): number {
  return moments[N]!
}

/** Mean of at least one value. */
export function meanOf(moments: TrendMoments): number {
  return moments[FIRST]! + moments[X]! / moments[N]!
}

/** Variance about the mean; needs two values. */
export function varianceAboutMean(moments: TrendMoments): number {
  const n = moments[N]!
  return (moments[XX]! - (moments[X]! * moments[X]!) / n) / (n - 1)
}

/** Variance about the straight line that fits best; needs three values, 0 below. */
export function varianceAboutLine(moments: TrendMoments): number {
  const n = moments[N]!
  if (n < 3) return 0
  const stt = moments[TT]! - (moments[T]! * moments[T]!) / n
  const sxx = moments[XX]! - (moments[X]! * moments[X]!) / n
  const stx = moments[TX]! - (moments[T]! * moments[X]!) / n
  const rest = stt > 1e-12 ? sxx - (stx * stx) / stt : sxx
  // below this the sum is rounding error of its own terms
  return rest > 1e-12 * moments[XX]! ? rest / (n - 2) : 0
}

/**
 * ln of a standard deviation, not below what rounding alone would show (resolution/√12, rectangular distribution).
 *
 * @returns undefined where neither the variance nor the resolution is above 0: there is no such number
 */
export function lnSd(variance: number, resolution: number): number | undefined {
  const least = Math.max(variance, (resolution * resolution) / 12)
  return least > 0 ? 0.5 * Math.log(least) : undefined
}
