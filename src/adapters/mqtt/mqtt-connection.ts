import { createHash } from 'node:crypto'
import { MqttSession, type MqttAccess, type MqttMessage } from './mqtt-session.js'
import { settledWithin } from './settled-within.js'
import { TopicTree } from './topic-tree.js'

export type { MqttAccess, MqttMessage } from './mqtt-session.js'

/** Somebody who uses a connection: a line, as a rule. */
export interface MqttUser {
  /** MQTT filters of the messages it wants. */
  readonly filters: readonly string[]
  /** Topics below this may be published through the connection, and no others. */
  readonly publishRoot: string
  /** Resolves once the message is durable: only then is it acknowledged. A rejection makes the broker send it again. */
  take(message: MqttMessage): Promise<unknown>
}

export interface MqttStatus {
  readonly state: 'connecting' | 'connected' | 'disconnected'
  /** Why it is not connected. */
  readonly reason?: string
  readonly protocolVersion?: 4 | 5
  /** Filters the broker has granted. */
  readonly subscriptions: number
  /** Subscriptions the broker refused, or why they could not be made. */
  readonly subscriptionFault?: string
  readonly received: number
  readonly acknowledged: number
  /** Taken and not yet acknowledged. */
  readonly held: number
  /** Messages nobody here wants any more (of a subscription an earlier run left at the broker). */
  readonly unrouted: number
  readonly connections: number
}

export interface MqttConnectionOptions {
  /** First and longest wait before the next attempt to connect, ms. @default [1_000, 30_000] */
  readonly retryMs?: readonly [number, number]
  /** How long messages for nobody wait unacknowledged after a start or a redeploy, ms. @default 10_000 */
  readonly unroutedHoldMs?: number
}

/** Reason codes by which brokers of older protocols refuse a newer one (3.1.1 and 5). */
const VERSION_REFUSALS = new Set([1, 132])
/** A broker may also just hang up on what it does not understand. */
const HANG_UPS_BEFORE_OTHER_VERSION = 2
const DRAIN_MS_MAX = 2_000

interface UnroutedMessage {
  readonly message: MqttMessage
  readonly resolve: (taken: unknown) => void
}

/**
 * A connection to one broker that lines share: connects with the first user, ends with the last. Messages are routed
 * to the users whose filters fit and acknowledged, in order, once all of these have made them durable.
 */
export class MqttConnection {
  static readonly #shared = new Map<string, MqttConnection>()

  readonly #access: MqttAccess
  readonly #key: string | undefined
  readonly #retryMs: readonly [number, number]
  readonly #unroutedHoldMs: number
  readonly #users = new Map<MqttUser, { outstanding: number; drained: (() => void) | undefined }>()
  readonly #tree = new TopicTree<MqttUser>()
  readonly #statusListeners = new Set<(status: MqttStatus) => void>()
  #session: MqttSession | undefined
  #state: MqttStatus['state'] = 'disconnected'
  #reason: string | undefined
  #subscriptionFault: string | undefined
  /** Filters asked for, and those of them the broker has granted. */
  #subscribed = new Set<string>()
  #granted = new Set<string>()
  #protocolVersion: 4 | 5 = 5
  #hangUps = 0
  #attempts = 0
  #retryTimer: NodeJS.Timeout | undefined
  #holdTimer: NodeJS.Timeout | undefined
  #unroutedHeld: UnroutedMessage[] = []
  #counts = { received: 0, acknowledged: 0, unrouted: 0, connections: 0 }

  /** The one connection for this broker, client id and credentials, as long as it has users. */
  static shared(access: MqttAccess, options: MqttConnectionOptions = {}): MqttConnection {
    const secret = createHash('sha256').update(access.password ?? '').digest('hex')
    const key = JSON.stringify([access.url, access.clientId, access.username ?? '', secret, access.ca ?? ''])
    let connection = MqttConnection.#shared.get(key)
    if (connection === undefined) {
      connection = new MqttConnection(access, options, key)
      MqttConnection.#shared.set(key, connection)
    }
    return connection
  }

  /** @param key place among the shared connections; none for a connection of one's own */
  constructor(access: MqttAccess, options: MqttConnectionOptions = {}, key?: string) {
    this.#access = access
    this.#key = key
    this.#retryMs = options.retryMs ?? [1_000, 30_000]
    this.#unroutedHoldMs = options.unroutedHoldMs ?? 10_000
  }

  /** Adds a user; the first one connects. */
  register(user: MqttUser): void {
    if (this.#users.has(user)) return
    this.#users.set(user, { outstanding: 0, drained: undefined })
    for (const filter of user.filters) this.#tree.add(filter, user)
    if (this.#key !== undefined) MqttConnection.#shared.set(this.#key, this)
    if (this.#session === undefined && this.#retryTimer === undefined) {
      this.#holdUnrouted()
      this.#connect()
    } else void this.#subscribeMissing()
    const waiting = this.#unroutedHeld
    this.#unroutedHeld = []
    for (const { message, resolve } of waiting) resolve(this.#route(message))
  }

  /**
   * Removes a user once the messages it has taken are durable; with the last one the connection ends. The broker keeps
   * the session, so that nothing is missed in a restart.
   *
   * @param options.unsubscribe the user is gone for good: filters nobody else uses are given up at the broker
   */
  async deregister(user: MqttUser, options: { readonly unsubscribe: boolean }): Promise<void> {
    const entry = this.#users.get(user)
    if (entry === undefined) return
    for (const filter of user.filters) this.#tree.remove(filter, user)
    if (!options.unsubscribe) this.#holdUnrouted()
    if (entry.outstanding > 0) await settledWithin(new Promise<void>((resolve) => (entry.drained = resolve)), DRAIN_MS_MAX)
    this.#users.delete(user)
    if (options.unsubscribe) await this.#unsubscribeUnused(user.filters)
    if (this.#users.size === 0) await this.#close()
  }

  /**
   * Publishes with QoS 1.
   *
   * @returns a promise that resolves when the broker has acknowledged
   * @throws Error, as a rejected promise, without a connection, or for a topic outside every user's own
   */
  publish(topic: string, payload: string, options: { readonly retain: boolean }): Promise<void> {
    if (/[+#\u0000]/.test(topic) || ![...this.#users.keys()].some((user) => topic.startsWith(`${user.publishRoot}/`))) {
      return Promise.reject(new Error(`topic "${topic}" is not below the own topics of a line, so nothing is published there`))
    }
    const session = this.#session
    if (session === undefined || this.#state !== 'connected') return Promise.reject(new Error(`no connection to the broker: ${this.#reason ?? 'connecting'}`))
    return session.publish(topic, payload, options.retain)
  }

  status(): MqttStatus {
    return {
      state: this.#state,
      ...(this.#reason === undefined ? {} : { reason: this.#reason }),
      ...(this.#state === 'connected' ? { protocolVersion: this.#protocolVersion } : {}),
      ...(this.#subscriptionFault === undefined ? {} : { subscriptionFault: this.#subscriptionFault }),
      subscriptions: this.#granted.size,
      ...this.#counts,
      held: this.#session?.held ?? 0,
    }
  }

  /** Tells of every change of `state`; answers what ends that. */
  onStatus(listener: (status: MqttStatus) => void): () => void {
    this.#statusListeners.add(listener)
    return () => this.#statusListeners.delete(listener)
  }

  #connect(): void {
    this.#retryTimer = undefined
    this.#setState('connecting', this.#reason)
    const session = new MqttSession(this.#access, this.#protocolVersion, {
      connected: (sessionPresent) => this.#connected(sessionPresent),
      take: (message) => {
        this.#counts.received += 1
        return this.#route(message)
      },
      acknowledged: (count) => (this.#counts.acknowledged += count),
      ended: (reason, refused) => this.#ended(session, reason, refused),
    })
    this.#session = session
  }

  #connected(sessionPresent: boolean): void {
    this.#hangUps = 0
    this.#attempts = 0
    this.#counts.connections += 1
    // Subscriptions this process has not made itself are made again even if the broker remembers some.
    if (!sessionPresent) this.#subscribed = new Set()
    this.#granted = new Set(this.#subscribed)
    this.#setState('connected', undefined)
    void this.#subscribeMissing()
  }

  #ended(session: MqttSession, reason: string, refused: number | undefined): void {
    if (this.#session !== session) return
    this.#session = undefined
    const isOtherVersion = this.#state === 'connecting' && this.#chooseVersion(refused)
    this.#setState('disconnected', reason)
    // What waits for a user belongs to the ended session; the broker sends it again.
    this.#unroutedHeld = []
    if (this.#users.size === 0) return
    const [firstMs, longestMs] = this.#retryMs
    // A broker that has said which version it wants need not be waited for.
    const waitMs = isOtherVersion ? 0 : Math.min(longestMs, firstMs * 2 ** Math.min(this.#attempts, 16))
    if (!isOtherVersion) this.#attempts += 1
    this.#retryTimer = setTimeout(() => this.#connect(), waitMs)
  }

  /** Goes over to the other protocol version where this one is not understood; answers whether the broker said so. */
  #chooseVersion(refused: number | undefined): boolean {
    const isRefusal = refused !== undefined && VERSION_REFUSALS.has(refused)
    if (refused === undefined) this.#hangUps += 1
    const isHangUp = refused === undefined && this.#hangUps % HANG_UPS_BEFORE_OTHER_VERSION === 0
    if (isRefusal || isHangUp) this.#protocolVersion = this.#protocolVersion === 5 ? 4 : 5
    // A broker that takes neither must not be asked without a pause.
    return isRefusal && this.#protocolVersion === 4
  }

  async #route(message: MqttMessage): Promise<unknown> {
    const users = this.#tree.match(message.topic)
    if (users.size === 0) return this.#holdOrDrop(message)
    const takes: Promise<unknown>[] = []
    for (const user of users) takes.push(this.#takeBy(user, message))
    return takes.length === 1 ? takes[0] : Promise.all(takes)
  }

  async #takeBy(user: MqttUser, message: MqttMessage): Promise<void> {
    const entry = this.#users.get(user)
    if (entry !== undefined) entry.outstanding += 1
    try {
      await user.take(message)
    } finally {
      if (entry !== undefined) {
        entry.outstanding -= 1
        if (entry.outstanding === 0) entry.drained?.()
      }
    }
  }

  /** Right after a start or a redeploy the user of a queued message may not be there yet. */
  #holdOrDrop(message: MqttMessage): Promise<unknown> | undefined {
    if (this.#holdTimer !== undefined && message.qos > 0) return new Promise((resolve) => this.#unroutedHeld.push({ message, resolve }))
    this.#counts.unrouted += 1
    return undefined
  }

  #holdUnrouted(): void {
    clearTimeout(this.#holdTimer)
    this.#holdTimer = setTimeout(() => {
      this.#holdTimer = undefined
      this.#counts.unrouted += this.#unroutedHeld.length
      for (const { resolve } of this.#unroutedHeld) resolve(undefined)
      this.#unroutedHeld = []
    }, this.#unroutedHoldMs)
    this.#holdTimer.unref()
  }

  async #subscribeMissing(): Promise<void> {
    const session = this.#session
    if (session === undefined || this.#state !== 'connected') return
    const missing = [...this.#filters()].filter((filter) => !this.#subscribed.has(filter))
    for (const filter of missing) this.#subscribed.add(filter)
    try {
      await session.subscribe(missing)
      for (const filter of missing) if (this.#subscribed.has(filter)) this.#granted.add(filter)
      if (missing.length > 0) this.#subscriptionFault = undefined
    } catch (error) {
      for (const filter of missing) this.#subscribed.delete(filter)
      this.#subscriptionFault = error instanceof Error ? error.message : String(error)
    }
    this.#tellStatus()
  }

  async #unsubscribeUnused(filters: readonly string[]): Promise<void> {
    const used = this.#filters()
    const unused = filters.filter((filter) => !used.has(filter) && this.#subscribed.delete(filter))
    for (const filter of unused) this.#granted.delete(filter)
    // Without a connection the broker keeps the subscription; its messages are counted as unrouted then.
    if (this.#state === 'connected') await this.#session?.unsubscribe(unused).catch(() => undefined)
  }

  #filters(): Set<string> {
    return new Set([...this.#users.keys()].flatMap((user) => user.filters))
  }

  async #close(): Promise<void> {
    clearTimeout(this.#retryTimer)
    this.#retryTimer = undefined
    const session = this.#session
    this.#session = undefined
    if (this.#key !== undefined) MqttConnection.#shared.delete(this.#key)
    this.#setState('disconnected', undefined)
    this.#subscribed = new Set()
    this.#granted = new Set()
    clearTimeout(this.#holdTimer)
    this.#holdTimer = undefined
    await session?.close()
  }

  #setState(state: MqttStatus['state'], reason: string | undefined): void {
    this.#state = state
    this.#reason = reason
    this.#tellStatus()
  }

  #tellStatus(): void {
    const status = this.status()
    for (const listener of this.#statusListeners) listener(status)
  }
}
