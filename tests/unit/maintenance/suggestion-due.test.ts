import { describe, expect, it } from 'vitest'
import { urgencyWithOutlook } from '../../../src/maintenance/suggestion-due.js'
import type { Suggestion } from '../../../src/maintenance/suggestion.js'
import { suggestionView } from '../../../src/maintenance/wording.js'
import { suggestionJson } from '../../../src/service/output-json.js'

const NOW_MS = Date.UTC(2026, 2, 2, 8)
const DAY_MS = 86_400_000

const SUGGESTION: Suggestion = {
  id: 'line-a-ageing-element-2-1', line: 'line-a', raisedMs: NOW_MS, section: 'preheat', zone: 2,
  causes: [{ cause: 'ageing-element', probability: 0.8, kind: 'fault', section: 'preheat', zone: 2 }],
  evidence: [], checkFirst: { check: 'compare-warm-up', minutes: 5, needsElectrician: false }, work: [], cautions: ['own-alarms-protect'],
  onsetMs: NOW_MS - DAY_MS, abstains: false, urgency: 'plan', invisible: [], features: ['preheat.zone-2.duty.effort'], status: 'open', statusMs: NOW_MS, history: [{ timeMs: NOW_MS, status: 'open' }],
}

const dated = (days: number) => ({ exhausted: false, due: { kind: 'date' as const, earliestMs: NOW_MS + days * DAY_MS, likelyMs: NOW_MS + 2 * days * DAY_MS } })

describe('severity from drift and limits', () => {
  it('rises where the limit is days ahead, falls to planned where it is weeks ahead', () => {
    expect(urgencyWithOutlook('plan', dated(1), NOW_MS)).toBe('soon')
    expect(urgencyWithOutlook('soon', dated(7), NOW_MS)).toBe('soon')
    expect(urgencyWithOutlook('plan', dated(7), NOW_MS)).toBe('plan')
    expect(urgencyWithOutlook('soon', dated(20), NOW_MS)).toBe('plan')
    expect(urgencyWithOutlook('urgent', dated(20), NOW_MS)).toBe('urgent')
  })

  it('is urgent with a heater at its stop, and untouched without a date', () => {
    expect(urgencyWithOutlook('plan', { exhausted: true }, NOW_MS)).toBe('urgent')
    expect(urgencyWithOutlook('soon', { exhausted: false, due: { kind: 'too-early' } }, NOW_MS)).toBe('soon')
    expect(urgencyWithOutlook('plan', { exhausted: false }, NOW_MS)).toBe('plan')
  })
})

describe('what result and effort say together', () => {
  it('stands among the reasons in both languages, a common cause among what speaks against', () => {
    const item = (key: string, stance: 'for' | 'against') => ({ feature: 'preheat.zone-2.duty.effort', stance, key, values: {} })
    const told = { ...SUGGESTION, evidence: [item('evidence.loop.effort-up-result-same', 'for'), item('evidence.loop.common-cause', 'against')] }
    expect(suggestionView(told, 'en-US').reasons).toEqual([expect.stringMatching(/^Effort up, result same/)])
    expect(suggestionView(told, 'en-US').against).toEqual([expect.stringMatching(/neighbours/)])
    expect(suggestionView(told, 'es').reasons).toEqual([expect.stringMatching(/^Más esfuerzo, mismo resultado/)])
  })
})

describe('by when, in words', () => {
  const words = (due: Suggestion['due'], language: string): string => suggestionView({ ...SUGGESTION, ...(due === undefined ? {} : { due }) }, language, 'Europe/Madrid').byWhen

  it('names the date before the limit may be reached, and when it most likely is', () => {
    const due = { kind: 'date', earliestMs: NOW_MS + 5 * DAY_MS, likelyMs: NOW_MS + 8 * DAY_MS } as const
    expect(words(due, 'en-US')).toMatch(/by Sat, Mar 7 at the latest\. As it moves now, it reaches its limit around Tue, Mar 10, at the earliest Sat, Mar 7/)
    expect(words(due, 'es')).toMatch(/a más tardar sáb, 7 mar\. Como se mueve ahora, alcanza su límite hacia el mar, 10 mar, como pronto el sáb, 7 mar/)
  })

  it('says when it is too early to date, and nothing of a limit where none is known', () => {
    expect(words({ kind: 'too-early' }, 'en-US')).toMatch(/by Mon, Mar 16 at the latest\. It moves towards its limit; too early to say/)
    expect(words(undefined, 'en-US')).not.toMatch(/limit/)
  })

  it('carries times outside in ISO form only', () => {
    const due = { kind: 'date', earliestMs: NOW_MS + 5 * DAY_MS, likelyMs: NOW_MS + 8 * DAY_MS } as const
    const outside = { kind: 'date', earliest: '2026-03-07T08:00:00.000Z', likely: '2026-03-10T08:00:00.000Z' }
    expect(suggestionJson({ ...SUGGESTION, due })['due']).toEqual(outside)
    expect(suggestionView({ ...SUGGESTION, due }, 'en-US').due).toEqual(outside)
  })
})
