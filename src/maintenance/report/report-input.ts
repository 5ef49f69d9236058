import type { CostTable } from '../cost/cost-table.js'
import type { LineBook } from '../plan/line-book.js'
import type { WeekPlan } from '../plan/week-plan.js'

export type ReportKind = 'hand-over' | 'week' | 'audit'

/** A chart of the report: points of one feature in time order, in its unit. */
export interface ReportChart {
  readonly feature: string
  readonly unit: string
  readonly points: readonly { readonly timeMs: number; readonly value: number; readonly centre: number; readonly lower: number; readonly upper: number }[]
  /** Times of signals, ms UTC. */
  readonly signals: readonly { readonly timeMs: number; readonly onsetMs: number; readonly side: 'above' | 'below' }[]
}

export interface ReportLine {
  readonly book: LineBook
  readonly charts: readonly ReportChart[]
}

/** Everything a report is made of; nothing is read from elsewhere. */
export interface ReportInput {
  readonly kind: ReportKind
  /** Name of the site, where it has one. */
  readonly site?: string
  /** Period, ms UTC. */
  readonly fromMs: number
  readonly untilMs: number
  /** Zone of all times that are written. */
  readonly timeZone: string
  readonly lines: readonly ReportLine[]
  /** Week that comes next, or the one in hand. */
  readonly plan?: WeekPlan
  readonly costs?: CostTable
}
