import { describe, expect, it } from 'vitest'
import { shortCode } from '../../../../src/maintenance/suggestion-id.js'
import { DAY_MS, HOUR_MS, JobBench, lineWith, MINUTE_MS, shiftOf, START_MS } from './job-bench.js'

describe('a chain washed and not lubricated', () => {
  it('stands as half done with its clock until the lubrication is recorded', () => {
    const bench = new JobBench()
    const washedMs = bench.nowMs
    bench.record('clean-chain', { finding: 3, minutes: 120, washer: true })
    expect(bench.job('clean-chain')).toMatchObject({ status: 'half-done', doNotStart: 'washed-not-lubricated', doNotStartSinceMs: washedMs, followUp: 'lubricate-chain' })
    expect(bench.job('lubricate-chain')).toMatchObject({ status: 'open', urgency: 'urgent', source: 'lead' })
    bench.wait(3 * HOUR_MS).restart().wait(HOUR_MS)
    expect(bench.job('clean-chain')).toMatchObject({ doNotStart: 'washed-not-lubricated', doNotStartSinceMs: washedMs })
    bench.record('lubricate-chain', { product: 'ester-or-pao-oil' })
    expect(bench.job('clean-chain')).toMatchObject({ status: 'done' })
    expect(bench.job('clean-chain').doNotStart).toBeUndefined()
    expect(bench.job('lubricate-chain').status).toBe('done')
    expect(bench.open).toEqual([])
  })

  it('that runs anyway is said once, with its time, and nothing more', () => {
    const bench = new JobBench()
    bench.record('clean-chain')
    expect(bench.job('clean-chain').ranAnywayMs).toBeUndefined()
    bench.wait(HOUR_MS).enterState('production')
    const ranMs = bench.nowMs
    expect(bench.job('clean-chain').ranAnywayMs).toBe(ranMs)
    const said = bench.facts.length
    bench.wait(HOUR_MS).enterState('idle').wait(HOUR_MS).enterState('production')
    expect(bench.facts.length).toBe(said)
    bench.record('lubricate-chain')
    expect(bench.job('clean-chain')).toMatchObject({ status: 'done', ranAnywayMs: ranMs })
  })

  it('is not protected by a lubrication that came before the wash, but by one recorded late', () => {
    const bench = new JobBench()
    bench.wait(2 * DAY_MS)
    bench.record('lubricate-chain', { timeMs: bench.nowMs - DAY_MS })
    bench.record('clean-chain')
    expect(bench.job('clean-chain').doNotStart).toBe('washed-not-lubricated')
    bench.wait(DAY_MS)
    bench.record('lubricate-chain', { timeMs: bench.nowMs - DAY_MS + HOUR_MS })
    expect(bench.job('clean-chain').status).toBe('done')
    // A wash of last week, told today, was lubricated since.
    bench.record('clean-chain', { timeMs: bench.nowMs - 2 * DAY_MS })
    expect(bench.open).toEqual([])
  })

  it('comes back when the lubrication is taken back, and goes when the wash is', () => {
    const bench = new JobBench()
    const wash = bench.record('clean-chain')
    const oil = bench.record('lubricate-chain')
    bench.correct(oil, undefined)
    expect(bench.records.find(({ id }) => id === oil)).toMatchObject({ withdrawn: true, earlier: [{ reason: 'mistyped' }] })
    expect(bench.job('clean-chain')).toMatchObject({ status: 'half-done', doNotStart: 'washed-not-lubricated' })
    bench.correct(wash, undefined)
    expect(bench.open.filter(({ doNotStart }) => doNotStart !== undefined)).toEqual([])
    expect(bench.job('clean-chain').status).toBe('dropped')
    bench.correct(wash, undefined)
    expect(bench.refusals.at(-1)).toMatchObject({ reason: 'correction.already-withdrawn' })
  })

  it('cannot be called done, put off or dropped', () => {
    const bench = new JobBench()
    bench.record('clean-chain')
    const { id } = bench.job('clean-chain')
    expect(bench.tell({ action: 'done', job: id })).toBe('job.follow-up-missing')
    expect(bench.tell({ action: 'put-off', job: id, reason: 'no-time-now', untilMs: bench.nowMs + HOUR_MS })).toMatch(/urgent|under-way/)
    expect(bench.tell({ action: 'drop', job: id, reason: 'not-needed' })).toBe('job.work-under-way')
  })
})

describe('two people', () => {
  it('a job for two is not taken by a lone shift, nor by one nobody knows of', () => {
    const alone = new JobBench(shiftOf(1)).enter({ action: 'add', work: 'clean-chain' })
    const { id } = alone.job('clean-chain')
    expect(alone.tell({ action: 'take', job: id, by: 'Robin' })).toBe('job.two-people-needed')
    expect(alone.refusals.at(-1)?.values).toEqual({ needed: 2, people: 1 })
    expect(alone.tell({ action: 'take', job: id, people: 2 })).toBeUndefined()
    expect(alone.job('clean-chain')).toMatchObject({ status: 'taken', people: 2 })
    const unknown = new JobBench(lineWith()).enter({ action: 'add', work: 'clean-chain' })
    expect(unknown.tell({ action: 'take', job: unknown.job('clean-chain').id })).toBe('job.people-not-given')
  })

  it('of a suggestion taken by a lone shift only what one can do is taken', () => {
    const bench = new JobBench(shiftOf(1)).suggest(['clean-rails', 'clean-chain', 'lubricate-chain'], 'taken', { by: 'Robin' })
    expect(bench.open.map(({ work, status, reason }) => [work, status, reason])).toEqual([
      ['clean-rails', 'taken', undefined],
      ['clean-chain', 'open', 'two-people-needed'],
      ['lubricate-chain', 'open', 'two-people-needed'],
    ])
    expect(new JobBench(shiftOf(2)).suggest(['clean-chain'], 'taken').job('clean-chain').status).toBe('taken')
  })

  it('counts the shift of the time and the zone, over midnight too', () => {
    const definition = lineWith({ timeZone: 'America/Chicago', shifts: [{ name: 'night', days: ['sun'], start: '22:00', end: '06:00', people: 2 }, { name: 'day', days: ['mon'], start: '06:00', end: '14:00', people: 1 }] })
    // Monday 06:00 UTC is midnight in Chicago: Sunday's night shift.
    const bench = new JobBench(definition).enter({ action: 'add', work: 'strip-pump' })
    const { id } = bench.job('strip-pump')
    expect(bench.tell({ action: 'take', job: id })).toBeUndefined()
    bench.enter({ action: 'give-back', job: id })
    bench.nowMs = START_MS + 8 * HOUR_MS
    expect(bench.tell({ action: 'take', job: id })).toBe('job.two-people-needed')
  })
})

describe('putting off', () => {
  it('a safety job needs a named engineer past its limit, however often it is put off', () => {
    const bench = new JobBench().enter({ action: 'add', work: 'swap-exhaust-filter' })
    const { id } = bench.job('swap-exhaust-filter')
    const putOff = (days: number, engineer?: string): string | undefined => bench.tell({ action: 'put-off', job: id, reason: 'parts-missing', untilMs: bench.nowMs + days * DAY_MS, ...(engineer === undefined ? {} : { engineer }) })
    expect(putOff(6)).toBeUndefined()
    bench.wait(6 * DAY_MS + MINUTE_MS)
    expect(bench.job('swap-exhaust-filter').status).toBe('open')
    expect(putOff(3)).toBe('job.engineer-needed')
    expect(putOff(3, 'Alex, engineer')).toBeUndefined()
    expect(bench.job('swap-exhaust-filter')).toMatchObject({ status: 'put-off', engineer: 'Alex, engineer' })
    expect(bench.tell({ action: 'drop', job: id, reason: 'not-needed' })).toBe('job.engineer-needed')
  })

  it('asks a reason of the list and a time ahead', () => {
    const bench = new JobBench().enter({ action: 'add', work: 'clean-vents', zone: 2 })
    const { id } = bench.job('clean-vents')
    expect(bench.tell({ action: 'put-off', job: id, reason: 'mood', untilMs: bench.nowMs + DAY_MS })).toBe('job.reason-missing')
    expect(bench.tell({ action: 'put-off', job: id, reason: 'other' })).toBe('job.until-missing')
    expect(bench.tell({ action: 'put-off', job: id, reason: 'other', untilMs: bench.nowMs })).toBe('job.until-in-the-past')
    expect(bench.tell({ action: 'put-off', job: id, reason: 'other', untilMs: bench.nowMs + 91 * DAY_MS })).toBe('job.until-too-far')
    expect(bench.tell({ action: 'put-off', job: id, reason: 'other', untilMs: bench.nowMs + DAY_MS })).toBeUndefined()
  })
})

describe('isolation and return to service', () => {
  function strippedDown(): { bench: JobBench; id: string } {
    const bench = new JobBench().enter({ action: 'add', work: 'clean-fingers' })
    const { id } = bench.job('clean-fingers')
    for (const entry of [{ action: 'take', by: 'Robin' }, { action: 'isolate', by: 'Robin' }, { action: 'isolate', by: 'Sam' }, { action: 'start', dismantled: 'left finger chain' }] as const) expect(bench.tell({ job: id, ...entry })).toBeUndefined()
    return { bench, id }
  }

  it('shows who holds the isolation and what is dismantled, through a hand-over', () => {
    const { bench, id } = strippedDown()
    bench.enter({ action: 'hand-over', job: id, by: 'Robin', remark: 'late shift goes on' }).restart()
    expect(bench.job('clean-fingers')).toMatchObject({ status: 'paused', doNotStart: 'work-under-way', isolation: { holder: 'Robin' }, dismantled: 'left finger chain' })
    expect(bench.job('clean-fingers').holders.map(({ holder }) => holder)).toEqual(['Robin', 'Sam'])
    expect(bench.tell({ action: 'give-back', job: id })).toBe('job.work-under-way')
  })

  it('each owner removes the own lock, the last one only after guards, tools and people; only then the empty run', () => {
    const { bench, id } = strippedDown()
    const step = (name: string): string | undefined => bench.tell({ action: 'return-step', job: id, step: name })
    bench.record('clean-fingers', { finding: 2, minutes: 70 })
    expect(bench.job('clean-fingers')).toMatchObject({ status: 'half-done', doNotStart: 'not-returned-to-service' })
    expect(bench.tell({ action: 'release-isolation', job: id, by: 'Kim' })).toBe('job.not-the-holder')
    expect(bench.tell({ action: 'release-isolation', job: id, by: 'Sam' })).toBeUndefined()
    expect(bench.tell({ action: 'release-isolation', job: id, by: 'Robin' })).toBe('job.return-steps-open')
    expect(step('isolation-removed-by-owner')).toBe('job.holder-must-release')
    expect(step('empty-run')).toBe('job.return-steps-open')
    for (const name of ['guards-on', 'tools-and-rags-out', 'people-clear']) expect(step(name)).toBeUndefined()
    expect(bench.tell({ action: 'done', job: id })).toBe('job.return-steps-open')
    expect(bench.tell({ action: 'release-isolation', job: id, by: 'Robin' })).toBeUndefined()
    expect(bench.job('clean-fingers').doNotStart).toBe('not-returned-to-service')
    expect(step('empty-run')).toBeUndefined()
    expect(bench.job('clean-fingers')).toMatchObject({ status: 'done', holders: [] })
    expect(bench.job('clean-fingers').dismantled).toBeUndefined()
  })

  it('a lock put on again begins the return anew', () => {
    const { bench, id } = strippedDown()
    bench.enter({ action: 'return-step', job: id, step: 'guards-on' }).enter({ action: 'isolate', job: id, by: 'Kim' })
    expect(bench.job('clean-fingers').returnSteps).toEqual([])
  })

  it('work without a record is not done; an isolation without a holder is none', () => {
    const bench = new JobBench().enter({ action: 'add', work: 'clean-rails' })
    const { id } = bench.job('clean-rails')
    bench.enter({ action: 'take', job: id })
    expect(bench.tell({ action: 'isolate', job: id })).toBe('job.holder-missing')
    expect(bench.tell({ action: 'done', job: id })).toBe('job.record-missing')
  })
})

describe('the flash-point gate at the start of work', () => {
  it('where the site keeps no names, whose lock is on is known until it is off', () => {
    const bench = new JobBench({ ...shiftOf(3), people: { names: 'none', keepDays: 365 } })
    bench.enter({ action: 'add', work: 'clean-chain' })
    const { id } = bench.job('clean-chain')
    for (const entry of [{ action: 'take' }, { action: 'isolate', by: 'Robin' }] as const) expect(bench.tell({ job: id, ...entry })).toBeUndefined()
    expect(bench.job('clean-chain')).toMatchObject({ holders: [{ holder: 'Robin' }] })
    for (const step of ['guards-on', 'tools-and-rags-out', 'people-clear']) expect(bench.tell({ job: id, action: 'return-step', step })).toBeUndefined()
    expect(bench.tell({ job: id, action: 'release-isolation', by: 'Robin' })).toBeUndefined()
    expect(bench.job('clean-chain').holders).toEqual([])
    expect(JSON.stringify(bench.job('clean-chain'))).not.toContain('Robin')
  })

  it('does not release a cleaner without a hand-measured surface, nor one whose flash point is too near', () => {
    const bench = new JobBench(lineWith({ siteWork: { products: [{ name: 'Shelf 2', class: 'engineered-cleaner', flashPointC: 90 }, { name: 'Spirit', class: 'isopropyl-alcohol' }, { name: 'Shelf 9', class: 'silicone-lubricant' }] } })).enter({ action: 'add', work: 'clean-vents', zone: 1 })
    const { id } = bench.job('clean-vents')
    // However cold the zone reads, it says nothing of the hottest surface within reach.
    bench.read('preheat.zone-1.temperature', 22).enter({ action: 'take', job: id })
    const start = (product: string, surfaceC?: number): string | undefined => bench.tell({ action: 'start', job: id, product, ...(surfaceC === undefined ? {} : { surfaceC }) })
    expect(start('Shelf 2')).toBe('record.surface-not-measured')
    expect(start('Shelf 2', 80)).toBe('record.flash-point-too-low')
    expect(bench.refusals.at(-1)?.values).toMatchObject({ flashPointC: 90, surfaceC: 80, coolToC: 75 })
    expect(start('Spirit', 25)).toBe('record.flash-point-too-low')
    expect(start('Shelf 9', 20)).toBe('record.product-silicone')
    expect(start('Unknown', 20)).toBe('record.unknown-product')
    expect(start('Shelf 2', 40)).toBeUndefined()
    expect(bench.job('clean-vents')).toMatchObject({ status: 'started', product: 'Shelf 2', surfaceC: 40 })
  })
})

describe('where jobs come from', () => {
  it('changes and rounds call for their job once', () => {
    const bench = new JobBench()
    const change = (change: string): void => void bench.hear({ type: 'change', id: `c-${change}`, timeMs: bench.nowMs, change, source: 'entry' } as never)
    for (const kind of ['long-stop', 'nozzle-refitted', 'jam', 'jam', 'chain-refitted', 'flux-lot']) change(kind)
    expect(bench.open.map(({ work }) => work)).toEqual(['purge-nozzle', 'align-nozzle', 'check-fingers-and-drive', 'run-empty-loops'])
    const round = (check: string, values: Record<string, number> = {}): void => void bench.hear({ type: 'round', id: `round-${check}`, timeMs: bench.nowMs, round: 'shift', items: [], exceptions: [{ check, reason: 'round.finding', values }] } as never)
    bench.hear({ type: 'round', id: 'round-purged', timeMs: bench.nowMs, round: 'event', items: [{ check: 'purge-nozzle', ok: true }], exceptions: [] } as never)
    expect(bench.job('purge-nozzle')).toMatchObject({ status: 'done' })
    round('weigh-dose')
    round('profile-board')
    round('look-at-flux-hose', { finding: 4 })
    expect(bench.open.slice(3).map(({ work, urgency }) => [work, urgency])).toEqual([['calibrate-dosing', 'soon'], ['stop-flux-leak', 'urgent']])
  })

  it('a cleaned nozzle calls for its direction, unless that was checked since', () => {
    const bench = new JobBench()
    bench.record('clean-nozzle')
    expect(bench.job('align-nozzle')).toMatchObject({ status: 'open', source: 'lead', urgency: 'soon' })
    const late = new JobBench()
    late.record('align-nozzle')
    late.record('clean-nozzle', { timeMs: late.nowMs - HOUR_MS })
    expect(late.open).toEqual([])
  })

  it('a job is known by the short code of its card', () => {
    const bench = new JobBench().enter({ action: 'add', work: 'clean-vents', zone: 2 })
    const { id } = bench.job('clean-vents')
    expect(bench.tell({ action: 'take', job: shortCode(id).toLowerCase() })).toBeUndefined()
    // A card printed before codes had signs of their own.
    expect(bench.tell({ action: 'give-back', job: id.slice(-6).toUpperCase() })).toBeUndefined()
    expect(bench.tell({ action: 'take', job: 'ZZZZZZ' })).toBe('job.unknown')
    expect(bench.tell({ action: 'add', work: 'clean-vents', zone: 2 })).toBe('job.already-there')
    expect(bench.tell({ action: 'add', work: 'clean-vents', zone: 9 })).toBe('record.no-such-zone')
    expect(bench.tell({ action: 'add', work: 'paint-it' })).toBe('job.unknown-work')
  })
})

describe('the urgent class', () => {
  function hotLine(): JobBench {
    return new JobBench().enterState('production').read('preheat.zone-1.temperature', 120).read('board.count', 10)
  }
  function run(bench: JobBench, channel: string, value: number, minutes: number): void {
    for (let second = 0; second < minutes * 60; second += 10) {
      bench.nowMs += 10_000
      bench.read(channel, value)
    }
  }

  it('boards may stand in the heat: said after a minute, gone when the conveyor moves', () => {
    const bench = hotLine().read('conveyor.speed', 20).read('board.count', 11)
    run(bench, 'conveyor.speed', 0, 0.8)
    expect(bench.open).toEqual([])
    run(bench, 'conveyor.speed', 0, 0.5)
    expect(bench.job('clear-standing-boards')).toMatchObject({ status: 'open', urgency: 'urgent', source: 'watch' })
    expect(bench.tell({ action: 'put-off', job: bench.job('clear-standing-boards').id, reason: 'other', untilMs: bench.nowMs + HOUR_MS })).toBe('job.is-urgent')
    run(bench, 'conveyor.speed', 20, 0.2)
    expect(bench.job('clear-standing-boards')).toMatchObject({ status: 'done' })
  })

  it('an empty or a cold line that stands is no news', () => {
    const empty = hotLine()
    run(empty, 'conveyor.speed', 20, 12)
    run(empty, 'conveyor.speed', 0, 5)
    expect(empty.open).toEqual([])
    const cold = new JobBench().enterState('production').read('preheat.zone-1.temperature', 40).read('board.count', 1).read('board.count', 2)
    run(cold, 'conveyor.speed', 0, 5)
    expect(cold.open).toEqual([])
  })

  it('low level with the pump running, by the alarm of the line or well under its own usual level', () => {
    const named = new JobBench(lineWith({ machine: { pot: { levelAlarmMm: -9 } } })).read('pot.pump-speed', 60)
    run(named, 'pot.level', -8.5, 5)
    expect(named.open).toEqual([])
    run(named, 'pot.level', -9.5, 3)
    expect(named.job('stop-for-low-level')).toMatchObject({ urgency: 'urgent' })
    named.read('pot.pump-speed', 0)
    run(named, 'pot.level', -9.5, 0.5)
    expect(named.job('stop-for-low-level').status).toBe('done')
    const learned = new JobBench().read('pot.pump-speed', 60)
    run(learned, 'pot.level', 100, 9 * 60)
    run(learned, 'pot.level', 90, 5)
    expect(learned.open).toEqual([])
    run(learned, 'pot.level', 85, 3)
    expect(learned.job('stop-for-low-level')).toBeDefined()
  })

  it('an exhaust that is lost, not one that is merely changed', () => {
    const bench = hotLine()
    run(bench, 'exhaust.pressure', -80, 9 * 60)
    run(bench, 'exhaust.pressure', -40, 10)
    expect(bench.open).toEqual([])
    run(bench, 'exhaust.pressure', -5, 2)
    expect(bench.job('restore-exhaust')).toMatchObject({ urgency: 'urgent', safety: true })
  })
})
