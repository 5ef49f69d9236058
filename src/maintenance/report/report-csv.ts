import type { Language } from '../catalogue-language.js'
import { factsOf } from '../plan/line-book.js'
import { placeText, planReasonText, itemTitle, workTitle } from '../plan/plan-words.js'
import { suggestionView } from '../wording.js'
import { SECTION_TITLES } from '../wording-data-sentences.js'
import { csvText, type CsvCell } from './csv-text.js'
import { costText } from './report-format.js'
import type { ReportInput } from './report-input.js'
import { changeTexts, contextOf, firstThings, paperRows, stopRows, workRows } from './report-rows.js'
import { COST_KIND_TITLES, reportText, reportTextOf } from './report-words.js'

/** Columns of the report as CSV; the same in every language, so that a sheet goes on working. */
export const REPORT_COLUMNS = ['part', 'line', 'time', 'place', 'what', 'finding', 'minutes', 'people', 'state', 'text'] as const

/** The report as CSV, one row for each thing it says; names of people are left out. */
export function reportCsv(input: ReportInput, language: Language): string {
  const rows = input.lines.flatMap(({ book }): CsvCell[][] => {
    const context = contextOf(book, input, language)
    const line = book.definition.line
    const row = (part: string, cells: Partial<Record<(typeof REPORT_COLUMNS)[number], CsvCell>>): CsvCell[] => REPORT_COLUMNS.map((column) => (column === 'part' ? part : column === 'line' ? line : cells[column]))
    return [
      ...firstThings(context).map(({ text, act }) => row('first', { text, state: act ? 'do-not-start' : '' })),
      ...book.suggestions.filter(({ status }) => ['open', 'taken', 'put-off'].includes(status)).map((suggestion) => {
        const { headline, byWhen } = suggestionView(suggestion, language, input.timeZone)
        return row('suggestion', { time: isoTime(suggestion.raisedMs), place: SECTION_TITLES[suggestion.section][language], what: headline, state: suggestion.status, text: byWhen })
      }),
      ...workRows(context).map((work) => row('record', { time: isoTime(work.timeMs), place: work.place, what: work.job, finding: work.finding, minutes: work.minutes, state: work.outcome, text: [work.product, work.remark].filter((part) => part !== undefined).join(' · ') })),
      ...changeTexts(context).map((text) => row('change', { text })),
      ...stopRows(context).map((stop) => row('stop', { what: stop.work, minutes: stop.minutes, people: stop.people, state: stop.answer, text: stop.followed })),
      ...factsOf(book, 'interval').map((fact) => row('interval', { place: placeText(fact, language), what: workTitle(fact.work, language, book.definition), state: reportTextOf(`verdict.${fact.verdict}`, language), text: `${Math.round(fact.used * 100)} %` })),
      ...(input.kind === 'audit' ? paperRows(context).map((paper) => row('paper', { what: `${paper.paper}: ${paper.of}`, state: paper.state, text: [paper.reference, paper.from, paper.due].join(' · ') })) : []),
    ]
  })
  const plan = (input.plan?.stops ?? []).flatMap((stop): CsvCell[][] =>
    stop.jobs.map(({ item }) => ['plan', stop.line, isoTime(stop.fromMs), placeText(item, language), itemTitle(item, language), undefined, item.minutes.planned, item.people, reportText(stop.agreed ? 'plan.agreed' : 'plan.proposed', language), stop.shift]),
  )
  const without = [...(input.plan?.now ?? []), ...(input.plan?.unplanned ?? [])].map(({ item, reason }): CsvCell[] => ['plan', item.line, undefined, placeText(item, language), itemTitle(item, language), undefined, item.minutes.planned, item.people, '', planReasonText(reason, language, input.timeZone)])
  const costs = (input.costs?.rows ?? []).map((row): CsvCell[] => ['cost', row.line, row.month, SECTION_TITLES[row.section][language], COST_KIND_TITLES[row.kind][language], undefined, undefined, undefined, '', `${row.quantity} · ${costText(row.cost, input.costs?.currency ?? '', language)}`])
  return csvText(REPORT_COLUMNS, [...rows, ...plan, ...without, ...costs])
}

function isoTime(timeMs: number): string {
  return new Date(timeMs).toISOString()
}
