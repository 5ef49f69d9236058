import { describe, expect, it } from 'vitest'
import { createLoadCorrection, effortAtUsualLoad } from '../../../src/line/features/load-correction.js'
import type { Reading } from '../../../src/line/reading.js'
import { FeatureRun, inOrder, lineWith, meanOf, normal, sampled, seeded, START_MS, type Phase } from './feature-run.js'

const HOUR_S = 3600

describe('effort at the usual load', () => {
  const training = { windows: 40, usualShare: 0.06 }

  it('learns the slope within recipes, waits until it has, and never learns again', () => {
    const noise = normal(seeded(1))
    const correction = createLoadCorrection()
    const effort = (recipe: string, boards: number): number => (recipe === 'a' ? 45 : 55) + 0.2 * boards + 0.2 * noise()
    const first = Array.from({ length: 40 }, (_, at) => {
      const recipe = at % 2 === 0 ? 'a' : 'b'
      // the heavier recipe runs with fewer boards: pooled, the slope would have the wrong sign
      const boards = (recipe === 'a' ? 14 : 8) + (at % 6)
      return effortAtUsualLoad(correction, { recipe, boards, effort: effort(recipe, boards) }, training)
    })
    expect(first.every((value) => value === undefined)).toBe(true)
    expect(correction.slope).toBeCloseTo(0.2, 1)
    const busy = effortAtUsualLoad(correction, { recipe: 'a', boards: 24, effort: effort('a', 24) }, training)!
    const quiet = effortAtUsualLoad(correction, { recipe: 'a', boards: 4, effort: effort('a', 4) }, training)!
    expect(Math.abs(busy - quiet)).toBeLessThan(2)
    const slope = correction.slope
    for (let at = 0; at < 100; at += 1) effortAtUsualLoad(correction, { recipe: 'a', boards: at % 20, effort: 45 - at }, training)
    expect(correction.slope).toBe(slope)
  })

  it('leaves the boards no more than half of the heat, however the first hours went', () => {
    const correction = createLoadCorrection()
    // by chance the zone needed a seventh more with every board
    for (let at = 0; at < 40; at += 1) effortAtUsualLoad(correction, { recipe: 'a', boards: 18 + (at % 8), effort: 30 + 4 * (at % 8) }, training)
    expect(correction.slope * correction.boards).toBeLessThanOrEqual(0.5 * (30 + 4 * 7))
    expect(effortAtUsualLoad(correction, { recipe: 'a', boards: 40, effort: 37 }, training)!).toBeGreaterThan(0)
  })

  it('takes the usual share where the load never varied, and leaves the effort alone where nothing is counted', () => {
    const correction = createLoadCorrection()
    for (let at = 0; at < 40; at += 1) effortAtUsualLoad(correction, { recipe: 'a', boards: 20, effort: 50 }, training)
    expect(effortAtUsualLoad(correction, { recipe: 'a', boards: 30, effort: 51.5 }, training)).toBeCloseTo(50, 6)
    expect(effortAtUsualLoad(createLoadCorrection(), { recipe: 'a', boards: -1, effort: 50 }, training)).toBe(50)
  })

  it('does not change with the set-point or the room where the heat lost goes with their difference', () => {
    const channels = [{ channel: 'preheat.zone-1.temperature', periodS: 5 }, { channel: 'preheat.zone-1.duty', periodS: 5 }, { channel: 'ambient.temperature', periodS: 60 }]
    const run = (zoneC: number, roomC: number): number =>
      meanOf(new FeatureRun(lineWith(channels)).take(inOrder(
        sampled('ambient.temperature', 60, 0, HOUR_S, () => roomC),
        sampled('preheat.zone-1.temperature', 5, 0, HOUR_S, (second) => zoneC + (second % 3) * 0.1),
        sampled('preheat.zone-1.duty', 5, 0, HOUR_S, (second) => 0.45 * (zoneC - roomC) + (second % 4) * 0.1),
      )).of('preheat.zone-1.duty.effort'))
    expect(run(160, 28) / run(130, 28)).toBeCloseTo(1, 2)
    expect(run(130, 36) / run(130, 28)).toBeCloseTo(1, 2)
  })
})

describe('spray bursts', () => {
  const channels = [{ channel: 'fluxer.flow', periodS: 1 }, { channel: 'fluxer.pressure', periodS: 1 }, { channel: 'fluxer.spray-on', periodS: 1 }, { channel: 'board.count', periodS: 30 }]
  const isOn = (second: number): boolean => second % 30 < 12
  const spray = (flow: number, pressure: number, seed: number, hours = 2): Reading[][] => {
    const noise = normal(seeded(seed))
    return [
      [...sampled('fluxer.flow', 1, 0, hours * HOUR_S, (second) => (isOn(second) ? flow * (1 + 0.02 * noise()) : 0))],
      [...sampled('fluxer.pressure', 1, 0, hours * HOUR_S, (second) => (isOn(second) ? pressure : pressure + 0.05) * (1 + 0.01 * noise()))],
      [...sampled('fluxer.spray-on', 1, 0, hours * HOUR_S, (second) => (isOn(second) ? 1 : 0))],
      [...sampled('board.count', 30, 0, hours * HOUR_S, (second) => second / 30)],
    ]
  }

  it('take flow and pressure while spraying only, whatever the order of channels of one moment', () => {
    for (const order of [[0, 1, 2, 3], [3, 2, 1, 0], [1, 2, 0, 3]]) {
      const sources = spray(25, 0.6, 1)
      const run = new FeatureRun(lineWith(channels)).take(inOrder(...order.map((at) => sources[at]!)))
      expect(meanOf(run.of('fluxer.flow.mean'))).toBeCloseTo(25, 1)
      expect(meanOf(run.of('fluxer.flow.spread'))).toBeCloseTo(Math.log(0.02), 1)
      expect(meanOf(run.of('fluxer.pressure.mean'))).toBeCloseTo(0.6, 3)
      // 25 mL/min for 12 of 30 s, one board each 30 s
      expect(meanOf(run.of('fluxer.flux-per-board'))).toBeCloseTo(25 * 0.2, 1)
    }
  })

  it('give the flux per board at the usual speed: slower boards get more, and that is the speed', () => {
    const withSpeed = [...channels, { channel: 'conveyor.speed', periodS: 2 }]
    const hours = 8
    // a board takes a quarter more time from the fourth hour on, and a nozzle lets a fifth less through from the sixth
    const speedOf = (second: number): number => (second < 4 * HOUR_S ? 20 : 16)
    const isOpen = (second: number): boolean => second % 30 < 240 / speedOf(second)
    const noise = normal(seeded(9))
    const run = new FeatureRun(lineWith(withSpeed)).take(inOrder(
      sampled('fluxer.flow', 1, 0, hours * HOUR_S, (second) => (isOpen(second) ? 25 * (second < 6.5 * HOUR_S ? 1 : 0.8) : 0)),
      sampled('fluxer.spray-on', 1, 0, hours * HOUR_S, (second) => (isOpen(second) ? 1 : 0)),
      sampled('board.count', 30, 0, hours * HOUR_S, (second) => second / 30),
      sampled('conveyor.speed', 2, 0, hours * HOUR_S, (second) => speedOf(second) * (1 + 0.002 * noise())),
    ))
    const doses = run.of('fluxer.flux-per-board')
    expect(doses.length).toBeGreaterThanOrEqual(14)
    for (const dose of doses.slice(0, 12)) expect(Math.abs(dose - 5)).toBeLessThan(0.15)
    for (const dose of doses.slice(-2)) expect(Math.abs(dose - 4)).toBeLessThan(0.15)
  })

  it('give no flux per board of half an hour in which the speed was changed', () => {
    const speedOf = (second: number): number => (second < 4 * HOUR_S + 600 ? 20 : 16)
    const isOpen = (second: number): boolean => second % 30 < 240 / speedOf(second)
    const run = new FeatureRun(lineWith([...channels, { channel: 'conveyor.speed', periodS: 2 }])).take(inOrder(
      sampled('fluxer.flow', 1, 0, 8 * HOUR_S, (second) => (isOpen(second) ? 25 : 0)),
      sampled('fluxer.spray-on', 1, 0, 8 * HOUR_S, (second) => (isOpen(second) ? 1 : 0)),
      sampled('board.count', 30, 0, 8 * HOUR_S, (second) => second / 30),
      sampled('conveyor.speed', 2, 0, 8 * HOUR_S, (second) => speedOf(second) + (second % 4) * 0.01),
    ))
    const doses = run.of('fluxer.flux-per-board')
    expect(doses.length).toBeGreaterThanOrEqual(13)
    for (const dose of doses) expect(Math.abs(dose - 5)).toBeLessThan(0.15)
  })

  it('tell spraying by the flow where no valve is published', () => {
    const [flow] = spray(25, 0.6, 2)
    const run = new FeatureRun(lineWith([{ channel: 'fluxer.flow', periodS: 1 }])).take(flow!)
    expect(meanOf(run.of('fluxer.flow.mean'))).toBeCloseTo(25, 1)
    expect(meanOf(run.of('fluxer.flow.spread'))).toBeCloseTo(Math.log(0.02), 1)
  })

  it('show the opening of the nozzle whichever of flow and pressure gives way (orifice law, worked number G24)', () => {
    const opening = (flow: number, pressure: number): number => meanOf(new FeatureRun(lineWith(channels)).take(inOrder(...spray(flow, pressure, 3))).of('fluxer.flow-for-pressure'))
    const clean = opening(25, 0.6)
    expect(opening(0.8 * 25, 0.6) / clean).toBeCloseTo(0.8, 2)
    expect(opening(25, 1.5625 * 0.6) / clean).toBeCloseTo(0.8, 2)
  })

  it.each([3600, 300, 30])('time how long the pressure holds while idle: %d s', (holdS) => {
    const phases: Phase[] = [{ fromS: 0, state: 'production', recipe: 'a' }, { fromS: 600, state: 'idle', recipe: 'a' }]
    const noise = normal(seeded(holdS))
    const pressure = (second: number): number => 0.6 * Math.exp(-Math.max(0, second - 600) / holdS) * (1 + 0.003 * noise())
    const readings = inOrder(sampled('fluxer.spray-on', 1, 0, 1500, (second) => (second < 595 && isOn(second) ? 1 : 0)), sampled('fluxer.pressure', 1, 0, 1500, pressure))
    const values = new FeatureRun(lineWith(channels), phases).take(readings).of('fluxer.pressure.hold')
    expect(values).toHaveLength(1)
    expect(Math.exp(values[0]!) / holdS).toBeGreaterThan(0.9)
    expect(Math.exp(values[0]!) / holdS).toBeLessThan(1.1)
  })
})

describe('wave and pump', () => {
  const channels = [{ channel: 'pot.pump-speed', periodS: 5 }, { channel: 'pot.wave-height', periodS: 5 }, { channel: 'pot.level', periodS: 30 }]
  const wave = (heightAt: (second: number) => number, speedAt: (second: number) => number, levelAt: (second: number) => number = () => 0): FeatureRun =>
    new FeatureRun(lineWith(channels)).take(inOrder(
      sampled('pot.pump-speed', 5, 0, 2 * HOUR_S, speedAt), sampled('pot.wave-height', 5, 0, 2 * HOUR_S, (second) => heightAt(second) + (second % 2) * 1e-3), sampled('pot.level', 30, 0, 2 * HOUR_S, levelAt)))

  it('do not answer to another pump speed or level of a sound pump (9.4 and 10.6 mm for ±5 %, 9.49 for -10 mm [SIM, B4])', () => {
    const change = (height: number, speed: number, level: number): number => {
      const values = wave((second) => (second < HOUR_S ? 10 : height), (second) => (second < HOUR_S ? 60 : speed), (second) => (second < HOUR_S ? 0 : level)).of('pot.wave.height-for-speed')
      return values.at(-1)! - values[0]!
    }
    expect(Math.abs(change(10.6, 63, 0))).toBeLessThan(0.05)
    expect(Math.abs(change(9.4, 57, 0))).toBeLessThan(0.05)
    expect(Math.abs(change(9.49, 60, -10))).toBeLessThan(0.05)
  })

  it('show a clogged intake in both forms: 8 mm at the same speed, or 1.24 of the speed for the same height', () => {
    const atSpeed = wave((second) => (second < HOUR_S ? 10 : 8.02), () => 60).of('pot.wave.height-for-speed')
    expect(atSpeed.at(-1)! / atSpeed[0]!).toBeCloseTo(0.802, 2)
    const atHeight = wave(() => 10, (second) => (second < HOUR_S ? 60 : 74.4)).of('pot.wave.speed-for-height')
    expect(atHeight.at(-1)! / atHeight[0]!).toBeCloseTo(1.24, 2)
  })
})

describe('drive', () => {
  const channels = [{ channel: 'conveyor.speed', periodS: 1 }, { channel: 'conveyor.current', periodS: 1 }, { channel: 'conveyor.speed-sd', periodS: 1 }]
  const day: Phase[] = [{ fromS: 0, state: 'off', recipe: 'a' }, { fromS: 8 * HOUR_S, state: 'warm-up', recipe: 'a' }, { fromS: 8.5 * HOUR_S, state: 'production', recipe: 'a' }]
  const noise = normal(seeded(5))
  const startsS = 8 * HOUR_S + 60
  const readings = inOrder(
    sampled('conveyor.speed', 1, 0, 11 * HOUR_S, (second) => (second < 600 || second >= startsS ? 20 * (1 + 0.005 * noise()) : 0)),
    sampled('conveyor.current', 1, 0, 11 * HOUR_S, (second) => (second < startsS ? 0 : (0.76 + 0.1 * Math.exp(-(second - startsS) / 1200)) * (1 + 0.007 * noise()))),
    sampled('conveyor.speed-sd', 1, 0, 11 * HOUR_S, (second) => (second < startsS ? 0 : 1.3 * (1 + 0.1 * noise()))),
  )

  it('gives the cold current once, the warm one after an hour, and the unrest of both', () => {
    const run = new FeatureRun(lineWith(channels), day).take(readings)
    // mean of 0.76 + 0.1 exp(-t/1200) over the first 1200 s
    expect(run.of('conveyor.current.cold')).toEqual([expect.closeTo(0.76 + 0.1 * (1 - Math.exp(-1)), 2)])
    const warm = run.takenOf('conveyor.current.warm')
    expect(Math.min(...warm.map(({ timeMs }) => timeMs))).toBeGreaterThanOrEqual(START_MS + (9 * HOUR_S + 60 + 600) * 1000)
    expect(meanOf(warm.map(({ value }) => value))).toBeCloseTo(0.76, 2)
    expect(meanOf(run.of('conveyor.current.spread'))).toBeCloseTo(Math.log(0.007), 1)
    expect(meanOf(run.of('conveyor.speed-sd.spread'))).toBeCloseTo(Math.log(1.3 / 20), 1)
  })
})

describe('boards', () => {
  const channels = [{ channel: 'board.topside-temperature' }, { channel: 'board.defects.bridge' }, { channel: 'conveyor.speed', periodS: 1 }]
  const perBoard = (channel: string, count: number, fromS: number, value: (board: number) => number): Reading[] =>
    Array.from({ length: count }, (_, board) => ({ channel, timeMs: START_MS + (fromS + 30 * board) * 1000, value: value(board) }))

  it('give mean and spread of forty boards of one recipe, by the time they carry, however late they come', () => {
    // twelve groups of each recipe, the first ten of which make its level
    const phases: Phase[] = [{ fromS: 0, state: 'production', recipe: 'a' }, { fromS: 5 * HOUR_S, state: 'production', recipe: 'b' }]
    const noise = normal(seeded(6))
    const late = [...perBoard('board.topside-temperature', 500, 60, () => 112 + 1.2 * noise()), ...perBoard('board.topside-temperature', 480, 5 * HOUR_S + 60, (board) => (board < 400 ? 105 : 103) + 1.2 * noise())]
    const run = new FeatureRun(lineWith(channels), phases).take([...sampled('conveyor.speed', 1, 0, 11 * HOUR_S, () => 20), ...late])
    const means = run.takenOf('board.topside-temperature.mean')
    expect(means.map(({ recipe }) => recipe)).toEqual(['a', 'a', 'b', 'b'])
    expect(means[0]!.value).toBeCloseTo(112, 0)
    // two degrees below its own level, which is told at the level of the first recipe
    expect(means[3]!.value).toBeCloseTo(110, 0)
    expect(means.every(({ timeMs }) => timeMs < START_MS + 11 * HOUR_S * 1000)).toBe(true)
    expect(Math.exp(meanOf(run.of('board.topside-temperature.spread')))).toBeCloseTo(1.2, 0)
  })

  it('an edited set-point makes a level of its own: the boards are neither warmer nor colder than usual for it', () => {
    const set = (fromS: number, value: number): Reading => ({ channel: 'conveyor.setpoint', timeMs: START_MS + fromS * 1000, value })
    const edited = 440 * 30 + 90
    const readings = [...sampled('conveyor.speed', 60, 0, 10 * HOUR_S, () => 20), set(0, 20), set(edited, 17), ...perBoard('board.topside-temperature', 440, 60, () => 112), ...perBoard('board.topside-temperature', 480, edited, () => 118)]
    const run = new FeatureRun(lineWith([...channels, { channel: 'conveyor.setpoint' }])).take(inOrder(readings)).flush()
    const means = run.of('board.topside-temperature.mean')
    // eleven groups before the edit and twelve after it, ten of each make the levels
    expect(means).toHaveLength(3)
    for (const mean of means) expect(mean).toBeCloseTo(112, 6)
  })

  it('do not follow the room, nor a room thermometer that has died', () => {
    const hours = 12
    const warmer = 8 * HOUR_S
    const room = (dead: boolean): Iterable<Reading> => sampled('ambient.temperature', 300, 0, hours * HOUR_S, (second) => (second < warmer ? 28 : dead ? 0 : 33))
    const run = (readings: Iterable<Reading>, topC: number): number[] =>
      new FeatureRun(lineWith([...channels, { channel: 'ambient.temperature', periodS: 300 }]))
        .take(inOrder([...sampled('conveyor.speed', 60, 0, hours * HOUR_S, () => 20), ...readings, ...perBoard('board.topside-temperature', 1400, 60, (board) => (60 + 30 * board < warmer ? 112 : topC))]))
        .flush()
        .of('board.topside-temperature.mean')
    // five degrees more of the room leave 1.2 at the end of the preheat [SIM, B2]
    expect(Math.abs(run(room(false), 113.2).at(-1)! - 112)).toBeLessThan(0.05)
    expect(run(room(false), 112).at(-1)! - 112).toBeCloseTo(-1.2, 1)
    expect(run(room(true), 112).at(-1)).toBeCloseTo(112, 6)
  })

  it('do not move the clock of the line: late results spoil no window', () => {
    const speed = [...sampled('conveyor.speed', 1, 0, HOUR_S, () => 20)]
    const late = perBoard('board.defects.bridge', 20, 0, () => 0)
    const mixed = speed.flatMap((reading, at) => (at % 150 === 149 && late.length > 0 ? [reading, late.shift()!] : [reading]))
    expect(new FeatureRun(lineWith(channels)).take(mixed).of('conveyor.speed.jumps')).toEqual(new FeatureRun(lineWith(channels)).take(speed).of('conveyor.speed.jumps'))
  })

  it('count defects in fifty boards, whole groups only', () => {
    const run = new FeatureRun(lineWith(channels)).take([{ channel: 'conveyor.speed', timeMs: START_MS, value: 20 }, ...perBoard('board.defects.bridge', 430, 60, (board) => (board % 10 === 0 ? 2 : 0))]).flush()
    // the first six groups tell what is usual, the last thirty boards are none
    const counts = run.of('board.defects.bridge.count')
    expect(counts).toHaveLength(2)
    for (const count of counts) expect(count).toBeCloseTo(10, 9)
    // one kind has nothing to be summed with
    expect(run.of('board.all-defects.count')).toEqual([])
  })

  it('sum the kinds of each fifty boards', () => {
    const kinds = ['board.defects.bridge', 'board.defects.skip']
    const results = kinds.map((kind, at) => perBoard(kind, 400, 60, (board) => (board % 10 === 0 ? 1 + at : 0)))
    const run = new FeatureRun(lineWith([...channels, { channel: 'board.defects.skip' }]))
      .take([{ channel: 'conveyor.speed', timeMs: START_MS, value: 20 }, ...results[0]!.flatMap((reading, at) => [reading, results[1]![at]!])])
      .flush()
    const [bridges, skips] = kinds.map((kind) => run.of(`${kind}.count`))
    const all = run.of('board.all-defects.count')
    expect(all.length).toBeGreaterThanOrEqual(2)
    expect(all).toEqual(skips!.slice(-all.length).map((count, at) => expect.closeTo(count + bridges!.slice(-all.length)[at]!, 9)))
  })
})

describe('custom channels', () => {
  it('give each reading of 300 s as it is, in any state', () => {
    const run = new FeatureRun(lineWith([{ channel: 'custom.bearing', periodS: 300 }]), [{ fromS: 0, state: 'off', recipe: '' }]).take(sampled('custom.bearing', 300, 17, 7200, (second) => second))
    expect(run.takenOf('custom.bearing.value').map(({ value, weight, timeMs }) => [value, weight, (timeMs - START_MS) / 1000])).toEqual(Array.from({ length: 24 }, (_, at) => [17 + 300 * at, 1, 17 + 300 * at]))
  })

  it('give minute means where readings come each second', () => {
    const run = new FeatureRun(lineWith([{ channel: 'custom.fan', periodS: 1 }])).take(sampled('custom.fan', 1, 0, 300, (second) => Math.floor(second / 60))).flush()
    expect(run.of('custom.fan.value')).toEqual([0, 1, 2, 3, 4])
  })

  it('may stand still for ever', () => {
    const run = new FeatureRun(lineWith([{ channel: 'custom.bearing', periodS: 300 }])).take(sampled('custom.bearing', 300, 0, 400 * 3600, () => 7))
    expect(run.of('custom.bearing.value')).toHaveLength(4800)
    expect(run.features.dataQuality()[0]).toMatchObject({ status: 'good', reason: '' })
  })
})
