import { describe, it } from 'vitest'
import { noncentralTCdf } from '../../../src/spc/noncentral-t.js'
import * as distribution from '../../../src/spc/special-functions.js'
import { expectClose, readReference } from './reference-file.js'

/** Both sides work in double precision; in the far tails either may lose a few digits. */
const reference = readReference('distributions')
const TOLERANCE = reference.tolerance_rel

const CASES: readonly (readonly [string, (entry: any) => readonly (readonly [number, number])[]])[] = [
  ['normal_cdf', (e) => [[distribution.normalCdf(e.z), e.p], [distribution.normalUpperTail(-e.z), e.p]]],
  ['normal_quantile', (e) => [[distribution.normalQuantile(e.p), e.z]]],
  ['student_t_cdf', (e) => [[distribution.studentTCdf(e.t, e.df), e.p]]],
  ['student_t_quantile', (e) => [[distribution.studentTQuantile(e.p, e.df), e.t]]],
  ['chi_square', (e) => [[distribution.chiSquareCdf(e.x, e.df), e.lower], [distribution.chiSquareUpperTail(e.x, e.df), e.upper]]],
  ['chi_square_quantile', (e) => [[distribution.chiSquareQuantile(e.p, e.df), e.x]]],
  ['f_cdf', (e) => [[distribution.fCdf(e.f, e.df1, e.df2), e.p]]],
  ['f_quantile', (e) => [[distribution.fQuantile(e.p, e.df1, e.df2), e.f]]],
  ['log_gamma', (e) => [[distribution.logGamma(e.x), e.value]]],
  ['binomial', (e) => [[distribution.binomialPmf(e.k, e.n, e.p), e.pmf], [distribution.binomialCdf(e.k, e.n, e.p), e.cdf]]],
  ['poisson', (e) => [[distribution.poissonPmf(e.k, e.mean), e.pmf], [distribution.poissonCdf(e.k, e.mean), e.cdf], [distribution.poissonUpperTail(e.k, e.mean), e.upperTail]]],
  ['poisson_interval_95', (e) => [[distribution.poissonInterval(e.count, 0.95).lower, e.lower], [distribution.poissonInterval(e.count, 0.95).upper, e.upper]]],
  ['noncentral_t_cdf', (e) => [[noncentralTCdf(e.t, e.df, e.ncp), e.p]]],
]

describe('distributions against mpmath and SciPy', () => {
  it.each(CASES)('%s', (name, compute) => {
    for (const entry of reference[name]) for (const [actual, expected] of compute(entry)) expectClose(actual, expected, TOLERANCE, `${name} ${JSON.stringify(entry)}`)
  })
})
