import { describe, expect, it } from 'vitest'
import { FaultLedger } from '../../../src/simulator/fault-ledger.js'
import { RandomStream } from '../../../src/simulator/random-stream.js'
import type { FaultEpisode, MaintenanceWork } from '../../../src/simulator/simulation-config.js'

function ledgerOf(faults: readonly FaultEpisode[], naturalRate = 0): FaultLedger {
  return new FaultLedger(3, faults, naturalRate, 400, new RandomStream(1, 'faults'))
}

/** Production in steps of six minutes. */
function produce(ledger: FaultLedger, hours: number, fromHours = 0, producing = true, boardsPerHour = 120): void {
  for (let step = 1; step <= Math.round(hours * 10); step += 1) ledger.advance({ hours: 0.1, elapsedHours: fromHours + step / 10, producing, hot: true, boards: boardsPerHour / 10 })
}

const work = (kind: MaintenanceWork['work'], causes: readonly string[], more: Partial<MaintenanceWork> = {}): MaintenanceWork => ({ atHours: 0, work: kind, causes, ...more })

describe('FaultLedger', () => {
  it('grows a deposit slowly, then fast, to its end after the hours of production asked for', () => {
    const ledger = ledgerOf([{ cause: 'dirty-chain', onsetHours: 0, growthHours: 20, severityEnd: 0.9 }])
    produce(ledger, 4)
    const early = ledger.severityOf('dirty-chain')
    produce(ledger, 4, 4)
    const middle = ledger.severityOf('dirty-chain')
    expect(middle - early).toBeGreaterThan(early)
    produce(ledger, 13, 8)
    expect(ledger.severityOf('dirty-chain')).toBeCloseTo(0.9, 3)
    produce(ledger, 20, 21)
    expect(ledger.severityOf('dirty-chain')).toBeCloseTo(0.9, 3)
  })

  it('wear goes with the square of the hours, dryness in a line, a step at once', () => {
    const half = (cause: string): number => {
      const ledger = ledgerOf([{ cause, onsetHours: 0, growthHours: 20 }])
      produce(ledger, 10)
      return ledger.severityOf(cause as 'worn-drive')
    }
    expect(half('worn-drive')).toBeCloseTo(0.25, 2)
    expect(half('dry-chain')).toBeCloseTo(0.5, 2)
    expect(half('misoriented-nozzle')).toBe(1)
  })

  it('waits for the onset and stands still while nothing is produced', () => {
    const ledger = ledgerOf([{ cause: 'dirty-chain', onsetHours: 5, growthHours: 10 }])
    produce(ledger, 4.9)
    expect(ledger.severityOf('dirty-chain')).toBe(0)
    produce(ledger, 5, 4.9)
    const before = ledger.severityOf('dirty-chain')
    expect(before).toBeGreaterThan(0)
    produce(ledger, 50, 10, false)
    expect(ledger.severityOf('dirty-chain')).toBe(before)
  })

  it('keeps a fault in its zone', () => {
    const ledger = ledgerOf([{ cause: 'coated-thermocouple', zone: 2, onsetHours: 0, growthHours: 1 }])
    produce(ledger, 2)
    expect([1, 2, 3].map((zone) => Number(ledger.severityOf('coated-thermocouple', zone).toFixed(2)))).toEqual([0, 1, 0])
    expect(() => ledgerOf([{ cause: 'clogged-blower', zone: 4, onsetHours: 0, growthHours: 1 }])).toThrow('no clogged-blower in zone 4')
  })

  it('a full clean takes nearly all, a wipe leaves what is baked', () => {
    const after = (kind: MaintenanceWork['work']): number => {
      const ledger = ledgerOf([{ cause: 'coated-emitter', zone: 1, onsetHours: 0, growthHours: 100 }])
      produce(ledger, 100)
      ledger.perform(work(kind, ['coated-emitter'], { zone: 1 }))
      return ledger.severityOf('coated-emitter', 1)
    }
    expect(after('full-clean')).toBeLessThan(0.05)
    expect(after('wipe')).toBeGreaterThan(after('solvent-wipe'))
    expect(after('solvent-wipe')).toBeGreaterThan(after('full-clean'))
    expect(after('lubricate')).toBeGreaterThan(0.95)
  })

  it('cleaning does not cure wear, repair does', () => {
    const ledger = ledgerOf([{ cause: 'worn-sprocket', onsetHours: 0, growthHours: 10 }])
    produce(ledger, 10)
    ledger.perform(work('full-clean', ['worn-sprocket']))
    expect(ledger.severityOf('worn-sprocket')).toBeCloseTo(1, 2)
    ledger.perform(work('repair', ['worn-sprocket']))
    expect(ledger.severityOf('worn-sprocket')).toBe(0)
    produce(ledger, 10, 10)
    expect(ledger.severityOf('worn-sprocket')).toBe(0)
  })

  it('washing the chain takes the film off; lubricating ends the dryness', () => {
    const ledger = ledgerOf([{ cause: 'dirty-chain', onsetHours: 0, growthHours: 10 }])
    produce(ledger, 10)
    ledger.perform(work('full-clean', ['dirty-chain'], { lubricated: false }))
    expect(ledger.severityOf('dirty-chain')).toBeLessThan(0.05)
    expect(ledger.severityOf('dry-chain')).toBe(1)
    ledger.perform(work('lubricate', []))
    expect(ledger.severityOf('dry-chain')).toBe(0)
  })

  it('a dry chain is not cured by wiping, only by lubricating', () => {
    const ledger = ledgerOf([{ cause: 'dry-chain', onsetHours: 0, growthHours: 10 }])
    produce(ledger, 11)
    ledger.perform(work('wipe', ['dry-chain']))
    expect(ledger.severityOf('dry-chain')).toBeCloseTo(1, 6)
    ledger.perform(work('lubricate', ['dry-chain']))
    expect(ledger.severityOf('dry-chain')).toBe(0)
    produce(ledger, 5, 11)
    expect(ledger.severityOf('dry-chain')).toBe(0)
  })

  it('ordinary fouling reaches severity 0.5 at about the usual hours', () => {
    const ledger = ledgerOf([], 1)
    const hoursToHalf = new Map<string, number>()
    for (let hours = 0; hours < 800; hours += 1) {
      produce(ledger, 1, hours)
      for (const [cause, zone] of [['dirty-chain', 0], ['dirty-rails', 0], ['saturated-filter', 0], ['coated-emitter', 2]] as const) {
        if (!hoursToHalf.has(cause) && ledger.severityOf(cause, zone) >= 0.5) hoursToHalf.set(cause, hours)
      }
    }
    // 139, 167, 333 and 324 h, every rate with a factor of 1.3 between cycles, drips of the filter on top.
    for (const [cause, usual] of [['dirty-chain', 139], ['dirty-rails', 167], ['saturated-filter', 333], ['coated-emitter', 324]] as const) {
      expect(hoursToHalf.get(cause)! / usual, cause).toBeGreaterThan(0.5)
      expect(hoursToHalf.get(cause)! / usual, cause).toBeLessThan(2)
    }
  })

  it('a saturated filter drips on other places', () => {
    const ledger = ledgerOf([{ cause: 'saturated-filter', onsetHours: 0, growthHours: 0, shape: 'step' }])
    produce(ledger, 400)
    expect(ledger.severityOf('dirty-chain')).toBeGreaterThan(0.1)
    expect(Math.max(...[1, 2, 3].map((zone) => ledger.severityOf('coated-emitter', zone)))).toBeGreaterThan(0)
  })
})
