import { describe, expect, it } from 'vitest'
import type { MaintenanceEntry } from '../../../src/maintenance/maintenance-entry.js'
import type { MaintenanceFact } from '../../../src/maintenance/maintenance-fact.js'
import { createMaintenanceStage } from '../../../src/monitor/maintenance-stage.js'
import { define, START_MS } from './monitor-bench.js'

function bench(): { give(entry: MaintenanceEntry): MaintenanceFact[]; record(id: string): void; size(): number } {
  const definition = define()
  const stage = createMaintenanceStage(definition)
  let nowMs = START_MS
  return {
    give: (entry) => {
      const facts: MaintenanceFact[] = []
      nowMs += 60_000
      stage.entry(entry, { nowMs, state: 'idle', recipe: '', definition }, { fact: (fact) => facts.push(fact), chart: () => undefined, learnCause: () => undefined })
      return facts
    },
    record: (id) => stage.record({ id, timeMs: nowMs, section: 'pot', work: 'skim-dross' }, { nowMs, state: 'idle', recipe: '', definition }, { fact: () => undefined, chart: () => undefined, learnCause: () => undefined }),
    size: () => JSON.stringify(stage.snapshot()).length,
  }
}

describe('an entry that comes twice', () => {
  it('counts once where it was taken, and is judged anew where it was refused', () => {
    const { give } = bench()
    const change: MaintenanceEntry = { type: 'change', id: 'e-1', timeMs: START_MS, change: 'flux-lot', text: 'lot 7' }
    expect(give(change)).toHaveLength(1)
    expect(give(change)).toEqual([])
    const stop: MaintenanceEntry = { type: 'stop', id: 'e-2', timeMs: START_MS, action: 'grant', stop: 'stop-1' }
    expect(give(stop)).toMatchObject([{ type: 'refused', entry: 'e-2' }])
    expect(give({ type: 'stop', id: 'e-3', timeMs: START_MS, action: 'ask', stop: 'stop-1' })).toMatchObject([{ type: 'stop' }])
    expect(give(stop)).toMatchObject([{ type: 'stop' }])
  })
})

describe('what is remembered of entries', () => {
  it('does not grow for ever', () => {
    const { give, record, size } = bench()
    record('r-1')
    const round = (first: number, last: number): number => {
      for (let index = first; index < last; index += 1) {
        give({ type: 'change', id: `change-${index}`, timeMs: START_MS + index * 1000, change: 'order', text: `order ${index}`, by: 'Robin' })
        give({ type: 'round', id: `round-${index}`, timeMs: START_MS + index * 1000, round: 'shift', items: [{ check: 'exhaust-and-guards', ok: true }] })
        give({ type: 'stop', id: `stop-entry-${index}`, timeMs: START_MS + index * 1000, action: 'ask', stop: `stop-${index}`, minutes: 30 })
        give({ type: 'job', id: `job-entry-${index}`, timeMs: START_MS + index * 1000, action: 'add', work: 'skim-dross' })
        give({ type: 'hold', id: `hold-entry-${index}`, timeMs: START_MS, action: 'exempt', recipe: `recipe-${index}`, reason: 'approved', by: 'Robin', untilMs: START_MS + 1e12 })
        give({ type: 'correction', id: `correction-${index}`, timeMs: START_MS, of: 'r-1', reason: 'typed wrong', record: { id: 'x', timeMs: START_MS, section: 'pot', work: 'skim-dross', finding: index % 5 } })
        give({ type: 'paper', id: `paper-entry-${index}`, timeMs: START_MS + index * 1000, paper: 'calibration', of: `gauge-${index}`, reference: 'c', validFromMs: START_MS })
      }
      return size()
    }
    const once = round(0, 1500)
    const again = round(1500, 4500)
    expect(again).toBeLessThan(1.15 * once)
  }, 120_000)
})
