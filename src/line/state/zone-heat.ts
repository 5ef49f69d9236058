import { emptySeries, minuteChange, minuteWindow, type MinuteSeries } from './minute-series.js'
import { levelScale } from './recipe-book.js'

/** What is known of one preheat zone, or of the pot: plain JSON. */
export interface HeatTrack {
  series: MinuteSeries
  /** 0 before a set-point is known. */
  setpointC: number
  /** sd of the minute means around the level. */
  levelSdC: number
  /** Minutes in a row off the level, and the first of them. */
  departedCount: number
  departedMinute: number
  /** Minute in which the reading jumped as no heater can, 0 if it did not. */
  jumpedMinute: number
}

/** What all zones together do; numbers are counts of zones that can be believed. */
export interface HeatPicture {
  readonly believed: readonly HeatTrack[]
  readonly cold: boolean
  readonly rising: boolean
  /** Falling, and below what they should hold. */
  readonly falling: boolean
  /** Falling, and far below. */
  readonly lost: boolean
  readonly farBelow: boolean
  /** None rises or falls at a warm-up's pace any more. */
  readonly flat: boolean
}

/** Below this a zone does not preheat: the lowest set-points in use are 80-90 °C (common practice, no source). */
const COLD_C = 60
const COLD_BELOW_SETPOINT_C = 25
/** A zone with its heater off loses 5-8 °C/min at first [SIM], one that heats up gains more. */
const RISING_C_PER_3_MIN = 2
const FALLING_C_PER_3_MIN = -4
const BELOW_C = 6
const LOST_C = 30
const FAR_BELOW_C = 25
const FLAT_C_PER_2_MIN = 2
/** No zone moves so far in a minute by its own mass: 8-20 °C/min at full power [SIM]. */
const JUMP_C = 40
const FROZEN_MS = 300_000
const SILENT_MS = 180_000
const SD_START_C = 0.8
const SD_WEIGHT = 1 / 60
const SD_MAX_C = 4
/** Draughts move minute means by up to 4.5 °C, an uncovered slow loop by 5 °C [SIM]: a set-point change goes further. */
const DEPARTED_C = 6
const DEPARTED_SIGMAS = 4.5

export function emptyHeatTrack(): HeatTrack {
  return { series: emptySeries(), setpointC: 0, levelSdC: SD_START_C, departedCount: 0, departedMinute: 0, jumpedMinute: 0 }
}

/** Zones that can be believed: they speak, are not frozen while others move, and have not jumped as no heater can. */
export function believedZones(zones: readonly HeatTrack[], minute: number): readonly HeatTrack[] {
  const endMs = (minute + 1) * 60_000
  const speaking = zones.filter(({ series }) => series.lastMs > 0 && endMs - series.lastMs <= SILENT_MS && series.minutes.length > 0)
  const believed = speaking.filter((zone) => zone.jumpedMinute === 0 && !isFrozen(zone, speaking, endMs))
  return believed
}

function isFrozen(zone: HeatTrack, speaking: readonly HeatTrack[], endMs: number): boolean {
  if (endMs - zone.series.unchangedSinceMs < FROZEN_MS) return false
  const since = Math.floor(zone.series.unchangedSinceMs / 60_000)
  const until = Math.floor(endMs / 60_000) - 1
  return speaking.some((other) => other !== zone && other.series.unchangedSinceMs > zone.series.unchangedSinceMs && Math.abs(minuteChange(other.series, [since, since + 1], [until, until])) > BELOW_C)
}

/**
 * Marks zones whose reading jumped as no heater can, or came back from silence far off its level, and takes the mark away
 * when the reading is plausible again. What most zones do together is no broken sensor.
 */
export function watchJumps(zones: readonly HeatTrack[], minute: number, levelOf: (zone: HeatTrack) => number): void {
  for (const zone of zones) {
    const levelC = levelOf(zone)
    if (zone.jumpedMinute > 0) {
      if (levelC > 0 && Math.abs(newestC(zone) - levelC) < (JUMP_C / 2) * levelScale(levelC)) zone.jumpedMinute = 0
    } else if (hasJumped(zone, minute, levelC)) zone.jumpedMinute = minute
  }
  const jumped = zones.filter((zone) => zone.jumpedMinute === minute)
  if (jumped.length * 2 > zones.length) for (const zone of jumped) zone.jumpedMinute = 0
}

function hasJumped(zone: HeatTrack, minute: number, levelC: number): boolean {
  const { minutes, means } = zone.series
  if (minutes.at(-1) !== minute) return false
  const now = newestC(zone)
  const before = minutes.at(-2) === minute - 1 ? means.at(-2) : levelC > 0 ? levelC : undefined
  return before !== undefined && Math.abs(now - before) > JUMP_C * levelScale(Math.max(now, before))
}

/** What the believed zones do together in the minute that has just closed. `levelOf` is what a zone should hold, 0 if unknown. */
export function heatPicture(zones: readonly HeatTrack[], minute: number, levelOf: (zone: HeatTrack) => number): HeatPicture {
  const believed = believedZones(zones, minute)
  const need = Math.ceil(0.6 * believed.length)
  const most = (claim: (zone: HeatTrack) => boolean): boolean => believed.length > 0 && believed.filter(claim).length >= need
  const change = ({ series }: HeatTrack): number => minuteChange(series, [minute - 4, minute - 3], [minute - 1, minute])
  const below = (zone: HeatTrack): number => (levelOf(zone) === 0 ? newestC(zone) - highestC(zone) : newestC(zone) - levelOf(zone))
  const falls = (zone: HeatTrack): boolean => change(zone) <= FALLING_C_PER_3_MIN
  return {
    believed,
    cold: most((zone) => newestC(zone) < (zone.setpointC > COLD_C ? Math.min(COLD_C, zone.setpointC - COLD_BELOW_SETPOINT_C) : COLD_C)),
    rising: most((zone) => change(zone) >= RISING_C_PER_3_MIN),
    falling: most((zone) => falls(zone) && below(zone) < -BELOW_C),
    lost: most((zone) => falls(zone) && below(zone) < -LOST_C * levelScale(levelOf(zone))),
    farBelow: most((zone) => levelOf(zone) > 0 && below(zone) < -FAR_BELOW_C * levelScale(levelOf(zone))),
    flat: believed.every((zone) => Math.abs(minuteChange(zone.series, [minute - 3, minute - 2], [minute - 1, minute])) <= FLAT_C_PER_2_MIN * levelScale(newestC(zone))),
  }
}

/**
 * Whether a zone has settled: at its set-point for ten minutes, or standing still wherever that is. A weak heater or a
 * blocked vent keeps a zone off its set-point for good, and the line produces all the same.
 *
 * @param since minutes before it do not count
 */
export function hasSettled(zone: HeatTrack, minute: number, since: number): boolean {
  if (zone.setpointC > COLD_C && isAtSetpoint(zone, minute, since)) return true
  if (isStanding(zone, minute, since, 10, 12)) return true
  return zone.setpointC <= COLD_C && isStanding(zone, minute, since, 5, 6)
}

function isAtSetpoint(zone: HeatTrack, minute: number, since: number): boolean {
  if (minute - 9 < since) return false
  const scale = levelScale(zone.setpointC)
  const window = minuteWindow(zone.series, minute - 9, minute)
  return window.kind === 'window' && window.minuteCount >= 4 && Math.abs(window.mean - zone.setpointC) <= 2 * scale && window.max - zone.setpointC <= 4 * scale && zone.setpointC - window.min <= 4 * scale
}

/** Two halves of `half` minutes with the same mean, within a range no warm-up keeps. */
function isStanding(zone: HeatTrack, minute: number, since: number, half: number, rangeC: number): boolean {
  if (minute - 2 * half + 1 < since) return false
  const first = minuteWindow(zone.series, minute - 2 * half + 1, minute - half)
  const second = minuteWindow(zone.series, minute - half + 1, minute)
  if (first.kind === 'empty' || second.kind === 'empty' || Math.min(first.minuteCount, second.minuteCount) < half * 0.4) return false
  const scale = levelScale(second.mean)
  return Math.abs(second.mean - first.mean) <= 1.5 * scale && Math.max(first.max, second.max) - Math.min(first.min, second.min) <= rangeC * scale
}

/** Follows a zone around its level and tells whether it has left it: further, and for longer, than draughts and load carry it. */
export function watchDeparture(zone: HeatTrack, minute: number, levelC: number): boolean {
  if (zone.series.minutes.at(-1) !== minute || levelC === 0) return false
  const off = Math.abs(newestC(zone) - levelC)
  const bound = Math.max(DEPARTED_C * levelScale(levelC), DEPARTED_SIGMAS * zone.levelSdC)
  if (off <= bound) {
    zone.departedCount = 0
    const variance = zone.levelSdC ** 2 * (1 - SD_WEIGHT) + off ** 2 * SD_WEIGHT
    zone.levelSdC = Math.min(SD_MAX_C * levelScale(levelC), Math.max(0.2, Math.sqrt(variance)))
    return false
  }
  if (zone.departedCount === 0) zone.departedMinute = minute
  zone.departedCount += 1
  return zone.departedCount >= 2
}

/**
 * Whether a zone went to its new level as a closed loop goes: it came near or passed it within 8 minutes of leaving the
 * old one. A step takes a loop 2-4 min, cooling by 40 °C seven [SIM]; a heater that fails lets it sink for longer.
 */
export function wentFast(zone: HeatTrack, oldC: number, newC: number): boolean {
  const { minutes, means } = zone.series
  const from = minutes.indexOf(zone.departedMinute)
  if (from < 0) return false
  for (let index = from; index < minutes.length && (minutes[index] as number) <= zone.departedMinute + 8; index++) {
    const mean = means[index] as number
    const goneC = newC > oldC ? newC - mean : mean - newC
    if (goneC <= 2 * levelScale(newC)) return true
  }
  return false
}

/**
 * Level of a small step that the departure bound leaves out: 20 minutes at a level 3 °C or more away, reached within
 * minutes; 0 if there is none.
 */
export function smallStepC(zone: HeatTrack, minute: number, levelC: number): number {
  if (levelC === 0) return 0
  const first = minuteWindow(zone.series, minute - 19, minute - 10)
  const second = minuteWindow(zone.series, minute - 9, minute)
  const before = minuteWindow(zone.series, minute - 31, minute - 26)
  if (first.kind === 'empty' || second.kind === 'empty' || before.kind === 'empty') return 0
  const meanC = (first.mean + second.mean) / 2
  const scale = levelScale(levelC)
  const stands = Math.abs(first.mean - second.mean) <= 1 * scale && Math.min(first.minuteCount, second.minuteCount) >= 4
  const fast = Math.abs(before.mean - levelC) <= 1.5 * scale
  return stands && fast && Math.abs(meanC - levelC) >= 3 * scale ? meanC : 0
}

/** People set multiples of 5 °C. */
export function isRound(levelC: number): boolean {
  return Math.abs(levelC - 5 * Math.round(levelC / 5)) <= 0.7
}

export function newestC(zone: HeatTrack): number {
  return zone.series.means.at(-1) ?? 0
}

function highestC(zone: HeatTrack): number {
  return zone.series.means.reduce((highest, mean) => Math.max(highest, mean), 0)
}
