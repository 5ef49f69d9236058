import { describe, expect, it } from 'vitest'
import { BENIGN_IDS, FAULT_IDS } from '../../../../src/line/causes.js'
import { historyFactor } from '../../../../src/line/diagnosis/cause-priors.js'
import { bestCheck, CHECKS, rankChecks } from '../../../../src/line/diagnosis/checks.js'
import { sureness } from '../../../../src/line/diagnosis/votes.js'
import { learnedTable, PSEUDO_COUNT } from '../../../../src/line/diagnosis/learned-table.js'
import { DEFAULT_LIKELIHOODS, expectedMoves, likelihoodTableSchema, outcomesOf } from '../../../../src/line/diagnosis/likelihoods.js'
import { featureCatalogue } from '../../../../src/line/features/feature-catalogue.js'
import { definitionOf, onlyDiagnosis, probabilityOf, RICH_LINE } from './diagnosis-cases.js'

describe('likelihoods', () => {
  it('are chances that sum to 1 for every cause and feature', () => {
    for (const spec of featureCatalogue(RICH_LINE)) {
      for (const cause of [...FAULT_IDS, ...BENIGN_IDS]) {
        const { up, down, quiet } = outcomesOf(cause, spec.feature, RICH_LINE)
        expect(up + down + quiet).toBeCloseTo(1, 12)
        expect(Math.min(up, down, quiet)).toBeGreaterThan(0)
      }
    }
  })

  it('put matrix cells on features with their signs', () => {
    expect(outcomesOf('coated-thermocouple', 'preheat.zone-1.temperature.fast', RICH_LINE)).toMatchObject({ down: 0.65 })
    expect(outcomesOf('ageing-element', 'preheat.zone-1.warm-up-time', RICH_LINE).up).toBe(0.88)
    expect(outcomesOf('leaking-seal', 'fluxer.pressure.hold', RICH_LINE).down).toBe(0.88)
    expect(outcomesOf('low-level', 'board.defects.skip.count', RICH_LINE).up).toBe(0.88)
    expect(outcomesOf('worn-bearing', 'board.defects.odd.count', RICH_LINE).up).toBeGreaterThan(outcomesOf('low-level', 'board.defects.odd.count', RICH_LINE).up)
  })

  it('weigh machine facts that are not known', () => {
    const unknown = definitionOf()
    const known = outcomesOf('clogged-blower', 'preheat.zone-1.blower-current.mean', RICH_LINE)
    const mixed = outcomesOf('clogged-blower', 'preheat.zone-1.blower-current.mean', unknown)
    expect(known.down).toBeGreaterThan(mixed.down)
    expect(mixed.up).toBeGreaterThan(known.up)
    expect(expectedMoves('saturated-filter', 'preheat.zone-1.duty.effort', unknown)).toHaveLength(1)
    expect(expectedMoves('saturated-filter', 'preheat.zone-2.duty.effort', unknown)).toEqual([])
  })

  it('none of these is flat: every feature the same, both ways', () => {
    const [first, ...rest] = featureCatalogue(RICH_LINE).map((spec) => outcomesOf('none-of-these', spec.feature, RICH_LINE))
    expect(first!.up).toBe(first!.down)
    for (const other of rest) expect(other).toEqual(first)
  })

  it('a site may override one cell, and the form of its table is checked', () => {
    const table = { ...DEFAULT_LIKELIHOODS, own: { 'dry-chain conveyor.current.warm': { up: 0.2, down: 0.1 } } }
    expect(likelihoodTableSchema.safeParse(table).success).toBe(true)
    expect(outcomesOf('dry-chain', 'conveyor.current.warm', RICH_LINE, table)).toMatchObject({ up: 0.2, down: 0.1 })
    expect(outcomesOf('dry-chain', 'conveyor.current.warm', RICH_LINE).up).toBe(0.88)
    expect(likelihoodTableSchema.safeParse({ ...table, own: { 'dry-chain conveyor.current.warm': { up: 0.7, down: 0.4 } } }).success).toBe(false)
    expect(likelihoodTableSchema.safeParse({ ...table, shows: { ...table.shows, '2': 0.2 } }).success).toBe(false)
  })

  it('movements weigh by size: four sigmas are sure, one is not, unless it stands', () => {
    const at = (shiftSigma: number, windows = 1): number => sureness({ shiftSigma, windows, trend: 'steady' })
    expect(at(4)).toBeGreaterThan(0.98)
    expect(at(1)).toBeLessThan(0.5)
    expect(at(1, 10)).toBeGreaterThan(at(1))
    expect(at(-4)).toBe(at(4))
    expect(sureness({ shiftSigma: 4, windows: 3, trend: 'fading' })).toBeLessThan(at(4, 3))
  })
})

describe('learned table', () => {
  it('starts as the table and follows what people confirmed', () => {
    expect(learnedTable(RICH_LINE, {}).own).toEqual({})
    const confirmed = { 'dry-chain': { features: { 'conveyor.current.warm': { up: 0, down: 0, quiet: 12 } } }, 'transport-drag': { features: { 'conveyor.speed.spread': { up: 9, down: 0, quiet: 0 } } } }
    const table = learnedTable(RICH_LINE, confirmed)
    expect(Object.keys(table.own)).toEqual(['dry-chain conveyor.current.warm'])
    expect(table.own['dry-chain conveyor.current.warm']!.up).toBeCloseTo((PSEUDO_COUNT * 0.88) / (PSEUDO_COUNT + 12), 12)
    const moved = { 'conveyor.current.warm': 4 }
    expect(probabilityOf(onlyDiagnosis(RICH_LINE, moved, { table }), 'dry-chain')).toBeLessThan(probabilityOf(onlyDiagnosis(RICH_LINE, moved), 'dry-chain'))
  })
})

describe('priors from work history', () => {
  it('grow with the deposit and are held within a fifth and the double', () => {
    expect(historyFactor({ since: 0, interval: 100 })).toBe(0.2)
    expect(historyFactor({ since: 100, interval: 100 })).toBeCloseTo(1, 12)
    // 1 - exp(-ln2 2^1.5) = 0.859 at twice the interval
    expect(historyFactor({ since: 200, interval: 100 })).toBeCloseTo(0.859 / 0.5, 2)
    expect(historyFactor({ since: 5000, interval: 100 })).toBe(2)
    expect(() => historyFactor({ since: 1, interval: 0 })).toThrow('interval > 0')
  })
})

describe('checks', () => {
  it('every fault has a check that needs no electrician', () => {
    for (const fault of FAULT_IDS) expect(CHECKS.some((check) => !check.needsElectrician && check.shows.includes(fault))).toBe(true)
  })

  it('the first check tells most a minute: of two equal suspects the one looked at faster', () => {
    expect(bestCheck([{ cause: 'low-level', probability: 0.5 }, { cause: 'drifting-pot-probe', probability: 0.5 }], 'pot').check).toBe('dip-stick')
    expect(rankChecks([{ cause: 'ageing-element', probability: 0.9 }, { cause: 'none-of-these', probability: 0.1 }], 'preheat').every((check) => !check.needsElectrician)).toBe(true)
    expect(bestCheck([{ cause: 'ageing-element', probability: 0.7 }, { cause: 'board-load', probability: 0.3 }], 'pot').check).not.toBe('compare-warm-up')
  })
})
