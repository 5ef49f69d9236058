import { emptySeries, minuteWindow, type MinuteSeries } from './minute-series.js'

interface LevelStep {
  minute: number
  baseMm: number
  sizeMm: number
}

/**
 * Whether the wave pump runs, read from the pot level where no channel tells: the bath stands 1-3 mm [ASM] higher while the
 * pump rests. A fall at once can only be the pump starting; a rise may also be bars that were added, so rises are first
 * only watched, and count once this line has shown often enough that a fall of the same size follows. Plain JSON.
 */
export interface PumpByLevel {
  series: MinuteSeries
  condition: 'unknown' | 'on' | 'off'
  /** Minute since which the condition holds. */
  sinceMinute: number
  /** sd of the minute means, mm. */
  sdMm: number
  /** Sizes of the last falls, mm. */
  dropsMm: number[]
  /** A step being measured: its first minute, the level before it, the largest size so far, signed; minute 0 if there is none. */
  step: LevelStep
  /** A rise of the pump's size that waits for its fall; minute 0 if there is none. */
  rise: LevelStep
  /** No new step is looked for before this minute: the windows still hold the last one. */
  blindUntil: number
  /** Rises that were followed by their fall, and that were not. */
  confirmedCount: number
  mistakenCount: number
  /** Warm-ups that ended with the pump at rest until a fall, and that did not; the present one's minute, 0 if it is settled. */
  startsWithFall: number
  startsWithout: number
  startMinute: number
}

const STEP_MM_MIN = 0.7
const STEP_SIGMAS = 4
/** Mean of 3 minutes against the mean of 5: sd of the difference, in sd of a minute. */
const STEP_SD_FACTOR = Math.sqrt(1 / 3 + 1 / 5)
const MEASURE_MINUTES = 3
/** Minutes both windows reach back. */
const WINDOW_MINUTES = 8
const DROPS_KEPT = 9
const DROPS_MIN = 2
/** A rise that lasts longer is taken for bars. Breaks are shorter (common practice, no source). */
const REST_MINUTES_MAX = 40
const START_MINUTES_MAX = 90
const CONFIRMED_MIN = 3
/** A mistake costs 40 minutes of production, a confirmed rest finds some 15 of idleness. */
const CONFIRMED_PER_MISTAKE = 5
const STARTS_MIN = 2
const SILENT_MS = 600_000
const SD_WEIGHT = 1 / 60

export function emptyPumpByLevel(): PumpByLevel {
  return {
    series: emptySeries(), condition: 'unknown', sinceMinute: 0, sdMm: 0.3, dropsMm: [], step: { minute: 0, baseMm: 0, sizeMm: 0 }, rise: { minute: 0, baseMm: 0, sizeMm: 0 }, blindUntil: 0,
    confirmedCount: 0, mistakenCount: 0, startsWithFall: 0, startsWithout: 0, startMinute: 0,
  }
}

/** The zones have come to their levels after a warm-up: the pump still rests, if it did so on other days. */
export function noteStart(pump: PumpByLevel, minute: number): void {
  pump.startMinute = minute
  pump.step.minute = 0
  pump.rise.minute = 0
  pump.blindUntil = 0
  const restsAtStart = pump.startsWithFall >= STARTS_MIN && pump.startsWithFall >= 3 * pump.startsWithout
  become(pump, restsAtStart ? 'off' : 'unknown', minute)
}

/** The line is cold or heating up: the level tells nothing of the pump. */
export function notePumpUnseen(pump: PumpByLevel): void {
  pump.condition = 'unknown'
  pump.startMinute = 0
  pump.step.minute = 0
  pump.rise.minute = 0
}

/** Judges the minute that has just been closed on a hot line. */
export function judgePump(pump: PumpByLevel, minute: number): void {
  const newest = pump.series.minutes.at(-1)
  if (newest !== minute) {
    if ((minute + 1) * 60_000 - pump.series.lastMs > SILENT_MS) notePumpUnseen(pump)
    return
  }
  learnScatter(pump)
  expire(pump, minute)
  const before = minuteWindow(pump.series, minute - 8, minute - 4)
  const now = minuteWindow(pump.series, minute - 2, minute)
  if (before.kind === 'empty' || now.kind === 'empty' || before.minuteCount < 3 || now.minuteCount < 2) return
  if (hasFallenBack(pump, minute)) {
    takeFall(pump, minute)
    pump.step.minute = 0
    pump.blindUntil = minute + WINDOW_MINUTES
    return
  }
  const changeMm = now.mean - before.mean
  const { step } = pump
  if (step.minute > 0) {
    if (changeMm * step.sizeMm > 0 && Math.abs(changeMm) > Math.abs(step.sizeMm)) step.sizeMm = changeMm
    if (minute - step.minute < MEASURE_MINUTES) return
    measured(pump, minute)
    step.minute = 0
    pump.blindUntil = minute + WINDOW_MINUTES - MEASURE_MINUTES
    return
  }
  if (minute < pump.blindUntil || Math.abs(changeMm) < Math.max(STEP_MM_MIN, STEP_SIGMAS * STEP_SD_FACTOR * pump.sdMm)) return
  pump.step = { minute, baseMm: before.mean, sizeMm: changeMm }
  if (changeMm < 0) takeFall(pump, minute)
}

/** A rise that is gone again: the pump rested for a short while only. */
function hasFallenBack(pump: PumpByLevel, minute: number): boolean {
  const rise = pump.rise.minute > 0 ? pump.rise : pump.step
  if (rise.minute === 0 || rise.sizeMm <= 0) return false
  const last = minuteWindow(pump.series, minute - 1, minute)
  return last.kind === 'window' && last.mean - rise.baseMm < 0.35 * rise.sizeMm
}

/** A fall: the pump has started, whatever was thought before. */
function takeFall(pump: PumpByLevel, minute: number): void {
  if (pump.startMinute > 0) {
    pump.startsWithFall += 1
    pump.startMinute = 0
  }
  if (pump.rise.minute > 0) {
    pump.confirmedCount += 1
    pump.rise.minute = 0
  }
  become(pump, 'on', minute)
}

/** The size of a step is known: falls are learned from, a rise is compared with them. */
function measured(pump: PumpByLevel, minute: number): void {
  const { sizeMm } = pump.step
  if (sizeMm < 0) {
    pump.dropsMm.push(-sizeMm)
    if (pump.dropsMm.length > DROPS_KEPT) pump.dropsMm.shift()
    return
  }
  if (pump.dropsMm.length < DROPS_MIN || pump.condition === 'off') return
  const dropMm = medianOf(pump.dropsMm)
  if (Math.abs(sizeMm - dropMm) > Math.max(0.5, 0.25 * dropMm)) return
  pump.rise = { ...pump.step, minute }
  const trusted = pump.confirmedCount >= CONFIRMED_MIN && pump.confirmedCount >= CONFIRMED_PER_MISTAKE * pump.mistakenCount
  if (trusted) become(pump, 'off', minute)
}

/** What waited too long for its fall was something else: bars, or a line that starts with the pump running. */
function expire(pump: PumpByLevel, minute: number): void {
  if (pump.rise.minute > 0 && minute - pump.rise.minute > REST_MINUTES_MAX) {
    pump.rise.minute = 0
    pump.mistakenCount += 1
    if (pump.condition === 'off') become(pump, 'unknown', minute)
  }
  if (pump.startMinute > 0 && minute - pump.startMinute > START_MINUTES_MAX) {
    pump.startMinute = 0
    pump.startsWithout += 1
    if (pump.condition === 'off' && pump.rise.minute === 0) become(pump, 'unknown', minute)
  }
}

function become(pump: PumpByLevel, condition: PumpByLevel['condition'], minute: number): void {
  if (pump.condition === condition) return
  pump.condition = condition
  pump.sinceMinute = minute
}

function learnScatter(pump: PumpByLevel): void {
  const [before, now] = pump.series.means.slice(-2)
  if (before === undefined || now === undefined) return
  const change = Math.min(Math.abs(now - before), Math.max(0.5, 3 * pump.sdMm))
  pump.sdMm = Math.max(0.05, Math.sqrt(pump.sdMm ** 2 * (1 - SD_WEIGHT) + (change ** 2 / 2) * SD_WEIGHT))
}

function medianOf(values: readonly number[]): number {
  const sorted = [...values].sort((one, other) => one - other)
  return sorted[Math.floor(sorted.length / 2)] as number
}
