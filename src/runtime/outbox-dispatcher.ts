import type { Clock } from '../ports/clock.js'
import { DeliveryDelayedError, DeliveryRefusedError, type Deliver } from '../ports/delivery.js'
import type { LineStore, OutboxItem, OutboxLane } from '../ports/line-store.js'

export interface OutboxDispatcherOptions {
  readonly store: LineStore
  readonly clock: Clock
  /** Who delivers what; items of other destinations wait. */
  readonly deliver: Partial<Record<OutboxItem['destination'], Deliver>>
  /** Items that may wait for one target; the oldest are given up beyond it, and counted. @default 10_000 */
  readonly laneMax?: number
  /** First and longest wait after a failure, ms; doubled each time between. @default [1_000, 300_000] */
  readonly retryMs?: readonly [number, number]
  /** A delivery that takes longer has failed, ms. @default 30_000 */
  readonly timeoutMs?: number
  /** How often the outbox is looked into, ms. @default 500 */
  readonly pollMs?: number
}

/** How delivery to one target stands. */
export interface LaneStatus extends OutboxLane {
  /** Failures in a row. */
  readonly failures: number
  readonly lastError?: string
  /** When it is tried again, ms UTC. */
  readonly nextMs?: number
}

export interface DispatcherStatus {
  readonly lanes: readonly LaneStatus[]
  readonly delivered: number
  /** Items the receiver refused for good. */
  readonly refused: number
  /** Items given up because too many waited. */
  readonly dropped: number
  readonly lastRefusal?: string
  /** Why the outbox itself could not be read or written. */
  readonly storeError?: string
}

interface Lane {
  running: boolean
  failures: number
  nextMs: number
  lastError: string | undefined
}

const PAGE_ITEMS = 50

/**
 * Sends what the outbox holds: at least once, in order for each target, and apart for each target, so that one that
 * does not answer holds up no other.
 */
export class OutboxDispatcher {
  readonly #options: OutboxDispatcherOptions
  readonly #laneMax: number
  readonly #retryMs: readonly [number, number]
  readonly #timeoutMs: number
  readonly #lanes = new Map<string, Lane>()
  readonly #running = new Set<Promise<void>>()
  readonly #pollTimer: NodeJS.Timeout
  #counts = { delivered: 0, refused: 0, dropped: 0 }
  #lastRefusal: string | undefined
  #storeError: string | undefined
  #closed = false

  constructor(options: OutboxDispatcherOptions) {
    this.#options = options
    this.#laneMax = options.laneMax ?? 10_000
    this.#retryMs = options.retryMs ?? [1_000, 300_000]
    this.#timeoutMs = options.timeoutMs ?? 30_000
    this.#pollTimer = setInterval(() => this.wake(), options.pollMs ?? 500)
  }

  /** Looks into the outbox now. */
  wake(): void {
    if (this.#closed) return
    try {
      const lanes = this.#options.store.outboxLanes()
      this.#forgetEmpty(lanes)
      for (const lane of lanes) this.#start(lane)
      this.#storeError = undefined
    } catch (error) {
      this.#storeError = messageOf(error)
    }
  }

  /** The target may be there again: what waits for it is tried at once. */
  retryNow(destination: OutboxItem['destination']): void {
    for (const [key, lane] of this.#lanes) if (key.startsWith(`${destination} `)) lane.nextMs = 0
    this.wake()
  }

  status(): DispatcherStatus {
    const lanes = this.#options.store.outboxLanes().map((lane): LaneStatus => {
      const known = this.#lanes.get(keyOf(lane))
      const failures = known?.failures ?? 0
      return {
        ...lane,
        failures,
        ...(known?.lastError === undefined ? {} : { lastError: known.lastError }),
        ...(failures === 0 || known === undefined ? {} : { nextMs: known.nextMs }),
      }
    })
    return {
      lanes,
      ...this.#counts,
      ...(this.#lastRefusal === undefined ? {} : { lastRefusal: this.#lastRefusal }),
      ...(this.#storeError === undefined ? {} : { storeError: this.#storeError }),
    }
  }

  /** Lets running deliveries end; the rest stays in the outbox. */
  async close(): Promise<void> {
    this.#closed = true
    clearInterval(this.#pollTimer)
    await Promise.all(this.#running)
  }

  #start(found: OutboxLane): void {
    const key = keyOf(found)
    let lane = this.#lanes.get(key)
    if (lane === undefined) {
      lane = { running: false, failures: 0, nextMs: 0, lastError: undefined }
      this.#lanes.set(key, lane)
    }
    if (lane.running) return
    if (found.count > this.#laneMax) this.#dropOldest(found)
    const deliver = this.#options.deliver[found.destination]
    if (deliver === undefined || lane.nextMs > this.#options.clock.nowMs()) return
    lane.running = true
    const work = this.#run(found, lane, deliver).finally(() => {
      lane.running = false
      this.#running.delete(work)
    })
    this.#running.add(work)
  }

  /** Sends page after page until the lane is empty or a delivery fails. Never rejects. */
  async #run(target: OutboxLane, lane: Lane, deliver: Deliver): Promise<void> {
    try {
      while (!this.#closed) {
        const items = this.#options.store.pendingOutbox(PAGE_ITEMS, target)
        if (items.length === 0) return
        const done: string[] = []
        try {
          for (const item of items) {
            if (this.#closed) return
            await this.#send(item, deliver)
            done.push(item.id)
          }
        } finally {
          if (done.length > 0) this.#options.store.markDelivered(done)
        }
        lane.failures = 0
        lane.lastError = undefined
      }
    } catch (error) {
      const [firstMs, longestMs] = this.#retryMs
      const waitMs = error instanceof DeliveryDelayedError ? Math.max(firstMs, error.afterMs) : firstMs * 2 ** Math.min(lane.failures, 30)
      lane.failures += 1
      lane.lastError = messageOf(error)
      lane.nextMs = this.#options.clock.nowMs() + Math.min(longestMs, waitMs)
    }
  }

  async #send(item: OutboxItem, deliver: Deliver): Promise<void> {
    try {
      await inTime(deliver(item), this.#timeoutMs)
      this.#counts.delivered += 1
    } catch (error) {
      if (!(error instanceof DeliveryRefusedError)) throw error
      this.#counts.refused += 1
      this.#lastRefusal = `${item.destination} ${item.target}: ${error.message}`
    }
  }

  #dropOldest(lane: OutboxLane): void {
    const items = this.#options.store.pendingOutbox(lane.count - this.#laneMax, lane)
    this.#options.store.markDelivered(items.map((item) => item.id))
    this.#counts.dropped += items.length
  }

  #forgetEmpty(lanes: readonly OutboxLane[]): void {
    const present = new Set(lanes.map(keyOf))
    for (const [key, lane] of this.#lanes) if (!present.has(key) && !lane.running) this.#lanes.delete(key)
  }
}

function keyOf(lane: OutboxLane): string {
  return `${lane.destination} ${lane.target}`
}

function inTime(work: Promise<void>, timeoutMs: number): Promise<void> {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(() => reject(new Error(`no answer within ${timeoutMs} ms`)), timeoutMs)
    work.then(resolve, reject).finally(() => clearTimeout(timer))
  })
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error)
}
