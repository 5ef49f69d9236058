import type { ChartPoint, RuleEnd, RuleHit, Side, Signal } from './chart-point.js'
import { chartSetLimits, KNOWN_PARAMETERS } from './chart-limits.js'
import type { FollowedChart } from './process-chart-follow.js'
import { createLearnedValues, type LearnedValues } from './learned-values.js'
import type { PooledBaseline } from './pooled-baseline.js'
import { createCusumSet, type CusumSet } from './cusum-set.js'
import { createRecentHistory, type RecentHistory } from './recent-history.js'
import { createWesternElectric, type WesternElectricState } from './western-electric.js'

export interface ProcessChartDesign {
  /** `count` for numbers of events (jumps per hour, defects), over-dispersed or not; `individuals` for everything else. */
  readonly kind: 'individuals' | 'count'
  /** Points wanted between two false signals of the whole chart set; the charts share it. At least 20. */
  readonly arl0: number
  /** Effective values after which limits are frozen, e.g. 300. */
  readonly baselineTarget: number
  /** Effective values after which provisional limits are used, e.g. 30; at least 8. */
  readonly baselineMin: number
  readonly charts: readonly ('shewhart' | 'cusum')[]
  /** Smallest believable sigma in the feature's unit (resolution of the sensor), above 0. */
  readonly sigmaFloor: number
  /**
   * How far the level of a healthy process may wander, in the feature's unit and as a share of the level: what comes and goes with
   * days, mains and hands. Sigma is at least the larger of the two, and no change of level within it spoils a baseline. Absent: 0.
   */
  readonly wander?: { readonly least: number; readonly share: number }
  /**
   * A level that keeps wandering off while it is learned is followed from then on: values are judged by the forecast from
   * those before them, which finds jumps and falls but no slow drift. Without it the chart goes on trying, on means of
   * more and more values. Only for `individuals`.
   */
  readonly followsWandering?: boolean
}

export interface ProcessChartSink {
  point(point: ChartPoint): void
  ruleHit(hit: RuleHit): void
  /** Ends of the episodes that `ruleHit` began; only for those who want them. */
  ruleEnd?: (end: RuleEnd) => void
  signal(signal: Signal): void
  baseline(progress: BaselineStep): void
}

/** Progress of the learning. */
export interface BaselineStep {
  readonly timeMs: number
  readonly status: 'learning' | 'provisional' | 'accepted' | 'refused' | 'suspended'
  /** Effective values learned, and how many are wanted. */
  readonly n: number
  readonly target: number
  /** In the feature's unit; 0 before there are any. */
  readonly centre: number
  readonly sigma: number
  /** How the values themselves scatter, where the limits stand wider by right; else `sigma` says it. */
  readonly scatter?: number
  /** Text key. */
  readonly reason?: string
}

/** Each value as expected from those just before it. */
export interface Prediction {
  /** Autoregressive weights by order, and what each order leaves. */
  readonly weights: number[][]
  readonly residualSigma: number[]
}

/** How the next value is expected and judged. */
export interface ChartModel {
  /** In charting units (the feature's unit; square-root scale for counts). */
  centre: number
  /** Marginal standard deviation. */
  sigma: number
  /** Of the values themselves, where `sigma` is larger by right. */
  scatter?: number
  /** Null when values are charted as independent. */
  prediction: Prediction | null
  /** Lag-1 autocorrelation of the values. */
  lagOne: number
  /** Effective values learned. */
  n: number
  /** Degrees of freedom while self-starting, 0 with limits. */
  df: number
  /** Self-starting on values that hardly differ: the spread is the floor, and the next different value is no surprise. */
  flat: boolean
}

export interface OpenSignal {
  readonly side: Side
  readonly chart: Signal['chart']
  onsetMs: number
  shiftSigma: number
  /** Points since the start, the first included. */
  points: number
  /** Points in a row with all statistics well inside. */
  inside: number
}

/** Changes with every change of the state's form that an older state cannot go on in. */
export const PROCESS_CHART_FORM = 2

/** Plain JSON: a chart goes on exactly from its parsed text. What every value touches stands together, first. */
export interface ProcessChartState {
  lastMs: number
  /** Usual distance between two values, ms; 0 before it is known. */
  gapMs: number
  shewhart: number
  /** Values that make one charted value: means of batches where the data are too strongly correlated. */
  batch: number
  /** Charted points since the limits or the CUSUMs began anew. */
  points: number
  model: ChartModel | null
  /** Whether `model` carries limits, not only self-starting estimates. */
  limited: boolean
  status: 'learning' | 'provisional' | 'accepted' | 'refused'
  cusums: CusumSet
  rules: WesternElectricState
  history: RecentHistory
  signal: OpenSignal | null
  learned: LearnedValues | null
  /** Where the level is followed. */
  follow: FollowedChart | null
  /** How many of `lags` follow each other without a gap. */
  lagCount: number
  /** Last charted values, newest first. */
  lags: number[]
  batchSum: number
  batchCount: number
  reason: string
  /** The caller has suspended learning. */
  hold: boolean
  /** A CUSUM is beyond half its limit. */
  suspicion: boolean
  /** What sister charts said when this one began; until it has enough values of its own. */
  pool: PooledBaseline | null
  /** Times a chart that still learns has given up what it had learned, and signals it has ended since. */
  restarts: number
  signalsEnded: number
}

/** @throws Error with the field and what was expected, if the design is unusable */
export function checkDesign(design: ProcessChartDesign): void {
  const expect = (ok: boolean, field: string, expected: string, found: unknown): void => {
    if (!ok) throw new Error(`process chart: ${field} must be ${expected}, found ${String(found)}`)
  }
  expect(Number.isFinite(design.arl0) && design.arl0 >= 20, 'arl0', 'a finite number of points, 20 or more', design.arl0)
  expect(Number.isInteger(design.baselineMin) && design.baselineMin >= 8, 'baselineMin', 'a whole number of 8 or more', design.baselineMin)
  expect(Number.isInteger(design.baselineTarget) && design.baselineTarget >= design.baselineMin, 'baselineTarget', 'a whole number not below baselineMin', design.baselineTarget)
  expect(Number.isFinite(design.sigmaFloor) && design.sigmaFloor > 0, 'sigmaFloor', 'a finite number above 0', design.sigmaFloor)
  expect(design.charts.length > 0, 'charts', 'at least one of shewhart, cusum', design.charts.length)
  expect(design.kind === 'individuals' || design.kind === 'count', 'kind', 'individuals or count', design.kind)
}

/** @throws Error if the design is unusable */
export function createProcessChart(design: ProcessChartDesign): ProcessChartState {
  checkDesign(design)
  const limits = chartSetLimits(design.arl0, design.charts, KNOWN_PARAMETERS)
  return {
    lastMs: 0,
    gapMs: 0,
    shewhart: limits.shewhart,
    batch: 1,
    points: 0,
    model: null,
    limited: false,
    status: 'learning',
    cusums: createCusumSet(limits.cusums),
    rules: createWesternElectric(),
    history: createRecentHistory(),
    signal: null,
    learned: createLearnedValues(design.baselineMin),
    follow: null,
    lagCount: 0,
    lags: [],
    batchSum: 0,
    batchCount: 0,
    reason: '',
    hold: false,
    suspicion: false,
    pool: null,
    restarts: 0,
    signalsEnded: 0,
  }
}
