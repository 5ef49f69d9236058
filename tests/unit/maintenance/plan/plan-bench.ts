import { parseLineDefinition, type LineDefinition, type LineDefinitionInput } from '../../../../src/line/line-definition.js'
import type { IntervalFact } from '../../../../src/maintenance/intervals/interval-fact.js'
import type { JobFact } from '../../../../src/maintenance/jobs/job-fact.js'
import type { MaintenanceFact } from '../../../../src/maintenance/maintenance-fact.js'
import type { LineBook } from '../../../../src/maintenance/plan/line-book.js'
import type { Suggestion, WorkRecord } from '../../../../src/maintenance/suggestion.js'
import { workItem } from '../../../../src/maintenance/work-catalogue.js'

/** Monday 23 November 2026, 05:00 UTC, in ISO week 48. */
export const MONDAY_MS = Date.UTC(2026, 10, 23, 5)
export const WEEK = '2026-W48'
export const HOUR_MS = 3_600_000
export const DAY_MS = 24 * HOUR_MS

export function definitionOf(input: Partial<LineDefinitionInput> = {}): LineDefinition {
  const parsed = parseLineDefinition({ line: 'line-a', ...input })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  return parsed.definition
}

export const EARLY_SHIFT = { name: 'early', days: ['mon', 'tue', 'wed', 'thu', 'fri'], start: '06:00', end: '14:00', people: 2 } as const
export const SATURDAY = { name: 'saturday', days: ['sat'], start: '06:00', end: '18:00', people: 2, production: false } as const
export const SUNDAY = { name: 'sunday', days: ['sun'], start: '06:00', end: '18:00', people: 2, production: false } as const

export function bookOf(input: Partial<LineDefinitionInput> = {}, facts: readonly MaintenanceFact[] = [], suggestions: readonly Suggestion[] = []): LineBook {
  return { definition: definitionOf({ shifts: [{ ...EARLY_SHIFT, days: [...EARLY_SHIFT.days] }], ...input }), nowMs: MONDAY_MS, suggestions, facts }
}

export function intervalOf(work: string, used: number, more: Partial<IntervalFact> = {}): IntervalFact {
  const { section } = workItem(work)
  const interval = 336
  return { type: 'interval', id: `interval-${work}-${more.zone ?? ''}`, timeMs: MONDAY_MS, work, section, scale: 'calendar-hours', interval, startInterval: interval, verdict: 'keep', events: 5, censored: 1, safety: false, because: [], age: used * interval, used, ...more }
}

export function jobOf(work: string, more: Partial<JobFact> = {}): JobFact {
  return { type: 'job', id: `job-${work}`, timeMs: MONDAY_MS - DAY_MS, work, section: workItem(work).section, status: 'open', statusMs: MONDAY_MS - DAY_MS, raisedMs: MONDAY_MS - DAY_MS, source: 'entry', safety: false, holders: [], begun: false, returnSteps: [], urgency: 'soon', history: [], ...more }
}

export function recordFactOf(work: string, more: Partial<WorkRecord> = {}): Extract<MaintenanceFact, { type: 'record' }> {
  const record: WorkRecord = { id: `record-${work}-${more.timeMs ?? 0}`, timeMs: MONDAY_MS - 10 * DAY_MS, section: workItem(work).section, work, ...more }
  return { type: 'record', id: record.id, timeMs: record.timeMs, record, earlier: [], withdrawn: false }
}

export function suggestionOf(work: readonly string[], more: Partial<Suggestion> = {}): Suggestion {
  const first = work[0] ?? 'clean-vents'
  return {
    id: `suggestion-${first}`, line: 'line-a', raisedMs: MONDAY_MS - DAY_MS, section: workItem(first).section, causes: [{ cause: 'blocked-vents', probability: 0.7, kind: 'fault', section: 'preheat' }], evidence: [], checkFirst: { check: 'look-at-vents', minutes: 5, needsElectrician: false }, work, cautions: ['other-rules-win'], onsetMs: MONDAY_MS - 2 * DAY_MS, abstains: false, urgency: 'plan', invisible: [], features: [], status: 'open', statusMs: MONDAY_MS - DAY_MS, history: [], ...more,
  } as Suggestion
}
