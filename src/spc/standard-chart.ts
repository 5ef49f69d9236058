import type { ChartPoint, Side } from './chart-point.js'
import { shewhartLimit } from './design-limits.js'
import type { ChartEvidence } from './process-chart-evidence.js'
import type { BaselineStep, ProcessChartSink } from './process-chart-state.js'

/**
 * Design of an individuals chart with standards given (ISO 7870-2: limits from adopted, not from estimated, values): for
 * a quantity that wanders through a permitted band by right, so that its own scatter is no measure of what is normal. A
 * pot level falls and is topped up; a start-up comes once a day, long before there are thirty of them.
 */
export interface StandardChartDesign {
  /** Points wanted between two false signals, were the values independent. */
  readonly arl0: number
  /** Adopted standard deviation, feature's unit: a sixth of a permitted band, or what the instrument and the work allow. */
  readonly sigma: number
  /** Where the scatter grows with the level: sigma is at least this share of the centre. */
  readonly sigmaShare?: number
  /** Adopted centre; without it the median of the first `centreValues` values. */
  readonly centre?: number
  /** First values that make the centre where none is adopted. */
  readonly centreValues: number
}

/** Plain JSON. */
export interface StandardChartState {
  /** First values, while there is no centre. */
  first: number[]
  /** 0 while `hasCentre` is false. */
  centre: number
  hasCentre: boolean
  accepted: boolean
  /** Deviations of the newest values in sigmas, oldest first. */
  recent: number[]
  recentMs: number[]
  signal: { side: Side; onsetMs: number; shiftSigma: number; points: number; inside: number } | null
}

const RECENT_MAX = 8
/** Values in a row within half the limit that end a signal. */
const INSIDE_MIN = 3

export function createStandardChart(): StandardChartState {
  return { first: [], centre: 0, hasCentre: false, accepted: false, recent: [], recentMs: [], signal: null }
}

/**
 * Takes one value: a point on the chart, and the budgeted signal where it lies beyond the limit. No rules and no sums
 * run here: the values of such a quantity follow each other too closely for them.
 *
 * @param state changed in place
 * @throws Error if value or time is not finite
 */
export function stepStandardChart(design: StandardChartDesign, state: StandardChartState, timeMs: number, value: number, sink: ProcessChartSink): void {
  if (!(Math.abs(value) < 1e100)) throw new Error(`standard chart: value must be a finite number below 1e100, found ${value}`)
  if (!Number.isFinite(timeMs)) throw new Error(`standard chart: time must be a finite number of ms, found ${timeMs}`)
  if (!state.hasCentre && !findCentre(design, state, timeMs, value, sink)) return
  const limit = shewhartLimit(design.arl0)
  const z = (value - state.centre) / sigmaOf(design, state)
  sink.point(pointOf(design, state, timeMs, value, limit))
  if (state.recent.length === RECENT_MAX) {
    state.recent.shift()
    state.recentMs.shift()
  }
  state.recent.push(z)
  state.recentMs.push(timeMs)
  judgeSignal(state, timeMs, z, limit, sink)
}

function sigmaOf({ sigma, sigmaShare }: StandardChartDesign, { centre }: StandardChartState): number {
  return Math.max(sigma, (sigmaShare ?? 0) * Math.abs(centre))
}

function findCentre(design: StandardChartDesign, state: StandardChartState, timeMs: number, value: number, sink: ProcessChartSink): boolean {
  if (design.centre !== undefined) {
    state.centre = design.centre
    state.hasCentre = true
    tell(design, state, timeMs, sink)
    return true
  }
  state.first.push(value)
  if (state.first.length >= design.centreValues) {
    const sorted = [...state.first].sort((a, b) => a - b)
    const middle = Math.floor(sorted.length / 2)
    state.centre = sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2
    state.hasCentre = true
    state.first = []
  }
  tell(design, state, timeMs, sink)
  return state.hasCentre
}

function pointOf(design: StandardChartDesign, state: StandardChartState, timeMs: number, value: number, limit: number): ChartPoint {
  const sigma = sigmaOf(design, state)
  const reach = limit * sigma
  return {
    timeMs,
    chart: 'standards-given',
    value,
    statistic: value,
    centre: state.centre,
    lower: state.centre - reach,
    upper: state.centre + reach,
    sigma,
    n: design.centreValues,
    baseline: state.accepted ? 'accepted' : 'provisional',
  }
}

function judgeSignal(state: StandardChartState, timeMs: number, z: number, limit: number, sink: ProcessChartSink): void {
  const open = state.signal
  if (open !== null) {
    open.points += 1
    open.inside = Math.abs(z) < limit / 2 || z > 0 !== (open.side === 'above') ? open.inside + 1 : 0
    if (open.inside < INSIDE_MIN) return
    state.signal = null
    sink.signal({ timeMs, phase: 'end', chart: 'standards-given', side: open.side, onsetMs: open.onsetMs, shiftSigma: open.shiftSigma })
    return
  }
  if (Math.abs(z) <= limit) return
  const side: Side = z > 0 ? 'above' : 'below'
  const onsetMs = onsetOf(state, side)
  state.signal = { side, onsetMs, shiftSigma: z, points: 1, inside: 0 }
  sink.signal({ timeMs, phase: 'start', chart: 'standards-given', side, onsetMs, shiftSigma: z })
}

/** The first of the newest values in a row that lie beyond one sigma on the side of the signal. */
function onsetOf(state: StandardChartState, side: Side): number {
  let at = state.recent.length - 1
  while (at > 0 && (side === 'above' ? state.recent[at - 1]! > 1 : state.recent[at - 1]! < -1)) at -= 1
  return state.recentMs[at]!
}

/** What the chart says now, in the form of the learned charts. */
export function standardEvidence(design: StandardChartDesign, state: StandardChartState): ChartEvidence {
  const n = state.hasCentre ? design.centreValues : state.first.length
  const still = { shiftSigma: 0, shift: 0, centre: state.centre, sigma: sigmaOf(design, state), onsetMs: 0, windows: 0, trend: 'steady' as const, n, target: design.centreValues }
  if (!state.hasCentre) return { status: 'learning', ...still }
  const open = state.signal
  if (open === null) {
    const calm = state.recent.length > 0 && state.recent.every((z) => Math.abs(z) < 2)
    return { status: calm ? 'quiet' : 'learning', ...still }
  }
  const newest = state.recent.at(-1) ?? open.shiftSigma
  return {
    ...still,
    status: open.side === 'above' ? 'up' : 'down',
    shiftSigma: newest,
    shift: newest * still.sigma,
    onsetMs: open.onsetMs,
    windows: open.points,
    trend: trendOf(state, open.side),
  }
}

function trendOf({ recent }: StandardChartState, side: Side): 'growing' | 'steady' | 'fading' {
  if (recent.length < 4) return 'steady'
  const half = Math.floor(recent.length / 2)
  const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length
  const change = (mean(recent.slice(half)) - mean(recent.slice(0, half))) * (side === 'above' ? 1 : -1)
  return change > 1 ? 'growing' : change < -1 ? 'fading' : 'steady'
}

/** An engineer's word: `accept` keeps the centre, `reject` and `refit` learn it anew where none is adopted. */
export function decideStandard(design: StandardChartDesign, state: StandardChartState, decision: 'accept' | 'reject' | 'refit', sink: ProcessChartSink, timeMs: number): void {
  if (decision === 'accept') state.accepted = state.hasCentre
  else {
    if (state.signal !== null) sink.signal({ timeMs, phase: 'end', chart: 'standards-given', side: state.signal.side, onsetMs: state.signal.onsetMs, shiftSigma: state.signal.shiftSigma })
    Object.assign(state, createStandardChart())
  }
  tell(design, state, timeMs, sink)
}

function tell(design: StandardChartDesign, state: StandardChartState, timeMs: number, sink: ProcessChartSink): void {
  const step: BaselineStep = {
    timeMs,
    status: !state.hasCentre ? 'learning' : state.accepted ? 'accepted' : 'provisional',
    n: state.hasCentre ? design.centreValues : state.first.length,
    target: design.centreValues,
    centre: state.centre,
    sigma: sigmaOf(design, state),
    reason: 'baseline.standards-given',
  }
  sink.baseline(step)
}
