import { describe, expect, it } from 'vitest'
import { openMemoryLineStore } from '../../../src/adapters/memory/memory-line-store.js'
import type { JobFact, RecordFact } from '../../../src/maintenance/jobs/job-fact.js'
import type { MaintenanceFact } from '../../../src/maintenance/maintenance-fact.js'
import type { LineStore } from '../../../src/ports/line-store.js'
import { LineProjection } from '../../../src/service/line-projection.js'

const HOUR_MS = 3_600_000

function storeWith(facts: readonly MaintenanceFact[]): LineStore {
  const store = openMemoryLineStore()
  store.commit({ line: 'line-a', inputs: facts.map((_, index) => ({ input: { kind: 'value' as const, channel: 'pot.level', value: index }, receivedMs: index })), outputs: [], processedSeq: 0, outbox: [] })
  store.commit({ line: 'line-a', inputs: [], outputs: facts.map((body, index) => ({ line: 'line-a', seq: index + 1, ordinal: 0, output: { kind: 'fact' as const, body } })), processedSeq: facts.length, outbox: [] })
  return store
}

function record(timeMs: number, finding: number): RecordFact {
  return { type: 'record', id: 'r-1', timeMs, record: { id: 'r-1', timeMs, section: 'transport', work: 'clean-chain', finding }, earlier: [], withdrawn: false }
}

function job(id: string, timeMs: number, status: JobFact['status']): JobFact {
  return { type: 'job', id, timeMs, work: 'clean-chain', section: 'transport', status, statusMs: timeMs, raisedMs: timeMs, source: 'entry', safety: false, holders: [], begun: false, returnSteps: [], urgency: 'plan', history: [] }
}

describe('what a line says after a restart', () => {
  it('is the corrected record, also where the correction moved it to an earlier time', () => {
    const projection = LineProjection.fromStore(storeWith([record(9 * HOUR_MS, 4), record(2 * HOUR_MS, 1)]), 'line-a')
    expect(projection.factsOf('record')).toEqual([record(2 * HOUR_MS, 1)])
  })

  it('holds a job that waits, however many facts came after it', () => {
    const later = Array.from({ length: 21_000 }, (_, index): MaintenanceFact => ({ type: 'refused', id: `refused-${index}`, timeMs: 2 * HOUR_MS + index, entry: `e-${index}`, reason: 'job.unknown', values: {} }))
    const projection = LineProjection.fromStore(storeWith([job('j-1', HOUR_MS, 'half-done'), ...later]), 'line-a')
    expect(projection.factsOf('job').map(({ id }) => id)).toEqual(['j-1'])
    expect(projection.factsOf('refused').length).toBe(2000)
  })

  it('forgets closed jobs before any that waits', () => {
    const projection = new LineProjection()
    const give = (body: MaintenanceFact): void => projection.take({ kind: 'fact', body })
    give(job('j-1', HOUR_MS, 'half-done'))
    for (let index = 0; index < 2500; index += 1) give(job(`j-closed-${index}`, 2 * HOUR_MS + index, 'done'))
    expect(projection.factsOf('job')).toHaveLength(2000)
    expect(projection.factsOf('job')[0]?.id).toBe('j-1')
  })
})
