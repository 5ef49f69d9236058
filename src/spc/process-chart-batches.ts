import { meanOf } from './autocorrelation.js'
import type { AutoregressiveModel } from './autoregressive-model.js'
import type { LearnedValues } from './learned-values.js'

/** Means of batches may be correlated by as much: they are charted as residuals in their turn. */
const BATCH_LAG_ONE_MAX = 0.5
/** Means that are to be left of what was learned. */
const MEANS_MIN = 20
const LAGS_FOLLOWED = 400

/**
 * Smallest batch whose means are correlated by less than 0.5 at lag 1, from the autocorrelations of the fitted model: few
 * means tell little about their own correlation. Never so large that fewer than 20 means were left of `valueCount` values.
 */
export function batchSizeFor(model: AutoregressiveModel, valueCount: number): number {
  const correlations = modelCorrelations(model)
  const sizeMax = Math.max(2, Math.floor(valueCount / MEANS_MIN))
  for (let size = 2; size < sizeMax; size++) {
    let variance = size
    for (let lag = 1; lag < size; lag++) variance += 2 * (size - lag) * correlations[lag]!
    let covariance = 0
    for (let lag = 1; lag < 2 * size; lag++) covariance += (size - Math.abs(size - lag)) * correlations[lag]!
    if (covariance < BATCH_LAG_ONE_MAX * variance) return size
  }
  return sizeMax
}

/** Autocorrelations an autoregressive model implies, lag 0 on. */
function modelCorrelations(model: AutoregressiveModel): number[] {
  const order = model.weights.length
  const correlations = [1]
  // The lower orders are nested: the first correlations follow from them one by one.
  for (let lag = 1; lag < LAGS_FOLLOWED; lag++) {
    const weights = model.weights[Math.min(lag, order) - 1]!
    let correlation = 0
    for (let j = 0; j < weights.length; j++) correlation += weights[j]! * correlations[lag - 1 - j]!
    correlations.push(correlation)
  }
  return correlations
}

/** The single values learned, taken together in batches; an incomplete last one is left out. */
export function batchedValues(learned: LearnedValues, size: number): { values: number[]; timesMs: number[] } {
  const values: number[] = []
  const timesMs: number[] = []
  for (let i = size; i <= learned.values.length; i += size) {
    values.push(meanOf(learned.values.slice(i - size, i)))
    timesMs.push(learned.timesMs[i - 1]!)
  }
  return { values, timesMs }
}
