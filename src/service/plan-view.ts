import { createHash } from 'node:crypto'
import type { Language } from '../maintenance/catalogue-language.js'
import { asAgreed } from '../maintenance/plan/agreed-stops.js'
import type { DueItem } from '../maintenance/plan/due-items.js'
import { factsOf } from '../maintenance/plan/line-book.js'
import { shiftWindows, weekAfter } from '../maintenance/plan/plan-week-calendar.js'
import { weekPlanOf } from '../maintenance/plan/plan-week.js'
import { placeText, planReasonText, itemTitle } from '../maintenance/plan/plan-words.js'
import { STOCK_TITLES } from '../maintenance/plan/stock-titles.js'
import type { PlannedStop, UnplannedItem, WeekPlan } from '../maintenance/plan/week-plan.js'
import { isoTime } from './output-json.js'
import type { SiteBook } from './plan-book.js'

/** Plan of a week of the site. @throws Error for a week that does not exist */
export function sitePlan({ books, timeZone }: SiteBook, week: string): WeekPlan {
  return weekPlanOf(books, week, timeZone)
}

/** Says whether two plans hold the same stops: who agrees, agrees to what was seen. */
export function planDigest(plan: WeekPlan): string {
  return createHash('sha256').update(JSON.stringify(plan.stops.map(asAgreed))).digest('hex').slice(0, 16)
}

/** The plan in words, as `/api/plan` gives it. */
export function planView(site: SiteBook, plan: WeekPlan, language: Language): Record<string, unknown> {
  const isAgreed = site.books.length > 0 && plan.agreedLines.length === site.books.length
  return {
    week: plan.week,
    ...(site.week === undefined ? {} : { current: site.week }),
    previous: weekAfter(plan.week, -1),
    next: weekAfter(plan.week, 1),
    timeZone: plan.timeZone,
    from: isoTime(plan.fromMs),
    until: isoTime(plan.untilMs),
    digest: planDigest(plan),
    agreed: isAgreed,
    agreedLines: plan.agreedLines,
    stops: plan.stops.map((stop) => stopView(stop, site, language)),
    now: plan.now.map((item) => itemView(item, site, language)),
    unplanned: plan.unplanned.map((item) => itemView(item, site, language)),
    later: plan.later.map((item) => itemView(item, site, language)),
    rounds: plan.rounds.map(({ line, every, checks, minutes, overdue, dueByMs }) => ({ line, title: site.titles.get(line) ?? line, every, count: checks.length, minutes: Math.round(minutes), overdue, dueBy: isoTime(dueByMs) })),
    shifts: site.books.flatMap(({ definition }) =>
      shiftWindows(definition.shifts, definition.timeZone, plan.fromMs, plan.untilMs).map(({ name, fromMs, untilMs, people, production }) => ({ line: definition.line, name, from: isoTime(fromMs), until: isoTime(untilMs), people, production })),
    ),
  }
}

function stopView(stop: PlannedStop, { books, titles }: SiteBook, language: Language): Record<string, unknown> {
  const book = books.find(({ definition }) => definition.line === stop.line)
  const zone = book?.definition.timeZone ?? 'UTC'
  const asked = book === undefined ? undefined : factsOf(book, 'stop').find(({ id }) => id === stop.id)
  return {
    id: stop.id,
    line: stop.line,
    title: titles.get(stop.line) ?? stop.line,
    from: isoTime(stop.fromMs),
    until: isoTime(stop.untilMs),
    minutes: Math.round((stop.untilMs - stop.fromMs) / 60_000),
    shift: stop.shift,
    production: stop.production,
    people: stop.people,
    peopleOnShift: stop.peopleOnShift,
    setUp: stop.setUp,
    sharedMinutes: stop.sharedMinutes,
    agreed: stop.agreed,
    late: stop.late,
    ...(stop.part === undefined ? {} : { part: stop.part }),
    ...(asked === undefined ? {} : { asked: asked.status }),
    jobs: stop.jobs.map(({ item, fromMs, untilMs }) => ({ ...dueView(item, zone, language), from: isoTime(fromMs), until: isoTime(untilMs) })),
  }
}

function itemView({ item, reason }: UnplannedItem, { books, titles }: SiteBook, language: Language): Record<string, unknown> {
  const zone = books.find(({ definition }) => definition.line === item.line)?.definition.timeZone ?? 'UTC'
  return { ...dueView(item, zone, language), line: item.line, lineTitle: titles.get(item.line) ?? item.line, reason: planReasonText(reason, language, zone), reasonKey: reason.key }
}

function dueView(item: DueItem, timeZone: string, language: Language): Record<string, unknown> {
  const { minutes } = item
  return {
    work: item.work,
    title: itemTitle(item, language),
    section: item.section,
    ...(item.zone === undefined ? {} : { zone: item.zone }),
    place: placeText(item, language),
    minutes: [minutes.low, minutes.likely, minutes.planned],
    basis: minutes.basis,
    records: minutes.records,
    people: item.people,
    needsElectrician: item.needsElectrician,
    urgency: item.urgency,
    ...(item.dueMs === undefined ? {} : { due: isoTime(item.dueMs) }),
    ...(item.suggestion === undefined ? {} : { suggestion: item.suggestion }),
    parts: item.parts.map(({ item: name, ready }) => ({ item: name, title: STOCK_TITLES[name][language], ...(ready === undefined ? {} : { ready }) })),
    because: item.because.map((because) => planReasonText(because, language, timeZone)),
  }
}
