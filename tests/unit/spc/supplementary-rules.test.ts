import { describe, expect, it } from 'vitest'
import { createSupplementary, stepSupplementary, type SupplementaryHit, type SupplementaryRule } from '../../../src/spc/supplementary-rules.js'

const ALL: readonly SupplementaryRule[] = ['steady-trend', 'alternation', 'too-quiet', 'avoids-middle', 'nine-on-one-side']

function hitsOf(zs: readonly number[], wanted = ALL): SupplementaryHit[] {
  const state = createSupplementary()
  const hits: SupplementaryHit[] = []
  zs.forEach((z, i) => stepSupplementary(state, i + 1, z, wanted, (hit) => hits.push(hit)))
  return hits
}
const first = (zs: readonly number[], rule: SupplementaryRule) => hitsOf(zs, [rule])[0]

describe('supplementary rules', () => {
  it('steady trend: six points, five differences', () => {
    expect(first([0, 1, 2, 3, 4], 'steady-trend')).toBeUndefined()
    expect(first([0, 1, 2, 3, 4, 5], 'steady-trend')).toEqual({ timeMs: 6, rule: 'steady-trend', side: 'above', pointTimesMs: [1, 2, 3, 4, 5, 6] })
    expect(first([5, 4, 3, 2, 1, 0], 'steady-trend')?.side).toBe('below')
    expect(first([0, 1, 2, 2, 3, 4, 5], 'steady-trend')).toBeUndefined()
  })

  it('alternation: fourteen points', () => {
    const zigzag = Array.from({ length: 14 }, (_, i) => (i % 2 === 0 ? 1 : -1))
    expect(first(zigzag.slice(1), 'alternation')).toBeUndefined()
    expect(first(zigzag, 'alternation')).toMatchObject({ timeMs: 14, side: 'both' })
  })

  it('too quiet: fifteen within one sigma, the line included', () => {
    expect(first(new Array(15).fill(1), 'too-quiet')).toMatchObject({ timeMs: 15 })
    expect(first([...new Array(14).fill(0.5), 1.01], 'too-quiet')).toBeUndefined()
  })

  it('avoids the middle: eight beyond one sigma, the line excluded', () => {
    expect(first([2, -2, 2, -2, 2, -2, 2, -2], 'avoids-middle')).toMatchObject({ timeMs: 8 })
    expect(first(new Array(8).fill(1), 'avoids-middle')).toBeUndefined()
  })

  it('nine on one side; one hit an episode; only what is wanted', () => {
    expect(hitsOf(new Array(20).fill(-0.5), ['nine-on-one-side'])).toHaveLength(1)
    expect(hitsOf(new Array(20).fill(-0.5), [])).toHaveLength(0)
  })

  it('ends an episode at the first point that no longer fulfils the rule, and tells of the wanted ones only', () => {
    const state = createSupplementary()
    const ends: unknown[] = []
    ;[1, 2, 3, 4, 5, 6, 7, 7, 1, 2].forEach((z, i) => stepSupplementary(state, i + 1, z, ['steady-trend'], () => undefined, (end) => ends.push(end)))
    expect(ends).toEqual([{ timeMs: 8, rule: 'steady-trend', side: 'above' }])
  })
})
