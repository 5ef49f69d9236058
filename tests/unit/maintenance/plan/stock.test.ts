import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { MaintenanceEntry } from '../../../../src/maintenance/maintenance-entry.js'
import type { MaintenanceFact } from '../../../../src/maintenance/maintenance-fact.js'
import type { MaintenanceAsks, MaintenanceContext } from '../../../../src/maintenance/maintenance-part.js'
import { createPlanPart } from '../../../../src/maintenance/plan/plan-part.js'
import { STOCK_ITEMS } from '../../../../src/maintenance/plan/plan-entry.js'
import { planRefusalText } from '../../../../src/maintenance/plan/plan-refusals.js'
import { stockUsedBy } from '../../../../src/maintenance/plan/stock-book.js'
import { stockItemOf, STOCK_TITLES } from '../../../../src/maintenance/plan/stock-titles.js'
import { WORK_STOCK } from '../../../../src/maintenance/plan/work-parts.js'
import { definitionOf, recordFactOf } from './plan-bench.js'

/** The plan's part with stock entries and records, one after the other. */
function stockDesk(snapshot?: unknown): { enter(entry: object, timeMs: number): MaintenanceFact[]; record(work: string, more: object, timeMs: number, withdrawn?: boolean): MaintenanceFact[]; now(item: string): object | undefined; snapshot(): unknown } {
  const definition = definitionOf()
  const part = createPlanPart(definition, snapshot)
  const latest = new Map<string, MaintenanceFact>()
  const run = (timeMs: number, act: (context: MaintenanceContext, asks: MaintenanceAsks) => void): MaintenanceFact[] => {
    const facts: MaintenanceFact[] = []
    act({ nowMs: timeMs, state: 'production', recipe: '', definition }, { emit: (fact: MaintenanceFact) => facts.push(fact) } as unknown as MaintenanceAsks)
    for (const fact of facts) if (fact.type === 'stock') latest.set(fact.item, fact)
    return facts
  }
  return {
    enter: (entry, timeMs) => run(timeMs, (context, asks) => part.entry?.({ id: `e${timeMs}`, type: 'stock', timeMs, ...entry } as MaintenanceEntry, context, asks)),
    record: (work, more, timeMs, withdrawn = false) => run(timeMs, (context, asks) => part.fact?.({ ...recordFactOf(work, { timeMs, ...more }), withdrawn }, context, asks)),
    now: (item) => latest.get(item),
    snapshot: () => part.snapshot(),
  }
}

describe('spare sets and parts', () => {
  it('go round with the records: swapped in, to the washer, back clean', () => {
    const desk = stockDesk()
    desk.enter({ item: 'finger-set', ready: 2 }, 1)
    desk.record('clean-fingers', { parts: ['set of fingers'], id: 'r1' }, 2)
    expect(desk.now('finger-set')).toMatchObject({ ready: 1, dirty: 1, atWasher: 0, countedMs: 1, moves: 1 })
    desk.enter({ item: 'finger-set', move: 'to-washer' }, 3)
    expect(desk.now('finger-set')).toMatchObject({ ready: 1, dirty: 0, atWasher: 1 })
    desk.enter({ item: 'finger-set', move: 'back-clean' }, 4)
    expect(desk.now('finger-set')).toMatchObject({ ready: 2, dirty: 0, atWasher: 0 })
    // Set straight into the machine.
    desk.record('clean-fingers', { parts: ['finger-set'], washer: true, id: 'r2' }, 5)
    expect(desk.now('finger-set')).toMatchObject({ ready: 1, dirty: 0, atWasher: 1 })
    // Cleaned in place: no set was taken.
    expect(desk.record('clean-fingers', { id: 'r3' }, 6)).toEqual([])
  })

  it('are put right by a correction, a record taken back and a count', () => {
    const desk = stockDesk()
    desk.enter({ item: 'thermocouple', ready: 3 }, 1)
    desk.record('replace-thermocouple', { id: 'r1' }, 2)
    expect(desk.now('thermocouple')).toMatchObject({ ready: 2 })
    desk.record('replace-thermocouple', { id: 'r1', parts: ['thermocouple', 'thermocouple'] }, 2)
    expect(desk.now('thermocouple')).toMatchObject({ ready: 1 })
    desk.record('replace-thermocouple', { id: 'r1' }, 2, true)
    expect(desk.now('thermocouple')).toMatchObject({ ready: 3, moves: 0 })
    desk.record('replace-thermocouple', { id: 'r2' }, 3)
    desk.enter({ item: 'thermocouple', ready: 10 }, 4)
    expect(desk.now('thermocouple')).toMatchObject({ ready: 10, countedMs: 4, moves: 0 })
    // A record that comes late was done before the count.
    expect(desk.record('replace-thermocouple', { id: 'r3', timeMs: 3 }, 5)).toEqual([])
  })

  it('stay unknown until somebody counts them, and refuse to move what is not there, in both languages', () => {
    const desk = stockDesk()
    expect(desk.record('replace-seals', { id: 'r1' }, 1)).toEqual([])
    const refused = [desk.enter({ item: 'finger-set', move: 'to-washer' }, 2), desk.enter({ item: 'finger-set' }, 3)].flat()
    desk.enter({ item: 'finger-set', ready: 1, dirty: 1 }, 4)
    refused.push(...desk.enter({ item: 'finger-set', move: 'to-washer', count: 2 }, 5), ...desk.enter({ item: 'finger-set', move: 'back-clean' }, 6))
    expect(refused.map((fact) => (fact.type === 'refused' ? fact.reason : fact.type))).toEqual(['stock.not-counted', 'stock.no-count', 'stock.not-so-many-to-washer', 'stock.not-so-many-back-clean'])
    for (const fact of refused) for (const language of ['en-US', 'es'] as const) expect(fact.type === 'refused' && planRefusalText(fact.reason, fact.values, language)).toMatch(/^\p{Lu}[^{}]*\.$/u)
  })

  it('are known by their ids and by their names in both languages', () => {
    for (const item of STOCK_ITEMS) for (const name of [item, STOCK_TITLES[item]['en-US'], STOCK_TITLES[item].es.toUpperCase()]) expect(stockItemOf(name)).toBe(item)
    expect(stockItemOf('a bolt')).toBeUndefined()
    // bars, lubricant and cleaner are used a little at a time
    expect(stockUsedBy({ work: 'lubricate-chain' })).toEqual([])
    for (const [work, { spareSet }] of Object.entries(WORK_STOCK)) if (spareSet !== undefined) expect(stockUsedBy({ work, parts: [spareSet.item] })).toEqual([{ item: spareSet.item, ready: -1, dirty: 1, atWasher: 0 }])
  })

  it('are the same whatever the order in which records of one time come, never below nothing, and after a restart', () => {
    const record = fc.record({ id: fc.constantFrom('a', 'b', 'c', 'd'), set: fc.boolean(), washer: fc.boolean(), timeMs: fc.integer({ min: 2, max: 9 }) })
    const uniqueRecords = fc.uniqueArray(record, { selector: ({ id }) => id, maxLength: 4 })
    fc.assert(
      fc.property(uniqueRecords, fc.nat(4), (records, cut) => {
        const all = (list: readonly (typeof records)[number][], restartAt: number): object | undefined => {
          let desk = stockDesk()
          desk.enter({ item: 'chain-set', ready: 2 }, 1)
          const first = desk.now('chain-set')
          let last = first
          list.forEach(({ id, set, washer, timeMs }, index) => {
            if (index === restartAt) desk = stockDesk(JSON.parse(JSON.stringify(desk.snapshot())))
            desk.record('clean-chain', { id, washer, timeMs, ...(set ? { parts: ['chain-set'] } : {}) }, 10)
            last = desk.now('chain-set') ?? last
          })
          const { timeMs: _time, ...rest } = last as { timeMs: number }
          return rest
        }
        const one = all(records, cut) as { ready: number; dirty: number; atWasher: number }
        expect(all([...records].reverse(), -1)).toEqual(one)
        expect(Math.min(one.ready, one.dirty, one.atWasher)).toBeGreaterThanOrEqual(0)
        expect(one.dirty + one.atWasher).toBe(records.filter(({ set }) => set).length)
      }),
    )
  })
})
