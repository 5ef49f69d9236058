import { z } from 'zod'
import type { Language } from '../../maintenance/catalogue-language.js'
import { reportCsv } from '../../maintenance/report/report-csv.js'
import { reportHtml } from '../../maintenance/report/report-html.js'
import type { ReportInput } from '../../maintenance/report/report-input.js'
import { reportInput } from '../report-source.js'
import { ProblemError } from './problem.js'
import { get, language, rangeQuery, type Route, type RouteRequest } from './route-forms.js'

const reportQuery = z.strictObject({
  kind: z.enum(['hand-over', 'week', 'audit']).default('week'),
  line: z.string().max(63).optional().describe('One line; all where it is absent'),
  ...rangeQuery,
  lang: language,
})

/** Reports for the hand-over, the weekly meeting and an audit; names of people are left out. */
export const REPORT_ROUTES: readonly Route[] = [
  { ...get('api/report', 'Printable report', z.string(), (request) => reportHtml(inputOf(request), request.query['lang'] as Language), reportQuery), contentType: 'text/html; charset=utf-8', problems: [400, 404] },
  { ...get('api/report.csv', 'The report as CSV', z.string(), (request) => reportCsv(inputOf(request), request.query['lang'] as Language), reportQuery), contentType: 'text/csv; charset=utf-8', problems: [400, 404] },
]

function inputOf({ site, query }: RouteRequest): ReportInput {
  const { kind, line, from, to } = query as z.output<typeof reportQuery>
  if (line !== undefined && site.line(line) === undefined) throw new ProblemError(404, 'Not Found', `there is no line "${line}"`)
  if (from !== undefined && to !== undefined && from > to) throw new ProblemError(400, 'Bad Request', 'from: expected a time before "to"')
  return reportInput(site, { kind, ...(line === undefined ? {} : { line }), ...(from === undefined ? {} : { fromMs: from }), ...(to === undefined ? {} : { untilMs: to }) })
}
