import { requireLifetimes, type Lifetime } from './lifetimes.js'
import type { Interval } from './linear-regression.js'
import type { NoVariation, TooFewValues } from './autocorrelation.js'
import { chiSquareUpperTail, normalQuantile } from './special-functions.js'

export interface SurvivalStep {
  readonly time: number
  readonly atRisk: number
  readonly failures: number
  readonly censored: number
  readonly survival: number
  /** Sum of failures over those at risk (Nelson 1969, Aalen 1978). */
  readonly cumulativeHazard: number
  /** Greenwood's standard error and interval of `survival`; absent once it is 0, where neither is defined. */
  readonly spread?: { readonly standardError: number; readonly interval: Interval }
}

export interface SurvivalCurve {
  readonly kind: 'survival-curve'
  readonly steps: readonly SurvivalStep[]
  /** First time by which half have failed; absent while more than half live. */
  readonly median?: number
}

/** How the interval is transformed; `log-log` keeps both ends inside 0 and 1. */
export type SurvivalInterval = 'plain' | 'log' | 'log-log'

interface Count {
  readonly time: number
  failures: number
  censored: number
}

function countByTime(lifetimes: readonly Lifetime[]): Count[] {
  const counts: Count[] = []
  for (const { time, failed } of [...lifetimes].sort((a, b) => a.time - b.time)) {
    let last = counts.at(-1)
    if (last === undefined || last.time !== time) counts.push((last = { time, failures: 0, censored: 0 }))
    if (failed) last.failures++
    else last.censored++
  }
  return counts
}

function intervalOf(survival: number, greenwood: number, z: number, transform: SurvivalInterval): Interval {
  const half = z * Math.sqrt(greenwood)
  if (survival === 1) return { lower: 1, upper: 1 }
  if (transform === 'plain') return { lower: Math.max(0, survival * (1 - half)), upper: Math.min(1, survival * (1 + half)) }
  if (transform === 'log') return { lower: survival * Math.exp(-half), upper: Math.min(1, survival * Math.exp(half)) }
  const factor = Math.exp(half / Math.log(survival))
  return { lower: survival ** (1 / factor), upper: survival ** factor }
}

/**
 * Share still alive by age, by Kaplan and Meier (1958); who is censored at a time of failure was at risk then.
 * @param options.confidence default 0.95
 */
export function survivalCurve(lifetimes: readonly Lifetime[], options: { readonly interval?: SurvivalInterval; readonly confidence?: number } = {}): SurvivalCurve | TooFewValues {
  const { interval = 'log-log', confidence = 0.95 } = options
  if (!(confidence > 0 && confidence < 1)) throw new Error(`survival curve: expected a confidence between 0 and 1, got ${confidence}`)
  requireLifetimes('survival curve', lifetimes)
  if (lifetimes.length === 0) return { kind: 'too-few-values', valueCount: 0, valueCountMin: 1 }
  const z = normalQuantile(0.5 + confidence / 2)
  let atRisk = lifetimes.length
  let survival = 1
  let greenwood = 0
  let cumulativeHazard = 0
  let median: number | undefined
  const steps = countByTime(lifetimes).map(({ time, failures, censored }): SurvivalStep => {
    const left = atRisk - failures
    survival *= left / atRisk
    greenwood += left === 0 ? 0 : failures / (atRisk * left)
    cumulativeHazard += failures / atRisk
    // a product that should be exactly one half may come out a rounding above it
    if (median === undefined && survival <= 0.5 * (1 + 1e-12)) median = time
    const step = { time, atRisk, failures, censored, survival, cumulativeHazard }
    atRisk = left - censored
    return survival === 0 ? step : { ...step, spread: { standardError: survival * Math.sqrt(greenwood), interval: intervalOf(survival, greenwood, z, interval) } }
  })
  return { kind: 'survival-curve', steps, ...(median === undefined ? {} : { median }) }
}

export interface LogRankTest {
  readonly kind: 'log-rank-test'
  readonly statistic: number
  readonly p: number
  readonly observed: readonly [number, number]
  readonly expected: readonly [number, number]
}

/** Whether two groups fail alike over time (Mantel 1966): chi-square with 1 degree of freedom. */
export function logRankTest(first: readonly Lifetime[], second: readonly Lifetime[]): LogRankTest | TooFewValues | NoVariation {
  requireLifetimes('log-rank test', first)
  requireLifetimes('log-rank test', second)
  const valueCount = Math.min(first.length, second.length)
  if (valueCount < 1) return { kind: 'too-few-values', valueCount, valueCountMin: 1 }
  const times = countByTime([...first, ...second]).filter(({ failures }) => failures > 0)
  let expected = 0
  let variance = 0
  for (const { time, failures } of times) {
    const risk = first.filter((lifetime) => lifetime.time >= time).length
    const all = risk + second.filter((lifetime) => lifetime.time >= time).length
    const share = risk / all
    expected += failures * share
    if (all > 1) variance += (failures * share * (1 - share) * (all - failures)) / (all - 1)
  }
  if (variance === 0) return { kind: 'no-variation' }
  const observed: [number, number] = [first.filter(({ failed }) => failed).length, second.filter(({ failed }) => failed).length]
  const statistic = (observed[0] - expected) ** 2 / variance
  return { kind: 'log-rank-test', statistic, p: chiSquareUpperTail(statistic, 1), observed, expected: [expected, observed[0] + observed[1] - expected] }
}
