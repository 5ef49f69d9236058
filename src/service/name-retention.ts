import type { LineDefinition } from '../line/line-definition.js'
import type { JobFact } from '../maintenance/jobs/job-fact.js'
import { isOpenJob } from '../maintenance/jobs/job-steps.js'
import { withoutNamesBefore } from '../maintenance/names-forgotten.js'
import type { LineOutput } from '../monitor/line-output.js'
import type { LineStore } from '../ports/line-store.js'
import type { LineProjection } from './line-projection.js'
import { namesKeptSinceMs } from './names-of-people.js'

const FORGET_EVERY_MS = 24 * 3_600_000
/** The first time comes early: a service that is started anew every day must forget too. */
const FIRST_MS = 10 * 60_000
/** Outputs looked at in one go, so that the line goes on meanwhile. */
const PAGE = 500

/** A line that forgets by its own clock: a simulated line's is that of its data. */
export interface ForgettingLine {
  readonly definition: LineDefinition
  readonly projection: LineProjection
  nowMs(): number
  forgetNames(beforeMs: number): Promise<void>
}

export interface NameRetentionOptions {
  readonly store: LineStore
  readonly lines: () => readonly ForgettingLine[]
  /** Of the wall clock, ms UTC. */
  readonly nowMs: () => number
  readonly log: (message: string) => void
  /** @default one day */
  readonly everyMs?: number
}

/**
 * Erases the names of people that are older than the site keeps them, once a day and soon after the start: from the state
 * of each line and so from its snapshots and its journal, from every version of facts and suggestions, from what waits to
 * leave, and from what was set aside as damaged, which cannot be looked through and goes as a whole. The holders of locks
 * that are still on stay. Its timers keep no process alive.
 */
export class NameRetention {
  private readonly timer: NodeJS.Timeout
  private readonly first: NodeJS.Timeout
  private running: Promise<void> = Promise.resolve()
  private closed = false

  constructor(private readonly options: NameRetentionOptions) {
    this.timer = setInterval(() => void this.forget(), options.everyMs ?? FORGET_EVERY_MS)
    this.first = setTimeout(() => void this.forget(), Math.min(FIRST_MS, options.everyMs ?? FIRST_MS))
    this.timer.unref()
    this.first.unref()
  }

  /** Erases what is too old now. Never rejects: what could not be erased is told, and tried again the next time. */
  forget(): Promise<void> {
    this.running = this.running.then(() => this.forgetAll())
    return this.running
  }

  /** Waits for what is under way. */
  async close(): Promise<void> {
    this.closed = true
    clearInterval(this.timer)
    clearTimeout(this.first)
    await this.running
  }

  private async forgetAll(): Promise<void> {
    const { store, lines, nowMs } = this.options
    for (const line of lines()) {
      await this.guarded(line.definition.line, async () => {
        const beforeMs = namesKeptSinceMs(line.definition, line.nowMs())
        await line.forgetNames(beforeMs)
        const on = new Map(line.projection.factsOf('job').filter(isOpenJob).map(({ id, holders }) => [id, new Set(holders.map(({ holder }) => holder))]))
        line.projection.rewrite((kept) => withoutNamesBefore(kept, beforeMs))
        await this.rewritePages(line.definition.line, beforeMs, ({ id, holders }) => holders.every(({ holder }) => on.get(id)?.has(holder) === true))
        this.forgetWaiting(line.definition.line, namesKeptSinceMs(line.definition, nowMs()))
      })
    }
    for (const name of store.archivedLines()) {
      await this.guarded(name, async () => {
        const body = store.latestSnapshot(name).snapshot?.body as { readonly definition?: LineDefinition } | undefined
        const beforeMs = namesKeptSinceMs(body?.definition ?? {}, nowMs())
        // Nobody works on it any more, so no lock of its is on.
        store.rewriteArchived(name, (state) => withoutNamesBefore(state, beforeMs, () => false))
        await this.rewritePages(name, beforeMs, () => false)
        store.dropSetAside(name, beforeMs)
      })
    }
  }

  /** Every version of every fact and suggestion in the store. */
  private async rewritePages(line: string, beforeMs: number, keepsHolders: (job: JobFact) => boolean): Promise<void> {
    let next: number | undefined = 0
    while (next !== undefined && !this.closed) {
      next = this.options.store.rewriteOutputs(line, next, PAGE, (output) => withoutNamesInOutput(output, beforeMs, keepsHolders)).next
      await new Promise((resolve) => setImmediate(resolve))
    }
  }

  private forgetWaiting(line: string, beforeMs: number): void {
    // A message that has waited so long is as old as its names.
    this.options.store.rewriteOutbox(line, beforeMs, (payload) => withoutNamesInText(payload))
    this.options.store.dropSetAside(line, beforeMs)
  }

  private async guarded(line: string, work: () => Promise<void>): Promise<void> {
    if (this.closed) return
    try {
      await work()
    } catch (error) {
      this.options.log(`line "${line}": names of people that are too old could not be erased: ${error instanceof Error ? error.message : String(error)}`)
    }
  }
}

function withoutNamesInOutput(output: LineOutput, beforeMs: number, keepsHolders: (job: JobFact) => boolean): LineOutput {
  const body = withoutNamesBefore(output.body, beforeMs, keepsHolders)
  return body === output.body ? output : ({ ...output, body } as LineOutput)
}

/** A payload without any name; one that is no JSON holds none by field. */
function withoutNamesInText(payload: string): string {
  try {
    return JSON.stringify(withoutNamesBefore(JSON.parse(payload) as unknown, Number.POSITIVE_INFINITY, () => false))
  } catch {
    return payload
  }
}
