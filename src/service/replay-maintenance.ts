import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { featureCatalogue } from '../line/features/feature-catalogue.js'
import type { LineDefinition } from '../line/line-definition.js'
import type { LineOutput } from '../monitor/line-output.js'
import { currentWeek } from '../maintenance/plan/plan-week.js'
import type { ReportChart } from '../maintenance/report/report-input.js'
import { reportHtml } from '../maintenance/report/report-html.js'
import { siteCosts } from './cost-view.js'
import { intervalCurvesOf, intervalViews } from './interval-view.js'
import { LineProjection } from './line-projection.js'
import { lineBook, type SiteBook } from './plan-book.js'
import { planView, sitePlan } from './plan-view.js'
import { proofViews } from './proof-view.js'

/** Newest points kept of each feature for the report's charts. */
const POINTS_KEPT = 400
const CHARTS_MAX = 8
const PROOFS_MAX = 2000
const LANGUAGE = 'en-US'

/** What a history with its records says about the maintenance: proofs, intervals, plan and report. */
export class ReplayMaintenance {
  private readonly projection = new LineProjection()
  private readonly points = new Map<string, { chart: string; points: ReportChart['points'][number][] }>()
  private readonly signals: { feature: string; timeMs: number; onsetMs: number; side: 'above' | 'below' }[] = []

  constructor(private readonly definition: LineDefinition) {}

  take(output: LineOutput): void {
    this.projection.take(output)
    if (output.kind === 'point' && !output.body.chart.startsWith('cusum')) this.takePoint(output.body)
    if (output.kind === 'signal' && output.body.phase === 'start') {
      const { feature, timeMs, onsetMs, side } = output.body
      this.signals.push({ feature, timeMs, onsetMs, side })
    }
  }

  private takePoint({ feature, chart, timeMs, value, centre, lower, upper }: (LineOutput & { kind: 'point' })['body']): void {
    const known = this.points.get(feature)
    // The chart that came first: each feature is drawn once.
    if (known !== undefined && known.chart !== chart) return
    const kept = known ?? { chart, points: [] }
    this.points.set(feature, kept)
    kept.points.push({ timeMs, value, centre, lower, upper })
    if (kept.points.length > POINTS_KEPT) kept.points.shift()
  }

  /**
   * Writes `verifications.jsonl`, `intervals.json`, `plan.json` and `report.html`.
   *
   * @param fromMs time of the first reading, ms UTC
   * @param nowMs time of the last one
   */
  write(folder: string, fromMs: number, nowMs: number): void {
    const line = { definition: this.definition, projection: this.projection, nowMs: () => nowMs }
    const proofs = [...proofViews(line, LANGUAGE, PROOFS_MAX)].reverse()
    writeFileSync(join(folder, 'verifications.jsonl'), proofs.map((proof) => `${JSON.stringify(proof)}\n`).join(''))
    const intervals = intervalViews(line, [line], LANGUAGE).map((view) => ({ ...view, curves: intervalCurvesOf(line, view.id) }))
    this.writeJson(folder, 'intervals.json', { line: this.definition.line, intervals })
    const book = lineBook(line)
    const { timeZone } = this.definition
    const week = nowMs > 0 ? currentWeek([book], timeZone) : undefined
    const site: SiteBook = { books: [book], timeZone, titles: new Map([[this.definition.line, this.definition.title ?? this.definition.line]]), nowMs, week }
    const plan = week === undefined ? undefined : sitePlan(site, week)
    this.writeJson(folder, 'plan.json', plan === undefined ? {} : planView(site, plan, LANGUAGE))
    const report = { kind: 'week' as const, fromMs, untilMs: nowMs, timeZone, lines: [{ book, charts: this.charts() }], ...(plan === undefined ? {} : { plan }), costs: siteCosts(site, fromMs, nowMs) }
    writeFileSync(join(folder, 'report.html'), reportHtml(report, LANGUAGE))
  }

  /** Charts of the features that signalled or that a suggestion names. */
  private charts(): ReportChart[] {
    const named = new Set([...this.projection.allSuggestions().flatMap(({ features }) => features), ...this.signals.map(({ feature }) => feature)])
    return featureCatalogue(this.definition)
      .filter(({ feature }) => named.has(feature) && this.points.has(feature))
      .slice(0, CHARTS_MAX)
      .map(({ feature, unit }): ReportChart => ({ feature, unit, points: this.points.get(feature)?.points ?? [], signals: this.signals.filter((signal) => signal.feature === feature) }))
  }

  private writeJson(folder: string, name: string, body: unknown): void {
    writeFileSync(join(folder, name), `${JSON.stringify(body, null, 2)}\n`)
  }
}
