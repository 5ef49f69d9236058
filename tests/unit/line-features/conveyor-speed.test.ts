import { describe, expect, it } from 'vitest'
import { createJumps, noteJump } from '../../../src/line/features/speed-jumps.js'
import { createRunningSpeed, noteSpeed } from '../../../src/line/features/running-speed.js'
import { addToLine, createSpeedLine, takeLinePower } from '../../../src/line/features/speed-line.js'
import type { Reading } from '../../../src/line/reading.js'
import { FeatureRun, inOrder, lineWith, meanOf, normal, sampled, seeded, START_MS } from './feature-run.js'

const CHAIN = { conveyor: { chainPitchMm: 25.4, sprocketTeeth: 12, chainLoopM: 12, fingerPitchMm: 50.8 } }
const HOUR_S = 3600

describe('jumps', () => {
  const count = (speeds: readonly number[], periodS: number): number => {
    const jumps = createJumps()
    speeds.forEach((speed, step) => noteJump(jumps, START_MS + step * periodS * 1000, speed, 20, periodS))
    return jumps.count
  }

  it('counts a dip with its overshoot once, on whatever readings they fall', () => {
    expect(count([20, 20, 8, 31, 20, 20], 1)).toBe(1)
    expect(count([20, 12, 10, 21, 27, 20], 1)).toBe(1)
    expect(count([...Array<number>(5).fill(20), 3, 3, 3, 3, 3, ...Array<number>(6).fill(37), 20], 0.1)).toBe(1)
  })

  it('does not count a stop, a slow-down, a dip that nothing follows, or noise', () => {
    expect(count([20, 0, 0, 0, 0, 0, 0, 22, 20], 1)).toBe(0)
    expect(count([20, 15, 15, 15, 15, 15], 1)).toBe(0)
    expect(count([20, 14, 20, 20, 20, 20], 1)).toBe(0)
    const noise = normal(seeded(1))
    expect(count(Array.from({ length: 5000 }, () => 20 * (1 + 0.01 * noise())), 1)).toBe(0)
  })

  it('counts at 5 s each short excursion it sees, either way, and no step to another speed', () => {
    expect(count([20, 20, 12, 20, 20, 28, 20, 20], 5)).toBe(2)
    expect(count([20, 20, 12, 12, 12, 12, 20], 5)).toBe(0)
  })
})

describe('running speed', () => {
  it('hardly moves for jumps and follows a new speed after 20 s', () => {
    const running = createRunningSpeed()
    for (let step = 0; step < 200; step += 1) noteSpeed(running, step % 10 === 5 ? 2 : 20, 1)
    expect(running.mmS).toBeGreaterThan(19)
    for (let step = 0; step < 40; step += 1) noteSpeed(running, 40, 1)
    expect(running.mmS).toBeCloseTo(40, 0)
  })
})

describe('speed line', () => {
  const amplitude = (error: number, at: (travelled: number) => number): number => {
    const line = createSpeedLine()
    for (let second = 0; second < 3600; second += 1) addToLine(line, at((second * 20) / 304.8), ((1 + error) * 20) / 304.8)
    return Math.sqrt(takeLinePower(line).power)
  }

  it('measures a sine at its own repeat length', () => {
    expect(amplitude(0, (turns) => 0.03 * Math.sin(2 * Math.PI * turns))).toBeCloseTo(0.03, 3)
  })

  it('still sees most of it where the speed reading is 1 % off', () => {
    expect(amplitude(0.01, (turns) => 0.03 * Math.sin(2 * Math.PI * turns))).toBeGreaterThan(0.025)
  })

  it('sees little of another repeat length, a constant or white noise', () => {
    expect(amplitude(0, (turns) => 0.03 * Math.sin(2 * Math.PI * 1.7 * turns))).toBeLessThan(0.002)
    expect(amplitude(0, () => 0.1)).toBeLessThan(1e-9)
    const noise = normal(seeded(2))
    // amplitude of noise in stretches of 381 readings: 2 sd/√381
    expect(amplitude(0, () => 0.008 * noise())).toBeLessThan((3 * 0.008) / Math.sqrt(381))
  })
})

describe('conveyor speed features', () => {
  const noise = normal(seeded(3))
  const speed = (at: (second: number) => number, hours = 1) => sampled('conveyor.speed', 1, 0, hours * HOUR_S, at)

  it('gives the ln of the relative sd of white noise', () => {
    const run = new FeatureRun(lineWith([{ channel: 'conveyor.speed', periodS: 1 }])).take(speed(() => 20 * (1 + 0.008 * noise()), 2))
    expect(meanOf(run.of('conveyor.speed.spread'))).toBeCloseTo(Math.log(0.008), 1)
    expect(run.of('conveyor.speed.jumps').every((count) => count === 0)).toBe(true)
  })

  it('gives the offset as a share of the set-point, and waits for one that is named', () => {
    const definition = lineWith([{ channel: 'conveyor.speed', periodS: 1 }, { channel: 'conveyor.setpoint' }])
    const readings = (): Iterable<Reading> => speed(() => 19.4)
    expect(new FeatureRun(definition).take(readings()).of('conveyor.speed.offset')).toEqual([])
    const run = new FeatureRun(definition).take(inOrder(sampled('conveyor.setpoint', 60, 0, HOUR_S, () => 20), readings()))
    expect(run.of('conveyor.speed.offset')[0]).toBeCloseTo(-0.03, 6)
  })

  it('leaves out windows around a set-point step', () => {
    const definition = lineWith([{ channel: 'conveyor.speed', periodS: 1 }, { channel: 'conveyor.setpoint' }])
    const level = (second: number): number => (second < 1500 ? 20 : 18)
    const run = new FeatureRun(definition).take(inOrder(sampled('conveyor.setpoint', 60, 0, HOUR_S, level), speed(level)))
    expect(run.takenOf('conveyor.speed.offset').map(({ timeMs }) => (timeMs - START_MS) / 60_000)).toEqual([10, 20, 40, 50])
  })

  it('takes the sprocket lines out of the spread: a ripple once per turn is no unrest', () => {
    const turns = (second: number): number => (second * 20) / 304.8
    const ripple = (second: number): number => 20 * (1 + 0.03 * Math.sin(2 * Math.PI * turns(second)) + 0.008 * noise())
    const spreadOf = (machine: object): number => meanOf(new FeatureRun(lineWith([{ channel: 'conveyor.speed', periodS: 1 }], machine)).take(speed(ripple, 2)).of('conveyor.speed.spread'))
    expect(spreadOf({})).toBeCloseTo(Math.log(Math.hypot(0.03 / Math.SQRT2, 0.008)), 1)
    expect(spreadOf(CHAIN)).toBeLessThan(spreadOf({}) - 0.5)
  })

  it('gives no line that the actual speed aliases', () => {
    // fingers at 0.394 Hz for 20 mm/s, but at 0.59 Hz for 30 mm/s: above half of 1 Hz
    const run = (mmS: number): number => new FeatureRun(lineWith([{ channel: 'conveyor.speed', periodS: 1 }], CHAIN)).take(speed(() => mmS * (1 + 0.008 * noise()), 2)).of('conveyor.speed.finger-line').length
    expect(run(20)).toBeGreaterThan(0)
    expect(run(30)).toBe(0)
  })

  it('follows the chain loop over an hour', () => {
    const at = (amplitude: number) => (second: number) => 20 * (1 + amplitude * Math.sin((2 * Math.PI * second) / 600) + 0.004 * noise())
    const lineOf = (amplitude: number): number[] => new FeatureRun(lineWith([{ channel: 'conveyor.speed', periodS: 1 }], CHAIN)).take(speed(at(amplitude), 3)).of('conveyor.speed.loop-line')
    // An hour is one stretch of six loops: the unrest of 0.4 % puts a squared amplitude of 4 x 0.004^2 / 3600 into it, far below
    // the floor of 0.1 %; so the value is nearly 10 to 1. The first hour's channel is judged before its end; the last is open.
    expect(lineOf(0.01)).toEqual([expect.closeTo(Math.log(10), 0), expect.closeTo(Math.log(10), 0)])
    expect(Math.max(...lineOf(0))).toBeLessThan(0)
  })
})
