import type { Side } from '../spc/chart-point.js'
import { median } from '../spc/robust-estimates.js'

/** What became of a value since a signal began, and what it was in the newest days. Plain JSON. */
export interface ChangeCourse {
  /** First values after a signal began: what a person sets is there at once, what grows is not. */
  early?: number[]
  /** Medians of an hour each since a signal began, of what by fouling goes one way only. */
  course?: number[]
  /** Values since the last of them. */
  sinceCourse?: number
  /** Side of the signal, and values since it ended: a short end is none to what goes one way only. */
  side?: Side
  sinceSignal?: number
  /** Medians of an hour each of the newest days, signal or not, of what dirt moves and boards and air do too, for hours. */
  hours?: number[]
  /** Values since the last of them. */
  sinceHour?: number
}

/** Values after the begin of a signal that tell how large the change was at first. */
export const EARLY_VALUES = 6
/** Values of one step of the course, and steps kept. */
const COURSE_STEP = 6
const COURSE_MAX = 120
/** A signal that ended for less than a shift goes on, where the change goes one way only: a house that draws more for an hour cleans no filter. [ASM] */
const PAUSE_VALUES_MAX = 48
/** Share of its largest that a change of one way only has lost when it went back; it is growing again when it stands so many times above that. [ASM] */
const WENT_BACK_SHARE = 0.3
const GROWS_AGAIN = 1.5
/** A leap between two hours, or over one between them, that makes so much of the change was switched, however often that was done. [ASM] */
const LEAP_SHARE = 0.4
const LEAP_SHARE_OVER_ONE = 0.6

/** Hours kept to tell what came and went, some three days of production. [ASM] */
const HOURS_MAX = 54
/** Longer than a production day nothing that passes stands, nor is anything held for something else because of it. [ASM] */
const PASSING_HOURS_MAX = 16
/** It stood before where it was two hours as large as now, by this much smaller, and had gone where for two hours less than this share of that was left. [ASM] */
const PASSED_AGAIN = 1.3
const GONE_SHARE = 0.35
/** What stands this many times as long as what passed is something else. [ASM] */
const LONGER = 2

/**
 * @param signalled side of the chart's signal; undefined while none is on
 * @param values the newest values, this one included
 */
export function keepCourse(kept: ChangeCourse, value: number, values: readonly number[], signalled: Side | undefined, { oneWay = false, passes = false }: { readonly oneWay?: boolean; readonly passes?: boolean }): void {
  if (passes) keepHour(kept, values)
  if (signalled === undefined) {
    kept.sinceSignal = (kept.sinceSignal ?? 0) + 1
    if (!oneWay || kept.sinceSignal > PAUSE_VALUES_MAX) forget(kept)
    return
  }
  if (kept.side !== undefined && kept.side !== signalled) forget(kept)
  kept.side = signalled
  kept.sinceSignal = 0
  if ((kept.early?.length ?? 0) < EARLY_VALUES) (kept.early ??= []).push(value)
  if (oneWay) keepStep(kept, values)
}

function forget(kept: ChangeCourse): void {
  delete kept.early
  delete kept.course
  delete kept.sinceCourse
  delete kept.side
  delete kept.sinceSignal
}

function keepStep(kept: ChangeCourse, values: readonly number[]): void {
  kept.sinceCourse = keepMedian((kept.course ??= []), values, kept.sinceCourse, COURSE_MAX)
}

function keepHour(kept: ChangeCourse, values: readonly number[]): void {
  kept.sinceHour = keepMedian((kept.hours ??= []), values, kept.sinceHour, HOURS_MAX)
}

/** Every so many values one median more; returns how many have come since the last. */
function keepMedian(medians: number[], values: readonly number[], since = 0, max: number): number {
  if (since + 1 < COURSE_STEP) return since + 1
  medians.push(median(values.slice(-COURSE_STEP)))
  if (medians.length > max) medians.shift()
  return 0
}

/** Dirt gives nothing back by itself: what went down by a good part of itself in between was switched, or follows the day. */
export function wentBack(centre: number, course: readonly number[], side: number): boolean {
  let most = 0
  let mostBefore = 0
  for (const value of course) {
    const shift = side * (value - centre)
    if (shift < (1 - WENT_BACK_SHARE) * most) mostBefore = Math.max(mostBefore, most)
    most = Math.max(most, shift)
  }
  return mostBefore > 0 && side * ((course.at(-1) ?? centre) - centre) < GROWS_AGAIN * mostBefore
}

/** What is switched in the middle of an hour shows half of it in that hour, and the rest in the next. */
export function leapt(centre: number, course: readonly number[], side: number): boolean {
  const now = side * ((course.at(-1) ?? centre) - centre)
  const since = (at: number, back: number): number => (at < back ? 0 : side * (course[at]! - course[at - back]!))
  return now > 0 && course.some((_, at) => since(at, 1) >= LEAP_SHARE * now || since(at, 2) >= LEAP_SHARE_OVER_ONE * now)
}

/**
 * Dirt comes over days and stays. What stood there before, nearly as large, for less than a production day between hours of
 * next to nothing, was boards or air, and is again, until it has stood for longer than that does.
 *
 * @param shift the present change, feature's unit; not 0
 */
export function cameAndWent(hours: readonly number[], centre: number, shift: number): boolean {
  const shares = hours.map((hour) => ((hour - centre) / shift) * PASSED_AGAIN)
  const stretches = stretchesOf(shares)
  const present = stretches.at(-1)
  if (present === undefined) return false
  return stretches.slice(0, -1).some(({ hours: stood, isLarge, came }) => came && isLarge && stood <= PASSING_HOURS_MAX && present.hours <= Math.min(PASSING_HOURS_MAX, LONGER * stood))
}

interface Stretch {
  /** From the last of the hours of nothing before it to the first of those after it. */
  hours: number
  isLarge: boolean
  /** There were such hours before it. */
  readonly came: boolean
}

/** Stretches between hours of next to nothing, two of them on end; the last one goes on. */
function stretchesOf(shares: readonly number[]): Stretch[] {
  const gone = (at: number): boolean => (shares[at] ?? 1) < GONE_SHARE
  const stretches: Stretch[] = []
  let open: Stretch | undefined
  let cameBefore = false
  shares.forEach((share, at) => {
    if (gone(at) && (gone(at - 1) || gone(at + 1))) {
      open = undefined
      cameBefore = true
      return
    }
    if (open === undefined) stretches.push((open = { hours: 0, isLarge: false, came: cameBefore }))
    open.hours += 1
    open.isLarge ||= share >= 1 && (shares[at - 1] ?? 0) >= 1
  })
  if (open === undefined) stretches.push({ hours: 0, isLarge: false, came: cameBefore })
  return stretches
}
