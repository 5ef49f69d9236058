/** Sums of a slot's readings about a straight line. Plain JSON. */
export interface TrendMoments {
  n: number
  /** First value: sums are kept relative to it, so that small spreads on large values stay exact. */
  first: number
  t: number
  tt: number
  x: number
  xx: number
  tx: number
}

export function createMoments(): TrendMoments {
  return { n: 0, first: 0, t: 0, tt: 0, x: 0, xx: 0, tx: 0 }
}

/** @param minutes time from the begin of the slot, min */
export function addValue(moments: TrendMoments, minutes: number, value: number): void {
  if (moments.n === 0) moments.first = value
  const x = value - moments.first
  moments.n += 1
  moments.t += minutes
  moments.tt += minutes * minutes
  moments.x += x
  moments.xx += x * x
  moments.tx += minutes * x
}

export function clearMoments(moments: TrendMoments): void {
  moments.n = 0
  moments.first = 0
  moments.t = 0
  moments.tt = 0
  moments.x = 0
  moments.xx = 0
  moments.tx = 0
}

/** Mean of at least one value. */
export function meanOf(moments: TrendMoments): number {
  return moments.first + moments.x / moments.n
}

/** Variance about the straight line that fits best; needs three values, 0 below. */
export function varianceAboutLine(moments: TrendMoments): number {
  const { n } = moments
  if (n < 3) return 0
  const stt = moments.tt - (moments.t * moments.t) / n
  const sxx = moments.xx - (moments.x * moments.x) / n
  const stx = moments.tx - (moments.t * moments.x) / n
  const rest = stt > 1e-12 ? sxx - (stx * stx) / stt : sxx
  // below this the sum is rounding error of its own terms
  return rest > 1e-12 * moments.xx ? rest / (n - 2) : 0
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
