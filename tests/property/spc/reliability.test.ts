import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { firstPassageProbability } from '../../../src/spc/first-passage.js'
import { fitExponential, fitLognormal } from '../../../src/spc/lifetime-fits.js'
import { replacementAge, replacementCostRate } from '../../../src/spc/replacement-age.js'
import { logRankTest, survivalCurve } from '../../../src/spc/survival-estimates.js'
import { fitWeibull, WEAR_PRIOR } from '../../../src/spc/weibull-fit.js'
import { weibullSurvival } from '../../../src/spc/weibull-life.js'

const lifetime = fc.record({ time: fc.double({ min: 0.01, max: 1000, noNaN: true }), failed: fc.boolean() })
const lifetimes = fc.array(lifetime, { minLength: 1, maxLength: 30 })
const factor = fc.constantFrom(1 / 3600, 7, 168)
const close = (actual: number, expected: number, rel = 1e-6): void => expect(Math.abs(actual - expected)).toBeLessThanOrEqual(rel * (1 + Math.abs(expected)))

describe('lifetimes', () => {
  it('fits follow the unit of time, and the order does not matter', () => {
    fc.assert(
      fc.property(lifetimes, factor, (data, unit) => {
        const other = [...data].reverse().map(({ time, failed }) => ({ time: time * unit, failed }))
        for (const options of [{}, { prior: WEAR_PRIOR }]) {
          const plain = fitWeibull(data, options)
          const turned = fitWeibull(other, options)
          expect(turned.kind).toBe(plain.kind)
          if (plain.kind !== 'weibull' || turned.kind !== 'weibull') continue
          close(turned.shape, plain.shape)
          // a long way from all ages the scale magnifies the rounding of the shape
          close(Math.log(turned.scale), Math.log(plain.scale * unit))
        }
        const plain = fitLognormal(data)
        const turned = fitLognormal(other)
        expect(turned.kind).toBe(plain.kind)
        if (plain.kind === 'lognormal' && turned.kind === 'lognormal') {
          close(turned.mu, plain.mu + Math.log(unit), 1e-4)
          close(turned.sigma, plain.sigma, 1e-4)
        }
        const rate = fitExponential(data)
        const rateTurned = fitExponential(other)
        if (rate.kind === 'exponential' && rateTurned.kind === 'exponential') close(rateTurned.meanTimeToFailure, rate.meanTimeToFailure * unit)
      }),
    )
  })

  it('a Weibull fit is no worse than its neighbours and than random failures', () => {
    fc.assert(
      fc.property(lifetimes, (data) => {
        const fit = fitWeibull(data)
        const random = fitExponential(data)
        if (fit.kind !== 'weibull' || random.kind !== 'exponential') return
        expect(fit.logLikelihood).toBeGreaterThanOrEqual(random.logLikelihood - 1e-9 * (1 + Math.abs(random.logLikelihood)))
      }),
    )
  })

  it('survival falls from 1 by steps inside its interval, without censoring by 1/n', () => {
    fc.assert(
      fc.property(lifetimes, (data) => {
        for (const interval of ['plain', 'log', 'log-log'] as const) {
          const curve = survivalCurve(data, { interval })
          if (curve.kind !== 'survival-curve') throw new Error(curve.kind)
          let last = 1
          for (const { survival, spread } of curve.steps) {
            expect(survival).toBeLessThanOrEqual(last)
            last = survival
            if (spread === undefined) expect(survival).toBe(0)
            else {
              expect(spread.interval.lower).toBeLessThanOrEqual(survival)
              expect(spread.interval.upper).toBeGreaterThanOrEqual(survival)
              expect(spread.interval.lower >= 0 && spread.interval.upper <= 1).toBe(true)
            }
          }
        }
        const all = data.map(({ time }) => ({ time, failed: true }))
        const curve = survivalCurve(all)
        if (curve.kind === 'survival-curve') for (const { time, survival } of curve.steps) close(survival, all.filter((other) => other.time > time).length / all.length, 1e-12)
      }),
    )
  })

  it('the log-rank test does not care which group comes first', () => {
    fc.assert(
      fc.property(lifetimes, lifetimes, (a, b) => {
        const one = logRankTest(a, b)
        const two = logRankTest(b, a)
        expect(two.kind).toBe(one.kind)
        if (one.kind === 'log-rank-test' && two.kind === 'log-rank-test') close(two.statistic, one.statistic)
      }),
    )
  })

  it('no other age costs less than the best', () => {
    fc.assert(
      fc.property(fc.double({ min: 1.1, max: 8, noNaN: true }), fc.double({ min: 1.2, max: 50, noNaN: true }), fc.double({ min: 0.05, max: 20, noNaN: true }), (shape, failure, other) => {
        const life = { shape, scale: 100 }
        const costs = { planned: 1, failure }
        const best = replacementAge(life, costs)
        if (best.kind !== 'replace-at-age') return
        expect(replacementCostRate(life, costs, best.age * other)).toBeGreaterThanOrEqual(best.costRate * (1 - 1e-12))
        expect(best.nearlyAsGood.lower).toBeLessThan(best.age)
        close(best.failedBefore, 1 - weibullSurvival(life, best.age))
      }),
    )
  })

  it('the probability of having reached a limit grows with time and stays between 0 and 1', () => {
    const positive = fc.double({ min: 1e-3, max: 1e3, noNaN: true })
    fc.assert(
      fc.property(positive, positive, positive, positive, positive, (distance, drift, sigma, a, b) => {
        const process = { distance, drift, sigma }
        const early = firstPassageProbability(process, Math.min(a, b))
        const late = firstPassageProbability(process, Math.max(a, b))
        expect(early >= 0 && late <= 1).toBe(true)
        expect(late).toBeGreaterThanOrEqual(early - 1e-12)
      }),
    )
  })
})
