import type { EvidenceItem } from '../line/diagnosis.js'
import type { Suggestion } from './suggestion.js'

/** By when a drift calls for work: its limit is reached at the earliest and most likely then, or it is too early to date. */
export type SuggestionDue = { readonly kind: 'date'; readonly earliestMs: number; readonly likelyMs: number } | { readonly kind: 'too-early' }

/** What the movement of its features says of a suggestion. */
export interface SuggestionOutlook {
  /** A heater is at its stop and the zone is off its set-point: nothing is left to make up for the fault. */
  readonly exhausted: boolean
  readonly due?: SuggestionDue
  /** What result and effort of a control loop say together. */
  readonly evidence?: readonly EvidenceItem[]
}

const DAY_MS = 86_400_000
/** What may reach its limit within so many days is soon; what cannot within a fortnight can be planned. [ASM] */
const DAYS_SOON = 2
const DAYS_PLAN = 14
/** Days from raising to the date that is named, by class. [ASM] */
const DAYS_BY_URGENCY = { urgent: 0, soon: DAYS_SOON, plan: DAYS_PLAN } as const

/** By when the work is wanted, ms UTC: before the limit may be reached, never later than its class asks for. */
export function wantedByMs({ urgency, raisedMs, due }: Pick<Suggestion, 'urgency' | 'raisedMs' | 'due'>): number {
  const usualMs = raisedMs + DAYS_BY_URGENCY[urgency] * DAY_MS
  return due?.kind === 'date' ? Math.max(raisedMs, Math.min(usualMs, due.earliestMs)) : usualMs
}

/** Severity with the outlook: a heater at its stop is urgent, a limit within days is soon, one far ahead is planned. */
export function urgencyWithOutlook(urgency: Suggestion['urgency'], outlook: SuggestionOutlook, timeMs: number): Suggestion['urgency'] {
  if (urgency === 'urgent' || outlook.exhausted) return 'urgent'
  if (outlook.due?.kind !== 'date') return urgency
  const days = (outlook.due.earliestMs - timeMs) / DAY_MS
  if (days <= DAYS_SOON) return 'soon'
  return days > DAYS_PLAN ? 'plan' : urgency
}
