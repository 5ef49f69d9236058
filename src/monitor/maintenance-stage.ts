import type { Diagnosis, FeatureEvidence } from '../line/diagnosis.js'
import { historyFactor, type CleaningHistory } from '../line/diagnosis/cause-priors.js'
import type { FeatureValue } from '../line/feature-value.js'
import type { LineDefinition } from '../line/line-definition.js'
import type { Reading } from '../line/reading.js'
import type { LineStateChange } from '../line/state/line-state-change.js'
import type { MaintenanceEntry } from '../maintenance/maintenance-entry.js'
import type { MaintenanceFact } from '../maintenance/maintenance-fact.js'
import type { ChartedValue, LearnedLevel, MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../maintenance/maintenance-part.js'
import type { Suggestion, SuggestionReply, WorkRecord } from '../maintenance/suggestion.js'
import { MAINTENANCE_PARTS } from './maintenance-parts.js'

/** A fact leads to others at most so often in one step; parts that answer each other for ever are a fault of ours. */
const FACTS_PER_STEP_MAX = 2000

/** What the stage gives back to the line. */
export interface MaintenanceSink {
  readonly fact: (fact: MaintenanceFact) => void
  readonly chart: (value: FeatureValue) => void
  readonly learnCause: MaintenanceAsks['learnCause']
}

/** Entries whose ids are remembered, so that one sent again counts once. */
const ENTRIES_KEPT = 2000

type Handler = Exclude<keyof MaintenancePart, 'snapshot' | 'fact' | 'explains' | 'priors'>

/** All parts of the maintenance side of one line, in order. */
export interface MaintenanceStage {
  reading(reading: Reading, context: MaintenanceContext, sink: MaintenanceSink): void
  value(value: ChartedValue, context: MaintenanceContext, sink: MaintenanceSink): void
  state(change: LineStateChange, context: MaintenanceContext, sink: MaintenanceSink): void
  entry(entry: MaintenanceEntry, context: MaintenanceContext, sink: MaintenanceSink): void
  record(record: WorkRecord, context: MaintenanceContext, sink: MaintenanceSink): void
  reply(reply: SuggestionReply, context: MaintenanceContext, sink: MaintenanceSink): void
  suggestion(suggestion: Suggestion, context: MaintenanceContext, sink: MaintenanceSink): void
  tick(evidence: readonly FeatureEvidence[], context: MaintenanceContext, sink: MaintenanceSink): void
  level(level: LearnedLevel, context: MaintenanceContext, sink: MaintenanceSink): void
  /** Whether work that was done explains all a diagnosis rests on. */
  explains(diagnosis: Diagnosis, context: MaintenanceContext): boolean
  /** Work history of the causes, as the parts know it; of two the one that makes a cause less likely counts. */
  priors(context: MaintenanceContext): Readonly<Record<string, CleaningHistory>>
  /** Whether any part looks at every reading; they come thousands of times a second. */
  readonly wantsReadings: boolean
  snapshot(): Record<string, unknown>
}

/** @param snapshot what `snapshot()` gave, after a JSON round trip or not; absent for a new line */
export function createMaintenanceStage(definition: LineDefinition, snapshot?: unknown): MaintenanceStage {
  const states = (snapshot ?? {}) as Readonly<Record<string, unknown>>
  const parts = Object.entries(MAINTENANCE_PARTS).map(([name, create]) => ({ name, part: create(definition, states[name]) }))
  return new PartsInOrder(parts, [...((states[SEEN] as readonly string[] | undefined) ?? [])])
}

/** Key of the seen entries in the snapshot; no part has this name. */
const SEEN = 'seen-entries'

class PartsInOrder implements MaintenanceStage {
  /** Parts that have a handler, by handler. */
  private readonly with = new Map<Handler, readonly MaintenancePart[]>()

  constructor(
    private readonly parts: readonly { readonly name: string; readonly part: MaintenancePart }[],
    private readonly seen: string[],
  ) {
    const handlers: readonly Handler[] = ['reading', 'value', 'state', 'entry', 'record', 'reply', 'suggestion', 'tick', 'level']
    for (const handler of handlers) this.with.set(handler, parts.map(({ part }) => part).filter((part) => part[handler] !== undefined))
  }

  get wantsReadings(): boolean {
    return (this.with.get('reading') ?? []).length > 0
  }

  snapshot(): Record<string, unknown> {
    return { ...Object.fromEntries(this.parts.map(({ name, part }) => [name, part.snapshot()])), [SEEN]: [...this.seen] }
  }

  reading(reading: Reading, context: MaintenanceContext, sink: MaintenanceSink): void {
    this.run('reading', context, sink, (part, asks) => part.reading?.(reading, context, asks))
  }

  value(value: ChartedValue, context: MaintenanceContext, sink: MaintenanceSink): void {
    this.run('value', context, sink, (part, asks) => part.value?.(value, context, asks))
  }

  state(change: LineStateChange, context: MaintenanceContext, sink: MaintenanceSink): void {
    this.run('state', context, sink, (part, asks) => part.state?.(change, context, asks))
  }

  entry(entry: MaintenanceEntry, context: MaintenanceContext, sink: MaintenanceSink): void {
    if (this.isRepeat(entry.id)) return
    let isRefused = false
    const watched: MaintenanceSink = { ...sink, fact: (fact) => {
      isRefused ||= fact.type === 'refused' && fact.entry === entry.id
      sink.fact(fact)
    } }
    this.run('entry', context, watched, (part, asks) => part.entry?.(entry, context, asks))
    // What was refused has changed nothing and may be right later: sent again, it is judged anew.
    if (isRefused) this.seen.splice(this.seen.lastIndexOf(entry.id), 1)
  }

  record(record: WorkRecord, context: MaintenanceContext, sink: MaintenanceSink): void {
    if (this.isRepeat(record.id)) return
    this.run('record', context, sink, (part, asks) => part.record?.(record, context, asks))
  }

  reply(reply: SuggestionReply, context: MaintenanceContext, sink: MaintenanceSink): void {
    this.run('reply', context, sink, (part, asks) => part.reply?.(reply, context, asks))
  }

  suggestion(suggestion: Suggestion, context: MaintenanceContext, sink: MaintenanceSink): void {
    this.run('suggestion', context, sink, (part, asks) => part.suggestion?.(suggestion, context, asks))
  }

  tick(evidence: readonly FeatureEvidence[], context: MaintenanceContext, sink: MaintenanceSink): void {
    this.run('tick', context, sink, (part, asks) => part.tick?.(evidence, context, asks))
  }

  level(level: LearnedLevel, context: MaintenanceContext, sink: MaintenanceSink): void {
    this.run('level', context, sink, (part, asks) => part.level?.(level, context, asks))
  }

  explains(diagnosis: Diagnosis, context: MaintenanceContext): boolean {
    return this.parts.some(({ part }) => part.explains?.(diagnosis, context) === true)
  }

  priors(context: MaintenanceContext): Readonly<Record<string, CleaningHistory>> {
    const priors: Record<string, CleaningHistory> = {}
    for (const { part } of this.parts) {
      for (const [cause, history] of Object.entries(part.priors?.(context) ?? {})) {
        const known = priors[cause]
        if (known === undefined || historyFactor(history) < historyFactor(known)) priors[cause] = history
      }
    }
    return priors
  }

  private isRepeat(id: string): boolean {
    if (this.seen.includes(id)) return true
    this.seen.push(id)
    if (this.seen.length > ENTRIES_KEPT) this.seen.shift()
    return false
  }

  private run(handler: Handler, context: MaintenanceContext, sink: MaintenanceSink, call: (part: MaintenancePart, asks: MaintenanceAsks) => void): void {
    const parts = this.with.get(handler)
    if (parts === undefined || parts.length === 0) return
    const facts: MaintenanceFact[] = []
    const asks: MaintenanceAsks = { emit: (fact) => facts.push(fact), chart: sink.chart, learnCause: sink.learnCause }
    for (const part of parts) call(part, asks)
    for (let next = 0; next < facts.length; next += 1) {
      if (next >= FACTS_PER_STEP_MAX) throw new Error(`maintenance: more than ${FACTS_PER_STEP_MAX} facts in one step; the last is of type "${facts[next]!.type}"`)
      const fact = facts[next]!
      sink.fact(fact)
      for (const { part } of this.parts) part.fact?.(fact, context, asks)
    }
  }
}
