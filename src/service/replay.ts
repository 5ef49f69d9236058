import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { invisibleFaults } from '../line/diagnosis/visibility.js'
import type { LineDefinition } from '../line/line-definition.js'
import { channelKindOf } from '../line/channels.js'
import type { Rejection, RejectionReason } from '../line/reading.js'
import { createLineMonitor } from '../monitor/line-monitor.js'
import { createTextbookPractice } from '../monitor/textbook-practice.js'
import type { LineInput } from '../monitor/line-event.js'
import type { LineMonitor, LineOutput } from '../monitor/line-output.js'
import { JsonLinesFile } from './json-lines-file.js'
import { isoTime, outputJson, outputText, suggestionJson } from './output-json.js'
import { ReplayMaintenance } from './replay-maintenance.js'

/** Rejections of one reason and place that are written out one by one; the rest are counted. */
const REJECTIONS_WRITTEN = 100
/** Places told apart; a file of garbage must not fill the memory. */
const REJECTION_PLACES_MAX = 1000

/** What people entered while the history ran. */
export type ReplayEntry = Extract<LineInput, { kind: 'record' | 'entry' }>

function timeOf(input: ReplayEntry): number {
  return input.kind === 'record' ? input.record.timeMs : input.entry.timeMs
}

export interface ReplayOptions {
  readonly definition: LineDefinition
  /** Folder for the answers; made if absent. */
  readonly outFolder: string
  /** Records of work and what else people entered, to take in at their times, in any order; with them the maintenance side is written out too. */
  readonly records?: readonly ReplayEntry[]
  /** Only every so many-th point of each chart is written; 1 for all. Points a rule hit rests on are then not all there. */
  readonly thin: number
}

/** Runs a history through the live path and writes what it brings out; see `replay --help` for the files. */
export class Replay {
  private readonly monitor: LineMonitor
  private readonly files: Readonly<Record<'points' | 'rule-hits' | 'rule-ends' | 'signals' | 'suggestions' | 'suggestion-changes' | 'diagnoses' | 'baselines' | 'states' | 'facts' | 'insights' | 'rejected' | 'notes', JsonLinesFile>>
  private readonly records: ReplayEntry[]
  private readonly maintenance: ReplayMaintenance | undefined
  private firstMs = 0
  private readonly tally = new ReplayTally()
  private readonly textbook = createTextbookPractice(isMeasured)
  private readonly rejections = new Map<string, { readonly first: Rejection; count: number }>()
  private readonly pointCounts = new Map<string, number>()
  private readonly raised = new Set<string>()
  private seq = 0
  private nowMs = 0

  constructor(private readonly options: ReplayOptions) {
    mkdirSync(options.outFolder, { recursive: true })
    const file = (name: string): JsonLinesFile => new JsonLinesFile(join(options.outFolder, `${name}.jsonl`))
    this.files = {
      points: file('points'),
      'rule-hits': file('rule-hits'),
      'rule-ends': file('rule-ends'),
      signals: file('signals'),
      suggestions: file('suggestions'),
      'suggestion-changes': file('suggestion-changes'),
      diagnoses: file('diagnoses'),
      baselines: file('baselines'),
      states: file('states'),
      facts: file('facts'),
      insights: file('insights'),
      rejected: file('rejected'),
      notes: file('notes'),
    }
    this.records = [...(options.records ?? [])].sort((a, b) => timeOf(a) - timeOf(b))
    this.maintenance = options.records === undefined ? undefined : new ReplayMaintenance(options.definition)
    this.monitor = createLineMonitor(options.definition)
  }

  /** Time of the newest reading so far, ms UTC; the only clock of a replay. */
  get dataMs(): number {
    return this.nowMs
  }

  /** @param timeMs the reading's own time if it could be read; the replay's clock never goes back */
  take(input: LineInput, timeMs: number | undefined): void {
    if (timeMs !== undefined && timeMs > this.nowMs) this.nowMs = timeMs
    if (this.firstMs === 0) this.firstMs = this.nowMs
    while (this.records[0] !== undefined && timeOf(this.records[0]) <= this.nowMs) this.step(this.records.shift()!)
    this.step(input)
  }

  /** A line of the file that could not even be read as one. */
  reject(rejection: Rejection): void {
    this.tally.readingsIn += 1
    this.takeRejection(rejection)
  }

  /** Closes what is open, writes the summary and answers it. */
  finish(source: Readonly<Record<string, unknown>>): Readonly<Record<string, unknown>> {
    for (const entry of this.records.splice(0)) this.step(entry)
    this.step({ kind: 'end-of-data' })
    for (const { first, count } of this.rejections.values()) {
      if (count > REJECTIONS_WRITTEN) this.files.rejected.write(JSON.stringify({ ...outputJson({ kind: 'rejected', body: first }), found: '', more: count - REJECTIONS_WRITTEN }))
    }
    const counts = Object.fromEntries(Object.entries(this.files).map(([name, file]) => [name, file.count]))
    for (const file of Object.values(this.files)) file.close()
    this.maintenance?.write(this.options.outFolder, this.firstMs, this.nowMs)
    const summary = { line: this.options.definition.line, ...source, ...this.tally.summary(this.nowMs), textbook: this.textbook.cost(), invisible: invisibleFaults(this.options.definition), written: counts, thin: this.options.thin }
    writeFileSync(join(this.options.outFolder, 'summary.json'), `${JSON.stringify(summary, null, 2)}\n`)
    return summary
  }

  private step(input: LineInput): void {
    this.seq += 1
    if (input.kind === 'value') this.tally.readingsIn += 1
    this.monitor.step({ ...input, seq: this.seq, receivedMs: this.nowMs }, (output) => this.takeOutput(output))
  }

  private takeOutput(output: LineOutput): void {
    this.tally.count(output)
    this.maintenance?.take(output)
    switch (output.kind) {
      case 'point':
        this.takePoint(output)
        return
      case 'rule-hit':
        this.files['rule-hits'].write(outputText(output))
        return
      case 'rule-end':
        this.files['rule-ends'].write(outputText(output))
        return
      case 'signal':
        this.files.signals.write(outputText(output))
        return
      case 'suggestion': {
        const first = !this.raised.has(output.body.id)
        this.raised.add(output.body.id)
        this.files[first ? 'suggestions' : 'suggestion-changes'].write(JSON.stringify(suggestionJson(output.body)))
        return
      }
      case 'diagnosis':
        this.files.diagnoses.write(outputText(output))
        return
      case 'baseline':
        this.files.baselines.write(outputText(output))
        return
      case 'state':
        this.files.states.write(outputText(output))
        return
      case 'fact':
        this.files.facts.write(outputText(output))
        return
      case 'insight':
        this.files.insights.write(outputText(output))
        return
      case 'rejected':
        this.takeRejection(output.body)
        return
      case 'epoch':
      case 'note':
        this.files.notes.write(JSON.stringify({ kind: output.kind, ...outputJson(output) }))
        return
      case 'reading':
        this.textbook.take(output.body)
        return
      case 'feature':
        return
    }
  }

  private takePoint(output: LineOutput & { kind: 'point' }): void {
    if (this.options.thin > 1) {
      const key = `${output.body.feature} ${output.body.chart} ${output.body.recipe}`
      const count = this.pointCounts.get(key) ?? 0
      this.pointCounts.set(key, count + 1)
      if (count % this.options.thin !== 0) return
    }
    this.files.points.write(outputText(output))
  }

  private takeRejection(rejection: Rejection): void {
    this.tally.rejected(rejection.reason)
    const known = `${rejection.reason} ${rejection.where}`
    const key = this.rejections.has(known) || this.rejections.size < REJECTION_PLACES_MAX ? known : `${rejection.reason} *`
    const entry = this.rejections.get(key) ?? { first: rejection, count: 0 }
    entry.count += 1
    this.rejections.set(key, entry)
    if (entry.count <= REJECTIONS_WRITTEN) this.files.rejected.write(outputText({ kind: 'rejected', body: rejection }))
  }
}

/** Channels a textbook chart would be drawn of: measured ones, not set-points, valves and counters. */
function isMeasured(channel: string): boolean {
  const kind = channelKindOf(channel)?.channelKind
  return kind !== undefined && kind.valueType === 'number' && kind.arrival !== 'on-change' && !['board.count', 'fluxer.spray-on'].includes(kind.pattern)
}

/** What the summary counts. */
class ReplayTally {
  readingsIn = 0
  private readingsTaken = 0
  private firstMs = 0
  private lastMs = 0
  private points = 0
  private signalsStarted = 0
  private readonly byReason: Partial<Record<RejectionReason, number>> = {}
  private readonly byRule: Record<string, number> = {}
  private readonly baselines = new Map<string, Readonly<Record<string, unknown>>>()
  private readonly suggestions = new Map<string, Readonly<Record<string, unknown>>>()
  /** Records and entries that were not taken, and why. */
  private readonly refused: { readonly entry: string; readonly reason: string }[] = []
  private readonly stateHours: Record<string, number> = {}
  private state: { readonly name: string; readonly sinceMs: number } | undefined

  rejected(reason: RejectionReason): void {
    this.byReason[reason] = (this.byReason[reason] ?? 0) + 1
  }

  count(output: LineOutput): void {
    switch (output.kind) {
      case 'reading':
        this.readingsTaken += 1
        if (this.firstMs === 0 || output.body.timeMs < this.firstMs) this.firstMs = output.body.timeMs
        if (output.body.timeMs > this.lastMs) this.lastMs = output.body.timeMs
        return
      case 'point':
        this.points += 1
        return
      case 'rule-hit':
        this.byRule[output.body.rule] = (this.byRule[output.body.rule] ?? 0) + 1
        return
      case 'signal':
        if (output.body.phase === 'start') this.signalsStarted += 1
        return
      case 'baseline': {
        const { feature, recipe, status, n, target, reason } = output.body
        this.baselines.set(`${feature} ${recipe}`, { feature, recipe, status, n, target, ...(reason === undefined ? {} : { reason }) })
        return
      }
      case 'fact':
        if (output.body.type !== 'refused') return
        this.refused.push({ entry: output.body.entry, reason: output.body.reason })
        return
      case 'suggestion': {
        const { id, raisedMs, section, zone, causes, status, urgency } = output.body
        const [lead] = causes
        this.suggestions.set(id, { id, time: isoTime(raisedMs), section, ...(zone === undefined ? {} : { zone }), cause: lead?.cause ?? '', probability: lead?.probability ?? 0, urgency, status })
        return
      }
      case 'state':
        this.endState(output.body.timeMs)
        this.state = { name: output.body.state, sinceMs: output.body.timeMs }
        return
      default:
        return
    }
  }

  private endState(timeMs: number): void {
    if (this.state === undefined) return
    this.stateHours[this.state.name] = (this.stateHours[this.state.name] ?? 0) + Math.max(0, timeMs - this.state.sinceMs) / 3_600_000
  }

  summary(endMs: number): Record<string, unknown> {
    this.endState(endMs)
    return {
      ...(this.readingsTaken === 0 ? {} : { from: isoTime(this.firstMs), to: isoTime(this.lastMs) }),
      readings: { read: this.readingsIn, taken: this.readingsTaken, rejected: Object.values(this.byReason).reduce((sum, count) => sum + count, 0), rejectedByReason: this.byReason },
      points: this.points,
      ruleHits: this.byRule,
      signals: this.signalsStarted,
      suggestions: [...this.suggestions.values()],
      ...(this.refused.length === 0 ? {} : { refused: this.refused }),
      stateHours: Object.fromEntries(Object.entries(this.stateHours).map(([name, hours]) => [name, Math.round(hours * 100) / 100])),
      baselines: [...this.baselines.values()],
    }
  }
}
