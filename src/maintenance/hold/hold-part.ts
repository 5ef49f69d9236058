import type { FeatureEvidence } from '../../line/diagnosis.js'
import type { LineDefinition } from '../../line/line-definition.js'
import type { ChangeFact } from '../changes/change-fact.js'
import type { MaintenanceEntry } from '../maintenance-entry.js'
import type { MaintenanceFact } from '../maintenance-fact.js'
import type { MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../maintenance-part.js'
import { roundCheck } from '../rounds/round-catalogue.js'
import { FINDING_EXCEPTION } from '../rounds/rounds-part.js'
import type { RoundFact } from '../rounds/round-fact.js'
import type { Suggestion, WorkRecord } from '../suggestion.js'
import { isWork } from '../work-catalogue.js'
import { checkList } from './check-list.js'
import type { HoldEntry } from './hold-entry.js'
import type { HoldFact } from './hold-fact.js'
import { createHoldState, type HoldState, type OpenHold } from './hold-state.js'
import { SINGLE_MS_MIN, standingFeatures, unsettledSections, type StandingFeature } from './variation.js'

/** Production that is watched after the last check before the list counts as not having helped: a shift. */
export const WATCH_HOURS = 8
/** Production without variation after which it counts as gone. [ASM] */
const CALM_MS = 2 * 3_600_000
/** An engineer's word lasts this long at most; then the hold is back. */
const SUSPEND_MS_MAX = 14 * 24 * 3_600_000
/** Ticks come about every ten minutes; what lies further apart was no watching. */
const TICK_MS_MAX = 30 * 60_000
const CHANGES_KEPT = 50
/** Exempt recipes remembered, the last named. */
const EXEMPT_KEPT = 200
const OPEN: readonly Suggestion['status'][] = ['open', 'taken', 'put-off']

/**
 * Settings on hold. It begins when a line that was stable starts to vary: a suggestion that a fault leads is open, or
 * two independent mechanisms of one section stand off their normal, or one does through an hour and a half of
 * production. It ends when all checks are done and the variation stands after a shift of production, when the variation
 * has been gone for two hours of production, or, for a time, by an engineer's word.
 */
export function createHoldPart(definition: LineDefinition, snapshot: unknown): MaintenancePart {
  return new HoldPart(definition, structuredClone((snapshot as HoldState | undefined) ?? createHoldState()))
}

class HoldPart implements MaintenancePart {
  constructor(
    private readonly definition: LineDefinition,
    private readonly known: HoldState,
  ) {}

  snapshot(): unknown {
    return structuredClone(this.known)
  }

  suggestion({ id, status, causes, section, onsetMs }: Suggestion, context: MaintenanceContext, asks: MaintenanceAsks): void {
    const faults = causes.filter(({ kind }) => kind === 'fault')
    if (!OPEN.includes(status) || faults.length === 0) {
      delete this.known.suggestions[id]
      return
    }
    this.known.suggestions[id] = { section, onsetMs, causes: faults.slice(0, 3).flatMap(({ cause, members }): readonly string[] => members ?? [cause]) }
    if (this.known.settled.suggestions.includes(id)) return
    if (this.known.open === null) this.begin('hold.suggestion', context)
    this.refresh([])
    this.say(context, asks)
  }

  tick(evidence: readonly FeatureEvidence[], context: MaintenanceContext, asks: MaintenanceAsks): void {
    const { known } = this
    const passedMs = context.nowMs - known.tickMs
    const producedMs = context.state === 'production' && known.tickMs > 0 && passedMs > 0 ? Math.min(passedMs, TICK_MS_MAX) : 0
    known.tickMs = context.nowMs
    known.exempt = known.exempt.filter(({ untilMs }) => untilMs > context.nowMs)
    const standing = standingFeatures(this.definition, evidence)
    this.countStanding(standing, producedMs)
    known.settled = {
      suggestions: known.settled.suggestions.filter((id) => known.suggestions[id] !== undefined),
      features: known.settled.features.filter((feature) => standing.some((item) => item.feature === feature)),
    }
    const fresh = standing.filter(({ feature }) => !known.settled.features.includes(feature))
    if (known.open === null && this.isUnsettled(fresh)) this.begin(Object.keys(this.known.suggestions).some((id) => !known.settled.suggestions.includes(id)) ? 'hold.suggestion' : 'hold.signals', context)
    if (known.open === null) return
    this.refresh(fresh)
    this.judgeEnd(fresh, producedMs, context, asks)
  }

  entry(entry: MaintenanceEntry, context: MaintenanceContext, asks: MaintenanceAsks): void {
    if (entry.type !== 'hold') return
    const refuse = (reason: string, values: Record<string, number | string> = {}): void => asks.emit({ type: 'refused', id: `refused-${entry.id}`, timeMs: context.nowMs, entry: entry.id, reason, values })
    const reason = entry.action === 'end-early' ? this.endEarly(entry, context) : entry.action === 'explain-change' ? this.explain(entry) : this.exempt(entry, context)
    if (reason !== undefined) refuse(reason)
    else this.say(context, asks)
  }

  fact(fact: MaintenanceFact, context: MaintenanceContext, asks: MaintenanceAsks): void {
    switch (fact.type) {
      case 'round':
        this.takeRound(fact)
        break
      case 'record': {
        const { record, withdrawn } = fact
        const key = placeKey(record.work, record.zone)
        // What is taken back, or was of another work, counts no more.
        for (const [other, { record: id }] of Object.entries(this.known.worked)) if (id === record.id && (withdrawn || other !== key)) delete this.known.worked[other]
        const before = this.known.worked[key]
        if (!withdrawn && (before === undefined || record.timeMs >= before.timeMs || before.record === record.id)) this.known.worked[key] = { timeMs: record.timeMs, record: record.id, ...ownCheckOf(record) }
        break
      }
      case 'interval':
        this.known.usedInterval[placeKey(fact.work, fact.zone)] = fact.verdict === 'not-enough-history' ? Number.MAX_VALUE : fact.used
        break
      case 'change':
        this.takeChange(fact, context)
        break
      default:
        return
    }
    if (this.known.open !== null) this.say(context, asks)
  }

  private begin(because: string, { nowMs }: MaintenanceContext): void {
    this.known.open = {
      id: `hold-${nowMs}`, sinceMs: nowMs, onsetMs: nowMs, because, sections: [], suggestions: [], features: [], causes: [],
      allDoneMs: 0, watchedMs: 0, calmMs: 0, changes: [], suspendedUntilMs: 0, suspendedReason: '',
    }
  }

  /** What the hold rests on now; sections once under suspicion stay so until its end. */
  private refresh(standing: readonly StandingFeature[]): void {
    const { open, suggestions, settled } = this.known
    if (open === null) return
    const asking = Object.entries(suggestions).filter(([id]) => !settled.suggestions.includes(id))
    open.suggestions = asking.map(([id]) => id)
    if (standing.length > 0) open.features = [...new Set([...open.features, ...standing.map(({ feature }) => feature)])]
    open.sections = [...new Set([...open.sections, ...asking.map(([, { section }]) => section), ...standing.map(({ section }) => section)])]
    open.causes = [...new Set([...open.causes, ...asking.flatMap(([, { causes }]) => causes)])]
    const onsets = [...asking.map(([, { onsetMs }]) => onsetMs), ...standing.map(({ onsetMs }) => onsetMs)].filter((onsetMs) => onsetMs > 0)
    open.onsetMs = Math.min(open.onsetMs, ...onsets)
  }

  private countStanding(standing: readonly StandingFeature[], producedMs: number): void {
    const keys = new Set(standing.map(({ section, mechanism }) => `${section} ${mechanism}`))
    this.known.standingMs = Object.fromEntries([...keys].map((key) => [key, (this.known.standingMs[key] ?? 0) + producedMs]))
  }

  private isUnsettled(standing: readonly StandingFeature[]): boolean {
    const open = Object.keys(this.known.suggestions).some((id) => !this.known.settled.suggestions.includes(id))
    const lasting = standing.some(({ section, mechanism }) => (this.known.standingMs[`${section} ${mechanism}`] ?? 0) >= SINGLE_MS_MIN)
    return open || lasting || unsettledSections(standing).length > 0
  }

  private judgeEnd(standing: readonly StandingFeature[], producedMs: number, context: MaintenanceContext, asks: MaintenanceAsks): void {
    const open = this.known.open!
    const varies = open.suggestions.length > 0 || standing.length > 0
    open.calmMs = varies ? 0 : open.calmMs + producedMs
    if (open.suspendedUntilMs > 0 && context.nowMs >= open.suspendedUntilMs) {
      open.suspendedUntilMs = 0
      open.because = 'hold.back'
    }
    const done = checkList(this.definition, this.known, open).every((check) => check.done)
    if (!done) open.allDoneMs = open.watchedMs = 0
    else if (open.allDoneMs === 0) open.allDoneMs = context.nowMs
    else open.watchedMs += producedMs
    if (open.calmMs >= CALM_MS) this.end('hold.ended.gone', context, asks)
    else if (done && open.watchedMs >= WATCH_HOURS * 3_600_000 && varies) {
      this.known.settled = { suggestions: [...open.suggestions], features: standing.map(({ feature }) => feature) }
      this.end('hold.ended.checks-done', context, asks)
    } else this.say(context, asks)
  }

  private end(because: string, context: MaintenanceContext, asks: MaintenanceAsks): void {
    const open = this.known.open!
    asks.emit({ ...this.factOf(open, context), on: false, because })
    this.known.open = null
    this.known.said = ''
  }

  private endEarly({ reason, untilMs, by }: HoldEntry, { nowMs }: MaintenanceContext): string | undefined {
    const { open } = this.known
    if (open === null || open.suspendedUntilMs > nowMs) return 'hold.not-on'
    if (by === undefined) return 'hold.engineer-needed'
    if (untilMs === undefined || untilMs <= nowMs) return 'hold.until-needed'
    if (untilMs > nowMs + SUSPEND_MS_MAX) return 'hold.until-too-far'
    open.suspendedUntilMs = untilMs
    open.suspendedBy = by
    open.suspendedReason = reason
    return undefined
  }

  private explain({ change, reason }: HoldEntry): string | undefined {
    const { open } = this.known
    if (open?.changes.some(({ id }) => id === change) !== true) return 'hold.unknown-change'
    open.changes = open.changes.map((known) => (known.id === change ? { ...known, reason } : known))
    return undefined
  }

  private exempt({ recipe, reason, untilMs, by }: HoldEntry, context: MaintenanceContext): string | undefined {
    const named = recipe ?? context.recipe
    if (named === '') return 'hold.recipe-needed'
    if (by === undefined) return 'hold.engineer-needed'
    const until = Math.min(untilMs ?? context.nowMs + SUSPEND_MS_MAX, context.nowMs + SUSPEND_MS_MAX)
    if (until <= context.nowMs) return 'hold.until-needed'
    this.known.exempt = [...this.known.exempt.filter((known) => known.recipe !== named), { recipe: named, reason, untilMs: until }].slice(-EXEMPT_KEPT)
    return undefined
  }

  private takeRound(fact: RoundFact): void {
    for (const item of fact.items) {
      if (roundCheck(this.definition, item.check) === undefined) continue
      const key = placeKey(item.check, item.zone)
      const exception = fact.exceptions.find(({ check, zone }) => check === item.check && (zone === undefined || zone === item.zone))
      const newest = Math.max(this.known.passedMs[key] ?? 0, this.known.failed[key]?.timeMs ?? 0)
      if (fact.timeMs < newest) continue
      if (exception === undefined) {
        this.known.passedMs[key] = fact.timeMs
        delete this.known.failed[key]
        // A check without a zone speaks for all of them.
        if (item.zone === undefined) for (const other of Object.keys(this.known.failed)) if (other.startsWith(`${item.check}/`)) delete this.known.failed[other]
      } else this.known.failed[key] = { roundCheck: item.check, reason: exception.reason, timeMs: fact.timeMs, values: { ...exception.values, ...(item.zone === undefined ? {} : { zone: item.zone }) } }
    }
  }

  private takeChange(fact: ChangeFact, context: MaintenanceContext): void {
    if (fact.withdrawn === true) return
    this.known.changedMs[fact.change] = Math.max(this.known.changedMs[fact.change] ?? 0, fact.timeMs)
    const { open } = this.known
    if (open === null || fact.change !== 'set-point' || fact.channel === undefined || typeof fact.from !== 'number' || typeof fact.to !== 'number') return
    const reason = fact.text === undefined ? {} : { reason: fact.text }
    if (open.changes.some(({ id }) => id === fact.id)) open.changes = open.changes.map((known) => (known.id === fact.id ? { ...known, ...reason } : known))
    else if (fact.timeMs >= open.sinceMs && !this.known.exempt.some(({ recipe }) => recipe === context.recipe)) {
      open.changes = [...open.changes, { id: fact.id, timeMs: fact.timeMs, channel: fact.channel, from: fact.from, to: fact.to, ...reason }].slice(-CHANGES_KEPT)
    }
  }

  private factOf(open: OpenHold, { nowMs }: MaintenanceContext): HoldFact {
    const suspended = open.suspendedUntilMs > nowMs
    return {
      type: 'hold', id: open.id, timeMs: nowMs, on: !suspended, sinceMs: open.sinceMs, because: suspended ? 'hold.ended.engineer' : open.because, onsetMs: open.onsetMs,
      sections: open.sections, suggestions: open.suggestions, features: open.features, checks: checkList(this.definition, this.known, open), changes: open.changes,
      ...(open.allDoneMs > 0 ? { watchedHours: Math.round((open.watchedMs / 3_600_000) * 2) / 2, neededHours: WATCH_HOURS } : {}),
      ...(suspended ? { ...(open.suspendedBy === undefined ? {} : { by: open.suspendedBy }), reason: open.suspendedReason, untilMs: open.suspendedUntilMs } : {}),
    }
  }

  /** Says how the hold stands when that has changed. */
  private say(context: MaintenanceContext, asks: MaintenanceAsks): void {
    const { open } = this.known
    if (open === null) return
    const fact = this.factOf(open, context)
    // Kept as one text, where no name could be forgotten.
    const { by: _by, ...nameless } = fact
    const said = JSON.stringify({ ...nameless, timeMs: 0 })
    if (said === this.known.said) return
    this.known.said = said
    asks.emit(fact)
  }
}

/** What the record says of its own check by hand; of an inspection it is what was found, as at a round. */
function ownCheckOf({ work, finding, handCheck }: WorkRecord): { readonly handCheck?: 'passed' | 'failed' } {
  if (handCheck !== undefined) return { handCheck }
  return isWork(work) || finding === undefined ? {} : { handCheck: finding >= FINDING_EXCEPTION ? 'failed' : 'passed' }
}

function placeKey(name: string, zone: number | undefined): string {
  return zone === undefined ? name : `${name}/${zone}`
}
