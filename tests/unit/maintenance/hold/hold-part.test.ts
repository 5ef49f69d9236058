import { describe, expect, it } from 'vitest'
import { HOLD_POINTS } from '../../../../src/maintenance/hold/hold-checks.js'
import { HOUR, MINUTE, nextId } from '../rounds/part-bench.js'
import { enterRound, hold, holdBench, passAll, standing, suggest, tellRecord } from './hold-bench.js'

const JUMPS = standing('conveyor.speed.jumps')
const SLOW = standing('conveyor.speed.offset', 'down')
const UNEVEN = standing('conveyor.speed.spread')

describe('settings go on hold', () => {
  it('when a suggestion that a fault leads is open, not for a benign one', () => {
    const bench = holdBench()
    suggest(bench, { kind: 'benign', cause: 'ambient-or-exhaust' })
    expect(hold(bench)).toBeUndefined()
    suggest(bench)
    expect(hold(bench)).toMatchObject({ on: true, because: 'hold.suggestion', sections: ['transport'], onsetMs: bench.nowMs - 3 * HOUR })
  })

  it('when two mechanisms of one section stand off their normal', () => {
    const bench = holdBench()
    bench.pass(0.2, [JUMPS, SLOW])
    expect(hold(bench)).toMatchObject({ on: true, because: 'hold.signals', sections: ['transport'] })
  })

  it('for one mechanism only after an hour and a half of production', () => {
    const bench = holdBench()
    bench.pass(1.4, [UNEVEN])
    expect(hold(bench)).toBeUndefined()
    bench.pass(0.5, [UNEVEN])
    expect(hold(bench)?.on).toBe(true)
    const stopped = holdBench()
    stopped.state = 'idle'
    stopped.pass(6, [UNEVEN])
    expect(hold(stopped)).toBeUndefined()
  })

  it('not when all zones move together, nor for what is better than usual', () => {
    const bench = holdBench()
    bench.pass(6, [standing('preheat.common-movement'), standing('preheat.zone-1.temperature.slow'), standing('preheat.zone-1.temperature.offset')])
    expect(hold(bench)).toBeUndefined()
    bench.pass(6, [standing('conveyor.speed.spread', 'down')])
    expect(hold(bench)).toBeUndefined()
  })

  it('with the checks in the order a board travels, each with its minutes', () => {
    const bench = holdBench()
    suggest(bench)
    const checks = hold(bench)!.checks
    expect([...new Set(checks.map(({ check }) => check))]).toEqual(HOLD_POINTS.map(({ check }) => check))
    expect(HOLD_POINTS.map(({ check }) => check)).toEqual([
      'nozzle', 'nozzle-direction', 'seals', 'stroke', 'hose', 'filter', 'dose', 'vents', 'elements', 'blowers', 'rails', 'thermocouples', 'chain', 'fingers', 'lubrication', 'bearings', 'motor', 'shaft', 'sprockets', 'pot-level', 'dross', 'pump', 'pot-probe', 'pot-element',
    ])
    expect(checks.filter(({ check }) => check === 'thermocouples').map(({ zone }) => zone)).toEqual([1, 2, 3])
    expect(checks.every(({ minutes }) => minutes > 0)).toBe(true)
    expect(checks.find(({ rank }) => rank === 1)).toMatchObject({ section: 'transport', check: 'chain' })
  })
})

describe('a check of the hold', () => {
  it('is done when it was looked at and its hand check passed', () => {
    const bench = holdBench()
    suggest(bench)
    enterRound(bench, { check: 'look-at-chain', ok: true, finding: 0 })
    expect(hold(bench)?.checks.find(({ check }) => check === 'chain')).toMatchObject({ done: true, how: 'inspected', doneMs: bench.nowMs })
  })

  it('is not done by its work alone: the hand check after it is missing', () => {
    const bench = holdBench()
    suggest(bench)
    enterRound(bench, { check: 'touch-lubricant', ok: true, finding: 0 })
    bench.nowMs += MINUTE
    bench.tell({ type: 'record', id: 'record-r1', timeMs: bench.nowMs, record: { id: 'r1', timeMs: bench.nowMs, section: 'transport', work: 'lubricate-chain' }, earlier: [], withdrawn: false })
    expect(hold(bench)?.checks.find(({ check }) => check === 'lubrication')).toMatchObject({ done: false, how: 'hand-check-missing' })
    enterRound(bench, { check: 'touch-lubricant', ok: true, finding: 0 })
    expect(hold(bench)?.checks.find(({ check }) => check === 'lubrication')).toMatchObject({ done: true, how: 'recorded' })
  })

  it('is done by its work when the check of the work itself has passed, and not when it failed', () => {
    const bench = holdBench()
    suggest(bench)
    const nozzle = () => hold(bench)!.checks.find(({ check }) => check === 'nozzle')!
    tellRecord(bench, { section: 'fluxer', work: 'clean-nozzle', handCheck: 'failed' })
    expect(nozzle()).toMatchObject({ done: false, rank: 1, failed: { reason: 'round.not-in-order' } })
    tellRecord(bench, { section: 'fluxer', work: 'clean-nozzle', handCheck: 'passed' })
    expect(nozzle()).toMatchObject({ done: true, how: 'recorded' })
    // A weight out of its band afterwards speaks against it; the work done again with its check speaks for it.
    enterRound(bench, { check: 'weigh-dose', ok: true, values: { grams: 2 } })
    expect(nozzle().done).toBe(false)
    bench.nowMs += 60_000
    tellRecord(bench, { section: 'fluxer', work: 'clean-nozzle', handCheck: 'passed' })
    expect(nozzle().done).toBe(true)
  })

  it('is done by a recorded inspection with what it found', () => {
    const bench = holdBench()
    suggest(bench)
    const seals = () => hold(bench)!.checks.find(({ check }) => check === 'seals')!
    tellRecord(bench, { section: 'fluxer', work: 'pressure-hold' })
    expect(seals().done).toBe(false)
    tellRecord(bench, { section: 'fluxer', work: 'pressure-hold', finding: 4 })
    expect(seals()).toMatchObject({ done: false, failed: { roundCheck: 'pressure-hold' } })
    const id = tellRecord(bench, { section: 'fluxer', work: 'pressure-hold', finding: 0 })
    expect(seals()).toMatchObject({ done: true, how: 'inspected' })
    bench.tell({ type: 'record', id, timeMs: bench.nowMs, record: { id, timeMs: bench.nowMs, section: 'fluxer', work: 'pressure-hold', finding: 0 }, earlier: [], withdrawn: true })
    expect(seals().done).toBe(false)
  })

  it('is done inside its learned interval, unless nothing is learned or something undid it', () => {
    const bench = holdBench()
    const interval = (used: number, verdict: 'keep' | 'not-enough-history'): void =>
      bench.tell({ type: 'interval', id: 'interval-align', timeMs: bench.nowMs, work: 'align-nozzle', section: 'fluxer', scale: 'running-hours', interval: 100, startInterval: 80, verdict, events: 3, censored: 2, safety: false, because: [], age: used * 100, used })
    const direction = (): unknown => hold(bench)?.checks.find(({ check }) => check === 'nozzle-direction')
    bench.tell({ type: 'record', id: 'record-r1', timeMs: bench.nowMs - 40 * HOUR, record: { id: 'r1', timeMs: bench.nowMs - 40 * HOUR, section: 'fluxer', work: 'align-nozzle' }, earlier: [], withdrawn: false })
    interval(0.4, 'not-enough-history')
    suggest(bench)
    expect(direction()).toMatchObject({ done: false })
    interval(0.4, 'keep')
    expect(direction()).toMatchObject({ done: true, how: 'inside-interval' })
    interval(1.2, 'keep')
    expect(direction()).toMatchObject({ done: false })
    interval(0.4, 'keep')
    bench.enter({ type: 'change', id: nextId(), timeMs: bench.nowMs - HOUR, change: 'nozzle-refitted' })
    expect(direction()).toMatchObject({ done: false })
  })

  it('that fails moves to the top: a spray weight below its band is the nozzle, above it the dose', () => {
    const bench = holdBench()
    suggest(bench)
    enterRound(bench, { check: 'weigh-dose', ok: true, values: { grams: 3.2 } })
    expect(hold(bench)?.checks.find(({ rank }) => rank === 1)).toMatchObject({ check: 'nozzle', done: false, failed: { reason: 'round.below' } })
    enterRound(bench, { check: 'weigh-dose', ok: true, values: { grams: 4.25 } })
    expect(hold(bench)?.checks.find(({ check }) => check === 'nozzle')).toMatchObject({ done: true })
    enterRound(bench, { check: 'weigh-dose', ok: true, values: { grams: 5.2 } })
    const [first, second] = [1, 2].map((rank) => hold(bench)?.checks.find((check) => check.rank === rank)?.check)
    expect([first, second]).toEqual(['stroke', 'dose'])
  })

  it('of one zone does not speak for the others', () => {
    const bench = holdBench()
    suggest(bench)
    enterRound(bench, { check: 'look-at-thermocouple', ok: true, zone: 2, finding: 0 })
    expect(hold(bench)?.checks.filter(({ check }) => check === 'thermocouples').map(({ done }) => done)).toEqual([false, true, false])
  })
})

describe('the hold ends', () => {
  it('when all checks are done and the variation stands after a shift of production, and not before', () => {
    const bench = holdBench()
    suggest(bench)
    passAll(bench)
    expect(hold(bench)?.checks.filter(({ done }) => !done).map(({ check }) => check)).toEqual([])
    bench.pass(8, [JUMPS, UNEVEN])
    expect(hold(bench)).toMatchObject({ on: true, neededHours: 8 })
    bench.pass(0.5, [JUMPS, UNEVEN])
    expect(hold(bench)).toMatchObject({ on: false, because: 'hold.ended.checks-done' })
    // what still stands is known and raises no hold again; another suggestion does
    bench.pass(5, [JUMPS, UNEVEN])
    suggest(bench, { status: 'taken' })
    expect(hold(bench)?.on).toBe(false)
    suggest(bench, { id: 's-2', section: 'pot', cause: 'dross-at-intake' })
    expect(hold(bench)).toMatchObject({ on: true, sections: ['pot'] })
  })

  it('not while the line stands: only production is watched', () => {
    const bench = holdBench()
    suggest(bench)
    passAll(bench)
    bench.state = 'idle'
    bench.pass(30, [JUMPS, UNEVEN])
    expect(hold(bench)?.on).toBe(true)
  })

  it('when the variation is gone for two hours of production', () => {
    const bench = holdBench()
    suggest(bench)
    bench.pass(3, [JUMPS])
    suggest(bench, { status: 'withdrawn' })
    bench.pass(1.8)
    expect(hold(bench)?.on).toBe(true)
    bench.pass(0.5)
    expect(hold(bench)).toMatchObject({ on: false, because: 'hold.ended.gone' })
  })

  it('for a time by an engineer with a reason, and comes back after it', () => {
    const bench = holdBench()
    suggest(bench)
    const end = (more: { by?: string; untilMs?: number }): void => bench.enter({ type: 'hold', id: nextId(), timeMs: bench.nowMs, action: 'end-early', reason: 'qualified trial', ...more })
    end({ untilMs: bench.nowMs + HOUR })
    expect(bench.last('refused')?.reason).toBe('hold.engineer-needed')
    end({ by: 'Engineer' })
    expect(bench.last('refused')?.reason).toBe('hold.until-needed')
    end({ by: 'Engineer', untilMs: bench.nowMs + 30 * 24 * HOUR })
    expect(bench.last('refused')?.reason).toBe('hold.until-too-far')
    const untilMs = bench.nowMs + 4 * HOUR
    end({ by: 'Engineer', untilMs })
    expect(hold(bench)).toMatchObject({ on: false, because: 'hold.ended.engineer', by: 'Engineer', untilMs })
    bench.pass(3.8, [JUMPS, UNEVEN])
    expect(hold(bench)?.on).toBe(false)
    bench.pass(0.4, [JUMPS, UNEVEN])
    expect(hold(bench)).toMatchObject({ on: true, because: 'hold.back' })
  })
})

describe('a set-point that moves while on hold', () => {
  const edit = (bench: ReturnType<typeof holdBench>): void => {
    bench.read('preheat.zone-1.setpoint', 110)
    bench.nowMs += MINUTE
    bench.read('preheat.zone-1.setpoint', 118)
    bench.pass(0.4, [JUMPS, UNEVEN])
  }

  it('is marked and its reason can be said', () => {
    const bench = holdBench()
    suggest(bench)
    edit(bench)
    expect(hold(bench)?.changes).toMatchObject([{ channel: 'preheat.zone-1.setpoint', from: 110, to: 118 }])
    const id = hold(bench)!.changes[0]!.id
    bench.enter({ type: 'hold', id: nextId(), timeMs: bench.nowMs, action: 'explain-change', reason: 'other flux, as its data sheet asks', change: 'no-such' })
    expect(bench.last('refused')?.reason).toBe('hold.unknown-change')
    bench.enter({ type: 'hold', id: nextId(), timeMs: bench.nowMs, action: 'explain-change', reason: 'other flux, as its data sheet asks', change: id })
    expect(hold(bench)?.changes[0]?.reason).toBe('other flux, as its data sheet asks')
  })

  it('with its recipe is a changeover and not marked', () => {
    const bench = holdBench()
    suggest(bench)
    bench.read('preheat.zone-1.setpoint', 110)
    bench.nowMs += MINUTE
    bench.read('preheat.zone-1.setpoint', 118)
    bench.nowMs += 3 * MINUTE
    bench.change('changeover', 'power-board')
    bench.change('production')
    bench.pass(1, [JUMPS, UNEVEN])
    expect(hold(bench)?.changes).toEqual([])
  })

  it('of several at once is a changeover too, and under an exempt recipe none is marked', () => {
    const bench = holdBench()
    suggest(bench)
    for (const zone of [1, 2]) bench.read(`preheat.zone-${zone}.setpoint`, 110)
    bench.nowMs += MINUTE
    for (const zone of [1, 2]) bench.read(`preheat.zone-${zone}.setpoint`, 120)
    bench.pass(0.5, [JUMPS])
    expect(hold(bench)?.changes).toEqual([])
    bench.enter({ type: 'hold', id: nextId(), timeMs: bench.nowMs, action: 'exempt', reason: 'new product', by: 'Engineer' })
    edit(bench)
    expect(hold(bench)?.changes).toEqual([])
  })
})

it('goes on exactly after a restart', () => {
  const [one, other] = [holdBench(), holdBench()]
  for (const bench of [one, other]) {
    suggest(bench)
    enterRound(bench, { check: 'weigh-dose', ok: true, values: { grams: 3.2 } })
    if (bench === other) bench.restart()
    passAll(bench)
    bench.pass(9, [JUMPS, UNEVEN])
  }
  expect(JSON.stringify(other.factsOf('hold')).replaceAll(/entry-\d+/g, '')).toBe(JSON.stringify(one.factsOf('hold')).replaceAll(/entry-\d+/g, ''))
})
