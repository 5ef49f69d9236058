import { absorbingChain, runLengthMoments } from './absorbing-chain.js'
import { normalCdf, normalUpperTail } from './special-functions.js'

/**
 * Rules applied to a chart of independent normal values, each counted on either side of the centre line.
 * "Beyond 2 sigma" includes what is beyond 3.
 */
export interface RunRuleSet {
  /** One point beyond 3 sigma. */
  readonly oneBeyondThree?: boolean
  /** Two of three points beyond 2 sigma on one side. */
  readonly twoOfThreeBeyondTwo?: boolean
  /** Four of five points beyond 1 sigma on one side. */
  readonly fourOfFiveBeyondOne?: boolean
  /** So many points in a row on one side of the centre line (handbook: 8; variants: 7, 9). */
  readonly sameSideRun?: number
  /** So many points in a row within 1 sigma (usual: 15). */
  readonly withinOneRun?: number
  /** So many points in a row beyond 1 sigma on either side (usual: 8). */
  readonly beyondOneRun?: number
}

/** The four rules of the Western Electric handbook (1956). */
export const WESTERN_ELECTRIC_RULE_SET: RunRuleSet = {
  oneBeyondThree: true,
  twoOfThreeBeyondTwo: true,
  fourOfFiveBeyondOne: true,
  sameSideRun: 8,
}

/** Run length in points: mean (ARL) and standard deviation (SDRL). */
export interface RunLength {
  readonly arl: number
  readonly sdrl: number
}

/** Lower edges of the eight zones of the chart, in sigmas. */
const ZONE_EDGES = [-Infinity, -3, -2, -1, 0, 1, 2, 3] as const
const ZONE_COUNT = ZONE_EDGES.length
const SIGNAL = -1

/** What the rules remember of the past points. The masks hold the newest point in bit 0. */
interface Memory {
  readonly aboveTwo: number
  readonly belowTwo: number
  readonly aboveOne: number
  readonly belowOne: number
  /** Points in a row on one side; positive above, negative below. */
  readonly side: number
  readonly within: number
  readonly beyond: number
}

const EMPTY: Memory = { aboveTwo: 0, belowTwo: 0, aboveOne: 0, belowOne: 0, side: 0, within: 0, beyond: 0 }

function bitCount(mask: number): number {
  let count = 0
  for (let rest = mask; rest > 0; rest >>= 1) count += rest & 1
  return count
}

/** The memory after a point in `zone`, or undefined where a rule is fulfilled. */
function afterPoint(rules: RunRuleSet, memory: Memory, zone: number): Memory | undefined {
  const above = zone >= 4
  const distance = above ? zone - 4 : 3 - zone // whole sigmas passed: 0 .. 3
  if (rules.oneBeyondThree === true && distance >= 3) return undefined
  const push = (mask: number, bit: boolean, width: number): number => ((mask << 1) | (bit ? 1 : 0)) & ((1 << width) - 1)
  let { aboveTwo, belowTwo, aboveOne, belowOne, side, within, beyond } = EMPTY
  if (rules.twoOfThreeBeyondTwo === true) {
    aboveTwo = push(memory.aboveTwo, above && distance >= 2, 3)
    belowTwo = push(memory.belowTwo, !above && distance >= 2, 3)
    if (bitCount(aboveTwo) >= 2 || bitCount(belowTwo) >= 2) return undefined
    aboveTwo &= 3
    belowTwo &= 3
  }
  if (rules.fourOfFiveBeyondOne === true) {
    aboveOne = push(memory.aboveOne, above && distance >= 1, 5)
    belowOne = push(memory.belowOne, !above && distance >= 1, 5)
    if (bitCount(aboveOne) >= 4 || bitCount(belowOne) >= 4) return undefined
    aboveOne &= 15
    belowOne &= 15
  }
  if (rules.sameSideRun !== undefined) {
    side = above ? Math.max(memory.side, 0) + 1 : Math.min(memory.side, 0) - 1
    if (Math.abs(side) >= rules.sameSideRun) return undefined
  }
  if (rules.withinOneRun !== undefined) {
    within = distance < 1 ? memory.within + 1 : 0
    if (within >= rules.withinOneRun) return undefined
  }
  if (rules.beyondOneRun !== undefined) {
    beyond = distance >= 1 ? memory.beyond + 1 : 0
    if (beyond >= rules.beyondOneRun) return undefined
  }
  return { aboveTwo, belowTwo, aboveOne, belowOne, side, within, beyond }
}

/** State reached from each state by a point in each zone; state 0 is the empty history. */
function transitions(rules: RunRuleSet): Int32Array[] {
  const index = new Map<string, number>([[JSON.stringify(EMPTY), 0]])
  const memories: Memory[] = [EMPTY]
  const table: Int32Array[] = []
  for (let state = 0; state < memories.length; state++) {
    const row = new Int32Array(ZONE_COUNT)
    for (let zone = 0; zone < ZONE_COUNT; zone++) {
      const next = afterPoint(rules, memories[state]!, zone)
      if (next === undefined) {
        row[zone] = SIGNAL
        continue
      }
      const key = JSON.stringify(next)
      let target = index.get(key)
      if (target === undefined) {
        target = memories.length
        index.set(key, target)
        memories.push(next)
      }
      row[zone] = target
    }
    table.push(row)
  }
  return table
}

function checkRules(rules: RunRuleSet): void {
  for (const name of ['sameSideRun', 'withinOneRun', 'beyondOneRun'] as const) {
    const run = rules[name]
    if (run !== undefined && !(Number.isInteger(run) && run >= 2 && run <= 30)) {
      throw new Error(`run rules: expected ${name} to be a whole number from 2 to 30, got ${run}`)
    }
  }
  if (rules.oneBeyondThree !== true && rules.twoOfThreeBeyondTwo !== true && rules.fourOfFiveBeyondOne !== true && rules.sameSideRun === undefined && rules.withinOneRun === undefined && rules.beyondOneRun === undefined) {
    throw new Error('run rules: expected at least one rule, got none')
  }
}

function zoneShare(zone: number, shift: number, sd: number): number {
  const from = (ZONE_EDGES[zone]! - shift) / sd
  const to = zone + 1 < ZONE_COUNT ? (ZONE_EDGES[zone + 1]! - shift) / sd : Infinity
  return from > 0 ? normalUpperTail(from) - normalUpperTail(to) : normalCdf(to) - normalCdf(from)
}

/**
 * Exact run length of a Shewhart chart with supplementary rules (Markov chain over the memory of the rules,
 * Champ & Woodall 1987). Values are independent and normal.
 *
 * Zero state: the history is empty, and an empty place counts as neutral, so two-of-three can be fulfilled at point 2.
 *
 * @param options.shift mean off the centre line, in chart sigmas (default 0)
 * @param options.firstShift mean of the first point alone, where it differs: a residual chart sees a new level in full once
 *   and in part from then on (zero state only)
 * @param options.sd standard deviation of the points in chart sigmas (default 1)
 * @param options.start `steady-state`: the change comes after a long time in control without a signal; the standard
 *   deviation then is that around the mean over the starting states
 * @throws Error on an empty rule set or a number outside its range
 */
export function rulesRunLength(
  rules: RunRuleSet,
  options: { readonly shift?: number; readonly firstShift?: number; readonly sd?: number; readonly start?: 'zero-state' | 'steady-state' } = {},
): RunLength {
  const { shift = 0, sd = 1, start = 'zero-state', firstShift } = options
  checkRules(rules)
  if (!Number.isFinite(shift)) throw new Error(`rulesRunLength: expected a finite shift, got ${shift}`)
  if (!(Number.isFinite(sd) && sd > 0)) throw new Error(`rulesRunLength: expected a standard deviation above 0, got ${sd}`)
  const table = transitions(rules)
  const moments = runLengthMoments(chainOf(table, shift, sd))
  if (start === 'zero-state') {
    return firstShift === undefined ? { arl: moments.mean[0]!, sdrl: moments.sd[0]! } : afterFirstPoint(table[0]!, moments, (zone) => zoneShare(zone, firstShift, sd))
  }
  const share = chainOf(table, 0, 1).quasiStationary()
  let arl = 0
  let square = 0
  for (let i = 0; i < share.length; i++) {
    arl += share[i]! * moments.mean[i]!
    square += share[i]! * (moments.sd[i]! ** 2 + moments.mean[i]! ** 2)
  }
  return { arl, sdrl: Math.sqrt(Math.max(0, square - arl * arl)) }
}

function afterFirstPoint(row: Int32Array, moments: { readonly mean: Float64Array; readonly sd: Float64Array }, shareOf: (zone: number) => number): RunLength {
  let arl = 1
  let square = 1
  for (let zone = 0; zone < ZONE_COUNT; zone++) {
    const target = row[zone]!
    if (target === SIGNAL) continue
    const mean = moments.mean[target]!
    arl += shareOf(zone) * mean
    square += shareOf(zone) * (moments.sd[target]! ** 2 + mean * mean + 2 * mean)
  }
  return { arl, sdrl: Math.sqrt(Math.max(0, square - arl * arl)) }
}

function chainOf(table: readonly Int32Array[], shift: number, sd: number): ReturnType<typeof absorbingChain> {
  const n = table.length
  const moves = new Float64Array(n * n)
  const leave = new Float64Array(n)
  for (let zone = 0; zone < ZONE_COUNT; zone++) {
    const share = zoneShare(zone, shift, sd)
    for (let state = 0; state < n; state++) {
      const target = table[state]![zone]!
      if (target === SIGNAL) leave[state] = leave[state]! + share
      else moves[state * n + target] = moves[state * n + target]! + share
    }
  }
  return absorbingChain(moves, leave)
}

/** Mean run length of a Shewhart chart with limits at `limit` sigmas and no further rule. */
export function shewhartArl(limit: number, options: { readonly shift?: number; readonly sd?: number } = {}): number {
  const { shift = 0, sd = 1 } = options
  if (!(Number.isFinite(limit) && limit > 0)) throw new Error(`shewhartArl: expected a limit above 0, got ${limit}`)
  if (!Number.isFinite(shift)) throw new Error(`shewhartArl: expected a finite shift, got ${shift}`)
  if (!(Number.isFinite(sd) && sd > 0)) throw new Error(`shewhartArl: expected a standard deviation above 0, got ${sd}`)
  const share = normalUpperTail((limit - shift) / sd) + normalUpperTail((limit + shift) / sd)
  if (!(share >= 1e-300)) throw new Error(`shewhartArl: with a limit of ${limit} and a shift of ${shift} the chart never signals within what a number can hold`)
  return 1 / share
}
