/**
 * Distribution functions and quantiles behind limits, tests and intervals.
 *
 * Own series and continued fractions (see gamma-functions.ts), because the library that supplies the first guesses of
 * the quantiles is only good to about 1e-9 in places. Accuracy against independently computed values (tests/golden/spc):
 * distribution functions 1e-12 relative in both tails, quantiles 1e-10 relative.
 *
 * All functions throw an Error on arguments outside their domain; none returns NaN.
 */
import jStat from 'jstat'
import { binomialTerm, incompleteBeta, incompleteGamma, logGamma, poissonTerm, type Tails } from './gamma-functions.js'

export { logGamma }

const SQRT_2PI = 2.5066282746310005024
const SQRT_HALF = 0.70710678118654752440

function requireNumber(name: string, x: number): void {
  if (Number.isNaN(x)) throw new Error(`${name}: expected a number, got NaN`)
}

function requireAboveZero(name: string, what: string, x: number): void {
  if (!(x > 0)) throw new Error(`${name}: expected ${what} above 0, got ${x}`)
}

/** Beyond this the distributions with degrees of freedom no longer differ from their limits, and their series no longer end. */
const DEGREES_MAX = 1e15

function requireDegrees(name: string, df: number): void {
  if (!(df > 0 && df <= DEGREES_MAX)) throw new Error(`${name}: expected degrees of freedom above 0 and up to ${DEGREES_MAX}, got ${df}`)
}

function requireProbability(name: string, p: number): void {
  if (!(p > 0 && p < 1)) throw new Error(`${name}: expected a probability between 0 and 1 (both excluded), got ${p}`)
}

/** Density of the standard normal distribution. */
export function normalPdf(z: number): number {
  requireNumber('normalPdf', z)
  return Math.exp(-0.5 * z * z) / SQRT_2PI
}

/** P(Z > z) of the standard normal distribution; keeps its relative accuracy far out (1e-300). */
export function normalUpperTail(z: number): number {
  requireNumber('normalUpperTail', z)
  if (z < 0) return 1 - normalUpperTail(-z)
  if (z > 38.6) return 0
  if (z < 2) {
    // Phi(z) - 1/2 = pdf(z) * (z + z^3/3 + z^5/(3*5) + ...), Marsaglia 2004: every term positive
    const square = z * z
    let term = z
    let sum = z
    for (let k = 3; term > sum * 1e-17; k += 2) {
      term *= square / k
      sum += term
    }
    return 0.5 - sum * normalPdf(z)
  }
  // Laplace's continued fraction, evaluated backwards; the depth needed falls with z
  let fraction = z
  for (let k = Math.ceil(12 + 480 / (z * z)); k >= 1; k--) fraction = z + k / fraction
  return normalPdf(z) / fraction
}

/** P(Z <= z) of the standard normal distribution. */
export function normalCdf(z: number): number {
  return normalUpperTail(-z)
}

/** Quantile of the standard normal distribution: the z with P(Z <= z) = p. For far upper tails use -normalQuantile(q). */
export function normalQuantile(p: number): number {
  requireProbability('normalQuantile', p)
  if (p === 0.5) return 0
  if (p > 0.5) return -normalQuantile(1 - p)
  let z = jStat.normal.inv(p, 0, 1)
  if (!Number.isFinite(z)) z = -Math.sqrt(-2 * Math.log(p))
  // Halley steps on ln Phi, which is almost a parabola: two leave an error of the order of one unit in the last place
  for (let step = 0; step < 4; step++) {
    const tail = normalCdf(z)
    const ratio = tail / normalPdf(z)
    const error = Math.log(tail / p) * ratio
    z -= error / (1 + 0.5 * error * (z + 1 / ratio))
    if (Math.abs(error) < 1e-14 * Math.abs(z)) break
  }
  return z
}

/** The error function, 2/sqrt(pi) times the integral of exp(-t^2) from 0 to x. */
export function erf(x: number): number {
  return 1 - 2 * normalUpperTail(x / SQRT_HALF)
}

/** Lower and upper tail of Student's t with `df` degrees of freedom (may be Infinity). */
export function studentTTails(t: number, df: number): Tails {
  requireNumber('studentTTails', t)
  requireAboveZero('studentTTails', 'degrees of freedom', df)
  if (df === Infinity || df > 1e12) return { lower: normalCdf(t), upper: normalUpperTail(t) }
  if (Math.abs(t) > 1e150) return t > 0 ? { lower: 1, upper: 0 } : { lower: 0, upper: 1 }
  const square = t * t
  const beyond = 0.5 * incompleteBeta(df / (df + square), square / (df + square), df / 2, 0.5).lower
  return t > 0 ? { lower: 1 - beyond, upper: beyond } : { lower: beyond, upper: 1 - beyond }
}

/** P(T <= t) of Student's t. */
export function studentTCdf(t: number, df: number): number {
  return studentTTails(t, df).lower
}

function studentTPdf(t: number, df: number): number {
  if (df === Infinity || df > 1e12) return normalPdf(t)
  return Math.exp(logGamma((df + 1) / 2) - logGamma(df / 2) - ((df + 1) / 2) * Math.log1p((t * t) / df)) / Math.sqrt(df * Math.PI)
}

/** Quantile of Student's t. */
export function studentTQuantile(p: number, df: number): number {
  requireProbability('studentTQuantile', p)
  requireAboveZero('studentTQuantile', 'degrees of freedom', df)
  if (p === 0.5) return 0
  if (df === Infinity || df > 1e12) return normalQuantile(p)
  if (p > 0.5) return -studentTQuantile(1 - p, df)
  return invert(p, jStat.studentt.inv(p, df), -Infinity, 0, (t) => studentTTails(t, df), (t) => studentTPdf(t, df))
}

/** Lower and upper tail of chi-square with `df` degrees of freedom. */
export function chiSquareTails(x: number, df: number): Tails {
  requireNumber('chiSquareTails', x)
  requireDegrees('chiSquareTails', df)
  return incompleteGamma(df / 2, x / 2)
}

/** P(X <= x) of chi-square. */
export function chiSquareCdf(x: number, df: number): number {
  return chiSquareTails(x, df).lower
}

/** P(X > x) of chi-square, exact far out in the tail. */
export function chiSquareUpperTail(x: number, df: number): number {
  return chiSquareTails(x, df).upper
}

/** Quantile of chi-square. */
export function chiSquareQuantile(p: number, df: number): number {
  requireProbability('chiSquareQuantile', p)
  requireDegrees('chiSquareQuantile', df)
  requireAboveZero('chiSquareQuantile', 'degrees of freedom', df)
  const pdf = (x: number): number => (x <= 0 ? 0 : (poissonTerm(df / 2, x / 2) * df) / (2 * x))
  return invert(p, jStat.chisquare.inv(p, df), 0, Infinity, (x) => chiSquareTails(x, df), pdf)
}

/** Lower and upper tail of Fisher's F. */
export function fTails(f: number, df1: number, df2: number): Tails {
  requireNumber('fTails', f)
  requireDegrees('fTails', df1)
  requireDegrees('fTails', df2)
  if (f <= 0) return { lower: 0, upper: 1 }
  if (f === Infinity) return { lower: 1, upper: 0 }
  const total = df1 * f + df2
  return incompleteBeta((df1 * f) / total, df2 / total, df1 / 2, df2 / 2)
}

/** P(F <= f) of Fisher's F. */
export function fCdf(f: number, df1: number, df2: number): number {
  return fTails(f, df1, df2).lower
}

/** Quantile of Fisher's F. */
export function fQuantile(p: number, df1: number, df2: number): number {
  requireProbability('fQuantile', p)
  requireDegrees('fQuantile', df1)
  requireDegrees('fQuantile', df2)
  const pdf = (f: number): number => {
    const total = df1 * f + df2
    const x = (df1 * f) / total
    return f <= 0 ? 0 : (binomialTerm(df1 / 2, (df1 + df2) / 2, x, df2 / total) * ((df1 * df2) / (2 * (df1 + df2)))) / f
  }
  return invert(p, jStat.centralF.inv(p, df1, df2), 0, Infinity, (f) => fTails(f, df1, df2), pdf)
}

/** Newton's method kept inside a bracket that every evaluation tightens; works on the smaller tail. */
function invert(p: number, start: number, low: number, high: number, tails: (x: number) => Tails, pdf: (x: number) => number): number {
  const useLower = p <= 0.5
  const target = useLower ? p : 1 - p
  let from = low
  let to = high
  let x = Number.isFinite(start) && start > low && start < high ? start : middle(low, high)
  for (let step = 0; step < 400; step++) {
    const at = tails(x)
    const value = useLower ? at.lower : at.upper
    const rises = useLower ? 1 : -1
    if ((value - target) * rises > 0) to = x
    else from = x
    const slope = pdf(x) * rises
    // on the logarithm of the tail, which is nearly straight far out
    let next = value > 0 && slope !== 0 ? x - (Math.log(value / target) * value) / slope : Number.NaN
    if (!(next > from && next < to)) next = middle(from, to)
    if (Math.abs(next - x) <= 1e-15 * Math.abs(next) || next === x) return next
    x = next
  }
  return x
}

/** A point inside the bracket: by ratio where it spans magnitudes, by doubling where one side is open. */
function middle(from: number, to: number): number {
  if (to === Infinity) return from > 0 ? from * 2 : 1
  if (from === -Infinity) return to < 0 ? to * 2 : -1
  if (from > 0 && to / from > 4) return Math.sqrt(from * to)
  if (to < 0 && from / to > 4) return -Math.sqrt(from * to)
  if (from === 0 && to > 0) return to / 16
  if (to === 0 && from < 0) return from / 16
  return 0.5 * (from + to)
}

function requireTrials(name: string, k: number, n: number, p: number): void {
  requireNumber(name, k)
  if (!(Number.isInteger(n) && n >= 0 && n <= DEGREES_MAX)) throw new Error(`${name}: expected a whole number of trials from 0 to ${DEGREES_MAX}, got ${n}`)
  if (!(p >= 0 && p <= 1)) throw new Error(`${name}: expected a share between 0 and 1, got ${p}`)
}

/** P(X = k) of the binomial distribution, n trials with success share p. */
export function binomialPmf(k: number, n: number, p: number): number {
  requireTrials('binomialPmf', k, n, p)
  if (!Number.isInteger(k) || k < 0 || k > n) return 0
  return binomialTerm(k, n, p, 1 - p)
}

/** P(X <= k) of the binomial distribution. */
export function binomialCdf(k: number, n: number, p: number): number {
  requireTrials('binomialCdf', k, n, p)
  if (k < 0) return 0
  if (k >= n) return 1
  const whole = Math.floor(k)
  return incompleteBeta(p, 1 - p, whole + 1, n - whole).upper
}

function requirePoissonMean(name: string, mean: number): void {
  if (!(mean >= 0 && mean <= DEGREES_MAX)) throw new Error(`${name}: expected a mean from 0 to ${DEGREES_MAX}, got ${mean}`)
}

/** P(X = k) of the Poisson distribution with the given mean. */
export function poissonPmf(k: number, mean: number): number {
  requirePoissonMean('poissonPmf', mean)
  return Number.isInteger(k) && k >= 0 ? poissonTerm(k, mean) : 0
}

/** P(X <= k) of the Poisson distribution. */
export function poissonCdf(k: number, mean: number): number {
  requireNumber('poissonCdf', k)
  requirePoissonMean('poissonCdf', mean)
  return k < 0 ? 0 : k > DEGREES_MAX ? 1 : incompleteGamma(Math.floor(k) + 1, mean).upper
}

/** P(X >= k) of the Poisson distribution, exact far out in the tail. */
export function poissonUpperTail(k: number, mean: number): number {
  requireNumber('poissonUpperTail', k)
  requirePoissonMean('poissonUpperTail', mean)
  return k <= 0 ? 1 : k > DEGREES_MAX ? 0 : incompleteGamma(Math.ceil(k), mean).lower
}

/**
 * Exact interval for the mean of a Poisson count (Garwood 1936).
 * @param count events seen, a whole number of at least 0
 * @param confidence e.g. 0.95
 */
export function poissonInterval(count: number, confidence: number): { readonly lower: number; readonly upper: number } {
  if (!(Number.isInteger(count) && count >= 0 && count <= 1e12)) throw new Error(`poissonInterval: expected a whole number of at least 0 and up to 1e12, got ${count}`)
  requireProbability('poissonInterval', confidence)
  const alpha = 1 - confidence
  return {
    lower: count === 0 ? 0 : chiSquareQuantile(alpha / 2, 2 * count) / 2,
    upper: chiSquareQuantile(1 - alpha / 2, 2 * count + 2) / 2,
  }
}
