import { describe, expect, it } from 'vitest'
import { capability, capabilityIndices, centredIndexInterval, spreadIndexInterval, type Capability } from '../../../src/spc/capability.js'
import { expectClose, readReference } from './reference-file.js'

/** The file asks for 1e-8; closed forms leave 1e-10. */
const TOLERANCE = 1e-10
const reference = readReference('capability')

function expectInterval(actual: { lower: number; upper: number } | undefined, expected: readonly number[], tolerance: number, what: string): void {
  expect(actual, what).toBeDefined()
  expectClose(actual!.lower, expected[0]!, tolerance, `${what} lower`)
  expectClose(actual!.upper, expected[1]!, tolerance, `${what} upper`)
}

function expectOverall(actual: Capability, expected: any): void {
  expectClose(actual.mean, expected.mean, TOLERANCE, 'mean')
  expectClose(actual.sigma, expected.sd_overall, TOLERANCE, 'sigma')
  expectClose(actual.pp!.value, expected.Pp, TOLERANCE, 'Pp')
  expectClose(actual.ppk.value, expected.Ppk, TOLERANCE, 'Ppk')
  expectClose(actual.ppUpper!, expected.PpU, TOLERANCE, 'PpU')
  expectClose(actual.ppLower!, expected.PpL, TOLERANCE, 'PpL')
  expectClose(actual.cpm!, expected.Cpm_target_mid, TOLERANCE, 'Cpm')
  expectInterval(actual.pp!.interval, expected.Pp_CI95_chisq, TOLERANCE, 'Pp interval')
  expectInterval(actual.ppk.interval, expected.Ppk_CI95_Bissell, TOLERANCE, 'Ppk interval')
  // the multiplicative form is the same interval written as a factor
  expectInterval(actual.ppk.interval, expected.Ppk_CI95_multiplicative, TOLERANCE, 'Ppk interval')
  expectClose(actual.ppkLowerBound, expected.Ppk_lower95_one_sided_Bissell, TOLERANCE, 'Ppk bound')
  expectClose(actual.ppmBelow, expected.expected_ppm.below, TOLERANCE, 'ppm below')
  expectClose(actual.ppmAbove, expected.expected_ppm.above, TOLERANCE, 'ppm above')
  expectClose(actual.cp!.value, expected.Cp, TOLERANCE, 'Cp')
  expectClose(actual.cpk!.value, expected.Cpk, TOLERANCE, 'Cpk')
  expect(actual.worseSide).toBe(expected.worse_side === 'U' ? 'upper' : 'lower')
}

function capabilityOf(...args: Parameters<typeof capability>): Capability {
  const result = capability(...args)
  expect(result.kind).toBe('capability')
  return result as Capability
}

describe('capability against R', () => {
  it('50 individuals, spread within from moving ranges', () => {
    const expected = reference.individuals
    const actual = capabilityOf(expected.x, { lower: expected.LSL, upper: expected.USL }, { signalCount: 0, within: { sigma: expected.sigma_within } })
    expectOverall(actual, expected)
    expect(actual.cpk!.interval).toBeUndefined()
    // R's pt root-finding is good to about 1e-7 here
    expectInterval(actual.worseSideInterval, expected.Ppk_onesided_index_exact_noncentral_t_CI95, 1e-6, 'noncentral t')
  })

  it('25 subgroups of 4, pooled spread', () => {
    const expected = reference.subgroups
    const within = { sigma: expected.sigma_within, degreesOfFreedom: expected.df_within }
    const actual = capabilityOf(expected.subgroups.flat(), { lower: expected.LSL, upper: expected.USL }, { signalCount: 0, within })
    expectOverall(actual, expected)
    expectInterval(actual.cp!.interval, expected.Cp_CI95_chisq_df_within, TOLERANCE, 'Cp interval')
    expectInterval(actual.cpk!.interval, expected.Cpk_CI95_Bissell_df_within, TOLERANCE, 'Cpk interval')
    for (const [sigma, cp] of [[expected.sigma_Rbar_d2, expected.Cp_Rbar], [expected.sigma_Sbar_c4, expected.Cp_Sbar]]) {
      expectClose(capabilityIndices({ mean: actual.mean, sigma }, { lower: expected.LSL, upper: expected.USL }).spread!, cp, TOLERANCE, 'Cp of another spread')
    }
  })

  it('NIST 6.1.6: limits 8 and 20, mean 16, sigma 2', () => {
    const expected = reference.nist_6_1_6
    const actual = capabilityIndices({ mean: 16, sigma: 2 }, { lower: 8, upper: 20 })
    expectClose(actual.spread!, expected.Cp, TOLERANCE, 'Cp')
    expectClose(actual.upper!, expected.Cpu, TOLERANCE, 'Cpu')
    expectClose(actual.lower!, expected.Cpl, TOLERANCE, 'Cpl')
    expectClose(actual.centred, expected.Cpk, TOLERANCE, 'Cpk')
    expectClose(1 - actual.centred / actual.spread!, expected.k, TOLERANCE, 'k')
    expectInterval(spreadIndexInterval(1, 49), expected.Cp_CI95_n50, TOLERANCE, 'Cp interval')
    expectInterval(centredIndexInterval(actual.centred, { n: 50, degreesOfFreedom: 49 }), expected.Cpk_CI95_Bissell_n50, TOLERANCE, 'Cpk interval')
  })
})
