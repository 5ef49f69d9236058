import { startCusums } from './cusum-set.js'
import { poolBaselines, type SisterBaseline } from './pooled-baseline.js'
import { pooledErrors, pooledModel } from './pooled-model.js'
import { takeLimits } from './process-chart-fit.js'
import { createProcessChart, type ProcessChartDesign, type ProcessChartState } from './process-chart-state.js'

/** First fit of a chart that has its sisters' baseline to begin with. */
const FIRST_FIT = 8
/** Share of their limits at which the CUSUMs begin. */
const HEAD_START = 0.5

/**
 * A new chart of a feature whose sister charts (the same feature under other recipes) have learned: it starts from what
 * they have in common, with limits at once where that is worth `baselineMin` values, and its centre moves from theirs to
 * its own as it learns. Its CUSUMs begin at half their limit, so that a recipe that starts off centre shows soon. With
 * fewer than two sisters, or sisters of unequal spread, it starts from nothing as any other.
 *
 * The baseline is provisional with reason `baseline.pooled` until it has enough values of its own.
 *
 * @param sisters states of the other charts; those without limits, with a signal, or charting means of batches are passed over
 */
export function createPooledChart(design: ProcessChartDesign, sisters: readonly ProcessChartState[]): ProcessChartState {
  const state = createProcessChart(design)
  const pool = poolBaselines(sisters.flatMap(sisterBaseline))
  if (pool.kind !== 'pooled' || state.learned === null) return state
  state.pool = pool
  state.learned.nextFit = FIRST_FIT
  if (pool.kappa < design.baselineMin) return state
  state.model = pooledModel(pool, pool.centre, pool.kappa)
  state.reason = 'baseline.pooled'
  takeLimits(design, state, pooledErrors(pool, pool.kappa))
  startCusums(state.cusums, HEAD_START)
  return state
}

function sisterBaseline({ model, limited, signal, batch }: ProcessChartState): SisterBaseline[] {
  if (model === null || !limited || signal !== null || batch > 1 || !(model.sigma > 0) || model.n < 2) return []
  return [{ centre: model.centre, sigma: model.sigma, lagOne: model.lagOne, n: model.n }]
}
