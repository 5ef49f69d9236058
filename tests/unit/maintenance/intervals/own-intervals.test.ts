import { describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../../../src/line/line-definition.js'
import { siteWorkFaults } from '../../../../src/maintenance/site-catalogue.js'
import { costEvents } from '../../../../src/maintenance/cost/cost-events.js'
import { amountWords, rangeWords } from '../../../../src/maintenance/intervals/interval-words.js'
import { dueItems } from '../../../../src/maintenance/plan/due-items.js'
import type { LineBook } from '../../../../src/maintenance/plan/line-book.js'
import { planReasonText, workTitle } from '../../../../src/maintenance/plan/plan-words.js'
import { workUnits } from '../../../../src/maintenance/plan/work-units.js'
import { defineLine, IntervalBench } from './part-bench.js'

const text = (title: string): object => ({ title, steps: ['Stop and clean.'], tools: ['brush'], verification: 'Looks clean.' })
const tray = {
  id: 'clean-drip-tray', section: 'fluxer', kind: 'cleaning', minutesByHand: [20, 40], isolation: ['stop-and-note'], cautions: ['fire-flux'],
  interval: { start: 1200, scale: 'boards' }, followedBy: 'grease-tray', texts: { 'en-US': text('Clean the drip tray'), es: text('Limpiar la bandeja de goteo') },
}
const grease = { id: 'grease-tray', section: 'fluxer', kind: 'lubrication', minutesByHand: [5, 10], isolation: ['stop-and-note'], cautions: ['pinch-points'], texts: { 'en-US': text('Grease the tray rails'), es: text('Engrasar las guías de la bandeja') } }
const seals = { id: 'change-window-seals', section: 'preheat', kind: 'repair', minutesByHand: [20, 40], isolation: ['cool-down'], cautions: ['hot-parts'], interval: { start: 2000, scale: 'calendar-hours', perZone: true }, texts: { 'en-US': text('Change the window seals'), es: text('Cambiar las juntas de la ventana') } }
const site = (jobs: readonly object[], edits: object = {}): object => ({ machine: { zones: [{}, {}] }, siteWork: { jobs, edits } })

describe('intervals that a site has set', () => {
  it('give its own jobs an interval on the scale it has chosen, in every zone where it says so', () => {
    const line = new IntervalBench(site([tray, grease, seals]), 100).run(20)
    expect(line.last('clean-drip-tray')).toMatchObject({ section: 'fluxer', scale: 'boards', startInterval: 1200, interval: 1200, verdict: 'not-enough-history' })
    expect(line.last('change-window-seals', 2)).toMatchObject({ section: 'preheat', scale: 'calendar-hours', interval: 2000 })
    expect(line.last('change-window-seals', 1).zone).toBe(1)
    expect(() => line.last('grease-tray')).toThrow('no interval')
  })

  it('are counted in running hours for the time being where their scale is not measured', () => {
    // 120 boards an hour until the line's own are known
    expect(new IntervalBench(site([tray, grease])).run(20).last('clean-drip-tray')).toMatchObject({ scale: 'running-hours', interval: 10 })
  })

  it('learn from records like any other', () => {
    const line = new IntervalBench(site([tray, grease]), 100).run(2).record('clean-drip-tray', 1, { section: 'fluxer' })
    line.run(5).record('clean-drip-tray', 3, { section: 'fluxer' })
    const shorter = line.last('clean-drip-tray')
    expect(shorter).toMatchObject({ verdict: 'shorten', events: 1 })
    expect(shorter.interval).toBeLessThan(1200)
    expect(shorter.interval).toBeGreaterThanOrEqual(0.8 * 500)
  })

  it('replace those of the trade, those of a safety item only by shorter ones', () => {
    const line = new IntervalBench(site([], { 'clean-rails': { interval: { start: 100 } } })).run(2)
    expect(line.last('clean-rails')).toMatchObject({ startInterval: 100, interval: 100, scale: 'running-hours' })
    const faultsOf = (interval: object): number => {
      const parsed = parseLineDefinition({ line: 'north-1', siteWork: { edits: { 'swap-exhaust-filter': { interval } } } })
      return parsed.kind === 'faults' ? parsed.faults.length : siteWorkFaults(parsed.definition).length
    }
    expect(faultsOf({ start: 100 })).toBe(0)
    expect(faultsOf({ start: 161 })).toBe(1)
    expect(faultsOf({ start: 100, scale: 'boards' })).toBe(1)
    expect(faultsOf({ start: -1 })).toBe(1)
  })
})

describe('the calendar', () => {
  it('is chosen where a part is due after the same days, whatever the line runs meanwhile', () => {
    const line = new IntervalBench().run(1).record('clean-rails', 1)
    for (const running of [40, 150, 20, 170, 60, 120, 30]) line.run(running).stand(220 - running).record('clean-rails', 3)
    const { scale, interval } = line.last('clean-rails')
    expect(scale).toBe('calendar-hours')
    expect(interval).toBeGreaterThan(60)
    expect(interval).toBeLessThan(230)
  })

  it('is not chosen where running hours tell it, and a line that stands uses nothing up then', () => {
    const line = new IntervalBench().run(1).record('clean-rails', 1)
    for (const standing of [100, 10, 300, 40, 200, 20, 120]) line.run(110).stand(standing).record('clean-rails', 3)
    expect(line.last('clean-rails').scale).toBe('running-hours')
  })

  it('goes on the same after a restart', () => {
    const line = new IntervalBench().run(1).record('clean-rails', 1)
    for (const running of [40, 150, 20]) line.run(running).stand(220 - running).record('clean-rails', 3).restart()
    for (const running of [170, 60, 120, 30]) line.run(running).stand(220 - running).record('clean-rails', 3)
    expect(line.last('clean-rails').scale).toBe('calendar-hours')
  })

  it('is told in days', () => {
    expect(amountWords(336, 'calendar-hours', 'en-US')).toBe('14 days by the calendar')
    expect(amountWords(5, 'calendar-hours', 'en-US')).toBe('5 hours by the clock')
    expect(rangeWords([240, 480], 'calendar-hours', 'es')).toBe('10 – 20 días naturales')
  })
})

describe('a job of the site’s own', () => {
  const line = new IntervalBench(site([tray, grease]), 100).run(24)
  const definition = defineLine({ ...site([tray, grease]), shifts: [{ name: 'day', start: '06:00', end: '14:00', days: ['mon', 'tue', 'wed', 'thu', 'fri'], people: 2 }] })
  const record = { id: 'r-1', timeMs: line.nowMs, section: 'fluxer' as const, work: 'clean-drip-tray', minutes: 30 }
  const book: LineBook = { definition, nowMs: line.nowMs, state: 'production', suggestions: [], facts: [line.last('clean-drip-tray'), { type: 'record', id: 'record-r-1', timeMs: line.nowMs, record, earlier: [], withdrawn: false }], drifts: [] }

  it('comes into the plan by its interval, with its duration, its name and the job that must follow', () => {
    const [item] = dueItems(book)
    expect(item).toMatchObject({ work: 'clean-drip-tray', ownTitle: { 'en-US': 'Clean the drip tray' }, minutes: { basis: 'hand', records: 1 } })
    expect(item!.minutes.likely).toBeGreaterThanOrEqual(20)
    expect(item!.minutes.planned).toBeLessThanOrEqual(45)
    const follow = workUnits(book).units[0]!.items[1]!
    expect(follow.work).toBe('grease-tray')
    expect(planReasonText(follow.because[0]!, 'es', 'UTC')).toBe('debe seguir enseguida a: Limpiar la bandeja de goteo')
  })

  it('has its name wherever a title is asked for, and costs what its record says', () => {
    expect(workTitle('clean-drip-tray', 'en-US', definition)).toBe('Clean the drip tray')
    expect(workTitle('clean-chain', 'es', definition)).toBe(workTitle('clean-chain', 'es'))
    expect(workTitle('no-such-job', 'en-US', definition)).toBe('no-such-job')
    expect(costEvents(book, 0, line.nowMs).map(({ kind, quantity, section }) => [kind, quantity, section])).toEqual([['labour', 0.5, 'fluxer'], ['cleaner', 1, 'fluxer']])
  })
})
