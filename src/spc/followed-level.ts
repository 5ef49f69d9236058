import { widenedLimit } from './baseline.js'
import { shewhartLimit } from './design-limits.js'

/**
 * A level that wanders, followed by an exponentially weighted average: each value is judged by the forecast from those
 * before it. It finds jumps and falls that are fast for this series; a slow drift it follows like any other wandering.
 * Plain JSON.
 *
 * @see Montgomery and Mastrangelo, Some statistical process control methods for autocorrelated data, JQT 23 (1991) 179
 */
export interface FollowedLevel {
  /** Forecasts with each weight of `FOLLOW_WEIGHTS`, and the sums of their squared errors, each error at most 3 sigmas. */
  levels: number[]
  squares: number[]
  /** Index of the weight in use. */
  chosen: number
  /** Values judged. */
  count: number
  /** Standard deviation of the forecast error; 0 until there is one. */
  sigma: number
  /** Limit of the forecast error in sigmas; 0 until enough was seen. */
  limit: number
  /** Largest errors, sizes in the unit of the values, descending: the tail is taken from them. */
  largest: number[]
  /** False once the limits are frozen. */
  learning: boolean
}

export const FOLLOW_WEIGHTS: readonly number[] = [0.1, 0.2, 0.4, 0.7, 1]
const LARGEST_MAX = 20
/** Errors of the few values at the begin are not judged. */
const FIRST_ERRORS = 20
/** An error counts for no more sigmas in the spread and in the forecast, so that one stranger moves neither far. */
const ERROR_MAX = 3
/** Standard errors of the tail that limits allow for. */
const TAIL_ERRORS = 1.28

export function followLevel(first: number): FollowedLevel {
  return { levels: FOLLOW_WEIGHTS.map(() => first), squares: FOLLOW_WEIGHTS.map(() => 0), chosen: FOLLOW_WEIGHTS.length - 1, count: 0, sigma: 0, limit: 0, largest: [], learning: true }
}

/** Ends the learning: weight, spread and limit stay, what they came from is no longer kept. */
export function freezeLimits(followed: FollowedLevel): void {
  followed.learning = false
  followed.largest = []
  followed.squares = []
}

/** Begins anew at the given value, e.g. after a gap; what was learned of the errors stays. */
export function resumeAt(followed: FollowedLevel, value: number): void {
  followed.levels.fill(value)
}

/** Forecast of the next value. */
export function forecast(followed: FollowedLevel): number {
  return followed.levels[followed.chosen]!
}

/**
 * Takes one value: the forecasts move on, and while it learns, the spread of the errors and their tail. O(1).
 *
 * @param teaches whether the value may teach the spread, the weight and the tail
 * @param sigmaFloor smallest believable standard deviation, above 0
 */
export function takeValue(followed: FollowedLevel, value: number, teaches: boolean, sigmaFloor: number): void {
  const { levels, squares } = followed
  const error = value - forecast(followed)
  const most = followed.count < FIRST_ERRORS ? Infinity : ERROR_MAX * followed.sigma
  const learns = followed.learning && teaches
  for (let i = 0; i < levels.length; i++) {
    const own = Math.max(-most, Math.min(most, value - levels[i]!))
    levels[i]! += FOLLOW_WEIGHTS[i]! * own
    if (learns) squares[i]! += own * own
  }
  if (!learns) return
  followed.count++
  if (followed.count > FIRST_ERRORS) keepLargest(followed.largest, Math.abs(error))
  for (let i = 0; i < squares.length; i++) if (squares[i]! < squares[followed.chosen]!) followed.chosen = i
  followed.sigma = Math.max(sigmaFloor, Math.sqrt(squares[followed.chosen]! / followed.count))
}

function keepLargest(largest: number[], size: number): void {
  if (largest.length === LARGEST_MAX && size <= largest[LARGEST_MAX - 1]!) return
  let at = largest.length
  while (at > 0 && largest[at - 1]! < size) at--
  largest.splice(at, 0, size)
  if (largest.length > LARGEST_MAX) largest.length = LARGEST_MAX
}

/**
 * Limit of the forecast error, in sigmas, for one false signal in `arl0` values: the largest errors seen are continued by
 * an exponential tail (peaks over a threshold), with an allowance for how few they are; never below the limit of normal
 * errors on a baseline of that size.
 *
 * @param arl0 values between two false signals, above 2
 * @throws Error on a run length of 2 or less
 * @see Pickands, Statistical inference using extreme order statistics, Ann. Statist. 3 (1975) 119
 */
export function tailLimit(followed: FollowedLevel, arl0: number): number {
  const { largest, count, sigma } = followed
  const normal = widenedLimit(shewhartLimit(arl0), Math.max(2, count))
  if (largest.length < 2 || !(sigma > 0)) return normal
  const threshold = largest[largest.length - 1]!
  const peaks = largest.length - 1
  let excess = 0
  for (const size of largest) excess += (size - threshold) / peaks
  const wait = (arl0 * peaks) / Math.max(count, 1)
  const tail = threshold + excess * (1 + TAIL_ERRORS / Math.sqrt(peaks)) * Math.max(0, Math.log(wait))
  return Math.max(normal, tail / sigma)
}
