import type { Lifetime } from './lifetimes.js'
import { fitWeibull, shapePosterior, WEAR_PRIOR, type WeibullFit } from './weibull-fit.js'
import { checkLife, weibullMeanServiceTime, weibullMoments, weibullSurvival, type WeibullLife } from './weibull-life.js'

/** In any one unit (money, hours): what a planned replacement costs, and one after a failure, all consequences included. */
export interface ReplacementCosts {
  readonly planned: number
  readonly failure: number
}

export type ReplacementAge =
  | {
      readonly kind: 'replace-at-age'
      readonly age: number
      readonly failedBefore: number
      readonly costRate: number
      readonly runToFailureRate: number
      /** Share of the run-to-failure cost that is saved. */
      readonly saving: number
      /** Ages at which the cost is within 5 % of the least; `upper` absent: any later age, even none. */
      readonly nearlyAsGood: { readonly lower: number; readonly upper?: number }
    }
  /** Replacing by age costs more than waiting: the part does not wear out, or a failure costs no more than a replacement. */
  | { readonly kind: 'run-to-failure'; readonly costRate: number }

function checkCosts({ planned, failure }: ReplacementCosts): void {
  if (!(planned > 0 && failure > 0 && planned + failure <= 1e100)) throw new Error(`replacement age: expected costs above 0, got ${planned} and ${failure}`)
}

/** Cost per unit of time when replaced at `age` or at failure. */
export function replacementCostRate(life: WeibullLife, costs: ReplacementCosts, age: number): number {
  checkCosts(costs)
  if (!(age > 0)) throw new Error(`replacement age: expected an age above 0, got ${age}`)
  const survival = weibullSurvival(life, age)
  const rate = (costs.planned * survival + costs.failure * (1 - survival)) / weibullMeanServiceTime(life, age)
  if (!Number.isFinite(rate)) throw new Error(`replacement age: the cost rate at age ${age} is too large to be a number`)
  return rate
}

/** Monotone function's root between two logarithms of ages. */
function bisect(rises: (age: number) => number, fromLog: number, toLog: number): number {
  let from = fromLog
  let to = toLog
  for (let step = 0; step < 200 && to - from > 1e-15 * Math.max(1, Math.abs(to)); step++) {
    const middle = (from + to) / 2
    if (rises(Math.exp(middle)) < 0) from = middle
    else to = middle
  }
  return Math.exp((from + to) / 2)
}

/** Share by which a cost may exceed the least and still be as good for the purpose. */
const NEARLY = 1.05

/**
 * Age of least cost per time for a part that is as new after every replacement (Barlow and Hunter 1960).
 * @throws Error on costs that are not above 0
 */
export function replacementAge(life: WeibullLife, costs: ReplacementCosts): ReplacementAge {
  checkCosts(costs)
  const runToFailureRate = costs.failure / weibullMoments(life).mean
  if (life.shape <= 1 || costs.failure <= costs.planned) return { kind: 'run-to-failure', costRate: runToFailureRate }
  const target = costs.planned / (costs.failure - costs.planned)
  // hazard times mean service time less share failed: rises from 0 without end
  const balance = (age: number): number => {
    const relative = age / life.scale
    const hazard = (life.shape / life.scale) * relative ** (life.shape - 1)
    return hazard * weibullMeanServiceTime(life, age) + Math.expm1(-(relative ** life.shape)) - target
  }
  // beyond this age nothing lives that a number could tell from none
  const last = Math.log(life.scale) + Math.log(700) / life.shape
  if (balance(Math.exp(last)) < 0) return { kind: 'run-to-failure', costRate: runToFailureRate }
  let first = Math.log(life.scale) - 1
  while (balance(Math.exp(first)) > 0) first -= 2
  const age = bisect(balance, first, last)
  const costRate = replacementCostRate(life, costs, age)
  const excess = (at: number): number => replacementCostRate(life, costs, at) - NEARLY * costRate
  let early = Math.log(age) - 0.5
  while (excess(Math.exp(early)) < 0) early -= 0.5
  const lower = bisect((at) => -excess(at), early, Math.log(age))
  const upper = runToFailureRate <= NEARLY * costRate ? undefined : bisect(excess, Math.log(age), last)
  return {
    kind: 'replace-at-age',
    age,
    failedBefore: 1 - weibullSurvival(life, age),
    costRate,
    runToFailureRate,
    saving: 1 - costRate / runToFailureRate,
    nearlyAsGood: upper === undefined ? { lower } : { lower, upper },
  }
}

/**
 * Interval of overhauls of least cost when failures in between are only patched up, leaving the age as it was.
 * `run-to-failure` where the shape is not above 1: then an overhaul gains nothing and no rate is steady.
 */
export function overhaulInterval(life: WeibullLife, costs: { readonly overhaul: number; readonly minimalRepair: number }): { readonly kind: 'overhaul-at'; readonly interval: number; readonly costRate: number } | { readonly kind: 'no-overhaul' } {
  checkCosts({ planned: costs.overhaul, failure: costs.minimalRepair })
  checkLife('overhaul interval', life)
  if (life.shape <= 1) return { kind: 'no-overhaul' }
  const interval = life.scale * (costs.overhaul / (costs.minimalRepair * (life.shape - 1))) ** (1 / life.shape)
  if (!Number.isFinite(interval)) return { kind: 'no-overhaul' }
  return { kind: 'overhaul-at', interval, costRate: (costs.overhaul + costs.minimalRepair * (interval / life.scale) ** life.shape) / interval }
}

/** What the failures seen so far say about a maintenance interval. */
export type IntervalVerdict =
  /** Fewer than three failures: stay with the interval the maker gives. */
  | { readonly kind: 'keep-interval'; readonly interval: number; readonly failures: number; readonly failuresMin: number }
  /** Age does not predict this failure: go by the condition. */
  | { readonly kind: 'age-does-not-predict'; readonly probabilityNoWear: number; readonly failures: number }
  | {
      readonly kind: 'interval'
      readonly interval: number
      /** Least-cost age, before it was kept from lengthening the given interval by more than a fifth. */
      readonly best: Extract<ReplacementAge, { kind: 'replace-at-age' }>
      readonly capped: boolean
      readonly fit: WeibullFit
      readonly failures: number
    }

const FAILURES_MIN = 3
const FAILURES_FREE = 10
const LENGTHEN_MAX = 1.2
/** Shape up to which age says next to nothing, and the probability of it that is too much [ASM]. */
const NO_WEAR_SHAPE = 1.1
const NO_WEAR_MAX = 0.3
/** Shape above which wear is plain; the lower end of the 80 % interval must reach it [ASM]. The prior alone reaches 1.2. */
const PLAIN_WEAR_SHAPE = 1.5

/**
 * Interval for planned replacement from a few failures and many planned replacements (censored).
 * @param given the maker's or present interval, in the unit of the times
 * @throws Error on a given interval, time or cost that is not above 0
 */
export function judgeInterval(lifetimes: readonly Lifetime[], given: number, costs: ReplacementCosts): IntervalVerdict {
  if (!(given > 0 && given < Infinity)) throw new Error(`maintenance interval: expected an interval above 0, got ${given}`)
  checkCosts(costs)
  const fit = fitWeibull(lifetimes, { prior: WEAR_PRIOR })
  const failures = fit.kind === 'weibull' ? fit.failures : 0
  const posterior = shapePosterior(lifetimes, WEAR_PRIOR)
  if (fit.kind !== 'weibull' || posterior.kind !== 'shape-posterior' || failures < FAILURES_MIN) return { kind: 'keep-interval', interval: given, failures, failuresMin: FAILURES_MIN }
  const probabilityNoWear = posterior.shareBelow(NO_WEAR_SHAPE)
  const best = replacementAge(fit, costs)
  if (probabilityNoWear > NO_WEAR_MAX || best.kind === 'run-to-failure') return { kind: 'age-does-not-predict', probabilityNoWear, failures }
  const free = failures >= FAILURES_FREE || posterior.quantile(0.1) > PLAIN_WEAR_SHAPE
  const interval = free ? best.age : Math.min(best.age, LENGTHEN_MAX * given)
  return { kind: 'interval', interval, best, capped: interval < best.age, fit, failures }
}
