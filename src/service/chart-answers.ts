import type { FeatureSpec } from '../line/features/feature-catalogue.js'
import type { LineDefinition } from '../line/line-definition.js'
import type { PointBody } from '../ports/line-store.js'
import { capability, type Capability, type CapabilityRefused, type Specification } from '../spc/capability.js'
import { CUSUM_SET, quickCusumLimit } from '../spc/chart-limits.js'
import { cusumLimit, ewmaLimit } from '../spc/design-limits.js'
import { createEwma, stepEwma } from '../spc/ewma-chart.js'
import { hotellingLimit, multivariateBaseline, stepHotelling } from '../spc/multivariate-charts.js'
import { cusumArl } from '../spc/run-length-cusum.js'
import { rulesRunLength, shewhartArl, WESTERN_ELECTRIC_RULE_SET } from '../spc/run-length-rules.js'
import { createSpread, stepSpread } from '../spc/spread-chart.js'
import { arl0Of } from './charted-features.js'

/** What limits cost in false signals, and how soon they see a shift of one sigma, beside what textbook limits would. */
export interface LimitCost {
  readonly pointsPerWeek: number
  readonly falsePerWeek: number
  readonly delayPoints: number
  /** Three sigma alone, and with the four zone rules, on the same number of points. */
  readonly textbook: { readonly threeSigma: CostAndDelay; readonly fourRules: CostAndDelay }
}

interface CostAndDelay {
  readonly falsePerWeek: number
  readonly delayPoints: number
}

const known = new Map<string, number>()

/** Run lengths are exact and take a moment: each is solved once. */
function once(key: string, solve: () => number): number {
  const found = known.get(key)
  if (found !== undefined) return found
  const value = solve()
  if (known.size > 2000) known.clear()
  known.set(key, value)
  return value
}

/** Cost of a feature's limits in force, from run lengths, not from simulation. */
export function limitCost(definition: LineDefinition, spec: FeatureSpec, featureCount: number): LimitCost {
  const arl0 = arl0Of(definition, spec, featureCount)
  const textbook = (name: string, arl: (shift: number) => number): CostAndDelay => ({
    falsePerWeek: spec.pointsPerWeek / once(`${name} 0`, () => arl(0)),
    delayPoints: once(`${name} 1`, () => arl(1)),
  })
  return {
    pointsPerWeek: spec.pointsPerWeek,
    falsePerWeek: spec.pointsPerWeek / arl0,
    delayPoints: once(`set ${arl0}`, () => delayOfSet(arl0)),
    textbook: {
      threeSigma: textbook('three sigma', (shift) => shewhartArl(3, { shift })),
      fourRules: textbook('four rules', (shift) => rulesRunLength(WESTERN_ELECTRIC_RULE_SET, { shift }).arl),
    },
  }
}

/** The CUSUM of the set that sees one sigma soonest; the others can only be sooner by chance. */
function delayOfSet(arl0: number): number {
  return Math.min(
    ...CUSUM_SET.map(({ k, budgetShare }) => {
      const target = arl0 / budgetShare
      const h = target >= 20 && target <= 1e9 ? cusumLimit(k, target) : quickCusumLimit(k, target)
      return cusumArl({ k, h }, { shift: 1 })
    }),
  )
}

/** One point of a chart made from the points in the history. */
export interface DerivedPoint {
  readonly timeMs: number
  readonly statistic: number
  readonly centre: number
  readonly lower: number
  readonly upper: number
  readonly n: number
}

export const EWMA_LAMBDA = 0.2
/** Values in one variance of the spread chart. */
export const SPREAD_WINDOW = 10
/** One false signal in 403,200 windows at lambda 0.2 (simulated, windows of 60). */
const SPREAD_LIMIT = 4.69

/** Points of the value chart of one feature that rest on limits: what memory charts are made from. */
function standardised(points: readonly PointBody[]): { readonly timeMs: number; readonly z: number; readonly n: number }[] {
  return points.filter(({ sigma, chart }) => sigma > 0 && !chart.startsWith('cusum')).map(({ timeMs, statistic, centre, sigma, n }) => ({ timeMs, z: (statistic - centre) / sigma, n }))
}

/**
 * Exponentially weighted moving average of a feature's points, in sigmas, its limits at the feature's own share of the
 * budget. It is drawn to be looked at and raises no alarm.
 *
 * @param points of the value chart, in time order
 */
export function ewmaPoints(points: readonly PointBody[], arl0: number): DerivedPoint[] {
  const limit = once(`ewma ${arl0}`, () => ewmaLimit(EWMA_LAMBDA, Math.min(1e9, Math.max(20, arl0))))
  const design = { centre: 0, sigma: 1, lambda: EWMA_LAMBDA, limit, limits: 'time-varying' } as const
  const state = createEwma(design)
  return standardised(points).map(({ timeMs, z, n }) => {
    const { statistic, centre, lower, upper } = stepEwma(state, design, z)
    return { timeMs, statistic, centre, lower, upper, n }
  })
}

/** EWMA of ln s² of windows of ten points: what a chart of the level cannot see. It raises no alarm. */
export function spreadPoints(points: readonly PointBody[]): DerivedPoint[] {
  const design = { sigma: 1, windowSize: SPREAD_WINDOW, lambda: EWMA_LAMBDA, limit: SPREAD_LIMIT }
  const state = createSpread(design)
  const values = standardised(points)
  const result: DerivedPoint[] = []
  for (let end = SPREAD_WINDOW; end <= values.length; end += SPREAD_WINDOW) {
    const window = values.slice(end - SPREAD_WINDOW, end)
    const mean = window.reduce((sum, { z }) => sum + z, 0) / SPREAD_WINDOW
    const sd = Math.sqrt(window.reduce((sum, { z }) => sum + (z - mean) ** 2, 0) / (SPREAD_WINDOW - 1))
    const { statistic, centre, lower, upper } = stepSpread(state, design, sd)
    const last = window.at(-1)!
    result.push({ timeMs: last.timeMs, statistic, centre, lower, upper, n: last.n })
  }
  return result
}

export type TogetherAnswer =
  | { readonly kind: 'together'; readonly features: readonly string[]; readonly baselineCount: number; readonly points: readonly DerivedPoint[] }
  | { readonly kind: 'too-few-values'; readonly valueCount: number; readonly valueCountMin: number }
  | { readonly kind: 'no-variation' }
  /** One feature follows from the others. */
  | { readonly kind: 'dependent'; readonly feature: string }

/** Vectors the joint baseline rests on, for each feature and at least. */
const VECTORS_PER_FEATURE = 10
const VECTORS_MIN = 40

/**
 * Hotelling's T² over several features at once (the zones together, the defects of a board together): sees a change of how
 * they go together that none shows alone. The first values make its baseline. It raises no alarm: which of them moved, and
 * why, their own charts say.
 *
 * @param series points of each feature's value chart, in time order; only times that all share are used
 * @param falseShare false signals per point
 */
export function togetherPoints(series: ReadonlyMap<string, readonly PointBody[]>, falseShare: number): TogetherAnswer {
  const features = [...series.keys()]
  const byTime = new Map<number, number[]>()
  for (const points of series.values()) for (const { timeMs, z } of standardised(points)) byTime.set(timeMs, [...(byTime.get(timeMs) ?? []), z])
  const vectors = [...byTime].filter(([, values]) => values.length === features.length).sort(([a], [b]) => a - b)
  const valueCountMin = Math.max(VECTORS_MIN, VECTORS_PER_FEATURE * features.length)
  if (features.length < 2 || vectors.length < valueCountMin) return { kind: 'too-few-values', valueCount: vectors.length, valueCountMin }
  const baseline = multivariateBaseline(vectors.slice(0, valueCountMin).map(([, values]) => values), 'successive')
  if (baseline.kind === 'too-few-samples') return { kind: 'no-variation' }
  if (baseline.kind === 'singular') return { kind: 'dependent', feature: features[baseline.dependentIndex] ?? '' }
  const limit = hotellingLimit(features.length, baseline.sampleCount, Math.min(0.05, Math.max(1e-7, falseShare)), 2)
  const points = vectors.map(([timeMs, values]): DerivedPoint => {
    const { statistic, centre, lower, upper } = stepHotelling(baseline, limit, values)
    return { timeMs, statistic, centre, lower, upper, n: baseline.sampleCount }
  })
  return { kind: 'together', features, baselineCount: baseline.sampleCount, points }
}

/** Values a statement of capability rests on: the newest stretch of stable production under one recipe. */
const CAPABILITY_VALUES = 300

export interface CapabilityAnswer {
  readonly fromMs: number
  readonly toMs: number
  readonly recipe: string
  /** Neighbouring values resemble each other: the intervals are narrower than they should be. */
  readonly correlated: boolean
  readonly result: Capability | CapabilityRefused
}

/**
 * Capability of a feature on its newest values, or why none can be stated.
 *
 * @param points of the value chart under one recipe, in time order
 * @param signalTimesMs starts of signals of the feature
 */
export function capabilityOf(points: readonly PointBody[], specification: Specification, signalTimesMs: readonly number[]): CapabilityAnswer {
  const used = points.filter(({ chart }) => !chart.startsWith('cusum')).slice(-CAPABILITY_VALUES)
  const fromMs = used[0]?.timeMs ?? 0
  const toMs = used.at(-1)?.timeMs ?? 0
  const values = used.map(({ value }) => value)
  const signalCount = signalTimesMs.filter((timeMs) => timeMs >= fromMs && timeMs <= toMs).length
  const within = withinSigma(values)
  return { fromMs, toMs, recipe: used.at(-1)?.recipe ?? '', correlated: used.some(({ chart }) => chart === 'residual'), result: capability(values, specification, { signalCount, ...(within === undefined ? {} : { within }) }) }
}

/**
 * Spread from moving ranges of two neighbours, variance 0.826 sigma²/(n - 1): as many degrees of freedom as a sample
 * standard deviation of that variance has.
 * @see Cryer and Ryan, The estimation of sigma for an X chart, JQT 22 (1990) 187 (from memory)
 */
function withinSigma(values: readonly number[]): { readonly sigma: number; readonly degreesOfFreedom: number } | undefined {
  if (values.length < 3) return undefined
  let sum = 0
  for (let index = 1; index < values.length; index += 1) sum += Math.abs(values[index]! - values[index - 1]!)
  const sigma = sum / (values.length - 1) / (2 / Math.sqrt(Math.PI))
  return sigma > 0 ? { sigma, degreesOfFreedom: Math.max(1, Math.floor((values.length - 1) / (2 * 0.826))) } : undefined
}
