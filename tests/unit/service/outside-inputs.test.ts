import { describe, expect, it } from 'vitest'
import { recordFromJson, replyFromJson } from '../../../src/service/outside-inputs.js'

const NOW_MS = Date.UTC(2026, 2, 2, 12)

describe('replies from outside', () => {
  it.each([
    [{ suggestion: 's-1', action: 'take' }, { suggestion: 's-1', action: 'take' }],
    [{ suggestion: 's-1', action: 'put-off', reason: 'no-people', until: '2026-03-03T06:00:00+01:00', by: 'Robin' }, { suggestion: 's-1', action: 'put-off', reason: 'no-people', untilMs: Date.UTC(2026, 2, 3, 5), by: 'Robin' }],
    ['{"suggestion":"s-1","action":"done","found":"nothing-found"}', { suggestion: 's-1', action: 'done', found: 'nothing-found' }],
  ])('takes %j', (given, expected) => {
    expect(replyFromJson(given)).toEqual({ kind: 'input', input: expected })
  })

  it.each([
    [{ action: 'take' }, 'suggestion'],
    [{ suggestion: 's-1', action: 'eat' }, 'action'],
    [{ suggestion: 's-1', action: 'decline' }, 'reason'],
    [{ suggestion: 's-1', action: 'put-off', reason: 'no-people' }, 'until'],
    [{ suggestion: 's-1', action: 'put-off', reason: 'no-people', until: 'tomorrow' }, 'until'],
    [{ suggestion: 's-1', action: 'take', setpoint: 250 }, 'setpoint'],
    ['{', 'body'],
    [null, 'body'],
  ])('refuses %j and says where', (given, where) => {
    const result = replyFromJson(given)
    expect(result.kind).toBe('faults')
    expect(result.kind === 'faults' ? result.message : '').toContain(where)
  })
})

describe('records from outside', () => {
  it('gives a record without an id one of its own, the same for the same record', () => {
    const record = { section: 'pot', work: 'skim-dross', finding: 2 }
    const first = recordFromJson(record, NOW_MS)
    expect(first).toEqual(recordFromJson(JSON.stringify(record), NOW_MS))
    expect(first).toMatchObject({ kind: 'input', input: { timeMs: NOW_MS, id: expect.stringMatching(/^record-[0-9a-f]{16}$/) } })
    const other = recordFromJson({ ...record, finding: 3 }, NOW_MS)
    expect(other.kind === 'input' && first.kind === 'input' && other.input.id !== first.input.id).toBe(true)
  })

  it.each([{ work: 'x' }, { section: 'oven', work: 'x' }, { section: 'pot', work: '' }, { section: 'pot', work: 'x', finding: 7 }, { section: 'pot', work: 'x', minutes: -1 }, { section: 'preheat', zone: 0, work: 'x' }, []])('refuses %j', (given) => {
    expect(recordFromJson(given, NOW_MS).kind).toBe('faults')
  })
})
