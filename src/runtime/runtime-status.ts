import type { Stage } from '../monitor/line-event.js'
import type { LineOutput, LineOutputKind } from '../monitor/line-output.js'
import type { StoreDamage } from '../ports/line-store.js'
import type { SnapshotStatus } from './snapshot-schedule.js'

export interface PauseStatus {
  readonly reason: string
  /** ms UTC */
  readonly sinceMs: number
  /** Commits tried in vain since then. */
  readonly attempts: number
}

/** How a line's runtime stands; counts are since its start. */
export interface RuntimeStatus {
  readonly line: string
  readonly stages: readonly Stage[]
  readonly lastSeq: number
  readonly processedSeq: number
  readonly queued: number
  readonly queueLimit: number
  /** Inputs refused because the queue was full. */
  readonly queueRefused: number
  readonly commits: number
  readonly events: number
  readonly outputs: Readonly<Partial<Record<LineOutputKind, number>>>
  /** Commits fail: reading pauses and nothing is acknowledged. */
  readonly paused?: PauseStatus
  /** The line stands still until the next start. */
  readonly failed?: string
  readonly snapshot?: SnapshotStatus
  /** What was set aside since the start of this runtime. */
  readonly damage: readonly StoreDamage[]
  readonly listenerErrors: number
  readonly lastListenerError?: string
}

const DAMAGE_MAX = 100

/** Counts of one runtime. */
export class RuntimeCounters {
  #commits = 0
  #events = 0
  #outputs: Partial<Record<LineOutputKind, number>> = {}
  #paused: PauseStatus | undefined
  #failed: string | undefined
  #damage: StoreDamage[] = []
  #listenerErrors = 0
  #lastListenerError: string | undefined

  get paused(): PauseStatus | undefined {
    return this.#paused
  }

  get failed(): string | undefined {
    return this.#failed
  }

  countCommit(events: number): void {
    this.#commits += 1
    this.#events += events
    this.#paused = undefined
  }

  countOutput(output: LineOutput): void {
    this.#outputs[output.kind] = (this.#outputs[output.kind] ?? 0) + 1
  }

  countListenerError(error: unknown): void {
    this.#listenerErrors += 1
    this.#lastListenerError = error instanceof Error ? error.message : String(error)
  }

  /** Answers how many commits have failed in a row. */
  pause(reason: string, nowMs: number): number {
    const attempts = (this.#paused?.attempts ?? 0) + 1
    this.#paused = { reason, sinceMs: this.#paused?.sinceMs ?? nowMs, attempts }
    return attempts
  }

  fail(reason: string, nowMs: number): void {
    this.#failed = reason
    this.#paused = { reason, sinceMs: nowMs, attempts: 0 }
  }

  noteDamage(damage: readonly StoreDamage[]): void {
    this.#damage = [...this.#damage, ...damage].slice(-DAMAGE_MAX)
  }

  status(rest: Pick<RuntimeStatus, 'line' | 'stages' | 'lastSeq' | 'processedSeq' | 'queued' | 'queueLimit' | 'queueRefused'> & { readonly snapshot: SnapshotStatus | undefined }): RuntimeStatus {
    const { snapshot, ...known } = rest
    return {
      ...known,
      commits: this.#commits,
      events: this.#events,
      outputs: { ...this.#outputs },
      damage: [...this.#damage],
      listenerErrors: this.#listenerErrors,
      ...(this.#lastListenerError === undefined ? {} : { lastListenerError: this.#lastListenerError }),
      ...(this.#paused === undefined ? {} : { paused: this.#paused }),
      ...(this.#failed === undefined ? {} : { failed: this.#failed }),
      ...(snapshot === undefined ? {} : { snapshot }),
    }
  }
}
