import { describe, expect, it } from 'vitest'
import { poisson, seeded } from '../line-features/feature-run.js'
import { idealCountErrors, type BoardCount } from '../../../src/tools/detect/ideal-counts.js'

const HOUR_MS = 3_600_000

/** Sixty boards an hour, for two days before the onset and one after it, of two kinds and two recipes. */
function boards(seed: number, factor: number): BoardCount[] {
  const draw = poisson(seeded(seed))
  return Array.from({ length: 72 * 60 }, (_, board) => board).flatMap((board) =>
    [['skip', 0.01], ['bridge', 0.03]].map(([kind, rate]): BoardCount => {
      const recipe = Math.floor(board / 240) % 2 === 0 ? 'a' : 'b'
      return { timeMs: (board / 60) * HOUR_MS, kind: String(kind), recipe, count: draw(Number(rate) * (recipe === 'b' ? 3 : 1) * (board >= 48 * 60 ? factor : 1)) }
    }),
  )
}

describe('the best test there can be of counts', () => {
  const errors = (factor: number): number[] => Array.from({ length: 60 }, (_, seed) => idealCountErrors(boards(seed + 1, factor), 48 * HOUR_MS, () => 1)!)
  const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length

  it('stands at none where nothing happened, scattering by one and by what the levels are unsure', () => {
    const none = errors(1)
    expect(Math.abs(mean(none))).toBeLessThan(0.5)
    const sd = Math.sqrt(mean(none.map((value) => value ** 2)))
    // levels from twice as many boards: the root of 1.5; less what the hours are taken to scatter more
    expect(sd).toBeGreaterThan(0.9)
    expect(sd).toBeLessThan(1.5)
  })

  it('stands where the number of defects says: half as many again is half the root of what was expected', () => {
    // 1,440 boards of 0.04 and 0.12 in turn: 115 defects expected
    expect(mean(errors(1.5))).toBeGreaterThan(0.8 * 0.5 * Math.sqrt(115))
    expect(mean(errors(1.5))).toBeLessThan(1.05 * 0.5 * Math.sqrt(115))
  })

  it('says nothing where there is nothing to compare with', () => {
    expect(idealCountErrors([], 0, () => 1)).toBeUndefined()
    expect(idealCountErrors(boards(1, 1), 0, () => 1)).toBeUndefined()
  })
})
