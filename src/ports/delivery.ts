import type { OutboxItem } from './line-store.js'

/** Sends one item of the outbox; resolves when the receiver has it. */
export type Deliver = (item: OutboxItem) => Promise<void>

/** The receiver will never take this item: it is given up and counted, not sent again. */
export class DeliveryRefusedError extends Error {
  constructor(message: string) {
    super(message)
    this.name = 'DeliveryRefusedError'
  }
}

/** The receiver has said when it wants to be asked again. */
export class DeliveryDelayedError extends Error {
  readonly afterMs: number

  constructor(message: string, afterMs: number) {
    super(message)
    this.name = 'DeliveryDelayedError'
    this.afterMs = afterMs
  }
}
