import { describe, expect, it } from 'vitest'
import { handCheckPassed, recordRefusal, withHandCheck } from '../../../../src/maintenance/jobs/record-check.js'
import type { WorkRecord } from '../../../../src/maintenance/suggestion.js'
import { workItem } from '../../../../src/maintenance/work-catalogue.js'
import { lineWith } from './job-bench.js'

const seals = (more: Partial<WorkRecord>): WorkRecord => ({ id: 'r', timeMs: 0, section: 'fluxer', work: 'replace-seals', ...more })

describe('the own hand check of a job', () => {
  // Pressure held for 5 min with less than 5 % loss; common practice.
  it('is judged by the measured value, whatever was said', () => {
    const item = workItem('replace-seals')
    expect(handCheckPassed(seals({ values: { holdLoss: 3 } }), item)).toBe(true)
    expect(handCheckPassed(seals({ values: { holdLoss: 8 }, handCheck: 'passed' }), item)).toBe(false)
    expect(handCheckPassed(seals({ values: { holdLoss: 3 }, handCheck: 'failed' }), item)).toBe(false)
    expect(handCheckPassed(seals({ handCheck: 'passed' }), item)).toBe(true)
    expect(handCheckPassed(seals({ values: { other: 1 } }), item)).toBeUndefined()
    expect(withHandCheck(seals({ values: { holdLoss: 8 } }), lineWith()).handCheck).toBe('failed')
    expect('handCheck' in withHandCheck(seals({}), lineWith())).toBe(false)
  })
})

describe('a record', () => {
  it('of a check of the diagnosis is taken in its own section, and in any where it belongs to the whole line', () => {
    const of = (section: WorkRecord['section'], work: string): string | undefined => recordRefusal({ id: 'r', timeMs: 0, section, work, finding: 0 }, lineWith())?.reason
    expect(of('fluxer', 'paper-test')).toBeUndefined()
    expect(of('pot', 'paper-test')).toBe('record.wrong-section')
    expect(of('pot', 'look-in-log')).toBeUndefined()
  })
})
