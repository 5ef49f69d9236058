import { describe, expect, it } from 'vitest'
import { autocorrelations } from '../../../src/spc/autocorrelation.js'
import { classifyChange, stepChangePoint } from '../../../src/spc/change-point.js'
import { median, qnScale } from '../../../src/spc/robust-estimates.js'
import { attributeLimits, stepAttribute, standardised, type AttributeChartKind } from '../../../src/spc/attribute-charts.js'
import { createCusum, stepCusum } from '../../../src/spc/cusum-chart.js'
import { createEwma, stepEwma } from '../../../src/spc/ewma-chart.js'
import { individualsLimits } from '../../../src/spc/individuals-chart.js'
import { hotellingLimit, hotellingT2, multivariateBaseline } from '../../../src/spc/multivariate-charts.js'
import { subgroupLimits, stepSubgroup } from '../../../src/spc/subgroup-charts.js'
import { sampleOf } from '../../../src/spc/two-sample-tests.js'
import { expectClose, readReference } from './reference-file.js'

/** Published data sets; recomputed values agree to rounding (1e-9), published ones to the digits printed. */
const examples = new Map<string, any>(readReference('worked_examples').examples.map((example: any) => [example.id, example]))
const example = (id: string): any => {
  const found = examples.get(id)
  if (found === undefined) throw new Error(`no worked example ${id}`)
  return found
}
const REL = 1e-9

function limitsOf<T extends { readonly kind: string }>(result: T): Extract<T, { readonly kind: 'limits' }> {
  expect(result.kind).toBe('limits')
  return result as Extract<T, { readonly kind: 'limits' }>
}

describe('worked examples', () => {
  it('individuals and moving range: flowrate', () => {
    const { data, recomputed, published } = example('nist_6_3_2_2_individuals')
    const limits = limitsOf(individualsLimits(data))
    expectClose(limits.individuals.centre, recomputed.mean, REL, 'mean')
    expectClose(limits.sigma, recomputed.sigma, REL, 'sigma')
    expectClose(limits.individuals.upper, recomputed.UCL, REL, 'UCL')
    expectClose(limits.individuals.lower, recomputed.LCL, REL, 'LCL')
    expectClose(limits.movingRange.upper, recomputed.MR_UCL, REL, 'UCL of the moving range')
    // Printed with d2 rounded to 1.128.
    expect(limits.individuals.upper).toBeCloseTo(published.UCL, 2)
  })

  it('individuals: cassette means of the lithography study', () => {
    const { recomputed } = example('nist_6_6_1_lithography')
    const limits = limitsOf(individualsLimits(recomputed.cassette_means))
    const expected = recomputed.individuals_on_cassette_means
    expectClose(limits.individuals.lower, expected.LCL, REL, 'LCL')
    expectClose(limits.individuals.upper, expected.UCL, REL, 'UCL')
    expect(recomputed.cassette_means.flatMap((value: number, i: number) => (value > limits.individuals.upper || value < limits.individuals.lower ? [i + 1] : []))).toEqual(expected.outside)
  })

  it('EWMA with fixed and with time-varying limits', () => {
    const { data, params, recomputed } = example('nist_6_3_2_4_ewma')
    const design = { centre: params.target, sigma: params.s, lambda: params.lambda_, limit: params.L }
    const fixed = createEwma({ ...design, limits: 'fixed' })
    const varying = createEwma({ ...design, limits: 'time-varying' })
    data.forEach((value: number, i: number) => {
      const point = stepEwma(fixed, { ...design, limits: 'fixed' }, value)
      expectClose(point.statistic, recomputed.ewma[i + 1], REL, `average ${i + 1}`)
      expectClose(point.upper, recomputed.UCL, REL, 'UCL')
      expect(point.beyond).toBe('none')
      const exact = stepEwma(varying, { ...design, limits: 'time-varying' }, value)
      expectClose(exact.upper - exact.centre, recomputed.time_varying_half_width[i], REL, `half width ${i + 1}`)
    })
  })

  it('tabular CUSUM in units of the data', () => {
    const { data, params, recomputed } = example('nist_6_3_2_3_cusum')
    const design = { centre: params.target, sigma: 1, k: params.k, h: params.h }
    const state = createCusum(design)
    let firstSignal = 0
    data.forEach((value: number, i: number) => {
      const { up, down } = stepCusum(state, design, value)
      expect(up.statistic).toBeCloseTo(recomputed.S_hi[i], 9)
      expect(down.statistic).toBeCloseTo(recomputed.S_lo[i], 9)
      if (up.beyond === 'above' && firstSignal === 0) firstSignal = i + 1
    })
    expect(firstSignal).toBe(recomputed.first_signal_hi)
  })

  it('CUSUM with run counters and EWMA: the same thirty values', () => {
    const { data, recomputed } = example('montgomery_cusum_ewma')
    const cusum = { centre: 10, sigma: 1, k: 0.5, h: 5 }
    const ewma = { centre: 10, sigma: 1, lambda: 0.1, limit: 2.7, limits: 'time-varying' as const }
    const sums = createCusum(cusum)
    const averages = createEwma(ewma)
    const first = { cusum: 0, ewma: 0 }
    data.forEach((value: number, i: number) => {
      const { up, down } = stepCusum(sums, cusum, value)
      expect(up.statistic).toBeCloseTo(recomputed.C_plus[i], 9)
      expect(down.statistic).toBeCloseTo(recomputed.C_minus[i], 9)
      expect([sums.upCount, sums.downCount]).toEqual([recomputed.N_plus[i], recomputed.N_minus[i]])
      const point = stepEwma(averages, ewma, value)
      expectClose(point.statistic, recomputed.ewma[i], REL, `average ${i + 1}`)
      expectClose(point.upper - 10, recomputed.ewma_half_width[i], REL, `half width ${i + 1}`)
      if (up.beyond === 'above' && first.cusum === 0) first.cusum = i + 1
      if (point.beyond !== 'none' && first.ewma === 0) first.ewma = i + 1
    })
    expect(first).toEqual({ cusum: recomputed.first_signal, ewma: recomputed.ewma_first_signal })
  })

  it.each(['montgomery_piston_rings', 'nist_silicon_thickness'])('X-bar/R and X-bar/S: %s', (id) => {
    const { data, recomputed } = example(id)
    for (const [by, meanLimits, spreadLimits, meanOut, spreadOut, sigma] of [
      ['range', recomputed.xbar_limits_R, recomputed.R_limits, recomputed.xbar_out_R, recomputed.R_out, recomputed.sigma_R],
      ['sd', recomputed.xbar_limits_S, recomputed.S_limits, recomputed.xbar_out_S, recomputed.S_out, recomputed.sigma_S],
    ] as const) {
      const limits = limitsOf(subgroupLimits(data, by))
      expectClose(limits.sigma, sigma, 1e-8, 'sigma')
      expectClose(limits.mean.lower, meanLimits[0], REL, 'lower limit of the mean')
      expectClose(limits.mean.upper, meanLimits[1], REL, 'upper limit of the mean')
      expectClose(limits.spread.lower, spreadLimits[0], 1e-8, 'lower limit of the spread')
      expectClose(limits.spread.upper, spreadLimits[1], 1e-8, 'upper limit of the spread')
      const points = data.map((subgroup: number[]) => stepSubgroup(limits, subgroup))
      expect(points.flatMap((point: any, i: number) => (point.mean.beyond === 'none' ? [] : [i + 1]))).toEqual(meanOut)
      expect(points.flatMap((point: any, i: number) => (point.spread.beyond === 'none' ? [] : [i + 1]))).toEqual(spreadOut)
    }
  })

  const attribute = (chart: AttributeChartKind, counts: number[], sizes: number[], laney = false) => {
    const samples = counts.map((count, i) => ({ count, size: sizes[i]! }))
    const limits = limitsOf(attributeLimits(chart, samples, { laney }))
    return { limits, samples, points: samples.map((sample) => stepAttribute(limits, sample)) }
  }
  const outside = (points: readonly { readonly beyond: string }[]): number[] => points.flatMap((point, i) => (point.beyond === 'none' ? [] : [i + 1]))

  it('c chart: a count on the limit is inside', () => {
    const { data, recomputed } = example('nist_6_3_3_1_counts')
    const { points } = attribute('c', data, data.map(() => 1))
    expect([points[0]!.centre, points[0]!.upper, points[0]!.lower]).toEqual([recomputed.cbar, recomputed.UCL, recomputed.LCL])
    expect(outside(points)).toEqual(recomputed.strictly_outside)
  })

  it('c chart: surface defects', () => {
    const { data, recomputed } = example('ishikawa_c')
    const { points } = attribute('c', data, data.map(() => 1))
    expectClose(points[0]!.upper, recomputed.UCL, REL, 'UCL')
    expect(points[0]!.lower).toBe(recomputed.LCL)
    expect(outside(points)).toEqual(recomputed.outside)
  })

  it('p chart: samples of one size', () => {
    const { data, n, recomputed } = example('nist_6_3_3_2_proportions')
    const { points } = attribute('p', data.map((share: number) => Math.round(share * n)), data.map(() => n))
    expectClose(points[0]!.centre, recomputed.pbar, REL, 'mean share')
    expectClose(points[0]!.upper, recomputed.UCL, REL, 'UCL')
    expectClose(points[0]!.lower, recomputed.LCL, REL, 'LCL')
    expect(outside(points)).toEqual(recomputed.outside)
  })

  it('p and p-prime chart: samples of different sizes', () => {
    const { defectives, n, recomputed } = example('ishikawa_p_variable_n')
    const { limits, samples, points } = attribute('p', defectives, n)
    expectClose(limits.rate, recomputed.pbar, REL, 'mean share')
    points.forEach((point, i) => {
      expectClose(point.upper, recomputed.UCL[i], REL, `UCL ${i + 1}`)
      expectClose(point.lower, recomputed.LCL[i], REL, `LCL ${i + 1}`)
      expectClose(standardised(limits, samples[i]!), recomputed.z[i], 1e-8, `z ${i + 1}`)
    })
    expect(outside(points)).toEqual(recomputed.outside)
    const laney = attribute('p', defectives, n, true)
    expectClose(laney.limits.overdispersion, recomputed.laney_sigma_z, REL, 'sigma of z')
    laney.points.forEach((point, i) => expectClose(point.upper, recomputed.laney_UCL[i], REL, `p-prime UCL ${i + 1}`))
  })

  it('np chart: defective mirrors', () => {
    const { data, n, recomputed } = example('ishikawa_np')
    const { points } = attribute('np', data, data.map(() => n))
    expectClose(points[0]!.centre, recomputed.np, REL, 'centre')
    expectClose(points[0]!.upper, recomputed.UCL, REL, 'UCL')
    expect(outside(points)).toEqual(recomputed.outside)
  })

  it('u chart: cracks in wire', () => {
    const { defects, size, recomputed } = example('ishikawa_u')
    const { limits, points } = attribute('u', defects, size)
    expectClose(limits.rate, recomputed.ubar, REL, 'mean rate')
    points.forEach((point, i) => {
      expectClose(point.upper, recomputed.UCL[i], REL, `UCL ${i + 1}`)
      expect(point.lower).toBe(recomputed.LCL[i])
    })
    expect(outside(points)).toEqual(recomputed.outside)
  })

  it('mean vector and covariance', () => {
    const { data, recomputed } = example('nist_6_5_4_1_mean_cov')
    const baseline = multivariateBaseline(data)
    if (baseline.kind !== 'baseline') throw new Error(baseline.kind)
    baseline.mean.forEach((mean, i) => expectClose(mean, recomputed.mean[i], REL, `mean ${i}`))
    baseline.covariance.forEach((row, i) => row.forEach((value, j) => expectClose(value, recomputed.S[i][j], REL, `covariance ${i},${j}`)))
  })

  it.each([['pooled', 'T2_S'], ['successive', 'T2_successive']] as const)('T^2 of single vectors, %s covariance', (spread, key) => {
    const { data, recomputed } = example('holmes_mergen_gravel')
    const baseline = multivariateBaseline(data, spread)
    if (baseline.kind !== 'baseline') throw new Error(baseline.kind)
    data.forEach((vector: number[], i: number) => expectClose(hotellingT2(baseline, vector), recomputed[key][i], REL, `T^2 ${i + 1}`))
    for (const alpha of ['0.05', '0.01', '0.0027', '0.001']) {
      expectClose(hotellingLimit(2, data.length, Number(alpha), 1), recomputed.UCL_phase1_beta[alpha], 1e-8, `Phase I limit ${alpha}`)
      expectClose(hotellingLimit(2, data.length, Number(alpha), 2), recomputed.UCL_phase2_F[alpha], 1e-8, `Phase II limit ${alpha}`)
    }
  })

  it('change point of the Nile flow, and its correlation', () => {
    const { data, recomputed } = example('nile_change_point')
    const change = stepChangePoint(data)
    if (change.kind !== 'step-change') throw new Error(change.kind)
    // the first index after the change, from 0, is the last index before it, from 1
    expect(change.index).toBe(recomputed.last_index_before_change)
    expectClose(change.meanBefore, recomputed.mean_before, REL, 'before')
    expectClose(change.meanAfter, recomputed.mean_after, REL, 'after')
    expectClose(change.sumSquares, recomputed.sse, REL, 'sum of squares')
    expect(change.confidenceSet).toContain(change.index)
    const form = classifyChange(data)
    expect(form.kind === 'change' && form.form).toBe('step')
    const acf = autocorrelations(data, 5)
    if (acf.kind !== 'autocorrelations') throw new Error(acf.kind)
    recomputed.acf.forEach((value: number, lag: number) => expectClose(acf.lags[lag]!, value, REL, `lag ${lag}`))
  })

  it('median of the ninety points with one outlier, and a scale the outlier moves less than the standard deviation', () => {
    const { data, recomputed } = example('nist_7_1_6_outliers')
    expect(median(data)).toBe(recomputed.median)
    expect(median(data.map((value: number) => Math.abs(value - recomputed.median)))).toBe(recomputed.MAD)
    const without = data.filter((value: number) => value < 1400)
    const sd = (values: number[]): number => Math.sqrt(sampleOf(values).variance)
    expect(sd(data) / sd(without)).toBeGreaterThan(1.06)
    expect(qnScale(data) / qnScale(without)).toBeLessThan(1.04)
  })
})
