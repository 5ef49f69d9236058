import type { LineEvent, LineInput } from '../../monitor/line-event.js'
import type { LineOutput } from '../../monitor/line-output.js'
import type { ChartSeries, HistoryCursor, LineCommit, LineSnapshot, LineStore, OutboxItem, OutboxLane, OutputQuery, PointBody, PointQuery, RejectionCount, SkippedEvent, StoredOutput, StoreDamage } from '../../ports/line-store.js'

export interface MemoryLineStoreOptions {
  /** Points and other outputs kept of each line; the oldest go first. @default 50_000 of each */
  readonly historyMax?: number
  /** Items that may wait in the outbox; the oldest go first. @default 10_000 */
  readonly outboxMax?: number
}

const HISTORY_MAX = 50_000
const OUTBOX_MAX = 10_000
const SNAPSHOT_GENERATIONS = 2

interface Numbered {
  readonly number: number
  readonly stored: StoredOutput
  readonly timeMs: number
}

interface MemoryLine {
  /** Events after `prunedSeq`, each as text so that nobody can change it afterwards. */
  journal: { readonly receivedMs: number; readonly text: string }[]
  prunedSeq: number
  processedSeq: number
  skipped: SkippedEvent[]
  snapshots: { readonly seq: number; readonly text: string }[]
  points: Numbered[]
  outputs: Numbered[]
  rejections: Map<string, { count: number; stored: StoredOutput }>
  archived: boolean
}

/**
 * The same store without a file: for a Node-RED without a data folder, for replay and for tests. It ends with the
 * process, and its history is bounded.
 */
export function openMemoryLineStore(options: MemoryLineStoreOptions = {}): LineStore {
  return new MemoryLineStore(options.historyMax ?? HISTORY_MAX, options.outboxMax ?? OUTBOX_MAX)
}

class MemoryLineStore implements LineStore {
  readonly #historyMax: number
  readonly #outboxMax: number
  readonly #lines = new Map<string, MemoryLine>()
  readonly #nodeStates = new Map<string, string>()
  #outbox = new Map<string, OutboxItem>()
  #number = 0

  constructor(historyMax: number, outboxMax: number) {
    this.#historyMax = historyMax
    this.#outboxMax = outboxMax
  }

  commit(commit: LineCommit): { readonly lastSeq: number } {
    return this.commitAll([commit])[0] as { readonly lastSeq: number }
  }

  commitAll(commits: readonly LineCommit[]): readonly { readonly lastSeq: number }[] {
    // All is checked before anything is written, so that a refused commit changes nothing.
    const seen = new Set<string>()
    const texts = commits.map((commit) => {
      if (seen.has(commit.line)) throw new Error(`line "${commit.line}" is twice in one commit`)
      seen.add(commit.line)
      this.#check(commit)
      return commit.inputs.map((entry) => ({ receivedMs: entry.receivedMs, text: JSON.stringify(entry.input) }))
    })
    return commits.map((commit, index) => this.#write(commit, texts[index] as MemoryLine['journal']))
  }

  readJournal(line: string, afterSeq: number, limit: number): { readonly events: readonly LineEvent[] } {
    const found = this.#lines.get(line)
    if (found === undefined) return { events: [] }
    const start = Math.max(0, afterSeq - found.prunedSeq)
    const events = found.journal.slice(start, start + limit).map((entry, index): LineEvent => {
      const input = JSON.parse(entry.text) as LineInput
      return { ...input, seq: found.prunedSeq + start + index + 1, receivedMs: entry.receivedMs }
    })
    return { events }
  }

  processedSeq(line: string): number {
    return this.#lines.get(line)?.processedSeq ?? 0
  }

  lastSeq(line: string): number {
    const found = this.#lines.get(line)
    return found === undefined ? 0 : found.prunedSeq + found.journal.length
  }

  skippedEvents(line: string): readonly SkippedEvent[] {
    return [...(this.#lines.get(line)?.skipped ?? [])]
  }

  saveSnapshot(snapshot: LineSnapshot): void {
    const line = this.#findOrAdd(snapshot.line)
    const kept = line.snapshots.filter((entry) => entry.seq !== snapshot.seq)
    kept.push({ seq: snapshot.seq, text: JSON.stringify(snapshot.body) })
    kept.sort((a, b) => a.seq - b.seq)
    line.snapshots = kept.slice(-SNAPSHOT_GENERATIONS)
  }

  latestSnapshot(line: string): { readonly snapshot?: LineSnapshot; readonly damage: readonly StoreDamage[] } {
    const newest = this.#lines.get(line)?.snapshots.at(-1)
    if (newest === undefined) return { damage: [] }
    return { snapshot: { line, seq: newest.seq, body: JSON.parse(newest.text) as unknown }, damage: [] }
  }

  pruneJournal(line: string): void {
    const found = this.#lines.get(line)
    if (found === undefined || found.snapshots.length < SNAPSHOT_GENERATIONS) return
    const oldestSeq = found.snapshots[0]?.seq ?? 0
    if (oldestSeq <= found.prunedSeq) return
    found.journal.splice(0, oldestSeq - found.prunedSeq)
    found.prunedSeq = oldestSeq
    found.skipped = found.skipped.filter((skipped) => skipped.seq > oldestSeq)
  }

  lines(): readonly string[] {
    return [...this.#lines].filter(([, line]) => !line.archived).map(([name]) => name).sort()
  }

  archiveLine(line: string, atMs: number): string {
    const found = this.#lines.get(line)
    if (found === undefined) throw new Error(`line "${line}" is not in the store, so it cannot be archived`)
    const name = `${line}@${new Date(atMs).toISOString()}`
    found.archived = true
    found.points = found.points.map((entry) => ({ ...entry, stored: { ...entry.stored, line: name } }))
    found.outputs = found.outputs.map((entry) => ({ ...entry, stored: { ...entry.stored, line: name } }))
    this.#lines.delete(line)
    this.#lines.set(name, found)
    return name
  }

  points(query: PointQuery): readonly PointBody[] {
    const found = (this.#lines.get(query.line)?.points ?? []).filter(({ stored, timeMs }) => {
      const body = stored.output.body as PointBody
      return body.feature === query.feature && (query.chart === undefined || body.chart === query.chart) && isWithin(timeMs, query)
    })
    return newest(found, query.limit).map((entry) => entry.stored.output.body as PointBody)
  }

  series(line: string): readonly ChartSeries[] {
    const found = new Map<string, ChartSeries>()
    for (const { stored } of this.#lines.get(line)?.points ?? []) {
      const { feature, chart } = stored.output.body as PointBody
      found.set(`${chart} ${feature}`, { feature, chart })
    }
    return [...found.values()]
  }

  outputs(query: OutputQuery): readonly StoredOutput[] {
    if (query.kinds.includes('point')) throw new Error('outputs of kind "point" are asked for by points()')
    const found: Numbered[] = []
    for (const name of query.line === undefined ? this.lines() : [query.line]) {
      const line = this.#lines.get(name)
      if (line === undefined) continue
      for (const entry of line.outputs) {
        const { output } = entry.stored
        if (!query.kinds.includes(output.kind) || !isWithin(entry.timeMs, query)) continue
        if (query.feature !== undefined && !('feature' in output.body && output.body.feature === query.feature)) continue
        if (query.factType !== undefined && (output.kind !== 'fact' || output.body.type !== query.factType)) continue
        found.push(entry)
      }
      if (!query.kinds.includes('rejected') || query.feature !== undefined) continue
      for (const { stored } of line.rejections.values()) {
        const entry = { number: 0, stored, timeMs: timeOf(stored) }
        if (isWithin(entry.timeMs, query)) found.push(entry)
      }
    }
    return newest(found, query.limit).map((entry) => entry.stored)
  }

  currentFacts(line: string, newestOfType: number = Number.MAX_SAFE_INTEGER, whole: readonly string[] = []): readonly StoredOutput[] {
    const newest = new Map<string, StoredOutput>()
    for (const { stored } of [...(this.#lines.get(line)?.outputs ?? [])].sort((a, b) => a.number - b.number)) {
      if (stored.output.kind !== 'fact') continue
      const key = JSON.stringify([stored.output.body.type, stored.output.body.id])
      newest.delete(key)
      newest.set(key, stored)
    }
    const left = new Map<string, number>()
    const isKept = ({ output }: StoredOutput): boolean => {
      if (output.kind !== 'fact' || whole.includes(output.body.type)) return true
      const count = (left.get(output.body.type) ?? newestOfType) - 1
      left.set(output.body.type, count)
      return count >= 0
    }
    return [...newest.values()].reverse().filter(isKept).reverse()
  }

  rejections(line: string): readonly RejectionCount[] {
    const found = this.#lines.get(line)?.rejections ?? new Map<string, { count: number; stored: StoredOutput }>()
    return [...found].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, { count, stored }]) => ({ count, last: stored.output.body as RejectionCount['last'] }))
  }

  readHistory(after: HistoryCursor, limit: number): { readonly outputs: readonly StoredOutput[]; readonly cursor: HistoryCursor } {
    const lines = [...this.#lines.values()]
    const points = writtenAfter(lines.flatMap((line) => line.points), after.point, limit)
    const others = writtenAfter(lines.flatMap((line) => line.outputs), after.output, limit)
    return {
      outputs: [...points, ...others].map((entry) => entry.stored),
      cursor: { point: points.at(-1)?.number ?? after.point, output: others.at(-1)?.number ?? after.output },
    }
  }

  pruneHistory(line: string, beforeMs: number): number {
    const found = this.#lines.get(line)
    if (found === undefined) return 0
    const before = found.points.length + found.outputs.length
    found.points = found.points.filter((entry) => entry.timeMs >= beforeMs)
    found.outputs = found.outputs.filter((entry) => entry.timeMs >= beforeMs || entry.stored.output.kind === 'suggestion' || entry.stored.output.kind === 'baseline' || entry.stored.output.kind === 'fact')
    return before - found.points.length - found.outputs.length
  }

  rewriteOutputs(line: string, afterId: number, limit: number, rewrite: (output: LineOutput) => LineOutput): { readonly rewritten: number; readonly next?: number } {
    const found = this.#lines.get(line)
    const page = writtenAfter(found?.outputs.filter(({ stored }) => stored.output.kind === 'suggestion' || stored.output.kind === 'fact') ?? [], afterId, limit)
    const changed = new Map<number, StoredOutput>()
    for (const { number, stored } of page) {
      const output = rewrite(stored.output)
      if (output !== stored.output) changed.set(number, { ...stored, output })
    }
    if (found !== undefined && changed.size > 0) found.outputs = found.outputs.map((entry) => ({ ...entry, stored: changed.get(entry.number) ?? entry.stored }))
    return { rewritten: changed.size, ...(page.length === limit ? { next: page.at(-1)!.number } : {}) }
  }

  rewriteOutbox(line: string, beforeMs: number, rewrite: (payload: string) => string): number {
    let count = 0
    for (const [id, item] of this.#outbox) {
      if (item.line !== line || item.createdMs >= beforeMs) continue
      const payload = rewrite(item.payload)
      if (payload === item.payload) continue
      this.#outbox.set(id, { ...item, payload })
      count += 1
    }
    return count
  }

  rewriteArchived(line: string, rewrite: (body: unknown) => unknown): void {
    const found = this.#lines.get(line)
    if (found?.archived !== true) throw new Error(`line "${line}" is not archived`)
    const newest = found.snapshots.at(-1)
    if (newest === undefined) return
    found.snapshots = [{ seq: newest.seq, text: JSON.stringify(rewrite(JSON.parse(newest.text) as unknown)) }]
    found.journal.splice(0, Math.max(0, newest.seq - found.prunedSeq))
    found.prunedSeq = Math.max(found.prunedSeq, newest.seq)
  }

  archivedLines(): readonly string[] {
    return [...this.#lines].filter(([, { archived }]) => archived).map(([name]) => name).sort()
  }

  /** Nothing is ever set aside in memory. */
  dropSetAside(): number {
    return 0
  }

  damage(): readonly StoreDamage[] {
    return []
  }

  pendingOutbox(limit: number, lane?: { readonly destination: OutboxItem['destination']; readonly target: string }): readonly OutboxItem[] {
    const found: OutboxItem[] = []
    for (const item of this.#outbox.values()) {
      if (found.length >= limit) break
      if (lane === undefined || (item.destination === lane.destination && item.target === lane.target)) found.push(item)
    }
    return found
  }

  outboxLanes(): readonly OutboxLane[] {
    const lanes = new Map<string, { destination: OutboxItem['destination']; target: string; count: number }>()
    for (const { destination, target } of this.#outbox.values()) {
      const key = `${destination} ${target}`
      const lane = lanes.get(key)
      if (lane === undefined) lanes.set(key, { destination, target, count: 1 })
      else lane.count += 1
    }
    return [...lanes.values()]
  }

  markDelivered(ids: readonly string[]): void {
    for (const id of ids) this.#outbox.delete(id)
  }

  outboxCount(): number {
    return this.#outbox.size
  }

  readNodeState(key: string): unknown {
    const text = this.#nodeStates.get(key)
    return text === undefined ? undefined : (JSON.parse(text) as unknown)
  }

  writeNodeState(key: string, body: unknown): void {
    this.#nodeStates.set(key, JSON.stringify(body))
  }

  removeNodeState(key: string): void {
    this.#nodeStates.delete(key)
  }

  close(): void {
    this.#lines.clear()
    this.#outbox.clear()
  }

  #check(commit: LineCommit): void {
    if (commit.line === '') throw new Error('a line needs an id, found an empty text')
    const lastSeq = this.lastSeq(commit.line)
    for (const stored of commit.outputs) {
      if (stored.line !== commit.line) throw new Error(`commit of line "${commit.line}" holds an output of line "${stored.line}"`)
      if (stored.seq > lastSeq) throw new Error(`commit of line "${commit.line}": output of event ${stored.seq}, which is not in the journal (last event ${lastSeq})`)
    }
    if (commit.processedSeq > lastSeq + commit.inputs.length) {
      throw new Error(`commit of line "${commit.line}": processedSeq ${commit.processedSeq} is beyond the last event ${lastSeq + commit.inputs.length}`)
    }
  }

  #write(commit: LineCommit, entries: MemoryLine['journal']): { readonly lastSeq: number } {
    const line = this.#findOrAdd(commit.line)
    const seen = new Set<string>()
    for (const stored of commit.outputs) {
      const key = `${stored.seq} ${stored.ordinal}`
      // Everything up to the processed event is here already, so this is a repeat after a restart.
      if (stored.seq <= line.processedSeq || seen.has(key)) continue
      seen.add(key)
      this.#keep(line, stored)
    }
    for (const entry of entries) line.journal.push(entry)
    for (const skipped of commit.skipped ?? []) {
      if (!line.skipped.some((known) => known.seq === skipped.seq)) line.skipped.push(skipped)
    }
    line.skipped.sort((a, b) => a.seq - b.seq)
    line.processedSeq = Math.max(line.processedSeq, commit.processedSeq)
    for (const item of commit.outbox) if (!this.#outbox.has(item.id)) this.#outbox.set(item.id, item)
    for (const id of this.#outbox.keys()) {
      if (this.#outbox.size <= this.#outboxMax) break
      this.#outbox.delete(id)
    }
    return { lastSeq: line.prunedSeq + line.journal.length }
  }

  #keep(line: MemoryLine, stored: StoredOutput): void {
    const { output } = stored
    if (output.kind === 'reading' || output.kind === 'feature') return
    if (output.kind === 'rejected') {
      const known = line.rejections.get(output.body.reason)
      line.rejections.set(output.body.reason, { count: (known?.count ?? 0) + 1, stored })
      return
    }
    this.#number += 1
    const history = output.kind === 'point' ? line.points : line.outputs
    history.push({ number: this.#number, stored, timeMs: timeOf(stored) })
    // Cut in large steps, since each cut moves the whole array.
    if (history.length > this.#historyMax * 1.25) history.splice(0, history.length - this.#historyMax)
  }

  #findOrAdd(name: string): MemoryLine {
    let line = this.#lines.get(name)
    if (line === undefined) {
      line = { journal: [], prunedSeq: 0, processedSeq: 0, skipped: [], snapshots: [], points: [], outputs: [], rejections: new Map(), archived: false }
      this.#lines.set(name, line)
    }
    return line
  }
}

function timeOf(stored: StoredOutput): number {
  const { output } = stored
  return output.kind === 'suggestion' ? output.body.statusMs : output.body.timeMs
}

function isWithin(timeMs: number, query: { readonly fromMs?: number; readonly toMs?: number }): boolean {
  return timeMs >= (query.fromMs ?? Number.NEGATIVE_INFINITY) && timeMs <= (query.toMs ?? Number.POSITIVE_INFINITY)
}

function newest(entries: Numbered[], limit: number | undefined): Numbered[] {
  entries.sort((a, b) => a.timeMs - b.timeMs || a.stored.seq - b.stored.seq || a.stored.ordinal - b.stored.ordinal)
  return limit === undefined ? entries : entries.slice(Math.max(0, entries.length - limit))
}

function writtenAfter(entries: Numbered[], number: number, limit: number): Numbered[] {
  return entries.filter((entry) => entry.number > number).sort((a, b) => a.number - b.number).slice(0, limit)
}
