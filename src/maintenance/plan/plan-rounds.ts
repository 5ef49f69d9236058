import type { RoundEvent } from '../rounds/round-catalogue.js'
import { dueChecks } from '../rounds/round-schedule.js'
import { factsOf, type LineBook } from './line-book.js'

/** Checks of a week or month that are still due: they need people's time, and no stop of their own. */
export interface PlannedRound {
  readonly line: string
  readonly every: 'week' | 'month'
  readonly checks: readonly string[]
  readonly minutes: number
  /** Missed in the week or month before. */
  readonly overdue: number
  /** End of the week or month, ms UTC. */
  readonly dueByMs: number
}

/** Rounds of the week and month that are due on a line now; those of a shift and a day are the shift's own. */
export function plannedRounds(book: LineBook): PlannedRound[] {
  const fact = factsOf(book, 'rounds').at(-1)
  const known = {
    sinceMs: fact?.sinceMs ?? book.nowMs,
    lastMs: Object.fromEntries((fact?.last ?? []).map(({ check, timeMs }) => [check, timeMs])),
    events: Object.fromEntries((fact?.events ?? []).map(({ event, timeMs }) => [event, timeMs])) as Partial<Record<RoundEvent, number>>,
  }
  const due = dueChecks(book.definition, known, book.nowMs).filter(({ event }) => event === undefined)
  return (['week', 'month'] as const).flatMap((every): PlannedRound[] => {
    const checks = due.filter(({ check }) => check.every === every)
    if (checks.length === 0) return []
    return [
      {
        line: book.definition.line,
        every,
        checks: checks.map(({ check }) => check.check),
        minutes: checks.reduce((sum, { check }) => sum + check.minutes, 0),
        overdue: checks.filter(({ status }) => status === 'overdue').length,
        dueByMs: Math.max(...checks.map(({ dueByMs }) => dueByMs ?? book.nowMs)),
      },
    ]
  })
}
