import type { Suggestion, SuggestionReply } from './suggestion.js'

/** How often people found what a suggestion said, and which features had moved then. Plain data. */
export interface CauseFeedback {
  confirmed: number
  somethingElse: number
  nothingFound: number
  /** Weights it had in suggestions of other causes at whose check nothing was found; absent in older records: 0. */
  ruledOut?: number
  /** Of the confirmed cases, by feature pattern: how often it had moved up, down, or should have and had not. */
  features: Record<string, { up: number; down: number; quiet: number }>
}

/** Notes what was found of a suggestion, for its leading cause, and for the others where nothing was; the record is changed in place. */
export function addFeedback(feedback: Record<string, CauseFeedback>, suggestion: Suggestion, found: NonNullable<SuggestionReply['found']>): void {
  const lead = suggestion.causes[0]
  if (lead === undefined || lead.kind !== 'fault') return
  const counts = countsOf(feedback, lead.cause)
  if (found === 'something-else') counts.somethingElse += 1
  if (found === 'nothing-found') counts.nothingFound += 1
  if (found === 'nothing-found') {
    for (const { cause, kind, probability } of suggestion.causes.slice(1)) {
      if (kind !== 'fault') continue
      const other = countsOf(feedback, cause)
      other.ruledOut = (other.ruledOut ?? 0) + probability
    }
  }
  if (found !== 'confirmed') return
  counts.confirmed += 1
  for (const { feature, key } of suggestion.evidence) {
    const way = key === 'evidence.up' ? 'up' : key === 'evidence.down' ? 'down' : key === 'evidence.quiet' ? 'quiet' : undefined
    if (way === undefined) continue
    const pattern = feature.replace(/zone-\d+/, 'zone-<n>')
    const seen = (counts.features[pattern] ??= { up: 0, down: 0, quiet: 0 })
    seen[way] += 1
  }
}

function countsOf(feedback: Record<string, CauseFeedback>, cause: string): CauseFeedback {
  return (feedback[cause] ??= { confirmed: 0, somethingElse: 0, nothingFound: 0, features: {} })
}
