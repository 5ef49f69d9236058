import type { FeatureEvidence } from '../line/diagnosis.js'
import type { FeatureSpec } from '../line/features/feature-catalogue.js'
import type { FeatureValue } from '../line/feature-value.js'
import {
  chartEvidence,
  createProcessChart,
  decideBaseline,
  holdLearning,
  stepProcessChart,
  type ProcessChartDesign,
  type ProcessChartSink,
  type ProcessChartState,
} from '../spc/process-chart.js'
import type { ChartContext, EmitOutput } from './line-output.js'
import { createRecentValues, pushRecentValue, standingChange, type RecentValues } from './standing-change.js'

/** One chart set: a feature under one recipe, or under all where the recipe does not matter. */
export interface ChartEntry {
  readonly feature: string
  readonly recipe: string
  chart: ProcessChartState
  lastMs: number
  /** Charts of the set whose signal is on, with their side. */
  openSignals: string[]
  readonly recent: RecentValues
}

/** Plain JSON state of all charts of a line, keyed by feature and recipe. */
export interface ChartStageState {
  readonly entries: Record<string, ChartEntry>
}

export const ALL_RECIPES = 'all'

/** How long a chart's last word counts, e.g. while the line runs another recipe or stands over a weekend. */
const EVIDENCE_HOLD_MS = 72 * 3_600_000
/** Start-ups come once a day or less. */
const START_EVIDENCE_HOLD_MS = 14 * 24 * 3_600_000

export function createChartStage(): ChartStageState {
  return { entries: {} }
}

/**
 * The chart set of one feature out of the line's budget: every feature gets the same share of the false signals a week
 * may have, so a feature with few points a week gets tight limits and a busy one wide ones.
 *
 * @param falseSignalsPerWeek budget of the whole line
 * @param featureCount number of charted features that share it
 */
export function chartDesignFor(spec: FeatureSpec, falseSignalsPerWeek: number, featureCount: number): ProcessChartDesign {
  const arl0 = Math.max(50, (spec.pointsPerWeek * featureCount) / falseSignalsPerWeek)
  const perStart = spec.states.includes('warm-up')
  return {
    kind: spec.chart,
    arl0,
    // A start-up gives one value a day: fewer must do. An hourly window gives 16: a target of 300 would take a month.
    baselineTarget: perStart ? 20 : spec.windowS > 1200 ? 100 : 300,
    baselineMin: perStart ? 8 : 30,
    charts: ['shewhart', 'cusum'],
    // A feature of the site's own has no floor of its own; only a value that never changes needs one.
    sigmaFloor: Math.max(spec.sigmaFloor, 1e-9),
  }
}

export interface ChartStage {
  take(value: FeatureValue, spec: FeatureSpec, context: ChartContext, emit: EmitOutput): void
  /** What the charts say now of every feature of the catalogue. */
  evidence(timeMs: number): FeatureEvidence[]
  decide(feature: string, recipe: string | undefined, decision: 'accept' | 'reject' | 'refit', timeMs: number, context: ChartContext, emit: EmitOutput): number
}

/** The charts of one line over the given state; the state is changed in place. */
export function chartStageOver(state: ChartStageState, specs: readonly FeatureSpec[], falseSignalsPerWeek: number): ChartStage {
  const designs = new Map<string, ProcessChartDesign>()
  const specOf = new Map(specs.map((spec) => [spec.feature, spec]))
  const featureCount = Math.max(1, specs.length)
  const designOf = (spec: FeatureSpec): ProcessChartDesign => {
    let design = designs.get(spec.feature)
    if (design === undefined) designs.set(spec.feature, (design = chartDesignFor(spec, falseSignalsPerWeek, featureCount)))
    return design
  }

  /** A section under suspicion teaches nothing: its other charts stop learning until the signal has ended. */
  const holdNeighbours = (spec: FeatureSpec): void => {
    const group = Object.values(state.entries).filter((entry) => {
      const other = specOf.get(entry.feature)
      return other !== undefined && other.section === spec.section && other.zone === spec.zone
    })
    for (const entry of group) {
      const suspicious = group.some((other) => other.feature !== entry.feature && other.openSignals.length > 0)
      holdLearning(entry.chart, suspicious)
    }
  }

  return {
    take(value, spec, context, emit) {
      const recipe = spec.perRecipe ? context.recipe : ALL_RECIPES
      const key = `${spec.feature} ${recipe}`
      const design = designOf(spec)
      const entry = (state.entries[key] ??= { feature: spec.feature, recipe, chart: createProcessChart(design), lastMs: 0, openSignals: [], recent: createRecentValues() })
      const charted: ChartContext = { feature: spec.feature, recipe, state: context.state }
      const openBefore = entry.openSignals.length
      stepProcessChart(design, entry.chart, value.timeMs, value.value, sinkFor(entry, charted, emit))
      pushRecentValue(entry.recent, value.timeMs, value.value)
      entry.lastMs = value.timeMs
      if (entry.openSignals.length !== openBefore) holdNeighbours(spec)
    },

    evidence(timeMs) {
      const latest = new Map<string, SaidByChart>()
      for (const entry of Object.values(state.entries)) {
        const spec = specOf.get(entry.feature)
        if (spec === undefined || timeMs - entry.lastMs > holdMs(spec)) continue
        const said = { lastMs: entry.lastMs, evidence: standingChange(chartEvidence(designOf(spec), entry.chart), entry.recent, { sigmaFloor: spec.sigmaFloor, rare: isRare(spec) }) }
        const known = latest.get(entry.feature)
        if (known === undefined || saysMore(said, known)) latest.set(entry.feature, said)
      }
      return specs.map((spec) => evidenceOf(spec.feature, latest.get(spec.feature)?.evidence))
    },

    decide(feature, recipe, decision, timeMs, context, emit) {
      let count = 0
      for (const entry of Object.values(state.entries)) {
        const spec = specOf.get(entry.feature)
        if (spec === undefined || entry.feature !== feature || (recipe !== undefined && entry.recipe !== recipe)) continue
        decideBaseline(designOf(spec), entry.chart, decision, sinkFor(entry, { feature, recipe: entry.recipe, state: context.state }, emit), timeMs)
        count += 1
      }
      return count
    },
  }
}

interface SaidByChart {
  readonly lastMs: number
  readonly evidence: ReturnType<typeof chartEvidence>
}

function isRare(spec: FeatureSpec): boolean {
  return spec.windowS > 1200 || spec.states.includes('warm-up')
}

function holdMs(spec: FeatureSpec): number {
  return spec.states.includes('warm-up') ? START_EVIDENCE_HOLD_MS : EVIDENCE_HOLD_MS
}

/** A chart that has learned says more than one that has not; of two that have, the newer counts. */
function saysMore(said: SaidByChart, known: SaidByChart): boolean {
  const learned = said.evidence.status !== 'learning'
  const knownLearned = known.evidence.status !== 'learning'
  return learned === knownLearned ? said.lastMs > known.lastMs : learned
}

function sinkFor(entry: ChartEntry, context: ChartContext, emit: EmitOutput): ProcessChartSink {
  return {
    point: (point) => emit({ kind: 'point', body: { ...point, ...context } }),
    ruleHit: (hit) => emit({ kind: 'rule-hit', body: { ...hit, ...context } }),
    signal: (signal) => {
      const name = `${signal.chart} ${signal.side}`
      const others = entry.openSignals.filter((open) => open !== name)
      entry.openSignals = signal.phase === 'start' ? [...others, name] : others
      emit({ kind: 'signal', body: { ...signal, ...context } })
    },
    baseline: (progress) => emit({ kind: 'baseline', body: { ...progress, ...context } }),
  }
}

function evidenceOf(feature: string, evidence: ReturnType<typeof chartEvidence> | undefined): FeatureEvidence {
  if (evidence === undefined) return { feature, status: 'learning', shiftSigma: 0, shift: 0, centre: 0, onsetMs: 0, windows: 0, trend: 'steady' }
  const { status, shiftSigma, shift, centre, onsetMs, windows, trend } = evidence
  return { feature, status, shiftSigma, shift, centre, onsetMs, windows, trend }
}
