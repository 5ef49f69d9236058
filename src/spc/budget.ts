import { poissonInterval } from './special-functions.js'

/** A chart that shares a budget: how often it is asked, and how much its misses cost beside the others'. */
export interface BudgetShare {
  readonly pointsPerWeek: number
  /** Any positive scale; a chart with twice the weight may give twice the false signals. */
  readonly weight: number
}

function requireAboveZero(what: string, value: number): void {
  if (!(Number.isFinite(value) && value > 0)) throw new Error(`budget: expected ${what} above 0, got ${value}`)
}

/**
 * In-control run length every chart needs so that all together give `falseSignalsPerWeek` at most.
 *
 * Dependence between the charts only lowers the joint rate, so the split errs to the safe side.
 * @returns ARL0 in points
 */
export function equalSplitArl0(options: { readonly falseSignalsPerWeek: number; readonly chartCount: number; readonly pointsPerWeek: number }): number {
  const { falseSignalsPerWeek, chartCount, pointsPerWeek } = options
  requireAboveZero('false signals per week', falseSignalsPerWeek)
  requireAboveZero('a number of charts', chartCount)
  requireAboveZero('points per week', pointsPerWeek)
  return (chartCount * pointsPerWeek) / falseSignalsPerWeek
}

/** In-control run length of each chart, the budget split by weight (Bonferroni weights). @returns ARL0 in points, in the order given */
export function weightedSplitArl0(falseSignalsPerWeek: number, charts: readonly BudgetShare[]): number[] {
  requireAboveZero('false signals per week', falseSignalsPerWeek)
  let weightSum = 0
  for (const { pointsPerWeek, weight } of charts) {
    requireAboveZero('points per week', pointsPerWeek)
    requireAboveZero('a weight', weight)
    weightSum += weight
  }
  return charts.map(({ pointsPerWeek, weight }) => (pointsPerWeek * weightSum) / (falseSignalsPerWeek * weight))
}

/** False signals per week of all charts together, from the run lengths they were designed for. */
export function expectedFalseSignalsPerWeek(charts: readonly { readonly arl0: number; readonly pointsPerWeek: number }[]): number {
  let sum = 0
  for (const { arl0, pointsPerWeek } of charts) {
    requireAboveZero('a run length', arl0)
    if (!(Number.isFinite(pointsPerWeek) && pointsPerWeek >= 0)) throw new Error(`budget: expected points per week of 0 or more, got ${pointsPerWeek}`)
    sum += pointsPerWeek / arl0
  }
  return sum
}

/** Probability of no false signal in the given time; false signals come like a Poisson process. */
export function probabilityOfNone(falseSignalsPerWeek: number, weeks: number): number {
  if (!(falseSignalsPerWeek >= 0 && weeks >= 0 && Number.isFinite(falseSignalsPerWeek + weeks))) throw new Error(`budget: expected a rate and a time of 0 or more, got ${falseSignalsPerWeek} and ${weeks}`)
  return Math.exp(-falseSignalsPerWeek * weeks)
}

/** Share of signals that mean a real fault, 0-1; 0 where there are neither faults nor false signals. */
export function trueSignalShare(rates: { readonly faultsPerWeek: number; readonly detectionShare: number; readonly falseSignalsPerWeek: number }): number {
  const { faultsPerWeek, detectionShare, falseSignalsPerWeek } = rates
  if (!(faultsPerWeek >= 0 && falseSignalsPerWeek >= 0 && Number.isFinite(faultsPerWeek + falseSignalsPerWeek) && detectionShare >= 0 && detectionShare <= 1)) {
    throw new Error('budget: expected rates of 0 or more and a detection share from 0 to 1')
  }
  const real = faultsPerWeek * detectionShare
  return real === 0 ? 0 : real / (real + falseSignalsPerWeek)
}

/** What happened, set against what was promised. Rates per week with an exact 95 % Poisson interval. */
export type BudgetAudit =
  | { readonly kind: 'no-time-observed' }
  | {
      /**
       * `over` and `under`: the budget lies outside the interval. `undecided`: inside it, but so would three times the
       * budget (or none at all): observe longer. `kept`: inside, and the interval is narrower than that.
       */
      readonly kind: 'over' | 'under' | 'kept' | 'undecided'
      readonly perWeek: number
      readonly lowerPerWeek: number
      readonly upperPerWeek: number
    }

/**
 * Audits a budget against the false signals that came.
 * @param observed.falseSignals signals that turned out to mean nothing
 * @param observed.weeks time observed, in weeks of running (not of standing still)
 */
export function auditBudget(falseSignalsPerWeek: number, observed: { readonly falseSignals: number; readonly weeks: number }): BudgetAudit {
  requireAboveZero('false signals per week', falseSignalsPerWeek)
  const { falseSignals, weeks } = observed
  if (!(Number.isFinite(weeks) && weeks > 0)) return { kind: 'no-time-observed' }
  const interval = poissonInterval(falseSignals, 0.95)
  const lowerPerWeek = interval.lower / weeks
  const upperPerWeek = interval.upper / weeks
  const perWeek = falseSignals / weeks
  const rates = { perWeek, lowerPerWeek, upperPerWeek }
  if (lowerPerWeek > falseSignalsPerWeek) return { kind: 'over', ...rates }
  if (upperPerWeek < falseSignalsPerWeek) return { kind: 'under', ...rates }
  return { kind: upperPerWeek >= 3 * falseSignalsPerWeek ? 'undecided' : 'kept', ...rates }
}
