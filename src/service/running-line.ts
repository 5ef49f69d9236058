import type { LineDefinition } from '../line/line-definition.js'
import { jobRefusalText } from '../maintenance/jobs/job-texts.js'
import { withOpenJobs } from '../maintenance/kept-jobs.js'
import type { MaintenanceEntry } from '../maintenance/maintenance-entry.js'
import type { RefusedFact } from '../maintenance/maintenance-fact.js'
import type { SuggestionReply, WorkRecord } from '../maintenance/suggestion.js'
import type { LineInput, Stage } from '../monitor/line-event.js'
import type { LineOutputKind } from '../monitor/line-output.js'
import { createLineMonitor } from '../monitor/line-monitor.js'
import type { Clock } from '../ports/clock.js'
import type { LineStore, StoredOutput } from '../ports/line-store.js'
import { LineRuntime } from '../runtime/line-runtime.js'
import { LineProjection } from './line-projection.js'
import { lineOutbox } from './line-outbox.js'
import { withoutNames } from './names-of-people.js'
import type { EntryOutcome, Refused, ReplyOutcome, SiteLine, SiteLineStatus } from './site-view.js'

const STEP_WAIT_MS = 5
/** Snapshots the store keeps of a line. */
const SNAPSHOT_GENERATIONS = 2
const STEP_WAITS_MAX = 2000
/** Refusals that are remembered until their sender has read them. */
const REFUSALS_KEPT = 200

export interface RunningLineOptions {
  readonly definition: LineDefinition
  readonly stages: readonly Stage[] | undefined
  readonly store: LineStore
  readonly clock: Clock
  /** Whether the line has a broker. */
  readonly mqtt: boolean
  readonly log: (message: string) => void
}

/** A line at work: its runtime, what its outputs say now, and who listens to which kind. */
export class RunningLine implements SiteLine {
  readonly projection: LineProjection
  readonly store: LineStore
  private readonly runtime: LineRuntime
  private readonly clock: Clock
  private readonly listeners = new Map<LineOutputKind, Set<(stored: StoredOutput) => void>>()
  private readonly refusals = new Map<number, string>()
  private readonly refusedEntries = new Map<number, Omit<Refused, 'kind'>>()
  private receivedMs: number | undefined

  /** @throws Error if the line runs already, or what the store holds cannot be used */
  constructor(private readonly options: RunningLineOptions) {
    const { definition, store, clock, stages } = options
    this.store = store
    this.clock = clock
    this.projection = LineProjection.fromStore(store, definition.line)
    this.runtime = LineRuntime.open({
      line: definition.line,
      definition,
      store,
      clock,
      createMonitor: createLineMonitor,
      adopt: (given, known) => this.withOpenJobs(given, known),
      outbox: lineOutbox(definition, clock, { mqtt: options.mqtt }),
      ...(stages === undefined ? {} : { stages }),
    })
    for (const timeMs of this.runtime.channelTimes.values()) this.projection.noteTime(timeMs)
    this.runtime.onOutput((stored) => this.take(stored))
    for (const damage of this.runtime.status().damage) options.log(`line "${definition.line}": ${damage.what} at event ${damage.seq} was set aside: ${damage.message}`)
  }

  /** Newest reading of each channel, ms UTC. */
  get channelTimes(): ReadonlyMap<string, number> {
    return this.runtime.channelTimes
  }

  get definition(): LineDefinition {
    return this.runtime.definition
  }

  nowMs(): number {
    return this.definition.simulated && this.projection.dataMs !== undefined ? this.projection.dataMs : this.clock.nowMs()
  }

  status(): SiteLineStatus {
    const { stages, queued, processedSeq, paused, failed, lastSeq } = this.runtime.status()
    return { stages, queued: queued + lastSeq - processedSeq, processedSeq, ...(paused === undefined ? {} : { paused: failed ?? paused.reason }), ...(this.receivedMs === undefined ? {} : { receivedMs: this.receivedMs }) }
  }

  submit(input: LineInput, receivedMs?: number): Promise<{ readonly seq: number }> {
    this.receivedMs = receivedMs ?? this.clock.nowMs()
    return this.runtime.submit(withoutNames(input, this.definition), this.receivedMs)
  }

  async reply(reply: SuggestionReply): Promise<ReplyOutcome> {
    const { seq } = await this.submit({ kind: 'reply', reply })
    await this.stepped(seq)
    const key = this.refusals.get(seq)
    this.refusals.delete(seq)
    if (key === undefined) return { kind: 'taken' }
    const status = this.projection.suggestion(reply.suggestion)?.status
    return { kind: 'refused', reason: key === 'internal-error' ? key : `reply.${key}`, message: status === undefined ? `there is no suggestion "${reply.suggestion}" (${key})` : `"${reply.action}" is not possible while the suggestion is ${status} (${key})` }
  }

  async enter(entry: MaintenanceEntry): Promise<EntryOutcome> {
    return this.outcomeOf(await this.submit({ kind: 'entry', entry }))
  }

  async record(record: WorkRecord): Promise<EntryOutcome> {
    return this.outcomeOf(await this.submit({ kind: 'record', record }))
  }

  /** A job of the site's own is not taken out of the definition while its card is open. */
  private withOpenJobs(given: LineDefinition, known: LineDefinition): LineDefinition {
    const { definition, kept } = withOpenJobs(given, known, this.projection.factsOf('job'))
    if (kept.length > 0) this.options.log(`line "${given.line}": ${kept.join(', ')} ${kept.length === 1 ? 'stays' : 'stay'} in the work catalogue until ${kept.length === 1 ? 'its card is' : 'their cards are'} closed`)
    return definition
  }

  /** What came of an entry: a corrected one may come under the same id, so only what this event brought out counts. */
  private async outcomeOf({ seq }: { readonly seq: number }): Promise<EntryOutcome> {
    await this.stepped(seq)
    const refusal = this.refusedEntries.get(seq)
    this.refusedEntries.delete(seq)
    return refusal === undefined ? { kind: 'taken', seq } : { kind: 'refused', ...refusal }
  }

  /** Resolves when the outputs of an event have been committed and given to the listeners. */
  async stepped(seq: number): Promise<void> {
    for (let waits = 0; this.runtime.status().processedSeq < seq; waits += 1) {
      if (waits >= STEP_WAITS_MAX) throw new Error(`line "${this.definition.line}": event ${seq} is in the journal and has not been stepped within ${(STEP_WAITS_MAX * STEP_WAIT_MS) / 1000} s`)
      await new Promise((resolve) => setTimeout(resolve, STEP_WAIT_MS))
    }
  }

  /**
   * The line's state forgets the names of people from before a time. Both kept snapshots are then of later, so that the journal
   * before them, and with it the names in it, is gone as well.
   */
  async forgetNames(beforeMs: number): Promise<void> {
    for (let generation = 0; generation < SNAPSHOT_GENERATIONS; generation += 1) {
      const { seq } = await this.submit({ kind: 'forget-names', beforeMs })
      await this.stepped(seq)
      this.runtime.snapshotNow()
      const { snapshot } = this.runtime.status()
      if (snapshot === undefined || snapshot.error !== undefined || snapshot.seq < seq) throw new Error(`line "${this.definition.line}": its state without names was not written: ${snapshot?.error ?? 'a commit is under way'}`)
    }
  }

  /** Committed outputs of these kinds, in order. @returns what ends it */
  onOutput(kinds: readonly LineOutputKind[], listener: (stored: StoredOutput) => void): () => void {
    for (const kind of kinds) {
      const set = this.listeners.get(kind) ?? new Set()
      this.listeners.set(kind, set.add(listener))
    }
    return () => kinds.forEach((kind) => this.listeners.get(kind)?.delete(listener))
  }

  /** Every committed output, in order. @returns what ends it */
  onAnyOutput(listener: (stored: StoredOutput) => void): () => void {
    return this.runtime.onOutput(listener)
  }

  /** Takes exactly these stages, each with those before it. */
  async setStages(stages: readonly Stage[]): Promise<void> {
    const runs = new Set(this.runtime.status().stages)
    for (const stage of stages) if (!runs.has(stage)) await this.runtime.enableStage(stage)
    for (const stage of runs) if (!stages.includes(stage)) await this.runtime.disableStage(stage)
  }

  /** Commits and steps what has been taken; what that brings out still reaches the listeners. */
  async close(): Promise<void> {
    await this.runtime.close()
    this.listeners.clear()
  }

  private take(stored: StoredOutput): void {
    const { output } = stored
    this.projection.take(output)
    if (output.kind === 'note' && output.body.key.startsWith('reply.refused')) keep(this.refusals, stored.seq, output.body.key.slice('reply.refused.'.length))
    if (output.kind === 'fact' && output.body.type === 'refused') keep(this.refusedEntries, stored.seq, { reason: output.body.reason, message: refusalText(output.body) })
    // What could not be stepped is left out: whoever entered it must not be told that it was taken.
    if (output.kind === 'rejected' && output.body.reason === 'internal-error') {
      keep(this.refusals, stored.seq, 'internal-error')
      keep(this.refusedEntries, stored.seq, { reason: 'internal-error', message: `it was left out: ${output.body.found}` })
    }
    for (const listener of this.listeners.get(output.kind) ?? []) {
      try {
        listener(stored)
      } catch (error) {
        this.options.log(`line "${stored.line}": a listener of "${output.kind}" failed: ${error instanceof Error ? error.message : String(error)}`)
      }
    }
  }
}

function keep<T>(refusals: Map<number, T>, seq: number, refusal: T): void {
  refusals.set(seq, refusal)
  const oldest = refusals.keys().next().value
  if (refusals.size > REFUSALS_KEPT && oldest !== undefined) refusals.delete(oldest)
}

function refusalText({ reason, values }: RefusedFact): string {
  return jobRefusalText(reason, values, 'en-US') ?? `${reason}${Object.keys(values).length === 0 ? '' : ` ${JSON.stringify(values)}`}`
}
