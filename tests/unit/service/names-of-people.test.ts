import { describe, expect, it } from 'vitest'
import type { JobFact } from '../../../src/maintenance/jobs/job-fact.js'
import type { Suggestion } from '../../../src/maintenance/suggestion.js'
import type { LineInput } from '../../../src/monitor/line-event.js'
import { withinRetention, withoutNames } from '../../../src/service/names-of-people.js'

const DAY_MS = 86_400_000
const NONE = { people: { names: 'none' as const, keepDays: 365 } }

describe('names of people', () => {
  it('are taken off before anything is kept where the site keeps none, but for whose lock is on', () => {
    const inputs: LineInput[] = [
      { kind: 'record', record: { id: 'r', timeMs: 0, section: 'pot', work: 'skim-dross', by: 'Robin' } },
      { kind: 'reply', reply: { suggestion: 's', action: 'take', by: 'Robin' } },
      { kind: 'entry', entry: { type: 'job', id: 'e', timeMs: 0, action: 'take', job: 'j', by: 'Robin' } },
      { kind: 'entry', entry: { type: 'correction', id: 'e', timeMs: 0, of: 'r', reason: 'x', by: 'Robin', record: { id: 'r', timeMs: 0, section: 'pot', work: 'skim-dross', by: 'Robin' } } },
      { kind: 'baseline', feature: 'pot.level.offset', decision: 'accept', by: 'Robin' },
      { kind: 'entry', entry: { type: 'job', id: 'e', timeMs: 0, action: 'put-off', job: 'j', reason: 'no-time-now', untilMs: 1, engineer: 'Robin' } },
      { kind: 'reply', reply: { suggestion: 's', action: 'put-off', reason: 'no-time-now', untilMs: 1, engineer: 'Robin' } },
    ]
    for (const input of inputs) {
      expect(JSON.stringify(withoutNames(input, NONE))).not.toContain('Robin')
      expect(withoutNames(input, {})).toBe(input)
    }
    expect(JSON.stringify(withoutNames({ kind: 'entry', entry: { type: 'job', id: 'e', timeMs: 0, action: 'isolate', job: 'j', by: 'Robin' } }, NONE))).toContain('Robin')
  })

  it('leave behind that an engineer answered: settings on hold can be ended, safety work put off', () => {
    const hold: Extract<LineInput, { kind: 'entry' }> = { kind: 'entry', entry: { type: 'hold', id: 'e', timeMs: 0, action: 'end-early', reason: 'trial', untilMs: 1, by: 'Robin' } }
    expect(withoutNames(hold, NONE)).toEqual({ kind: 'entry', entry: { ...hold.entry, by: 'engineer' } })
    const { by: _by, ...nobody } = hold.entry
    expect(withoutNames({ kind: 'entry', entry: nobody }, NONE)).toEqual({ kind: 'entry', entry: nobody })
    expect(withoutNames({ kind: 'reply', reply: { suggestion: 's', action: 'put-off', engineer: 'Robin' } }, NONE)).toMatchObject({ reply: { engineer: 'engineer' } })
  })

  it('are no longer shown once they are older than the site keeps them', () => {
    const job = { type: 'job', id: 'j', timeMs: 0, status: 'done', work: 'clean-rails', by: 'Robin', holders: [{ holder: 'Sam', sinceMs: 0 }], history: [{ timeMs: 0, status: 'taken', by: 'Robin' }] } as unknown as JobFact
    const people = { people: { names: 'kept' as const, keepDays: 30 } }
    expect(withinRetention(job, people, 30 * DAY_MS)).toBe(job)
    const old = withinRetention(job, people, 30 * DAY_MS + 1)
    expect(JSON.stringify(old)).not.toMatch(/Robin|Sam/)
    expect(old).toMatchObject({ id: 'j', work: 'clean-rails', history: [{ status: 'taken' }] })
  })

  it('go from the history of a suggestion step by step', () => {
    const suggestion = { id: 's', history: [{ timeMs: 0, status: 'taken', by: 'Robin' }, { timeMs: 30 * DAY_MS, status: 'done', by: 'Sam' }] } as unknown as Suggestion
    const people = { people: { names: 'kept' as const, keepDays: 30 } }
    expect(withinRetention(suggestion, people, 30 * DAY_MS)).toBe(suggestion)
    expect(withinRetention(suggestion, people, 31 * DAY_MS).history).toEqual([{ timeMs: 0, status: 'taken' }, { timeMs: 30 * DAY_MS, status: 'done', by: 'Sam' }])
  })
})
