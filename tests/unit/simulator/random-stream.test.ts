import { describe, expect, it } from 'vitest'
import { RandomStream } from '../../../src/simulator/random-stream.js'

const draws = (stream: RandomStream, count: number): number[] => Array.from({ length: count }, () => stream.next())

describe('RandomStream', () => {
  it('gives the same numbers for the same seed and name, others for another of either', () => {
    const first = draws(new RandomStream(1, 'a'), 5)
    expect(draws(new RandomStream(1, 'a'), 5)).toEqual(first)
    expect(draws(new RandomStream(2, 'a'), 5)).not.toEqual(first)
    expect(draws(new RandomStream(1, 'b'), 5)).not.toEqual(first)
    expect(draws(new RandomStream(11, 'a'), 5)).not.toEqual(draws(new RandomStream(1, 'a1'), 5))
  })

  it('is uniform and uncorrelated from one draw to the next', () => {
    const values = draws(new RandomStream(3, 'uniform'), 100_000)
    const counts = new Array<number>(10).fill(0)
    for (const value of values) counts[Math.floor(value * 10)]! += 1
    const chiSquare = counts.reduce((sum, count) => sum + (count - 10_000) ** 2 / 10_000, 0)
    expect(chiSquare).toBeLessThan(27.9) // 99.9 % point at 9 degrees of freedom
    const lagged = values.slice(1).reduce((sum, value, index) => sum + (value - 0.5) * (values[index]! - 0.5), 0) / 99_999 / (1 / 12)
    expect(Math.abs(lagged)).toBeLessThan(0.012)
  })

  it('draws standard normal numbers: mean, variance, kurtosis, tails', () => {
    const stream = new RandomStream(4, 'gauss')
    const values = Array.from({ length: 200_000 }, () => stream.gaussian())
    const moment = (power: number): number => values.reduce((sum, value) => sum + value ** power, 0) / values.length
    expect(Math.abs(moment(1))).toBeLessThan(0.01)
    expect(moment(2)).toBeCloseTo(1, 1)
    expect(moment(4)).toBeCloseTo(3, 0)
    expect(values.filter((value) => Math.abs(value) > 3).length / values.length).toBeCloseTo(0.0027, 3)
  })

  it('draws Poisson and gamma numbers with the stated moments', () => {
    const stream = new RandomStream(5, 'counts')
    const mean = (draw: () => number): number => Array.from({ length: 50_000 }, draw).reduce((sum, value) => sum + value, 0) / 50_000
    expect(mean(() => stream.poisson(2.5))).toBeCloseTo(2.5, 1)
    expect(mean(() => stream.gamma(0.3, 2))).toBeCloseTo(0.6, 1)
    expect(mean(() => stream.gamma(4, 0.5))).toBeCloseTo(2, 1)
    expect(mean(() => stream.waitingTime(2))).toBeCloseTo(0.5, 1)
    expect(stream.waitingTime(0)).toBe(Infinity)
  })

  it('refuses a seed that is no whole number and an empty list', () => {
    expect(() => new RandomStream(1.5, 'a')).toThrow('seed is 1.5')
    expect(() => new RandomStream(Number.NaN, 'a')).toThrow('whole number')
    expect(() => new RandomStream(1, 'a').pick([])).toThrow('nothing to pick from')
  })
})
