import { invisibleFaults } from '../line/diagnosis/visibility.js'
import type { Section } from '../line/feature-value.js'
import { featureCatalogue } from '../line/features/feature-catalogue.js'
import type { Language } from '../maintenance/catalogue-language.js'
import { factsOf, type LineBook } from '../maintenance/plan/line-book.js'
import { placeText, planReasonText, itemTitle, workTitle } from '../maintenance/plan/plan-words.js'
import { weekPlanOf } from '../maintenance/plan/plan-week.js'
import type { PlannedStop, WeekPlan } from '../maintenance/plan/week-plan.js'
import { dueItems, type DueItem } from '../maintenance/plan/due-items.js'
import { SECTION_TITLES } from '../maintenance/wording-data-sentences.js'
import { causeTitle, invisibleText, suggestionView } from '../maintenance/wording.js'
import { WORK_CATALOGUE } from '../maintenance/work-catalogue.js'
import { isoTime } from './output-json.js'
import { siteBook } from './plan-book.js'
import type { SiteLine, SiteView } from './site-view.js'

const SECTIONS: readonly Exclude<Section, 'line'>[] = ['fluxer', 'preheat', 'transport', 'pot']

/**
 * Every line with what asks for work, in the order in which a lead should look: what must not run, what is urgent,
 * where reading has paused, settings on hold, what is due soon, what is overdue, then the rest. No score is shown.
 */
export function linesOverview(site: SiteView, language: Language): Record<string, unknown>[] {
  const { books, timeZone, week } = siteBook(site)
  if (week === undefined) return []
  const plan = weekPlanOf(books, week, timeZone)
  const views = books.map((book) => {
    const line = site.line(book.definition.line)!
    const items = dueItems(book)
    return { view: lineOverview({ line, book, items, plan, language }), urge: urgeOf(book, items, line) }
  })
  return views.sort((a, b) => compareLists(b.urge, a.urge) || String(a.view['line']).localeCompare(String(b.view['line']), 'en')).map(({ view }) => view)
}

/** The first number that differs decides. */
function compareLists(a: readonly number[], b: readonly number[]): number {
  for (let index = 0; index < a.length; index += 1) if (a[index] !== b[index]) return a[index]! - b[index]!
  return 0
}

function urgeOf(book: LineBook, items: readonly DueItem[], line: SiteLine): number[] {
  const open = book.suggestions.filter(({ status }) => status === 'open' || status === 'taken')
  const isOver = (dueMs: number | undefined): boolean => dueMs !== undefined && dueMs <= book.nowMs
  return [
    factsOf(book, 'job').filter(({ doNotStart }) => doNotStart !== undefined).length,
    open.filter(({ urgency }) => urgency === 'urgent').length,
    Number(line.status().paused !== undefined),
    items.filter(({ safety, dueMs }) => safety && isOver(dueMs)).length,
    Number(factsOf(book, 'hold').some(({ on }) => on)),
    open.filter(({ urgency }) => urgency === 'soon').length,
    items.filter(({ dueMs }) => isOver(dueMs)).length,
    open.length,
    items.length,
  ]
}

function lineOverview({ line, book, items, plan, language }: { readonly line: SiteLine; readonly book: LineBook; readonly items: readonly DueItem[]; readonly plan: WeekPlan; readonly language: Language }): Record<string, unknown> {
  const { definition, nowMs } = book
  const { projection } = line
  const hold = factsOf(book, 'hold').find(({ on }) => on)
  const next = plan.stops.find((stop) => stop.line === definition.line && stop.untilMs > nowMs)
  const invisible = invisibleFaults(definition)
  const { paused } = line.status()
  return {
    line: definition.line,
    title: definition.title ?? definition.line,
    simulated: definition.simulated,
    timeZone: definition.timeZone,
    state: projection.state,
    ...(projection.stateSinceMs === undefined ? {} : { stateSince: isoTime(projection.stateSinceMs) }),
    ...(projection.dataMs === undefined ? {} : { dataTime: isoTime(projection.dataMs) }),
    ...(paused === undefined ? {} : { paused }),
    mustNotRun: factsOf(book, 'job').filter(({ doNotStart }) => doNotStart !== undefined).map((job) => ({ job: job.id, title: workTitle(job.work, language, definition), place: placeText(job, language), reason: job.doNotStart, since: isoTime(job.doNotStartSinceMs ?? job.statusMs) })),
    suggestions: projection.openSuggestions().map((suggestion) => {
      const { headline, byWhen, urgency } = suggestionView(suggestion, language, definition.timeZone)
      return { id: suggestion.id, headline, byWhen, urgency, section: suggestion.section }
    }),
    openJobs: factsOf(book, 'job').filter(({ status }) => status !== 'done' && status !== 'dropped').length,
    due: items.filter(({ dueMs }) => dueMs !== undefined && dueMs < plan.untilMs).length,
    overdue: items.filter(({ dueMs }) => dueMs !== undefined && dueMs <= nowMs).length,
    ...(hold === undefined ? {} : { hold: { since: isoTime(hold.sinceMs), left: hold.checks.filter(({ done }) => !done).length, minutes: Math.round(hold.checks.filter(({ done }) => !done).reduce((sum, check) => sum + check.minutes, 0)) } }),
    ...(next === undefined ? {} : { nextStop: nextStopView(next, language) }),
    unseen: invisible.map((cause) => causeTitle(cause, language)),
    unseenText: invisibleText(invisible, language),
    sections: SECTIONS.map((section) => sectionView(section, line, { definition, items }, language)),
  }
}

function nextStopView(stop: PlannedStop, language: Language): Record<string, unknown> {
  return { id: stop.id, from: isoTime(stop.fromMs), minutes: Math.round((stop.untilMs - stop.fromMs) / 60_000), agreed: stop.agreed, jobs: stop.jobs.map(({ item }) => itemTitle(item, language)) }
}

/** One section: what is open in it with how sure and since when, what its charts say, what is due, what nothing sees. */
function sectionView(section: Exclude<Section, 'line'>, { projection }: SiteLine, { definition, items }: { readonly definition: LineBook['definition']; readonly items: readonly DueItem[] }, language: Language): Record<string, unknown> {
  const open = projection.openSuggestions().filter((suggestion) => suggestion.section === section)
  const features = featureCatalogue(definition).filter((spec) => spec.section === section).map(({ feature }) => projection.featureNow(feature))
  const moving = features.filter(({ status }) => status === 'up' || status === 'down')
  const since = moving.flatMap(({ onsetMs }) => (onsetMs === undefined ? [] : [onsetMs]))
  const watched = features.filter(({ status }) => status !== 'not-observable')
  const status = open.length > 0 ? 'asks' : moving.length > 0 ? 'moving' : features.length === 0 ? 'unseen' : watched.length === 0 ? 'no-data' : watched.every(({ status: now }) => now === 'learning') ? 'learning' : 'quiet'
  return {
    section,
    title: SECTION_TITLES[section][language],
    status,
    ...(since.length === 0 ? {} : { since: isoTime(Math.min(...since)) }),
    open: open.map((suggestion) => {
      const { headline, causes } = suggestionView(suggestion, language, definition.timeZone)
      return { id: suggestion.id, headline, since: isoTime(suggestion.onsetMs), probability: causes[0]?.probability ?? 0, words: causes[0]?.words ?? '' }
    }),
    due: items.filter((item) => item.section === section).map((item) => ({ title: itemTitle(item, language), place: placeText(item, language), ...(item.dueMs === undefined ? {} : { due: isoTime(item.dueMs) }), because: item.because.map((because) => planReasonText(because, language, definition.timeZone)) })),
    unseen: invisibleFaults(definition).filter((fault) => WORK_CATALOGUE.some((item) => item.section === section && item.mends.includes(fault))).map((fault) => causeTitle(fault, language)),
  }
}
