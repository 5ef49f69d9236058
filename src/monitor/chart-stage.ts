import type { FeatureEvidence } from '../line/diagnosis.js'
import type { FeatureSpec } from '../line/features/feature-catalogue.js'
import { RELEVANT_FLOORS } from '../line/features/feature-spec.js'
import type { FeatureValue } from '../line/feature-value.js'
import type { LineDefinition } from '../line/line-definition.js'
import { isHandFeature } from '../line/hand-values.js'
import {
  chartEvidence,
  createPooledChart,
  decideBaseline,
  holdLearning,
  stepProcessChart,
  type ProcessChartDesign,
  type ProcessChartSink,
  type ProcessChartState,
} from '../spc/process-chart.js'
import { createSupplementary, stepSupplementary, type SupplementaryRule, type SupplementaryState } from '../spc/supplementary-rules.js'
import { createStandardChart, decideStandard, standardEvidence, stepStandardChart, type StandardChartDesign, type StandardChartState } from '../spc/standard-chart.js'
import type { ChartContext, EmitOutput } from './line-output.js'
import type { Side } from '../spc/chart-point.js'
import { ALL_RECIPES } from './recipe-levels.js'
import { lastLongStopMs, runInUntilMs, showsRunIn, type StopLog } from './run-in.js'
import { endOld, takeOutOld } from './charts-from-before.js'
import { withCompanionCounts } from './companion-counts.js'
import { createRecentValues, RECENT_COUNTS_MAX, leanOf, pushRecentValue, standingChange, withoutChange, type RecentValues, type StandingEvidence } from './standing-change.js'

/** One chart set: a feature under one recipe, or under all where the recipe does not matter. */
export interface ChartEntry {
  readonly feature: string
  readonly recipe: string
  /** The learned charts of a feature, or the chart with standards given. */
  readonly chart: { readonly kind: 'learned'; readonly state: ProcessChartState } | { readonly kind: 'standard'; readonly state: StandardChartState }
  lastMs: number
  /** Charts of the set whose signal is on, with their side. */
  openSignals: string[]
  readonly recent: RecentValues
  /** Runs of the supplementary rules; absent where the line has asked for none. */
  supplementary?: SupplementaryState
}

/** Plain JSON state of all charts of a line, keyed by feature and recipe. */
export interface ChartStageState {
  readonly entries: Record<string, ChartEntry>
}

/** What all charts of hand-measured values together may have on top of the budget of the channels: people measured them and look anyway. */
const HAND_SHARE = 0.2

/** Of the smallest change of consequence, what a healthy level may wander by: changes of this size are no reason not to learn, nor to signal soon. [ASM] */
const WANDER_SHARE = 0.5

/** How long a chart's last word counts, e.g. while the line runs another recipe or stands over a weekend. */
const EVIDENCE_HOLD_MS = 72 * 3_600_000
/** Start-ups come once a day or less. */
const START_EVIDENCE_HOLD_MS = 14 * 24 * 3_600_000

export function createChartStage(): ChartStageState {
  return { entries: {} }
}

/** Weight of a section's features in the budget, 1 where none is given. */
export type BudgetWeights = NonNullable<LineDefinition['budget']['weights']>

/**
 * Cuts the budget: how many shares as large as this feature's it holds. With equal weights that is the number of
 * charted features; a feature of twice the weight finds half as many. Hand-measured values share a part of their own.
 */
export function budgetShares(specs: readonly FeatureSpec[], weights: BudgetWeights = {}): (spec: FeatureSpec) => number {
  const handCount = specs.filter(({ feature }) => isHandFeature(feature)).length
  const weightOf = ({ section, weight = 1 }: FeatureSpec): number => weight * (weights[section] ?? 1)
  const sum = specs.reduce((total, spec) => (isHandFeature(spec.feature) ? total : total + weightOf(spec)), 0)
  return (spec) => (isHandFeature(spec.feature) ? handCount / HAND_SHARE : Math.max(1, sum / weightOf(spec)))
}

/**
 * The chart set of one feature out of the line's budget: its share of the false signals a week may have, so a feature
 * with few points a week gets tight limits and a busy one wide ones.
 *
 * @param falseSignalsPerWeek budget of the whole line
 * @param featureCount shares of this feature's size that the budget is cut into; with equal weights the number of features
 */
export function chartDesignFor(spec: FeatureSpec, falseSignalsPerWeek: number, featureCount: number): ProcessChartDesign {
  const arl0 = Math.max(50, (spec.pointsPerWeek * featureCount) / falseSignalsPerWeek)
  return {
    kind: spec.chart,
    arl0,
    // What comes once an hour, a start-up or a step would take months to 300 values: about two and a half weeks must do.
    baselineTarget: Math.round(Math.min(300, Math.max(20, 2.5 * spec.pointsPerWeek))),
    // The spread of a count is known beforehand, but for how far it exceeds a Poisson count's.
    baselineMin: Math.round(Math.min(spec.chart === 'count' ? 20 : 30, Math.max(8, 0.4 * spec.pointsPerWeek))),
    charts: ['shewhart', 'cusum'],
    // A feature of the site's own has no floor of its own; only a value that never changes needs one.
    sigmaFloor: Math.max(spec.sigmaFloor, 1e-9),
    ...(spec.relevant === undefined && spec.relevantShare === undefined ? {} : { wander: { least: WANDER_SHARE * (spec.relevant ?? 0), share: WANDER_SHARE * (spec.relevantShare ?? 0) } }),
    // A site's own channel may wander for days and never have a level to learn.
    followsWandering: spec.feature.startsWith('custom.'),
  }
}

/** Adopted limits at the same share of the budget. */
function standardDesignFor(spec: FeatureSpec, arl0: number): Designs['standard'] {
  return spec.standard === undefined ? undefined : { arl0, ...spec.standard }
}

interface Designs {
  readonly learned: ProcessChartDesign
  /** With the centres that recipes have been given. */
  readonly standard: (StandardChartDesign & { readonly centreOfRecipe?: Readonly<Record<string, number>> }) | undefined
}

/** Kept from before this feature was charted otherwise: it begins anew. */
function isOfAnotherKind(entry: ChartEntry | undefined, { standard }: Designs): boolean {
  return entry !== undefined && (entry.chart.kind === 'standard') !== (standard !== undefined)
}

function standardOf({ standard }: Designs, recipe: string): StandardChartDesign | undefined {
  const given = standard?.centreOfRecipe
  return standard === undefined || given === undefined || !Object.hasOwn(given, recipe) ? standard : { ...standard, centre: given[recipe]! }
}

export interface ChartStage {
  take(value: FeatureValue, spec: FeatureSpec, context: ChartContext, emit: EmitOutput): void
  /**
   * What the charts say now of every feature of the catalogue.
   *
   * @param stops stops of the line: what begins right after one may be a run-in
   */
  evidence(timeMs: number, stops?: StopLog): FeatureEvidence[]
  decide(feature: string, recipe: string | undefined, decision: 'accept' | 'reject' | 'refit', timeMs: number, context: ChartContext, emit: EmitOutput): number
  /** Points between two false signals that a feature's chart set was designed for; Infinity for a feature without one. */
  arl0Of(feature: string): number
  /** Level learned as normal, in the feature's unit; 0 while there is none. */
  centreOf(feature: string, recipe: string): number
}

/**
 * The charts of one line over the given state; the state is changed in place.
 *
 * @param supplementary rules beside the four zone rules whose hits are wanted
 * @param weights how the budget is shared between the sections
 * @param levelled features whose values have been brought to the usual recipe; absent: all that are to be
 */
export function chartStageOver(state: ChartStageState, specs: readonly FeatureSpec[], falseSignalsPerWeek: number, supplementary: readonly SupplementaryRule[] = [], weights: BudgetWeights = {}, levelled?: ReadonlySet<string>): ChartStage {
  const fromBefore = takeOutOld(state, specs, levelled)
  const designs = new Map<string, Designs>()
  const specOf = new Map(specs.map((spec) => [spec.feature, spec]))
  const sharesOf = budgetShares(specs, weights)
  const designOf = (spec: FeatureSpec): Designs => {
    let design = designs.get(spec.feature)
    if (design === undefined) {
      const learned = chartDesignFor(spec, falseSignalsPerWeek, sharesOf(spec))
      designs.set(spec.feature, (design = { learned, standard: standardDesignFor(spec, learned.arl0) }))
    }
    return design
  }
  /** A new recipe starts from what the charts of the other recipes have in common. */
  const newChart = (feature: string, { learned, standard }: Designs): ChartEntry['chart'] => {
    if (standard !== undefined) return { kind: 'standard', state: createStandardChart() }
    const sisters = Object.values(state.entries).flatMap(({ feature: other, chart }) => (other === feature && chart.kind === 'learned' ? [chart.state] : []))
    return { kind: 'learned', state: createPooledChart(learned, sisters) }
  }
  const evidenceFrom = (spec: FeatureSpec, { recipe, chart, recent, lastMs }: ChartEntry, stops: StopLog | undefined): StandingEvidence => {
    const { learned } = designOf(spec)
    const standard = standardOf(designOf(spec), recipe)
    const said = chart.kind === 'learned' ? chartEvidence(learned, chart.state) : standard === undefined ? undefined : standardEvidence(standard, chart.state)
    if (said === undefined) throw new Error(`feature "${spec.feature}" has a chart with standards given, but the catalogue gives none`)
    if (stops !== undefined && !isStartUp(spec) && lastMs <= lastLongStopMs(stops)) return withoutChange(said)
    const untilMs = stops !== undefined && showsRunIn(spec) ? runInUntilMs(stops, said.onsetMs) : 0
    return standingChange(said, recent, { relevant: relevantChange(spec, said.centre), rare: isRare(spec), toldByOne: spec.toldByOne === true, counts: spec.chart === 'count', ...(untilMs > 0 ? { runInUntilMs: untilMs } : {}) })
  }

  const bears = (entry: ChartEntry, spec: FeatureSpec): boolean => {
    const other = specOf.get(entry.feature)
    return other !== undefined && other.feature !== spec.feature && (isNeighbour(other, spec) || isAirOf(other, spec))
  }
  const hold = ({ feature, chart }: ChartEntry): void => {
    const spec = specOf.get(feature)
    if (spec !== undefined && chart.kind === 'learned') holdLearning(chart.state, Object.values(state.entries).some((other) => other.openSignals.length > 0 && bears(other, spec)))
  }
  /** A section under suspicion teaches nothing: the other charts a signal bears on stop learning until it has ended. */
  const holdOthers = (signalled: ChartEntry): void => {
    for (const entry of Object.values(state.entries)) {
      const spec = specOf.get(entry.feature)
      if (spec !== undefined && bears(signalled, spec)) hold(entry)
    }
  }

  return {
    take(value, spec, context, emit) {
      const recipe = spec.perRecipe ? context.recipe : ALL_RECIPES
      const key = `${spec.feature} ${recipe}`
      const design = designOf(spec)
      if (isOfAnotherKind(state.entries[key], design)) delete state.entries[key]
      endOld(fromBefore, value, context, emit)
      const isNew = state.entries[key] === undefined
      const entry = (state.entries[key] ??= { feature: spec.feature, recipe, chart: newChart(spec.feature, design), lastMs: 0, openSignals: [], recent: createRecentValues() })
      if (isNew) hold(entry)
      const charted: ChartContext = { feature: spec.feature, recipe, state: context.state }
      const openBefore = entry.openSignals.length
      const sink = withSupplementary(entry, supplementary, charted, emit, sinkFor(entry, charted, emit))
      if (entry.chart.kind === 'learned') stepProcessChart(design.learned, entry.chart.state, value.timeMs, value.value, sink)
      else if (design.standard !== undefined) stepStandardChart(standardOf(design, recipe)!, entry.chart.state, value.timeMs, value.value, sink)
      pushRecentValue(entry.recent, value.timeMs, value.value, sideOf(entry.openSignals), { ...(spec.chart === 'count' ? { max: RECENT_COUNTS_MAX } : {}), oneWay: spec.oneWay === true, passes: spec.passes === true })
      entry.lastMs = value.timeMs
      if (entry.openSignals.length !== openBefore) holdOthers(entry)
    },

    evidence(timeMs, stops) {
      const latest = new Map<string, SaidByChart>()
      for (const entry of Object.values(state.entries)) {
        const spec = specOf.get(entry.feature)
        if (spec === undefined || isOfAnotherKind(entry, designOf(spec)) || timeMs - entry.lastMs > holdMs(spec)) continue
        const evidence = evidenceFrom(spec, entry, stops)
        const said = { lastMs: entry.lastMs, evidence, lean: leanOf(evidence, entry.recent), isUndecided: evidence.status === 'learning' && entry.openSignals.length > 0 }
        const known = latest.get(entry.feature)
        if (known === undefined || saysMore(said, known)) latest.set(entry.feature, said)
      }
      return withCompanionCounts(specs.map((spec) => evidenceOf(spec.feature, latest.get(spec.feature))), (feature) => {
        const entry = state.entries[`${feature} ${ALL_RECIPES}`], spec = specOf.get(feature)
        if (entry === undefined || spec === undefined || entry.chart.kind !== 'learned') return undefined
        return { ...chartEvidence(designOf(spec).learned, entry.chart.state), recent: entry.recent }
      })
    },

    decide(feature, recipe, decision, timeMs, context, emit) {
      let count = 0
      for (const entry of Object.values(state.entries)) {
        const spec = specOf.get(entry.feature)
        if (spec === undefined || isOfAnotherKind(entry, designOf(spec)) || entry.feature !== feature || (recipe !== undefined && entry.recipe !== recipe)) continue
        const sink = sinkFor(entry, { feature, recipe: entry.recipe, state: context.state }, emit)
        const { learned, standard } = designOf(spec)
        if (entry.chart.kind === 'learned') decideBaseline(learned, entry.chart.state, decision, sink, timeMs)
        else if (standard !== undefined) decideStandard(standard, entry.chart.state, decision, sink, timeMs)
        count += 1
      }
      return count
    },

    arl0Of(feature) {
      const spec = specOf.get(feature)
      return spec === undefined ? Infinity : designOf(spec).learned.arl0
    },

    centreOf(feature, recipe) {
      const spec = specOf.get(feature)
      const entry = state.entries[`${feature} ${spec?.perRecipe === true ? recipe : ALL_RECIPES}`]
      return spec === undefined || entry === undefined || isOfAnotherKind(entry, designOf(spec)) ? 0 : evidenceFrom(spec, entry, undefined).centre
    },
  }
}

/** Features that one fault can move: those of a section or zone; of what belongs to the whole line boards only with boards, air with air. */
function isNeighbour(other: FeatureSpec, spec: FeatureSpec): boolean {
  if (other.section !== spec.section || other.zone !== spec.zone) return false
  return spec.section !== 'line' || other.feature.split('.')[0] === spec.feature.split('.')[0]
}

/** What a zone needs while the exhaust draws more or less than usual is not what it usually needs; beside the other zones it is. */
function isAirOf(other: FeatureSpec, spec: FeatureSpec): boolean {
  return other.feature.startsWith('exhaust.') && /\.duty\.effort$/.test(spec.feature)
}

interface SaidByChart {
  readonly lastMs: number
  readonly evidence: StandingEvidence
  readonly lean: number | undefined
  /** A signal of its chart is on, but whether the change stands cannot be told just now. */
  readonly isUndecided: boolean
}

function relevantChange({ sigmaFloor, relevant, relevantShare }: FeatureSpec, centre: number): number {
  return Math.max(relevant ?? RELEVANT_FLOORS * sigmaFloor, (relevantShare ?? 0) * Math.abs(centre))
}

function isStartUp(spec: FeatureSpec): boolean {
  return spec.states.includes('warm-up')
}

function isRare(spec: FeatureSpec): boolean {
  return spec.windowS > 1200 || isStartUp(spec)
}

function holdMs(spec: FeatureSpec): number {
  return isStartUp(spec) ? START_EVIDENCE_HOLD_MS : EVIDENCE_HOLD_MS
}

/**
 * A chart that has learned says more than one that has not; of two that have, the newer counts. One that sees a change and cannot
 * tell yet whether it stands takes nothing back that another recipe's chart saw, but there is no calm any more.
 */
function saysMore(said: SaidByChart, known: SaidByChart): boolean {
  const [older, newer] = said.lastMs > known.lastMs ? [known, said] : [said, known]
  const counts = newer.isUndecided ? older.evidence.status === 'quiet' : newer.evidence.status !== 'learning'
  const better = counts || older.evidence.status === 'learning' ? newer : older
  return better === said
}

/** Side of the signals of a chart set that are on: the first of them, where they contradict each other. */
function sideOf(openSignals: readonly string[]): Side | undefined {
  return openSignals.length === 0 ? undefined : openSignals[0]!.endsWith(' above') ? 'above' : 'below'
}

function sinkFor(entry: ChartEntry, context: ChartContext, emit: EmitOutput): ProcessChartSink {
  return {
    point: (point) => emit({ kind: 'point', body: { ...point, ...context } }),
    ruleHit: (hit) => emit({ kind: 'rule-hit', body: { ...hit, ...context } }),
    ruleEnd: (end) => emit({ kind: 'rule-end', body: { ...end, ...context } }),
    signal: (signal) => {
      const name = `${signal.chart} ${signal.side}`
      const others = entry.openSignals.filter((open) => open !== name)
      entry.openSignals = signal.phase === 'start' ? [...others, name] : others
      emit({ kind: 'signal', body: { ...signal, ...context } })
    },
    baseline: (progress) => emit({ kind: 'baseline', body: { ...progress, ...context } }),
  }
}

/** Supplementary rules look at the same points as the zone rules; standards given have no rules at all. */
function withSupplementary(entry: ChartEntry, wanted: readonly SupplementaryRule[], context: ChartContext, emit: EmitOutput, sink: ProcessChartSink): ProcessChartSink {
  if (wanted.length === 0 || entry.chart.kind !== 'learned') return sink
  const state = (entry.supplementary ??= createSupplementary())
  return {
    ...sink,
    point: (point) => {
      sink.point(point)
      if (point.chart.startsWith('cusum') || !(point.sigma > 0)) return
      const { chart, timeMs } = point
      const z = (point.statistic - point.centre) / point.sigma
      stepSupplementary(state, timeMs, z, wanted, (hit) => emit({ kind: 'rule-hit', body: { ...hit, chart, ...context } }), (end) => emit({ kind: 'rule-end', body: { ...end, chart, ...context } }))
    },
  }
}

function evidenceOf(feature: string, said: SaidByChart | undefined): FeatureEvidence {
  if (said === undefined) return { feature, status: 'learning', shiftSigma: 0, shift: 0, centre: 0, onsetMs: 0, windows: 0, trend: 'steady' }
  const { status, shiftSigma, shift, centre, onsetMs, windows, trend, creeps, atFirstSigma } = said.evidence
  return { feature, status, shiftSigma, shift, centre, onsetMs, windows, trend, ...(creeps === undefined ? {} : { creeps }), ...(atFirstSigma === undefined ? {} : { atFirstSigma }), ...(said.lean === undefined ? {} : { lean: said.lean }), lastMs: said.lastMs }
}
