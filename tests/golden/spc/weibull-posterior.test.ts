import { describe, expect, it } from 'vitest'
import { replacementAge } from '../../../src/spc/replacement-age.js'
import { fitWeibull, shapePosterior, WEAR_PRIOR } from '../../../src/spc/weibull-fit.js'
import { weibullQuantile } from '../../../src/spc/weibull-life.js'
import { predictedAge, predictedCosts, predictedFailed, shapeAtMost, shapeQuantile, weibullPosterior, type BoundedLife, type WeibullPosterior } from '../../../src/spc/weibull-posterior.js'
import reference from '../../../fixtures/reference/reliability.json' with { type: 'json' }

/** So wide that the data alone speak. */
const NO_PRIOR = { medianShape: 2, sdOfLog: 1000 }
const SETS = ['nist', 'ball_bearings', 'aml_maintained', 'ovarian'] as const

function livesOf(name: (typeof SETS)[number]): BoundedLife[] {
  const { time, status_1_failed_0_censored: status } = reference[name]
  return time.map((age, i) => (status[i] === 1 ? { lower: age, upper: age } : { lower: age }))
}

function posteriorOf(lives: readonly BoundedLife[], options: Parameters<typeof weibullPosterior>[1] = {}): WeibullPosterior {
  const posterior = weibullPosterior(lives, options)
  if (posterior.kind !== 'weibull-posterior') throw new Error(posterior.kind)
  return posterior
}

describe.each(SETS)('%s (R survreg, see the file for the sources of the data)', (name) => {
  const expected = reference[name].weibull
  const lives = livesOf(name)

  it('without a prior the most probable life is that of maximum likelihood', () => {
    const { best } = posteriorOf(lives, { shape: NO_PRIOR })
    expect(best.shape).toBeCloseTo(expected.beta_shape, 4)
    expect(best.scale / expected.eta_scale).toBeCloseTo(1, 5)
  })

  it('with the prior of wear it is that of the closed fit, and the shape has the posterior of the grid over one axis', () => {
    const posterior = posteriorOf(lives)
    const lifetimes = lives.map(({ lower, upper }) => ({ time: lower, failed: upper !== undefined }))
    const fit = fitWeibull(lifetimes, { prior: WEAR_PRIOR })
    if (fit.kind !== 'weibull') throw new Error(fit.kind)
    expect(posterior.best.shape).toBeCloseTo(fit.shape, 4)
    expect(posterior.best.scale / fit.scale).toBeCloseTo(1, 5)
    const exact = shapePosterior(lifetimes)
    if (exact.kind !== 'shape-posterior') throw new Error(exact.kind)
    for (const share of [0.1, 0.5, 0.9]) expect(Math.abs(shapeQuantile(posterior, share) / exact.quantile(share) - 1)).toBeLessThan(0.13)
    expect(Math.abs(shapeAtMost(posterior, fit.shape) - exact.shareBelow(fit.shape))).toBeLessThan(0.12)
  })

  it('ages known to within a hundredth give the same life as exact ones', () => {
    const bounded = lives.map(({ lower, upper }) => (upper === undefined ? { lower } : { lower: 0.995 * lower, upper: 1.005 * upper }))
    const { best } = posteriorOf(bounded, { shape: NO_PRIOR })
    expect(best.shape / expected.beta_shape).toBeCloseTo(1, 2)
    expect(best.scale / expected.eta_scale).toBeCloseTo(1, 2)
  })
})

describe('what is predicted of a life that is well known', () => {
  /** Two thousand lives at even steps of a Weibull distribution: hardly anything is left unknown. */
  const life = { shape: 2.5, scale: 100 }
  const posterior = posteriorOf(Array.from({ length: 2000 }, (_, i) => weibullQuantile(life, (i + 0.5) / 2000)).map((age) => ({ lower: age, upper: age })))

  it('is that life: its quantiles and its share failed', () => {
    expect(predictedAge(posterior, 0.1) / weibullQuantile(life, 0.1)).toBeCloseTo(1, 1)
    expect(predictedFailed(posterior, 100)).toBeCloseTo(1 - Math.exp(-1), 2)
  })

  it('costs least at the age of the closed solution (Barlow and Hunter 1960)', () => {
    const costs = { planned: 1, failure: 10 }
    const best = replacementAge(life, costs)
    if (best.kind !== 'replace-at-age') throw new Error(best.kind)
    for (const of of ['best', 'all'] as const) {
      const curve = predictedCosts(posterior, costs, of)
      const least = curve.reduce((first, point) => (point.rate < first.rate ? point : first))
      expect(least.age / best.age).toBeGreaterThan(0.93)
      expect(least.age / best.age).toBeLessThan(1.07)
      expect(least.rate / best.costRate).toBeCloseTo(1, 1)
    }
  })
})
