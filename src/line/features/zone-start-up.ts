import type { TrackState } from './channel-track.js'
import { temperatureOf } from './preheat-specs.js'
import type { Collector, LiveContext } from './slot.js'

/** One heating up of a zone, as 10 s means. Plain JSON. */
export interface StartUpState {
  phase: 'waiting' | 'heating' | 'done'
  startMs: number
  startC: number
  sums: number
  n: number
  binMs: number
  /** Means of 10 s bins from `startMs` on; bins without readings lie on the line between those that have some. */
  bins: number[]
  /** Temperatures between which it is timed, °C, from the first heating up on; 0 before it. */
  fromC: number
  toC: number
  /** The newest time of the usual band, and when it was taken; absent before there is one, and once somebody has worked on the line. */
  lastS?: number
  lastMs?: number
  /** Bands of starts to lower temperatures, and how many times as long the usual band takes. */
  lower?: { readonly fromC: number; readonly toC: number; readonly scale: number }[]
}

const BIN_MS = 10_000
const BINS_MAX = 1080
/** What happened in a longer gap between two readings is not known. [ASM] */
const GAP_BINS_MAX = 18
/** Bins kept from before the warm-up was noticed: a quarter of an hour. */
const BEFORE_BINS = 90
/** Settled: ten minutes within 3 °C, and clearly warmer than at the start. */
const SETTLED_BINS = 60
const SETTLED_RANGE_C = 3
const RISE_C_MIN = 30
/** The set-point is reached at 3 °C below it (warm-up to 147 of 150 °C in the worked cases [SIM, B2]). */
const NEAR_C = 3
const ROOM_C = 25
/**
 * Timed from a third to half of the way up of the first start: above what is left of a warm night, and below where most controllers
 * take power off. [ASM] There the heater gives all it has, so the time tells its strength, and the same two temperatures serve for every
 * later start that goes as high. One that winds its integral back within a minute throttles earlier: its time goes with the set-point.
 */
const TIMED_FROM = 0.33
const TIMED_TO = 0.5
/** Where the band does not lie this far below the end of a start to a lower temperature, that start is timed over a lower band. [ASM] */
const FULL_POWER_SHARE = 0.6
/** A lower band serves starts whose own would end as near as this, °C. */
const SAME_BAND_C = 4
/** A time from longer ago tells nothing of what the heater gives now: a long weekend. [ASM] */
const LAST_MS_MAX = 4 * 86_400_000
/** A zone that starts warmer than this share of the way up is no start-up to compare with. */
const START_SHARE_MAX = 0.3

export function createStartUpState(): StartUpState {
  return { phase: 'waiting', startMs: 0, startC: 0, sums: 0, n: 0, binMs: 0, bins: [], fromC: 0, toC: 0 }
}

/** Heating-up time and overshoot of one zone, once per warm-up. */
export function createZoneStartUp(zone: number, setpoint: TrackState | undefined, live: LiveContext, state: StartUpState): Collector {
  return {
    channels: [temperatureOf(zone)],
    take(_index, timeMs, value, give) {
      if (live.state === 'off' || live.state === 'maintenance') state.phase = 'waiting'
      if (live.state === 'maintenance') delete state.lastS
      if (state.phase === 'done') {
        if (live.state !== 'warm-up') state.phase = 'waiting'
        return
      }
      if (state.phase === 'waiting') {
        keepLast(state, timeMs, value)
        if (live.state === 'warm-up') begin(state)
        return
      }
      const gap = addToBin(state, timeMs, value)
      if (state.bins.length >= BINS_MAX || gap > GAP_BINS_MAX) state.phase = 'done'
      else if (isSettled(state)) {
        state.phase = 'done'
        const result = timeHeating(state, timeMs, setpoint !== undefined && setpoint.lastMs > 0 ? setpoint.last : undefined)
        if (result === undefined) return
        give(`preheat.zone-${zone}.warm-up-time`, timeMs, result.timeS, 1)
        if (result.overshootC !== undefined) give(`preheat.zone-${zone}.warm-up-overshoot`, timeMs, result.overshootC, 1)
      }
    },
    endSlot() {
      // a heating up has its own length
    },
  }
}

/**
 * The line is known to heat up minutes after it began, and a light zone is half way up by then: the readings of the last
 * quarter of an hour are kept while it is waited for.
 */
function keepLast(state: StartUpState, timeMs: number, value: number): void {
  if (state.binMs === 0 || timeMs < state.binMs || timeMs - state.binMs > BEFORE_BINS * BIN_MS) {
    state.binMs = timeMs
    state.sums = value
    state.n = 1
    state.bins = []
    return
  }
  addToBin(state, timeMs, value)
  if (state.bins.length > 2 * BEFORE_BINS) state.bins.splice(0, state.bins.length - BEFORE_BINS)
}

function begin(state: StartUpState): void {
  state.phase = 'heating'
  if (state.bins.length > BEFORE_BINS) state.bins.splice(0, state.bins.length - BEFORE_BINS)
  state.startC = state.bins.reduce((lowest, value) => Math.min(lowest, value), state.sums / state.n)
  state.startMs = state.binMs - state.bins.length * BIN_MS
}

/** @returns bins that the reading ended */
function addToBin(state: StartUpState, timeMs: number, value: number): number {
  const steps = Math.min(Math.floor((timeMs - state.binMs) / BIN_MS), BINS_MAX - state.bins.length)
  if (steps > 0) {
    // Readings once a minute leave bins empty: a heating zone went steadily from one to the next, not in a stair.
    const last = state.n > 0 ? state.sums / state.n : (state.bins.at(-1) ?? value)
    for (let step = 0; step < steps; step += 1) state.bins.push(last + ((value - last) * step) / steps)
    state.sums = 0
    state.n = 0
    state.binMs += steps * BIN_MS
  }
  state.sums += value
  state.n += 1
  return steps
}

function isSettled(state: StartUpState): boolean {
  const { bins } = state
  if (bins.length < SETTLED_BINS || state.n !== 1) return false
  let lower = bins.at(-1) ?? 0
  if (lower < state.startC + RISE_C_MIN) return false
  let upper = lower
  for (let at = bins.length - SETTLED_BINS; at < bins.length; at += 1) {
    const value = bins[at] ?? 0
    if (value < lower) lower = value
    if (value > upper) upper = value
    if (upper - lower > SETTLED_RANGE_C) return false
  }
  return true
}

/**
 * Time between the two temperatures of the band, and the highest 10 s mean above the end; that one is left out where the
 * zone does not come to its set-point.
 *
 * @returns undefined for a start from a warm zone, to a temperature that no band suits, or the first one to a lower temperature
 */
function timeHeating(state: StartUpState, timeMs: number, setpoint: number | undefined): { readonly timeS: number; readonly overshootC?: number } | undefined {
  const { bins } = state
  const settled = bins.slice(-SETTLED_BINS).reduce((sum, value) => sum + value, 0) / SETTLED_BINS
  if (setpoint !== undefined && settled - setpoint > NEAR_C) return undefined
  const endC = setpoint ?? settled
  if (endC - ROOM_C < RISE_C_MIN || state.startC > shareOfWay(endC, START_SHARE_MAX)) return undefined
  if (state.toC === 0) {
    state.fromC = shareOfWay(endC, TIMED_FROM)
    state.toC = shareOfWay(endC, TIMED_TO)
  }
  const timeS = timeUpTo(state, timeMs, endC)
  if (timeS === undefined) return undefined
  return setpoint !== undefined && setpoint - settled > NEAR_C ? { timeS } : { timeS, overshootC: Math.max(...bins) - endC }
}

/**
 * Time for the usual band. A controller may take power off before a lower end, so how long a lower band takes beside the usual one is
 * learned: from its first start and the newest one of the usual band, which may be as slow by a fault as it is.
 */
function timeUpTo(state: StartUpState, timeMs: number, endC: number): number | undefined {
  if (state.toC <= shareOfWay(endC, FULL_POWER_SHARE)) {
    const timeS = timeBetween(state, state.fromC, state.toC)
    if (timeS !== undefined) Object.assign(state, { lastS: timeS, lastMs: timeMs })
    return timeS
  }
  const own = { fromC: shareOfWay(endC, TIMED_FROM), toC: shareOfWay(endC, TIMED_TO) }
  const known = state.lower?.find(({ toC }) => Math.abs(toC - own.toC) <= SAME_BAND_C)
  const timeS = timeBetween(state, (known ?? own).fromC, (known ?? own).toC)
  if (timeS === undefined) return undefined
  if (known !== undefined) return timeS * known.scale
  const { lastS, lastMs = 0 } = state
  if (lastS !== undefined && timeMs - lastMs <= LAST_MS_MAX) (state.lower ??= []).push({ ...own, scale: lastS / timeS })
  return undefined
}

function shareOfWay(endC: number, share: number): number {
  return ROOM_C + share * (endC - ROOM_C)
}

/** Time between two temperatures, s; undefined where the zone starts above the first, does not come to the second, or the reading stood still between. */
function timeBetween({ bins, startC }: StartUpState, fromC: number, toC: number): number | undefined {
  if (startC >= fromC) return undefined
  const from = crossing(bins, fromC)
  const to = crossing(bins, toC)
  if (from === undefined || to === undefined || to <= from || stoodStill(bins.slice(Math.floor(from), Math.ceil(to)))) return undefined
  return ((to - from) * BIN_MS) / 1000
}

/** A zone that heats up does not stay at one and the same reading for 40 s and a quarter of the way: the reading did. [ASM] */
const STILL_BINS = 4
const STILL_SHARE = 0.25

function stoodStill(bins: readonly number[]): boolean {
  let longest = 0
  let run = 1
  bins.forEach((value, at) => {
    run = at > 0 && value === bins[at - 1] ? run + 1 : 1
    longest = Math.max(longest, run)
  })
  return longest >= STILL_BINS && longest >= STILL_SHARE * bins.length
}

/** Place at which the bins first reach a level, between bins; undefined where they start above it or never do. */
function crossing(bins: readonly number[], level: number): number | undefined {
  const at = bins.findIndex((value) => value >= level)
  if (at < 1) return undefined
  const before = bins[at - 1] ?? 0
  return at - 1 + (level - before) / ((bins[at] ?? 0) - before)
}
