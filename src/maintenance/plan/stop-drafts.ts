import type { LineDefinition } from '../../line/line-definition.js'
import type { AgreedStop } from './plan-entry.js'
import type { PlannedRound } from './plan-rounds.js'
import type { ShiftWindow } from './plan-week-calendar.js'
import { peakPeople, scheduleStop, type StopSchedule, type WorkUnit } from './stop-schedule.js'
import type { PlannedStop } from './week-plan.js'

const MINUTE_MS = 60_000
/** A line that has made no boards for so long is taken to be cold when a stop is planned; people still measure. [ASM] */
const COLD_AFTER_MS = 120 * MINUTE_MS

/** One line for the plan. */
export interface PlanLine {
  readonly definition: LineDefinition
  /** The line's own time, ms UTC: nothing is planned before it. */
  readonly nowMs: number
  readonly units: readonly WorkUnit[]
  readonly rounds?: readonly PlannedRound[]
  /** Stops of the week as agreed; undefined while it is open. */
  readonly agreed?: readonly AgreedStop[]
}

/** One line while its week is planned. */
export interface LineWork extends PlanLine {
  readonly id: string
  /** Shifts of the week, and those before and after for what the line does in between. */
  readonly shifts: readonly ShiftWindow[]
  readonly around: readonly ShiftWindow[]
  readonly weekUntilMs: number
}

/** A stop that is not fixed yet. */
export interface Draft {
  readonly line: LineWork
  readonly shift: ShiftWindow
  readonly units: readonly WorkUnit[]
  readonly schedule: StopSchedule
  readonly part?: PlannedStop['part']
}

/** Units in a stop that begins then; whether the line is cold follows from its shifts. */
export function scheduled(units: readonly WorkUnit[], fromMs: number, shift: ShiftWindow, line: LineWork): StopSchedule {
  const isCold = !line.around.some(({ production, fromMs: beganMs, untilMs }) => production && beganMs < fromMs && untilMs > fromMs - COLD_AFTER_MS)
  return scheduleStop(units, fromMs, shift.people, line.definition, { isCold, runsAfter: shift.production })
}

/** Whether the shift has the people for a stop, beside all other stops at its time. */
export function hasPeople(schedule: StopSchedule, shift: ShiftWindow, others: readonly Draft[], frozen: readonly PlannedStop[]): boolean {
  return schedule.people <= shift.people && crewFits(schedule, shift, others, frozen)
}

/** One crew: all stops at one time together need no more people than the smallest of their shifts has. */
export function crewFits(stop: { readonly fromMs: number; readonly untilMs: number; readonly people: number }, shift: ShiftWindow, others: readonly Draft[], frozen: readonly PlannedStop[]): boolean {
  const busy = [stop]
  let limit = shift.people
  const add = (other: { readonly fromMs: number; readonly untilMs: number; readonly people: number }, people: number): void => {
    if (other.fromMs >= stop.untilMs || stop.fromMs >= other.untilMs) return
    busy.push(other)
    limit = Math.min(limit, people)
  }
  for (const draft of others) add(draft.schedule, draft.shift.people)
  for (const planned of frozen) add(planned, planned.peopleOnShift)
  return peakPeople(busy, stop.fromMs, stop.untilMs) <= limit
}

/** A line has one stop at a time. */
export function standsAlready(line: LineWork, { fromMs, untilMs }: { readonly fromMs: number; readonly untilMs: number }, drafts: readonly Draft[]): boolean {
  return drafts.some((draft) => draft.line === line && draft.schedule.fromMs < untilMs && fromMs < draft.schedule.untilMs)
}

/**
 * Stops of one line in one shift that can be one become one, so that it is isolated, cooled and warmed up once: where
 * the line stands shorter for it, there are people, and no job of either is done later than before.
 */
export function mergedStops(drafts: readonly Draft[], frozen: readonly PlannedStop[]): Draft[] {
  const stops = [...drafts].sort((a, b) => a.schedule.fromMs - b.schedule.fromMs || (a.line.id < b.line.id ? -1 : 1))
  for (let at = 0; at < stops.length; at += 1) {
    const first = stops[at]!
    const next = stops.findIndex((other, index) => index > at && mergeable(first, other))
    const merged = next < 0 ? undefined : merge(first, stops[next]!, stops, frozen)
    if (merged === undefined) continue
    stops.splice(next, 1)
    stops[at] = merged
    at -= 1
  }
  return stops
}

function mergeable(first: Draft, next: Draft): boolean {
  return first.line === next.line && first.shift === next.shift && first.part === undefined && next.part === undefined
}

function merge(first: Draft, next: Draft, stops: readonly Draft[], frozen: readonly PlannedStop[]): Draft | undefined {
  const units = [...first.units, ...next.units]
  const schedule = scheduled(units, first.schedule.fromMs, first.shift, first.line)
  const others = stops.filter((other) => other !== first && other !== next)
  const standsMs = ({ fromMs, untilMs }: StopSchedule): number => untilMs - fromMs
  const doneMs = new Map([...first.schedule.jobs, ...next.schedule.jobs].map(({ item, untilMs }) => [item.id, untilMs]))
  const isEarlier = schedule.jobs.every(({ item, fromMs, untilMs }) => untilMs <= doneMs.get(item.id)! && (item.notBeforeMs === undefined || fromMs >= item.notBeforeMs))
  const fits = isEarlier && standsMs(schedule) < standsMs(first.schedule) + standsMs(next.schedule) && schedule.untilMs <= first.shift.untilMs
  return fits && hasPeople(schedule, first.shift, others, frozen) && !standsAlready(first.line, schedule, others) ? { ...first, units, schedule } : undefined
}
