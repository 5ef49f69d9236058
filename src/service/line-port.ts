import type { LineDefinition } from '../line/line-definition.js'
import type { MaintenanceEntry } from '../maintenance/maintenance-entry.js'
import type { SuggestionReply, WorkRecord } from '../maintenance/suggestion.js'
import { STAGES, type LineInput, type Stage } from '../monitor/line-event.js'
import type { LineOutputKind } from '../monitor/line-output.js'
import type { StoredOutput } from '../ports/line-store.js'
import type { RunningLine } from './running-line.js'
import type { EntryOutcome, ReplyOutcome } from './site-view.js'
import { acquireSite, releaseSite, type BrokerAccess, type LineConnection, type Site } from './site.js'

export type PortState =
  | { readonly kind: 'starting' }
  | { readonly kind: 'wires' }
  | { readonly kind: 'connecting' }
  | { readonly kind: 'connected' }
  | { readonly kind: 'paused'; readonly message: string }
  | { readonly kind: 'faulty'; readonly message: string }
  | { readonly kind: 'failed'; readonly message: string }

export interface LinePortOptions {
  readonly definition: { readonly kind: 'definition'; readonly definition: LineDefinition } | { readonly kind: 'faulty'; readonly message: string }
  readonly broker: BrokerAccess | undefined
  readonly dataFolder: string
  readonly log: (message: string) => void
}

type OutputListener = (stored: StoredOutput) => void

const STATE_CHECK_MS = 1000

interface Subscription {
  readonly kinds: readonly LineOutputKind[]
  readonly listener: OutputListener
  /** Set once the line is open. */
  end?: () => void
}

/**
 * What the nodes of one line hold on to. It is there at once, while the line behind it opens when the flows have
 * started; what is asked of it before then waits.
 */
export class LinePort {
  private readonly stageOf = new Map<string, Stage>()
  private readonly listeners = new Set<Subscription>()
  private readonly stateListeners = new Set<(state: PortState) => void>()
  private readonly opened: Promise<RunningLine>
  private resolveOpened!: (line: RunningLine) => void
  private rejectOpened!: (error: Error) => void
  private site: Site | undefined
  private running: RunningLine | undefined
  private connection: LineConnection | undefined
  private opening: Promise<void> | undefined
  private checkTimer: ReturnType<typeof setInterval> | undefined
  private now: PortState

  constructor(private readonly options: LinePortOptions) {
    this.opened = new Promise((resolve, reject) => {
      this.resolveOpened = resolve
      this.rejectOpened = reject
    })
    // Whoever waits gets the error; nobody waiting is no fault.
    this.opened.catch(() => undefined)
    this.now = options.definition.kind === 'faulty' ? { kind: 'faulty', message: options.definition.message } : { kind: 'starting' }
    if (options.definition.kind === 'faulty') this.rejectOpened(new Error(options.definition.message))
  }

  /** Id of the line; undefined where the definition has faults. */
  get line(): string | undefined {
    return this.options.definition.kind === 'definition' ? this.options.definition.definition.line : undefined
  }

  get definition(): LineDefinition | undefined {
    return this.options.definition.kind === 'definition' ? this.options.definition.definition : undefined
  }

  get state(): PortState {
    return this.now
  }

  /** The line once it is open. */
  get runningLine(): RunningLine | undefined {
    return this.running
  }

  /** A node says which stage it is for; the stages of a line follow from its nodes once all of them have started. */
  nameStage(nodeId: string, stage: Stage): void {
    this.stageOf.set(nodeId, stage)
  }

  /** The node has been closed; a redeploy names the stage again before the next `settle`. */
  forgetStage(nodeId: string): void {
    this.stageOf.delete(nodeId)
  }

  /** All nodes are there: opens the line, or gives it the stages that its nodes name now. Never rejects. */
  settle(): Promise<void> {
    if (this.options.definition.kind === 'faulty') return Promise.resolve()
    const before = this.opening ?? Promise.resolve()
    this.opening = before.then(() => (this.running === undefined ? this.open() : this.running.setStages(this.namedStages()))).catch((error: unknown) => this.fail(error))
    return this.opening
  }

  onOutput(kinds: readonly LineOutputKind[], listener: OutputListener): () => void {
    const subscription: Subscription = { kinds, listener }
    this.listeners.add(subscription)
    if (this.running !== undefined) subscription.end = this.running.onOutput(kinds, listener)
    return () => {
      this.listeners.delete(subscription)
      subscription.end?.()
    }
  }

  /** Called at once with the present state, then with every change. */
  onState(listener: (state: PortState) => void): () => void {
    this.stateListeners.add(listener)
    listener(this.now)
    return () => this.stateListeners.delete(listener)
  }

  async submit(input: LineInput): Promise<{ readonly seq: number }> {
    return (await this.opened).submit(input)
  }

  async reply(reply: SuggestionReply): Promise<ReplyOutcome> {
    return (await this.opened).reply(reply)
  }

  async record(record: WorkRecord): Promise<EntryOutcome> {
    return (await this.opened).record(record)
  }

  async enter(entry: MaintenanceEntry): Promise<EntryOutcome> {
    return (await this.opened).enter(entry)
  }

  /** Publishes over the line's broker, or hands the message to the line where it has none; resolves when it was taken over. */
  async publish(topic: string, payload: string): Promise<void> {
    const line = await this.opened
    if (this.connection === undefined) await line.submit({ kind: 'message', topic, payload })
    else await this.connection.publish(topic, payload)
  }

  /** The line's site, for a node that keeps state of its own there; it stays open until it is released. */
  async holdSite(): Promise<Site> {
    await this.opened
    return acquireSite(this.options)
  }

  /** @param archive the node was deleted: what was learned is set aside */
  async close(archive: boolean): Promise<void> {
    await this.opening
    this.rejectOpened(new Error('the line was closed'))
    clearInterval(this.checkTimer)
    this.stateListeners.clear()
    const { site, running } = this
    this.running = undefined
    this.site = undefined
    if (site === undefined) return
    try {
      if (running !== undefined) await site.closeLine(running.definition.line, { archive })
      else if (this.options.definition.kind !== 'faulty') site.forgetRefused(this.options.definition.definition.line)
    } finally {
      await releaseSite(site)
    }
  }

  private async open(): Promise<void> {
    if (this.options.definition.kind === 'faulty') return
    const { definition } = this.options.definition
    const site = await acquireSite({ dataFolder: this.options.dataFolder, log: this.options.log })
    this.site = site
    const running = site.openLine({ definition, stages: this.namedStages(), mqtt: this.options.broker !== undefined })
    for (const subscription of this.listeners) subscription.end = running.onOutput(subscription.kinds, subscription.listener)
    this.running = running
    if (this.options.broker !== undefined) this.connection = site.connectLine(definition.line, this.options.broker)
    this.resolveOpened(running)
    this.check()
    this.checkTimer = setInterval(() => this.check(), STATE_CHECK_MS)
  }

  private namedStages(): Stage[] {
    const last = Math.max(-1, ...[...this.stageOf.values()].map((stage) => STAGES.indexOf(stage)))
    return STAGES.slice(0, last + 1)
  }

  private check(): void {
    const paused = this.running?.status().paused
    if (paused !== undefined) this.become({ kind: 'paused', message: paused })
    else if (this.connection === undefined) this.become({ kind: 'wires' })
    else this.become({ kind: this.connection.connected ? 'connected' : 'connecting' })
  }

  private fail(error: unknown): void {
    const message = error instanceof Error ? error.message : String(error)
    this.options.log(message)
    this.rejectOpened(new Error(message))
    this.become({ kind: 'failed', message })
  }

  private become(state: PortState): void {
    if (state.kind === this.now.kind) return
    this.now = state
    for (const listener of this.stateListeners) listener(state)
  }
}
