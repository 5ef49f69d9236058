import { randomBytes } from 'node:crypto'
import { MqttConnection, type MqttMessage, type MqttUser } from '../adapters/mqtt/mqtt-connection.js'
import { compileBinding } from '../line/telemetry/channel-binding.js'
import type { Clock } from '../ports/clock.js'
import type { LineStore, OutboxItem } from '../ports/line-store.js'
import { identify, settled, type KnownMessage } from './message-identity.js'
import { isoTime } from './output-json.js'
import { fieldsOf, takePersonalInput, type PersonalOutcome } from './personal-input.js'
import type { RunningLine } from './running-line.js'

/** How a broker is reached; secrets come from credentials or the environment only. */
export interface BrokerAccess {
  readonly url: string
  readonly user?: string
  readonly password?: string
}

/** A line's use of its broker. */
export interface LineConnection {
  readonly connected: boolean
  /** QoS 1, below the line's own topics only; resolves when the broker has it. Waits while there is no connection. */
  publish(topic: string, payload: string): Promise<void>
  /** @param options.gone the line was deleted: its subscriptions are given up at the broker */
  close(options: { readonly gone: boolean }): Promise<void>
}

const STATE_EVERY_MS = 2000
const CONNECTED_CHECK_MS = 100
/** Topics below the line's own on which people and their systems write. */
const PERSONAL = ['replies', 'records', 'entries'] as const

/** The broker connections of a site: one per access, shared by its lines. */
export class BrokerHub {
  private readonly connections = new Map<string, HubLine>()

  constructor(private readonly options: { readonly store: LineStore; readonly clock: Clock; readonly log: (message: string) => void; readonly connected: () => void }) {}

  get brokers(): readonly { readonly broker: string; readonly connected: boolean }[] {
    const states = new Map([...this.connections.values()].map((line) => [line.broker, line.connected]))
    return [...states].map(([broker, connected]) => ({ broker, connected }))
  }

  connect(line: RunningLine, access: BrokerAccess): LineConnection {
    const connection = MqttConnection.shared({
      url: access.url,
      clientId: this.clientId(),
      ...(access.user === undefined ? {} : { username: access.user }),
      ...(access.password === undefined ? {} : { password: access.password }),
    })
    const id = line.definition.line
    const user = new HubLine(line, connection, access.url, { ...this.options, closed: () => this.connections.delete(id) })
    this.connections.set(id, user)
    return user
  }

  /** Sends one item of the outbox. @throws Error, as a rejected promise, while it cannot be sent */
  async deliver(item: OutboxItem): Promise<void> {
    const line = this.connections.get(item.line)
    if (line === undefined) throw new Error(`line "${item.line}" is not open`)
    await line.deliver(item)
  }

  /** Fixed for the data folder, since the broker keeps the queue of an absent client under it; no two folders share one. */
  private clientId(): string {
    const { store } = this.options
    const known = store.readNodeState('mqtt-client-id')
    if (typeof known === 'string') return known
    const made = `wave-solder-${randomBytes(6).toString('hex')}`
    store.writeNodeState('mqtt-client-id', made)
    return made
  }
}

interface HubLineOptions {
  readonly store: LineStore
  readonly clock: Clock
  readonly log: (message: string) => void
  readonly connected: () => void
  readonly closed: () => void
}

class HubLine implements LineConnection {
  private readonly user: MqttUser
  private readonly root: string
  private readonly endStatus: () => void
  private readonly stateTimer: ReturnType<typeof setInterval>
  private publishedState = ''
  /** Ids of messages that are being taken now. */
  private readonly underWay = new Set<string>()
  private lastFault: string | undefined
  private closed = false
  private ready: Promise<void> | undefined

  constructor(
    private readonly line: RunningLine,
    private readonly connection: MqttConnection,
    readonly broker: string,
    private readonly options: HubLineOptions,
  ) {
    const { definition } = line
    this.root = `${definition.topicRoot}/${definition.line}`
    this.user = {
      filters: [...compileBinding(definition).filters, ...PERSONAL.map((name) => `${this.root}/${name}`)],
      publishRoot: this.root,
      take: (message) => this.take(message),
    }
    this.endStatus = connection.onStatus(({ state }) => {
      if (state === 'connected') options.connected()
    })
    connection.register(this.user)
    this.stateTimer = setInterval(() => this.publishState(), STATE_EVERY_MS)
  }

  get connected(): boolean {
    return this.connection.status().state === 'connected'
  }

  async publish(topic: string, payload: string): Promise<void> {
    // All wait for the same promise, so that they go out in the order they came.
    if (this.ready !== undefined || !this.connected) await (this.ready ??= this.untilConnected())
    await this.connection.publish(topic, payload, { retain: false })
  }

  private async untilConnected(): Promise<void> {
    try {
      while (!this.connected) {
        if (this.closed) throw new Error(`line "${this.line.definition.line}" is closed`)
        await new Promise((resolve) => setTimeout(resolve, CONNECTED_CHECK_MS))
      }
    } finally {
      this.ready = undefined
    }
  }

  deliver(item: OutboxItem): Promise<void> {
    return this.connection.publish(item.target, item.payload, { retain: item.retain })
  }

  async close({ gone }: { readonly gone: boolean }): Promise<void> {
    this.closed = true
    clearInterval(this.stateTimer)
    this.endStatus()
    this.publishState()
    await this.connection.deregister(this.user, { unsubscribe: gone })
    if (gone) this.options.store.removeNodeState(this.messagesKey)
    this.options.closed()
  }

  private async take(message: MqttMessage): Promise<void> {
    const { topic, payload, retained } = message
    if (PERSONAL.some((name) => topic === `${this.root}/${name}`)) {
      await this.takePersonal(message)
      return
    }
    await this.line.submit({ kind: 'message', topic, payload, ...(retained ? { retained } : {}) })
  }

  /** What cannot be taken is told where the sender can read it, and acknowledged: sending it again would change nothing. */
  private async takePersonal(message: MqttMessage): Promise<void> {
    const { topic, payload, retained } = message
    const fields = fieldsOf(payload) as Readonly<Record<string, unknown>> | undefined
    const isUnmarked = fields !== undefined && !['id', 'time'].some((name) => Object.hasOwn(fields, name))
    const outcome = retained && isUnmarked && !Object.hasOwn(fields, 'suggestion') ? AGAIN_AND_AGAIN : isUnmarked ? await this.takeUnmarked(message, fields) : await takePersonalInput(this.line, payload, this.line.nowMs())
    if (outcome.kind === 'taken') return
    const expected = outcome.kind === 'refused' ? outcome.message : EXPECTED[topic.slice(this.root.length + 1) as (typeof PERSONAL)[number]]
    const reason = outcome.kind === 'refused' ? (outcome.reason ?? 'not-as-expected') : 'unreadable-payload'
    this.options.log(`${topic}: not taken (${reason}): ${expected}`)
    const id = fields?.['id']
    const rejection = { time: isoTime(this.options.clock.nowMs()), reason, where: topic, ...(typeof id === 'string' ? { id: id.slice(0, 80) } : {}), found: payload.slice(0, 80), expected }
    await this.connection.publish(`${this.root}/rejected`, JSON.stringify(rejection), { retain: false }).catch(() => undefined)
  }

  /** With an id, and a time where it has one: the same message delivered again gets the same ones, also after a restart. */
  private async takeUnmarked({ topic, payload, dup, messageId }: MqttMessage, fields: Readonly<Record<string, unknown>>): Promise<PersonalOutcome> {
    const { store, clock } = this.options
    const isReply = Object.hasOwn(fields, 'action') && !Object.hasOwn(fields, 'type')
    const isStep = isReply || STEPS.includes(String(fields['type']))
    const { identity, known, isNew } = identify(this.knownMessages(), { topic, payload, dup, messageId, isStep, underWay: this.underWay }, clock.nowMs(), this.line.nowMs())
    // Kept before the message is taken: if only this came to pass, the message that comes again is still taken.
    if (isNew) store.writeNodeState(this.messagesKey, known)
    this.underWay.add(identity.id)
    try {
      const outcome = await takePersonalInput(this.line, { ...fields, id: identity.id, ...(isReply ? {} : { time: isoTime(identity.timeMs) }) }, this.line.nowMs())
      store.writeNodeState(this.messagesKey, settled(this.knownMessages(), identity.id))
      return outcome
    } finally {
      this.underWay.delete(identity.id)
    }
  }

  private knownMessages(): readonly KnownMessage[] {
    const kept = this.options.store.readNodeState(this.messagesKey)
    return Array.isArray(kept) ? (kept as KnownMessage[]) : []
  }

  private get messagesKey(): string {
    return `mqtt-messages:${this.line.definition.line}`
  }

  /**
   * The line's state, retained, with the newest time of each channel: a publisher that must lose nothing sends again
   * from there.
   */
  private publishState(): void {
    this.tellFault()
    if (!this.connected) {
      // A broker that was away may have forgotten it.
      this.publishedState = ''
      return
    }
    const { projection } = this.line
    const state = JSON.stringify({
      schemaVersion: 1,
      line: this.line.definition.line,
      state: projection.state,
      ...(projection.stateSinceMs === undefined ? {} : { since: isoTime(projection.stateSinceMs) }),
      recipe: projection.recipe,
      openSuggestions: projection.openSuggestions().length,
      processed: this.line.status().processedSeq,
      channels: Object.fromEntries([...this.line.channelTimes].map(([channel, timeMs]) => [channel, isoTime(timeMs)])),
    })
    if (state === this.publishedState) return
    this.publishedState = state
    this.connection.publish(`${this.root}/state`, state, { retain: true }).catch(() => {
      this.publishedState = ''
    })
  }

  private tellFault(): void {
    const { state, reason, subscriptionFault } = this.connection.status()
    // While it connects it may still be finding out which version of the protocol the broker speaks.
    const fault = subscriptionFault ?? (state === 'disconnected' ? reason : state === 'connecting' ? this.lastFault : undefined)
    if (fault !== undefined && fault !== this.lastFault) this.options.log(`broker ${this.broker}: ${fault}`)
    this.lastFault = fault
  }
}

/** A retained message comes with every new connection: without a mark of its own it would be new work each time. */
const AGAIN_AND_AGAIN: PersonalOutcome = { kind: 'refused', reason: 'retained-without-id', message: 'a message that is not retained, or one with an "id" or "time" of its own' }

/** What each topic of people takes. */
const EXPECTED: Readonly<Record<(typeof PERSONAL)[number], string>> = { replies: 'a reply {suggestion, action, …}', records: 'a record {section, work, …}', entries: 'an entry {type, …}' }

/** Entries of which the same may truly come again soon: a job is paused, goes on, and is paused again. */
const STEPS: readonly string[] = ['job', 'hold', 'stop', 'plan']
