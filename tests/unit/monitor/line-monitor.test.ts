import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { LineInput } from '../../../src/monitor/line-event.js'
import { createLineMonitor } from '../../../src/monitor/line-monitor.js'
import { BENCH_DEFINITION, define, inputsOfMinute, minutesOf, MonitorBench, spreadAt, START_MS, type Minute } from './monitor-bench.js'

const CUSTOM = 'custom.temperature.value'
const atMinute = (minute: number): number => START_MS + minute * 60_000

describe('stages of a monitor', () => {
  it('run in order, and none without those before it', () => {
    const bench = new MonitorBench()
    bench.give({ kind: 'stages', stages: [] }).run(0, 60)
    expect(bench.of('feature').length).toBeGreaterThan(50)
    expect(bench.of('point')).toEqual([])
    bench.give({ kind: 'stages', stages: ['telemetry', 'charts'] }).run(60, 120)
    expect(bench.of('point').length).toBeGreaterThan(30)
    expect(bench.of('diagnosis')).toEqual([])
  })

  const jerky = (minute: number): Minute => ({ jerk: minute >= 625 ? 4 : 1 })

  it('take a record whose clock runs ahead for done when it came, and a future one has no hold on the suggestion', () => {
    const bench = new MonitorBench().run(0, 760, jerky)
    const open = bench.of('suggestion')[0]!
    const record = { id: 'record-1', timeMs: atMinute(760) + 70 * 365 * 24 * 3_600_000, section: open.section, work: 'clean-rails', finding: 3, suggestion: open.id }
    bench.give({ kind: 'record', record }, atMinute(760))
    const answered = bench.of('suggestion').at(-1)!
    expect(answered.status).not.toBe('open')
    expect(answered.statusMs).toBeLessThanOrEqual(atMinute(760))
    expect(answered.statusMs).toBeGreaterThan(atMinute(750))
  })

  it('charts alone signal, with diagnosis a cause is named, with the queue it is suggested', () => {
    const charts = new MonitorBench().give({ kind: 'stages', stages: ['telemetry', 'charts'] }).run(0, 760, jerky)
    // A jerky chain is uneven, and it jumps: these two signal, and nothing else.
    expect(charts.of('signal').map(({ feature, phase, side }) => [feature, phase, side])).toEqual([
      ['conveyor.speed.spread', 'start', 'above'],
      ['conveyor.speed.jumps', 'start', 'above'],
    ])
    expect([charts.of('diagnosis'), charts.of('suggestion')]).toEqual([[], []])
    const diagnosis = new MonitorBench().give({ kind: 'stages', stages: ['telemetry', 'charts', 'diagnosis'] }).run(0, 760, jerky)
    expect(diagnosis.of('diagnosis')[0]?.causes[0]).toMatchObject({ cause: 'transport-drag' })
    expect(diagnosis.of('suggestion')).toEqual([])
    const all = new MonitorBench().run(0, 760, jerky)
    expect(all.of('suggestion')).toMatchObject([{ section: 'transport', status: 'open' }])
  })
})

describe('what is measured on boards and comes an hour late', () => {
  it('is no time of its own: a suspicion stands as long as without it, and looks are no more', () => {
    const definition = define({ ...BENCH_DEFINITION, channels: [...BENCH_DEFINITION.channels, { channel: 'board.defects.skip' }] })
    const raisedAt = (lateMinutes: number): { readonly raised: readonly number[]; readonly looks: number } => {
      const bench = new MonitorBench(definition)
      for (let minute = 0; minute < 760; minute += 1) {
        bench.run(minute, minute + 1, { jerk: minute >= 625 ? 4 : 1 })
        if (minute >= lateMinutes) bench.give({ kind: 'value', channel: 'board.defects.skip', value: 0, time: atMinute(minute - lateMinutes) + 500 }, atMinute(minute + 1))
      }
      return { raised: bench.of('suggestion').map(({ raisedMs }) => Math.floor(minutesOf(raisedMs))), looks: bench.of('diagnosis').length }
    }
    const late = raisedAt(60)
    expect(late.raised).toHaveLength(1)
    expect(late).toEqual(raisedAt(0))
  })
})

describe('a value of a production window', () => {
  const offsets = (bench: MonitorBench, untilMinute: number): number[] => bench.of('feature').filter(({ feature, timeMs }) => feature === 'conveyor.speed.offset' && minutesOf(timeMs) <= untilMinute).map(({ timeMs }) => minutesOf(timeMs))

  it('is dropped when a changeover is noticed shortly after it', () => {
    const steady = new MonitorBench().run(0, 200)
    expect(offsets(steady, 120).slice(-3)).toEqual([100, 110, 120])
    const changed = new MonitorBench().run(0, 200, (minute) => (minute >= 120 ? { recipe: 'board-b', zonesC: [120, 140, 160] } : {}))
    expect(changed.of('state').find(({ state }) => state === 'changeover')).toMatchObject({ timeMs: atMinute(120), recipe: 'board-b' })
    expect(offsets(changed, 120).at(-1)).toBe(100)
    // The site's own channel counts in any state.
    const own = changed.of('feature').filter(({ feature }) => feature === CUSTOM).map(({ timeMs }) => minutesOf(timeMs))
    expect(own).toEqual(own.map((_, index) => index))
  })

  it('waits through a restart, and leaves at the end of the data', () => {
    const last = (bench: MonitorBench): number => offsets(bench, 200).at(-1) ?? 0
    const bench = new MonitorBench().run(0, 115)
    const before = last(bench)
    expect(before).toBeLessThanOrEqual(100)
    bench.restart().give({ kind: 'end-of-data' })
    expect(last(bench)).toBeGreaterThanOrEqual(110)
    const values = (one: MonitorBench): unknown[] => one.of('feature').filter(({ feature }) => feature === 'conveyor.speed.offset')
    expect(values(bench)).toEqual(values(new MonitorBench().run(0, 115).give({ kind: 'end-of-data' })))
  })
})

describe('what begins right after a long stop', () => {
  it('may be a run-in: the suggestion waits until that would be over', () => {
    const raisedMinute = (stopMinutes: number): number => {
      const bench = new MonitorBench().run(0, 1000, (minute) => ({ state: minute >= 600 && minute < 600 + stopMinutes ? 'idle' : 'production', jerk: minute >= 625 ? 4 : 1 }))
      const [suggestion] = bench.of('suggestion')
      return minutesOf(suggestion?.raisedMs ?? 0)
    }
    const without = raisedMinute(0)
    expect(without).toBeGreaterThan(640)
    expect(without).toBeLessThan(770)
    // A short stop is no work on the line.
    expect(raisedMinute(10)).toBeLessThan(770)
    expect(raisedMinute(20)).toBeGreaterThanOrEqual(620 + 150)
  })
})

describe('a feature of the site', () => {
  it('goes straight to its chart', () => {
    const bench = new MonitorBench()
    for (let index = 0; index < 60; index += 1) bench.give({ kind: 'feature', feature: CUSTOM, timeMs: atMinute(index), value: 60 + spreadAt(index) })
    expect(bench.of('point').some(({ feature, chart }) => feature === CUSTOM && chart !== 'cusum-up')).toBe(true)
  })

  it('is refused with its reason where nobody knows it or it is no number', () => {
    const bench = new MonitorBench()
    bench.give({ kind: 'feature', feature: 'custom.mood.value', timeMs: START_MS, value: 1 })
    for (const value of [NaN, Infinity]) bench.give({ kind: 'feature', feature: CUSTOM, timeMs: START_MS, value })
    expect(bench.outputs.map(({ kind }) => kind)).toEqual(['rejected', 'rejected', 'rejected'])
    expect(bench.of('rejected').map(({ reason, where }) => [reason, where])).toEqual([['unknown-channel', 'custom.mood.value'], ['not-finite', CUSTOM], ['not-finite', CUSTOM]])
    expect(bench.of('rejected')[0]?.expected).toContain('custom')
  })
})

describe('a decision on a baseline', () => {
  const learned = (): MonitorBench => {
    const bench = new MonitorBench()
    for (let index = 0; index < 80; index += 1) bench.give({ kind: 'feature', feature: CUSTOM, timeMs: atMinute(index), value: 60 + spreadAt(index) })
    return bench
  }

  it('accepts what was learned: points say so from then on', () => {
    const bench = learned()
    expect(bench.of('point').at(-1)?.baseline).toBe('provisional')
    bench.give({ kind: 'baseline', feature: CUSTOM, decision: 'accept' }, atMinute(80))
    expect(bench.of('baseline').at(-1)).toMatchObject({ feature: CUSTOM, status: 'accepted' })
    bench.restart().give({ kind: 'feature', feature: CUSTOM, timeMs: atMinute(81), value: 60 })
    expect(bench.of('point').at(-1)?.baseline).toBe('accepted')
  })

  it('rejects it: the chart begins anew', () => {
    const bench = learned()
    bench.give({ kind: 'baseline', feature: CUSTOM, decision: 'reject' }, atMinute(80))
    expect(bench.of('baseline').at(-1)).toMatchObject({ status: 'learning', n: 0 })
    const before = bench.of('point').length
    for (let index = 80; index < 87; index += 1) bench.give({ kind: 'feature', feature: CUSTOM, timeMs: atMinute(index), value: 70 + spreadAt(index) })
    expect(bench.of('point').length).toBe(before)
  })

  it('on a feature without a chart is refused', () => {
    const bench = new MonitorBench().give({ kind: 'baseline', feature: 'pot.mood', decision: 'accept' }, atMinute(1))
    expect(bench.of('rejected')).toMatchObject([{ where: 'pot.mood', found: expect.stringContaining('accept') }])
    expect(learned().give({ kind: 'baseline', feature: CUSTOM, recipe: 'board-z', decision: 'accept' }).of('rejected')).toHaveLength(1)
  })
})

describe('a changed definition', () => {
  it('keeps what the charts have learned', () => {
    const bench = new MonitorBench()
    for (let index = 0; index < 80; index += 1) bench.give({ kind: 'feature', feature: CUSTOM, timeMs: atMinute(index), value: 60 + spreadAt(index) })
    const before = bench.of('point').at(-1)
    const changed = define({ ...BENCH_DEFINITION, title: 'Renamed', channels: [...BENCH_DEFINITION.channels, { channel: 'pot.level', periodS: 30 }] })
    bench.give({ kind: 'definition', definition: changed }).give({ kind: 'feature', feature: CUSTOM, timeMs: atMinute(80), value: 60 })
    expect(bench.of('point').at(-1)).toMatchObject({ timeMs: atMinute(80), baseline: 'provisional' })
    expect(bench.of('point').at(-1)?.n).toBeGreaterThanOrEqual(before?.n ?? Infinity)
    bench.restart(changed).give({ kind: 'value', channel: 'pot.level', value: 1, time: atMinute(81) })
    expect(bench.of('rejected')).toEqual([])
  })
})

describe('a snapshot', () => {
  it('of another version is refused', () => {
    expect(() => createLineMonitor(define(), { version: 1 })).toThrow('its saved state has form 1, this program goes on from form 3 only; nothing was changed')
    expect(() => createLineMonitor(define(), {})).toThrow('form undefined')
  })

  it('holds a signal that the next diagnosis is to look at', () => {
    const looksAt = (restarts: boolean): number => {
      const bench = new MonitorBench().run(0, 604)
      for (let index = 0; index < 4; index += 1) bench.give({ kind: 'feature', feature: 'conveyor.speed.spread', timeMs: atMinute(604) + index, value: 0.05 })
      expect(bench.of('signal')).toHaveLength(1)
      expect(bench.of('diagnosis')).toEqual([])
      if (restarts) bench.restart()
      bench.run(604, 606)
      return bench.of('diagnosis')[0]?.timeMs ?? 0
    }
    expect(looksAt(false)).toBeGreaterThan(0)
    expect(looksAt(true)).toBe(looksAt(false))
  })

  it('taken anywhere, as text, goes on to the same outputs and the same state', { timeout: 90_000 }, () => {
    const inputs = fullCourse()
    const whole = new MonitorBench()
    for (const { input, receivedMs } of inputs) whole.give(input, receivedMs)
    const texts = whole.outputs.map((output) => JSON.stringify(output))
    const state = JSON.stringify(whole.monitor.snapshot())
    for (const kind of ['state', 'point', 'rule-hit', 'signal', 'baseline', 'diagnosis', 'suggestion', 'note', 'rejected'] as const) expect(whole.of(kind).length, kind).toBeGreaterThan(0)
    fc.assert(
      fc.property(fc.uniqueArray(fc.nat(inputs.length - 1), { minLength: 1, maxLength: 60 }), (cuts) => {
        const cutAt = new Set(cuts)
        const bench = new MonitorBench()
        inputs.forEach(({ input, receivedMs }, index) => {
          bench.give(input, receivedMs)
          if (cutAt.has(index)) bench.restart()
        })
        expect(bench.outputs.length).toBe(texts.length)
        expect(bench.outputs.findIndex((output, index) => JSON.stringify(output) !== texts[index])).toBe(-1)
        expect(JSON.stringify(bench.monitor.snapshot())).toBe(state)
      }),
      { numRuns: 8 },
    )
  })
})

/** A changeover, a stop, a fault, a person's words, a decision, a changed definition and stages in one course. */
function fullCourse(): { readonly input: LineInput; readonly receivedMs: number }[] {
  const course: { readonly input: LineInput; readonly receivedMs: number }[] = []
  for (let minute = 0; minute < 1100; minute += 1) {
    const changed = minute >= 60 && minute < 120
    const stopped = minute >= 300 && minute < 320
    const values = inputsOfMinute(minute, { ...(changed ? { recipe: 'board-b', zonesC: [120, 140, 160] } : {}), state: stopped ? 'idle' : 'production', jerk: minute >= 900 ? 4 : 1, ...(minute === 500 ? { custom: 75 } : {}) })
    for (const input of values) course.push({ input, receivedMs: Number(input.time) })
    const give = (input: LineInput): void => void course.push({ input, receivedMs: atMinute(minute) })
    if (minute === 100) give({ kind: 'stages', stages: ['telemetry', 'charts'] })
    if (minute === 140) give({ kind: 'stages', stages: ['telemetry', 'charts', 'diagnosis', 'queue'] })
    if (minute === 200) give({ kind: 'value', channel: 'conveyor.speed', value: 'fast', time: atMinute(200) })
    if (minute === 210) give({ kind: 'reply', reply: { suggestion: 'nobody', action: 'take', by: 'Robin', timeMs: atMinute(210) } as never })
    if (minute === 330) give({ kind: 'record', record: { section: 'pot', work: 'skim-dross', timeMs: atMinute(319) } as never })
    if (minute === 400) give({ kind: 'baseline', feature: CUSTOM, decision: 'accept' })
    if (minute === 420) give({ kind: 'definition', definition: define({ ...BENCH_DEFINITION, title: 'Renamed' }) })
    if (minute === 700) give({ kind: 'feature', feature: CUSTOM, timeMs: atMinute(700) + 1, value: 71 })
  }
  course.push({ input: { kind: 'end-of-data' }, receivedMs: atMinute(1100) })
  return course
}
