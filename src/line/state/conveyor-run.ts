import { addToMinute, closeMinute, emptySeries, type MinuteSeries } from './minute-series.js'

/** Whether the conveyor runs, and at which level: plain JSON. */
export interface ConveyorRun {
  /** Minutes in which it ran. */
  series: MinuteSeries
  lowInMinute: number
  /** The chain stopped or started in the open minute. */
  turnedInMinute: boolean
  stopped: boolean
  /** Readings in a row that speak against the present condition, and the time of the first. */
  contraryCount: number
  contrarySinceMs: number
  /** sd of the minute means, share of the level. */
  levelSdShare: number
}

/** A dip of seconds is no stop: the chain must stand this long, in at least so many readings. Common practice, no source. */
const STOP_MS_MIN = 45_000
const STOP_COUNT_MIN = 3
const RESUME_MS_MIN = 15_000
const RESUME_COUNT_MIN = 2

/** Below this share of the running speed the chain stands. */
const LOW_SHARE = 0.2
const LOW_MM_S_MIN = 0.5
/** Reference until a running speed is known: the slowest usual line runs at 13 mm/s [CP]. */
const SPEED_MM_S_UNKNOWN = 10

/** A change of recipe is larger than what wear and load do to the mean speed (3 % droop [ASM]). */
const STEP_SHARE_MIN = 0.04
/** Not divided by the window's length: a patch on the chain comes round every loop, so minutes are not independent. */
const STEP_SIGMAS = 3
const SD_SHARE_START = 0.01
const SD_SHARE_MIN = 0.003
const SD_WEIGHT = 1 / 60

/** What the last minutes say of the speed level. */
export type SpeedVerdict =
  | { readonly kind: 'same' }
  /** A new level, taken up within minutes. */
  | { readonly kind: 'step'; readonly levelMmS: number }
  /** Another level that was reached slowly: wear or load, no recipe. */
  | { readonly kind: 'drift'; readonly levelMmS: number }

export function emptyConveyorRun(): ConveyorRun {
  return { series: emptySeries(), lowInMinute: 0, turnedInMinute: false, stopped: false, contraryCount: 0, contrarySinceMs: 0, levelSdShare: SD_SHARE_START }
}

/** Takes a speed reading; true if the conveyor has just stopped or started. */
export function takeSpeed(run: ConveyorRun, timeMs: number, speedMmS: number, levelMmS: number): boolean {
  const low = speedMmS < Math.max(LOW_MM_S_MIN, LOW_SHARE * (levelMmS > 0 ? levelMmS : SPEED_MM_S_UNKNOWN))
  addToMinute(run.series, timeMs, speedMmS)
  if (low) run.lowInMinute += 1
  if (low === run.stopped) {
    run.contraryCount = 0
    return false
  }
  if (run.contraryCount === 0) run.contrarySinceMs = timeMs
  run.contraryCount += 1
  const forMs = timeMs - run.contrarySinceMs
  const turns = low ? run.contraryCount >= STOP_COUNT_MIN && forMs >= STOP_MS_MIN : run.contraryCount >= RESUME_COUNT_MIN && forMs >= RESUME_MS_MIN
  if (!turns) return false
  run.stopped = low
  run.turnedInMinute = true
  run.contraryCount = 0
  return true
}

/** Closes a minute; one in which the chain stood, stopped or started says nothing of the running speed. */
export function closeSpeedMinute(run: ConveyorRun, minute: number): void {
  const stood = run.stopped || run.turnedInMinute || run.contraryCount >= 2 || run.lowInMinute * 2 > run.series.count
  run.lowInMinute = 0
  run.turnedInMinute = false
  if (stood) {
    run.series.sum = 0
    run.series.count = 0
  }
  closeMinute(run.series, minute)
}

/** Mean of the newest running minutes; 0 before there are `minutesMin`. */
export function runningLevel(run: ConveyorRun, sinceMinute: number, minutesMin: number): number {
  const { minutes, means } = run.series
  let sum = 0
  let count = 0
  for (let index = means.length - 1; index >= 0 && count < 5 && (minutes[index] as number) >= sinceMinute; index--) {
    sum += means[index] as number
    count += 1
  }
  return count >= minutesMin ? sum / count : 0
}

/** Learns how much the minute means scatter, from one minute to the next: a change of level then counts once, and bounded. */
export function learnSpeedScatter(run: ConveyorRun, levelMmS: number): void {
  const [before, mean] = run.series.means.slice(-2)
  if (before === undefined || mean === undefined || levelMmS <= 0) return
  const share = Math.min(Math.abs(mean - before) / levelMmS, Math.max(0.02, 4 * run.levelSdShare))
  // The mean square of successive differences is twice the variance.
  const variance = run.levelSdShare ** 2 * (1 - SD_WEIGHT) + (share ** 2 / 2) * SD_WEIGHT
  run.levelSdShare = Math.max(SD_SHARE_MIN, Math.sqrt(variance))
}

/** sd of the minute means, share of the level: what was learned, or what the last minutes show if that is more. */
export function speedScatterShare(run: ConveyorRun, levelMmS: number): number {
  const last = run.series.means.slice(-11)
  if (last.length < 6 || levelMmS <= 0) return run.levelSdShare
  const changes = last.slice(1).map((mean, index) => Math.abs(mean - (last[index] as number))).sort((one, other) => one - other)
  // The median of |differences| of a normal spread is 0.95 of its sd; a single step does not move it.
  return Math.max(run.levelSdShare, (1.05 * (changes[Math.floor(changes.length / 2)] as number)) / levelMmS)
}

/** Windows and the largest scatter in which each is believed: a jerky chain needs many minutes to show a level. */
const WINDOWS: readonly { readonly length: number; readonly scatterMax: number }[] = [
  { length: 3, scatterMax: 0.012 },
  { length: 10, scatterMax: 0.05 },
  { length: 30, scatterMax: 0.15 },
]

/**
 * Judges the newest running minutes against the level of the recipe. Longer windows see smaller steps in a jerky speed;
 * the minutes before the window tell a step from a drift.
 */
export function judgeSpeed(run: ConveyorRun, levelMmS: number, nowMinute: number): SpeedVerdict {
  const { minutes, means } = run.series
  if (levelMmS <= 0 || minutes.at(-1) !== nowMinute) return { kind: 'same' }
  const sd = speedScatterShare(run, levelMmS)
  for (const { length, scatterMax } of WINDOWS) {
    if (means.length < length) break
    if (sd > scatterMax) continue
    const window = means.slice(-length)
    const share = meanOf(window) / levelMmS - 1
    if (Math.abs(share) <= Math.max(STEP_SHARE_MIN, STEP_SIGMAS * sd)) continue
    const half = Math.ceil(length / 2)
    const apart = Math.abs(meanOf(window.slice(0, half)) - meanOf(window.slice(-half))) / levelMmS
    if (apart > Math.max(0.02, 3 * sd * Math.sqrt(2 / half))) continue
    const before = means.slice(-length - 8, -length - 3)
    const wasAtLevel = before.length === 0 || Math.abs(meanOf(before) / levelMmS - 1) < Math.abs(share) / 2
    // The first minutes of the window may still hold some of the old level.
    return { kind: wasAtLevel ? 'step' : 'drift', levelMmS: meanOf(window.slice(-half)) }
  }
  return { kind: 'same' }
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length
}
