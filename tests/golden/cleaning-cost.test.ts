import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../src/line/line-definition.js'
import { breakEvenPrice, cleaningCost, compareCleaning, fireGate, type CleaningMethod } from '../../src/maintenance/cost/cleaning-methods.js'

const reference = JSON.parse(readFileSync('fixtures/reference/cleaning-cost.json', 'utf8')) as {
  readonly tolerance: number
  readonly labourPerHour: number
  readonly solvent: Readonly<Record<string, number>>
  readonly engineered: Readonly<Record<string, number>>
  readonly expected: Readonly<Record<'solvent' | 'engineered' | 'breakEvenPrice' | 'solventInOnePass', number>>
}

function definitionWith(costs: object): ReturnType<typeof parseLineDefinition> & { kind: 'definition' } {
  const parsed = parseLineDefinition({ line: 'line-a', costs })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  return parsed
}

const { definition } = definitionWith({
  labourPerHour: reference.labourPerHour,
  cleaningMethods: [
    { method: 'solvent', ...reference.solvent },
    { method: 'engineered', ...reference.engineered, flashPointC: null },
  ],
})
const [solvent, engineered] = definition.costs!.cleaningMethods! as [CleaningMethod, CleaningMethod]
const figures = { labourPerHour: reference.labourPerHour, stopPerHour: 0 }

describe('cost of a cleaning against the worked example', () => {
  it('gives the two costs, and the one that turns the result round', () => {
    expect(Math.abs(cleaningCost(solvent, figures) - reference.expected.solvent)).toBeLessThan(reference.tolerance)
    expect(Math.abs(cleaningCost(engineered, figures) - reference.expected.engineered)).toBeLessThan(reference.tolerance)
    expect(Math.abs(cleaningCost(solvent, figures, 1) - reference.expected.solventInOnePass)).toBeLessThan(reference.tolerance)
  })

  it('gives the break-even price per litre', () => {
    expect(Math.abs(breakEvenPrice(engineered, solvent, figures)! - reference.expected.breakEvenPrice)).toBeLessThan(reference.tolerance)
    expect(cleaningCost({ ...engineered, pricePerLitre: reference.expected.breakEvenPrice }, figures)).toBeCloseTo(reference.expected.solvent, 9)
    expect(breakEvenPrice({ ...engineered, litresPerPass: 0 }, solvent, figures)).toBeUndefined()
  })

  it('counts line stop, cooling, waste and fire risk by the formula', () => {
    const dear = { ...solvent, coolDownHours: 0.5, wastePerLitre: 3, riskPerJob: 7 }
    // 92 + (0.5 + 4 x 0.5) x 100 + 0.5 x 4 x 3 + 7
    expect(cleaningCost(dear, { labourPerHour: 40, stopPerHour: 100 })).toBeCloseTo(92 + 250 + 6 + 7, 9)
  })

  it('asks the fire gate before the money: alcohol is held back at any price', () => {
    expect(fireGate(solvent, 30)).toEqual({ gate: 'never', flashPointC: 12 })
    const { verdict, methods } = compareCleaning({ costs: { ...definition.costs!, cleaningMethods: [{ ...solvent, passes: 1 }, engineered] } }, { duringProduction: false, hottestSurfaceC: 30 })
    expect(verdict).toEqual({ kind: 'one-allowed', method: 'engineered' })
    expect(methods[1]).toMatchObject({ gate: { gate: 'never' }, cost: { likely: reference.expected.solventInOnePass } })
  })

  it.each([
    [70, 55, 'allowed'],
    [70, 55.5, 'cool-first'],
    [70, undefined, 'measure-first'],
    [null, 300, 'allowed'],
    [undefined, 20, 'no-data-sheet'],
    [39.9, 20, 'never'],
  ])('with a flash point of %s and a surface of %s °C the gate is %s', (flashPointC, surfaceC, gate) => {
    expect(fireGate({ flashPointC }, surfaceC)).toMatchObject({ gate })
  })

  it('says "about equal" where the passes do not tell the two apart, and names the missing figure', () => {
    const near = { ...engineered, method: 'other', pricePerLitre: 24 }
    const both = { ...definition.costs!, cleaningMethods: [engineered, near] }
    expect(compareCleaning({ costs: both }, { duringProduction: false }).verdict).toEqual({ kind: 'about-equal', methods: ['engineered', 'other'] })
    const { labourPerHour: _without, ...rest } = both
    const unknown = compareCleaning({ costs: rest }, { duringProduction: true })
    expect(unknown.verdict).toEqual({ kind: 'no-figure', missing: ['labourPerHour', 'lineStopPerHour'] })
    expect(unknown.methods.every(({ cost }) => cost.kind === 'no-figure')).toBe(true)
  })

  it('takes the passes people counted from three records on', () => {
    const harmless = { ...solvent, flashPointC: null }
    const records = [1, 1, 1].map((passes) => ({ product: 'solvent', passes }))
    const costs = { ...definition.costs!, cleaningMethods: [harmless, engineered] }
    expect(compareCleaning({ costs }, { duringProduction: false, records: records.slice(1) }).verdict).toEqual({ kind: 'cheapest', method: 'engineered' })
    expect(compareCleaning({ costs }, { duringProduction: false, records }).verdict).toEqual({ kind: 'cheapest', method: 'solvent' })
  })
})
