import type { EvidenceItem, FeatureEvidence } from '../line/diagnosis.js'
import type { FeatureSpec } from '../line/features/feature-catalogue.js'
import type { FeatureValue } from '../line/feature-value.js'
import type { LineDefinition } from '../line/line-definition.js'
import type { Reading } from '../line/reading.js'
import type { Suggestion, WorkRecord } from '../maintenance/suggestion.js'
import type { SuggestionOutlook } from '../maintenance/suggestion-due.js'
import type { Side, Signal } from '../spc/chart-point.js'
import type { LoopVerdict } from '../spc/effort-verdict.js'
import type { DriftInsight, Insight } from './insight.js'
import { chargePoint, countSignal, countSuggestion, createBudgetState, explainByRecord, stepBudget, type BudgetState } from './insight-budget.js'
import { driftInsight } from './insight-drift.js'
import { controlLoops, createLoopState, meanDuty, noteDuty, stepLoop, type ControlLoop, type LoopState } from './insight-effort.js'
import { createInsightHistory, pushInsightValue, type InsightHistory } from './insight-history.js'
import { featureLimit } from './insight-limits.js'
import type { ChartContext, EmitOutput, LineOutput } from './line-output.js'

/** How one feature under one recipe moves. */
interface MovementState {
  readonly feature: string
  readonly recipe: string
  readonly history: InsightHistory
  /** The signal that stands. */
  open: { readonly side: Side; readonly onsetMs: number } | null
  /** When it was last said, and the end of the last episode, ms UTC; 0 before the first. */
  saidMs: number
  afterMs: number
  /** What was said last, for suggestions. */
  due: readonly [number, number, number] | null
  tooEarly: boolean
}

/** Plain JSON. */
export interface InsightState {
  readonly movements: Record<string, MovementState>
  readonly loops: Record<string, LoopState>
  readonly budget: BudgetState
}

export interface InsightLook {
  readonly timeMs: number
  readonly producing: boolean
  readonly recipe: string
  readonly recipeSinceMs: number
  readonly evidence: readonly FeatureEvidence[]
  readonly isFrozen: (channel: string) => boolean
}

/** What the charts of a line lead to beside symptoms: how features move, what effort hides, what alarms cost. */
export interface InsightStage {
  /** Whether a channel's readings are wanted. */
  wants(channel: string): boolean
  reading(reading: Reading, producing: boolean): void
  /** A value on its way to its chart, before the chart takes it. */
  value(value: FeatureValue, spec: FeatureSpec, recipe: string, emit: EmitOutput): void
  /** What the chart brought out for it. */
  charted(output: LineOutput, spec: FeatureSpec, emit: EmitOutput): void
  suggestion(suggestion: Suggestion, timeMs: number): void
  record(record: WorkRecord): void
  /** About every ten minutes of the data's time, with what the charts say. */
  tick(look: InsightLook, emit: EmitOutput): void
  /** By when the features of a suggestion call for work. */
  outlook(features: readonly string[], zone: number | undefined): SuggestionOutlook
}

export interface InsightStageOptions {
  readonly definition: LineDefinition
  readonly specs: readonly FeatureSpec[]
  /** Points between two false signals that a feature's chart set was designed for. */
  readonly arl0Of: (feature: string) => number
  /** Level learned as normal of a feature under a recipe. */
  readonly centreOf: (feature: string, recipe: string) => number
}

const DAY_MS = 24 * 3_600_000
/** Verdicts a suggestion repeats; the others stand on the charts. */
const SAID_OF_LOOPS: readonly LoopVerdict[] = ['effort-up-result-same', 'effort-down-result-same', 'capacity-exhausted', 'common-cause']
const DOES_NOT_COUNT = /^cusum-/

export function createInsightState(): InsightState {
  return { movements: {}, loops: {}, budget: createBudgetState() }
}

/** The insights of one line over the given state; the state is changed in place. */
export function insightStageOver(state: InsightState, options: InsightStageOptions): InsightStage {
  return new Insights(state, options)
}

class Insights implements InsightStage {
  private readonly loops: readonly ControlLoop[]
  private readonly loopOfDuty: ReadonlyMap<string, ControlLoop>
  private lookedMs = 0

  constructor(
    private readonly state: InsightState,
    private readonly options: InsightStageOptions,
  ) {
    this.loops = controlLoops(options.specs)
    this.loopOfDuty = new Map(this.loops.map((loop) => [loop.duty, loop]))
    this.lookedMs = state.budget.lastMs
  }

  wants(channel: string): boolean {
    return this.loopOfDuty.has(channel)
  }

  reading({ channel, value }: Reading, producing: boolean): void {
    const loop = producing ? this.loopOfDuty.get(channel) : undefined
    if (loop !== undefined && typeof value === 'number') noteDuty(this.loopState(loop), value)
  }

  value({ timeMs, value }: FeatureValue, spec: FeatureSpec, recipe: string, emit: EmitOutput): void {
    const movement = this.movementOf(spec.feature, recipe)
    pushInsightValue(movement.history, timeMs, value, spec.pointsPerWeek)
    if (movement.open !== null && timeMs - movement.saidMs >= DAY_MS) this.sayMovement(movement, spec, timeMs, 'standing', emit)
  }

  charted(output: LineOutput, spec: FeatureSpec, emit: EmitOutput): void {
    if (output.kind === 'point') {
      if (output.body.baseline !== 'self-starting' && !DOES_NOT_COUNT.test(output.body.chart)) chargePoint(this.state.budget, this.options.arl0Of(spec.feature))
    } else if (output.kind === 'signal') this.signal(output.body, spec, emit)
  }

  private signal(signal: Signal & ChartContext, spec: FeatureSpec, emit: EmitOutput): void {
    const movement = this.movementOf(signal.feature, signal.recipe)
    if (signal.phase === 'start') {
      countSignal(this.state.budget, spec, signal.timeMs)
      movement.open = { side: signal.side, onsetMs: signal.onsetMs }
      this.sayMovement(movement, spec, signal.timeMs, 'start', emit)
      return
    }
    if (movement.open === null) return
    this.sayMovement(movement, spec, signal.timeMs, 'end', emit)
    movement.open = null
    movement.afterMs = signal.timeMs
    movement.due = null
    movement.tooEarly = false
  }

  private sayMovement(movement: MovementState, spec: FeatureSpec, timeMs: number, phase: DriftInsight['phase'], emit: EmitOutput): void {
    const { open, feature, recipe, history } = movement
    if (open === null) return
    const level = history.fineValues.at(-1) ?? 0
    const limit = featureLimit(this.options.definition, feature, open.side, { level, centre: this.options.centreOf(feature, recipe), dutyPercent: this.dutyOf(feature) })
    const context: ChartContext = { feature, recipe, state: spec.states[0] ?? 'production' }
    const insight = driftInsight({ history, context, timeMs, phase, side: open.side, onsetMs: open.onsetMs, afterMs: movement.afterMs, windowS: spec.windowS, limit })
    movement.saidMs = timeMs
    movement.due = insight.dueMs ?? null
    movement.tooEarly = insight.noDate === 'rising-too-early-to-date' || insight.noDate === 'falling-too-early-to-date'
    emit({ kind: 'insight', body: insight })
  }

  suggestion(suggestion: Suggestion, timeMs: number): void {
    countSuggestion(this.state.budget, suggestion, timeMs)
  }

  record(record: WorkRecord): void {
    explainByRecord(this.state.budget, record)
  }

  tick({ timeMs, producing, recipe, recipeSinceMs, evidence, isFrozen }: InsightLook, emit: EmitOutput): void {
    const say = (insight: Insight): void => emit({ kind: 'insight', body: insight })
    stepBudget(this.state.budget, this.options.definition, timeMs, producing, say)
    const passedMs = this.lookedMs === 0 ? 0 : Math.max(0, timeMs - this.lookedMs)
    this.lookedMs = this.state.budget.lastMs
    if (!producing || this.loops.length === 0) return
    const byFeature = new Map(evidence.map((item) => [item.feature, item]))
    const look = { timeMs, passedMs, recipe, recipeSinceMs, evidenceOf: (feature: string) => byFeature.get(feature), otherLoops: this.loops, isFrozen }
    for (const loop of this.loops) stepLoop(this.loopState(loop), loop, look, say)
  }

  outlook(features: readonly string[], zone: number | undefined): SuggestionOutlook {
    const moving = Object.values(this.state.movements).filter((movement) => movement.open !== null && features.includes(movement.feature))
    const dates = moving.flatMap(({ due }) => (due === null ? [] : [due])).sort((a, b) => a[0] - b[0])
    const exhausted = this.loops.some((loop) => loop.zone === zone && (features.includes(loop.effort) || features.includes(loop.result)) && this.state.loops[loop.duty]?.verdict === 'capacity-exhausted')
    const due = dates[0] !== undefined ? ({ kind: 'date', earliestMs: dates[0][0], likelyMs: dates[0][1] } as const) : moving.some(({ tooEarly }) => tooEarly) ? ({ kind: 'too-early' } as const) : undefined
    return { exhausted, ...(due === undefined ? {} : { due }), evidence: this.loopEvidence(features, zone) }
  }

  /** The verdict on each loop that a suggestion rests on, where it says something to a person. */
  private loopEvidence(features: readonly string[], zone: number | undefined): EvidenceItem[] {
    return this.loops.flatMap((loop): EvidenceItem[] => {
      const verdict = this.state.loops[loop.duty]?.verdict
      if (loop.zone !== zone || verdict === undefined || !SAID_OF_LOOPS.includes(verdict) || !(features.includes(loop.effort) || features.includes(loop.result))) return []
      return [{ feature: loop.effort, stance: verdict === 'common-cause' ? 'against' : 'for', key: `evidence.loop.${verdict}`, values: {} }]
    })
  }

  private dutyOf(feature: string): number {
    const loop = this.loops.find(({ effort }) => effort === feature)
    return loop === undefined ? 0 : meanDuty(this.loopState(loop))
  }

  private loopState(loop: ControlLoop): LoopState {
    return (this.state.loops[loop.duty] ??= createLoopState())
  }

  private movementOf(feature: string, recipe: string): MovementState {
    return (this.state.movements[`${feature} ${recipe}`] ??= { feature, recipe, history: createInsightHistory(), open: null, saidMs: 0, afterMs: 0, due: null, tooEarly: false })
  }
}
