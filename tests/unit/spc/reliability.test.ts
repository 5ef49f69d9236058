import { describe, expect, it } from 'vitest'
import { firstPassageMoments, firstPassageProbability, firstPassageQuantile } from '../../../src/spc/first-passage.js'
import { fitExponential, fitLognormal } from '../../../src/spc/lifetime-fits.js'
import type { Lifetime } from '../../../src/spc/lifetimes.js'
import { judgeInterval, overhaulInterval, replacementAge } from '../../../src/spc/replacement-age.js'
import { logRankTest, survivalCurve } from '../../../src/spc/survival-estimates.js'
import { fitWeibull, shapePosterior, WEAR_PRIOR } from '../../../src/spc/weibull-fit.js'
import { weibullMeanServiceTime, weibullMoments, weibullQuantile, weibullSurvival } from '../../../src/spc/weibull-life.js'

const failed = (...times: number[]): Lifetime[] => times.map((time) => ({ time, failed: true }))
const replaced = (...times: number[]): Lifetime[] => times.map((time) => ({ time, failed: false }))
const WORN = [...failed(310, 420, 365), ...replaced(300, 300, 450, 450)]

/** Log of the posterior of (ln shape, ln scale), written out from the definition. */
function logPosterior(lifetimes: readonly Lifetime[], logShape: number, logScale: number): number {
  const shape = Math.exp(logShape)
  const scale = Math.exp(logScale)
  let sum = -0.5 * ((logShape - Math.log(2)) / 0.4) ** 2
  for (const { time, failed: is } of lifetimes) {
    if (is) sum += Math.log((shape / scale) * (time / scale) ** (shape - 1))
    sum -= (time / scale) ** shape
  }
  return sum
}

describe('Weibull fit with a prior', () => {
  it('is the top of the posterior written out', () => {
    const fit = fitWeibull(WORN, { prior: WEAR_PRIOR })
    if (fit.kind !== 'weibull') throw new Error(fit.kind)
    const at = [Math.log(fit.shape), Math.log(fit.scale)] as const
    const top = logPosterior(WORN, ...at)
    const step = 1e-4
    for (const [i, j] of [[1, 0], [-1, 0], [0, 1], [0, -1], [1, 1], [-1, -1], [1, -1], [-1, 1]] as const) expect(logPosterior(WORN, at[0] + i * step, at[1] + j * step)).toBeLessThan(top)
    const second = (i: number, j: number): number => logPosterior(WORN, at[0] + i * 1e-3, at[1] + j * 1e-3)
    const hss = (second(1, 0) - 2 * top + second(-1, 0)) / 1e-6
    const hcc = (second(0, 1) - 2 * top + second(0, -1)) / 1e-6
    const hsc = (second(1, 1) - second(1, -1) - second(-1, 1) + second(-1, -1)) / 4e-6
    expect(fit.covariance.logShape).toBeCloseTo(-hcc / (hss * hcc - hsc * hsc), 5)
    expect(fit.covariance.logScale).toBeCloseTo(-hss / (hss * hcc - hsc * hsc), 5)
  })

  it('gives the shape with the scale integrated out', () => {
    const posterior = shapePosterior(WORN)
    if (posterior.kind !== 'shape-posterior') throw new Error(posterior.kind)
    const weights: { logShape: number; weight: number }[] = []
    for (let i = -600; i <= 600; i++) {
      const logShape = Math.log(2) + i * 0.005
      let weight = 0
      for (let j = -300; j <= 700; j++) weight += Math.exp(logPosterior(WORN, logShape, Math.log(400) + j * 0.01) + 30)
      weights.push({ logShape, weight })
    }
    const total = weights.reduce((sum, { weight }) => sum + weight, 0)
    for (const shape of [1.5, 2.5, 4]) {
      const below = weights.reduce((sum, { logShape, weight }) => sum + (logShape <= Math.log(shape) ? weight : 0), 0) / total
      expect(Math.abs(posterior.shareBelow(shape) - below)).toBeLessThan(0.005)
    }
    expect(posterior.shareBelow(posterior.quantile(0.1))).toBeCloseTo(0.1, 5)
    expect(posterior.shareBelow(1e-9)).toBe(0)
    expect(posterior.shareBelow(1e9)).toBe(1)
  })

  it('bounds what the likelihood alone leaves open', () => {
    expect(fitWeibull(failed(400, 400))).toEqual({ kind: 'no-spread-of-ages' })
    const fit = fitWeibull(failed(400, 400), { prior: WEAR_PRIOR })
    expect(fit.kind === 'weibull' && fit.shape > 2 && fit.shape < 10).toBe(true)
  })
})

describe('maintenance interval from failures', () => {
  const costs = { planned: 1, failure: 10 }

  it('stays with the given interval below three failures', () => {
    expect(judgeInterval([...failed(200, 300), ...replaced(400)], 350, costs)).toEqual({ kind: 'keep-interval', interval: 350, failures: 2, failuresMin: 3 })
    expect(judgeInterval([], 350, costs)).toMatchObject({ kind: 'keep-interval', failures: 0 })
  })

  it('says that age does not predict where failures come early and late alike', () => {
    const random = failed(5, 20, 60, 90, 150, 230, 330, 480, 700, 1100)
    const verdict = judgeInterval(random, 300, costs)
    expect(verdict.kind).toBe('age-does-not-predict')
  })

  it('may shorten with three failures, and lengthens by a fifth at most', () => {
    const shorter = judgeInterval(WORN, 400, costs)
    expect(shorter.kind === 'interval' && !shorter.capped && shorter.interval < 400).toBe(true)
    const scattered = [...failed(250, 420, 900), ...replaced(100, 100, 120)]
    const held = judgeInterval(scattered, 100, costs)
    expect(held).toMatchObject({ kind: 'interval', interval: 120, capped: true })
  })

  it('is free with plain wear', () => {
    const free = judgeInterval(failed(380, 390, 395, 400, 402, 405, 410, 415, 420, 430), 100, costs)
    expect(free.kind === 'interval' && !free.capped && free.interval > 200).toBe(true)
  })
})

describe('replacement', () => {
  it('has no best age without wear, or where a failure costs no more', () => {
    expect(replacementAge({ shape: 0.7, scale: 100 }, { planned: 1, failure: 10 }).kind).toBe('run-to-failure')
    expect(replacementAge({ shape: 3, scale: 100 }, { planned: 5, failure: 5 }).kind).toBe('run-to-failure')
    expect(replacementAge({ shape: 1.0001, scale: 100 }, { planned: 1, failure: 1.5 }).kind).toBe('run-to-failure')
    expect(overhaulInterval({ shape: 1, scale: 100 }, { overhaul: 5, minimalRepair: 1 })).toEqual({ kind: 'no-overhaul' })
  })

  it('has no latest age where waiting costs next to nothing more', () => {
    const best = replacementAge({ shape: 1.5, scale: 1000 }, { planned: 1, failure: 2 })
    expect(best.kind === 'replace-at-age' && best.nearlyAsGood.upper).toBe(undefined)
  })
})

describe('what cannot be answered', () => {
  it('is a reason', () => {
    for (const fit of [fitWeibull, fitLognormal, fitExponential]) {
      expect(fit([])).toEqual({ kind: 'no-failures', valueCount: 0 })
      expect(fit(replaced(100, 200))).toEqual({ kind: 'no-failures', valueCount: 2 })
    }
    expect(shapePosterior(replaced(100))).toEqual({ kind: 'no-failures', valueCount: 1 })
    for (const fit of [fitWeibull, fitLognormal]) {
      for (const same of [failed(5), failed(5, 5), [...failed(5, 5), ...replaced(5, 4)]]) expect(fit(same)).toEqual({ kind: 'no-spread-of-ages' })
    }
    expect(survivalCurve([])).toEqual({ kind: 'too-few-values', valueCount: 0, valueCountMin: 1 })
    expect(logRankTest(failed(1), [])).toEqual({ kind: 'too-few-values', valueCount: 0, valueCountMin: 1 })
    expect(logRankTest(replaced(1), replaced(2))).toEqual({ kind: 'no-variation' })
    expect(survivalCurve(replaced(3, 9))).toMatchObject({ steps: [{ survival: 1, spread: { interval: { lower: 1, upper: 1 } } }, { survival: 1 }] })
  })

  it.each([NaN, Infinity, -1, 0, 1e300, 1e-300])('a lifetime of %s is refused by name and place', (time) => {
    const bad = [...failed(5, 7), { time, failed: true }]
    const runs = [() => fitWeibull(bad), () => fitLognormal(bad), () => fitExponential(bad), () => shapePosterior(bad), () => survivalCurve(bad), () => logRankTest(bad, bad), () => judgeInterval(bad, 10, { planned: 1, failure: 2 })]
    for (const run of runs) expect(run).toThrow(/lifetime 2 must be a number from 1e-100 to 1e100/)
  })

  it('extreme but permitted times stay numbers', () => {
    for (const lifetimes of [failed(1e-100, 1e100), failed(1e100, 0.999e100), [...failed(1e-100), ...replaced(1e100)]]) {
      for (const fit of [fitWeibull(lifetimes), fitWeibull(lifetimes, { prior: WEAR_PRIOR }), fitLognormal(lifetimes)]) {
        if (fit.kind !== 'weibull' && fit.kind !== 'lognormal') throw new Error(fit.kind)
        const numbers = fit.kind === 'weibull' ? [fit.shape, fit.logLikelihood, fit.shapeSe] : [fit.mu, fit.sigma, fit.logLikelihood]
        for (const value of numbers) expect(Number.isFinite(value)).toBe(true)
      }
    }
  })

  it('misuse is an error', () => {
    const life = { shape: 2, scale: 100 }
    expect(() => weibullSurvival({ shape: 0, scale: 1 }, 1)).toThrow(/shape above 0/)
    expect(() => weibullSurvival({ shape: 1, scale: NaN }, 1)).toThrow(/scale above 0/)
    expect(() => weibullSurvival(life, -1)).toThrow(/time of at least 0/)
    expect(() => weibullQuantile(life, 1)).toThrow(/share between 0 and 1/)
    expect(() => weibullMeanServiceTime(life, NaN)).toThrow(/age of at least 0/)
    expect(() => weibullMoments({ shape: 0.011, scale: 1e150 })).toThrow(/too large to be a number/)
    expect(() => replacementAge(life, { planned: 0, failure: 1 })).toThrow(/costs above 0/)
    expect(() => judgeInterval([], 0, { planned: 1, failure: 1 })).toThrow(/interval above 0/)
    expect(() => fitWeibull([], { prior: { medianShape: 2, sdOfLog: 0 } })).toThrow(/prior/)
    expect(() => fitWeibull([], { confidence: 1 })).toThrow(/confidence/)
    expect(() => survivalCurve([], { confidence: 0 })).toThrow(/confidence/)
    expect(() => firstPassageMoments({ distance: 1, drift: 0, sigma: 1 })).toThrow(/drift above 0/)
    expect(() => firstPassageQuantile({ distance: 1, drift: 1, sigma: 1 }, 0)).toThrow(/probability/)
  })
})

describe('first passage', () => {
  it('is nearly certain in time when the drift is steady, without overflow', () => {
    const steady = { distance: 100, drift: 1, sigma: 0.01 }
    expect(firstPassageProbability(steady, 99)).toBeLessThan(1e-12)
    expect(firstPassageProbability(steady, 101)).toBeGreaterThan(1 - 1e-12)
    expect(firstPassageQuantile(steady, 0.5)).toBeCloseTo(100, 3)
    expect(firstPassageProbability(steady, 0)).toBe(0)
    expect(firstPassageProbability(steady, Infinity)).toBe(1)
  })
})
