import type { FeatureSummary, LineDetail, LineSummary, PointView, Problem, Reason, RefusedLine, RuleHitView, SignalView, StateView, SuggestionView } from './api-types.js'
import { canWait, keep, keepPhoto, marked, waitingPhotoOf } from './outbox.js'

/** An answer of the service that says no, with its own words. */
export class ApiError extends Error {
  constructor(
    readonly status: number,
    message: string,
  ) {
    super(message)
  }
}

/** Longer than any answer takes; a connection that has gone silent must not keep the page waiting for ever. */
const ANSWER_MS_MAX = 30_000

/** Asks the service; `path` lies below its API. */
export async function ask<T>(path: string, init?: RequestInit): Promise<T> {
  const response = await fetch(`./api/${path}`, { signal: AbortSignal.timeout(ANSWER_MS_MAX), ...init })
  const text = await response.text()
  if (!response.ok) {
    let problem: Problem = {}
    try {
      problem = JSON.parse(text) as Problem
    } catch {
      problem = { detail: text.slice(0, 200) }
    }
    throw new ApiError(response.status, problem.detail ?? problem.title ?? `HTTP ${response.status}`)
  }
  return JSON.parse(text) as T
}

/** Sends JSON, or the bytes of a photo, and gives the answer as it comes. */
export function postRaw(path: string, body: unknown): Promise<Response> {
  const sent = body instanceof Blob ? { headers: { 'content-type': 'application/octet-stream' }, body } : { headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) }
  return fetch(`./api/${path}`, { method: 'POST', ...sent, signal: AbortSignal.timeout(ANSWER_MS_MAX) })
}

/** The service did not hear it, or only what stands before the service did. */
function isOutOfReach(error: unknown): boolean {
  return !(error instanceof ApiError) || [502, 503, 504].includes(error.status)
}

/**
 * Sends JSON to the service. An entry, a record or a reply that cannot be sent now waits on this device; the answer is
 * then `{ waits: true }`.
 */
export async function post(path: string, body: unknown): Promise<unknown> {
  if (!canWait(path)) return ask(path, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })
  const sent = marked(body)
  const later = (): { readonly waits: true } => {
    keep(path, sent)
    return { waits: true }
  }
  // Its photo waits already and has to go first.
  if (waitingPhotoOf(sent) !== undefined) return later()
  try {
    return await ask(path, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(sent) })
  } catch (error) {
    if (!isOutOfReach(error)) throw error
    return later()
  }
}

/** Sends a photo; out of reach it waits on this device, and so does the entry that carries the answer. */
export async function postPhoto(path: string, photo: File): Promise<unknown> {
  try {
    return await ask(path, { method: 'POST', headers: { 'content-type': 'application/octet-stream' }, body: photo })
  } catch (error) {
    if (!isOutOfReach(error)) throw error
    return keepPhoto(path, photo)
  }
}

export const at = encodeURIComponent

/** Where replies to a suggestion go. */
export const replyPath = (suggestion: string): string => `suggestions/${at(suggestion)}/replies`

export const api = {
  /** Every line, and those that could not be opened; an answer kept by an earlier page does not tell of these. */
  lines: (): Promise<{ readonly lines: readonly LineSummary[]; readonly refused?: readonly RefusedLine[] }> => ask('lines'),
  line: (line: string, language: string): Promise<LineDetail> => ask(`lines/${at(line)}?lang=${at(language)}`),
  features: async (line: string, language: string): Promise<readonly FeatureSummary[]> =>
    (await ask<{ features: FeatureSummary[] }>(`lines/${at(line)}/features?lang=${at(language)}`)).features,
  /** The newest points, oldest first; with `from` only those at or after it. */
  points: async (line: string, feature: string, limit: number, from?: string): Promise<readonly PointView[]> =>
    (await ask<{ points: PointView[] }>(`lines/${at(line)}/points?feature=${at(feature)}&limit=${limit}${from === undefined ? '' : `&from=${at(from)}`}`)).points,
  ruleHits: async (line: string, feature: string): Promise<readonly RuleHitView[]> =>
    (await ask<{ ruleHits: RuleHitView[] }>(`lines/${at(line)}/rule-hits?feature=${at(feature)}&limit=500`)).ruleHits,
  signals: async (line: string, feature: string): Promise<readonly SignalView[]> =>
    (await ask<{ signals: SignalView[] }>(`lines/${at(line)}/signals?feature=${at(feature)}&limit=200`)).signals,
  states: async (line: string): Promise<readonly StateView[]> => (await ask<{ states: StateView[] }>(`lines/${at(line)}/states?limit=1000`)).states,
  /** All that still ask for work, however old, and the last answered ones. */
  suggestions: async (language: string): Promise<readonly SuggestionView[]> => {
    const of = async (query: string): Promise<readonly SuggestionView[]> => (await ask<{ suggestions: SuggestionView[] }>(`suggestions?lang=${at(language)}&${query}`)).suggestions
    const found = (await Promise.all([...['open', 'taken', 'put-off'].map((status) => of(`status=${status}&limit=1000`)), of('limit=60')])).flat()
    return [...new Map(found.map((suggestion) => [suggestion.id, suggestion])).values()]
  },
  suggestion: (id: string, language: string): Promise<SuggestionView> => ask(`suggestions/${at(id)}?lang=${at(language)}`),
  /** What the code of a printed card stands for. */
  card: (code: string): Promise<{ readonly kind: 'job' | 'suggestion'; readonly id: string } | { readonly kind: 'none' }> => ask(`cards/${at(code)}`),
  reasons: (language: string): Promise<{ putOff: readonly Reason[]; decline: readonly Reason[] }> => ask(`reasons?lang=${at(language)}`),
  reply: (suggestion: string, reply: Readonly<Record<string, unknown>>): Promise<unknown> => post(replyPath(suggestion), reply),
  decideBaseline: (line: string, decision: Readonly<Record<string, unknown>>): Promise<unknown> => post(`lines/${at(line)}/baselines`, decision),
}
