import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { workFactsOf } from './plan-part-bench.js'
import type { MaintenanceEntry } from '../../../../src/maintenance/maintenance-entry.js'
import type { StopEntry } from '../../../../src/maintenance/plan/plan-entry.js'

const WEEK = '2026-W48'
const stop = { id: 's1', fromMs: 10, untilMs: 20, shift: 'early', people: 1, jobs: [{ work: 'clean-nozzle', section: 'fluxer', fromMs: 12, untilMs: 18, people: 1 }] } as const
const agree = (id: string, more: object = {}): MaintenanceEntry => ({ type: 'plan', id, timeMs: 1, action: 'agree', week: WEEK, stops: [stop], ...more }) as MaintenanceEntry
const ledger = (id: string, action: StopEntry['action'], more: Partial<StopEntry> = {}): MaintenanceEntry => ({ type: 'stop', id, timeMs: 2, action, stop: 'stop-1', ...more })

describe('agreed weeks, the ledger of stops, stock and papers', () => {
  it('freezes an agreed week until it is opened again with a reason', () => {
    const { enter } = workFactsOf()
    expect(enter(agree('a'))).toMatchObject([{ type: 'plan', id: `plan-${WEEK}`, agreed: true, stops: [stop] }])
    expect(enter(agree('b', { stops: [] }))).toMatchObject([{ type: 'refused', id: 'refused-b', reason: 'plan.week-agreed' }])
    expect(enter(agree('c', { action: 'reopen' }))).toMatchObject([{ type: 'refused', reason: 'plan.reason-missing' }])
    expect(enter(agree('d', { action: 'reopen', reason: 'urgent order' }))).toMatchObject([{ type: 'plan', agreed: false, stops: [stop], reason: 'urgent order' }])
    expect(enter(agree('e', { stops: [] }))).toMatchObject([{ type: 'plan', agreed: true, stops: [] }])
  })

  it.each([
    [agree('x', { week: '2025-W53' }), 'plan.no-such-week'],
    [agree('x', { action: 'reopen', reason: 'r' }), 'plan.week-not-agreed'],
    [agree('x', { stops: [{ ...stop, untilMs: 10 }] }), 'plan.stop-without-length'],
    [agree('x', { stops: [{ ...stop, jobs: [{ ...stop.jobs[0], work: 'paint-it' }] }] }), 'plan.unknown-work'],
    [ledger('x', 'grant'), 'stop.unknown'],
    [{ type: 'paper', id: 'x', timeMs: 1, paper: 'calibration', of: 'ruler', reference: 'c', validFromMs: 1 } as const, 'paper.unknown-instrument'],
    [{ type: 'paper', id: 'x', timeMs: 1, paper: 'calibration', of: 'scale', reference: 'c', validFromMs: 5, dueMs: 5 } as const, 'paper.due-before-valid'],
  ])('refuses what cannot be, with the reason (%#)', (entry, reason) => {
    expect(workFactsOf().enter(entry)).toMatchObject([{ type: 'refused', entry: 'x', reason }])
  })

  it('takes a job of the site’s own, which no other line knows', () => {
    const text = { title: 'Empty the tray', steps: ['Do it.'], tools: ['cloth'], verification: 'It is empty.' }
    const siteWork = { jobs: [{ id: 'empty-drip-tray', section: 'fluxer' as const, kind: 'cleaning' as const, minutesByHand: [5, 10] as [number, number], isolation: ['stop-and-note'], cautions: ['fire-flux'], texts: { 'en-US': text, es: text } }] }
    const entry = agree('x', { stops: [{ ...stop, jobs: [{ ...stop.jobs[0], work: 'empty-drip-tray' }] }] })
    expect(workFactsOf(undefined, { siteWork }).enter(entry)).toMatchObject([{ type: 'plan', agreed: true }])
    expect(workFactsOf().enter(entry)).toMatchObject([{ type: 'refused', reason: 'plan.unknown-work' }])
  })

  it('keeps what was asked, what was answered and what followed', () => {
    const { enter } = workFactsOf()
    expect(enter(ledger('a', 'ask', { minutes: 90, work: ['clean-vents'] }))).toMatchObject([{ status: 'asked', askedMs: 2, minutes: 90, work: ['clean-vents'], followed: [] }])
    expect(enter(ledger('b', 'refuse'))).toMatchObject([{ type: 'refused', reason: 'stop.reason-missing' }])
    expect(enter(ledger('c', 'refuse', { reason: 'order', timeMs: 3 }))).toMatchObject([{ status: 'refused', answeredMs: 3, reason: 'order' }])
    expect(enter(ledger('d', 'followed'))).toMatchObject([{ type: 'refused', reason: 'stop.nothing-said' }])
    expect(enter(ledger('e', 'followed', { timeMs: 9, followed: { stopKind: 'unplanned', stopMinutes: 240, boardsScrapped: 12 } }))).toMatchObject([{ status: 'refused', minutes: 90, followed: [{ timeMs: 9, stopMinutes: 240, boardsScrapped: 12 }] }])
    expect(enter(ledger('f', 'ask'))).toMatchObject([{ type: 'refused', reason: 'stop.already-asked' }])
  })

  it('goes on the same from its snapshot at any place, whatever comes', () => {
    const actions = fc.constantFrom('ask', 'grant', 'refuse', 'followed', 'withdraw')
    const entries = fc.array(fc.record({ action: actions, stop: fc.constantFrom('stop-1', 'stop-2'), reason: fc.boolean() }), { maxLength: 25 })
    fc.assert(
      fc.property(entries, fc.nat(25), (list, cut) => {
        const make = ({ action, stop: of, reason }: (typeof list)[number], index: number): MaintenanceEntry => ledger(`e${index}`, action, { stop: of, timeMs: index, ...(reason ? { reason: 'r' } : {}), ...(action === 'followed' ? { followed: { ordersLate: 1 } } : {}) })
        const whole = workFactsOf()
        const all = list.map((entry, index) => whole.enter(make(entry, index)))
        const first = workFactsOf()
        const before = list.slice(0, cut).map((entry, index) => first.enter(make(entry, index)))
        const second = workFactsOf(JSON.parse(JSON.stringify(first.snapshot())))
        const after = list.slice(cut).map((entry, index) => second.enter(make(entry, index + Math.min(cut, list.length))))
        expect([...before, ...after]).toEqual(all)
        // Every entry is answered by exactly one fact: nothing is lost, nothing is doubled.
        expect(all.every((facts) => facts.length === 1)).toBe(true)
      }),
    )
  })
})
