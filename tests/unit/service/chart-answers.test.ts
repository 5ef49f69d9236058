import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { featureCatalogue } from '../../../src/line/features/feature-catalogue.js'
import { parseLineDefinition, type LineDefinition } from '../../../src/line/line-definition.js'
import type { PointBody } from '../../../src/ports/line-store.js'
import { capabilityOf, ewmaPoints, limitCost, spreadPoints, togetherPoints } from '../../../src/service/chart-answers.js'
import { isDifference } from '../../../src/service/charted-features.js'
import { csvCell, pointsCsv } from '../../../src/service/points-csv.js'

const START_MS = Date.UTC(2026, 0, 5)
const TEN_MINUTES = 600_000

function definition(input: object = {}): LineDefinition {
  const result = parseLineDefinition({ line: 'line-a', ...input })
  if (result.kind === 'faults') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

/** The same numbers at every run: a sum of four uniform ones, about normal with variance 1/3. */
function noise(index: number, seed = 1): number {
  let state = (index * 2654435761 + seed * 40503) >>> 0
  let sum = 0
  for (let i = 0; i < 4; i += 1) {
    state = (Math.imul(state ^ (state >>> 15), 2246822519) + 3266489917) >>> 0
    sum += state / 2 ** 32 - 0.5
  }
  return sum * Math.sqrt(3)
}

function points(values: readonly number[], details: Partial<PointBody> = {}): PointBody[] {
  return values.map((value, index) => ({ timeMs: START_MS + index * TEN_MINUTES, feature: 'f', chart: 'individuals', value, statistic: value, centre: 0, lower: -5, upper: 5, sigma: 1, n: 100, recipe: 'a', state: 'production', baseline: 'accepted', ...details }))
}

describe('what limits cost', () => {
  const line = definition()
  const specs = featureCatalogue(line)
  const spec = specs.find(({ feature }) => feature === 'pot.temperature.offset')!
  const cost = limitCost(line, spec, specs.length)

  it('keeps the budget of the line: all features together give it', () => {
    const sum = specs.reduce((total, each) => total + limitCost(line, each, specs.length).falsePerWeek, 0)
    // features with few points have a floor of 50 points between two false signals, which can only cost less
    expect(sum).toBeLessThanOrEqual(line.budget.falseSignalsPerWeek + 1e-9)
    expect(sum).toBeGreaterThan(0.9 * line.budget.falseSignalsPerWeek)
  })

  it('gives the published run lengths of the textbook limits', () => {
    const { pointsPerWeek, textbook } = cost
    // 370.4 and 43.9 points for 3 sigma; 91.75 for the four rules (Champ and Woodall 1987), 9.22 after a shift of one sigma
    expect(pointsPerWeek / textbook.threeSigma.falsePerWeek).toBeCloseTo(370.4, 1)
    expect(textbook.threeSigma.delayPoints).toBeCloseTo(43.9, 1)
    expect(pointsPerWeek / textbook.fourRules.falsePerWeek).toBeCloseTo(91.75, 2)
    expect(textbook.fourRules.delayPoints).toBeCloseTo(9.22, 2)
  })

  it('costs far fewer false signals than the textbook, and sees one sigma sooner than 3 sigma alone', () => {
    expect(cost.textbook.fourRules.falsePerWeek / cost.falsePerWeek).toBeGreaterThan(100)
    expect(cost.delayPoints).toBeLessThan(cost.textbook.threeSigma.delayPoints)
    expect(cost.delayPoints).toBeGreaterThan(cost.textbook.fourRules.delayPoints)
  })
})

describe('charts made from the points', () => {
  it('EWMA follows its recurrence and passes its limit after a shift of two sigmas', () => {
    const values = Array.from({ length: 60 }, (_, index) => noise(index) + (index >= 40 ? 2 : 0))
    const made = ewmaPoints(points(values), 5000)
    let average = 0
    made.forEach(({ statistic }, index) => {
      average += 0.2 * (values[index]! - average)
      expect(statistic).toBeCloseTo(average, 10)
    })
    expect(made.slice(0, 40).every(({ statistic, lower, upper }) => statistic > lower && statistic < upper)).toBe(true)
    expect(made.slice(45).some(({ statistic, upper }) => statistic > upper)).toBe(true)
  })

  it('spread sees variance, and no level', () => {
    const wide = Array.from({ length: 200 }, (_, index) => noise(index) * (index >= 100 ? 3 : 1))
    const shifted = Array.from({ length: 200 }, (_, index) => noise(index) + (index >= 100 ? 3 : 0))
    expect(spreadPoints(points(wide)).at(-1)!.statistic).toBeGreaterThan(spreadPoints(points(wide)).at(-1)!.upper)
    expect(spreadPoints(points(shifted)).at(-1)!.statistic).toBeLessThan(spreadPoints(points(shifted)).at(-1)!.upper)
    expect(spreadPoints(points(wide))).toHaveLength(20)
  })

  it('together sees zones that part although each stays inside', () => {
    const common = Array.from({ length: 160 }, (_, index) => noise(index, 3))
    const one = common.map((value, index) => value + 0.1 * noise(index, 4))
    const two = common.map((value, index) => value + 0.1 * noise(index, 5) + (index >= 120 ? 1.5 : 0))
    const answer = togetherPoints(new Map([['one', points(one)], ['two', points(two)]]), 1 / 5000)
    if (answer.kind !== 'together') throw new Error(answer.kind)
    expect(answer.points.slice(0, 120).filter(({ statistic, upper }) => statistic > upper)).toEqual([])
    expect(answer.points.slice(120).filter(({ statistic, upper }) => statistic > upper).length).toBeGreaterThan(30)
    expect([...one, ...two].every((value) => Math.abs(value) < 5)).toBe(true)
  })

  it('together says why it has nothing to say', () => {
    const values = Array.from({ length: 100 }, (_, index) => noise(index))
    expect(togetherPoints(new Map([['one', points(values)]]), 0.001)).toMatchObject({ kind: 'too-few-values' })
    expect(togetherPoints(new Map([['one', points(values.slice(0, 10))], ['two', points(values.slice(0, 10))]]), 0.001)).toEqual({ kind: 'too-few-values', valueCount: 10, valueCountMin: 40 })
    expect(togetherPoints(new Map([['one', points(values)], ['two', points(values.map((value) => 2 * value))]]), 0.001)).toEqual({ kind: 'dependent', feature: 'two' })
  })
})

describe('capability of recent points', () => {
  const values = Array.from({ length: 300 }, (_, index) => 100 + noise(index))

  it('is stated for stable, normal values, with C about P and intervals around both', () => {
    const answer = capabilityOf(points(values), { lower: 96, upper: 104 }, [])
    if (answer.result.kind !== 'capability') throw new Error(answer.result.kind)
    const { ppk, pp, cp, cpk } = answer.result
    expect(answer).toMatchObject({ recipe: 'a', correlated: false, fromMs: START_MS })
    for (const index of [ppk, pp!, cp!, cpk!]) {
      expect(index.interval!.lower).toBeLessThan(index.value)
      expect(index.interval!.upper).toBeGreaterThan(index.value)
    }
    expect(cp!.value / pp!.value).toBeCloseTo(1, 1)
    // moving ranges know less of the spread than all values do
    expect(cp!.interval!.upper - cp!.interval!.lower).toBeGreaterThan(pp!.interval!.upper - pp!.interval!.lower)
  })

  it('is refused with the reason: signals, skewed values, too few', () => {
    expect(capabilityOf(points(values), { upper: 104 }, [START_MS + TEN_MINUTES]).result).toEqual({ kind: 'not-stable', signalCount: 1 })
    expect(capabilityOf(points(values), { upper: 104 }, [START_MS - TEN_MINUTES]).result.kind).toBe('capability')
    expect(capabilityOf(points(values.map((value) => Math.exp(value - 100))), { upper: 104 }, []).result.kind).toBe('not-normal')
    expect(capabilityOf(points(values.slice(0, 12)), { upper: 104 }, []).result).toMatchObject({ kind: 'too-few-values', valueCount: 12 })
    expect(capabilityOf(points(values, { chart: 'residual' }), { upper: 104 }, []).correlated).toBe(true)
  })
})

describe('points as a table', () => {
  const spec = featureCatalogue(definition()).find(({ feature }) => feature === 'pot.temperature.offset')!

  it('has a header, one line a point and times in UTC', () => {
    const [head, first, ...rest] = pointsCsv(points([-1.5, 2]), spec).trimEnd().split('\r\n')
    expect(head).toBe('time,window_start,feature,unit,chart,value,statistic,centre,lower,upper,sigma,n,recipe,state,baseline')
    expect(first).toBe('2026-01-05T00:00:00.000Z,2026-01-04T23:50:00.000Z,f,°C,individuals,-1.5,-1.5,0,-5,5,1,100,a,production,accepted')
    expect(rest).toHaveLength(1)
  })

  it('lets no text run as a formula, and leaves numbers numbers', () => {
    expect(csvCell('=HYPERLINK("http://x")')).toBe(`"'=HYPERLINK(""http://x"")"`)
    expect(csvCell(' +1')).toBe("' +1")
    expect(csvCell('@a')).toBe("'@a")
    expect(csvCell('\tb')).toBe("'\tb")
    expect(csvCell(-3)).toBe('-3')
    fc.assert(
      fc.property(fc.string(), (text) => {
        const cell = csvCell(text)
        const inner = cell.startsWith('"') ? cell.slice(1, -1).replaceAll('""', '"') : cell
        expect(/^\s*[=+\-@]/.test(inner)).toBe(false)
        expect(inner.replace(/^'/, '') === text || inner === text).toBe(true)
        if (!cell.startsWith('"')) expect(cell).not.toMatch(/[",\r\n]/)
      }),
    )
  })
})

describe('what is a difference of temperatures', () => {
  it('an offset from a known set-point, and no mean', () => {
    const known = featureCatalogue(definition({ channels: ['pot.temperature', 'pot.setpoint', 'preheat.zone-1.temperature'].map((channel) => ({ channel })) }))
    const of = (feature: string): boolean => isDifference(known.find((spec) => spec.feature === feature)!)
    expect(of('pot.temperature.offset')).toBe(true)
    expect(of('preheat.zone-1.temperature.offset')).toBe(false)
    expect(of('preheat.zone-1.warm-up-overshoot')).toBe(true)
  })
})
