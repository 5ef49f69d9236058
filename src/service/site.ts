import { resolve } from 'node:path'
import { InfluxHistory, type InfluxStatus } from '../adapters/influx/influx-history.js'
import { openSqliteLineStore } from '../adapters/sqlite/sqlite-line-store.js'
import { createWebhookDelivery } from '../adapters/webhook/webhook-delivery.js'
import type { LineDefinition } from '../line/line-definition.js'
import type { Stage } from '../monitor/line-event.js'
import type { Clock } from '../ports/clock.js'
import type { LineStore, StoredOutput } from '../ports/line-store.js'
import { OutboxDispatcher, type DispatcherStatus } from '../runtime/outbox-dispatcher.js'
import { BrokerHub, type BrokerAccess, type LineConnection } from './broker-hub.js'
import { influxAccessFrom } from './history-copy.js'
import { HistoryRetention, historyKeepMs } from './history-retention.js'
import { NameRetention } from './name-retention.js'
import { RunningLine } from './running-line.js'
import type { RefusedLine, SiteView } from './site-view.js'

export type { BrokerAccess, LineConnection } from './broker-hub.js'

export interface SiteOptions {
  readonly dataFolder: string
  readonly log: (message: string) => void
  readonly clock?: Clock
}

const SYSTEM_CLOCK: Clock = { nowMs: () => Date.now() }

/** Everything of one data folder in this process: store, lines, broker connections, outbox. */
export class Site implements SiteView {
  readonly folder: string
  readonly store: LineStore
  private readonly running = new Map<string, RunningLine>()
  private readonly refused = new Map<string, RefusedLine>()
  private readonly connections = new Map<string, LineConnection>()
  private readonly hub: BrokerHub
  private readonly outbox: OutboxDispatcher
  private readonly history: InfluxHistory | undefined
  private readonly retention: HistoryRetention
  readonly names: NameRetention
  private readonly clock: Clock
  private readonly outputListeners = new Set<(stored: StoredOutput) => void>()

  /** @throws Error if another process has the folder, or the environment says something impossible */
  constructor(private readonly options: SiteOptions) {
    this.folder = options.dataFolder
    this.clock = options.clock ?? SYSTEM_CLOCK
    const keepMs = historyKeepMs(process.env)
    this.store = openSqliteLineStore({ folder: options.dataFolder })
    for (const damage of this.store.damage('')) options.log(`store: ${damage.message}`)
    this.hub = new BrokerHub({ store: this.store, clock: this.clock, log: options.log, connected: () => this.outbox.retryNow('mqtt') })
    this.outbox = new OutboxDispatcher({ store: this.store, clock: this.clock, deliver: { mqtt: (item) => this.hub.deliver(item), webhook: createWebhookDelivery() } })
    const influx = influxAccessFrom(process.env)
    this.history = influx === undefined ? undefined : new InfluxHistory({ store: this.store, access: influx })
    this.retention = new HistoryRetention({ store: this.store, keepMs, lines: () => this.lines(), log: options.log })
    this.names = new NameRetention({ store: this.store, lines: () => this.lines(), nowMs: () => this.clock.nowMs(), log: options.log })
  }

  lines(): readonly RunningLine[] {
    return [...this.running.values()].sort((a, b) => a.definition.line.localeCompare(b.definition.line))
  }

  line(id: string): RunningLine | undefined {
    return this.running.get(id)
  }

  get outboxStatus(): DispatcherStatus {
    return this.outbox.status()
  }

  /** How the copy to an InfluxDB stands; undefined where none is configured. */
  get historyStatus(): InfluxStatus | undefined {
    return this.history?.status()
  }

  get brokers(): SiteView['brokers'] {
    return this.hub.brokers
  }

  /**
   * Opens a line, from what the store knows of it or as a new one. A changed definition goes through its journal.
   *
   * @throws Error if the line is open already
   */
  openLine(options: { readonly definition: LineDefinition; readonly stages: readonly Stage[] | undefined; readonly mqtt: boolean }): RunningLine {
    const id = options.definition.line
    if (this.running.has(id)) throw new Error(`line "${id}" is held by another solder-line node; a line has one`)
    const line = this.begin(options)
    line.onAnyOutput((stored) => {
      for (const listener of this.outputListeners) listener(stored)
    })
    this.running.set(id, line)
    return line
  }

  /** A line that cannot go on from what the store holds of it is remembered with the reason: its node alone shows it otherwise. */
  private begin(options: { readonly definition: LineDefinition; readonly stages: readonly Stage[] | undefined; readonly mqtt: boolean }): RunningLine {
    const { line, title = line } = options.definition
    try {
      const running = new RunningLine({ ...options, store: this.store, clock: this.clock, log: this.options.log })
      this.refused.delete(line)
      return running
    } catch (error) {
      this.refused.set(line, { line, title, reason: error instanceof Error ? error.message : String(error) })
      throw error
    }
  }

  /** Lines that could not be opened, and why. */
  refusedLines(): readonly RefusedLine[] {
    return [...this.refused.values()]
  }

  /** Its node is gone. */
  forgetRefused(id: string): void {
    this.refused.delete(id)
  }

  /** Subscribes an open line's own topics at its broker; lines with the same access share one connection. */
  connectLine(id: string, access: BrokerAccess): LineConnection {
    const line = this.running.get(id)
    if (line === undefined) throw new Error(`line "${id}" is not open`)
    const connection = this.hub.connect(line, access)
    this.connections.set(id, connection)
    return connection
  }

  /** Takes the line's last messages, writes its state and lets it go. @param options.archive sets its data aside */
  async closeLine(id: string, options: { readonly archive: boolean }): Promise<void> {
    const line = this.running.get(id)
    if (line === undefined) return
    await this.connections.get(id)?.close({ gone: options.archive })
    this.connections.delete(id)
    this.running.delete(id)
    await line.close()
    if (options.archive) this.options.log(`line "${id}" is archived as "${this.store.archiveLine(id, this.clock.nowMs())}"`)
  }

  /** Committed outputs of all lines, those opened later too. */
  onOutput(listener: (stored: StoredOutput) => void): () => void {
    this.outputListeners.add(listener)
    return () => this.outputListeners.delete(listener)
  }

  async close(): Promise<void> {
    this.retention.close()
    // It may wait for a line that closes, and the line does not wait for it.
    const forgotten = this.names.close()
    for (const id of [...this.running.keys()]) await this.closeLine(id, { archive: false })
    await forgotten
    await this.outbox.close()
    await this.history?.close()
    this.store.close()
  }
}

interface SharedSite {
  readonly opened: Promise<Site>
  site: Site | undefined
  users: number
}

const sites = new Map<string, SharedSite>()
const closing = new Map<string, Promise<void>>()
const watchers = new Set<(site: Site) => void>()

/**
 * The site of a data folder, one in the process however many ask for it. Each call is paired with `releaseSite`.
 *
 * @throws Error (as a rejected promise) if another process has the folder
 */
export async function acquireSite(options: SiteOptions): Promise<Site> {
  const folder = resolve(options.dataFolder)
  let shared = sites.get(folder)
  if (shared === undefined) {
    const before = closing.get(folder) ?? Promise.resolve()
    const opened = before.then(() => new Site({ ...options, dataFolder: folder }))
    shared = { opened, site: undefined, users: 0 }
    sites.set(folder, shared)
  }
  shared.users += 1
  try {
    const site = await shared.opened
    if (shared.site === undefined) {
      shared.site = site
      for (const watcher of watchers) watcher(site)
    }
    return site
  } catch (error) {
    if (sites.get(folder) === shared) sites.delete(folder)
    throw error
  }
}

/** The site if somebody has it open or is opening it, to be released like any other; undefined if nobody has. */
export function acquireOpenSite(options: SiteOptions): Promise<Site> | undefined {
  return sites.has(resolve(options.dataFolder)) ? acquireSite(options) : undefined
}

/** Ends one use; the last one closes the site. */
export async function releaseSite(site: Site): Promise<void> {
  const shared = sites.get(site.folder)
  if (shared === undefined || shared.site !== site) return
  shared.users -= 1
  if (shared.users > 0) return
  sites.delete(site.folder)
  const closed = site.close().finally(() => closing.delete(site.folder))
  closing.set(site.folder, closed)
  await closed
}

/** The site of a folder as it is now, without holding it. */
export function openSiteOf(dataFolder: string): Site | undefined {
  return sites.get(resolve(dataFolder))?.site
}

/** Tells of every site that is open or opens; for what lives longer than a site, as the event stream does. */
export function onSiteOpened(watcher: (site: Site) => void): () => void {
  watchers.add(watcher)
  for (const { site } of sites.values()) if (site !== undefined) watcher(site)
  return () => watchers.delete(watcher)
}
