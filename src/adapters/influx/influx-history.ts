import { createHash } from 'node:crypto'
import { InfluxDB, type IClusterConfig, type IPoint } from 'influx'
import type { HistoryCursor, LineStore } from '../../ports/line-store.js'
import { historyRow } from './history-rows.js'

export interface InfluxAccess {
  /** `http://host:8086` or `https://…` */
  readonly url: string
  readonly database: string
  readonly username?: string
  readonly password?: string
  readonly retentionPolicy?: string
}

export interface InfluxHistoryOptions {
  readonly store: LineStore
  readonly access: InfluxAccess
  /** Lines to copy; all, if left out. */
  readonly lines?: ReadonlySet<string>
  /** Outputs read and written at a time. @default 2_000 */
  readonly batchRows?: number
  /** How often new history is looked for, ms. @default 2_000 */
  readonly pollMs?: number
  /** First and longest wait after a failure, ms. @default [1_000, 60_000] */
  readonly retryMs?: readonly [number, number]
  /** Time for one call, ms. @default 20_000 */
  readonly timeoutMs?: number
}

export interface InfluxStatus {
  readonly state: 'starting' | 'copying' | 'up-to-date' | 'failing'
  readonly written: number
  /** Rows the server refused for good; the rest of their batch was taken. */
  readonly refused: number
  readonly lastRefusal?: string
  /** Failures in a row, and why. */
  readonly failures: number
  readonly lastError?: string
}

const REQUEST_REFUSED = 400
const NOT_FOUND = 404
const MESSAGE_LENGTH_MAX = 300

/**
 * Copies the history of the store to an InfluxDB (1.x API), from where it left off: while the database is away nothing
 * is lost, and it is filled up later. A row written twice is the same row, so a batch may be repeated.
 */
export class InfluxHistory {
  readonly #options: InfluxHistoryOptions
  readonly #influx: InfluxDB
  readonly #cursorKey: string
  readonly #batchRows: number
  readonly #retryMs: readonly [number, number]
  #timer: NodeJS.Timeout | undefined
  #running: Promise<void> | undefined
  #closed = false
  #state: InfluxStatus['state'] = 'starting'
  #counts = { written: 0, refused: 0, failures: 0 }
  #lastRefusal: string | undefined
  #lastError: string | undefined

  constructor(options: InfluxHistoryOptions) {
    this.#options = options
    this.#batchRows = options.batchRows ?? 2_000
    this.#retryMs = options.retryMs ?? [1_000, 60_000]
    this.#influx = new InfluxDB(clientConfig(options.access, options.timeoutMs ?? 20_000))
    const { url, database, retentionPolicy } = options.access
    const lines = options.lines === undefined ? 'all' : [...options.lines].sort().join(' ')
    this.#cursorKey = `influx:${createHash('sha256').update(JSON.stringify([url, database, retentionPolicy ?? '', lines])).digest('hex').slice(0, 16)}`
    this.#wait(0)
  }

  status(): InfluxStatus {
    return {
      state: this.#state,
      ...this.#counts,
      ...(this.#lastRefusal === undefined ? {} : { lastRefusal: this.#lastRefusal }),
      ...(this.#lastError === undefined ? {} : { lastError: this.#lastError }),
    }
  }

  /** Ends after the batch under way; the place in the history is kept. */
  async close(): Promise<void> {
    this.#closed = true
    clearTimeout(this.#timer)
    await this.#running
  }

  #wait(timeMs: number): void {
    if (this.#closed) return
    this.#timer = setTimeout(() => {
      this.#running = this.#copyAll().finally(() => (this.#running = undefined))
    }, timeMs)
  }

  /** Copies until nothing is left or a call fails. Never rejects. */
  async #copyAll(): Promise<void> {
    try {
      while (!this.#closed && (await this.#copyBatch()));
      this.#state = 'up-to-date'
      this.#counts.failures = 0
      this.#lastError = undefined
      this.#wait(this.#options.pollMs ?? 2_000)
    } catch (error) {
      const [firstMs, longestMs] = this.#retryMs
      this.#state = 'failing'
      this.#lastError = messageOf(error)
      this.#wait(Math.min(longestMs, firstMs * 2 ** Math.min(this.#counts.failures, 30)))
      this.#counts.failures += 1
    }
  }

  /** Answers whether there was anything. */
  async #copyBatch(): Promise<boolean> {
    const { store, lines } = this.#options
    const after = (store.readNodeState(this.#cursorKey) ?? { point: 0, output: 0 }) as HistoryCursor
    const { outputs, cursor } = store.readHistory(after, this.#batchRows)
    if (outputs.length === 0) return false
    this.#state = this.#counts.failures === 0 ? 'copying' : 'failing'
    const rows = outputs
      .filter((stored) => lines === undefined || lines.has(stored.line))
      .map(historyRow)
      .filter((row) => row !== undefined)
    await this.#write(rows)
    store.writeNodeState(this.#cursorKey, cursor)
    return true
  }

  /**
   * On a 400 the server has stored the good rows of the batch and refused the others without saying which. The batch is
   * halved until the refused rows stand alone: those are counted and left out; the good ones are written again as they
   * are, which changes nothing.
   */
  async #write(rows: readonly IPoint[]): Promise<void> {
    if (rows.length === 0) return
    const { database, retentionPolicy } = this.#options.access
    try {
      await this.#influx.writePoints([...rows], { database, precision: 'ms', ...(retentionPolicy === undefined ? {} : { retentionPolicy }) })
      this.#counts.written += rows.length
    } catch (error) {
      const status = statusOf(error)
      if (status === NOT_FOUND && messageOf(error).includes('database not found')) {
        await this.#influx.createDatabase(database)
        return this.#write(rows)
      }
      if (status !== REQUEST_REFUSED) throw error
      if (rows.length === 1) {
        this.#counts.refused += 1
        this.#lastRefusal = `${rows[0]?.measurement ?? ''}: ${messageOf(error)}`
        return
      }
      const half = Math.ceil(rows.length / 2)
      await this.#write(rows.slice(0, half))
      await this.#write(rows.slice(half))
    }
  }
}

const NO_PAUSE: NonNullable<NonNullable<IClusterConfig['pool']>['backoff']> = { getDelay: () => 0, next: () => NO_PAUSE, reset: () => NO_PAUSE }

function clientConfig(access: InfluxAccess, timeoutMs: number): IClusterConfig {
  const url = new URL(access.url)
  if (url.protocol !== 'http:' && url.protocol !== 'https:') throw new Error(`address of the time series database is "${access.url}", expected http:// or https://`)
  const protocol = url.protocol === 'https:' ? 'https' : 'http'
  return {
    hosts: [{ host: url.hostname, port: Number(url.port || (protocol === 'https' ? 443 : 80)), protocol, path: url.pathname === '/' ? '' : url.pathname.replace(/\/$/, ''), options: { timeout: timeoutMs } }],
    database: access.database,
    ...(access.username === undefined ? {} : { username: access.username }),
    ...(access.password === undefined ? {} : { password: access.password }),
    // Failures are retried here, with the place in the history; the client would answer without asking meanwhile.
    pool: { maxRetries: 0, requestTimeout: timeoutMs, backoff: NO_PAUSE },
  }
}

function statusOf(error: unknown): number | undefined {
  const response = (error as { readonly res?: { readonly statusCode?: unknown } } | null)?.res
  return typeof response?.statusCode === 'number' ? response.statusCode : undefined
}

function messageOf(error: unknown): string {
  return (error instanceof Error ? error.message : String(error)).slice(0, MESSAGE_LENGTH_MAX)
}
