import { describe, expect, it } from 'vitest'
import { cautionText } from '../../../../src/maintenance/catalogue-texts.js'
import { asAgreed } from '../../../../src/maintenance/plan/agreed-stops.js'
import { dueItems } from '../../../../src/maintenance/plan/due-items.js'
import { weekPlanOf } from '../../../../src/maintenance/plan/plan-week.js'
import { itemTitle, planReasonText } from '../../../../src/maintenance/plan/plan-words.js'
import { stopRequestHtml } from '../../../../src/maintenance/plan/stop-request.js'
import type { WeekPlan } from '../../../../src/maintenance/plan/week-plan.js'
import { WORK_CATALOGUE } from '../../../../src/maintenance/work-catalogue.js'
import { bookOf, DAY_MS, EARLY_SHIFT, HOUR_MS, intervalOf, jobOf, MONDAY_MS, recordFactOf, SATURDAY, suggestionOf, SUNDAY, WEEK } from './plan-bench.js'

const plan = (...books: Parameters<typeof weekPlanOf>[0]): WeekPlan => weekPlanOf(books, WEEK, 'UTC')
const early = { ...EARLY_SHIFT, days: [...EARLY_SHIFT.days] }
const saturday = { ...SATURDAY, days: [...SATURDAY.days] }
const sunday = { ...SUNDAY, days: [...SUNDAY.days] }
const workOf = (list: WeekPlan['unplanned']): string[] => list.map(({ item }) => item.work)
const keysOf = (list: WeekPlan['unplanned']): string[] => list.map(({ reason }) => reason.key)

describe('the plan of a week', () => {
  it('serves several jobs with one stop: isolation, cooling and warming up count once', () => {
    const { stops } = plan(bookOf({}, [intervalOf('clean-emitters', 1, { zone: 1 }), intervalOf('clean-thermocouple', 1, { zone: 2 }), intervalOf('clean-nozzle', 1)]))
    expect(stops).toHaveLength(1)
    expect(stops[0]!.jobs.map(({ item }) => item.work).sort()).toEqual(['clean-emitters', 'clean-nozzle', 'clean-thermocouple'])
    expect(stops[0]!.sharedMinutes).toBeGreaterThanOrEqual(2 * (10 + 15))
    // The nozzle needs nothing cold: it is cleaned while the tunnel cools.
    const nozzle = stops[0]!.jobs.find(({ item }) => item.work === 'clean-nozzle')!
    expect(nozzle.fromMs - stops[0]!.fromMs).toBe(10 * 60_000)
  })

  it('makes one stop of two back to back, though the longer one ends after the first job was due', () => {
    // due an hour and a half into the shift: a stop that takes in the second job ends after that
    const facts = [intervalOf('clean-nozzle', 1 - 2.5 / 336), intervalOf('calibrate-dosing', 1 - 60 / 336)]
    const { stops } = plan(bookOf({}, facts))
    expect(stops).toHaveLength(1)
    expect(stops[0]!.jobs.map(({ item }) => item.work)).toEqual(['clean-nozzle', 'calibrate-dosing'])
    expect(stops[0]!.late).toBe(false)
    expect(stops[0]!.sharedMinutes).toBe(10 + 15)
    // what is put off until later in the shift keeps its own stop
    const untilMs = MONDAY_MS + 6 * HOUR_MS
    const put = suggestionOf(['calibrate-dosing'], { status: 'put-off', history: [{ timeMs: MONDAY_MS, status: 'put-off', untilMs }] } as Parameters<typeof suggestionOf>[1])
    expect(plan(bookOf({}, facts.slice(0, 1), [put])).stops.map(({ fromMs }) => fromMs)).toEqual([MONDAY_MS + HOUR_MS, untilMs])
  })

  it('uses a shift without production when it comes before the work is due', () => {
    const suggestion = suggestionOf(['clean-vents'], { zone: 2 })
    const { stops } = plan(bookOf({ shifts: [early, saturday] }, [], [suggestion]))
    expect(stops).toMatchObject([{ shift: 'saturday', production: false, late: false, setUp: { warmUp: 0 } }])
    const soon = plan(bookOf({ shifts: [early, saturday] }, [], [{ ...suggestion, urgency: 'soon' }]))
    expect(soon.stops).toMatchObject([{ shift: 'early', production: true }])
  })

  it('never fits a chain that was left alone for long into one shift, however long the shift', () => {
    const neglected = [intervalOf('clean-chain', 2.5)]
    const alone = plan(bookOf({ shifts: [early] }, neglected))
    expect(alone.stops).toEqual([])
    expect(alone.unplanned.map(({ item, reason }) => [item.work, reason.key])).toEqual([['clean-chain', 'plan.longer-than-a-shift'], ['lubricate-chain', 'plan.longer-than-a-shift']])
    expect(planReasonText(alone.unplanned[0]!.reason, 'en-US', 'UTC')).toMatch(/about 18\.5 h|about 19 h/)

    const weekend = plan(bookOf({ shifts: [early, saturday, sunday] }, neglected))
    expect(weekend.stops.map(({ shift, part }) => [shift, part])).toEqual([['saturday', { number: 1, of: 2 }], ['sunday', { number: 2, of: 2 }]])
    expect(weekend.stops[1]!.jobs.at(-1)?.item.work).toBe('lubricate-chain')
    const minutes = weekend.stops.flatMap(({ jobs }) => jobs).reduce((sum, job) => sum + (job.untilMs - job.fromMs) / 60_000, 0)
    expect(minutes).toBe(weekend.stops[0]!.jobs[0]!.item.minutes.planned + 30)

    const longShift = { ...saturday, name: 'all day', start: '00:00', end: '23:59' }
    const long = plan(bookOf({ shifts: [longShift] }, neglected))
    expect(long.stops).toEqual([])
  })

  it('has work in every part of a job spread over shifts, though it ends just with a shift', () => {
    const short = { name: 'short', days: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'], start: '06:00', end: '08:00', people: 2, production: false } as const
    const { stops, unplanned } = plan(bookOf({ shifts: [{ ...short, days: [...short.days] }] }, [], [suggestionOf(['repair-drive'])]))
    expect([...stops, ...unplanned].length).toBeGreaterThan(0)
    for (const { jobs } of stops) expect(jobs.length).toBeGreaterThan(0)
  })

  it('fits a chain that is kept up, or washed in a machine, into one shift, and lubricates it right after', () => {
    const records = [1, 2, 3].map((week) => recordFactOf('clean-chain', { timeMs: MONDAY_MS - week * 14 * DAY_MS, minutes: 150 + week }))
    for (const book of [bookOf({ shifts: [early] }, [intervalOf('clean-chain', 1), ...records]), bookOf({ shifts: [early], planning: { washingMachine: true } }, [intervalOf('clean-chain', 2.5)])]) {
      const { stops, unplanned } = plan(book)
      expect(unplanned).toEqual([])
      expect(stops).toHaveLength(1)
      const [wash, oil] = stops[0]!.jobs
      expect([wash!.item.work, oil!.item.work]).toEqual(['clean-chain', 'lubricate-chain'])
      expect(oil!.fromMs).toBe(wash!.untilMs)
    }
  })

  it('keeps the agreed week as it is, whatever becomes due after', () => {
    const before = bookOf({}, [intervalOf('clean-nozzle', 1)])
    const agreed = plan(before).stops.map(asAgreed)
    const fact = { type: 'plan', id: `plan-${WEEK}`, timeMs: MONDAY_MS, week: WEEK, agreed: true, stops: agreed } as const
    const after = plan({ ...before, nowMs: MONDAY_MS + 2 * DAY_MS, facts: [...before.facts, intervalOf('clean-emitters', 1.4), fact] })
    expect(after.stops.map(asAgreed)).toEqual(agreed)
    expect(after.stops.every((stop) => stop.agreed)).toBe(true)
    expect(after.unplanned.map(({ item, reason }) => [item.work, reason.key])).toEqual([['clean-emitters', 'plan.week-agreed']])
    const opened = plan({ ...before, facts: [...before.facts, intervalOf('clean-emitters', 1.4), { ...fact, agreed: false }] })
    expect(opened.unplanned).toEqual([])
    expect(opened.stops[0]!.jobs).toHaveLength(2)
  })

  it.each([
    ['a lone shift', { shifts: [{ ...early, people: 1 }] }, [intervalOf('strip-pump', 1)], 'plan.too-few-people'],
    ['no shifts', { shifts: [] }, [intervalOf('clean-nozzle', 1)], 'plan.no-shifts'],
    ['a part that is not there', {}, [jobOf('replace-seals'), { type: 'stock', id: 'stock-seal-kit', timeMs: 0, item: 'seal-kit', ready: 0, dirty: 0, atWasher: 0 }], 'plan.part-missing'],
    ['a job that waits', {}, [jobOf('replace-bearing', { status: 'waiting-for-part', part: 'bearing 6204' })], 'plan.waits-for'],
  ] as const)('lists what does not fit with the reason: %s', (_name, input, facts, key) => {
    const { unplanned, stops } = plan(bookOf(input as Parameters<typeof bookOf>[0], facts as Parameters<typeof bookOf>[1]))
    expect(stops).toEqual([])
    expect(keysOf(unplanned)).toContain(key)
  })

  it('plans the site’s own jobs and its edits: people, minutes, name, isolation and cautions', () => {
    const text = (title: string) => ({ title, steps: ['Do it.'], tools: ['cloth'], verification: 'It is empty.' })
    const site = bookOf(
      { siteWork: { edits: { 'clean-rails': { people: 3, texts: { 'en-US': text('Rails, our way'), es: text('Guías, a nuestra manera') }, cautions: ['heavy-parts'] } }, jobs: [{ id: 'empty-drip-tray', section: 'fluxer', kind: 'cleaning', minutesByHand: [5, 10], isolation: ['stop-and-note'], cautions: ['fire-flux'], texts: { 'en-US': text('Empty the tray'), es: text('Vaciar la bandeja') } }] }, shifts: [{ ...early, people: 3 }] },
      [jobOf('clean-rails'), { ...jobOf('clean-nozzle'), id: 'own', work: 'empty-drip-tray', section: 'fluxer' }],
    )
    const week = plan(site)
    const jobs = week.stops.flatMap((stop) => stop.jobs.map(({ item }) => item))
    expect(jobs.map((item) => [itemTitle(item, 'en-US'), itemTitle(item, 'es'), item.people]).sort()).toEqual([['Empty the tray', 'Vaciar la bandeja', 1], ['Rails, our way', 'Guías, a nuestra manera', 3]])
    const page = week.stops.map((stop) => stopRequestHtml(stop, site, 'en-US')).join('')
    expect(page).toContain('Empty the tray')
    expect(page).toContain(cautionText('fire-flux', 'en-US'))
    expect(page).toContain(cautionText('heavy-parts', 'en-US'))
    expect(plan({ ...site, facts: [{ type: 'plan', id: 'p', timeMs: MONDAY_MS, week: WEEK, agreed: true, stops: week.stops.map(asAgreed) }] }).stops.flatMap((stop) => stop.jobs.map(({ item }) => itemTitle(item, 'en-US'))).sort()).toEqual(['Empty the tray', 'Rails, our way'])
  })

  it('wants work before the limit its drift may reach, not on the day of its class; a job’s date does not move with its steps', () => {
    const { raisedMs } = suggestionOf([])
    const dated = (days: number): number | undefined => dueItems(bookOf({}, [], [suggestionOf(['clean-vents'], { due: { kind: 'date', earliestMs: raisedMs + days * DAY_MS, likelyMs: raisedMs + 2 * days * DAY_MS } })]))[0]?.dueMs
    expect(dated(5)).toBe(raisedMs + 5 * DAY_MS)
    expect(dated(90)).toBe(raisedMs + 14 * DAY_MS)
    expect(dated(-1)).toBe(raisedMs)
    expect(dueItems(bookOf({}, [], [suggestionOf(['clean-vents'], { due: { kind: 'too-early' } })]))[0]?.dueMs).toBe(raisedMs + 14 * DAY_MS)
    expect(dueItems(bookOf({}, [jobOf('clean-vents', { raisedMs, timeMs: raisedMs + DAY_MS, status: 'paused' })]))[0]?.dueMs).toBe(raisedMs + 2 * DAY_MS)
  })

  it('does not plan what cannot wait: half-done and urgent work', () => {
    const { now, stops } = plan(bookOf({}, [jobOf('lubricate-chain', { status: 'half-done', doNotStart: 'washed-not-lubricated' })], [suggestionOf(['top-up-pot'], { section: 'pot', urgency: 'urgent' })]))
    expect(stops).toEqual([])
    expect(keysOf(now).sort()).toEqual(['now.half-done', 'now.urgent'])
  })

  it('leaves for later what is not due, unless a stop is there anyway', () => {
    const later = intervalOf('clean-emitters', 0.85, { interval: 2000, age: 1700 })
    expect(workOf(plan(bookOf({}, [later])).later)).toEqual(['clean-emitters'])
    const joined = plan(bookOf({}, [later, intervalOf('clean-thermocouple', 1, { zone: 1 })]))
    expect(joined.later).toEqual([])
    expect(joined.stops).toHaveLength(1)
  })

  it('leaves what is put off until its day, and past the week for later', () => {
    const putOff = (days: number): WeekPlan => plan(bookOf({}, [], [suggestionOf(['clean-vents'], { status: 'put-off', history: [{ timeMs: MONDAY_MS, status: 'put-off', untilMs: MONDAY_MS + days * DAY_MS }] })]))
    expect(keysOf(putOff(9).later)).toEqual(['plan.put-off'])
    expect(putOff(3).stops.every(({ fromMs }) => fromMs >= MONDAY_MS + 3 * DAY_MS)).toBe(true)
  })

  it('swaps a clean spare set in once, and cleans by hand where no set is left', () => {
    const stock = { type: 'stock', id: 'stock-vent-plate-set', timeMs: 0, item: 'vent-plate-set', ready: 1, dirty: 1, atWasher: 0 } as const
    const jobs = plan(bookOf({}, [intervalOf('clean-vents', 1, { zone: 1 }), intervalOf('clean-vents', 1, { zone: 2 }), stock])).stops.flatMap((stop) => stop.jobs)
    expect(jobs.map(({ item }) => [item.zone, item.minutes.basis])).toEqual([[1, 'spare-set'], [2, 'hand']])
  })

  it('lets one crew serve two lines one after the other where it has not the people for both at once', () => {
    const books = ['line-a', 'line-b'].map((line) => bookOf({ line, shifts: [early] }, [intervalOf('strip-pump', 1)]))
    const { stops } = plan(...books)
    expect(stops.map(({ line }) => line).sort()).toEqual(['line-a', 'line-b'])
    const [first, second] = stops
    expect(second!.fromMs).toBeGreaterThanOrEqual(first!.untilMs)
  })

  it('takes the long end of a range, which the site’s own records move', () => {
    const minutes = (facts: Parameters<typeof bookOf>[1]): number => plan(bookOf({}, [intervalOf('clean-rails', 1), ...(facts ?? [])])).stops[0]!.jobs[0]!.item.minutes.planned
    expect(minutes([])).toBe(60)
    const quick = Array.from({ length: 12 }, (_, index) => recordFactOf('clean-rails', { timeMs: MONDAY_MS - (index + 2) * 7 * DAY_MS, minutes: 25, finding: 1 }))
    expect(minutes(quick)).toBeLessThan(45)
    const heavy = Array.from({ length: 4 }, (_, index) => recordFactOf('clean-rails', { timeMs: MONDAY_MS - (index + 2) * 6 * DAY_MS, minutes: 90, finding: 3 }))
    const used = bookOf({}, [intervalOf('clean-rails', 1.5), ...quick, ...heavy])
    expect(plan(used).stops[0]!.jobs[0]!.item.minutes.planned).toBeGreaterThan(80)
  })

  it('has a place or a reason in both languages for every job of the catalogue at once', () => {
    const facts = WORK_CATALOGUE.map(({ id, section }) => intervalOf(id, 1.1, section === 'preheat' ? { zone: 1 } : {}))
    const { stops, now, unplanned, later } = plan(bookOf({ shifts: [early, saturday, sunday] }, facts))
    const listed = [...stops.flatMap(({ jobs }) => jobs), ...now, ...unplanned, ...later].map(({ item }) => item.work)
    expect(new Set(listed)).toEqual(new Set(WORK_CATALOGUE.map(({ id }) => id)))
    for (const language of ['en-US', 'es'] as const) {
      for (const { reason } of [...now, ...unplanned, ...later]) expect(planReasonText(reason, language, 'UTC')).not.toMatch(/[{}]/)
      for (const { item } of stops.flatMap(({ jobs }) => jobs)) for (const because of item.because) expect(planReasonText(because, language, 'UTC')).not.toMatch(/[{}]/)
    }
  })
})

describe('the hour of a stop', () => {
  it('begins with the shift in the plant’s own time', () => {
    const madrid = bookOf({ timeZone: 'Europe/Madrid', shifts: [early] }, [intervalOf('clean-nozzle', 1)])
    // Monday 06:00 in Madrid is 05:00 UTC in winter.
    expect(plan(madrid).stops[0]!.fromMs).toBe(MONDAY_MS)
    expect(plan({ ...madrid, nowMs: MONDAY_MS + HOUR_MS }).stops[0]!.fromMs).toBe(MONDAY_MS + DAY_MS)
  })
})

describe('rounds in the plan', () => {
  it('tells what of the week and month is still due, and only in the week in hand', () => {
    const book = bookOf({ shifts: [early] })
    const { rounds } = plan(book)
    expect(rounds.map(({ every }) => every)).toEqual(['week', 'month'])
    for (const round of rounds) {
      expect(round.checks.length).toBeGreaterThan(0)
      expect(round.minutes).toBeGreaterThan(0)
      expect(round.dueByMs).toBeGreaterThan(MONDAY_MS)
    }
    expect(weekPlanOf([book], '2026-W49', 'UTC').rounds).toEqual([])
    const done = { type: 'rounds', id: 'rounds', timeMs: MONDAY_MS, sinceMs: MONDAY_MS - 60 * DAY_MS, last: rounds.flatMap(({ checks }) => checks.map((check) => ({ check, timeMs: MONDAY_MS, inOrder: true }))), events: [] } as unknown as NonNullable<Parameters<typeof bookOf>[1]>[number]
    expect(plan({ ...book, nowMs: MONDAY_MS + HOUR_MS, facts: [done] }).rounds).toEqual([])
  })
})
