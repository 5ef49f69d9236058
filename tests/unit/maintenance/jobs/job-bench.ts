import type { LineStateName } from '../../../../src/line/feature-value.js'
import { parseLineDefinition, type LineDefinition, type LineDefinitionInput } from '../../../../src/line/line-definition.js'
import type { Reading } from '../../../../src/line/reading.js'
import { createJobDesk } from '../../../../src/maintenance/jobs/job-desk.js'
import type { JobEntry } from '../../../../src/maintenance/jobs/job-entry.js'
import type { JobFact, RecordFact } from '../../../../src/maintenance/jobs/job-fact.js'
import { isOpenJob } from '../../../../src/maintenance/jobs/job-steps.js'
import { recordRefusal } from '../../../../src/maintenance/jobs/record-check.js'
import type { MaintenanceEntry } from '../../../../src/maintenance/maintenance-entry.js'
import type { MaintenanceFact, RefusedFact } from '../../../../src/maintenance/maintenance-fact.js'
import type { MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../../../../src/maintenance/maintenance-part.js'
import type { Suggestion, SuggestionStatus, WorkRecord } from '../../../../src/maintenance/suggestion.js'

export const MINUTE_MS = 60_000
export const HOUR_MS = 60 * MINUTE_MS
export const DAY_MS = 24 * HOUR_MS
/** A Monday, 06:00 UTC. */
export const START_MS = Date.UTC(2026, 2, 2, 6)

export function lineWith(input: Partial<LineDefinitionInput> = {}): LineDefinition {
  const result = parseLineDefinition({ line: 'line-a', ...input })
  if (result.kind === 'faults') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

const EVERY_DAY = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'] as const
/** One shift round the clock with so many people. */
export function shiftOf(people: number): LineDefinition {
  return lineWith({ shifts: [{ name: 'day', days: [...EVERY_DAY], start: '00:00', end: '23:59', people }] })
}

/** The jobs part of a line, driven by hand; its own facts come back to it as in the pipeline. */
export class JobBench {
  nowMs = START_MS
  state: LineStateName = 'idle'
  readonly facts: MaintenanceFact[] = []
  private part: MaintenancePart
  private count = 0

  constructor(readonly definition: LineDefinition = shiftOf(3)) {
    this.part = createJobDesk(definition, undefined)
  }

  get jobs(): readonly JobFact[] {
    return [...new Map(this.facts.flatMap((fact) => (fact.type === 'job' ? [[fact.id, fact] as const] : []))).values()]
  }

  get open(): readonly JobFact[] {
    return this.jobs.filter(isOpenJob)
  }

  get records(): readonly RecordFact[] {
    return [...new Map(this.facts.flatMap((fact) => (fact.type === 'record' ? [[fact.id, fact] as const] : []))).values()]
  }

  get refusals(): readonly RefusedFact[] {
    return this.facts.filter((fact): fact is RefusedFact => fact.type === 'refused')
  }

  job(work: string): JobFact {
    const job = this.open.find((candidate) => candidate.work === work) ?? [...this.jobs].reverse().find((candidate) => candidate.work === work)
    if (job === undefined) throw new Error(`no job "${work}"; there are ${this.jobs.map((candidate) => candidate.work).join(', ')}`)
    return job
  }

  wait(ms: number): this {
    this.nowMs += ms
    return this.run((asks, context) => this.part.tick?.([], context, asks))
  }

  restart(): this {
    this.part = createJobDesk(this.definition, JSON.parse(JSON.stringify(this.part.snapshot())))
    return this
  }

  snapshot(): unknown {
    return this.part.snapshot()
  }

  enter(entry: Omit<JobEntry, 'id' | 'type' | 'timeMs'> & { readonly timeMs?: number }): this {
    this.count += 1
    return this.take({ type: 'job', id: `e-${this.count}`, timeMs: this.nowMs, ...entry })
  }

  /** @returns reason of the refusal, if it was refused */
  tell(entry: Omit<JobEntry, 'id' | 'type' | 'timeMs'>): string | undefined {
    const before = this.refusals.length
    this.enter(entry)
    return this.refusals[before]?.reason
  }

  correct(of: string, record: WorkRecord | undefined): this {
    this.count += 1
    return this.take({ type: 'correction', id: `e-${this.count}`, timeMs: this.nowMs, of, reason: 'mistyped', ...(record === undefined ? {} : { record }) })
  }

  take(entry: MaintenanceEntry): this {
    return this.run((asks, context) => this.part.entry?.(entry, context, asks))
  }

  /** @returns id of the record; the bench refuses what the line would */
  record(work: string, details: Partial<WorkRecord> = {}): string {
    this.count += 1
    const section = details.section ?? (/chain|fingers|rails/.test(work) ? 'transport' : /nozzle|filter|seals|dosing/.test(work) ? 'fluxer' : /pot|dross|pump/.test(work) ? 'pot' : 'preheat')
    const record: WorkRecord = { id: `r-${this.count}`, timeMs: this.nowMs, work, ...details, section }
    const refusal = recordRefusal(record, this.definition)
    if (refusal !== undefined) throw new Error(refusal.reason)
    this.run((asks, context) => this.part.record?.(record, context, asks))
    return record.id
  }

  suggest(work: readonly string[], status: SuggestionStatus, details: { readonly id?: string; readonly untilMs?: number; readonly by?: string; readonly zone?: number } = {}): this {
    const { id = 's-1', untilMs, by, zone } = details
    const change = { timeMs: this.nowMs, status, ...(untilMs === undefined ? {} : { untilMs }), ...(by === undefined ? {} : { by }) }
    const suggestion = { id, work, status, statusMs: this.nowMs, urgency: 'soon', ...(zone === undefined ? {} : { zone }), history: [change] } as unknown as Suggestion
    return this.run((asks, context) => this.part.suggestion?.(suggestion, context, asks))
  }

  enterState(state: LineStateName): this {
    const previous = this.state
    this.state = state
    return this.run((asks, context) => this.part.state?.({ timeMs: this.nowMs, state, previous, recipe: '', because: '' }, context, asks))
  }

  read(channel: string, value: number): this {
    const reading: Reading = { channel, value, timeMs: this.nowMs }
    return this.run((asks, context) => this.part.reading?.(reading, context, asks))
  }

  hear(fact: MaintenanceFact): this {
    return this.run((asks, context) => this.part.fact?.(fact, context, asks))
  }

  private run(call: (asks: MaintenanceAsks, context: MaintenanceContext) => void): this {
    const context: MaintenanceContext = { nowMs: this.nowMs, state: this.state, recipe: '', definition: this.definition } as MaintenanceContext
    const facts: MaintenanceFact[] = []
    const asks: MaintenanceAsks = { emit: (fact) => facts.push(fact), chart: () => undefined, learnCause: () => undefined } as MaintenanceAsks
    call(asks, context)
    for (let next = 0; next < facts.length; next += 1) {
      this.facts.push(facts[next]!)
      this.part.fact?.(facts[next]!, context, asks)
    }
    return this
  }
}
