import { describe, expect, it } from 'vitest'
import { afterReply, refusalOf } from '../../../src/maintenance/suggestion-replies.js'
import type { Suggestion, SuggestionReply } from '../../../src/maintenance/suggestion.js'

const DAY_MS = 86_400_000
const NOW_MS = Date.UTC(2026, 2, 2)

describe('putting off a suggestion for safety work', () => {
  const suggestion = (work: readonly string[]): Suggestion => ({ id: 's-1', raisedMs: NOW_MS, status: 'open', work }) as unknown as Suggestion
  const putOff = (days: number, engineer?: string): SuggestionReply => ({ suggestion: 's-1', action: 'put-off', reason: 'parts-missing', untilMs: NOW_MS + days * DAY_MS, ...(engineer === undefined ? {} : { engineer }) })

  it('needs a named engineer past the limit of the site', () => {
    const filter = suggestion(['swap-exhaust-filter', 'clean-vents'])
    expect(refusalOf(filter, putOff(7), NOW_MS)).toBeUndefined()
    expect(refusalOf(filter, putOff(7.1), NOW_MS)).toBe('engineer-needed')
    expect(refusalOf(filter, putOff(7.1, 'Alex, engineer'), NOW_MS)).toBeUndefined()
    expect(refusalOf(filter, putOff(3), NOW_MS, 2)).toBe('engineer-needed')
    // Counted from when it was raised, however often it is put off.
    expect(refusalOf(filter, putOff(8), NOW_MS + 6 * DAY_MS)).toBe('engineer-needed')
    expect(refusalOf(suggestion(['clean-vents', 'swap-exhaust-filter']), putOff(30), NOW_MS)).toBeUndefined()
  })
})

it('a reply leaves its id in the history of the suggestion, one without an id leaves none', () => {
  const open = { id: 's-1', raisedMs: NOW_MS, status: 'open', work: ['clean-vents'], history: [{ timeMs: NOW_MS, status: 'open' }] } as unknown as Suggestion
  expect(afterReply(open, { suggestion: 's-1', action: 'take', id: 'r-1' }, NOW_MS).history.at(-1)).toEqual({ timeMs: NOW_MS, status: 'taken', reply: 'r-1' })
  expect(afterReply(open, { suggestion: 's-1', action: 'take' }, NOW_MS).history.at(-1)).toEqual({ timeMs: NOW_MS, status: 'taken' })
})
