import { normalQuantile, studentTTails } from './special-functions.js'

/**
 * A chart without a Phase I: each value is judged by all values before it. In control the Q statistics are independent
 * standard normal from the third value on, whatever centre and spread are.
 */
export interface SelfStartingDesign {
  /** Reference value and decision limit of the CUSUM of Q, in sigmas. */
  readonly k: number
  readonly h: number
}

/** Plain JSON state. */
export interface SelfStartingState {
  /** Values learned, their mean and sum of squared deviations. */
  count: number
  mean: number
  squares: number
  up: number
  down: number
  /** Whether learning stands still because a CUSUM is beyond half its limit. */
  frozen: boolean
}

export type SelfStartingResult =
  | { readonly kind: 'too-few-values'; readonly valueCount: number; readonly valueCountMin: number }
  /** All values so far are equal: nothing to judge the next one by. */
  | { readonly kind: 'no-variation'; readonly valueCount: number }
  | { readonly kind: 'judged'; readonly q: number; readonly up: number; readonly down: number; readonly signal: 'above' | 'below' | 'none'; readonly frozen: boolean }

const VALUES_BEFORE_MIN = 2
/** Q of a value beyond what the tail probability can express; a CUSUM of any sensible limit has signalled by then. */
const Q_MAX = 37

export function createSelfStarting(design: SelfStartingDesign): SelfStartingState {
  if (!(Number.isFinite(design.k) && design.k >= 0)) throw new Error(`self-starting chart: k must be a finite number of 0 or above, found ${design.k}`)
  if (!(Number.isFinite(design.h) && design.h > 0)) throw new Error(`self-starting chart: h must be a finite number above 0, found ${design.h}`)
  return { count: 0, mean: 0, squares: 0, up: 0, down: 0, frozen: false }
}

/**
 * Q_n = PhiInv(T_{n-2}(sqrt((n-1)/n) (x_n - mean)/s)), mean and s of the n-1 values before. O(1).
 *
 * Learning stands still while a CUSUM is above h/2: else a shift is absorbed into the mean and fades from the chart,
 * the known weakness of self-starting charts. It goes on when both are back below.
 *
 * @see Quesenberry, SPC Q charts for start-up processes and short or long runs, JQT 23 (1991) 213; Hawkins, Self-starting cusum charts, The Statistician 36 (1987) 299
 * @throws Error if the value is not finite or 1e100 or above in size
 */
export function stepSelfStarting(state: SelfStartingState, design: SelfStartingDesign, value: number): SelfStartingResult {
  if (!(Math.abs(value) < 1e100)) throw new Error(`self-starting chart: value must be a finite number below 1e100, found ${value}`)
  const before = state.count
  if (before < VALUES_BEFORE_MIN) {
    learn(state, value)
    return { kind: 'too-few-values', valueCount: state.count, valueCountMin: VALUES_BEFORE_MIN + 1 }
  }
  if (!(state.squares > 0)) {
    learn(state, value)
    return { kind: 'no-variation', valueCount: state.count }
  }
  const sd = Math.sqrt(state.squares / (before - 1))
  const q = normalScore((Math.sqrt(before / (before + 1)) * (value - state.mean)) / sd, before - 1)
  state.up = Math.max(0, state.up + q - design.k)
  state.down = Math.max(0, state.down - q - design.k)
  state.frozen = Math.max(state.up, state.down) > design.h / 2
  if (!state.frozen) learn(state, value)
  const signal = state.up > design.h ? 'above' : state.down > design.h ? 'below' : 'none'
  return { kind: 'judged', q, up: state.up, down: state.down, signal, frozen: state.frozen }
}

/** Normal value with the same tail probability as t; taken from the smaller tail so that far values keep their digits. */
function normalScore(t: number, df: number): number {
  const { lower, upper } = studentTTails(t, df)
  const q = lower < upper ? (lower > 0 ? normalQuantile(lower) : -Q_MAX) : upper > 0 ? -normalQuantile(upper) : Q_MAX
  return Math.max(-Q_MAX, Math.min(Q_MAX, q))
}

function learn(state: SelfStartingState, value: number): void {
  state.count++
  const delta = value - state.mean
  state.mean += delta / state.count
  state.squares += delta * (value - state.mean)
}
