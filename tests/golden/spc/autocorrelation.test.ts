import { describe, expect, it } from 'vitest'
import { autocorrelations, fitAutoregressionByBic, fitLeastSquaresOrderOne, fitYuleWalker, meanOf, portmanteauTest } from '../../../src/spc/autocorrelation.js'
import type { RuleName } from '../../../src/spc/chart-point.js'
import { individualsLimits } from '../../../src/spc/individuals-chart.js'
import { createSupplementary, stepSupplementary } from '../../../src/spc/supplementary-rules.js'
import { sampleOf } from '../../../src/spc/two-sample-tests.js'
import { createWesternElectric, isFulfilled, stepWesternElectric, type WesternElectricState } from '../../../src/spc/western-electric.js'
import { normalSource } from '../../property/spc/random.js'
import { expectClose, readReference } from './reference-file.js'

const reference = readReference('autocorrelated')
const TOLERANCE = 1e-9

function of<T extends { readonly kind: string }, K extends T['kind']>(result: T, kind: K): Extract<T, { kind: K }> {
  expect(result.kind).toBe(kind)
  return result as Extract<T, { kind: K }>
}

describe.each(['v1', 'v2', 'v3'])('diagnostics of %s against R', (name) => {
  const expected = reference.reference_vectors[name]
  const values: number[] = expected.x

  it('autocorrelations', () => {
    const { lags } = of(autocorrelations(values, 10), 'autocorrelations')
    // one autocorrelation is 1e-3 of the others: absolute, as it is a share of 1
    expected.acf_lag0_10.forEach((value: number, lag: number) => expect(Math.abs(lags[lag]! - value), `lag ${lag}`).toBeLessThan(1e-12))
    expectClose(meanOf(values), expected.mean, TOLERANCE, 'mean')
  })

  it('Ljung-Box and Box-Pierce', () => {
    for (const [statistic, entries] of [['ljung-box', expected.ljung_box], ['box-pierce', expected.box_pierce]] as const) {
      for (const { lag, Q, p, p_upper_tail_exact } of entries) {
        const test = of(portmanteauTest(values, { lagCount: lag, statistic }), 'portmanteau-test')
        expectClose(test.statistic, Q, TOLERANCE, `${statistic} ${lag}`)
        // the reference program loses its digits below 1e-7; where it gives the exact tail, that holds
        if (p_upper_tail_exact !== undefined) expectClose(test.p, p_upper_tail_exact, TOLERANCE, `p of ${statistic} ${lag}`)
        else expect(Math.abs(test.p - p), `p of ${statistic} ${lag}`).toBeLessThan(TOLERANCE * Math.max(1e-6, p))
      }
    }
  })

  it('Ljung-Box of the residuals of a fitted model', () => {
    const { phi, mean, residuals_first5, residual_ljung_box_lag10_fitdf1: wanted } = expected.ar1_ml
    const residuals = values.map((x, i) => (i === 0 ? (x - mean) * Math.sqrt(1 - phi * phi) : x - mean - phi * (values[i - 1]! - mean)))
    residuals_first5.forEach((residual: number, i: number) => expect(Math.abs(residuals[i]! - residual)).toBeLessThan(1e-9))
    const test = of(portmanteauTest(residuals, { lagCount: 10, fittedCount: 1 }), 'portmanteau-test')
    expectClose(test.statistic, wanted.Q, TOLERANCE, 'Q')
    expectClose(test.p, wanted.p, TOLERANCE, 'p')
    expect(test.degreesOfFreedom).toBe(wanted.df)
  })

  it('first order by Yule-Walker and by least squares', () => {
    const yuleWalker = of(fitYuleWalker(values, 1), 'autoregressive-fit')
    expectClose(yuleWalker.weights[0]!, expected.ar1_yule_walker.phi, TOLERANCE, 'Yule-Walker')
    expectClose(yuleWalker.residualVariance, expected.ar1_yule_walker.var_pred, TOLERANCE, 'Yule-Walker variance')
    expectClose(yuleWalker.mean, expected.ar1_yule_walker.mean, TOLERANCE, 'Yule-Walker mean')
    const fit = of(fitLeastSquaresOrderOne(values), 'least-squares-fit')
    const line = expected.ar1_lm_xt_on_xt1
    expectClose(fit.weight, line.phi, TOLERANCE, 'weight')
    expectClose(fit.intercept, line.intercept, TOLERANCE, 'intercept')
    expectClose(fit.weightSe, line.se_phi, TOLERANCE, 'se of weight')
    expectClose(Math.sqrt(fit.residualVariance), line.sigma, TOLERANCE, 'sigma')
    expectClose(fit.intercept / (1 - fit.weight), line.implied_mean, TOLERANCE, 'level implied')
    const demeaned = expected.ar1_ols_demeaned
    expectClose(fit.weight, demeaned.phi, TOLERANCE, 'weight of the values less their mean')
    // the same line about the mean of all values; its variance divides by all n - 1 residuals
    expect(Math.abs(fit.intercept - expected.mean * (1 - fit.weight) - demeaned.intercept)).toBeLessThan(TOLERANCE * expected.mean)
    expectClose((fit.residualVariance * (values.length - 3)) / (values.length - 1), demeaned.var_pred, TOLERANCE, 'variance')
    // conditional and full maximum likelihood differ from least squares by less than half a standard error
    for (const other of [expected.ar1_css.phi, expected.ar1_ml.phi]) expect(Math.abs(fit.weight - other)).toBeLessThan(0.5 * fit.weightSe)
  })

  it('spread of successive values', () => {
    const n = values.length
    const steps = values.slice(1).map((x, i) => x - values[i]!)
    const squares = values.reduce((sum, x) => sum + (x - expected.mean) ** 2, 0)
    expectClose(Math.sqrt(squares / (n - 1)), expected.sd, TOLERANCE, 'sd')
    expectClose(steps.reduce((sum, step) => sum + Math.abs(step), 0) / (n - 1), expected.MRbar, TOLERANCE, 'moving range')
  })
})

it('the order by BIC: one for the correlated vectors, none for the independent one', () => {
  const orders = ['v1', 'v2', 'v3'].map((name) => of(fitAutoregressionByBic(reference.reference_vectors[name].x, 3), 'autoregressive-fit').weights.length)
  expect(orders[0]).toBeGreaterThanOrEqual(1)
  expect(orders[1]).toBe(0)
  expect(orders[2]).toBeGreaterThanOrEqual(1)
})

/** Mean run length of a chart on its own seeded runs, and the standard error of that mean. */
function simulate(runs: number, runLength: () => number): { readonly arl: number; readonly se: number } {
  let sum = 0
  let squares = 0
  for (let run = 0; run < runs; run++) {
    const length = runLength()
    sum += length
    squares += length * length
  }
  const arl = sum / runs
  return { arl, se: Math.sqrt((squares / runs - arl * arl) / runs) }
}

type Chart = () => (timeMs: number, z: number) => boolean

const western = (fulfilled: (state: WesternElectricState) => boolean): Chart => () => {
  const state = createWesternElectric()
  return (timeMs, z) => {
    stepWesternElectric(state, timeMs, z, 'individuals', () => undefined)
    return fulfilled(state)
  }
}
const isOn = (state: WesternElectricState, rule: RuleName): boolean => isFulfilled(state, rule, 'above') || isFulfilled(state, rule, 'below')

const CHARTS: Record<string, Chart> = {
  'rule 1 only': western((state) => isOn(state, 'one-beyond-three-sigma')),
  'WE four rules (run of 8)': western((state) => state.active !== 0),
  'rules 1 and 2': western((state) => isOn(state, 'one-beyond-three-sigma') || isOn(state, 'two-of-three-beyond-two-sigma')),
  'rule 1 + 9 same side': () => {
    const one = CHARTS['rule 1 only']!()
    const nine = createSupplementary()
    return (timeMs, z) => {
      let hit = one(timeMs, z)
      stepSupplementary(nine, timeMs, z, ['nine-on-one-side'], () => (hit = true))
      return hit
    }
  },
}

describe('rules on correlated values: own seeded simulation within 4 combined standard errors', () => {
  const entries = reference.in_control

  it('covers four rule sets, five weights and both sigmas', () => expect(entries.length).toBe(40))

  it.each(entries.map((entry: any, i: number) => [entry.rules, entry.phi, entry.one_sigma_unit_over_marginal_sigma, i, entry] as [string, number, number, number, any]) as [string, number, number, number, any][])('%s, phi %d, sigma %d', (name, phi, unit, i, entry: any) => {
    const normal = normalSource(7000 + i)
    const { arl, se } = simulate(2000, () => {
      const step = CHARTS[name]!()
      let x = normal()
      for (let length = 1; ; length++) {
        if (step(length, x / unit)) return length
        x = phi * x + Math.sqrt(1 - phi * phi) * normal()
      }
    })
    expect(Math.abs(arl - entry.arl)).toBeLessThan(4 * Math.hypot(se, entry.se))
  })
})

describe('limits estimated from 50 or 100 values of the same series', () => {
  // Entries with a mean beyond 200 have so heavy a tail that a short simulation says nothing; they are left out.
  const entries = reference.estimated_limits.entries.filter((entry: any) => entry.mean_run_length_capped < 200)

  it('covers the four rules at every weight, and one point beyond the limits by moving range', () => expect(entries.length).toBe(28))

  it.each(entries.map((entry: any, i: number) => [entry.rules, entry.phi, entry.m_phase1, entry.limits, i, entry] as [string, number, number, string, number, any]) as [string, number, number, string, number, any][])('%s, phi %d, %d values, %s', (name, phi, m, limits, i, entry: any) => {
    const normal = normalSource(9000 + i)
    const noise = Math.sqrt(1 - phi * phi)
    const { arl, se } = simulate(1500, () => {
      let x = normal()
      const first = Array.from({ length: m }, () => (x = phi * x + noise * normal()))
      const fitted = of(individualsLimits(first), 'limits')
      const sigma = limits.startsWith('MRbar') ? fitted.sigma : Math.sqrt(sampleOf(first).variance)
      const step = CHARTS[name]!()
      for (let length = 1; length < 20_000; length++) {
        x = phi * x + noise * normal()
        if (step(length, (x - fitted.individuals.centre) / sigma)) return length
      }
      return 20_000
    })
    expect(Math.abs(arl - entry.mean_run_length_capped)).toBeLessThan(4 * Math.hypot(se, entry.se))
  })
})
