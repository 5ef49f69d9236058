import { meanOf } from '../spc/autocorrelation.js'
import { classifyChange, stepChangePoint } from '../spc/change-point.js'
import { estimateDrift, timeToLimit } from '../spc/drift.js'
import type { Side } from '../spc/chart-point.js'
import type { DriftInsight } from './insight.js'
import { seriesAround, seriesSince, type InsightHistory, type InsightSeries } from './insight-history.js'
import type { FeatureLimit } from './insight-limits.js'
import type { ChartContext } from './line-output.js'

export interface DriftQuestion {
  readonly history: InsightHistory
  readonly context: ChartContext
  readonly timeMs: number
  readonly phase: DriftInsight['phase']
  /** Side of the chart's signal and where the chart puts the onset. */
  readonly side: Side
  readonly onsetMs: number
  /** End of the episode before this one, ms UTC; 0 where there was none. */
  readonly afterMs: number
  /** Length of the feature's window, s. */
  readonly windowS: number
  readonly limit: FeatureLimit | undefined
}

type Change = Pick<DriftInsight, 'shape' | 'lead' | 'onsetMs' | 'onsetFromMs' | 'onsetToMs' | 'valueCount' | 'before' | 'level'>
type Outlook = Pick<DriftInsight, 'slopePerDay' | 'slopePerDayLower' | 'slopePerDayUpper' | 'limit' | 'limitSource' | 'dueMs' | 'noDate'>

/** Values before the onset from which the autocorrelation in control is taken. */
const IN_CONTROL_MIN = 12
const PHI_MAX = 0.9

/** When and how a feature changed, how fast it moves, and when it reaches its limit, or why that cannot be said. */
export function driftInsight(question: DriftQuestion): DriftInsight {
  const { context, timeMs, phase } = question
  const change = changeOf(question)
  return { type: 'drift', timeMs, phase, feature: context.feature, recipe: context.recipe, state: context.state, ...change, ...outlookOf(question, change) }
}

function changeOf(question: DriftQuestion): Change {
  const { history, onsetMs, afterMs } = question
  const series = seriesAround(history, onsetMs, afterMs)
  const values = series.points.map(({ value }) => value)
  const phi = inControlLagOne(series, onsetMs)
  const found = classifyChange(values, { phi })
  if (found.kind === 'change') return { shape: found.form, lead: found.lead, ...timesOf(question, series, found.index, found.confidenceSet), ...levelsOf(values, found.index) }
  const step = stepChangePoint(values, { phi })
  if (step.kind === 'step-change') return { shape: 'unclear', lead: 'lead' in found ? found.lead : 0, ...timesOf(question, series, step.index, step.confidenceSet), ...levelsOf(values, step.index) }
  const [first, last] = [values[0] ?? 0, values.at(-1) ?? 0]
  return { shape: 'unclear', lead: 0, onsetMs, onsetFromMs: onsetMs, onsetToMs: question.timeMs, valueCount: values.length, before: first, level: last }
}

function levelsOf(values: readonly number[], index: number): Pick<Change, 'valueCount' | 'before' | 'level'> {
  const after = values.slice(index)
  // the newest third tells where a ramp stands, and a step as well
  const newest = after.slice(-Math.max(1, Math.ceil(after.length / 3)))
  return { valueCount: values.length, before: meanOf(index > 0 ? values.slice(0, index) : values.slice(0, 1)), level: meanOf(newest) }
}

/** A block's value belongs to the time before its end, but not to a night before it. */
function timesOf({ windowS, timeMs }: DriftQuestion, { points, block }: InsightSeries, index: number, confidenceSet: readonly number[]): Pick<Change, 'onsetMs' | 'onsetFromMs' | 'onsetToMs'> {
  const beginOf = (at: number): number => Math.max(points[at - 1]?.timeMs ?? 0, (points[at]?.timeMs ?? timeMs) - 1.5 * windowS * block * 1000)
  const endOf = (at: number): number => points[at]?.timeMs ?? timeMs
  return { onsetMs: Math.min(timeMs, beginOf(index)), onsetFromMs: Math.min(timeMs, beginOf(confidenceSet[0] ?? index)), onsetToMs: Math.min(timeMs, endOf(confidenceSet.at(-1) ?? index)) }
}

function inControlLagOne({ points }: InsightSeries, onsetMs: number): number {
  const values = points.filter(({ timeMs }) => timeMs < onsetMs).map(({ value }) => value)
  if (values.length < IN_CONTROL_MIN) return 0
  const mean = meanOf(values)
  let total = 0
  let product = 0
  values.forEach((value, index) => {
    total += (value - mean) ** 2
    if (index > 0) product += (value - mean) * (values[index - 1]! - mean)
  })
  if (!(total > 0)) return 0
  // the mean taken from the same values lowers it by (1 + 3 phi) / n to first order
  const n = values.length
  return Math.min(PHI_MAX, Math.max(0, ((n * product) / total + 1) / (n - 3)))
}

function outlookOf({ history, side, limit }: DriftQuestion, change: Change): Outlook {
  const { points } = seriesSince(history, change.onsetMs)
  const given = limit === undefined ? {} : { limit: limit.value, limitSource: limit.source }
  const drift = estimateDrift(points)
  if (drift.kind !== 'drift') return { ...given, noDate: limit === undefined ? 'no-limit-set' : 'too-few-values' }
  const slope = { slopePerDay: drift.slopePerDay, slopePerDayLower: drift.slopeInterval.lower, slopePerDayUpper: drift.slopeInterval.upper }
  if (limit === undefined) return { ...slope, noDate: 'no-limit-set' }
  const time = timeToLimit(points, limit.value, side)
  const lastMs = points.at(-1)!.timeMs
  switch (time.kind) {
    case 'time-to-limit':
      return { ...slope, ...given, dueMs: [Math.round(lastMs + time.p10Ms), Math.round(lastMs + time.p50Ms), Math.round(lastMs + time.p90Ms)] }
    case 'too-few-values':
    case 'no-span':
      return { ...slope, ...given, noDate: 'too-few-values' }
    default:
      return { ...slope, ...given, noDate: time.kind }
  }
}
