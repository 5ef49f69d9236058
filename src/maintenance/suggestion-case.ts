import type { Diagnosis } from '../line/diagnosis.js'
import type { Suggestion, SuggestionReply, WorkRecord } from './suggestion.js'
import type { Telling } from './suggestion-telling.js'
import { isWork, workItem } from './work-catalogue.js'

/** A suggestion on the desk. Plain data. */
export interface DeskItem {
  suggestion: Suggestion
  /** Production time without symptoms, ms. */
  quietMs: number
  worksDone: string[]
  /** What people have been told of its changes; absent before the first look after it was raised. */
  telling?: Telling
  /** Its symptoms at the last look and the sigmas of the strongest, which may be others than people were told. */
  last?: { readonly features: readonly string[]; readonly sigma: number }
}

/** Jobs that were recorded and whose follow-up was not recorded after them. */
export function missingFollowUps(item: DeskItem): string[] {
  return item.worksDone.filter((id, index) => {
    const next = isWork(id) ? workItem(id).followedBy : undefined
    return next !== undefined && !item.worksDone.slice(index + 1).includes(next)
  })
}

/** What a finding of 0 (clean) to 4 (blocked) says of the suggestion; a trace of dirt says nothing either way. */
export function foundBy({ finding }: WorkRecord): SuggestionReply['found'] {
  if (finding === undefined || finding === 1) return undefined
  return finding === 0 ? 'nothing-found' : 'confirmed'
}

/** A record answers the suggestion it names. One that names none answers what its work is for, unless it was done before that began: it is told late. */
export function answers(record: WorkRecord, doneMs: number, suggestion: Suggestion): boolean {
  if (record.suggestion !== undefined) return record.suggestion === suggestion.id
  return doneMs >= suggestion.onsetMs && record.section === suggestion.section && record.zone === suggestion.zone && suggestion.work.includes(record.work)
}

/** An open suggestion with the symptoms it has come to have since people were told. */
export function caseOf({ suggestion, last }: DeskItem): CaseMark {
  return last === undefined ? suggestion : { ...suggestion, features: [...new Set([...suggestion.features, ...last.features])] }
}

export function strongestOf({ evidence }: Suggestion): number {
  return evidence.reduce((most, { values }) => Math.max(most, Math.abs(Number(values['shiftSigma'] ?? 0))), 0)
}

/** Nothing but the boards speaks. */
export function restsOnBoards({ features }: Diagnosis): boolean {
  return features.length > 0 && features.every((feature) => feature.startsWith('board.defects.'))
}

export interface CaseMark {
  readonly features: readonly string[]
  readonly causes?: Suggestion['causes']
  readonly cause?: string
  readonly zone?: number | undefined
}

/** The same trouble: a symptom in common, or the same cause in the same place. */
export function isSameCase(diagnosis: Diagnosis, mark: CaseMark): boolean {
  if (diagnosis.features.some((feature) => mark.features.includes(feature))) return true
  const lead = diagnosis.causes[0]
  const known = mark.cause ?? mark.causes?.[0]?.cause
  return lead !== undefined && lead.kind === 'fault' && lead.cause === known && lead.zone === mark.zone
}
