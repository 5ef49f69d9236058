import { describe, expect, it } from 'vitest'
import { addToMinute, createMinuteBlock, endBlockSlot, middleOf, minuteSeries, residualVariance, withoutSlowCourse } from '../../../src/line/features/minute-block.js'
import { SLOT_MS } from '../../../src/line/features/feature-spec.js'
import type { Slot } from '../../../src/line/features/slot.js'
import { START_MS } from './feature-run.js'

function slowSd(at: (minute: number) => number): number {
  const means = Array.from({ length: 60 }, (_, minute) => at(minute))
  return Math.sqrt(residualVariance(withoutSlowCourse({ minutes: means.map((_, minute) => minute), means })))
}

const sine = (periodMin: number, amplitude: number) => (minute: number) => 130 + amplitude * Math.sin((2 * Math.PI * minute) / periodMin + 1)

describe('slow part', () => {
  it.each([3, 5, 10, 15, 20])('keeps a sine of %d min within a tenth', (periodMin) => {
    expect(slowSd(sine(periodMin, 1)) * Math.SQRT2).toBeGreaterThan(0.9)
    expect(slowSd(sine(periodMin, 1)) * Math.SQRT2).toBeLessThan(1.1)
  })

  it('takes out a slope and a day rhythm', () => {
    expect(slowSd((minute) => 130 + 0.05 * minute)).toBe(0)
    expect(slowSd(sine(24 * 60, 2))).toBeLessThan(0.005)
  })

  it('says nothing of fewer than ten minutes', () => {
    expect(withoutSlowCourse({ minutes: [1, 2, 3], means: [1, 2, 3] })).toEqual([])
    expect(residualVariance([])).toBe(0)
  })
})

describe('minute block', () => {
  const slot = (index: number): Slot => ({ startMs: START_MS + index * SLOT_MS, endMs: START_MS + (index + 1) * SLOT_MS, state: 'production', recipe: 'a', clean: true, recipeSinceMs: 0, boards: -1 })

  it('is full after its clean slots, and starts anew after one that is not', () => {
    const block = createMinuteBlock(2)
    const ends = [true, false, true, true].map((usable, index) => {
      addToMinute(block, START_MS + index * SLOT_MS + 30_000, index)
      return endBlockSlot(block, slot(index), usable)
    })
    expect(ends).toEqual([false, false, false, true])
    expect(minuteSeries(block)).toEqual({ minutes: [0, 10], means: [2, 3] })
  })
})

describe('middleOf', () => {
  it('takes one of two values and the median of three', () => {
    expect(middleOf([3, 1], 'lower')).toBe(1)
    expect(middleOf([3, 1], 'upper')).toBe(3)
    expect(middleOf([9, 1, 2], 'lower')).toBe(2)
  })
})
