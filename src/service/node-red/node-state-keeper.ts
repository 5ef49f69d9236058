import { acquireOpenSite, releaseSite, type Site } from '../site.js'

/** State of a busy node is written at most this often, and when the node is closed. */
const WRITE_EVERY_MS = 2000

/**
 * Keeps the small state of a node that has no line: in the lines' store where a `solder-line` has one open, else in
 * memory only.
 */
export class NodeStateKeeper {
  private site: Site | undefined
  private timer: ReturnType<typeof setTimeout> | undefined
  private pending: (() => unknown) | undefined

  private constructor(private readonly key: string) {}

  static async open(options: { readonly key: string; readonly dataFolder: string; readonly log: (message: string) => void }): Promise<NodeStateKeeper> {
    const keeper = new NodeStateKeeper(options.key)
    try {
      keeper.site = await acquireOpenSite(options)
    } catch (error) {
      options.log(`the state stays in memory: ${error instanceof Error ? error.message : String(error)}`)
    }
    return keeper
  }

  /** Whether the state outlives the process. */
  get durable(): boolean {
    return this.site !== undefined
  }

  read(): unknown {
    return this.site?.store.readNodeState(this.key)
  }

  /** @param body asked for when it is written, so that many changes cost one */
  write(body: () => unknown): void {
    if (this.site === undefined) return
    this.pending = body
    this.timer ??= setTimeout(() => this.flush(), WRITE_EVERY_MS)
  }

  /** @param removed the node was deleted, and its state goes with it */
  async close(removed: boolean): Promise<void> {
    if (removed) {
      clearTimeout(this.timer)
      this.site?.store.removeNodeState(this.key)
    } else {
      this.flush()
    }
    const { site } = this
    this.site = undefined
    if (site !== undefined) await releaseSite(site)
  }

  private flush(): void {
    clearTimeout(this.timer)
    this.timer = undefined
    if (this.pending !== undefined) this.site?.store.writeNodeState(this.key, this.pending())
    this.pending = undefined
  }
}
