import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { createEwma, stepEwma } from '../../../src/spc/ewma-chart.js'
import { createCusum, stepCusum } from '../../../src/spc/cusum-chart.js'
import { createIndividuals, individualsLimits, stepIndividuals } from '../../../src/spc/individuals-chart.js'
import { createMewma, multivariateBaseline, stepMewma } from '../../../src/spc/multivariate-charts.js'
import { createSelfStarting, stepSelfStarting } from '../../../src/spc/self-starting.js'
import { createSpread, stepSpread } from '../../../src/spc/spread-chart.js'
import { createSupplementary, stepSupplementary } from '../../../src/spc/supplementary-rules.js'
import { equivalenceTest, meanTest } from '../../../src/spc/two-sample-tests.js'
import { createWesternElectric, stepWesternElectric } from '../../../src/spc/western-electric.js'

// eighths: powers of two and sums of them are exact, so that decisions need no tolerance
const value = fc.integer({ min: -80, max: 80 }).map((eighths) => eighths / 8)
const series = fc.array(value, { minLength: 1, maxLength: 60 })

interface Chart {
  create(): unknown
  /** What the chart says of one value, in plain JSON. */
  step(state: any, value: number, i: number): unknown
}

const baseline = (() => {
  const fit = multivariateBaseline(Array.from({ length: 20 }, (_, i) => [Math.sin(i), Math.cos(3 * i)]))
  if (fit.kind !== 'baseline') throw new Error(fit.kind)
  return fit
})()
const limits = (() => {
  const fit = individualsLimits([0, 1, -1, 0.5, -0.5, 2])
  if (fit.kind !== 'limits') throw new Error(fit.kind)
  return fit
})()
const ewma = (unit = 1, lambda = 0.25) => ({ centre: 0, sigma: unit, lambda, limit: 2.75, limits: 'time-varying' }) as const
const cusum = (unit = 1) => ({ centre: 0, sigma: unit, k: 0.5, h: 4 })
const spread = { sigma: 1, windowSize: 10, lambda: 0.25, limit: 3 }
const collect = (run: (push: (hit: unknown) => void) => void): unknown[] => {
  const hits: unknown[] = []
  run((hit) => hits.push(hit))
  return hits
}

const CHARTS: Record<string, Chart> = {
  individuals: { create: createIndividuals, step: (state, x) => stepIndividuals(state, limits, x) },
  EWMA: { create: () => createEwma(ewma()), step: (state, x) => stepEwma(state, ewma(), x) },
  CUSUM: { create: () => createCusum(cusum()), step: (state, x) => stepCusum(state, cusum(), x) },
  spread: { create: () => createSpread(spread), step: (state, x) => stepSpread(state, spread, Math.abs(x)) },
  'self-starting': { create: () => createSelfStarting({ k: 0.5, h: 5 }), step: (state, x) => stepSelfStarting(state, { k: 0.5, h: 5 }, x) },
  'multivariate EWMA': { create: () => createMewma(baseline), step: (state, x) => stepMewma(state, baseline, 0.2, 10, [x, -x / 2]) },
  'Western Electric': { create: createWesternElectric, step: (state, x, i) => collect((push) => stepWesternElectric(state, i, x, 'individuals', push)) },
  supplementary: {
    create: createSupplementary,
    step: (state, x, i) => collect((push) => stepSupplementary(state, i, x, ['steady-trend', 'alternation', 'too-quiet', 'avoids-middle', 'nine-on-one-side'], push)),
  },
}

describe('every chart goes on exactly from its parsed text', () => {
  it.each(Object.keys(CHARTS))('%s', (name) => {
    const { create, step } = CHARTS[name]!
    fc.assert(
      fc.property(series, fc.nat(), (values, cut) => {
        const whole = create()
        let parts = create()
        values.forEach((x, i) => {
          if (i === cut % values.length) parts = JSON.parse(JSON.stringify(parts))
          expect(JSON.stringify(step(parts, x, i))).toBe(JSON.stringify(step(whole, x, i)))
        })
        expect(JSON.stringify(parts)).toBe(JSON.stringify(whole))
      }),
    )
  })
})

describe('unit, side and zero', () => {
  it('EWMA follows unit and sign exactly, and its last value a shift', () => {
    fc.assert(
      fc.property(series, fc.constantFrom(0.125, 64), fc.integer({ min: -50, max: 50 }), (values, unit, offset) => {
        const plain = createEwma(ewma())
        const scaled = createEwma(ewma(unit))
        const mirrored = createEwma(ewma())
        const moved = createEwma({ ...ewma(), centre: offset })
        for (const x of values) {
          const point = stepEwma(plain, ewma(), x)
          const other = stepEwma(scaled, ewma(unit), x * unit)
          expect(other.statistic).toBe(point.statistic * unit)
          expect(other.beyond).toBe(point.beyond)
          expect(stepEwma(mirrored, ewma(), -x).statistic).toBeCloseTo(-point.statistic, 12)
          expect(stepEwma(moved, { ...ewma(), centre: offset }, x + offset).statistic - offset).toBeCloseTo(point.statistic, 10)
        }
      }),
    )
  })

  it('CUSUM follows unit and shift exactly', () => {
    fc.assert(
      fc.property(series, fc.constantFrom(0.125, 64), fc.integer({ min: -50, max: 50 }), (values, unit, offset) => {
        const plain = createCusum(cusum())
        const other = createCusum(cusum(unit))
        for (const x of values) {
          stepCusum(plain, cusum(), x)
          stepCusum(other, { ...cusum(unit), centre: offset * unit }, (x + offset) * unit)
          expect(other).toEqual(plain)
        }
      }),
    )
  })

  it('self-starting charts need neither unit nor zero', () => {
    const design = { k: 0.5, h: 5 }
    fc.assert(
      fc.property(series, fc.constantFrom(0.125, 64), fc.integer({ min: -50, max: 50 }), (values, unit, offset) => {
        const plain = createSelfStarting(design)
        const other = createSelfStarting(design)
        const mirrored = createSelfStarting(design)
        for (const x of values) {
          const result = stepSelfStarting(plain, design, x)
          const moved = stepSelfStarting(other, design, (x + offset) * unit)
          const turned = stepSelfStarting(mirrored, design, -x)
          // rounding of the running mean may leave a spread of 1e-15 where all values were equal
          if (result.kind !== 'judged' || moved.kind !== 'judged' || turned.kind !== 'judged') return
          expect(Math.abs(moved.q - result.q)).toBeLessThan(1e-6 * (1 + Math.abs(result.q)))
          expect(turned.q).toBeCloseTo(-result.q, 9)
        }
      }),
    )
  })

  it('the spread chart looks at the ratio to its sigma only', () => {
    fc.assert(
      fc.property(series, fc.constantFrom(0.125, 64), (values, unit) => {
        const plain = createSpread(spread)
        const other = createSpread({ ...spread, sigma: unit })
        for (const x of values) expect(stepSpread(other, { ...spread, sigma: unit }, Math.abs(x) * unit).statistic).toBe(stepSpread(plain, spread, Math.abs(x)).statistic)
      }),
    )
  })

  it('rules treat both sides alike', () => {
    fc.assert(
      fc.property(series, (values) => {
        const swap = { above: 'below', below: 'above', both: 'both' } as const
        const hits = (of: Chart, sign: number): string[] => {
          const state = of.create()
          return values.flatMap((x, i) => (of.step(state, sign * x, i) as { rule: string; side: 'above' | 'below' | 'both' }[]).map(({ rule, side }) => `${i} ${rule} ${sign > 0 ? side : swap[side]}`)).sort()
        }
        for (const name of ['Western Electric', 'supplementary']) expect(hits(CHARTS[name]!, -1)).toEqual(hits(CHARTS[name]!, 1))
      }),
    )
  })
})

describe('equivalence by two one-sided tests', () => {
  const sample = fc.array(fc.double({ min: -10, max: 10, noNaN: true }), { minLength: 3, maxLength: 20 })

  it('is shown exactly when the interval lies inside the margin, and its p is that of the worse one-sided test', () => {
    fc.assert(
      fc.property(sample, sample, fc.double({ min: 0.1, max: 20, noNaN: true }), (x, y, margin) => {
        const test = equivalenceTest(x, y, { margin })
        if (test.kind !== 'equivalent' && test.kind !== 'not-shown') return
        const inside = test.interval.lower > -margin && test.interval.upper < margin
        // at p = alpha both say the same but for rounding
        if (Math.abs(test.p - 0.05) > 1e-9) expect(test.kind === 'equivalent').toBe(inside)
        // a spread that is lost beside the margin leaves the second way of reckoning nothing to go by
        if (meanTest(x, y).kind !== 'mean-test' || test.interval.upper - test.interval.lower < 1e-6) return
        const oneSided = (offset: number, wanted: 'upper' | 'lower'): number => {
          const moved = meanTest(x.map((each) => each + offset), y)
          if (moved.kind !== 'mean-test') throw new Error(moved.kind)
          return (moved.statistic > 0) === (wanted === 'upper') ? moved.p / 2 : 1 - moved.p / 2
        }
        expect(test.p).toBeCloseTo(Math.max(oneSided(margin, 'upper'), oneSided(-margin, 'lower')), 6)
        const swapped = equivalenceTest(y, x, { margin })
        expect(swapped.kind).toBe(test.kind)
      }),
    )
  })
})
