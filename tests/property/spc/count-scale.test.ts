import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { fromCountScale, toCountScale } from '../../../src/spc/count-scale.js'

describe('the scale of counts', () => {
  it('leads back to the count, and keeps the order', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 1e6, noNaN: true }), fc.double({ min: 0, max: 1e6, noNaN: true }), (a, b) => {
        expect(fromCountScale(toCountScale(a))).toBeCloseTo(a, 6)
        if (a < b) expect(toCountScale(a)).toBeLessThanOrEqual(toCountScale(b))
      }),
    )
  })

  it('never leads to a count below none', () => {
    fc.assert(fc.property(fc.double({ min: -100, max: 100, noNaN: true }), (root) => void expect(fromCountScale(root)).toBeGreaterThanOrEqual(0)))
  })

  // Anscombe F. J. (1948), The transformation of Poisson, binomial and negative-binomial data, Biometrika 35: the variance of
  // sqrt(x + 3/8) is 1/4 to within a few percent from a mean of 4 on. Summed here over the Poisson distribution itself.
  it.each([4, 8, 20, 60])('gives Poisson counts of mean %d a variance of a quarter', (mean) => {
    let chance = Math.exp(-mean)
    let first = 0
    let second = 0
    for (let count = 0; count < 400; count += 1) {
      const root = toCountScale(count)
      first += chance * root
      second += chance * root * root
      chance *= mean / (count + 1)
    }
    expect(second - first * first).toBeGreaterThan(0.25 * 0.95)
    expect(second - first * first).toBeLessThan(0.25 * 1.05)
  })
})
