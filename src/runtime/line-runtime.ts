import type { LineDefinition } from '../line/line-definition.js'
import { STAGES, type LineEvent, type LineInput, type Stage } from '../monitor/line-event.js'
import type { Clock } from '../ports/clock.js'
import type { LineCommit, LineStore, OutboxItem, SkippedEvent, StoredOutput, StoreDamage } from '../ports/line-store.js'
import { GroupCommitter, type CommitMember } from './group-committer.js'
import { InputQueue, isPersonal, StoreUnavailableError, type WaitingInput } from './input-queue.js'
import { LineStepper, type CreateMonitor } from './line-stepper.js'
import { RuntimeCounters, type RuntimeStatus } from './runtime-status.js'
import { SnapshotSchedule } from './snapshot-schedule.js'

export interface LineRuntimeOptions {
  /** Id of the line; the same as `definition.line`. */
  readonly line: string
  readonly definition: LineDefinition
  readonly store: LineStore
  readonly clock: Clock
  readonly createMonitor: CreateMonitor
  /** Makes of a definition that differs from the one that ran before what is to run. @default as it is given */
  readonly adopt?: (given: LineDefinition, known: LineDefinition) => LineDefinition
  /** Stages that run. @default what ran before, at first all */
  readonly stages?: readonly Stage[]
  /** Messages an output sends out; written in the same transaction as the output. Ids must come from the output alone. */
  readonly outbox?: (output: StoredOutput) => readonly OutboxItem[]
  /** Events in one commit at most. @default 500 */
  readonly batchEvents?: number
  /** Time an event may wait for others to be committed with, ms. @default 20 */
  readonly batchMs?: number
  /** Events that may wait; more are refused. @default 20_000 */
  readonly queueLimit?: number
  /** Time between snapshots, ms. @default 60_000 */
  readonly snapshotEveryMs?: number
  /** First and longest wait before a failed commit is tried again, ms. @default [100, 10_000] */
  readonly retryMs?: readonly [number, number]
}

export type OutputListener = (output: StoredOutput) => void

/**
 * Runs one line: journal first. Inputs are appended and committed, then acknowledged, then stepped; what the steps
 * bring out is written with the next commit and only then given to listeners, so that listeners see committed facts.
 */
export class LineRuntime implements CommitMember {
  readonly line: string
  readonly #options: LineRuntimeOptions
  readonly #store: LineStore
  readonly #clock: Clock
  readonly #committer: GroupCommitter
  readonly #stepper: LineStepper
  readonly #queue: InputQueue
  readonly #counters = new RuntimeCounters()
  readonly #snapshots: SnapshotSchedule
  readonly #batchEvents: number
  readonly #batchMs: number
  readonly #retryMs: readonly [number, number]
  readonly #listeners = new Set<OutputListener>()
  readonly #stages: Set<Stage>
  /** Stepped, not yet committed. */
  #outputs: StoredOutput[]
  #outbox: OutboxItem[] = []
  #skipped: SkippedEvent[] = []
  /** Highest event whose outputs are in the store. */
  #processedSeq: number
  #lastSeq: number
  #inFlight: { readonly inputs: readonly WaitingInput[]; readonly outputs: readonly StoredOutput[]; readonly processedSeq: number } | undefined
  #retryTimer: NodeJS.Timeout | undefined
  #busy = false
  #closed = false
  #snapshotWanted = false

  /**
   * Restores a line from its latest trusted snapshot and the journal after it, or begins a new one.
   *
   * @throws Error if the options do not fit, the line runs already on this store, or its snapshot cannot be used
   */
  static open(options: LineRuntimeOptions): LineRuntime {
    if (options.line !== options.definition.line) throw new Error(`runtime of line "${options.line}" was given the definition of line "${options.definition.line}"`)
    const committer = GroupCommitter.of(options.store)
    committer.join(options.line)
    try {
      return new LineRuntime(options, committer)
    } catch (error) {
      committer.leave({ line: options.line } as CommitMember)
      throw error
    }
  }

  private constructor(options: LineRuntimeOptions, committer: GroupCommitter) {
    this.line = options.line
    this.#options = options
    this.#store = options.store
    this.#clock = options.clock
    this.#committer = committer
    this.#batchEvents = options.batchEvents ?? 500
    this.#batchMs = options.batchMs ?? 20
    this.#retryMs = options.retryMs ?? [100, 10_000]
    this.#queue = new InputQueue(options.line, options.queueLimit ?? 20_000)
    this.#snapshots = new SnapshotSchedule(options.line, options.snapshotEveryMs ?? 60_000, options.clock)
    this.#stepper = new LineStepper(options)
    const { outputs } = this.#stepper.restore()
    this.#outputs = []
    this.#collect(outputs)
    this.#processedSeq = this.#store.processedSeq(this.line)
    this.#lastSeq = this.#store.lastSeq(this.line)
    this.#noteDamage()
    if (this.#lastSeq === 0) this.#saveSnapshot()
    this.#stages = new Set(options.stages ?? this.#stepper.stages ?? STAGES)
    this.#adoptSettings()
    if (this.#hasWork()) this.#committer.request(this, this.#batchMs)
  }

  get definition(): LineDefinition {
    return this.#stepper.definition
  }

  /** Newest reading of each channel, ms UTC. */
  get channelTimes(): ReadonlyMap<string, number> {
    return this.#stepper.channelTimes
  }

  /**
   * Takes an input. Acknowledge to whoever sent it (PUBACK, `done()`, HTTP 2xx) once the promise has resolved: the
   * input is then in the journal and will be stepped whatever happens.
   *
   * While commits fail, readings wait unacknowledged; replies, records and decisions of people are refused at once, so
   * that the person is told.
   *
   * @param receivedMs when it was received, ms UTC; now, if left out
   * @throws QueueFullError, StoreUnavailableError or Error (closed), as a rejected promise: the input was not taken
   */
  submit(input: LineInput, receivedMs: number = this.#clock.nowMs()): Promise<{ readonly seq: number }> {
    if (this.#closed) return Promise.reject(new Error(`line "${this.line}" is closed`))
    if (this.#counters.failed !== undefined) return Promise.reject(new StoreUnavailableError(this.line, this.#counters.failed))
    if (input.kind === 'definition' && input.definition.line !== this.line) {
      return Promise.reject(new Error(`line "${this.line}" was given the definition of line "${input.definition.line}"`))
    }
    const paused = this.#counters.paused
    if (paused !== undefined && isPersonal(input)) return Promise.reject(new StoreUnavailableError(this.line, paused.reason))
    const answer = this.#queue.add(input, receivedMs)
    this.#requestCommit()
    return answer
  }

  /** Gives every committed output to `listener`, in order; answers what ends that. */
  onOutput(listener: OutputListener): () => void {
    this.#listeners.add(listener)
    return () => this.#listeners.delete(listener)
  }

  setDefinition(definition: LineDefinition): Promise<{ readonly seq: number }> {
    return this.submit({ kind: 'definition', definition })
  }

  enableStage(stage: Stage): Promise<void> {
    return this.#changeStages(stage, true)
  }

  disableStage(stage: Stage): Promise<void> {
    return this.#changeStages(stage, false)
  }

  status(): RuntimeStatus {
    return this.#counters.status({
      line: this.line,
      stages: STAGES.filter((stage) => this.#stages.has(stage)),
      lastSeq: this.#lastSeq,
      processedSeq: this.#processedSeq,
      queued: this.#queue.length,
      queueLimit: this.#queue.limit,
      queueRefused: this.#queue.refused,
      snapshot: this.#snapshots.last,
    })
  }

  /** Writes a snapshot as soon as every stepped event's outputs are committed, which is now unless a commit is under way. */
  snapshotNow(): void {
    this.#snapshotWanted = true
    if (!this.#busy && this.#settle()) this.#saveSnapshotIfWanted()
  }

  /**
   * Commits and steps what has been taken, writes a snapshot and ends. What cannot be committed any more is refused.
   *
   * @throws Error if the store did not take the rest; nothing of it was acknowledged
   */
  async close(): Promise<void> {
    if (this.#closed) return
    this.#closed = true
    // A listener may have asked for it while a commit is being handled.
    while (this.#busy || this.#inFlight !== undefined) await new Promise((resolve) => setImmediate(resolve))
    clearTimeout(this.#retryTimer)
    this.#retryTimer = undefined
    const settled = this.#counters.failed === undefined && this.#settle()
    clearTimeout(this.#retryTimer)
    this.#committer.leave(this)
    if (settled) {
      this.#snapshotWanted = true
      this.#saveSnapshotIfWanted()
      return
    }
    const reason = this.#counters.failed ?? this.#counters.paused?.reason ?? 'unknown'
    const error = new StoreUnavailableError(this.line, reason)
    this.#queue.rejectAll(error)
    throw error
  }

  /** For the committer. */
  takeCommit(): LineCommit | undefined {
    if (this.#busy || this.#inFlight !== undefined || this.#counters.failed !== undefined || !this.#hasWork()) return undefined
    const inputs = this.#queue.take(this.#batchEvents)
    const outputs = this.#outputs
    this.#inFlight = { inputs, outputs, processedSeq: this.#stepper.seq }
    return { line: this.line, inputs, outputs, processedSeq: this.#stepper.seq, outbox: this.#outbox, skipped: this.#skipped }
  }

  /** For the committer. */
  committed(lastSeq: number): void {
    const done = this.#inFlight
    if (done === undefined) return
    this.#inFlight = undefined
    this.#busy = true
    try {
      this.#outputs = []
      this.#outbox = []
      this.#skipped = []
      this.#processedSeq = done.processedSeq
      this.#lastSeq = lastSeq
      this.#counters.countCommit(done.inputs.length)
      const firstSeq = lastSeq - done.inputs.length + 1
      done.inputs.forEach((waiting, index) => waiting.resolve({ seq: firstSeq + index }))
      this.#deliver(done.outputs)
      // Only here is the state exactly what the committed outputs came from.
      this.#saveSnapshotIfWanted()
      this.#step(done.inputs, firstSeq)
    } catch (error) {
      this.#fail(error)
    } finally {
      this.#busy = false
    }
    if (this.#hasWork()) this.#requestCommit()
  }

  /** For the committer. */
  commitFailed(error: unknown): void {
    const failed = this.#inFlight
    if (failed === undefined) return
    this.#inFlight = undefined
    const reason = error instanceof Error ? error.message : String(error)
    const attempts = this.#counters.pause(reason, this.#clock.nowMs())
    this.#queue.giveBack(failed.inputs)
    this.#queue.rejectPersonal(new StoreUnavailableError(this.line, reason))
    if (this.#closed) return
    const [firstMs, longestMs] = this.#retryMs
    this.#retryTimer = setTimeout(() => {
      this.#retryTimer = undefined
      this.#committer.request(this, 0)
    }, Math.min(longestMs, firstMs * 2 ** (attempts - 1)))
  }

  #step(inputs: readonly WaitingInput[], firstSeq: number): void {
    inputs.forEach((waiting, index) => {
      const event = { ...waiting.input, seq: firstSeq + index, receivedMs: waiting.receivedMs } as LineEvent
      this.#collect(this.#stepper.step(event))
    })
    this.#noteDamage()
  }

  #collect(outputs: readonly StoredOutput[]): void {
    const outbox = this.#options.outbox
    for (const stored of outputs) {
      this.#outputs.push(stored)
      if (outbox !== undefined) this.#outbox.push(...outbox(stored))
    }
    for (const skipped of this.#stepper.takeSkipped()) {
      this.#skipped.push(skipped)
      // The next start should not have to find the way round it again.
      this.#snapshotWanted = true
    }
  }

  #deliver(outputs: readonly StoredOutput[]): void {
    for (const stored of outputs) {
      this.#counters.countOutput(stored.output)
      for (const listener of this.#listeners) {
        try {
          listener(stored)
        } catch (error) {
          // A listener cannot disturb the line or the other listeners.
          this.#counters.countListenerError(error)
        }
      }
    }
  }

  /** Commits and steps until nothing is left; false if a commit failed or is under way. */
  #settle(): boolean {
    if (this.#inFlight !== undefined) return false
    while (this.#hasWork()) {
      if (!this.#committer.commitNow(this) || this.#counters.failed !== undefined) return false
    }
    return true
  }

  #hasWork(): boolean {
    return this.#queue.length > 0 || this.#stepper.seq > this.#processedSeq || this.#outputs.length > 0
  }

  #requestCommit(): void {
    // While commits fail, the retry asks; while one is handled, its end asks.
    if (this.#retryTimer !== undefined || this.#busy) return
    this.#committer.request(this, this.#queue.length >= this.#batchEvents ? 0 : this.#batchMs)
  }

  #saveSnapshotIfWanted(): void {
    const seq = this.#stepper.seq
    if (!this.#snapshots.isDue(seq) && !(this.#snapshotWanted && this.#snapshots.isNew(seq))) return
    this.#saveSnapshot()
  }

  #saveSnapshot(): void {
    this.#snapshotWanted = false
    try {
      this.#store.saveSnapshot({ line: this.line, seq: this.#stepper.seq, body: this.#stepper.body() })
      this.#snapshots.saved(this.#stepper.seq)
      this.#stepper.snapshotSaved()
      this.#store.pruneJournal(this.line)
    } catch (error) {
      // The journal still holds everything; the next snapshot is tried later.
      this.#snapshots.failed(error)
    }
  }

  /** What the options say differs from what the journal says: that is a change like any other, and is journalled. */
  #adoptSettings(): void {
    const nowMs = this.#clock.nowMs()
    const ignore = (): undefined => undefined
    const { definition: given, adopt } = this.#options
    const wanted = adopt?.(given, this.#stepper.definition) ?? given
    if (JSON.stringify(wanted) !== JSON.stringify(this.#stepper.definition)) this.#queue.add({ kind: 'definition', definition: wanted }, nowMs).catch(ignore)
    const stages = STAGES.filter((stage) => this.#stages.has(stage))
    if (stages.join() !== this.#stepper.stages?.join()) this.#queue.add({ kind: 'stages', stages }, nowMs).catch(ignore)
  }

  async #changeStages(stage: Stage, runs: boolean): Promise<void> {
    if (this.#stages.has(stage) === runs) return
    if (runs) this.#stages.add(stage)
    else this.#stages.delete(stage)
    await this.submit({ kind: 'stages', stages: STAGES.filter((name) => this.#stages.has(name)) })
  }

  #noteDamage(): void {
    const damage: readonly StoreDamage[] = this.#stepper.takeDamage()
    if (damage.length > 0) this.#counters.noteDamage(damage)
  }

  /** The line cannot go on at all: said, and nothing more is acknowledged. */
  #fail(error: unknown): void {
    const reason = error instanceof Error ? error.message : String(error)
    this.#counters.fail(reason, this.#clock.nowMs())
    this.#queue.rejectAll(new StoreUnavailableError(this.line, reason))
  }
}
