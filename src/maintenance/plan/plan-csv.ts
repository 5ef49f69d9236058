import type { Language } from '../catalogue-language.js'
import { csvText, type CsvCell } from '../report/csv-text.js'
import { placeText, planReasonText, itemTitle } from './plan-words.js'
import { STOCK_TITLES } from './stock-titles.js'
import type { UnplannedItem, WeekPlan } from './week-plan.js'

/** Columns of the plan as CSV; the same in every language. */
export const PLAN_COLUMNS = ['list', 'week', 'line', 'stop', 'from', 'until', 'shift', 'state', 'work', 'title', 'place', 'minutesLow', 'minutesPlanned', 'people', 'electrician', 'due', 'parts', 'reason'] as const

/** The plan as CSV: each job of a stop with its own times, then what has no place, with the reason. Times are ISO 8601 UTC. */
export function planCsv(plan: WeekPlan, language: Language): string {
  const { week, timeZone } = plan
  const planned = plan.stops.flatMap((stop) =>
    stop.jobs.map(({ item, fromMs, untilMs }): CsvCell[] => [
      'stop', week, stop.line, stop.id, iso(fromMs), iso(untilMs), stop.shift, stop.agreed ? 'agreed' : 'proposed',
      item.work, itemTitle(item, language), placeText(item, language), item.minutes.low, item.minutes.planned, item.people, item.needsElectrician ? 'yes' : 'no',
      item.dueMs === undefined ? '' : iso(item.dueMs), item.parts.map((part) => STOCK_TITLES[part.item][language]).join(', '), item.because.map((because) => planReasonText(because, language, timeZone)).join('; '),
    ]),
  )
  const listed = (list: string, items: readonly UnplannedItem[]): CsvCell[][] =>
    items.map(({ item, reason }) => [
      list, week, item.line, '', '', '', '', '', item.work, itemTitle(item, language), placeText(item, language), item.minutes.low, item.minutes.planned, item.people, item.needsElectrician ? 'yes' : 'no',
      item.dueMs === undefined ? '' : iso(item.dueMs), item.parts.map((part) => STOCK_TITLES[part.item][language]).join(', '), planReasonText(reason, language, timeZone),
    ])
  return csvText(PLAN_COLUMNS, [...planned, ...listed('now', plan.now), ...listed('no-place', plan.unplanned), ...listed('later', plan.later)])
}

function iso(timeMs: number): string {
  return new Date(timeMs).toISOString()
}
