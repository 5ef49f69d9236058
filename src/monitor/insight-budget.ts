import type { FeatureSpec } from '../line/features/feature-spec.js'
import type { LineDefinition } from '../line/line-definition.js'
import type { Suggestion, WorkRecord } from '../maintenance/suggestion.js'
import { auditBudget } from '../spc/budget.js'
import type { BudgetInsight } from './insight.js'

/** Production hours the budgets of a week are meant for, as in the feature catalogue. */
const HOURS_PER_WEEK = 80
const WEEK_MS = 7 * 24 * 3_600_000
const DAY_MS = 24 * 3_600_000
const HOUR_MS = 3_600_000
/** A step of time between two looks counts no longer than this: what lies in a gap was not watched. */
const LOOK_MS_MAX = 20 * 60_000
/** Signals of a week that are looked at one by one; further ones are counted as unexplained. */
const MARKS_MAX = 200

interface SignalMark {
  readonly feature: string
  readonly section: string
  readonly zone: number
  readonly timeMs: number
  explained: boolean
}

/** Plain JSON. */
export interface BudgetState {
  /** Begin of the running week, ms UTC; 0 before the first look. */
  fromMs: number
  lastMs: number
  saidMs: number
  productionMs: number
  expected: number
  signals: number
  suggestions: number
  marks: SignalMark[]
  /** Signals beyond those kept one by one. */
  unmarked: number
  /** Of the weeks that are over. */
  totalProductionMs: number
  totalExpected: number
  totalUnexplained: number
}

export function createBudgetState(): BudgetState {
  return { fromMs: 0, lastMs: 0, saidMs: 0, productionMs: 0, expected: 0, signals: 0, suggestions: 0, marks: [], unmarked: 0, totalProductionMs: 0, totalExpected: 0, totalUnexplained: 0 }
}

/** A point was judged by limits whose chart set gives one false signal in `arl0` points. */
export function chargePoint(state: BudgetState, arl0: number): void {
  state.expected += 1 / arl0
}

export function countSignal(state: BudgetState, spec: FeatureSpec, timeMs: number): void {
  state.signals += 1
  if (state.marks.length >= MARKS_MAX) state.unmarked += 1
  else state.marks.push({ feature: spec.feature, section: spec.section, zone: spec.zone ?? 0, timeMs, explained: false })
}

/** A suggestion explains the signals it rests on; only its raising counts. */
export function countSuggestion(state: BudgetState, suggestion: Suggestion, timeMs: number): void {
  if (suggestion.status === 'open' && suggestion.raisedMs === timeMs && suggestion.history.length === 1) state.suggestions += 1
  for (const mark of state.marks) if (suggestion.features.includes(mark.feature)) mark.explained = true
}

/** Work recorded in a section explains the signals of its place. */
export function explainByRecord(state: BudgetState, record: WorkRecord): void {
  for (const mark of state.marks) if (mark.section === record.section && (record.zone === undefined || mark.zone === record.zone)) mark.explained = true
}

/** Lets the time pass, and says the running week once a day and a finished one at its end. */
export function stepBudget(state: BudgetState, definition: LineDefinition, timeMs: number, producing: boolean, say: (insight: BudgetInsight) => void): void {
  // Results that come late bring an earlier time; only a clock that was set back begins the week anew.
  if (state.fromMs === 0 || timeMs < state.lastMs - DAY_MS) state.fromMs = state.saidMs = state.lastMs = timeMs
  else if (timeMs <= state.lastMs) return
  else if (producing) state.productionMs += Math.min(LOOK_MS_MAX, timeMs - state.lastMs)
  state.lastMs = timeMs
  if (timeMs - state.fromMs >= WEEK_MS) {
    say(auditOf(state, definition, timeMs, true))
    endWeek(state, timeMs)
  } else if (timeMs - state.saidMs >= DAY_MS) {
    say(auditOf(state, definition, timeMs, false))
    state.saidMs = timeMs
  }
}

function unexplainedOf(state: BudgetState): number {
  return state.unmarked + state.marks.filter(({ explained }) => !explained).length
}

function auditOf(state: BudgetState, { budget }: LineDefinition, timeMs: number, complete: boolean): BudgetInsight {
  const productionHours = state.productionMs / HOUR_MS
  const unexplained = unexplainedOf(state)
  const weeks = (state.totalProductionMs + state.productionMs) / HOUR_MS / HOURS_PER_WEEK
  const total = { weeks, expectedSignals: state.totalExpected + state.expected, unexplained: state.totalUnexplained + unexplained }
  return {
    type: 'budget',
    timeMs,
    fromMs: state.fromMs,
    complete,
    productionHours,
    expectedSignals: state.expected,
    signals: state.signals,
    expectedSuggestions: (budget.falseSuggestionsPerWeek * productionHours) / HOURS_PER_WEEK,
    suggestions: state.suggestions,
    unexplained,
    total: { ...total, verdict: auditBudget(budget.falseSignalsPerWeek, { falseSignals: total.unexplained, weeks }).kind },
  }
}

function endWeek(state: BudgetState, timeMs: number): void {
  state.totalProductionMs += state.productionMs
  state.totalExpected += state.expected
  state.totalUnexplained += unexplainedOf(state)
  Object.assign(state, { fromMs: timeMs, saidMs: timeMs, productionMs: 0, expected: 0, signals: 0, suggestions: 0, marks: [], unmarked: 0 })
}
