import { describe, expect, it } from 'vitest'
import { chartConstants, rangeQuantile } from '../../../src/spc/constants.js'
import { readReference } from './reference-file.js'

const reference = readReference('constants')

describe('chart constants against values from two independent quadratures', () => {
  it.each(reference.rows as readonly any[])('n = $n', (row: any) => {
    const constants = chartConstants(row.n)
    // The reference states 1e-9 for the range moments, 1e-12 for c4, 1e-8 for what is derived from them.
    expect(Math.abs(constants.d2 - row.d2)).toBeLessThan(1e-9)
    expect(Math.abs(constants.d3 - row.d3)).toBeLessThan(1e-9)
    expect(Math.abs(constants.c4 - row.c4)).toBeLessThan(1e-12)
    for (const name of ['c5', 'A', 'A2', 'A3', 'D1', 'D2', 'D3', 'D4', 'B3', 'B4', 'B5', 'B6', 'E2'] as const) {
      expect(Math.abs(constants[name] - row[name]), name).toBeLessThan(1e-8)
    }
  })

  it.each([2, 5, 25])('range quantiles for n = %i', (n) => {
    const row = reference.rows.find((candidate: any) => candidate.n === n)
    expect(rangeQuantile(0.5, n)).toBeCloseTo(row.median_range_d4, 8)
    expect(rangeQuantile(0.00135, n)).toBeCloseTo(row.R_prob_limits_00135.lower, 7)
    expect(rangeQuantile(1 - 0.00135, n)).toBeCloseTo(row.R_prob_limits_00135.upper, 7)
  })
})
