import { describe, expect, it } from 'vitest'
import { firstPassageDensity, firstPassageMoments, firstPassageProbability, firstPassageQuantile } from '../../../src/spc/first-passage.js'
import { fitExponential, fitLognormal } from '../../../src/spc/lifetime-fits.js'
import type { Lifetime } from '../../../src/spc/lifetimes.js'
import { fitLine, lineCrossing, lineInterval } from '../../../src/spc/linear-regression.js'
import { overhaulInterval, replacementAge, replacementCostRate } from '../../../src/spc/replacement-age.js'
import { logRankTest, survivalCurve, type SurvivalCurve } from '../../../src/spc/survival-estimates.js'
import { fitWeibull } from '../../../src/spc/weibull-fit.js'
import { weibullMoments, weibullQuantile } from '../../../src/spc/weibull-life.js'
import { expectClose, readReference } from './reference-file.js'

const reference = readReference('reliability')
const SETS = ['nist', 'ball_bearings', 'aml_maintained', 'ovarian']
/** Asked: 1e-6. The optimiser behind the reference stops about there in the covariances and the exponential mean. */
const MLE = 1e-6
const KM = 1e-10

function lifetimesOf(name: string): Lifetime[] {
  return reference[name].time.map((time: number, i: number) => ({ time, failed: reference[name].status_1_failed_0_censored[i] === 1 }))
}

function of<T extends { readonly kind: string }, K extends T['kind']>(result: T, kind: K): Extract<T, { kind: K }> {
  expect(result.kind).toBe(kind)
  return result as Extract<T, { kind: K }>
}

describe('Weibull, exponential and lognormal fits against R survival', () => {
  it.each(SETS)('%s', (name) => {
    const lifetimes = lifetimesOf(name)
    const { weibull, exponential, lognormal, n, events } = reference[name]
    const fit = of(fitWeibull(lifetimes), 'weibull')
    expect([fit.n, fit.failures]).toEqual([n, events])
    expectClose(fit.shape, weibull.beta_shape, 1e-9, 'shape')
    expectClose(fit.scale, weibull.eta_scale, 1e-9, 'scale')
    expectClose(fit.logLikelihood, weibull.loglik, 1e-9, 'log-likelihood')
    expectClose(4 - 2 * fit.logLikelihood, weibull.AIC, 1e-9, 'AIC')
    const { logScale, cross, logShape } = fit.covariance
    expectClose(logScale, weibull.var_mu_logsigma.var_mu, MLE, 'variance of ln scale')
    expectClose(cross, weibull.var_mu_logsigma.cov, 10 * MLE, 'covariance')
    expectClose(logShape, weibull.var_mu_logsigma.var_logsigma, MLE, 'variance of ln shape')
    expectClose(fit.shapeSe, weibull.se_beta_delta, MLE, 'se of shape')
    expectClose(fit.scaleSe, weibull.se_eta_delta, MLE, 'se of scale')
    const ends = [fit.shapeInterval.lower, fit.shapeInterval.upper, fit.scaleInterval.lower, fit.scaleInterval.upper]
    ;[...weibull.beta_CI95_lognormal_wald, ...weibull.eta_CI95_lognormal_wald].forEach((end: number, i) => expectClose(ends[i]!, end, MLE, `end ${i}`))
    expectClose(weibullMoments(fit).mean, weibull.mean, MLE, 'mean')
    expectClose(weibullMoments(fit).sd, weibull.sd, MLE, 'sd')
    expectClose(weibullQuantile(fit, 0.1), weibull.B10, MLE, 'B10')
    expectClose(weibullQuantile(fit, 0.5), weibull.B50, MLE, 'B50')
    const random = of(fitExponential(lifetimes), 'exponential')
    expectClose(random.meanTimeToFailure, exponential.mttf, MLE, 'mean time to failure')
    expectClose(random.logLikelihood, exponential.loglik, 1e-9, 'log-likelihood, exponential')
    const logs = of(fitLognormal(lifetimes), 'lognormal')
    expectClose(logs.mu, lognormal.mu, MLE, 'mu')
    expectClose(logs.sigma, lognormal.sigma, MLE, 'sigma')
    expectClose(logs.logLikelihood, lognormal.loglik, 1e-9, 'log-likelihood, lognormal')
    expectClose(4 - 2 * logs.logLikelihood, lognormal.AIC, 1e-9, 'AIC, lognormal')
    const cross2 = reference.python_cross_check[name]
    expectClose(fit.shape, cross2.beta, 1e-12, 'shape, second program')
    expectClose(fit.scale, cross2.eta, 1e-12, 'scale, second program')
  })

  it('the example as published', () => {
    const { published } = reference.nist
    const fit = of(fitWeibull(lifetimesOf('nist')), 'weibull')
    expect(fit.scale).toBeCloseTo(published.eta, 3)
    expect(fit.shape).toBeCloseTo(published.beta, 4)
    expect(-fit.logLikelihood).toBeCloseTo(published.minus_loglik, 3)
    expect(4 - 2 * fit.logLikelihood).toBeCloseTo(published.AIC, 2)
    expect(weibullMoments(fit).mean).toBeCloseTo(published.mean, 3)
    expect(weibullMoments(fit).sd).toBeCloseTo(published.sd, 2)
    expect(4 - 2 * of(fitLognormal(lifetimesOf('nist')), 'lognormal').logLikelihood).toBeCloseTo(published.lognormal_AIC, 2)
  })
})

describe('survival curves against R survival', () => {
  it.each(SETS)('%s', (name) => {
    const expected = reference[name].kaplan_meier
    const curves = (['plain', 'log', 'log-log'] as const).map((interval) => of(survivalCurve(lifetimesOf(name), { interval }), 'survival-curve'))
    const [plain, log, logLog] = curves as [SurvivalCurve, SurvivalCurve, SurvivalCurve]
    expect(plain.steps.map((step) => step.time)).toEqual(expected.time)
    expect(plain.steps.map((step) => step.atRisk)).toEqual(expected.n_risk)
    expect(plain.steps.map((step) => step.failures)).toEqual(expected.n_event)
    expect(plain.steps.map((step) => step.censored)).toEqual(expected.n_censor)
    expect(plain.median).toBe(expected.median)
    plain.steps.forEach((step, i) => {
      expect(Math.abs(step.survival - expected.surv[i])).toBeLessThan(KM)
      expectClose(step.cumulativeHazard, expected.nelson_aalen_cumhaz[i], KM, `hazard ${i}`)
      if (step.spread === undefined) {
        expect([step.survival, expected.lower95_plain[i], expected.upper95_loglog[i]]).toEqual([0, null, null])
        return
      }
      expectClose(step.spread.standardError, expected.greenwood_se_surv[i], KM, `se ${i}`)
      for (const [curve, suffix] of [[plain, 'plain'], [log, 'log'], [logLog, 'loglog']] as const) {
        const { lower, upper } = curve.steps[i]!.spread!.interval
        expectClose(lower, expected[`lower95_${suffix}`][i], KM, `lower, ${suffix} ${i}`)
        expectClose(upper, expected[`upper95_${suffix}`][i], KM, `upper, ${suffix} ${i}`)
      }
    })
  })

  it('log-rank test of the two groups of aml', () => {
    // the second group of the same data set, weeks (R survival, Miller 1997)
    const second = [5, 5, 8, 8, 12, 16, 23, 27, 30, 33, 43, 45].map((time) => ({ time, failed: time !== 16 }))
    const test = of(logRankTest(lifetimesOf('aml_maintained'), second), 'log-rank-test')
    const expected = reference.logrank_aml
    expectClose(test.statistic, expected.chisq, KM, 'chi-square')
    expectClose(test.p, expected.p, KM, 'p')
    expect(test.observed).toEqual(expected.obs)
    test.expected.forEach((value, i) => expectClose(value, expected.exp[i], KM, `expected ${i}`))
  })
})

describe('replacement', () => {
  it('by age: least cost', () => {
    for (const { beta, eta, cp, cf, ...expected } of reference.age_replacement.cases) {
      const what = `shape ${beta}, costs ${cp} and ${cf}`
      const life = { shape: beta, scale: eta }
      const costs = { planned: cp, failure: cf }
      if (expected.T_opt === null) {
        expectClose(of(replacementAge(life, costs), 'run-to-failure').costRate, expected.cost_rate_run_to_failure, 1e-9, what)
        continue
      }
      const best = of(replacementAge(life, costs), 'replace-at-age')
      expectClose(best.age, expected.T_opt, 1e-6, `age, ${what}`)
      expectClose(best.failedBefore, expected.F_at_T, 1e-6, `failed before, ${what}`)
      expectClose(best.costRate, expected.cost_rate_at_T, 1e-9, `cost, ${what}`)
      expectClose(best.runToFailureRate, expected.cost_rate_run_to_failure, 1e-9, `run to failure, ${what}`)
      expect(Math.abs(best.saving - expected.saving_fraction)).toBeLessThan(1e-9)
      // the file's neighbours are those of its own age, which is good to 1e-6
      expectClose(replacementCostRate(life, costs, 0.9 * best.age), expected['cost_rate_at_0.9T'], 1e-7, `earlier, ${what}`)
      expectClose(replacementCostRate(life, costs, 1.1 * best.age), expected['cost_rate_at_1.1T'], 1e-7, `later, ${what}`)
      for (const end of [best.nearlyAsGood.lower, best.nearlyAsGood.upper]) {
        if (end !== undefined) expectClose(replacementCostRate(life, costs, end), 1.05 * best.costRate, 1e-9, `end of what is nearly as good, ${what}`)
      }
    }
  })

  it('overhaul with minimal repair', () => {
    for (const { beta, eta, cp, cm, T_opt, cost_rate } of reference.minimal_repair_block.cases) {
      const best = of(overhaulInterval({ shape: beta, scale: eta }, { overhaul: cp, minimalRepair: cm }), 'overhaul-at')
      expectClose(best.interval, T_opt, 1e-12, `interval ${beta} ${cm}`)
      expectClose(best.costRate, cost_rate, 1e-12, `cost ${beta} ${cm}`)
    }
  })
})

describe('degradation', () => {
  it('time to a limit of a drift with unrest', () => {
    for (const entry of reference.wiener_first_passage.cases) {
      const process = { distance: entry.threshold_distance, drift: entry.drift, sigma: entry.sigma }
      const moments = firstPassageMoments(process)
      expectClose(moments.mean, entry.mean, 1e-12, 'mean')
      expectClose(moments.variance, entry.variance, 1e-12, 'variance')
      expectClose(moments.mode, entry.mode, 1e-12, 'mode')
      entry.t.forEach((time: number, i: number) => {
        expectClose(firstPassageProbability(process, time), entry.cdf[i], 1e-11, `probability at ${time}`)
        expectClose(firstPassageDensity(process, time), entry.pdf[i], 1e-11, `density at ${time}`)
      })
      // the reference finds its quantiles by a root search of its own
      for (const [name, time] of Object.entries<number>(entry.quantiles)) expectClose(firstPassageQuantile(process, Number(name.slice(1)) / 100), time, 1e-6, name)
    }
  })

  it('line, bands and crossing against R', () => {
    const expected = reference.degradation_regression
    const fit = of(fitLine(expected.t.map((x: number, i: number) => ({ x, y: expected.y[i] }))), 'line')
    expectClose(fit.intercept, expected.intercept, 1e-12, 'intercept')
    expectClose(fit.slope, expected.slope, 1e-12, 'slope')
    expectClose(fit.residualSigma, expected.sigma, 1e-12, 'sigma')
    expectClose(fit.explainedShare, expected.r2, 1e-12, 'share')
    expectClose(fit.slopeSe, expected.se_slope, 1e-12, 'se of slope')
    expected.predict_at.forEach((x: number, i: number) => {
      for (const [name, kind] of [['prediction_interval95', 'value'], ['confidence_interval95', 'mean']] as const) {
        const { centre, lower, upper } = lineInterval(fit, x, 0.95, kind)
        ;[centre, lower, upper].forEach((value, j) => expectClose(value, expected[name][i][j], 1e-11, `${name} ${x}`))
      }
    })
    for (const [name, kind] of [['crossing_interval_from_prediction_band', 'value'], ['crossing_interval_from_confidence_band_Fieller', 'mean']] as const) {
      const crossing = of(lineCrossing(fit, expected.threshold, 0.95, kind), 'crossing')
      expectClose(crossing.x, expected.crossing_time, 1e-11, 'crossing')
      // found by a root search in the reference
      expectClose(crossing.lower, expected[name][0], 1e-6, `${name}, lower`)
      expectClose(crossing.upper, expected[name][1], 1e-6, `${name}, upper`)
    }
  })
})
