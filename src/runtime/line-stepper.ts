import type { LineDefinition } from '../line/line-definition.js'
import type { LineEvent, Stage } from '../monitor/line-event.js'
import type { LineMonitor, LineOutput } from '../monitor/line-output.js'
import type { LineStore, SkippedEvent, StoredOutput, StoreDamage } from '../ports/line-store.js'
import { checkOutput } from './output-check.js'

export type CreateMonitor = (definition: LineDefinition, snapshot?: unknown) => LineMonitor

/** What a snapshot of a line holds besides the monitor's own state. */
interface SnapshotBody {
  readonly format: 1
  readonly definition: LineDefinition
  readonly stages?: readonly Stage[]
  /** Newest reading of each channel, ms UTC. */
  readonly channelTimes: readonly (readonly [string, number])[]
  readonly monitor: unknown
}

/** How many events are read from the journal at a time. */
const PAGE_EVENTS = 1_000
const MESSAGE_LENGTH_MAX = 500

/**
 * A line's monitor at a known place in the journal. An event that makes it throw is left out: the monitor is taken
 * back to a state before it and goes on as if the event had not been there.
 */
export class LineStepper {
  readonly #line: string
  readonly #store: LineStore
  readonly #createMonitor: CreateMonitor
  readonly #firstDefinition: LineDefinition
  readonly #skipped: Set<number>
  readonly #channelTimes = new Map<string, number>()
  #newSkipped: SkippedEvent[] = []
  #damage: StoreDamage[] = []
  /** A state after a recovery, so that a run of bad events does not replay the journal for each. */
  #checkpoint: { readonly seq: number; readonly text: string } | undefined
  #monitor!: LineMonitor
  #definition!: LineDefinition
  #stages: readonly Stage[] | undefined
  #seq = 0
  #outputs: StoredOutput[] = []

  /** Outputs that are already in the store are stepped without being collected. */
  #storedUntilSeq = 0
  readonly #emit = (output: LineOutput): void => {
    checkOutput(output)
    if (output.kind === 'reading') this.#noteReading(output.body.channel, output.body.timeMs)
    if (this.#seq > this.#storedUntilSeq) this.#outputs.push({ line: this.#line, seq: this.#seq, ordinal: this.#outputs.length, output })
  }

  constructor(options: { readonly line: string; readonly definition: LineDefinition; readonly store: LineStore; readonly createMonitor: CreateMonitor }) {
    this.#line = options.line
    this.#store = options.store
    this.#createMonitor = options.createMonitor
    this.#firstDefinition = options.definition
    this.#skipped = new Set(options.store.skippedEvents(options.line).map((skipped) => skipped.seq))
  }

  /** Last event the state holds. */
  get seq(): number {
    return this.#seq
  }

  get definition(): LineDefinition {
    return this.#definition
  }

  /** Undefined until an event has said which stages run. */
  get stages(): readonly Stage[] | undefined {
    return this.#stages
  }

  get channelTimes(): ReadonlyMap<string, number> {
    return this.#channelTimes
  }

  /**
   * Brings the line to the end of its journal.
   *
   * @returns outputs that are not in the store yet, in order, and what was found damaged on the way
   * @throws Error if the snapshot passes its checksum but this program's monitor cannot go on from it
   */
  restore(): { readonly outputs: readonly StoredOutput[]; readonly damage: readonly StoreDamage[] } {
    this.#storedUntilSeq = this.#store.processedSeq(this.#line)
    const outputs = this.#load(this.#store.lastSeq(this.#line))
    return { outputs, damage: this.#damage }
  }

  /** Takes one event of the journal; never throws because of the event. */
  step(event: LineEvent): readonly StoredOutput[] {
    const failure = this.#tryStep(event)
    if (failure === undefined) return this.#takeOutputs()
    this.#skip(event.seq, failure)
    // Everything before is stored or waits to be.
    this.#storedUntilSeq = event.seq - 1
    this.#load(event.seq - 1)
    this.#checkpoint = { seq: this.#seq, text: JSON.stringify(this.body()) }
    this.#seq = event.seq
    return [this.#rejection(event, failure)]
  }

  /** Events left out since the last call, to be remembered in the store. */
  takeSkipped(): readonly SkippedEvent[] {
    const skipped = this.#newSkipped
    this.#newSkipped = []
    return skipped
  }

  takeDamage(): readonly StoreDamage[] {
    const damage = this.#damage
    this.#damage = []
    return damage
  }

  /** Body of a snapshot at `seq`; plain data, to be written before the next step. */
  body(): unknown {
    const body: SnapshotBody = {
      format: 1,
      definition: this.#definition,
      ...(this.#stages === undefined ? {} : { stages: this.#stages }),
      channelTimes: [...this.#channelTimes],
      monitor: this.#monitor.snapshot(),
    }
    return body
  }

  /** A snapshot at the present place is in the store. */
  snapshotSaved(): void {
    this.#checkpoint = undefined
  }

  /** Goes back to the newest trusted state and steps the journal up to `untilSeq`; answers the outputs not yet stored. */
  #load(untilSeq: number): readonly StoredOutput[] {
    for (;;) {
      this.#loadBase()
      const outputs = this.#replay(untilSeq)
      if (outputs !== undefined) return outputs
    }
  }

  #loadBase(): void {
    let seq = 0
    let body: SnapshotBody | undefined
    if (this.#checkpoint !== undefined) {
      seq = this.#checkpoint.seq
      body = JSON.parse(this.#checkpoint.text) as SnapshotBody
    } else {
      const found = this.#store.latestSnapshot(this.#line)
      this.#damage.push(...found.damage)
      if (found.snapshot !== undefined) {
        seq = found.snapshot.seq
        body = found.snapshot.body as SnapshotBody
        if (body.format !== 1) throw new Error(`the snapshot of line "${this.#line}" at event ${seq} has format ${String(body.format)}, this program reads format 1`)
      }
    }
    this.#seq = seq
    this.#definition = body?.definition ?? this.#firstDefinition
    this.#stages = body?.stages
    this.#channelTimes.clear()
    for (const [channel, timeMs] of body?.channelTimes ?? []) this.#channelTimes.set(channel, timeMs)
    this.#monitor = body === undefined ? this.#createMonitor(this.#definition) : this.#createMonitor(this.#definition, body.monitor)
  }

  /** Undefined if an event threw: it is marked, and the caller starts again without it. */
  #replay(untilSeq: number): readonly StoredOutput[] | undefined {
    const outputs: StoredOutput[] = []
    for (;;) {
      const { events, damage } = this.#store.readJournal(this.#line, this.#seq, Math.min(PAGE_EVENTS, untilSeq - this.#seq))
      if (damage !== undefined) this.#damage.push(damage)
      for (const event of events) {
        const wasSkipped = this.#skipped.has(event.seq)
        if (wasSkipped) {
          this.#seq = event.seq
          // Left out in this very run, and its rejection is not in the store yet.
          const fresh = this.#newSkipped.find((skipped) => skipped.seq === event.seq)
          if (fresh !== undefined && event.seq > this.#storedUntilSeq) outputs.push(this.#rejection(event, fresh.message))
          continue
        }
        const failure = this.#tryStep(event)
        if (failure !== undefined) {
          this.#skip(event.seq, failure)
          return undefined
        }
        outputs.push(...this.#takeOutputs())
      }
      if (this.#seq >= untilSeq || (events.length === 0 && damage === undefined)) break
    }
    // Events at the end that were set aside as damaged are passed over.
    this.#seq = untilSeq
    return outputs
  }

  /** Answers the error's text if the step threw; the state is then unusable. */
  #tryStep(event: LineEvent): string | undefined {
    this.#outputs = []
    this.#seq = event.seq
    try {
      this.#monitor.step(event, this.#emit)
    } catch (error) {
      const message = error instanceof Error ? error.message : String(error)
      return message.slice(0, MESSAGE_LENGTH_MAX).replaceAll('\u0000', '\ufffd')
    }
    if (event.kind === 'definition') this.#definition = event.definition
    if (event.kind === 'stages') this.#stages = event.stages
    return undefined
  }

  #takeOutputs(): readonly StoredOutput[] {
    const outputs = this.#outputs
    this.#outputs = []
    return outputs
  }

  #skip(seq: number, message: string): void {
    this.#skipped.add(seq)
    this.#newSkipped.push({ seq, message })
  }

  #rejection(event: LineEvent, message: string): StoredOutput {
    const body = { reason: 'internal-error' as const, where: placeOf(event).replaceAll('\u0000', '\ufffd'), timeMs: event.receivedMs, found: message, expected: `event ${event.seq} ("${event.kind}") to be stepped without an error; it is left out` }
    return { line: this.#line, seq: event.seq, ordinal: 0, output: { kind: 'rejected', body } }
  }

  #noteReading(channel: string, timeMs: number): void {
    const known = this.#channelTimes.get(channel)
    if (known === undefined || known < timeMs) this.#channelTimes.set(channel, timeMs)
  }
}

function placeOf(event: LineEvent): string {
  if (event.kind === 'message') return event.topic
  if (event.kind === 'value') return event.channel
  if (event.kind === 'feature') return event.feature
  return event.kind
}
