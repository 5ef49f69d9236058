import { byUrgency, type DueItem, type PlanReason } from './due-items.js'
import { factsOf, type LineBook } from './line-book.js'
import { isoWeekOf, shiftWindows, weekRange } from './plan-week-calendar.js'
import { plannedRounds } from './plan-rounds.js'
import { splitOverShifts } from './split-work.js'
import { crewFits, hasPeople, mergedStops, scheduled, standsAlready, type Draft, type LineWork, type PlanLine } from './stop-drafts.js'
import { setUpFigures, unitMinutes, unitNeedsCold, type StopSchedule, type WorkUnit } from './stop-schedule.js'
import type { PlannedStop, UnplannedItem, WeekPlan } from './week-plan.js'
import { agreedAsPlanned } from './agreed-stops.js'
import { workUnits } from './work-units.js'

const MINUTE_MS = 60_000

export interface WeekPlanInput {
  /** ISO week, e.g. `2026-W48`. */
  readonly week: string
  /** Zone in which the site counts its weeks. */
  readonly timeZone: string
  readonly lines: readonly PlanLine[]
}

/** The plan of a week from all that is known of the lines. @throws Error for a week that does not exist */
export function weekPlanOf(books: readonly LineBook[], week: string, timeZone: string): WeekPlan {
  const lines = books.map((book): PlanLine => {
    const plan = factsOf(book, 'plan').find((fact) => fact.week === week)
    return { definition: book.definition, nowMs: book.nowMs, units: workUnits(book).units, rounds: isoWeekOf(book.nowMs, timeZone) === week ? plannedRounds(book) : [], ...(plan?.agreed === true ? { agreed: plan.stops } : {}) }
  })
  return planWeek({ week, timeZone, lines })
}

/** ISO week in which a site is now: that of its furthest line. */
export function currentWeek(books: readonly LineBook[], timeZone: string): string | undefined {
  return books.length === 0 ? undefined : isoWeekOf(Math.max(...books.map(({ nowMs }) => nowMs)), timeZone)
}

/**
 * Plans a week for one crew that serves all lines. Work is taken in the order of its urgency; a job joins a stop that is
 * there already where it fits, so that isolation, cooling and warming up count once, else it opens one: before it is
 * due, in a shift without production if there is one, as early as possible. A stop lies within one shift that has the
 * people for it, and all stops at one time need no more people than the shift has. What finds no place is listed with
 * the reason. The same input gives the same plan.
 *
 * @throws Error for a week that does not exist
 */
export function planWeek({ week, timeZone, lines }: WeekPlanInput): WeekPlan {
  const range = weekRange(week, timeZone)
  const works = lines.map((line) => lineWork(line, week)).sort((a, b) => (a.id < b.id ? -1 : 1))
  const frozen = works.flatMap((line) => agreedAsPlanned(line, line.around))
  const drafts: Draft[] = []
  const lists = { now: [] as UnplannedItem[], unplanned: [] as UnplannedItem[], later: [] as UnplannedItem[] }
  const queue = works.flatMap((line) => line.units.map((unit) => ({ line, unit }))).sort((a, b) => byUrgency(leadOf(a.unit), leadOf(b.unit)))
  for (const { line, unit } of queue) {
    const placed = placeUnit(unit, line, drafts, frozen)
    if (placed === 'placed') continue
    // What the agreed week holds already is in it.
    if (placed === 'agreed') continue
    for (const item of unit.items) lists[placed.list].push({ item, reason: placed.reason })
  }
  const stops = [...frozen, ...mergedStops(drafts, frozen).map(asPlanned)].sort((a, b) => a.fromMs - b.fromMs || (a.id < b.id ? -1 : 1))
  return { week, timeZone, ...range, stops, ...lists, rounds: works.flatMap(({ rounds = [] }) => rounds), agreedLines: works.filter(({ agreed }) => agreed !== undefined).map(({ id }) => id) }
}

function lineWork(line: PlanLine, week: string): LineWork {
  const { definition, nowMs } = line
  const range = weekRange(week, definition.timeZone)
  const around = shiftWindows(definition.shifts, definition.timeZone, range.fromMs - 2 * 86_400_000, range.untilMs + 86_400_000)
  const shifts = around.filter((shift) => shift.fromMs >= range.fromMs && shift.fromMs < range.untilMs && shift.fromMs >= nowMs)
  return { ...line, id: definition.line, shifts, around, weekUntilMs: range.untilMs }
}

/** The unit as one item: its most urgent date decides. */
function leadOf({ items }: WorkUnit): DueItem {
  return [...items].sort(byUrgency)[0]!
}

type Placed = 'placed' | 'agreed' | { readonly list: 'now' | 'unplanned' | 'later'; readonly reason: PlanReason }

function placeUnit(unit: WorkUnit, line: LineWork, drafts: Draft[], frozen: readonly PlannedStop[]): Placed {
  const lead = leadOf(unit)
  // What somebody or a chart asks for has its place in the week in hand; an interval waits until it is used up.
  const isDue = lead.job !== undefined || lead.suggestion !== undefined || (lead.dueMs !== undefined && lead.dueMs < line.weekUntilMs)
  if (isAgreed(unit, line)) return 'agreed'
  const first = withoutPlan(unit, lead, line)
  if (first !== undefined) return first
  if (line.agreed !== undefined) return { list: isDue ? 'unplanned' : 'later', reason: { key: 'plan.week-agreed', values: {} } }
  if (joinStop(unit, lead, line, drafts, frozen, { mayBeLate: false })) return 'placed'
  if (!isDue) return { list: 'later', reason: lead.dueMs === undefined ? { key: 'plan.no-date', values: {} } : { key: 'plan.not-due', values: { dueMs: lead.dueMs } } }
  const opening = bestOpening(unit, lead, line, drafts, frozen)
  const isLate = opening === undefined || opening.schedule.untilMs > (lead.dueMs ?? Number.MAX_SAFE_INTEGER)
  if (isLate && joinStop(unit, lead, line, drafts, frozen, { mayBeLate: true })) return 'placed'
  if (opening === undefined) return openSplitStop(unit, line, drafts, frozen)
  drafts.push(opening)
  return 'placed'
}

function isAgreed(unit: WorkUnit, { agreed }: LineWork): boolean {
  const planned = new Set((agreed ?? []).flatMap(({ jobs }) => jobs.map(({ work, zone }) => `${work}/${zone ?? ''}`)))
  return unit.items.every(({ work, zone }) => planned.has(`${work}/${zone ?? ''}`))
}

/** What does not wait for a plan, or cannot be planned at all. */
function withoutPlan(unit: WorkUnit, lead: DueItem, line: LineWork): Placed | undefined {
  if (unit.items.some(({ mustFinish }) => mustFinish)) return { list: 'now', reason: { key: 'now.half-done', values: {} } }
  if (lead.urgency === 'urgent') return { list: 'now', reason: { key: 'now.urgent', values: {} } }
  if (lead.notBeforeMs !== undefined && lead.notBeforeMs >= line.weekUntilMs) return { list: 'later', reason: { key: 'plan.put-off', values: { untilMs: lead.notBeforeMs } } }
  const waiting = unit.items.find(({ waitsFor }) => waitsFor !== undefined)
  if (waiting !== undefined) return { list: 'unplanned', reason: { key: waiting.waitsFor === '' ? 'plan.waits-for-part' : 'plan.waits-for', values: waiting.waitsFor === '' ? {} : { part: waiting.waitsFor! } } }
  const missing = unit.items.flatMap(({ parts }) => parts).find(({ ready }) => ready === 0)
  if (missing !== undefined) return { list: 'unplanned', reason: { key: 'plan.part-missing', values: { stock: missing.item } } }
  if (line.agreed !== undefined) return undefined
  if (line.definition.shifts.length === 0) return { list: 'unplanned', reason: { key: 'plan.no-shifts', values: {} } }
  if (line.shifts.length === 0) return { list: 'unplanned', reason: { key: 'plan.week-over', values: {} } }
  const most = Math.max(...line.shifts.map(({ people }) => people))
  if (most < peopleOf(unit)) return { list: 'unplanned', reason: { key: 'plan.too-few-people', values: { people: peopleOf(unit), most } } }
  return undefined
}

function peopleOf(unit: WorkUnit): number {
  return Math.max(...unit.items.map(({ people }) => people))
}

/**
 * Adds the unit to the earliest stop of its line that can take it.
 *
 * @param options.mayBeLate a stop of its own would be too late as well
 */
function joinStop(unit: WorkUnit, lead: DueItem, line: LineWork, drafts: Draft[], frozen: readonly PlannedStop[], { mayBeLate }: { readonly mayBeLate: boolean }): boolean {
  if (mustSplit(unit, line)) return false
  const dueMs = lead.dueMs ?? Number.MAX_SAFE_INTEGER
  const own = drafts.filter((draft) => draft.line === line && draft.part === undefined).sort((a, b) => a.schedule.fromMs - b.schedule.fromMs)
  for (const draft of own) {
    if (lead.notBeforeMs !== undefined && draft.schedule.fromMs < lead.notBeforeMs) continue
    if (draft.shift.people < peopleOf(unit)) continue
    const units = inOrder([...draft.units, unit])
    const schedule = scheduled(units, draft.schedule.fromMs, draft.shift, line)
    const others = drafts.filter((other) => other !== draft)
    if (schedule.untilMs > draft.shift.untilMs || (schedule.untilMs > dueMs && !mayBeLate) || makesLate(schedule, draft) || !hasPeople(schedule, draft.shift, others, frozen) || standsAlready(line, schedule, others)) continue
    drafts[drafts.indexOf(draft)] = { ...draft, units, schedule }
    return true
  }
  return false
}

/** Whether the longer stop ends after something was due that the stop served in time before. */
function makesLate(schedule: StopSchedule, before: Draft): boolean {
  return before.units.some(({ items }) => items.some(({ dueMs }) => dueMs !== undefined && schedule.untilMs > dueMs && before.schedule.untilMs <= dueMs))
}

/** The best stop of its own for a unit that one shift can hold. */
function bestOpening(unit: WorkUnit, lead: DueItem, line: LineWork, drafts: readonly Draft[], frozen: readonly PlannedStop[]): Draft | undefined {
  if (mustSplit(unit, line)) return undefined
  const dueMs = lead.dueMs ?? line.weekUntilMs
  const options: Draft[] = []
  for (const shift of line.shifts) {
    if (shift.people < peopleOf(unit)) continue
    const startMs = Math.max(shift.fromMs, lead.notBeforeMs ?? 0)
    const ends = [...drafts.map(({ schedule }) => schedule.untilMs), ...frozen.map(({ untilMs }) => untilMs)].filter((timeMs) => timeMs > startMs && timeMs < shift.untilMs)
    for (const fromMs of [startMs, ...ends.sort((a, b) => a - b)]) {
      const schedule = scheduled([unit], fromMs, shift, line)
      if (schedule.untilMs > shift.untilMs || !hasPeople(schedule, shift, drafts, frozen) || standsAlready(line, schedule, drafts)) continue
      options.push({ line, shift, units: [unit], schedule })
      break
    }
  }
  return options.sort((a, b) => rank(a, dueMs) - rank(b, dueMs) || a.schedule.fromMs - b.schedule.fromMs)[0]
}

/** In time and without production first, then in time, then late. */
function rank({ schedule, shift }: Draft, dueMs: number): number {
  return schedule.untilMs > dueMs ? 2 : shift.production ? 1 : 0
}

function openSplitStop(unit: WorkUnit, line: LineWork, drafts: Draft[], frozen: readonly PlannedStop[]): Placed {
  const longestMs = Math.max(...line.shifts.map(({ fromMs, untilMs }) => untilMs - fromMs))
  const hours = Math.round(unitMinutes(unit) / 6) / 10
  if (!mustSplit(unit, line) && stopLengthMs(unit, line) <= longestMs) return { list: 'unplanned', reason: { key: 'plan.no-room', values: {} } }
  const figures = setUpFigures(line.definition)
  const parts = splitOverShifts(unit, line.shifts, line.around, figures, (fromMs, untilMs, shift) => shift.people >= peopleOf(unit) && crewFits({ fromMs, untilMs, people: peopleOf(unit) }, shift, drafts, frozen) && !standsAlready(line, { fromMs, untilMs }, drafts))
  if (parts === undefined) return { list: 'unplanned', reason: { key: 'plan.longer-than-a-shift', values: { hours, longest: Math.round(longestMs / (6 * MINUTE_MS)) / 10 } } }
  parts.forEach(({ shift, schedule }, index) => drafts.push({ line, shift, units: [unit], schedule, part: { number: index + 1, of: parts.length } }))
  return 'placed'
}

/** Work left undone for long takes about two days by hand and is never fitted into one shift. */
function mustSplit(unit: WorkUnit, line: LineWork): boolean {
  return unit.items.some(({ minutes }) => minutes.basis === 'neglected') || line.shifts.every((shift) => stopLengthMs(unit, line) > shift.untilMs - shift.fromMs)
}

function stopLengthMs(unit: WorkUnit, { definition }: LineWork): number {
  const { isolation, back } = setUpFigures(definition)
  return (unitMinutes(unit) + isolation + back) * MINUTE_MS
}

/** The board's way through the line, then by id. */
function inOrder(units: readonly WorkUnit[]): WorkUnit[] {
  const sections = ['fluxer', 'preheat', 'transport', 'pot']
  const place = ({ items }: WorkUnit): number => sections.indexOf(items[0]!.section)
  return [...units].sort((a, b) => place(a) - place(b) || (a.id < b.id ? -1 : 1))
}

function asPlanned({ line, shift, units, schedule, part }: Draft): PlannedStop {
  const figures = setUpFigures(line.definition)
  const alone = units.reduce((sum, unit) => sum + figures.isolation + figures.back + (unitNeedsCold(unit) ? schedule.setUp.coolDown + schedule.setUp.warmUp : 0), 0)
  const { isolation, coolDown, back, warmUp } = schedule.setUp
  return {
    id: `${line.id}-${new Date(schedule.fromMs).toISOString().slice(0, 16).replaceAll(/[-:]/g, '')}`,
    line: line.id,
    fromMs: schedule.fromMs,
    untilMs: schedule.untilMs,
    shift: shift.name,
    production: shift.production,
    people: schedule.people,
    peopleOnShift: shift.people,
    setUp: schedule.setUp,
    sharedMinutes: part === undefined ? alone - isolation - coolDown - back - warmUp : 0,
    jobs: schedule.jobs,
    agreed: false,
    late: schedule.jobs.some(({ item, untilMs }) => item.dueMs !== undefined && untilMs > item.dueMs),
    ...(part === undefined ? {} : { part }),
  }
}
