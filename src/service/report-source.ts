import { featureCatalogue } from '../line/features/feature-catalogue.js'
import { shiftWindows } from '../maintenance/plan/plan-week-calendar.js'
import type { ReportChart, ReportInput, ReportKind } from '../maintenance/report/report-input.js'
import { siteCosts } from './cost-view.js'
import { siteBook, type SiteBook } from './plan-book.js'
import { sitePlan } from './plan-view.js'
import type { SiteLine, SiteView } from './site-view.js'

const HOUR_MS = 3_600_000
const DAY_MS = 24 * HOUR_MS
const POINTS_READ = 5000
/** Charts of a line in a report at most; the page has them all. */
const CHARTS_MAX = 8
const CHARTS_AUDIT_MAX = 16

export interface ReportQuestion {
  readonly kind: ReportKind
  readonly line?: string
  readonly fromMs?: number
  readonly untilMs?: number
}

/**
 * All that a report is made of, from the lines as they are now. Without a time the hand-over tells of the last shift, the
 * weekly meeting of seven days, the audit of ninety.
 */
export function reportInput(site: SiteView, { kind, line: only, fromMs: from, untilMs: until }: ReportQuestion): ReportInput {
  const book = siteBook(site, only)
  const untilMs = until ?? book.nowMs ?? 0
  const fromMs = Math.min(from ?? usualFromMs(kind, book, untilMs), untilMs)
  const lines = book.books.map((one) => ({ book: one, charts: chartsOf(site.line(one.definition.line)!, kind, fromMs, untilMs) }))
  const week = book.week
  return {
    kind,
    fromMs,
    untilMs,
    timeZone: book.timeZone,
    lines,
    ...(week === undefined || kind === 'audit' ? {} : { plan: sitePlan(book, week) }),
    ...(kind === 'week' ? { costs: siteCosts(book, fromMs, untilMs) } : {}),
  }
}

function usualFromMs(kind: ReportKind, { books }: SiteBook, untilMs: number): number {
  if (kind === 'week') return untilMs - 7 * DAY_MS
  if (kind === 'audit') return untilMs - 90 * DAY_MS
  const begun = books.flatMap(({ definition }) => shiftWindows(definition.shifts, definition.timeZone, untilMs - 2 * DAY_MS, untilMs)).map((shift) => shift.fromMs)
  return begun.length === 0 ? untilMs - 8 * HOUR_MS : Math.max(...begun)
}

/** Charts of features that signalled or that a suggestion names; for an audit the others too, as far as there is room. */
function chartsOf(line: SiteLine, kind: ReportKind, fromMs: number, untilMs: number): ReportChart[] {
  const { definition, store, projection } = line
  const signals = store.outputs({ line: definition.line, kinds: ['signal'], fromMs, toMs: untilMs, limit: POINTS_READ }).flatMap(({ output }) => (output.kind === 'signal' && output.body.phase === 'start' ? [output.body] : []))
  const named = new Set([...projection.openSuggestions().flatMap(({ features }) => features), ...signals.map(({ feature }) => feature)])
  const specs = featureCatalogue(definition)
  const wanted = [...specs.filter(({ feature }) => named.has(feature)), ...(kind === 'audit' ? specs.filter(({ feature }) => !named.has(feature)) : [])]
  const charts: ReportChart[] = []
  for (const { feature, unit } of wanted) {
    if (charts.length >= (kind === 'audit' ? CHARTS_AUDIT_MAX : CHARTS_MAX)) break
    const series = store.series(definition.line).find((one) => one.feature === feature && !one.chart.startsWith('cusum'))
    if (series === undefined) continue
    const points = store.points({ line: definition.line, feature, chart: series.chart, fromMs, toMs: untilMs, limit: POINTS_READ })
    if (points.length === 0) continue
    charts.push({
      feature,
      unit,
      points: points.map(({ timeMs, value, centre, lower, upper }) => ({ timeMs, value, centre, lower, upper })),
      signals: signals.filter((signal) => signal.feature === feature).map(({ timeMs, onsetMs, side }) => ({ timeMs, onsetMs, side })),
    })
  }
  return charts
}
