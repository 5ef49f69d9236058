import { isWork, workItem } from './work-catalogue.js'
import type { Suggestion, SuggestionChange, SuggestionReply, SuggestionStatus } from './suggestion.js'

/** Why a suggestion is put off; texts in the wording. */
export const PUT_OFF_REASONS = ['no-time-now', 'no-people', 'parts-missing', 'planned-stop-soon', 'order-must-finish', 'other'] as const
/** Why a suggestion is declined. */
export const DECLINE_REASONS = ['checked-and-clean', 'known-cause', 'sensor-wrong', 'changed-on-purpose', 'already-done', 'other'] as const

/** Why a reply was not taken. */
export type ReplyRefusal =
  | 'unknown-suggestion'
  | 'unknown-action'
  | 'already-closed'
  | 'already-taken'
  | 'reason-missing'
  | 'unknown-reason'
  | 'until-missing'
  | 'until-in-the-past'
  | 'until-too-far'
  | 'engineer-needed'
  | 'found-before-done'
  | 'follow-up-missing'

/** A reply that comes again under the same id is accepted and changes nothing. */
export type ReplyAnswer = { readonly kind: 'accepted' } | { readonly kind: 'repeated' } | { readonly kind: 'refused'; readonly reason: ReplyRefusal }

/** A suggestion can be put off for at most so long: after a quarter its evidence is another. */
export const PUT_OFF_MS_MAX = 90 * 86_400_000

/** From which states an action leads on, and where to. */
const TRANSITIONS: Readonly<Record<SuggestionReply['action'], { readonly from: readonly SuggestionStatus[]; readonly to: SuggestionStatus }>> = {
  take: { from: ['open', 'put-off'], to: 'taken' },
  'put-off': { from: ['open', 'taken', 'put-off'], to: 'put-off' },
  decline: { from: ['open', 'taken', 'put-off'], to: 'declined' },
  done: { from: ['open', 'taken', 'put-off'], to: 'done' },
}

const CLOSED: readonly SuggestionStatus[] = ['declined', 'done', 'withdrawn']

/** Whether a suggestion still waits for somebody. */
export function isActive(suggestion: Suggestion): boolean {
  return !CLOSED.includes(suggestion.status)
}

/** Filter, ducts, seals: put off longer only by a named engineer, days after the suggestion was raised. [ASM] */
const SAFETY_PUT_OFF_DAYS = 7

/**
 * What speaks against a reply to a suggestion as it stands; undefined where nothing does.
 * @param safetyPutOffDays the site's own limit for safety work, days
 */
export function refusalOf(suggestion: Suggestion, reply: SuggestionReply, timeMs: number, safetyPutOffDays = SAFETY_PUT_OFF_DAYS): ReplyRefusal | undefined {
  if (!Object.hasOwn(TRANSITIONS, reply.action)) return 'unknown-action'
  if (!isActive(suggestion)) return 'already-closed'
  if (!TRANSITIONS[reply.action].from.includes(suggestion.status)) return 'already-taken'
  if (reply.found !== undefined && reply.action !== 'done') return 'found-before-done'
  if (reply.action === 'put-off') return reasonRefusal(reply.reason, PUT_OFF_REASONS) ?? untilRefusal(reply.untilMs, timeMs) ?? safetyRefusal(suggestion, reply, safetyPutOffDays)
  if (reply.action === 'decline') return reasonRefusal(reply.reason, DECLINE_REASONS)
  return undefined
}

function reasonRefusal(reason: string | undefined, known: readonly string[]): ReplyRefusal | undefined {
  if (reason === undefined) return 'reason-missing'
  return known.includes(reason) ? undefined : 'unknown-reason'
}

function untilRefusal(untilMs: number | undefined, timeMs: number): ReplyRefusal | undefined {
  if (untilMs === undefined || !Number.isFinite(untilMs)) return 'until-missing'
  if (untilMs <= timeMs) return 'until-in-the-past'
  return untilMs - timeMs > PUT_OFF_MS_MAX ? 'until-too-far' : undefined
}

function safetyRefusal({ work, raisedMs }: Suggestion, { untilMs, engineer }: SuggestionReply, days: number): ReplyRefusal | undefined {
  const [first] = work
  // The first job is that of the leading cause; what comes behind it is no reason to ask for an engineer.
  const safety = first !== undefined && isWork(first) && workItem(first).safety
  return safety && engineer === undefined && untilMs! > raisedMs + days * 86_400_000 ? 'engineer-needed' : undefined
}

/** The suggestion after a reply that nothing speaks against. */
export function afterReply(suggestion: Suggestion, reply: SuggestionReply, timeMs: number): Suggestion {
  const { to } = TRANSITIONS[reply.action]
  const reason = reply.action === 'done' ? reply.found : reply.reason
  return withStatus(suggestion, to, timeMs, { ...(reason === undefined ? {} : { reason }), ...(reply.action === 'put-off' ? { untilMs: reply.untilMs! } : {}), ...(reply.by === undefined ? {} : { by: reply.by }), ...(reply.id === undefined ? {} : { reply: reply.id }) })
}

/** A suggestion with a new status, noted in its history. */
export function withStatus(suggestion: Suggestion, status: SuggestionStatus, timeMs: number, details: Omit<SuggestionChange, 'timeMs' | 'status'> = {}): Suggestion {
  return { ...suggestion, status, statusMs: timeMs, history: [...suggestion.history, { timeMs, status, ...details }] }
}
