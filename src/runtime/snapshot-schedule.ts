import type { Clock } from '../ports/clock.js'

/** So many events are never left to be stepped again at the next start, however fast they come. */
const EVENTS_MAX = 200_000

export interface SnapshotStatus {
  readonly seq: number
  readonly timeMs: number
  /** Why the newest attempt failed, if it did. */
  readonly error?: string
}

/** When a line's next snapshot is due: at even distances, and at a place of its own among the lines. */
export class SnapshotSchedule {
  readonly #everyMs: number
  readonly #clock: Clock
  #nextMs: number
  #last: SnapshotStatus | undefined

  constructor(line: string, everyMs: number, clock: Clock) {
    if (!(Number.isFinite(everyMs) && everyMs > 0)) throw new Error(`snapshotEveryMs of line "${line}" is ${everyMs}, expected a number above 0`)
    this.#everyMs = everyMs
    this.#clock = clock
    // Lines started together would otherwise all write in the same moment.
    this.#nextMs = clock.nowMs() + everyMs * (0.5 + 0.5 * shareOf(line))
  }

  get last(): SnapshotStatus | undefined {
    return this.#last
  }

  isNew(seq: number): boolean {
    return this.#last === undefined || this.#last.error !== undefined || seq > this.#last.seq
  }

  isDue(seq: number): boolean {
    if (!this.isNew(seq)) return false
    return this.#clock.nowMs() >= this.#nextMs || seq - (this.#last?.seq ?? 0) >= EVENTS_MAX
  }

  saved(seq: number): void {
    this.#last = { seq, timeMs: this.#clock.nowMs() }
    this.#nextMs = this.#clock.nowMs() + this.#everyMs
  }

  failed(error: unknown): void {
    const message = error instanceof Error ? error.message : String(error)
    this.#last = { seq: this.#last?.seq ?? 0, timeMs: this.#last?.timeMs ?? 0, error: message }
    this.#nextMs = this.#clock.nowMs() + this.#everyMs
  }
}

/** A share 0-1 that is always the same for the same text. */
function shareOf(text: string): number {
  let hash = 0
  for (const letter of text) hash = (hash * 31 + (letter.codePointAt(0) ?? 0)) % 1009
  return hash / 1009
}
