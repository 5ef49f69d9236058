import { meanOf, requireFinite, type TooFewValues } from './autocorrelation.js'
import { studentTQuantile } from './special-functions.js'

/** Straight line by least squares, y = level + slope (x - xMean). */
export interface LineFit {
  readonly kind: 'line'
  readonly n: number
  readonly xMean: number
  readonly yMean: number
  readonly intercept: number
  readonly slope: number
  readonly slopeSe: number
  /** Standard deviation of single values around the line (n - 2 degrees of freedom). */
  readonly residualSigma: number
  /** Sum of squares of x about its mean. */
  readonly sxx: number
  /** Share of the variation the line explains, 0-1. */
  readonly explainedShare: number
}

/** All x alike: a slope cannot be found. */
export interface NoSpan {
  readonly kind: 'no-span'
}

/** @param points x in any unit, at least 3 */
export function fitLine(points: readonly { readonly x: number; readonly y: number }[]): LineFit | TooFewValues | NoSpan {
  const xs = points.map((point) => point.x)
  const ys = points.map((point) => point.y)
  requireFinite('line', xs)
  requireFinite('line', ys)
  const n = points.length
  if (n < 3) return { kind: 'too-few-values', valueCount: n, valueCountMin: 3 }
  const xMean = meanOf(xs)
  const yMean = meanOf(ys)
  let sxx = 0
  let sxy = 0
  let syy = 0
  for (let i = 0; i < n; i++) {
    const x = xs[i]! - xMean
    const y = ys[i]! - yMean
    sxx += x * x
    sxy += x * y
    syy += y * y
  }
  const largest = xs.reduce((most, x) => Math.max(most, Math.abs(x)), 0)
  if (!(sxx > n * (1e-15 * largest) ** 2)) return { kind: 'no-span' }
  const slope = sxy / sxx
  let squares = 0
  for (let i = 0; i < n; i++) squares += (ys[i]! - yMean - slope * (xs[i]! - xMean)) ** 2
  const residualSigma = Math.sqrt(squares / (n - 2))
  return {
    kind: 'line',
    n,
    xMean,
    yMean,
    intercept: yMean - slope * xMean,
    slope,
    slopeSe: residualSigma / Math.sqrt(sxx),
    residualSigma,
    sxx,
    explainedShare: syy === 0 ? 1 : Math.max(0, 1 - squares / syy),
  }
}

export interface Interval {
  readonly lower: number
  readonly upper: number
}

/**
 * Interval of the line (`mean`) or of a new value (`value`) at x.
 * @param confidence e.g. 0.95
 */
export function lineInterval(fit: LineFit, x: number, confidence: number, of: 'mean' | 'value'): Interval & { readonly centre: number } {
  requireFinite('line', [x])
  const centre = fit.yMean + fit.slope * (x - fit.xMean)
  const share = 1 / fit.n + (x - fit.xMean) ** 2 / fit.sxx + (of === 'value' ? 1 : 0)
  const half = studentTQuantile(0.5 + confidence / 2, fit.n - 2) * fit.residualSigma * Math.sqrt(share)
  return { lower: centre - half, upper: centre + half, centre }
}

export type Crossing =
  | { readonly kind: 'crossing'; readonly x: number; readonly lower: number; readonly upper: number }
  /** The slope is not clearly different from 0: the interval has no end. */
  | { readonly kind: 'slope-not-clear' }

/**
 * x at which the line crosses `y`, with the interval in which the band of the line (Fieller) or of new values does.
 */
export function lineCrossing(fit: LineFit, y: number, confidence: number, of: 'mean' | 'value'): Crossing {
  requireFinite('line', [y])
  const t = studentTQuantile(0.5 + confidence / 2, fit.n - 2)
  const g = (t * fit.slopeSe) ** 2
  const a = fit.slope ** 2 - g
  if (!(a > 0)) return { kind: 'slope-not-clear' }
  // (d - slope u)^2 = t^2 s^2 (share + u^2 / sxx), u = x - xMean, d = y - yMean
  const d = y - fit.yMean
  const share = (of === 'value' ? 1 : 0) + 1 / fit.n
  const c = d * d - t * t * fit.residualSigma ** 2 * share
  const root = Math.sqrt(Math.max(0, (d * fit.slope) ** 2 - a * c))
  const ends = [(d * fit.slope - root) / a, (d * fit.slope + root) / a].map((u) => fit.xMean + u) as [number, number]
  return { kind: 'crossing', x: fit.xMean + d / fit.slope, lower: Math.min(...ends), upper: Math.max(...ends) }
}
