import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { FAULT_IDS } from '../../../../src/line/causes.js'
import { learnedTable, type CauseFindings } from '../../../../src/line/diagnosis/learned-table.js'
import { diagnoseMoves, MINIMUM_LINE, probabilityOf, RICH_LINE } from '../../../unit/line/diagnosis/diagnosis-cases.js'

const count = fc.oneof(fc.nat(6), fc.nat(1000))
const findingsArbitrary: fc.Arbitrary<CauseFindings> = fc.record({ confirmed: count, somethingElse: count, nothingFound: count, ruledOut: fc.double({ min: 0, max: 50, noNaN: true }), features: fc.constant({}) })
const CASES = [
  { line: MINIMUM_LINE, moved: { 'conveyor.speed.spread': 4 }, cause: 'dirty-chain', name: 'transport-drag' },
  { line: MINIMUM_LINE, moved: { 'pot.level.offset': -4 }, cause: 'low-level', name: 'low-level' },
  { line: RICH_LINE, moved: { 'fluxer.flow.mean': -3, 'fluxer.flow-for-pressure': -3 }, cause: 'clogged-nozzle', name: 'clogged-nozzle' },
  { line: RICH_LINE, moved: { 'conveyor.current.warm': 3 }, cause: 'dry-chain', name: 'transport-drag' },
] as const

const weightAfter = ({ line, moved, cause, name }: (typeof CASES)[number], findings: CauseFindings): number =>
  probabilityOf(diagnoseMoves(line, moved, { table: learnedTable(line, { [name]: findings }) })[0]!, cause)

describe('what people found of suggestions', () => {
  it('moves the prior odds of a cause within a fifth and the double, whatever the counts', () => {
    fc.assert(
      fc.property(fc.dictionary(fc.constantFrom(...FAULT_IDS, 'transport-drag', 'zone-weak'), findingsArbitrary), (findings) => {
        for (const { odds } of Object.values(learnedTable(RICH_LINE, findings).found ?? {})) {
          expect(odds).toBeGreaterThanOrEqual(0.2)
          expect(odds).toBeLessThanOrEqual(2)
        }
      }),
      { numRuns: 60 },
    )
  })

  it('each further confirmation raises the cause or its group, each further error lowers it, in the next diagnosis', () => {
    fc.assert(
      fc.property(fc.constantFrom(...CASES), fc.nat(4), fc.nat(4), fc.constantFrom('somethingElse' as const, 'nothingFound' as const), (one, confirmed, wrong, kind) => {
        const at = (right: number, errors: number): number => weightAfter(one, { confirmed: right, [kind]: errors, features: {} })
        expect(at(confirmed + 1, wrong)).toBeGreaterThanOrEqual(at(confirmed, wrong))
        expect(at(confirmed, wrong + 1)).toBeLessThanOrEqual(at(confirmed, wrong))
        expect(at(1, 0)).toBeGreaterThan(at(0, 0))
        expect(at(0, 1)).toBeLessThan(at(0, 0))
      }),
      { numRuns: 30 },
    )
  })
})
