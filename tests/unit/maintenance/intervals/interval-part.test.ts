import { describe, expect, it } from 'vitest'
import { START_INTERVALS } from '../../../../src/maintenance/intervals/usual-intervals.js'
import { isWork, workItem } from '../../../../src/maintenance/work-catalogue.js'
import { HOUR_MS, IntervalBench } from './part-bench.js'

/** Cleans the rails every `every` hours and finds this. */
function cycles(bench: IntervalBench, every: number, findings: readonly (number | undefined)[]): IntervalBench {
  bench.record('clean-rails')
  for (const finding of findings) bench.run(every).record('clean-rails', finding)
  return bench
}

describe('the intervals of a line', () => {
  it('start with those of the trade, one for each job and zone, and say that there is no history', () => {
    const bench = new IntervalBench()
    expect(bench.last('clean-rails')).toMatchObject({ interval: 160, startInterval: 160, scale: 'running-hours', verdict: 'not-enough-history', ageKnown: false, safety: false })
    expect(bench.facts.filter(({ work }) => work === 'clean-vents').map(({ zone }) => zone)).toEqual([1, 2, 3])
    for (const { work, usualHours, startHours } of START_INTERVALS) {
      expect(isWork(work), work).toBe(true)
      expect(startHours).toBeGreaterThanOrEqual(usualHours[0])
      expect(startHours).toBeLessThanOrEqual(usualHours[1])
    }
  })

  it('count running hours, not the clock on the wall', () => {
    const bench = new IntervalBench().record('clean-rails')
    bench.run(10)
    bench.part.state?.({ timeMs: bench.nowMs, state: 'off', previous: 'production', recipe: 'a', because: 'test' }, { nowMs: bench.nowMs, state: 'off', recipe: 'a', definition: bench.definition }, { emit: () => undefined, chart: () => undefined, learnCause: () => undefined })
    expect(bench.priors()['dirty-rails']).toMatchObject({ since: 10, interval: 160 })
  })

  it('shorten at once when a part is found due before its time', () => {
    const bench = cycles(new IntervalBench(), 100, [3])
    expect(bench.last('clean-rails')).toMatchObject({ verdict: 'shorten', interval: 80, because: [{ key: 'interval.found-due', values: { age: 100 } }], events: 1, censored: 0 })
  })

  it('may be lengthened by a quarter after three clean findings at nearly the full interval, not before', () => {
    expect(cycles(new IntervalBench(), 150, [0, 0]).last('clean-rails')).toMatchObject({ verdict: 'not-enough-history', interval: 160 })
    expect(cycles(new IntervalBench(), 150, [0, 0, 0]).last('clean-rails')).toMatchObject({ verdict: 'may-lengthen', interval: 200 })
    expect(cycles(new IntervalBench(), 60, [0, 0, 0]).last('clean-rails')).toMatchObject({ verdict: 'not-enough-history', interval: 160 })
  })

  it('take cleanings without a finding for cleanings before any sign', () => {
    const fact = cycles(new IntervalBench(), 100, [undefined, undefined]).last('clean-rails')
    expect(fact).toMatchObject({ events: 0, censored: 2, verdict: 'not-enough-history' })
    expect(fact.lives).toEqual([{ age: 100, event: false, lower: 100 }, { age: 100, event: false, lower: 100 }])
  })

  it('never lengthen a safety item', () => {
    const bench = new IntervalBench()
    const swap = (finding?: number): IntervalBench => bench.record('swap-exhaust-filter', finding, { section: 'fluxer' })
    swap()
    for (let i = 0; i < 8; i += 1) {
      bench.run(155)
      swap(0)
    }
    const fact = bench.last('swap-exhaust-filter')
    expect(workItem('swap-exhaust-filter').safety).toBe(true)
    expect(fact.safety).toBe(true)
    expect(fact.interval).toBeLessThanOrEqual(fact.startInterval)
    expect(fact.because.map(({ key }) => key)).toContain('interval.safety')
    for (const one of bench.facts.filter(({ work }) => work === 'swap-exhaust-filter')) expect(one.interval).toBeLessThanOrEqual(one.startInterval)
  })

  it('take a suggestion that a record answers for a sign, and back again when the channels say it was none', () => {
    const suggestion = { id: 's1', line: 'north-1', raisedMs: 0, section: 'transport', causes: [{ cause: 'dirty-rails', section: 'transport', kind: 'fault', probability: 0.9 }], evidence: [], checkFirst: { check: 'look-at-rails', minutes: 5, needsElectrician: false }, work: ['clean-rails'], cautions: [], onsetMs: 0, abstains: false, urgency: 'plan', invisible: [], features: [], status: 'open', statusMs: 0, history: [] } as const
    const bench = new IntervalBench().record('clean-rails').run(80).suggest(suggestion as never).run(20).record('clean-rails')
    expect(bench.last('clean-rails')).toMatchObject({ events: 1, verdict: 'shorten', interval: 64 })
    bench.fact({ type: 'proof', id: 'proof-1', timeMs: bench.nowMs, record: 'clean-rails-100', work: 'clean-rails', section: 'transport', verdict: 'was-clean', doneMs: bench.nowMs, compared: [], because: [] })
    expect(bench.last('clean-rails')).toMatchObject({ events: 0, censored: 1 })
  })

  it('learn from findings of rounds between the cleanings', () => {
    const bench = new IntervalBench().record('clean-rails').run(40)
    bench.fact({ type: 'round', id: 'r', timeMs: bench.nowMs, round: 'week', items: [{ check: 'look-at-rails', ok: false, finding: 2 }], exceptions: [], measured: [] } as never)
    bench.run(20).record('clean-rails', 3)
    const [life] = bench.last('clean-rails').lives!
    expect(life).toMatchObject({ age: 60, finding: 3, event: true })
    expect(life!.lower).toBeGreaterThan(35)
    expect(life!.upper).toBeLessThan(75)
  })

  it('go by boards where these are counted, but keep the unit they began with until three cycles are recorded', () => {
    const bench = cycles(new IntervalBench({}, 100), 100, [2, 2])
    expect(new Set(bench.facts.filter(({ work }) => work === 'clean-rails').map(({ scale }) => scale))).toEqual(new Set(['running-hours']))
    const fact = bench.run(100).record('clean-rails', 2).last('clean-rails')
    expect(fact.scale).toBe('boards')
    expect(fact.lives![0]!.age).toBeGreaterThan(9500)
    expect(fact.startInterval).toBeGreaterThan(15_000)
    expect(bench.last('lubricate-chain').scale).toBe('running-hours')
  })

  it('correct and take back: a wrong finding is replaced, a record that never was is undone', () => {
    const bench = cycles(new IntervalBench(), 100, [3])
    const record = { id: 'clean-rails-100', timeMs: bench.nowMs, section: 'transport', work: 'clean-rails', finding: 1 } as const
    bench.fact({ type: 'record', id: 'record-1', timeMs: bench.nowMs, record, earlier: [], withdrawn: false })
    expect(bench.last('clean-rails')).toMatchObject({ events: 0, censored: 1 })
    bench.fact({ type: 'record', id: 'record-1', timeMs: bench.nowMs, record, earlier: [], withdrawn: true })
    expect(bench.last('clean-rails')).toMatchObject({ events: 0, censored: 0, age: 100 })
  })

  it('place a record that comes late at its own time', () => {
    const bench = new IntervalBench().record('clean-rails').run(100)
    bench.record('clean-rails', 2, { id: 'late', timeMs: bench.nowMs - 30 * HOUR_MS })
    expect(bench.last('clean-rails').lives![0]!.age).toBeCloseTo(70, 0)
    expect(bench.priors()['dirty-rails']!.since).toBeCloseTo(30, 0)
  })

  it('go on the same after a restart', () => {
    const findings = [2, 1, 2, 3, 2, 2]
    const one = cycles(new IntervalBench({}, 60), 70, findings)
    const other = new IntervalBench({}, 60).record('clean-rails')
    for (const finding of findings) other.run(33).restart().run(37).restart().record('clean-rails', finding)
    const { timeMs: _a, ...expected } = one.last('clean-rails')
    const { timeMs: _b, ...found } = other.last('clean-rails')
    expect(found.verdict).toBe(expected.verdict)
    expect(found.interval / expected.interval).toBeCloseTo(1, 2)
  })
})
