import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { JobFact } from '../../../src/maintenance/jobs/job-fact.js'
import { withoutNamesBefore } from '../../../src/maintenance/names-forgotten.js'

const WORD = fc.constantFrom('Robin', 'Sam')
const TIMES = ['timeMs', 'sinceMs', 'correctedMs'] as const

/** Data as facts and states are made of: times, names and other fields, one inside the other. */
const data: fc.Arbitrary<unknown> = fc.letrec<{ value: unknown; object: unknown }>((tie) => ({
  value: fc.oneof({ depthSize: 'small', withCrossShrink: true }, fc.integer(), fc.constant('text'), fc.constant(null), fc.boolean(), fc.array(tie('object'), { maxLength: 3 }), tie('object')),
  object: fc
    .tuple(fc.dictionary(fc.constantFrom('remark', 'history', 'record', 'earlier'), tie('value'), { maxKeys: 3 }), fc.dictionary(fc.constantFrom(...TIMES), fc.integer({ min: 1, max: 100 }), { maxKeys: 2 }), fc.dictionary(fc.constantFrom('by', 'engineer', 'holder'), WORD, { maxKeys: 2 }))
    .map(([fields, times, names]) => ({ ...fields, ...times, ...names })),
})).object

/** Every name with the newest time beside it, else around it. */
function namesIn(value: unknown, aroundMs = Number.NEGATIVE_INFINITY): number[] {
  if (typeof value !== 'object' || value === null) return []
  if (Array.isArray(value)) return value.flatMap((item) => namesIn(item, aroundMs))
  const times = TIMES.flatMap((name) => (name in value ? [(value as Record<string, number>)[name]!] : []))
  const timeMs = times.length === 0 ? aroundMs : Math.max(...times)
  return Object.entries(value).flatMap(([name, inside]) => (['by', 'engineer', 'holder'].includes(name) ? [timeMs] : namesIn(inside, timeMs)))
}

const nameless = (value: unknown): string => JSON.stringify(value, (name, inside: unknown) => (['by', 'engineer', 'holder'].includes(name) ? undefined : inside))

describe('names of people that are too old', () => {
  it('go, the younger ones stay, and nothing else changes', () => {
    fc.assert(
      fc.property(data, fc.integer({ min: 0, max: 101 }), (value, beforeMs) => {
        const before = JSON.stringify(value)
        const after = withoutNamesBefore(value, beforeMs)
        expect(JSON.stringify(value)).toBe(before)
        expect(nameless(after)).toBe(nameless(value))
        expect(namesIn(after)).toEqual(namesIn(value).filter((timeMs) => timeMs >= beforeMs))
        expect(withoutNamesBefore(after, beforeMs)).toBe(after)
      }),
    )
  })

  it('stay where a lock is on, and go when it is off', () => {
    const job = (status: string): JobFact => ({ type: 'job', status, timeMs: 1, by: 'Robin', holders: [{ holder: 'Sam', sinceMs: 1 }], isolation: { holder: 'Sam', sinceMs: 1 }, history: [{ timeMs: 1, by: 'Robin' }] }) as unknown as JobFact
    const open = withoutNamesBefore(job('started'), 2)
    expect(open).toMatchObject({ holders: [{ holder: 'Sam' }], isolation: { holder: 'Sam' } })
    expect(JSON.stringify(open)).not.toContain('Robin')
    expect(JSON.stringify(withoutNamesBefore(job('done'), 2))).not.toMatch(/Robin|Sam/)
    expect(JSON.stringify(withoutNamesBefore(job('started'), 2, () => false))).not.toMatch(/Robin|Sam/)
  })

  it('go from the words of a refusal too, and one without any time is not kept', () => {
    expect(withoutNamesBefore({ type: 'refused', timeMs: 1, values: { holders: 'Robin, Sam', status: 'started' } }, 2)).toEqual({ type: 'refused', timeMs: 1, values: { status: 'started' } })
    expect(withoutNamesBefore({ list: [{ by: 'Robin' }] }, 2)).toEqual({ list: [{}] })
  })
})
