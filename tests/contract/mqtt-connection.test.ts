import { connectAsync, type MqttClient } from 'mqtt'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { MqttConnection, type MqttConnectionOptions, type MqttMessage, type MqttUser } from '../../src/adapters/mqtt/mqtt-connection.js'
import { startAedes, startMosquitto, type TestBroker } from '../brokers.js'

/** A user that keeps what it is given and settles it when the test says so. */
class TestUser implements MqttUser {
  readonly filters: readonly string[]
  readonly publishRoot: string
  readonly taken: MqttMessage[] = []
  readonly waiting: { readonly message: MqttMessage; readonly commit: () => void; readonly refuse: () => void }[] = []
  commitsAtOnce: boolean

  constructor(filters: readonly string[], options: { readonly commitsAtOnce?: boolean; readonly publishRoot?: string } = {}) {
    this.filters = filters
    this.commitsAtOnce = options.commitsAtOnce ?? true
    this.publishRoot = options.publishRoot ?? 'site/line-a'
  }

  take(message: MqttMessage): Promise<unknown> {
    this.taken.push(message)
    if (this.commitsAtOnce) return Promise.resolve()
    return new Promise<void>((resolve, reject) => {
      this.waiting.push({ message, commit: resolve, refuse: () => reject(new Error('no room')) })
    })
  }

  get payloads(): string[] {
    return this.taken.map((message) => message.payload)
  }
}

describeBroker('mosquitto', () => startMosquitto())
describeBroker('aedes', () => startAedes())

function describeBroker(name: string, start: () => Promise<TestBroker>): void {
  describe(`a connection to ${name}`, () => {
    let broker: TestBroker
    let publisher: MqttClient
    let number = 0
    const open: { connection: MqttConnection; user: MqttUser }[] = []

    beforeAll(async () => {
      broker = await start()
      publisher = await connectAsync(broker.url)
    })
    afterEach(async () => {
      for (const { connection, user } of open.splice(0)) await connection.deregister(user, { unsubscribe: true })
    })
    afterAll(async () => {
      await publisher.endAsync()
      await broker.stop()
    })

    function newClientId(): string {
      number += 1
      return `test-${name}-${number}`
    }

    async function connectUser(user: MqttUser, options: MqttConnectionOptions & { readonly clientId?: string } = {}): Promise<MqttConnection> {
      const connection = new MqttConnection({ url: broker.url, clientId: options.clientId ?? newClientId() }, { retryMs: [5, 50], unroutedHoldMs: 60_000, ...options })
      connection.register(user)
      open.push({ connection, user })
      await expect.poll(() => connection.status().subscriptions).toBe(user.filters.length)
      return connection
    }

    it('speaks the highest version the broker has', async () => {
      const connection = await connectUser(new TestUser([`a/${name}/#`]))
      expect(connection.status()).toMatchObject({ state: 'connected', protocolVersion: broker.protocolVersion, connections: 1 })
    })

    it('acknowledges only what is durable: the rest comes again, in order, after the process has ended', async () => {
      const topic = `b/${name}`
      const clientId = newClientId()
      const user = new TestUser([topic], { commitsAtOnce: false })
      const connection = await connectUser(user, { clientId })
      for (let message = 1; message <= 6; message += 1) await publisher.publishAsync(topic, String(message), { qos: 1 })
      await expect.poll(() => user.payloads).toEqual(['1', '2', '3', '4', '5', '6'])
      // 1, 2 and 4 are durable; 4 may not be acknowledged before 3.
      for (const index of [3, 1, 0]) waitingFor(user, String(index + 1)).commit()
      await expect.poll(() => connection.status().acknowledged).toBe(2)
      // The process goes without a word: nothing is committed or acknowledged any more.
      await connection.deregister(user, { unsubscribe: false })
      await publisher.publishAsync(topic, '7', { qos: 1 })
      const next = new TestUser([topic])
      await connectAgain(next, clientId)
      await expect.poll(() => next.payloads).toEqual(['3', '4', '5', '6', '7'])
    })

    it('asks for a message again that was refused', async () => {
      const topic = `c/${name}`
      const user = new TestUser([topic], { commitsAtOnce: false })
      const connection = await connectUser(user)
      await publisher.publishAsync(topic, 'x', { qos: 1 })
      await publisher.publishAsync(topic, 'y', { qos: 1 })
      await expect.poll(() => user.waiting.length).toBe(2)
      user.commitsAtOnce = true
      waitingFor(user, 'x').refuse()
      await expect.poll(() => connection.status().connections).toBe(2)
      await expect.poll(() => user.payloads.slice(2)).toEqual(['x', 'y'])
    })

    it('routes each message to all lines whose filters fit, and acknowledges when all have it', async () => {
      const first = new TestUser([`d/${name}/+/telemetry/#`])
      const connection = await connectUser(first)
      const second = new TestUser([`d/${name}/line-b/telemetry/pot.level`, `d/${name}/line-b/+/pot.level`], { commitsAtOnce: false })
      connection.register(second)
      open.push({ connection, user: second })
      await expect.poll(() => connection.status().subscriptions).toBe(3)
      await publisher.publishAsync(`d/${name}/line-b/telemetry/pot.level`, '1', { qos: 1 })
      await publisher.publishAsync(`d/${name}/line-c/telemetry/pot.level`, '2', { qos: 1 })
      await expect.poll(() => first.payloads.slice(-1)).toEqual(['2'])
      await expect.poll(() => new Set(second.payloads)).toEqual(new Set(['1']))
      expect(connection.status().acknowledged).toBe(0)
      for (const waiting of second.waiting.splice(0)) waiting.commit()
      await expect.poll(() => connection.status().held).toBe(0)
      expect(connection.status().acknowledged).toBe(connection.status().received)
    })

    it('keeps queued messages of a line that is registered later than the connection starts', async () => {
      const clientId = newClientId()
      const late = new TestUser([`e/${name}/late`])
      const connection = await connectUser(late, { clientId })
      const early = new TestUser([`e/${name}/early`])
      connection.register(early)
      open.push({ connection, user: early })
      await expect.poll(() => connection.status().subscriptions).toBe(2)
      await connection.deregister(early, { unsubscribe: false })
      await connection.deregister(late, { unsubscribe: false })
      await publisher.publishAsync(`e/${name}/late`, 'queued', { qos: 1 })
      const restarted = new MqttConnection({ url: broker.url, clientId }, { unroutedHoldMs: 60_000 })
      restarted.register(early)
      open.push({ connection: restarted, user: early }, { connection: restarted, user: late })
      await expect.poll(() => restarted.status().held).toBe(1)
      late.taken.length = 0
      restarted.register(late)
      await expect.poll(() => restarted.status().held).toBe(0)
      expect(late.payloads).toEqual(['queued'])
      expect(restarted.status().unrouted).toBe(0)
    })

    it('lets go of messages nobody wants once the time for that is over', async () => {
      const clientId = newClientId()
      const gone = new TestUser([`f/${name}/gone`])
      const connection = await connectUser(gone, { clientId })
      await connection.deregister(gone, { unsubscribe: false })
      await publisher.publishAsync(`f/${name}/gone`, 'stale', { qos: 1 })
      const stays = new TestUser([`f/${name}/stays`])
      const restarted = new MqttConnection({ url: broker.url, clientId }, { unroutedHoldMs: 50 })
      restarted.register(stays)
      open.push({ connection: restarted, user: stays })
      await expect.poll(() => restarted.status().unrouted).toBe(1)
      await expect.poll(() => restarted.status().held).toBe(0)
    })

    it('gives up subscriptions of a line that is gone for good', async () => {
      const stays = new TestUser([`g/${name}/stays`])
      const connection = await connectUser(stays, { unroutedHoldMs: 1 })
      const gone = new TestUser([`g/${name}/gone`, `g/${name}/stays`])
      connection.register(gone)
      await expect.poll(() => connection.status().subscriptions).toBe(2)
      await connection.deregister(gone, { unsubscribe: true })
      await publisher.publishAsync(`g/${name}/gone`, 'nobody', { qos: 1 })
      await publisher.publishAsync(`g/${name}/stays`, 'here', { qos: 1 })
      await expect.poll(() => stays.payloads.at(-1)).toBe('here')
      expect(connection.status().unrouted).toBe(0)
      expect(gone.payloads).not.toContain('nobody')
    })

    it('publishes with QoS 1, also retained, below the own topics of its lines and nowhere else', async () => {
      const connection = await connectUser(new TestUser([`h/${name}`], { publishRoot: `out/${name}` }))
      const received: string[] = []
      const observer = await connectAsync(broker.url)
      observer.on('message', (topic, payload, packet) => received.push(`${topic} ${payload.toString()} ${packet.qos} ${packet.retain}`))
      await observer.subscribeAsync(`out/${name}/#`, { qos: 1 })
      await connection.publish(`out/${name}/suggestions`, '{"id":1}', { retain: false })
      await connection.publish(`out/${name}/state`, '{"seq":1}', { retain: true })
      await expect.poll(() => received).toEqual([`out/${name}/suggestions {"id":1} 1 false`, `out/${name}/state {"seq":1} 1 false`])
      await observer.endAsync()
      const laterObserver = await connectAsync(broker.url)
      const retained: string[] = []
      laterObserver.on('message', (topic, payload) => retained.push(`${topic} ${payload.toString()}`))
      await laterObserver.subscribeAsync(`out/${name}/#`, { qos: 1 })
      await expect.poll(() => retained).toEqual([`out/${name}/state {"seq":1}`])
      await laterObserver.endAsync()
      for (const topic of [`out/${name}`, 'plc/line-a/speed', `out/${name}-x/state`, `out/${name}/+`, `out/${name}/#`]) {
        await expect(connection.publish(topic, '1', { retain: false })).rejects.toThrow('not below the own topics')
      }
    })

    it('is one for all lines with the same access, and a new one after the last has left', async () => {
      const access = { url: broker.url, clientId: newClientId() }
      const one = MqttConnection.shared(access)
      const user = new TestUser([`i/${name}`])
      one.register(user)
      expect(MqttConnection.shared({ ...access })).toBe(one)
      expect(MqttConnection.shared({ ...access, password: 'other' })).not.toBe(one)
      await one.deregister(user, { unsubscribe: true })
      expect(MqttConnection.shared(access)).not.toBe(one)
    })

    async function connectAgain(user: MqttUser, clientId: string): Promise<void> {
      const connection = new MqttConnection({ url: broker.url, clientId }, { retryMs: [5, 50] })
      connection.register(user)
      open.push({ connection, user })
      await expect.poll(() => connection.status().state).toBe('connected')
    }
  })
}

describe('a broker that is away', () => {
  it('is tried again until it is there, and publishing fails meanwhile', async () => {
    const broker = await startMosquitto()
    const user = new TestUser(['a/#'])
    const connection = new MqttConnection({ url: broker.url, clientId: 'away-1' }, { retryMs: [5, 40] })
    const states: string[] = []
    connection.onStatus((status) => states.push(status.state))
    connection.register(user)
    await expect.poll(() => connection.status().state).toBe('connected')
    await connection.publish('site/line-a/state', '1', { retain: false })
    await broker.stop()
    await expect.poll(() => connection.status().state).not.toBe('connected')
    await expect(connection.publish('site/line-a/state', '1', { retain: false })).rejects.toThrow('no connection to the broker')
    await expect.poll(() => connection.status().reason).toContain('ECONNREFUSED')
    const again = await startMosquitto([], broker.port)
    await expect.poll(() => connection.status(), { timeout: 10_000 }).toMatchObject({ state: 'connected', connections: 2 })
    const publisher = await connectAsync(again.url)
    await expect.poll(async () => {
      await publisher.publishAsync('a/b', 'x', { qos: 1 })
      return user.payloads.length
    }).toBeGreaterThan(0)
    await publisher.endAsync()
    await connection.deregister(user, { unsubscribe: false })
    await again.stop()
    expect(new Set(states)).toEqual(new Set(['connecting', 'connected', 'disconnected']))
  })

  it('and refuses the credentials says so', async () => {
    const broker = await startMosquitto(['allow_anonymous false'])
    const user = new TestUser(['a/#'])
    const connection = new MqttConnection({ url: broker.url, clientId: 'refused-1', username: 'somebody', password: 'wrong' }, { retryMs: [5, 40] })
    connection.register(user)
    await expect.poll(() => connection.status().reason).toContain('Not authorized')
    await connection.deregister(user, { unsubscribe: false })
    await broker.stop()
  })
})

function waitingFor(user: TestUser, payload: string): { commit(): void; refuse(): void } {
  const found = user.waiting.find((waiting) => waiting.message.payload === payload)
  if (found === undefined) throw new Error(`no message "${payload}" waits`)
  return found
}
