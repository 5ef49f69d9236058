import type { LineStore } from '../ports/line-store.js'

const DAY_MS = 86_400_000
const KEEP_DAYS = 400
const PRUNE_EVERY_MS = 3_600_000

/**
 * How long points and other outputs are kept, from `WAVE_SPC_KEEP_DAYS`; 400 days without it, so that a season can be
 * compared with the last. Suggestions and baselines are kept for good.
 *
 * @returns ms
 * @throws Error if it is no whole number of days from 1
 */
export function historyKeepMs(env: NodeJS.ProcessEnv): number {
  const text = env['WAVE_SPC_KEEP_DAYS'] ?? ''
  if (text.trim() === '') return KEEP_DAYS * DAY_MS
  const days = Number(text)
  if (!Number.isInteger(days) || days < 1 || days > 100_000) throw new Error(`WAVE_SPC_KEEP_DAYS: expected a whole number of days from 1 to 100000, got "${text}"`)
  return days * DAY_MS
}

/** A line whose history grows old by its own clock: a simulated line's is that of its data. */
export interface RetainedLine {
  readonly definition: { readonly line: string }
  nowMs(): number
}

export interface HistoryRetentionOptions {
  readonly store: LineStore
  readonly keepMs: number
  readonly lines: () => readonly RetainedLine[]
  readonly log: (message: string) => void
  /** @default one hour */
  readonly everyMs?: number
}

/** Lets the old history of running lines go, every hour. Its timer keeps no process alive. */
export class HistoryRetention {
  private readonly timer: NodeJS.Timeout

  constructor(private readonly options: HistoryRetentionOptions) {
    this.timer = setInterval(() => this.prune(), options.everyMs ?? PRUNE_EVERY_MS)
    this.timer.unref()
  }

  /** Removes what is too old now. Never throws: what could not be removed is told, and tried again the next time. */
  prune(): void {
    const { store, keepMs, lines, log } = this.options
    for (const line of lines()) {
      const id = line.definition.line
      try {
        store.pruneHistory(id, line.nowMs() - keepMs)
      } catch (error) {
        log(`line "${id}": old history could not be removed: ${error instanceof Error ? error.message : String(error)}`)
      }
    }
  }

  close(): void {
    clearInterval(this.timer)
  }
}
