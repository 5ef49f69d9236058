import type { LineStore, OutboxItem } from '../ports/line-store.js'

const EVERY_MS = 200
const BATCH = 50

/** Delivers what waits in the outbox, oldest first, and tries again what could not be sent. */
export class OutboxLoop {
  private readonly timer: ReturnType<typeof setInterval>
  private turn: Promise<void> | undefined

  constructor(
    private readonly store: LineStore,
    private readonly deliver: (item: OutboxItem) => Promise<void>,
  ) {
    this.timer = setInterval(() => {
      this.turn ??= this.run().finally(() => {
        this.turn = undefined
      })
    }, EVERY_MS)
  }

  async close(): Promise<void> {
    clearInterval(this.timer)
    await this.turn
  }

  private async run(): Promise<void> {
    for (const item of this.store.pendingOutbox(BATCH)) {
      try {
        await this.deliver(item)
      } catch {
        return
      }
      this.store.markDelivered([item.id])
    }
  }
}
