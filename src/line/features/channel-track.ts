import type { LineStateName } from '../feature-value.js'
import { SLOT_S } from './feature-spec.js'

/** What is known of the quality of one channel's readings. Plain JSON. */
export interface TrackState {
  /** 0 before the first reading. */
  lastMs: number
  last: number
  /** Running median of the time between readings, s. */
  periodS: number
  /** Last change of the value, ms UTC; 0 before any. */
  changedMs: number
  /** Value before that change. */
  before: number
  /** Since when that value stood, ms UTC. */
  beforeSinceMs: number
  /** Readings in a row with the same value. */
  run: number
  /** Repeats after a repeat, and occasions for one, learned while producing. */
  repeats: number
  occasions: number
  /** Repeats of any kind, and all increments, learned while producing. */
  equals: number
  increments: number
  frozen: boolean
  /** Of the open slot. */
  n: number
  sum: number
  frozenInSlot: boolean
  /** Of the stretch under judgement. */
  steps: number
  sameSteps: number
  smallSteps: number
  meanStep: number
  smallestStep: number
  verdict: ChannelVerdict
  /** Smallest step the channel makes; 0 while unknown or too fine to matter. */
  resolution: number
}

/** Whether the variance of a channel means anything. */
export type ChannelVerdict = 'learning' | 'good' | 'quantised' | 'dead-banded'

/** What repeats of a channel mean. */
export interface ChannelScale {
  /** Upper end of the scale, where repeats say nothing. */
  readonly rail: number
  /** A measured value that moves: set-points, counters, valves and a site's own channels may stand still by right. */
  readonly isJudged: boolean
}

/** Increments after which the channel is judged. */
const STEPS_JUDGED = 300
/** Above this share of equal neighbours the rounding, not the signal, makes the variance; below the lower one again not. */
const SAME_SHARE_MAX = 0.75
const SAME_SHARE_BACK = 0.6
/** A dead-band leaves no small increments: Gaussian ones fall below a quarter of their mean size in 16 % of cases. */
const SMALL_STEP = 0.25
const SMALL_SHARE_MIN = 0.02
/** Frozen: a run this improbable comes once in 40 weeks of 1 s readings (methods: longest run of equal values). */
const FROZEN_PROBABILITY_LN = Math.log(1e-7)
/** A sensor code holds more than 20 equal readings [CP, A2]. */
const FROZEN_RUN_MIN = 20
const FROZEN_RUN_MAX = 5000
/** Before any is learned 19 of 20 readings are taken to repeat. */
const EQUAL_PRIOR = { equals: 19, increments: 20 }
const REPEAT_PRIOR_WEIGHT = 20
const INCREMENTS_MAX = 20_000
/** Part of a slot that must hold readings. */
export const COVERAGE_MIN = 0.6

export function createTrack(periodS: number): TrackState {
  return {
    lastMs: 0, last: 0, periodS, changedMs: 0, before: 0, beforeSinceMs: 0, run: 0, repeats: 0, occasions: 0, equals: 0, increments: 0, frozen: false,
    n: 0, sum: 0, frozenInSlot: false, steps: 0, sameSteps: 0, smallSteps: 0, meanStep: 0, smallestStep: 0, verdict: 'learning', resolution: 0,
  }
}

/**
 * Notes a reading: period, repeats, increments. Nothing is learned but while producing, and exact zeros (and full
 * duty) are never held against a channel: they are what "off" looks like.
 */
export function noteReading(track: TrackState, timeMs: number, value: number, state: LineStateName, scale: ChannelScale): void {
  track.n += 1
  track.sum += value
  const first = track.lastMs === 0
  if (!first) notePeriod(track, (timeMs - track.lastMs) / 1000)
  track.lastMs = timeMs
  if (first) {
    track.last = value
    track.beforeSinceMs = timeMs
    return
  }
  const step = Math.abs(value - track.last)
  const same = step <= 1e-9 * (Math.abs(value) + 1)
  const atRail = value === 0 || value === scale.rail
  if (scale.isJudged && state === 'production' && !(same && atRail)) noteStep(track, step, same)
  if (same) {
    track.run = atRail ? 0 : track.run + 1
    // a channel that has never moved may be one that never does
    if (scale.isJudged && !track.frozen && track.changedMs > 0 && state === 'production' && track.run >= frozenRun(track)) track.frozen = true
  } else {
    track.before = track.last
    track.beforeSinceMs = track.changedMs === 0 ? track.beforeSinceMs : track.changedMs
    track.changedMs = timeMs
    track.run = 0
    track.frozen = false
  }
  if (track.frozen) track.frozenInSlot = true
  track.last = value
}

/** Running median: a step of 2 % towards every reading's interval that is off by more than 5 %. */
function notePeriod(track: TrackState, intervalS: number): void {
  if (intervalS <= 0) return
  if (intervalS > track.periodS * 1.05) track.periodS *= 1.02
  else if (intervalS < track.periodS / 1.05) track.periodS /= 1.02
}

function noteStep(track: TrackState, step: number, same: boolean): void {
  if (track.frozen) return
  if (!same) noteRunEnd(track)
  track.steps += 1
  if (same) track.sameSteps += 1
  else if (track.smallestStep === 0 || step < track.smallestStep) track.smallestStep = step
  track.meanStep += (step - track.meanStep) / Math.min(track.steps, 100)
  if (same || step < SMALL_STEP * track.meanStep) track.smallSteps += 1
  if (track.steps >= STEPS_JUDGED) judge(track)
}

/** A run teaches when it has ended: one that never ends must not make itself look usual. */
function noteRunEnd(track: TrackState): void {
  track.increments += track.run + 1
  track.equals += track.run
  if (track.run > 0) {
    track.occasions += track.run
    track.repeats += track.run - 1
  }
  if (track.increments <= INCREMENTS_MAX) return
  // older experience fades
  track.increments /= 2
  track.equals /= 2
  track.occasions /= 2
  track.repeats /= 2
}

function judge(track: TrackState): void {
  const sameShare = track.sameSteps / track.steps
  const deadBanded = track.smallSteps / track.steps < SMALL_SHARE_MIN
  const coarser = track.resolution > 0 && track.smallestStep > 5 * track.resolution
  if (deadBanded) track.verdict = 'dead-banded'
  // A sensor that a coating makes slow also repeats more often: a channel once found good is not called quantised later.
  else if (track.verdict === 'good' && !coarser) track.verdict = 'good'
  else track.verdict = sameShare > (track.verdict === 'quantised' ? SAME_SHARE_BACK : SAME_SHARE_MAX) ? 'quantised' : 'good'
  if (track.smallestStep > 0) track.resolution = track.smallestStep
  track.steps = 0
  track.sameSteps = 0
  track.smallSteps = 0
  track.smallestStep = 0
}

/**
 * Equal readings in a row that make a channel frozen: improbable by its own probability of one repeat after another.
 * Where few repeats have been seen that probability is taken as the root of the one of any repeat: repeats come in runs.
 */
export function frozenRun(track: TrackState): number {
  const equal = (track.equals + EQUAL_PRIOR.equals) / (track.increments + EQUAL_PRIOR.increments)
  const repeat = (track.repeats + REPEAT_PRIOR_WEIGHT * Math.sqrt(equal)) / (track.occasions + REPEAT_PRIOR_WEIGHT)
  return Math.min(FROZEN_RUN_MAX, Math.max(FROZEN_RUN_MIN, 1 + Math.ceil(FROZEN_PROBABILITY_LN / Math.log(repeat))))
}

/** Share of the slot that held readings, 0-1. */
export function slotWeight(track: TrackState): number {
  return Math.min(1, (track.n * track.periodS) / SLOT_S)
}

/** Enough readings, none of them frozen. */
export function isSlotUsable(track: TrackState): boolean {
  return track.n > 0 && !track.frozenInSlot && slotWeight(track) >= COVERAGE_MIN
}

/** The variance of the channel means something. */
export function showsVariance(track: TrackState): boolean {
  return track.verdict === 'good'
}

/** The variance of minute means does: rounding hides what is faster, not what swings by more than a step. */
export function showsSlowVariance(track: TrackState): boolean {
  return track.verdict === 'good' || (track.verdict === 'quantised' && track.resolution > 0)
}

export function slotMean(track: TrackState): number {
  return track.sum / track.n
}

export function startSlot(track: TrackState): void {
  track.n = 0
  track.sum = 0
  track.frozenInSlot = track.frozen
}
