import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { openMemoryLineStore } from '../../../src/adapters/memory/memory-line-store.js'
import { DeliveryDelayedError, DeliveryRefusedError } from '../../../src/ports/delivery.js'
import type { LineStore, OutboxItem } from '../../../src/ports/line-store.js'
import { OutboxDispatcher, type OutboxDispatcherOptions } from '../../../src/runtime/outbox-dispatcher.js'

let store: LineStore
let nowMs: number
const dispatchers: OutboxDispatcher[] = []

beforeEach(() => {
  store = openMemoryLineStore({ outboxMax: 1_000_000 })
  nowMs = 1_000
})

afterEach(async () => {
  for (const dispatcher of dispatchers.splice(0)) await dispatcher.close()
})

function open(changes: Partial<OutboxDispatcherOptions>): OutboxDispatcher {
  const dispatcher = new OutboxDispatcher({ store, clock: { nowMs: () => nowMs }, deliver: {}, pollMs: 2, retryMs: [100, 1_000], ...changes })
  dispatchers.push(dispatcher)
  return dispatcher
}

function put(ids: readonly string[], destination: OutboxItem['destination'] = 'mqtt', target = 'a'): void {
  const outbox = ids.map((id) => ({ id, line: 'line-a', destination, target, payload: id, retain: false, createdMs: 1 }))
  store.commit({ line: 'line-a', inputs: [], outputs: [], processedSeq: 0, outbox })
}

describe('the outbox dispatcher', () => {
  it('delivers in order for each target, and removes what was delivered', async () => {
    const sent: string[] = []
    put(Array.from({ length: 120 }, (_, index) => `m${index}`))
    const dispatcher = open({
      deliver: {
        mqtt: async (item) => {
          await Promise.resolve()
          sent.push(item.id)
        },
      },
    })
    await expect.poll(() => store.outboxCount()).toBe(0)
    expect(sent).toEqual(Array.from({ length: 120 }, (_, index) => `m${index}`))
    put(['later'])
    await expect.poll(() => sent.at(-1)).toBe('later')
    expect(dispatcher.status()).toMatchObject({ delivered: 121, refused: 0, dropped: 0 })
  })

  it('waits longer after each failure, up to a bound, and starts afresh after a success', async () => {
    let attempts = 0
    let isAway = true
    put(['x'])
    const dispatcher = open({
      deliver: {
        mqtt: async () => {
          attempts += 1
          if (isAway) throw new Error('away')
        },
      },
    })
    const waits: number[] = []
    for (let attempt = 1; attempt <= 6; attempt += 1) {
      await expect.poll(() => dispatcher.status().lanes[0]?.failures).toBe(attempt)
      const lane = dispatcher.status().lanes[0]
      waits.push((lane?.nextMs ?? 0) - nowMs)
      expect(lane?.lastError).toBe('away')
      expect(attempts).toBe(attempt)
      nowMs = lane?.nextMs ?? 0
    }
    expect(waits).toEqual([100, 200, 400, 800, 1_000, 1_000])
    await expect.poll(() => attempts).toBe(7)
    isAway = false
    dispatcher.retryNow('mqtt')
    await expect.poll(() => store.outboxCount()).toBe(0)
    put(['y'])
    await expect.poll(() => store.outboxCount()).toBe(0)
    expect(dispatcher.status()).toMatchObject({ delivered: 2, lanes: [] })
  })

  it('lets no target hold up another, nor a page of items that cannot leave', async () => {
    const sent: string[] = []
    put(Array.from({ length: 200 }, (_, index) => `dead${index}`), 'webhook', 'http://dead')
    put(['alive'], 'webhook', 'http://alive')
    put(['m'], 'mqtt', 'topic')
    open({
      deliver: {
        webhook: (item) => (item.target === 'http://dead' ? new Promise(() => undefined) : Promise.resolve().then(() => void sent.push(item.id))),
        mqtt: async (item) => void sent.push(item.id),
      },
      timeoutMs: 50,
    })
    await expect.poll(() => sent.toSorted()).toEqual(['alive', 'm'])
    expect(store.outboxCount()).toBe(200)
  })

  it('counts a delivery without an answer as failed, and tries the same item again', async () => {
    const sent: string[] = []
    put(['one', 'two'])
    const dispatcher = open({
      timeoutMs: 10,
      deliver: {
        mqtt: (item) => {
          sent.push(item.id)
          return sent.length === 1 ? new Promise(() => undefined) : Promise.resolve()
        },
      },
    })
    await expect.poll(() => dispatcher.status().lanes[0]?.lastError).toBe('no answer within 10 ms')
    nowMs += 1_000
    await expect.poll(() => store.outboxCount()).toBe(0)
    expect(sent).toEqual(['one', 'one', 'two'])
  })

  it('gives up what the receiver refuses for good, and counts it', async () => {
    put(['bad', 'good'], 'webhook', 'http://w')
    const dispatcher = open({
      deliver: {
        webhook: async (item) => {
          if (item.id === 'bad') throw new DeliveryRefusedError('answer 422')
        },
      },
    })
    await expect.poll(() => store.outboxCount()).toBe(0)
    expect(dispatcher.status()).toMatchObject({ delivered: 1, refused: 1, lastRefusal: 'webhook http://w: answer 422' })
  })

  it('comes back when the receiver has asked it to', async () => {
    put(['x'], 'webhook', 'http://w')
    const dispatcher = open({
      deliver: {
        webhook: async () => {
          throw new DeliveryDelayedError('busy', 700)
        },
      },
    })
    await expect.poll(() => dispatcher.status().lanes[0]?.nextMs).toBe(1_700)
  })

  it('holds a bounded number for each target: the oldest go, and are counted', async () => {
    put(Array.from({ length: 30 }, (_, index) => `m${index}`))
    const dispatcher = open({ laneMax: 10 })
    await expect.poll(() => dispatcher.status().dropped).toBe(20)
    expect(store.pendingOutbox(1)[0]?.id).toBe('m20')
  })

  it('shows that the outbox cannot be read, and goes on when it can', async () => {
    put(['x'])
    const lanes = store.outboxLanes.bind(store)
    let isBroken = true
    store.outboxLanes = () => {
      if (isBroken) throw new Error('store broke')
      return lanes()
    }
    const dispatcher = open({ deliver: { mqtt: () => Promise.resolve() } })
    dispatcher.wake()
    isBroken = false
    expect(dispatcher.status().storeError).toBe('store broke')
    await expect.poll(() => store.outboxCount()).toBe(0)
    await expect.poll(() => dispatcher.status().storeError).toBeUndefined()
  })

  it('lets a running delivery end when it is closed, and leaves the rest', async () => {
    let finish: () => void = () => undefined
    put(['one', 'two'])
    const dispatcher = open({ deliver: { mqtt: () => new Promise<void>((resolve) => (finish = resolve)) } })
    dispatcher.wake()
    const closed = dispatcher.close()
    finish()
    await closed
    expect(store.pendingOutbox(9).map((item) => item.id)).toEqual(['two'])
  })
})
