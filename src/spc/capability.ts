import { requireFinite, type TooFewValues } from './autocorrelation.js'
import type { Interval } from './linear-regression.js'
import { noncentralityOf } from './noncentral-t.js'
import { andersonDarlingTest } from './normality-test.js'
import { chiSquareQuantile, normalQuantile, normalUpperTail } from './special-functions.js'
import { sampleOf } from './two-sample-tests.js'

/** Limits of the specification, in the unit of the values; one may be missing. */
export interface Specification {
  readonly lower?: number
  readonly upper?: number
  /** Default: the middle between two limits. */
  readonly target?: number
}

/** Spread within subgroups (or from moving ranges), if it is known apart from the overall spread. */
export interface WithinSpread {
  readonly sigma: number
  /** Degrees of freedom behind it; without them no intervals of Cp and Cpk are given. */
  readonly degreesOfFreedom?: number
}

export interface CapabilityIndex {
  readonly value: number
  readonly interval?: Interval
}

/** Process capability. Indices from the overall spread start with P, those from the spread within with C. */
export interface Capability {
  readonly kind: 'capability'
  readonly n: number
  readonly mean: number
  readonly sigma: number
  readonly ppLower?: number
  readonly ppUpper?: number
  readonly ppk: CapabilityIndex
  /** Only with two limits. */
  readonly pp?: CapabilityIndex
  readonly cp?: CapabilityIndex
  readonly cpm?: number
  /** Only where the spread within is known. */
  readonly cpk?: CapabilityIndex
  /** Lower bound of Ppk with the full confidence on one side. */
  readonly ppkLowerBound: number
  /** Exact interval of the index of the worse side alone (noncentral t). */
  readonly worseSideInterval: Interval
  readonly worseSide: 'lower' | 'upper'
  /** Parts per million expected outside, if the values are normal. */
  readonly ppmBelow: number
  readonly ppmAbove: number
}

export type CapabilityRefused =
  | TooFewValues
  | { readonly kind: 'no-variation' }
  /** Signals on the chart: an index of an unstable process describes no process. */
  | { readonly kind: 'not-stable'; readonly signalCount: number }
  | { readonly kind: 'not-normal'; readonly p: number }

/** Below this an index says little: even at 30 its 95 % interval is +-25 %. */
const VALUES_MIN = 30
/** Anderson-Darling p below which the normal distribution is not credible. */
const NORMALITY_P_MIN = 0.005

function checkIndex(index: number, ...counts: readonly number[]): void {
  if (!(Math.abs(index) <= 1e100)) throw new Error(`capability: expected an index of at most 1e100 in size, got ${index}`)
  for (const count of counts) if (!(count >= 1 && count <= 1e7)) throw new Error(`capability: expected 1 to 1e7 values and degrees of freedom, got ${count}`)
}

/**
 * Interval of Cp or Pp from chi-square.
 * @param degreesOfFreedom of the standard deviation used
 */
export function spreadIndexInterval(index: number, degreesOfFreedom: number, confidence = 0.95): Interval {
  checkIndex(index, degreesOfFreedom)
  const alpha = 1 - confidence
  return {
    lower: index * Math.sqrt(chiSquareQuantile(alpha / 2, degreesOfFreedom) / degreesOfFreedom),
    upper: index * Math.sqrt(chiSquareQuantile(1 - alpha / 2, degreesOfFreedom) / degreesOfFreedom),
  }
}

/** Standard error of Cpk or Ppk by Bissell (1990). */
function bissellSe(index: number, n: number, degreesOfFreedom: number): number {
  return Math.sqrt(1 / (9 * n) + (index * index) / (2 * degreesOfFreedom))
}

/** Interval of Cpk or Ppk by Bissell (1990), good from about 30 values on. */
export function centredIndexInterval(index: number, counts: { readonly n: number; readonly degreesOfFreedom: number }, confidence = 0.95): Interval {
  checkIndex(index, counts.n, counts.degreesOfFreedom)
  const half = normalQuantile(0.5 + confidence / 2) * bissellSe(index, counts.n, counts.degreesOfFreedom)
  return { lower: index - half, upper: index + half }
}

/** Exact interval of a one-sided index from the noncentral t distribution. */
export function oneSidedIndexInterval(index: number, n: number, confidence = 0.95): Interval {
  checkIndex(index, n - 1)
  const root = 3 * Math.sqrt(n)
  const alpha = 1 - confidence
  return { lower: noncentralityOf(index * root, n - 1, 1 - alpha / 2) / root, upper: noncentralityOf(index * root, n - 1, alpha / 2) / root }
}

/** Indices from figures alone, e.g. of a report; see `capability` for values. */
export function capabilityIndices(figures: { readonly mean: number; readonly sigma: number }, specification: Specification): { readonly lower?: number; readonly upper?: number; readonly centred: number; readonly spread?: number } {
  const { mean, sigma } = figures
  const { lower, upper } = specification
  if (!(Math.abs(mean) <= 1e150)) throw new Error(`capability: expected a mean of at most 1e150 in size, got ${mean}`)
  if (!(sigma > 0 && Number.isFinite(sigma))) throw new Error(`capability: expected a sigma above 0, got ${sigma}`)
  checkSpecification(specification)
  const toLower = lower === undefined ? undefined : (mean - lower) / (3 * sigma)
  const toUpper = upper === undefined ? undefined : (upper - mean) / (3 * sigma)
  return {
    ...(toLower === undefined ? {} : { lower: toLower }),
    ...(toUpper === undefined ? {} : { upper: toUpper }),
    centred: Math.min(toLower ?? Infinity, toUpper ?? Infinity),
    ...(lower === undefined || upper === undefined ? {} : { spread: (upper - lower) / (6 * sigma) }),
  }
}

function checkSpecification({ lower, upper, target }: Specification): void {
  for (const value of [lower, upper, target]) if (value !== undefined && !Number.isFinite(value)) throw new Error(`capability: expected finite specification limits, got ${value}`)
  if (lower === undefined && upper === undefined) throw new Error('capability: expected at least one specification limit, got none')
  if (lower !== undefined && upper !== undefined && !(upper > lower)) throw new Error(`capability: expected the upper limit above the lower, got ${lower} and ${upper}`)
}

/**
 * Capability of a stable process, or the reason why none can be stated.
 *
 * @param values in the unit of the specification, independent, at least 30
 * @param options.signalCount signals on the control chart of these values; any makes it `not-stable`
 * @param options.within spread within subgroups, for Cp and Cpk
 * @param options.confidence default 0.95
 */
export function capability(
  values: readonly number[],
  specification: Specification,
  options: { readonly signalCount: number; readonly within?: WithinSpread; readonly confidence?: number },
): Capability | CapabilityRefused {
  const { signalCount, within, confidence = 0.95 } = options
  checkSpecification(specification)
  requireFinite('capability', values)
  if (values.length < VALUES_MIN) return { kind: 'too-few-values', valueCount: values.length, valueCountMin: VALUES_MIN }
  const normality = andersonDarlingTest(values)
  if (normality.kind === 'no-variation') return { kind: 'no-variation' }
  if (signalCount > 0) return { kind: 'not-stable', signalCount }
  if (normality.kind === 'normality-test' && normality.p < NORMALITY_P_MIN) return { kind: 'not-normal', p: normality.p }
  const { n, mean, variance } = sampleOf(values)
  const sigma = Math.sqrt(variance)
  const overall = capabilityIndices({ mean, sigma }, specification)
  const inner = within === undefined ? undefined : capabilityIndices({ mean, sigma: within.sigma }, specification)
  const { lower, upper } = specification
  const df = within?.degreesOfFreedom
  return {
    kind: 'capability',
    n,
    mean,
    sigma,
    ...(overall.lower === undefined ? {} : { ppLower: overall.lower }),
    ...(overall.upper === undefined ? {} : { ppUpper: overall.upper }),
    ppk: { value: overall.centred, interval: centredIndexInterval(overall.centred, { n, degreesOfFreedom: n - 1 }, confidence) },
    ...(overall.spread === undefined ? {} : { pp: { value: overall.spread, interval: spreadIndexInterval(overall.spread, n - 1, confidence) } }),
    ...(inner?.spread === undefined ? {} : { cp: { value: inner.spread, ...(df === undefined ? {} : { interval: spreadIndexInterval(inner.spread, df, confidence) }) } }),
    ...(overall.spread === undefined ? {} : { cpm: cpmOf(overall.spread, { mean, sigma }, specification) }),
    ...(inner === undefined ? {} : { cpk: { value: inner.centred, ...(df === undefined ? {} : { interval: centredIndexInterval(inner.centred, { n, degreesOfFreedom: df }, confidence) }) } }),
    ppkLowerBound: overall.centred - normalQuantile(confidence) * bissellSe(overall.centred, n, n - 1),
    worseSideInterval: oneSidedIndexInterval(overall.centred, n, confidence),
    worseSide: (overall.lower ?? Infinity) <= (overall.upper ?? Infinity) ? 'lower' : 'upper',
    ppmBelow: lower === undefined ? 0 : 1e6 * normalUpperTail((mean - lower) / sigma),
    ppmAbove: upper === undefined ? 0 : 1e6 * normalUpperTail((upper - mean) / sigma),
  }
}

/** Spread index that also counts the distance from the target (Chan, Cheng & Spiring 1988), divisor n - 1. */
function cpmOf(spreadIndex: number, figures: { readonly mean: number; readonly sigma: number }, { lower, upper, target }: Specification): number {
  const middle = target ?? ((lower ?? 0) + (upper ?? 0)) / 2
  return spreadIndex / Math.sqrt(1 + ((figures.mean - middle) / figures.sigma) ** 2)
}
