import { survivalCurve } from '../../spc/survival-estimates.js'
import { predictedCosts, predictedFailed, type BoundedLife } from '../../spc/weibull-posterior.js'
import type { IntervalFact } from './interval-fact.js'
import { historyPosterior } from './interval-verdict.js'

/** What stands behind a verdict on an interval, for those who ask. Ages in the unit of the fact's scale. */
export interface IntervalCurves {
  /** Share still in order by age, from the history alone (Kaplan and Meier over the middle of each age of being due). */
  readonly observed: readonly { readonly age: number; readonly share: number }[]
  /** The same as the model predicts it. */
  readonly predicted: readonly { readonly age: number; readonly share: number }[]
  /** Cost by interval, 1 the least. */
  readonly cost: readonly { readonly age: number; readonly ratio: number }[]
  /** The most probable life. */
  readonly life?: { readonly shape: number; readonly scale: number }
}

const POINTS = 40

export function intervalCurves({ lives = [], costs = { planned: 1, failure: 10 }, interval, startInterval }: Pick<IntervalFact, 'lives' | 'costs' | 'interval' | 'startInterval'>): IntervalCurves {
  const bounded = lives.map(({ lower, upper }): BoundedLife => ({ lower, ...(upper === undefined ? {} : { upper }) }))
  const curve = survivalCurve(bounded.filter(({ lower, upper }) => lower > 0 || upper !== undefined).map(({ lower, upper }) => ({ time: upper === undefined ? lower : Math.max(1e-9, (lower + upper) / 2), failed: upper !== undefined })))
  const observed = curve.kind === 'survival-curve' ? curve.steps.filter(({ failures }) => failures > 0).map(({ time, survival }) => ({ age: time, share: survival })) : []
  // The trade's interval alone is no history to draw.
  if (!bounded.some(({ upper }) => upper !== undefined)) return { observed, predicted: [], cost: [] }
  const posterior = historyPosterior(bounded, startInterval)
  const until = 2.2 * Math.max(interval, Math.exp(posterior.logScaleMean))
  const ages = Array.from({ length: POINTS }, (_, i) => (until * (i + 1)) / POINTS)
  const costCurve = predictedCosts(posterior, costs, 'best').filter(({ age }) => age >= 0.1 * interval && age <= until)
  const least = Math.min(...costCurve.map(({ rate }) => rate))
  return {
    observed,
    predicted: ages.map((age) => ({ age, share: 1 - predictedFailed(posterior, age) })),
    cost: costCurve.map(({ age, rate }) => ({ age, ratio: rate / least })),
    life: { shape: posterior.best.shape, scale: posterior.best.scale },
  }
}
