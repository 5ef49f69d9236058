import type { LineInput } from '../monitor/line-event.js'
import { journalForm } from './journal-form.js'

/** The queue of a line holds as many inputs as it may: slow down and send this one again. */
export class QueueFullError extends Error {
  constructor(line: string, limit: number) {
    super(`line "${line}": ${limit} inputs wait to be committed, which is the limit; this one was not taken`)
    this.name = 'QueueFullError'
  }
}

/** The store does not take commits now; the input was not taken. */
export class StoreUnavailableError extends Error {
  constructor(line: string, reason: string) {
    super(`line "${line}": the store does not take commits (${reason}); the input was not taken`)
    this.name = 'StoreUnavailableError'
  }
}

/** An input that waits to be committed. */
export interface WaitingInput {
  readonly input: LineInput
  readonly receivedMs: number
  readonly resolve: (answer: { readonly seq: number }) => void
  readonly reject: (error: Error) => void
}

/** Whether a person waits for the answer: refused at once while commits fail, where a reading waits. */
export function isPersonal(input: LineInput): boolean {
  return input.kind === 'reply' || input.kind === 'record' || input.kind === 'baseline' || input.kind === 'definition'
}

/** Inputs of one line in the order they came, bounded. */
export class InputQueue {
  readonly limit: number
  readonly #line: string
  #waiting: WaitingInput[] = []
  #refused = 0

  constructor(line: string, limit: number) {
    if (!(Number.isInteger(limit) && limit >= 1)) throw new Error(`queue limit of line "${line}" is ${limit}, expected a whole number of at least 1`)
    this.#line = line
    this.limit = limit
  }

  get length(): number {
    return this.#waiting.length
  }

  /** Inputs refused because the queue was full, since the start. */
  get refused(): number {
    return this.#refused
  }

  add(input: LineInput, receivedMs: number): Promise<{ readonly seq: number }> {
    if (this.#waiting.length >= this.limit) {
      this.#refused += 1
      return Promise.reject(new QueueFullError(this.#line, this.limit))
    }
    return new Promise((resolve, reject) => {
      this.#waiting.push({ input: journalForm(input), receivedMs, resolve, reject })
    })
  }

  take(count: number): readonly WaitingInput[] {
    return this.#waiting.splice(0, count)
  }

  /** Puts back what could not be committed, in its old place. */
  giveBack(inputs: readonly WaitingInput[]): void {
    this.#waiting = [...inputs, ...this.#waiting]
  }

  rejectPersonal(error: Error): void {
    const kept: WaitingInput[] = []
    for (const waiting of this.#waiting) {
      if (isPersonal(waiting.input)) waiting.reject(error)
      else kept.push(waiting)
    }
    this.#waiting = kept
  }

  rejectAll(error: Error): void {
    for (const waiting of this.#waiting) waiting.reject(error)
    this.#waiting = []
  }
}
