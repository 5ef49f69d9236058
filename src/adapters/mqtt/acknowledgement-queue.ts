/** A message taken off the wire whose acknowledgement is held back. */
interface HeldMessage {
  /** Absent for QoS 0, which wants none. */
  readonly messageId: number | undefined
  settled: boolean
}

/**
 * Acknowledgements of one connection. They are held back until the message is durable and then released in the order
 * the messages came, as MQTT demands [MQTT-4.6.0-2]; one batch commit releases many in one go.
 */
export class AcknowledgementQueue {
  readonly #release: (messageIds: readonly number[]) => void
  readonly #held: HeldMessage[] = []
  #first = 0
  #scheduled: NodeJS.Immediate | undefined
  #ended = false

  /** @param release sends the acknowledgements, in this order */
  constructor(release: (messageIds: readonly number[]) => void) {
    this.#release = release
  }

  /** Messages not yet released. */
  get length(): number {
    return this.#held.length - this.#first
  }

  /** Holds a message's acknowledgement; answers what to call once the message is durable. */
  hold(messageId: number | undefined): () => void {
    const held: HeldMessage = { messageId, settled: false }
    this.#held.push(held)
    return () => {
      held.settled = true
      // A commit settles hundreds of messages one after the other: they are released together.
      if (!this.#ended) this.#scheduled ??= setImmediate(() => this.releaseSettled())
    }
  }

  /** Releases what is settled, up to the first that is not. */
  releaseSettled(): void {
    clearImmediate(this.#scheduled)
    this.#scheduled = undefined
    if (this.#ended) return
    const messageIds: number[] = []
    while (this.#held[this.#first]?.settled === true) {
      const messageId = this.#held[this.#first]?.messageId
      if (messageId !== undefined) messageIds.push(messageId)
      this.#first += 1
    }
    if (this.#first > 1_000 && this.#first * 2 > this.#held.length) {
      this.#held.splice(0, this.#first)
      this.#first = 0
    }
    this.#release(messageIds)
  }

  /** The connection is gone: its message ids mean nothing on the next one, so nothing is released any more. */
  end(): void {
    this.#ended = true
    clearImmediate(this.#scheduled)
  }
}
