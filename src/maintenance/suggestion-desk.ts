import type { Diagnosis } from '../line/diagnosis.js'
import type { LineStateName } from '../line/feature-value.js'
import type { LineDefinition } from '../line/line-definition.js'
import { addFeedback, type CauseFeedback } from './cause-feedback.js'
import type { Suggestion, SuggestionReply, WorkRecord } from './suggestion.js'
import { answers, caseOf, foundBy, isSameCase, missingFollowUps, restsOnBoards, strongestOf, type DeskItem } from './suggestion-case.js'
import { suggestionId } from './suggestion-id.js'
import { urgencyWithOutlook, type SuggestionOutlook } from './suggestion-due.js'
import { confirmedCauses, isConfirmed, symptomsOf, urgencyOf, verdictOf, type Watch } from './suggestion-policy.js'
import { createTelling, isTold } from './suggestion-telling.js'
import { afterReply, isActive, refusalOf, withStatus, type ReplyAnswer } from './suggestion-replies.js'
import { cautionsFor, workForCauses } from './work-catalogue.js'

const HOUR_MS = 3_600_000
/** Diagnoses come every ten minutes; a longer gap is a stop of the data and counts as this much. */
const GAP_MS_MAX = 20 * 60_000
/** A suspicion that is away longer than this starts anew. */
const WATCH_PAUSE_MS = 0.75 * HOUR_MS
/** Counts of boards come every half hour or so, and after a night or another product it takes some before they say anything: production time. */
const BOARDS_PAUSE_MS = 3 * HOUR_MS
/** Production time without its symptoms after which a suggestion is withdrawn. [ASM] */
const QUIET_MS_TO_WITHDRAW = 8 * HOUR_MS
/** Production time without symptoms after which a closed case is forgotten and may be raised anew. [ASM] */
const QUIET_MS_TO_FORGET = 4 * HOUR_MS
/** Work done: its effect shows after the run-in and some windows; what still stands then may be raised anew. [ASM] */
const HOLD_AFTER_DONE_MS = 8 * HOUR_MS
/** A closed case is raised anew when its strongest symptom has grown so much. [ASM] */
const SEVERITY_STEP = 1.6
const CLOSED_KEPT = 100

/** A closed case that must not be raised again for the same trouble. */
interface ClosedCase {
  readonly features: readonly string[]
  readonly cause: string
  readonly zone?: number
  readonly status: Suggestion['status']
  readonly sigma: number
  quietMs: number
  /** Production time since it was closed, ms. */
  stoodMs: number
}

interface DeskState {
  version: 1
  lastMs: number
  items: DeskItem[]
  closed: ClosedCase[]
  watches: Record<string, Watch>
  feedback: Record<string, CauseFeedback>
}

export interface DeskContext {
  readonly timeMs: number
  readonly state: LineStateName
  readonly recipe: string
  /** By when the movement of a suggestion's features calls for work. */
  readonly outlook?: (features: readonly string[], zone: number | undefined) => SuggestionOutlook
}

export type EmitSuggestion = (suggestion: Suggestion) => void

/** Decides what reaches a person, and keeps what people answer. State is plain data, changed in place. */
export interface SuggestionDesk {
  /** Takes the diagnoses of one moment; may raise, update, wake or withdraw suggestions. */
  consider(diagnoses: readonly Diagnosis[], context: DeskContext, emit: EmitSuggestion): void
  reply(reply: SuggestionReply, timeMs: number, emit: EmitSuggestion): ReplyAnswer
  /** Takes work that was done; closes the suggestion it answers once no follow-up is missing. */
  record(record: WorkRecord, timeMs: number, emit: EmitSuggestion): void
  /** What was found of a suggestion later, e.g. by the proof of its work; nothing for one no longer known. */
  learn(suggestion: string, found: NonNullable<SuggestionReply['found']>): void
  /** Suggestions that wait for somebody: open, taken or put off. */
  open(): readonly Suggestion[]
  /** What people found, by cause: for learning the site's own likelihoods. */
  feedback(): Readonly<Record<string, CauseFeedback>>
  snapshot(): unknown
}

/**
 * The desk of one line.
 *
 * @param snapshot what `snapshot()` gave, after a JSON round trip or not; absent for a new line
 * @throws Error if the snapshot is of another version
 */
export function createSuggestionDesk(definition: LineDefinition, snapshot?: unknown): SuggestionDesk {
  return new Desk(definition, restore(definition, snapshot))
}

function restore(definition: LineDefinition, snapshot: unknown): DeskState {
  if (snapshot === undefined) return { version: 1, lastMs: 0, items: [], closed: [], watches: {}, feedback: {} }
  const state = snapshot as DeskState
  if (state.version !== 1) throw new Error(`suggestion desk of line "${definition.line}": snapshot version ${String(state.version)}; expected 1`)
  return copyOf(state)
}

function copyOf(state: DeskState): DeskState {
  return JSON.parse(JSON.stringify(state)) as DeskState
}

const NO_OUTLOOK = (): SuggestionOutlook => ({ exhausted: false })

class Desk implements SuggestionDesk {
  private outlookOf: NonNullable<DeskContext['outlook']> = NO_OUTLOOK

  constructor(
    private readonly definition: LineDefinition,
    private readonly state: DeskState,
  ) {}

  open(): readonly Suggestion[] {
    return this.state.items.filter((item) => isActive(item.suggestion)).map((item) => item.suggestion)
  }

  feedback(): Readonly<Record<string, CauseFeedback>> {
    return this.state.feedback
  }

  snapshot(): unknown {
    return copyOf(this.state)
  }

  consider(diagnoses: readonly Diagnosis[], context: DeskContext, emit: EmitSuggestion): void {
    const { timeMs } = context
    const passedMs = this.state.lastMs === 0 ? 0 : Math.min(GAP_MS_MAX, Math.max(0, timeMs - this.state.lastMs))
    // Channels are released each at its own pace: a look a few seconds back is no new time, one far back is a clock set back.
    if (timeMs > this.state.lastMs || this.state.lastMs - timeMs > GAP_MS_MAX) this.state.lastMs = timeMs
    this.outlookOf = context.outlook ?? NO_OUTLOOK
    this.wake(timeMs, emit)
    // Warm-up, changeover, idle and run-in explain themselves; nothing seen in them is blamed on dirt.
    if (context.state !== 'production') return
    const pending = diagnoses.filter((diagnosis) => verdictOf(diagnosis).kind !== 'nothing')
    this.pass(pending, passedMs, timeMs, emit)
    const seen = new Set<string>()
    for (const diagnosis of pending) this.take(diagnosis, passedMs, timeMs, seen, emit)
    for (const [key, watch] of Object.entries(this.state.watches)) {
      if (seen.has(key)) watch.awayMs = 0
      else watch.awayMs = (watch.awayMs ?? 0) + passedMs
      if (key === 'boards' ? watch.awayMs > BOARDS_PAUSE_MS : !seen.has(key) && timeMs - watch.lastMs > WATCH_PAUSE_MS) delete this.state.watches[key]
    }
  }

  /** Put-off time over: the suggestion is open again. */
  private wake(timeMs: number, emit: EmitSuggestion): void {
    for (const item of this.state.items) {
      const untilMs = item.suggestion.history.at(-1)?.untilMs
      if (item.suggestion.status === 'put-off' && untilMs !== undefined && timeMs >= untilMs) this.change(item, withStatus(item.suggestion, 'open', timeMs, { reason: 'put-off-over' }), emit)
    }
  }

  /** Lets time pass over open suggestions and closed cases whose symptoms are gone or stand. */
  private pass(pending: readonly Diagnosis[], passedMs: number, timeMs: number, emit: EmitSuggestion): void {
    for (const item of this.state.items) {
      if (!isActive(item.suggestion)) continue
      item.quietMs = pending.some((diagnosis) => isSameCase(diagnosis, caseOf(item))) ? 0 : item.quietMs + passedMs
      // What a person has taken stays with the person.
      if (item.quietMs >= QUIET_MS_TO_WITHDRAW && item.suggestion.status !== 'taken') {
        this.close(item, withStatus(item.suggestion, 'withdrawn', timeMs, { reason: 'symptoms-gone' }), emit)
      }
    }
    for (const closed of this.state.closed) {
      closed.stoodMs += passedMs
      closed.quietMs = pending.some((diagnosis) => isSameCase(diagnosis, closed)) ? 0 : closed.quietMs + passedMs
    }
    this.state.closed = this.state.closed.filter((closed) => closed.quietMs < QUIET_MS_TO_FORGET)
  }

  private take(diagnosis: Diagnosis, passedMs: number, timeMs: number, seen: Set<string>, emit: EmitSuggestion): void {
    const active = this.state.items.find((item) => isActive(item.suggestion) && isSameCase(diagnosis, caseOf(item)))
    if (active !== undefined) {
      // One look says one thing of a suggestion, also where two places show its cause.
      if (seen.has(active.suggestion.id)) return
      seen.add(active.suggestion.id)
      this.update(active, diagnosis, passedMs, timeMs, emit)
      return
    }
    const verdict = verdictOf(diagnosis)
    if (verdict.kind === 'nothing' || this.isHeldBack(diagnosis)) return
    // The watch is on the place, not on the cause: while causes change places in the lead, the trouble is the same.
    const key = restsOnBoards(diagnosis) ? 'boards' : `${diagnosis.causes[0]!.section} ${verdict.zone ?? ''} ${verdict.kind}`
    seen.add(key)
    const watch = this.watchOf(key, diagnosis, passedMs, timeMs)
    if (!isConfirmed(diagnosis, verdict.kind, watch, this.definition)) return
    delete this.state.watches[key]
    const lead = diagnosis.causes[0]!
    const id = suggestionId(this.definition.line, lead.cause, lead.zone, timeMs)
    if (this.state.items.some((item) => item.suggestion.id === id)) return
    const suggestion = this.compose(diagnosis, id, timeMs)
    this.state.items.push({ suggestion, quietMs: 0, worksDone: [] })
    emit(suggestion)
  }

  private watchOf(key: string, diagnosis: Diagnosis, passedMs: number, timeMs: number): Watch {
    const known = this.state.watches[key]
    if (known !== undefined) {
      if (timeMs > known.lastMs || known.lastMs - timeMs > GAP_MS_MAX) {
        known.stoodMs += passedMs
        known.lastMs = timeMs
      }
      for (const { feature, windows } of symptomsOf(diagnosis)) known.windowsAtFirst[feature] ??= windows
      return known
    }
    const windowsAtFirst = Object.fromEntries(symptomsOf(diagnosis).map(({ feature, windows }) => [feature, windows]))
    // Colder boards are seen before it is known which zone they are cold from.
    const before = diagnosis.causes[0]?.zone === undefined ? undefined : this.state.watches[key.replace(/ \d+ /, '  ')]
    return (this.state.watches[key] = { firstMs: timeMs, lastMs: timeMs, stoodMs: before?.stoodMs ?? 0, windowsAtFirst })
  }

  /** Closed cases are raised again only after their symptoms were gone, or grew by a step, or outlasted the work. */
  private isHeldBack(diagnosis: Diagnosis): boolean {
    const sigma = Math.abs(symptomsOf(diagnosis)[0]?.shiftSigma ?? 0)
    return this.state.closed.some((closed) => {
      if (!isSameCase(diagnosis, closed)) return false
      if (closed.status === 'done') return closed.stoodMs < HOLD_AFTER_DONE_MS
      return closed.status === 'declined' || sigma < closed.sigma * SEVERITY_STEP
    })
  }

  private update(item: DeskItem, diagnosis: Diagnosis, passedMs: number, timeMs: number, emit: EmitSuggestion): void {
    const { suggestion } = item
    // What somebody has taken in hand or put off is left as they know it.
    if (suggestion.status !== 'open') return
    const next: Suggestion = { ...this.compose(diagnosis, suggestion.id, timeMs), raisedMs: suggestion.raisedMs, onsetMs: Math.min(suggestion.onsetMs, diagnosis.onsetMs), status: suggestion.status, statusMs: suggestion.statusMs, history: suggestion.history }
    item.last = { features: next.features, sigma: strongestOf(next) }
    if (isTold(suggestion, next, (item.telling ??= createTelling()), passedMs)) this.change(item, next, emit)
  }

  private compose(diagnosis: Diagnosis, id: string, timeMs: number): Suggestion {
    const lead = diagnosis.causes[0]!
    const work = workForCauses(diagnosis.causes)
    const outlook = this.outlookOf(diagnosis.features, lead.zone)
    return {
      id,
      line: this.definition.line,
      raisedMs: timeMs,
      section: lead.section,
      ...(lead.zone === undefined ? {} : { zone: lead.zone }),
      causes: confirmedCauses(diagnosis),
      evidence: [...diagnosis.evidence, ...(outlook.evidence ?? [])],
      checkFirst: diagnosis.checkFirst,
      work,
      cautions: cautionsFor(work, diagnosis.checkFirst.check),
      onsetMs: diagnosis.onsetMs,
      abstains: diagnosis.abstains,
      urgency: urgencyWithOutlook(urgencyOf(diagnosis, this.definition), outlook, timeMs),
      ...(outlook.due === undefined ? {} : { due: outlook.due }),
      invisible: diagnosis.invisible,
      ...(diagnosis.channelThatWouldTell === undefined ? {} : { channelThatWouldTell: diagnosis.channelThatWouldTell }),
      features: diagnosis.features,
      status: 'open',
      statusMs: timeMs,
      history: [{ timeMs, status: 'open' }],
    }
  }

  reply(reply: SuggestionReply, timeMs: number, emit: EmitSuggestion): ReplyAnswer {
    const item = this.state.items.find((candidate) => candidate.suggestion.id === reply.suggestion)
    if (item === undefined) return { kind: 'refused', reason: 'unknown-suggestion' }
    if (reply.id !== undefined && item.suggestion.history.some((change) => change.reply === reply.id)) return { kind: 'repeated' }
    const refusal = refusalOf(item.suggestion, reply, timeMs, this.definition.siteWork?.safetyPutOffDays)
    if (refusal !== undefined) return { kind: 'refused', reason: refusal }
    // A washed chain without lubricant must not be called done.
    if (reply.action === 'done' && missingFollowUps(item).length > 0) return { kind: 'refused', reason: 'follow-up-missing' }
    const next = afterReply(item.suggestion, reply, timeMs)
    if (reply.action === 'done' && reply.found !== undefined) addFeedback(this.state.feedback, item.suggestion, reply.found)
    if (reply.action === 'decline' && reply.reason === 'checked-and-clean') addFeedback(this.state.feedback, item.suggestion, 'nothing-found')
    if (isActive(next)) this.change(item, next, emit)
    else this.close(item, next, emit)
    return { kind: 'accepted' }
  }

  record(record: WorkRecord, timeMs: number, emit: EmitSuggestion): void {
    for (const item of this.state.items) {
      if (!isActive(item.suggestion) || !answers(record, timeMs, item.suggestion)) continue
      item.worksDone.push(record.work)
      const by = record.by === undefined ? {} : { by: record.by }
      if (missingFollowUps(item).length > 0) {
        if (item.suggestion.status !== 'taken') this.change(item, withStatus(item.suggestion, 'taken', timeMs, { reason: 'work-begun', ...by }), emit)
        continue
      }
      const found = foundBy(record)
      if (found !== undefined) addFeedback(this.state.feedback, item.suggestion, found)
      this.close(item, withStatus(item.suggestion, 'done', timeMs, { reason: 'recorded', ...by }), emit)
    }
  }

  learn(suggestion: string, found: NonNullable<SuggestionReply['found']>): void {
    const item = this.state.items.find((candidate) => candidate.suggestion.id === suggestion)
    if (item !== undefined) addFeedback(this.state.feedback, item.suggestion, found)
  }

  private change(item: DeskItem, next: Suggestion, emit: EmitSuggestion): void {
    item.suggestion = next
    emit(next)
  }

  private close(item: DeskItem, next: Suggestion, emit: EmitSuggestion): void {
    this.change(item, next, emit)
    const lead = next.causes[0]!
    const sigma = item.last?.sigma ?? strongestOf(next)
    this.state.closed.push({ features: caseOf(item).features, cause: lead.cause, ...(lead.zone === undefined ? {} : { zone: lead.zone }), status: next.status, sigma, quietMs: 0, stoodMs: 0 })
    const closedItems = this.state.items.filter((other) => !isActive(other.suggestion))
    const dropped = new Set(closedItems.slice(0, Math.max(0, closedItems.length - CLOSED_KEPT)))
    this.state.items = this.state.items.filter((other) => !dropped.has(other))
  }
}
