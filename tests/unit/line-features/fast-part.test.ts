import { describe, expect, it } from 'vitest'
import { addToFastPart, createFastPart, endFastSlot, fastVariance, fitFastPart } from '../../../src/line/features/fast-part.js'
import { lnSd } from '../../../src/line/features/trend-moments.js'
import { normal, rounded, seeded } from './feature-run.js'

function fastSd(periodS: number, count: number, at: (second: number) => number): number {
  const part = createFastPart()
  fitFastPart(part, periodS)
  for (let step = 0; step < count; step += 1) addToFastPart(part, at(step * periodS))
  return Math.sqrt(fastVariance(part))
}

describe('fast part', () => {
  it.each([1, 2, 5])('gives white noise its own sd at %d s', (periodS) => {
    const noise = normal(seeded(periodS))
    expect(fastSd(periodS, 20_000, () => 150 + 0.3 * noise())).toBeCloseTo(0.3, 2)
  })

  it('passes a sine of 6 s whole and stops one of 10 min', () => {
    const sine = (period: number) => (second: number) => 150 + 2 * Math.sin((2 * Math.PI * second) / period)
    // sd of a sine is its amplitude over √2; the mean over 21 s holds a little of the fast one
    expect(fastSd(1, 6000, sine(6))).toBeCloseTo(2 / Math.SQRT2, 0)
    expect(fastSd(1, 6000, sine(600))).toBeLessThan(0.01)
  })

  it('does not see a steady slope: set-point ramps and warm-up leave no fast part', () => {
    expect(fastSd(5, 2000, (second) => 100 + 0.05 * second)).toBeLessThan(1e-9)
  })

  it('gives a channel rounded to 0.1 the rounding at least, so that a dead sensor has a floor and not minus infinity', () => {
    const noise = normal(seeded(4))
    const sd = fastSd(5, 20_000, () => rounded(150 + 0.12 * noise(), 0.1))
    expect(sd).toBeCloseTo(Math.sqrt(0.12 ** 2 + 0.1 ** 2 / 12), 2)
    expect(lnSd(fastSd(5, 200, () => 150), 0.1)).toBeCloseTo(Math.log(0.1 / Math.sqrt(12)), 6)
    expect(lnSd(0, 0)).toBeUndefined()
  })

  it('is off above 6.6 s, where too few readings lie in 20 s', () => {
    const part = createFastPart()
    fitFastPart(part, 10)
    addToFastPart(part, 1)
    expect(part.n).toBe(0)
  })

  it('cuts a single spike at six sd of the slot before', () => {
    const noise = normal(seeded(9))
    const part = createFastPart()
    fitFastPart(part, 5)
    for (let step = 0; step < 120; step += 1) addToFastPart(part, 150 + 0.1 * noise())
    const calm = fastVariance(part)
    endFastSlot(part, true)
    for (let step = 0; step < 120; step += 1) addToFastPart(part, step === 60 ? 250 : 150 + 0.1 * noise())
    expect(Math.sqrt(fastVariance(part) / calm)).toBeLessThan(2)
  })
})
