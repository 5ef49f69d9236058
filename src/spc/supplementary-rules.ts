import type { Side } from './chart-point.js'

/**
 * Patterns beside the four zone rules, each off unless asked for: they make false hits frequent (the four zone rules with
 * five more of these: one in 75 points in control) and belong on the screen as explanations, never into an alarm.
 *
 * - `steady-trend`: 6 points in a row, each above (below) the one before: 5 differences of one sign. Equal neighbours break it.
 * - `alternation`: 14 points in a row, up and down in turn: 13 differences of alternating sign. Equal neighbours break it.
 * - `too-quiet`: 15 points in a row within 1 sigma of the centre line, on either side. A point on the 1 sigma line is within.
 * - `avoids-middle`: 8 points in a row beyond 1 sigma, on either or both sides. A point on the 1 sigma line is not beyond.
 * - `nine-on-one-side`: 9 points in a row on one side of the centre line. A point on it breaks the run.
 *
 * Counts as in Nelson, The Shewhart control chart - tests for special causes, JQT 16 (1984) 237 (from memory).
 */
export type SupplementaryRule = 'steady-trend' | 'alternation' | 'too-quiet' | 'avoids-middle' | 'nine-on-one-side'

/** `side` is `above` for rising points or points above the centre line; `both` where the pattern has no side. */
export interface SupplementaryHit {
  readonly timeMs: number
  readonly rule: SupplementaryRule
  readonly side: Side | 'both'
  /** The points that fulfil the rule, oldest first. */
  readonly pointTimesMs: readonly number[]
}

/** The pattern is over: `timeMs` is the first point that no longer fulfils it. */
export interface SupplementaryEnd {
  readonly timeMs: number
  readonly rule: SupplementaryRule
  readonly side: Side | 'both'
}

/** Plain JSON state; every run is held at its rule's length. */
export interface SupplementaryState {
  count: number
  previous: number
  rising: number
  falling: number
  alternating: number
  lastSign: number
  quiet: number
  outer: number
  above: number
  below: number
  /** Rules and sides fulfilled now, one bit each. */
  active: number
  /** Times of the last 15 points, a ring. */
  timesMs: number[]
  next: number
}

const RULES: readonly { readonly rule: SupplementaryRule; readonly side: Side | 'both'; readonly length: number }[] = [
  { rule: 'steady-trend', side: 'above', length: 6 },
  { rule: 'steady-trend', side: 'below', length: 6 },
  { rule: 'alternation', side: 'both', length: 14 },
  { rule: 'too-quiet', side: 'both', length: 15 },
  { rule: 'avoids-middle', side: 'both', length: 8 },
  { rule: 'nine-on-one-side', side: 'above', length: 9 },
  { rule: 'nine-on-one-side', side: 'below', length: 9 },
]
const POINTS_MAX = 15

export function createSupplementary(): SupplementaryState {
  return { count: 0, previous: 0, rising: 0, falling: 0, alternating: 0, lastSign: 0, quiet: 0, outer: 0, above: 0, below: 0, active: 0, timesMs: new Array<number>(POINTS_MAX).fill(0), next: 0 }
}

/**
 * Takes one point; a rule that stays fulfilled is one episode with one hit, at its first point, and, where asked for, one
 * end, at the first point that no longer fulfils it. O(1).
 *
 * @param z distance from the centre line in sigmas
 * @param wanted rules to report
 * @throws Error if `z` is not finite
 */
export function stepSupplementary(state: SupplementaryState, timeMs: number, z: number, wanted: readonly SupplementaryRule[], onHit: (hit: SupplementaryHit) => void, onEnd?: (end: SupplementaryEnd) => void): void {
  if (!Number.isFinite(z)) throw new Error(`supplementary rules: distance from the centre line must be a finite number of sigmas, found ${z}`)
  state.timesMs[state.next] = timeMs
  state.next = (state.next + 1) % POINTS_MAX
  const sign = state.count === 0 ? 0 : Math.sign(z - state.previous)
  // Runs count points, so a first difference makes two.
  state.rising = sign > 0 ? Math.max(2, state.rising + 1) : 1
  state.falling = sign < 0 ? Math.max(2, state.falling + 1) : 1
  state.alternating = sign === 0 ? 1 : sign === -state.lastSign ? state.alternating + 1 : 2
  state.quiet = Math.abs(z) <= 1 ? state.quiet + 1 : 0
  state.outer = Math.abs(z) > 1 ? state.outer + 1 : 0
  state.above = z > 0 ? state.above + 1 : 0
  state.below = z < 0 ? state.below + 1 : 0
  state.lastSign = sign
  state.previous = z
  state.count = Math.min(POINTS_MAX, state.count + 1)

  const lengths = [state.rising, state.falling, state.alternating, state.quiet, state.outer, state.above, state.below]
  let active = 0
  for (let i = 0; i < RULES.length; i++) if (lengths[i]! >= RULES[i]!.length) active |= 1 << i
  const begun = active & ~state.active
  const ended = state.active & ~active
  state.active = active
  if (ended !== 0 && onEnd !== undefined) {
    RULES.forEach(({ rule, side }, i) => {
      if ((ended & (1 << i)) !== 0 && wanted.includes(rule)) onEnd({ timeMs, rule, side })
    })
  }
  if (begun === 0) return
  RULES.forEach(({ rule, side, length }, i) => {
    if ((begun & (1 << i)) === 0 || !wanted.includes(rule)) return
    const pointTimesMs = Array.from({ length }, (_, j) => state.timesMs[(state.next - length + j + POINTS_MAX) % POINTS_MAX]!)
    onHit({ timeMs, rule, side, pointTimesMs })
  })
}
