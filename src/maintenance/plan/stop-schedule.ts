import type { LineDefinition } from '../../line/line-definition.js'
import type { DueItem } from './due-items.js'

const MINUTE_MS = 60_000

/** Jobs that are done one right after the other by the same people: washing the chain and lubricating it. */
export interface WorkUnit {
  readonly id: string
  readonly items: readonly DueItem[]
}

export interface SetUpMinutes {
  readonly isolation: number
  readonly coolDown: number
  readonly back: number
  readonly warmUp: number
}

export interface ScheduledItem {
  readonly item: DueItem
  readonly fromMs: number
  readonly untilMs: number
}

/** Jobs of one stop in time; isolation, cooling, return to service and warming up come once for all of them. */
export interface StopSchedule {
  readonly fromMs: number
  readonly untilMs: number
  readonly jobs: readonly ScheduledItem[]
  readonly setUp: SetUpMinutes
  /** People at work at once. */
  readonly people: number
}

/** Figures of the site for a stop; usual ones where the definition has none. */
export function setUpFigures(definition: LineDefinition): { readonly isolation: number; readonly coolDown: number; readonly back: number; readonly warmUp: number } {
  const { isolationMinutes = 10, coolDownMinutes = 60, returnMinutes = 15, warmUpMinutes = 45 } = definition.planning ?? {}
  return { isolation: isolationMinutes, coolDown: coolDownMinutes, back: returnMinutes, warmUp: warmUpMinutes }
}

/**
 * Puts units into a stop: those that need cold parts begin when it has cooled, the others after isolation; units of one
 * section follow each other, others go side by side as far as there are people.
 *
 * @param options.isCold the line has stood long enough before; people still measure before they touch anything
 * @param options.runsAfter boards are made right after, so that the stop lasts until the line is warm
 */
export function scheduleStop(units: readonly WorkUnit[], fromMs: number, people: number, definition: LineDefinition, options: { readonly isCold: boolean; readonly runsAfter: boolean }): StopSchedule {
  const figures = setUpFigures(definition)
  const needsCold = units.some(unitNeedsCold)
  const coolDown = needsCold && !options.isCold ? figures.coolDown : 0
  const workFromMs = fromMs + figures.isolation * MINUTE_MS
  const coldFromMs = workFromMs + coolDown * MINUTE_MS
  const placed: { readonly fromMs: number; readonly untilMs: number; readonly people: number; readonly places: readonly string[] }[] = []
  const jobs: ScheduledItem[] = []
  for (const unit of units) {
    const length = unitMinutes(unit) * MINUTE_MS
    const wanted = Math.max(...unit.items.map((item) => item.people))
    const places = [...new Set(unit.items.map(({ section, zone }) => `${section}/${zone ?? ''}`))]
    const releaseMs = unitNeedsCold(unit) ? coldFromMs : workFromMs
    const startMs = [releaseMs, ...placed.map(({ untilMs }) => untilMs)]
      .filter((timeMs) => timeMs >= releaseMs)
      .sort((a, b) => a - b)
      .find((timeMs) => placed.filter((other) => overlaps(other, timeMs, timeMs + length)).every((other) => !other.places.some((place) => places.includes(place))) && peakPeople(placed, timeMs, timeMs + length) + wanted <= Math.max(people, wanted))
    const begins = startMs ?? Math.max(releaseMs, ...placed.map(({ untilMs }) => untilMs))
    placed.push({ fromMs: begins, untilMs: begins + length, people: wanted, places })
    let at = begins
    for (const item of unit.items) {
      jobs.push({ item, fromMs: at, untilMs: at + item.minutes.planned * MINUTE_MS })
      at += item.minutes.planned * MINUTE_MS
    }
  }
  const doneMs = Math.max(workFromMs, ...placed.map(({ untilMs }) => untilMs))
  const setUp = { isolation: figures.isolation, coolDown, back: figures.back, warmUp: needsCold && options.runsAfter ? figures.warmUp : 0 }
  return { fromMs, untilMs: doneMs + (setUp.back + setUp.warmUp) * MINUTE_MS, jobs, setUp, people: peakPeople(placed, fromMs, doneMs + 1) }
}

/** Minutes a unit takes by itself, without set-up. */
export function unitMinutes(unit: WorkUnit): number {
  return unit.items.reduce((sum, { minutes }) => sum + minutes.planned, 0)
}

export function unitNeedsCold(unit: WorkUnit): boolean {
  return unit.items.some(({ needsCold }) => needsCold)
}

function overlaps(other: { readonly fromMs: number; readonly untilMs: number }, fromMs: number, untilMs: number): boolean {
  return other.fromMs < untilMs && fromMs < other.untilMs
}

/** Most people at work at once within a time. */
export function peakPeople(placed: readonly { readonly fromMs: number; readonly untilMs: number; readonly people: number }[], fromMs: number, untilMs: number): number {
  const inside = placed.filter((other) => overlaps(other, fromMs, untilMs))
  const moments = [fromMs, ...inside.map((other) => Math.max(other.fromMs, fromMs))]
  return Math.max(0, ...moments.map((timeMs) => inside.filter((other) => other.fromMs <= timeMs && timeMs < other.untilMs).reduce((sum, other) => sum + other.people, 0)))
}

