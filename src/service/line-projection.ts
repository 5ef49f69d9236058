import type { LineStateName } from '../line/feature-value.js'
import type { Rejection, RejectionReason } from '../line/reading.js'
import { isOpenJob } from '../maintenance/jobs/job-steps.js'
import type { MaintenanceFact, MaintenanceFactType } from '../maintenance/maintenance-fact.js'
import type { Suggestion } from '../maintenance/suggestion.js'
import type { Insight } from '../monitor/insight.js'
import type { BaselineProgress, LineOutput } from '../monitor/line-output.js'
import type { LineStore } from '../ports/line-store.js'
import type { Signal } from '../spc/chart-point.js'

/** Signals looked through at the start for those that still stand. */
const SIGNALS_READ = 5000
/** Suggestions kept at hand, the newest; older ones are in the store. */
const SUGGESTIONS_KEPT = 2000
/** Facts of one type kept at hand, the newest and those that still stand; older ones are in the store. */
const FACTS_KEPT = 2000
/** Types whose facts may stand however much happens after them. */
const STANDING_TYPES = ['job', 'hold'] as const
const INSIGHTS_READ = 2000

type FeatureSignal = Signal & { readonly feature: string; readonly recipe: string }

export interface FeatureNow {
  readonly status: 'up' | 'down' | 'quiet' | 'learning' | 'not-observable'
  /** Baseline sigmas, signed; 0 where nothing has changed. */
  readonly shiftSigma: number
  readonly onsetMs?: number
}

export interface RejectionNow {
  readonly count: number
  readonly last: Rejection
}

/** What a line's outputs say at this moment, for people who look; nothing is decided from it. */
export class LineProjection {
  state: LineStateName = 'off'
  stateSinceMs: number | undefined
  recipe = ''
  /** Time of the newest point, reading or state, ms UTC. */
  dataMs: number | undefined
  private readonly baselines = new Map<string, BaselineProgress>()
  /** Status of each baseline before its learning was last suspended: being held does not undo what was learned. */
  private readonly learnedStatus = new Map<string, Exclude<BaselineProgress['status'], 'suspended'>>()
  /** Features whose newest point rests on limits. */
  private readonly limited = new Set<string>()
  /** Signals that stand, by feature, recipe, chart and side. */
  private readonly standing = new Map<string, FeatureSignal>()
  private readonly latest = new Map<string, { readonly timeMs: number; readonly value: number }>()
  private readonly suggestions = new Map<string, Suggestion>()
  private readonly rejections = new Map<RejectionReason, RejectionNow>()
  private readonly facts = new Map<MaintenanceFactType, Map<string, MaintenanceFact>>()
  /** The newest insight of each feature and recipe, or of the line. */
  private readonly insightsNow = new Map<string, Insight>()

  /** Reads what the store holds of the line. */
  static fromStore(store: LineStore, line: string): LineProjection {
    const projection = new LineProjection()
    const kinds = [['state', 1], ['baseline', undefined], ['signal', SIGNALS_READ], ['suggestion', SUGGESTIONS_KEPT], ['insight', INSIGHTS_READ]] as const
    for (const [kind, limit] of kinds) {
      for (const { output } of store.outputs({ line, kinds: [kind], ...(limit === undefined ? {} : { limit }) })) projection.take(output)
    }
    for (const { output } of store.currentFacts(line, FACTS_KEPT, STANDING_TYPES)) projection.take(output)
    for (const { count, last } of store.rejections(line)) projection.rejections.set(last.reason, { count, last })
    for (const { feature, chart } of store.series(line)) {
      const [point] = store.points({ line, feature, chart, limit: 1 })
      if (point !== undefined) projection.take({ kind: 'point', body: point })
    }
    return projection
  }

  take(output: LineOutput): void {
    switch (output.kind) {
      case 'reading':
        if (output.body.timeMs > (this.dataMs ?? 0)) this.dataMs = output.body.timeMs
        return
      case 'state':
        this.state = output.body.state
        this.stateSinceMs = output.body.timeMs
        this.recipe = output.body.recipe
        this.noteTime(output.body.timeMs)
        return
      case 'feature':
        this.note(output.body.feature, output.body.timeMs, output.body.value)
        return
      case 'point':
        this.note(output.body.feature, output.body.timeMs, output.body.value)
        if (output.body.baseline === 'self-starting') this.limited.delete(output.body.feature)
        else this.limited.add(output.body.feature)
        return
      case 'baseline': {
        const { feature, recipe, status } = output.body
        this.baselines.set(`${feature} ${recipe}`, output.body)
        if (status !== 'suspended') this.learnedStatus.set(`${feature} ${recipe}`, status)
        return
      }
      case 'signal': {
        const key = `${output.body.feature} ${output.body.recipe} ${output.body.chart} ${output.body.side}`
        if (output.body.phase === 'start') this.standing.set(key, output.body)
        else this.standing.delete(key)
        return
      }
      case 'suggestion':
        this.takeSuggestion(output.body)
        return
      case 'rejected': {
        const count = (this.rejections.get(output.body.reason)?.count ?? 0) + 1
        this.rejections.set(output.body.reason, { count, last: output.body })
        return
      }
      case 'epoch':
        this.dataMs = output.body.timeMs
        return
      case 'fact':
        this.takeFact(output.body)
        return
      case 'insight':
        this.insightsNow.set(`${output.body.type} ${'feature' in output.body ? `${output.body.feature} ${output.body.recipe}` : 'complete' in output.body ? output.body.complete : ''}`, output.body)
        return
      case 'diagnosis':
      case 'rule-hit':
      case 'rule-end':
      case 'note':
        return
    }
  }

  private takeSuggestion(suggestion: Suggestion): void {
    // Taken out and put in again, so that the map's order is that of the last change.
    this.suggestions.delete(suggestion.id)
    this.suggestions.set(suggestion.id, suggestion)
    const oldest = this.suggestions.keys().next().value
    if (this.suggestions.size > SUGGESTIONS_KEPT && oldest !== undefined) this.suggestions.delete(oldest)
  }

  private takeFact(fact: MaintenanceFact): void {
    const known = this.facts.get(fact.type) ?? new Map<string, MaintenanceFact>()
    this.facts.set(fact.type, known)
    known.delete(fact.id)
    known.set(fact.id, fact)
    if (known.size <= FACTS_KEPT) return
    for (const [id, old] of known) {
      if (stillStands(old)) continue
      known.delete(id)
      return
    }
  }

  /** Puts another version in the place of suggestions and facts; what `rewrite` gives back as it was stays. */
  rewrite(rewrite: <T extends Suggestion | MaintenanceFact>(kept: T) => T): void {
    for (const [id, suggestion] of this.suggestions) this.suggestions.set(id, rewrite(suggestion))
    for (const known of this.facts.values()) for (const [id, fact] of known) known.set(id, rewrite(fact))
  }

  /** Facts of a type as they hold now, the last changed last. */
  factsOf<T extends MaintenanceFactType>(type: T): readonly Extract<MaintenanceFact, { type: T }>[] {
    return [...(this.facts.get(type)?.values() ?? [])] as Extract<MaintenanceFact, { type: T }>[]
  }

  /** The newest insights: one for each feature and recipe, and those of the line. */
  insights(): readonly Insight[] {
    return [...this.insightsNow.values()]
  }

  private note(feature: string, timeMs: number, value: number): void {
    const known = this.latest.get(feature)
    if (known === undefined || timeMs >= known.timeMs) this.latest.set(feature, { timeMs, value })
    this.noteTime(timeMs)
  }

  /** Data came of this time; the store keeps no readings, so after a restart the runtime tells. */
  noteTime(timeMs: number): void {
    if (timeMs > (this.dataMs ?? 0)) this.dataMs = timeMs
  }

  get standingSignalCount(): number {
    return this.standing.size
  }

  latestOf(feature: string): { readonly timeMs: number; readonly value: number } | undefined {
    return this.latest.get(feature)
  }

  /** Baselines of a feature, one for each recipe, the newest change last. */
  baselinesOf(feature: string): readonly BaselineProgress[] {
    return [...this.baselines.values()].filter((baseline) => baseline.feature === feature).sort((a, b) => a.timeMs - b.timeMs)
  }

  baselineCounts(): { learning: number; provisional: number; accepted: number; refused: number } {
    const counts = { learning: 0, provisional: 0, accepted: 0, refused: 0 }
    for (const key of this.baselines.keys()) counts[this.learnedStatus.get(key) ?? 'learning'] += 1
    return counts
  }

  /** What the charts say of a feature: its strongest standing signal, else how far its baseline is. */
  featureNow(feature: string): FeatureNow {
    const signals = [...this.standing.values()].filter((signal) => signal.feature === feature)
    const strongest = signals.reduce<FeatureSignal | undefined>((best, signal) => (best === undefined || Math.abs(signal.shiftSigma) > Math.abs(best.shiftSigma) ? signal : best), undefined)
    if (strongest !== undefined) return { status: strongest.side === 'above' ? 'up' : 'down', shiftSigma: strongest.shiftSigma, onsetMs: strongest.onsetMs }
    const baselines = this.baselinesOf(feature)
    if (baselines.length === 0) return { status: this.latest.has(feature) ? 'learning' : 'not-observable', shiftSigma: 0 }
    return { status: this.limited.has(feature) ? 'quiet' : 'learning', shiftSigma: 0 }
  }

  suggestion(id: string): Suggestion | undefined {
    return this.suggestions.get(id)
  }

  /** The last changed first. */
  allSuggestions(): readonly Suggestion[] {
    return [...this.suggestions.values()].reverse()
  }

  openSuggestions(): readonly Suggestion[] {
    return this.allSuggestions().filter(({ status }) => status === 'open' || status === 'taken')
  }

  rejected(): { readonly total: number; readonly byReason: Readonly<Record<string, number>>; readonly last: readonly RejectionNow[] } {
    const last = [...this.rejections.values()]
    return {
      total: last.reduce((sum, { count }) => sum + count, 0),
      byReason: Object.fromEntries([...this.rejections].map(([reason, { count }]) => [reason, count])),
      last,
    }
  }
}

/** What must stay in sight however much happens after it: a job that waits, settings on hold. */
function stillStands(fact: MaintenanceFact): boolean {
  return fact.type === 'job' ? isOpenJob(fact) : fact.type === 'hold' && fact.on
}
