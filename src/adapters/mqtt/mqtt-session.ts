import { connect, type IClientOptions, type IConnackPacket, type IPublishPacket, type MqttClient } from 'mqtt'
import { AcknowledgementQueue } from './acknowledgement-queue.js'
import { settledWithin } from './settled-within.js'

/** How a broker is reached. */
export interface MqttAccess {
  /** `mqtt://host:port` or `mqtts://host:port` */
  readonly url: string
  /** Fixed, since the broker keeps the queue of an absent client under it. */
  readonly clientId: string
  readonly username?: string
  readonly password?: string
  /** Certificate authority, PEM. */
  readonly ca?: string
}

export interface MqttMessage {
  readonly topic: string
  readonly payload: string
  readonly retained: boolean
  readonly qos: 0 | 1 | 2
  /** The broker has sent it before, as far as it knows. */
  readonly dup: boolean
  /** Packet identifier, absent with QoS 0; the same when it is delivered again in the same session. */
  readonly messageId?: number
}

export interface SessionHooks {
  /** The broker has accepted; `sessionPresent`: it remembers the subscriptions. */
  connected(sessionPresent: boolean): void
  /** Resolves once the message is durable; a rejection leaves it unacknowledged and ends the session. */
  take(message: MqttMessage): Promise<unknown>
  /** Called once; `refused` holds the reason code of a broker that answered and refused. */
  ended(reason: string, refused?: number): void
  acknowledged(count: number): void
}

/** Messages held unacknowledged before reading stops; the broker then feels it. */
const HELD_MAX = 5_000
const RECEIVE_MAXIMUM = 1_000
/** How long a broker of MQTT 5 keeps the session of an absent client, s: a week's shutdown. */
const SESSION_EXPIRY_S = 8 * 24 * 3600
/** Longer payloads are cut: what is so long is refused as oversize later on. */
const PAYLOAD_BYTES_MAX = 1_048_576
const CONNECT_TIMEOUT_MS = 15_000
const CLOSE_MS_MAX = 2_000

/** The part of the client that sends packets; not public, so held in one place and by a contract test. */
interface PacketSender {
  _sendPacket(packet: { readonly cmd: string; readonly messageId?: number; readonly reasonCode?: number }, done?: (error?: Error) => void, ...rest: unknown[]): void
}

/** One network connection with a persistent session: from connecting to its end, never reused. */
export class MqttSession {
  readonly protocolVersion: 4 | 5
  readonly #hooks: SessionHooks
  readonly #client: MqttClient
  readonly #acknowledgements: AcknowledgementQueue
  readonly #publishing = new Set<(error: Error) => void>()
  #sendPacket: PacketSender['_sendPacket'] = () => undefined
  #resumeReading: (() => void) | undefined
  #lastError: string | undefined
  #refused: number | undefined
  #ended = false

  constructor(access: MqttAccess, protocolVersion: 4 | 5, hooks: SessionHooks) {
    this.protocolVersion = protocolVersion
    this.#hooks = hooks
    this.#acknowledgements = new AcknowledgementQueue((messageIds) => this.#acknowledge(messageIds))
    this.#client = connect(access.url, clientOptions(access, protocolVersion))
    this.#holdAcknowledgements()
    this.#client.on('connect', (packet: IConnackPacket) => hooks.connected(packet.sessionPresent))
    this.#client.on('error', (error) => {
      this.#lastError = error.message === '' ? String(error) : error.message
      const code = (error as Error & { readonly code?: unknown }).code
      if (typeof code === 'number') this.#refused = code
    })
    this.#client.on('disconnect', (packet) => {
      this.#lastError = `the broker ended the connection (reason ${packet.reasonCode ?? 0})`
    })
    this.#client.on('close', () => this.#end(this.#lastError ?? 'the connection was closed'))
    this.#client.connect()
  }

  /** Messages taken and not yet acknowledged. */
  get held(): number {
    return this.#acknowledgements.length
  }

  async subscribe(filters: readonly string[]): Promise<void> {
    if (filters.length === 0) return
    const granted = await this.#client.subscribeAsync([...filters], { qos: 1 })
    const refused = granted.filter((grant) => grant.qos > 2).map((grant) => grant.topic)
    if (refused.length > 0) throw new Error(`the broker refused the subscription to ${refused.join(', ')}`)
  }

  async unsubscribe(filters: readonly string[]): Promise<void> {
    if (filters.length > 0) await this.#client.unsubscribeAsync([...filters])
  }

  /** Publishes with QoS 1; resolves when the broker has acknowledged. */
  publish(topic: string, payload: string, retain: boolean): Promise<void> {
    if (this.#ended || !this.#client.connected) return Promise.reject(new Error('no connection to the broker'))
    return new Promise((resolve, reject) => {
      this.#publishing.add(reject)
      this.#client.publish(topic, payload, { qos: 1, retain }, (error) => {
        this.#publishing.delete(reject)
        if (error) reject(error)
        else resolve()
      })
    })
  }

  /** Says goodbye; what is held stays unacknowledged and comes again with the next session. */
  async close(): Promise<void> {
    if (this.#ended) return
    this.#acknowledgements.releaseSettled()
    await settledWithin(this.#client.endAsync(), CLOSE_MS_MAX)
    this.#end('closed')
  }

  /** Ends the connection at once, so that the broker sends again what was not acknowledged. */
  abort(reason: string): void {
    this.#lastError = reason
    this.#client.end(true)
    this.#end(reason)
  }

  /**
   * The client would send each PUBACK when `handleMessage` calls back, and would hand over the next message only then:
   * waiting there for a commit means one message per commit. So it is called back at once, the PUBACK it then sends is
   * swallowed, and ours goes out when the message is durable.
   */
  #holdAcknowledgements(): void {
    const sender = this.#client as unknown as PacketSender
    this.#sendPacket = sender._sendPacket.bind(this.#client)
    sender._sendPacket = (packet, done, ...rest) => {
      if (packet.cmd === 'puback') done?.()
      else this.#sendPacket(packet, done, ...rest)
    }
    this.#client.handleMessage = (packet, callback) => {
      this.#take(packet)
      if (this.held < HELD_MAX) callback()
      else this.#resumeReading = () => callback()
    }
  }

  #take(packet: IPublishPacket): void {
    const settle = this.#acknowledgements.hold(packet.qos === 1 ? packet.messageId : undefined)
    const message: MqttMessage = { topic: packet.topic, payload: textOf(packet.payload), retained: packet.retain, qos: packet.qos, dup: packet.dup, ...(packet.qos === 0 || packet.messageId === undefined ? {} : { messageId: packet.messageId }) }
    this.#hooks.take(message).then(settle, (error: unknown) => {
      if (packet.qos === 0) settle()
      else if (!this.#ended) this.abort(`a message was not taken: ${error instanceof Error ? error.message : String(error)}`)
    })
  }

  #acknowledge(messageIds: readonly number[]): void {
    if (this.#client.connected && messageIds.length > 0) {
      const { stream } = this.#client
      stream.cork()
      for (const messageId of messageIds) this.#sendPacket({ cmd: 'puback', messageId, reasonCode: 0 })
      stream.uncork()
      this.#hooks.acknowledged(messageIds.length)
    }
    if (this.#resumeReading === undefined || this.held > HELD_MAX / 2) return
    const resume = this.#resumeReading
    this.#resumeReading = undefined
    resume()
  }

  #end(reason: string): void {
    if (this.#ended) return
    this.#ended = true
    this.#acknowledgements.end()
    this.#client.end(true)
    for (const reject of this.#publishing) reject(new Error(`the connection to the broker ended: ${reason}`))
    this.#publishing.clear()
    this.#hooks.ended(reason, this.#refused)
  }
}

function clientOptions(access: MqttAccess, protocolVersion: 4 | 5): IClientOptions {
  return {
    clientId: access.clientId,
    clean: false,
    protocolVersion,
    // A new session is made for each connection, so that no packet of an old one is ever sent on a new one.
    reconnectPeriod: 0,
    manualConnect: true,
    resubscribe: false,
    queueQoSZero: false,
    connectTimeout: CONNECT_TIMEOUT_MS,
    ...(access.username === undefined ? {} : { username: access.username }),
    ...(access.password === undefined ? {} : { password: access.password }),
    ...(access.ca === undefined ? {} : { ca: access.ca }),
    ...(protocolVersion === 5 ? { properties: { receiveMaximum: RECEIVE_MAXIMUM, sessionExpiryInterval: SESSION_EXPIRY_S } } : {}),
  }
}

function textOf(payload: Buffer | string): string {
  if (typeof payload === 'string') return payload.slice(0, PAYLOAD_BYTES_MAX)
  return payload.length <= PAYLOAD_BYTES_MAX ? payload.toString('utf8') : payload.toString('utf8', 0, PAYLOAD_BYTES_MAX)
}
