import { diagnose } from '../line/diagnosis/diagnose.js'
import { learnedTable } from '../line/diagnosis/learned-table.js'
import { siteLikelihoods, type LikelihoodTable } from '../line/diagnosis/likelihoods.js'
import type { Diagnosis, FeatureEvidence } from '../line/diagnosis.js'
import type { FeatureValue } from '../line/feature-value.js'
import { featureCatalogue, type FeatureSpec } from '../line/features/feature-catalogue.js'
import { createFeatureSet, type FeatureContext, type FeatureSet, type WindowContext } from '../line/features/feature-set.js'
import { isHandFeature } from '../line/hand-values.js'
import type { LineDefinition } from '../line/line-definition.js'
import type { Reading, Rejection } from '../line/reading.js'
import { createLineStateTracker, type LineStateChange, type LineStateTracker } from '../line/state/line-state.js'
import { createTelemetryStage, type TelemetryStage } from '../line/telemetry/telemetry-stage.js'
import { recordRefusal, withHandCheck } from '../maintenance/jobs/record-check.js'
import type { MaintenanceContext } from '../maintenance/maintenance-part.js'
import { withoutNamesBefore } from '../maintenance/names-forgotten.js'
import type { Suggestion } from '../maintenance/suggestion.js'
import { handCharts } from '../maintenance/rounds/hand-charts.js'
import { createSuggestionDesk, type SuggestionDesk } from '../maintenance/suggestion-desk.js'
import { chartStageOver, createChartStage, type ChartStage, type ChartStageState } from './chart-stage.js'
import { createInsightState, insightStageOver, type InsightStage, type InsightState } from './insight-stage.js'
import { STAGES, type LineEvent, type Stage } from './line-event.js'
import type { EmitOutput, LineMonitor } from './line-output.js'
import { SNAPSHOT_VERSION, unusable, type HeldValue, type MonitorProgress, type MonitorSnapshot } from './monitor-snapshot.js'
import { ALL_RECIPES, valueAtUsualRecipe, type RecipeLevels } from './recipe-levels.js'
import { createStopLog, noteState, type StopLog } from './run-in.js'
import { createMaintenanceStage, type MaintenanceSink, type MaintenanceStage } from './maintenance-stage.js'

/** Diagnosis looks again when this much of the data's own time has passed, and when a signal starts or ends. */
const DIAGNOSIS_EVERY_MS = 600_000
/**
 * A value waits so long for the line state to be sure: a changeover is noticed minutes after it began, and the window
 * before it is then no picture of steady production.
 */
const HOLD_MS = 12 * 60_000
/** Windows that end this shortly before a change was noticed are taken to hold its beginning. */
const CHANGE_REACH_MS = 20 * 60_000
/** An unchanged diagnosis is said again only after this time. */
const DIAGNOSIS_REPEAT_MS = 6 * 3_600_000

/**
 * One line's whole pipeline in order: telemetry, line state, features, charts, diagnosis, suggestions. Pure: the same
 * events in the same order give the same outputs, and a snapshot taken between two events goes on exactly.
 *
 * @param definition a checked line definition
 * @param snapshot what `snapshot()` gave, after a JSON round trip or not; absent for a new line
 * @throws Error if the snapshot is of another version
 */
export function createLineMonitor(definition: LineDefinition, snapshot?: unknown): LineMonitor {
  return new PipelineMonitor(definition, snapshot as MonitorSnapshot | undefined)
}

class PipelineMonitor implements LineMonitor {
  private definition: LineDefinition
  private stages: readonly Stage[]
  private telemetry!: TelemetryStage
  private tracker!: LineStateTracker
  private features!: FeatureSet
  private specs!: readonly FeatureSpec[]
  private specOf!: Map<string, FeatureSpec>
  private charts: ChartStageState
  private chartStage!: ChartStage
  private readonly insightState: InsightState
  private insights!: InsightStage
  private desk!: SuggestionDesk
  private maintenance!: MaintenanceStage
  private table: { readonly key: string; readonly table: LikelihoodTable } | undefined
  private readonly levels: RecipeLevels
  private held: HeldValue[]
  private progress: MonitorProgress

  constructor(definition: LineDefinition, snapshot: MonitorSnapshot | undefined) {
    if (snapshot !== undefined && snapshot.version !== SNAPSHOT_VERSION) throw new Error(unusable(definition.line, snapshot.version))
    this.definition = definition
    this.stages = snapshot?.stages ?? STAGES
    this.charts = snapshot?.charts ?? createChartStage()
    this.insightState = snapshot?.insights ?? createInsightState()
    this.levels = snapshot?.levels ?? {}
    this.held = snapshot?.held ?? []
    this.progress = snapshot?.progress ?? { dataMs: 0, diagnosisMs: 0, signalChanged: false, lastDiagnosis: '', lastDiagnosisMs: 0 }
    this.build(definition, snapshot)
  }

  private build(definition: LineDefinition, from: Partial<MonitorSnapshot> | undefined): void {
    this.definition = definition
    this.table = undefined
    this.telemetry = createTelemetryStage(definition, from?.telemetry)
    this.tracker = createLineStateTracker(definition, from?.tracker)
    this.features = createFeatureSet(definition, from?.features)
    this.specs = featureCatalogue(definition)
    const charted = [...this.specs, ...handCharts(definition)]
    this.specOf = new Map(charted.map((spec) => [spec.feature, spec]))
    this.chartStage = chartStageOver(this.charts, charted, definition.budget.falseSignalsPerWeek, definition.rules?.supplementary, definition.budget.weights, new Set(Object.keys(this.levels)))
    this.insights = insightStageOver(this.insightState, { definition, specs: this.specs, arl0Of: (feature) => this.chartStage.arl0Of(feature), centreOf: (feature, recipe) => this.chartStage.centreOf(feature, recipe) })
    this.desk = createSuggestionDesk(definition, from?.desk)
    this.maintenance = createMaintenanceStage(definition, from?.maintenance)
  }

  snapshot(): MonitorSnapshot {
    return {
      version: SNAPSHOT_VERSION,
      stages: this.stages,
      telemetry: this.telemetry.snapshot(),
      tracker: this.tracker.snapshot(),
      features: this.features.snapshot(),
      charts: this.charts,
      insights: this.insightState,
      levels: this.levels,
      desk: this.desk.snapshot(),
      maintenance: this.maintenance.snapshot(),
      held: this.held,
      progress: this.progress,
    }
  }

  step(event: LineEvent, emit: EmitOutput): void {
    switch (event.kind) {
      case 'message':
      case 'value':
        this.telemetry.take(event, {
          release: (reading) => this.takeReading(reading, emit),
          reject: (rejection) => emitRejection(rejection, emit),
          epoch: (timeMs, beforeMs) => this.beginEpoch(timeMs, beforeMs, emit),
        })
        return
      case 'feature':
        this.takeOwnFeature(event.feature, event.timeMs, event.value, emit)
        return
      case 'reply':
        this.takeReply(event, emit)
        return
      case 'record':
        this.takeRecord(event, emit)
        return
      case 'entry':
        if (this.stages.includes('queue')) this.maintenance.entry(event.entry, this.maintenanceContext(this.nowMs(event)), this.maintenanceSink(emit))
        return
      case 'baseline': {
        const count = this.chartStage.decide(event.feature, event.recipe, event.decision, this.nowMs(event), this.chartContext(event.feature), this.withInsights(event.feature, emit))
        if (count === 0) emitRejection({ reason: 'unknown-channel', where: event.feature, timeMs: this.nowMs(event), found: `baseline decision "${event.decision}"`, expected: 'a feature that has a chart' }, emit)
        return
      }
      case 'stages':
        this.stages = STAGES.filter((stage) => event.stages.includes(stage))
        return
      case 'definition':
        this.build(event.definition, this.snapshot())
        return
      case 'forget-names':
        this.desk = createSuggestionDesk(this.definition, withoutNamesBefore(this.desk.snapshot(), event.beforeMs))
        this.maintenance = createMaintenanceStage(this.definition, withoutNamesBefore(this.maintenance.snapshot(), event.beforeMs))
        return
      case 'end-of-data':
        this.telemetry.flush({
          release: (reading) => this.takeReading(reading, emit),
          reject: (rejection) => emitRejection(rejection, emit),
          epoch: (timeMs, beforeMs) => this.beginEpoch(timeMs, beforeMs, emit),
        })
        this.features.flush((value, spec, context) => this.holdFeature(value, spec, context, emit))
        this.releaseHeld(Number.MAX_SAFE_INTEGER, emit)
        this.diagnoseNow(this.progress.dataMs, emit)
        return
    }
  }

  /** A simulated line's time is its data's; a real one's replies and decisions count from their receipt. */
  private nowMs(event: LineEvent): number {
    return this.definition.simulated && this.progress.dataMs > 0 ? this.progress.dataMs : event.receivedMs
  }

  private takeReading(reading: Reading, emit: EmitOutput): void {
    emit({ kind: 'reading', body: reading })
    // Channels are released each at its own pace, and what is measured on boards comes late: that is no time of its own.
    this.progress.dataMs = Math.max(this.progress.dataMs, reading.timeMs)
    const nowMs = this.progress.dataMs
    this.tracker.take(reading, (change) => {
      emit({ kind: 'state', body: change })
      if (this.stages.includes('queue')) this.maintenance.state(change, this.maintenanceContext(change.timeMs), this.maintenanceSink(emit))
      this.features.stateChanged(change, (value, spec, context) => this.holdFeature(value, spec, context, emit))
      if (!isWait(change)) this.dropHeldBefore(change.timeMs)
      noteState(this.stopLog, change.timeMs, change.state)
    })
    if (this.maintenance.wantsReadings && this.stages.includes('queue')) this.maintenance.reading(reading, this.maintenanceContext(nowMs), this.maintenanceSink(emit))
    if (this.insights.wants(reading.channel)) this.insights.reading(reading, this.tracker.state === 'production')
    this.features.take(reading, this.featureContext(), (value, spec, context) => this.holdFeature(value, spec, context, emit))
    if (this.held.length > 0) this.releaseHeld(reading.timeMs - HOLD_MS, emit)
    if (!this.stages.includes('diagnosis')) return
    const due = Math.abs(nowMs - this.progress.diagnosisMs) >= DIAGNOSIS_EVERY_MS
    if (due || this.progress.signalChanged) this.diagnoseNow(nowMs, emit)
  }

  /** The line's clock was set back: its time goes on from there. */
  private beginEpoch(timeMs: number, beforeMs: number, emit: EmitOutput): void {
    this.progress.dataMs = timeMs
    emit({ kind: 'epoch', body: { timeMs, beforeMs } })
  }

  private featureContext(): FeatureContext {
    return { state: this.tracker.state, recipe: this.tracker.recipe, stateSinceMs: this.tracker.sinceMs }
  }

  private chartContext(feature: string): { feature: string; recipe: string; state: FeatureContext['state'] } {
    return { feature, recipe: this.tracker.recipe, state: this.tracker.state }
  }

  /** Values of production windows wait; start-up values and the site's own channels, which count in any state, do not. */
  private holdFeature(value: FeatureValue, spec: FeatureSpec, context: WindowContext, emit: EmitOutput): void {
    const waits = spec.states.length === 1 && spec.states[0] === 'production' && context.state === 'production'
    if (waits) this.held.push({ value, context })
    else this.takeFeature(value, spec, context, emit)
  }

  private releaseHeld(untilMs: number, emit: EmitOutput): void {
    let count = 0
    for (const { value, context } of this.held) {
      if (value.timeMs > untilMs) break
      count += 1
      const spec = this.specOf.get(value.feature)
      if (spec !== undefined) this.takeFeature(value, spec, context, emit)
    }
    if (count > 0) this.held.splice(0, count)
  }

  private dropHeldBefore(changeMs: number): void {
    this.held = this.held.filter(({ value }) => value.timeMs <= changeMs - CHANGE_REACH_MS)
  }

  private takeFeature(given: FeatureValue, spec: FeatureSpec, window: WindowContext, emit: EmitOutput): void {
    const value = valueAtUsualRecipe(this.levels, spec, given, window.recipe)
    if (value === undefined) return
    const context = { feature: spec.feature, recipe: window.recipe, state: window.state }
    emit({ kind: 'feature', body: { ...value, recipe: context.recipe, state: context.state } })
    if (!this.stages.includes('charts')) return
    this.insights.value(value, spec, spec.perRecipe ? context.recipe : ALL_RECIPES, emit)
    const withInsights = this.withInsights(spec.feature, emit)
    this.chartStage.take(value, spec, context, (output) => {
      if (output.kind === 'signal') this.progress.signalChanged = true
      withInsights(output)
      if (output.kind === 'baseline' && this.stages.includes('queue')) this.maintenance.level(output.body, this.maintenanceContext(Math.max(output.body.timeMs, this.progress.dataMs)), this.maintenanceSink(emit))
    })
    if (this.stages.includes('queue')) this.maintenance.value({ value, recipe: context.recipe, state: context.state }, this.maintenanceContext(Math.max(value.timeMs, this.progress.dataMs)), this.maintenanceSink(emit))
  }

  /** Points and signals also lead to insights; those of a signal follow it. */
  private withInsights(feature: string, emit: EmitOutput): EmitOutput {
    const spec = this.specOf.get(feature)
    return (output) => {
      emit(output)
      if (spec !== undefined && (output.kind === 'point' || output.kind === 'signal')) this.insights.charted(output, spec, emit)
    }
  }

  private takeOwnFeature(feature: string, timeMs: number, value: number, emit: EmitOutput): void {
    const spec = this.specOf.get(feature)
    if (spec === undefined) {
      emitRejection({ reason: 'unknown-channel', where: feature, timeMs, found: String(value), expected: 'a feature of this line, e.g. "custom.<name>.value" of a declared custom channel' }, emit)
      return
    }
    if (!Number.isFinite(value)) {
      emitRejection({ reason: 'not-finite', where: feature, timeMs, found: String(value), expected: 'a finite number' }, emit)
      return
    }
    this.takeFeature({ feature, timeMs, value, weight: 1 }, spec, this.featureContext(), emit)
  }

  /** A record that is refused has no effect at all: not on a suggestion, nor on what the charts take for a run-in. */
  private takeRecord(event: LineEvent & { kind: 'record' }, emit: EmitOutput): void {
    const record = withHandCheck(event.record, this.definition)
    const nowMs = this.nowMs(event)
    const refusal = recordRefusal(record, this.definition)
    if (refusal !== undefined) {
      emit({ kind: 'fact', body: { type: 'refused', id: `refused-${record.id}`, timeMs: nowMs, entry: record.id, ...refusal } })
      return
    }
    // Work is done by the time it is recorded: a wrong clock must not leave its mark ahead of every later work.
    const doneMs = Math.min(record.timeMs, nowMs)
    this.tracker.noteWork(doneMs)
    this.insights.record(record)
    this.desk.record(record, doneMs, (suggestion) => this.sayOf(suggestion, doneMs, emit))
    if (this.stages.includes('queue')) this.maintenance.record({ ...record, timeMs: doneMs }, this.maintenanceContext(nowMs), this.maintenanceSink(emit))
  }

  private takeReply(event: LineEvent & { kind: 'reply' }, emit: EmitOutput): void {
    const timeMs = this.nowMs(event)
    const answer = this.desk.reply(event.reply, timeMs, (suggestion) => this.sayOf(suggestion, timeMs, emit))
    if (answer.kind === 'accepted' && this.stages.includes('queue')) this.maintenance.reply(event.reply, this.maintenanceContext(timeMs), this.maintenanceSink(emit))
    if (answer.kind === 'refused') emit({ kind: 'note', body: { timeMs, key: `reply.refused.${answer.reason}`, values: { suggestion: event.reply.suggestion, action: event.reply.action } } })
  }

  private diagnoseNow(timeMs: number, emit: EmitOutput): void {
    this.progress.diagnosisMs = timeMs
    this.progress.signalChanged = false
    if (!this.stages.includes('diagnosis')) return
    const evidence = this.chartStage.evidence(timeMs, this.stopLog)
    const context = this.maintenanceContext(timeMs)
    const diagnoses = diagnose({ definition: this.definition, timeMs, evidence: evidence.filter(({ feature }) => !isHandFeature(feature)), specs: this.specs, table: this.siteTable(), doubtful: this.doubtfulFeatures(), priors: this.maintenance.priors(context) })
    this.sayDiagnoses(diagnoses, evidence, timeMs, emit)
    this.lookForInsights(evidence, timeMs, emit)
    if (!this.stages.includes('queue')) return
    this.desk.consider(diagnoses.filter((diagnosis) => !this.maintenance.explains(diagnosis, context)), { timeMs, state: this.tracker.state, recipe: this.tracker.recipe, outlook: (features, zone) => this.insights.outlook(features, zone) }, (suggestion) => this.sayOf(suggestion, timeMs, emit))
    this.maintenance.tick(evidence, context, this.maintenanceSink(emit))
  }

  private lookForInsights(evidence: readonly FeatureEvidence[], timeMs: number, emit: EmitOutput): void {
    const { recipe, recipeSinceMs } = this.tracker
    const isFrozen = (channel: string): boolean => this.features.dataQuality().some((known) => known.channel === channel && known.status === 'frozen')
    this.insights.tick({ timeMs, producing: this.tracker.state === 'production', recipe, recipeSinceMs, evidence, isFrozen }, emit)
  }

  private get stopLog(): StopLog {
    return (this.progress.stopLog ??= createStopLog())
  }

  /** The site's own likelihoods, with what people found so far; made anew when they have found something. */
  private siteTable(): LikelihoodTable {
    const feedback = this.desk.feedback()
    const key = JSON.stringify(feedback)
    if (this.table?.key !== key) this.table = { key, table: learnedTable(this.definition, feedback, siteLikelihoods(this.definition)) }
    return this.table.table
  }

  /** Features whose readings stand still or have stopped coming: nothing is suggested from them just now. */
  private doubtfulFeatures(): string[] {
    const bad = new Set(this.features.dataQuality().flatMap(({ channel, status }) => (status === 'frozen' || status === 'silent' ? [channel] : [])))
    return bad.size === 0 ? [] : this.specs.filter((spec) => spec.channels.some((channel) => bad.has(channel))).map((spec) => spec.feature)
  }

  /** A suggestion goes out, and the maintenance side of the line hears of it. */
  private sayOf(suggestion: Suggestion, timeMs: number, emit: EmitOutput): void {
    emit({ kind: 'suggestion', body: suggestion })
    this.insights.suggestion(suggestion, timeMs)
    if (this.stages.includes('queue')) this.maintenance.suggestion(suggestion, this.maintenanceContext(timeMs), this.maintenanceSink(emit))
  }

  private maintenanceContext(nowMs: number): MaintenanceContext {
    return { nowMs, state: this.tracker.state, recipe: this.tracker.recipe, definition: this.definition }
  }

  private maintenanceSink(emit: EmitOutput): MaintenanceSink {
    return {
      fact: (fact) => emit({ kind: 'fact', body: fact }),
      chart: (value) => this.takeOwnFeature(value.feature, value.timeMs, value.value, emit),
      learnCause: (suggestion, found) => this.desk.learn(suggestion, found),
    }
  }

  /** Puts diagnoses out when they say something new, or again after a while. */
  private sayDiagnoses(diagnoses: readonly Diagnosis[], evidence: readonly FeatureEvidence[], timeMs: number, emit: EmitOutput): void {
    const said = diagnoses.map((diagnosis) => diagnosis.causes.slice(0, 2).map((cause) => `${cause.cause}/${cause.zone ?? ''}/${Math.round(cause.probability * 10)}`).join('+')).join(';')
    if (said === this.progress.lastDiagnosis && timeMs - this.progress.lastDiagnosisMs < DIAGNOSIS_REPEAT_MS) return
    this.progress.lastDiagnosis = said
    this.progress.lastDiagnosisMs = timeMs
    const symptoms = evidence.filter((item) => item.status === 'up' || item.status === 'down')
    for (const diagnosis of diagnoses) emit({ kind: 'diagnosis', body: { ...diagnosis, symptoms } })
  }
}

/** Waiting for boards disturbs nothing that was measured before it, and its end neither. */
function isWait({ state, previous }: LineStateChange): boolean {
  return (state === 'idle' && previous === 'production') || (state === 'production' && previous === 'idle')
}

function emitRejection(rejection: Rejection, emit: EmitOutput): void {
  emit({ kind: 'rejected', body: rejection })
}
