import type { BaselineErrors } from './guaranteed-limits.js'
import { shrunkCentre, type PooledBaseline } from './pooled-baseline.js'
import type { ChartModel, Prediction } from './process-chart-state.js'

const LAG_ONE_IGNORED = 0.2

/** The sisters' spread and autocorrelation about the given centre. */
export function pooledModel(pool: PooledBaseline, centre: number, valueCount: number): ChartModel {
  const { sigma, lagOne } = pool
  const modelled = Math.abs(lagOne) > LAG_ONE_IGNORED
  return {
    centre,
    sigma,
    prediction: modelled ? orderOne(lagOne, sigma) : null,
    lagOne,
    n: Math.floor(valueCount),
    df: 0,
    flat: false,
  }
}

/** Prediction from the value just before. */
export function orderOne(lagOne: number, sigma: number): Prediction {
  return { weights: [[lagOne]], residualSigma: [sigma * Math.sqrt(1 - lagOne * lagOne)] }
}

/** @param valueCount effective values the centre is worth */
export function pooledErrors(pool: PooledBaseline, valueCount: number): BaselineErrors {
  const { lagOne, lagOneError, spreadCount } = pool
  if (Math.abs(lagOne) <= LAG_ONE_IGNORED) return { valueCount: Math.max(2, valueCount), spreadCount, lagLeft: lagOne, lagError: lagOneError }
  return { valueCount: Math.max(2, (valueCount * (1 + lagOne)) / (1 - lagOne)), spreadCount, lagLeft: 0, lagError: lagOneError / (1 - lagOne) }
}

/** The centre of a fit to its own values, drawn towards the sisters'. */
export function shrunkFit(pool: PooledBaseline, own: { readonly centre: number; readonly countEffective: number; readonly errors: BaselineErrors }): { readonly centre: number; readonly valueCount: number; readonly errors: BaselineErrors } {
  const { centre, valueCount } = shrunkCentre(own.centre, own.countEffective, pool)
  return { centre, valueCount, errors: { ...own.errors, valueCount: (own.errors.valueCount * valueCount) / own.countEffective } }
}
