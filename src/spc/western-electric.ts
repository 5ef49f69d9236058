import type { ChartKind, RuleEnd, RuleHit, RuleName, Side } from './chart-point.js'

/**
 * The four zone rules of the Western Electric Statistical Quality Control Handbook (1956), one point at a time.
 *
 * - `one-beyond-three-sigma`: the point lies beyond 3 sigma
 * - `two-of-three-beyond-two-sigma`: at least 2 of the last 3 points lie beyond 2 sigma on the same side (points beyond 3 count)
 * - `four-of-five-beyond-one-sigma`: at least 4 of the last 5 points lie beyond 1 sigma on the same side
 * - `eight-on-one-side`: the last 8 points lie on the same side of the centre line
 *
 * "Beyond" is strict: a point on a limit is inside, a point on the centre line belongs to neither side. The history
 * before the first point counts as neutral, so 2-of-3 may be fulfilled at the second point and 4-of-5 at the fourth
 * (the convention of Champ and Woodall, 1987; in-control run length of the four together 91.75 points).
 *
 * A rule that stays fulfilled is one episode: it gives one hit, at its first point, and, where asked for, one end, at the
 * first point that no longer fulfils it; the next hit of the same rule and side comes only after that.
 */
export interface WesternElectricState {
  /** One bit a point, newest lowest: beyond 1 sigma above/below (5 points), beyond 2 sigma above/below (3 points). */
  oneAbove: number
  oneBelow: number
  twoAbove: number
  twoBelow: number
  /** Length of the present run above/below the centre line, held at 8. */
  runAbove: number
  runBelow: number
  /** One bit for each rule and side that is fulfilled now; see `bitOf`. */
  active: number
  /** Times of the last 8 points, a ring; `next` is where the coming one goes. */
  timesMs: number[]
  next: number
}

/** Points the longest of the four rules looks back on. */
const POINTS_MAX = 8

/** Rules in the order their hits are reported. */
export const WESTERN_ELECTRIC_RULES: readonly RuleName[] = [
  'one-beyond-three-sigma',
  'two-of-three-beyond-two-sigma',
  'four-of-five-beyond-one-sigma',
  'eight-on-one-side',
]

const BIT_COUNT = Array.from({ length: 32 }, (_, bits) => [0, 1, 2, 3, 4].reduce((sum, bit) => sum + ((bits >> bit) & 1), 0))

/** State before the first point: an empty, neutral history. */
export function createWesternElectric(): WesternElectricState {
  return { oneAbove: 0, oneBelow: 0, twoAbove: 0, twoBelow: 0, runAbove: 0, runBelow: 0, active: 0, timesMs: [0, 0, 0, 0, 0, 0, 0, 0], next: 0 }
}

/** Forgets the history, as before the first point; episodes still open are forgotten too. */
export function resetWesternElectric(state: WesternElectricState): void {
  state.oneAbove = state.oneBelow = state.twoAbove = state.twoBelow = 0
  state.runAbove = state.runBelow = 0
  state.active = 0
}

/**
 * Takes one point and reports the rules it fulfils anew. O(1), allocates only for a hit.
 *
 * @param state changed in place
 * @param z distance of the plotted statistic from the centre line in sigmas of the statistic
 * @param chart the chart the hits are named after
 * @param onHit called once for each rule and side whose episode begins at this point
 * @param onEnd called once for each whose episode ended with the point before; an episode forgotten by a reset has no end
 * @throws Error if `z` is not finite
 */
export function stepWesternElectric(state: WesternElectricState, timeMs: number, z: number, chart: ChartKind, onHit: (hit: RuleHit) => void, onEnd?: (end: RuleEnd) => void): void {
  if (!Number.isFinite(z)) throw new Error(`Western Electric rules: distance from the centre line must be a finite number of sigmas, found ${z}`)
  state.timesMs[state.next] = timeMs
  state.next = (state.next + 1) % POINTS_MAX
  state.oneAbove = ((state.oneAbove << 1) & 31) | (z > 1 ? 1 : 0)
  state.oneBelow = ((state.oneBelow << 1) & 31) | (z < -1 ? 1 : 0)
  state.twoAbove = ((state.twoAbove << 1) & 7) | (z > 2 ? 1 : 0)
  state.twoBelow = ((state.twoBelow << 1) & 7) | (z < -2 ? 1 : 0)
  state.runAbove = z > 0 ? Math.min(POINTS_MAX, state.runAbove + 1) : 0
  state.runBelow = z < 0 ? Math.min(POINTS_MAX, state.runBelow + 1) : 0

  const active =
    (z > 3 ? 1 : 0) |
    (z < -3 ? 2 : 0) |
    (BIT_COUNT[state.twoAbove]! >= 2 ? 4 : 0) |
    (BIT_COUNT[state.twoBelow]! >= 2 ? 8 : 0) |
    (BIT_COUNT[state.oneAbove]! >= 4 ? 16 : 0) |
    (BIT_COUNT[state.oneBelow]! >= 4 ? 32 : 0) |
    (state.runAbove >= POINTS_MAX ? 64 : 0) |
    (state.runBelow >= POINTS_MAX ? 128 : 0)
  const begun = active & ~state.active
  const ended = state.active & ~active
  state.active = active
  if (ended !== 0 && onEnd !== undefined) reportEnds(timeMs, ended, chart, onEnd)
  if (begun !== 0) reportHits(state, timeMs, begun, chart, onHit)
}

/** Whether a rule is fulfilled by the points seen so far, on the given side. */
export function isFulfilled(state: WesternElectricState, rule: RuleName, side: Side): boolean {
  return (state.active & bitOf(WESTERN_ELECTRIC_RULES.indexOf(rule), side)) !== 0
}

function bitOf(ruleIndex: number, side: Side): number {
  return 1 << (ruleIndex * 2 + (side === 'above' ? 0 : 1))
}

function reportEnds(timeMs: number, ended: number, chart: ChartKind, onEnd: (end: RuleEnd) => void): void {
  WESTERN_ELECTRIC_RULES.forEach((rule, ruleIndex) => {
    for (const side of ['above', 'below'] as const) if ((ended & bitOf(ruleIndex, side)) !== 0) onEnd({ timeMs, chart, rule, side })
  })
}

function reportHits(state: WesternElectricState, timeMs: number, begun: number, chart: ChartKind, onHit: (hit: RuleHit) => void): void {
  for (let ruleIndex = 0; ruleIndex < WESTERN_ELECTRIC_RULES.length; ruleIndex++) {
    for (const side of ['above', 'below'] as const) {
      if ((begun & bitOf(ruleIndex, side)) === 0) continue
      onHit({ timeMs, chart, rule: WESTERN_ELECTRIC_RULES[ruleIndex]!, side, pointTimesMs: pointTimes(state, ruleIndex, side) })
    }
  }
}

/** The points that fulfil the rule, oldest first; at the begin of an episode the newest is always one of them. */
function pointTimes(state: WesternElectricState, ruleIndex: number, side: Side): number[] {
  const above = side === 'above'
  const bits = [1, above ? state.twoAbove : state.twoBelow, above ? state.oneAbove : state.oneBelow, 255][ruleIndex]!
  const times: number[] = []
  for (let age = POINTS_MAX - 1; age >= 0; age--) {
    if ((bits >> age) & 1) times.push(state.timesMs[(state.next - 1 - age + 2 * POINTS_MAX) % POINTS_MAX]!)
  }
  return times
}
