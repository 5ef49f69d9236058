import { requireFinite, type TooFewValues } from './autocorrelation.js'

export interface StepResponseFit {
  readonly kind: 'step-response'
  /** y = start + rise (1 - exp(-time / timeConstant)). */
  readonly start: number
  readonly rise: number
  /** In the unit of the times. */
  readonly timeConstant: number
  /** Standard errors; that of `start` is 0 where it was given. */
  readonly startSe: number
  readonly riseSe: number
  readonly timeConstantSe: number
  readonly residualSigma: number
  readonly sumSquares: number
}

/** The curve is too straight or too flat for a time constant, or the record too short for it. */
export interface TimeConstantNotSeen {
  readonly kind: 'time-constant-not-seen'
}

interface Linear {
  readonly start: number
  readonly rise: number
  readonly sumSquares: number
}

/** Best start and rise for a given time constant: the only parameter that is not linear. */
function linearPart(times: readonly number[], values: readonly number[], timeConstant: number, startGiven: number | undefined): Linear {
  const n = times.length
  const origin = startGiven ?? values[0]!
  let s1 = 0
  let s2 = 0
  let sy = 0
  let s1y = 0
  for (let i = 0; i < n; i++) {
    const grown = -Math.expm1(-times[i]! / timeConstant)
    const y = values[i]! - origin
    s1 += grown
    s2 += grown * grown
    sy += y
    s1y += grown * y
  }
  const own = startGiven === undefined ? s2 - (s1 * s1) / n : s2
  const rise = own > 0 ? (startGiven === undefined ? s1y - (s1 * sy) / n : s1y) / own : 0
  const start = origin + (startGiven === undefined ? (sy - rise * s1) / n : 0)
  let sumSquares = 0
  for (let i = 0; i < n; i++) sumSquares += (values[i]! - start + rise * Math.expm1(-times[i]! / timeConstant)) ** 2
  return { start, rise, sumSquares }
}

/**
 * Least squares fit of a first-order step response.
 *
 * @param points time since the step (from 0 on) and value, at least 6, not all at one time
 * @param options.start value at time 0 where it is known
 * @returns `time-constant-not-seen` where the best time constant lies beyond 20 times the record or below its spacing
 */
export function fitStepResponse(
  points: readonly { readonly time: number; readonly value: number }[],
  options: { readonly start?: number } = {},
): StepResponseFit | TooFewValues | TimeConstantNotSeen {
  const times = points.map((point) => point.time)
  const values = points.map((point) => point.value)
  requireFinite('step response', times)
  requireFinite('step response', values)
  if (times.some((time) => time < 0)) throw new Error('step response: expected times from 0 on (time since the step), got one below 0')
  const n = points.length
  if (n < 6) return { kind: 'too-few-values', valueCount: n, valueCountMin: 6 }
  const longest = Math.max(...times)
  if (!(longest > 0)) return { kind: 'time-constant-not-seen' }
  const shortest = longest / (4 * n)
  const squaresAt = (logConstant: number): number => linearPart(times, values, Math.exp(logConstant), options.start).sumSquares
  const best = minimise(squaresAt, Math.log(shortest), Math.log(20 * longest))
  const range = Math.max(...values) - Math.min(...values)
  if (best === undefined || !(range > 0)) return { kind: 'time-constant-not-seen' }
  const timeConstant = polish(times, values, Math.exp(best), options.start)
  const { start, rise, sumSquares } = linearPart(times, values, timeConstant, options.start)
  const parameterCount = options.start === undefined ? 3 : 2
  const residualSigma = Math.sqrt(sumSquares / (n - parameterCount))
  const se = standardErrors(times, { rise, timeConstant }, options.start === undefined)
  if (se === undefined) return { kind: 'time-constant-not-seen' }
  return {
    kind: 'step-response',
    start,
    rise,
    timeConstant,
    startSe: se.start * residualSigma,
    riseSe: se.rise * residualSigma,
    timeConstantSe: se.timeConstant * residualSigma,
    residualSigma,
    sumSquares,
  }
}

/** Smallest inner value on a grid, then golden section; undefined where it lies at an end. */
function minimise(f: (x: number) => number, from: number, to: number): number | undefined {
  const steps = 60
  const width = (to - from) / steps
  let index = 0
  let least = Infinity
  for (let i = 0; i <= steps; i++) {
    const value = f(from + i * width)
    if (value < least) {
      least = value
      index = i
    }
  }
  if (index === 0 || index === steps) return undefined
  const golden = (Math.sqrt(5) - 1) / 2
  let a = from + (index - 1) * width
  let b = from + (index + 1) * width
  let x1 = b - golden * (b - a)
  let x2 = a + golden * (b - a)
  let f1 = f(x1)
  let f2 = f(x2)
  while (b - a > 1e-4) {
    if (f1 < f2) {
      ;[b, x2, f2] = [x2, x1, f1]
      x1 = b - golden * (b - a)
      f1 = f(x1)
    } else {
      ;[a, x1, f1] = [x1, x2, f2]
      x2 = a + golden * (b - a)
      f2 = f(x2)
    }
  }
  return 0.5 * (a + b)
}

/** Gauss-Newton steps: close to a minimum its values differ by less than rounding, its slope does not. */
function polish(times: readonly number[], values: readonly number[], from: number, startGiven: number | undefined): number {
  let timeConstant = from
  for (let step = 0; step < 30; step++) {
    const { start, rise } = linearPart(times, values, timeConstant, startGiven)
    const se = standardErrors(times, { rise, timeConstant }, startGiven === undefined)
    if (se === undefined) return timeConstant
    let product = 0
    times.forEach((time, i) => {
      const residual = values[i]! - start + rise * Math.expm1(-time / timeConstant)
      product -= (residual * rise * time * Math.exp(-time / timeConstant)) / timeConstant ** 2
    })
    const change = se.timeConstant ** 2 * product
    if (!(Math.abs(change) < 0.01 * timeConstant)) return timeConstant
    timeConstant += change
    if (Math.abs(change) < 1e-14 * timeConstant) break
  }
  return timeConstant
}

/** Square roots of the diagonal of (J'J)^-1 for start, rise and time constant. */
function standardErrors(times: readonly number[], fit: { readonly rise: number; readonly timeConstant: number }, startIsFree: boolean): { start: number; rise: number; timeConstant: number } | undefined {
  const { rise, timeConstant } = fit
  let [n, a, b, aa, ab, bb] = [0, 0, 0, 0, 0, 0]
  for (const time of times) {
    const grown = -Math.expm1(-time / timeConstant)
    const bend = (-rise * time * Math.exp(-time / timeConstant)) / timeConstant ** 2
    n += 1
    a += grown
    b += bend
    aa += grown * grown
    ab += grown * bend
    bb += bend * bend
  }
  const [caa, cab, cbb] = startIsFree ? [aa - (a * a) / n, ab - (a * b) / n, bb - (b * b) / n] : [aa, ab, bb]
  const determinant = caa * cbb - cab * cab
  if (!(determinant > 1e-14 * caa * cbb)) return undefined
  const [vaa, vab, vbb] = [cbb / determinant, -cab / determinant, caa / determinant]
  const start = startIsFree ? 1 / n + (a * a * vaa + 2 * a * b * vab + b * b * vbb) / (n * n) : 0
  return { start: Math.sqrt(start), rise: Math.sqrt(vaa), timeConstant: Math.sqrt(vbb) }
}
