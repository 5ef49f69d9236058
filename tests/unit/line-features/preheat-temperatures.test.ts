import { describe, expect, it } from 'vitest'
import { FeatureRun, inOrder, lineWith, meanOf, normal, rounded, sampled, seeded, START_MS, type Phase } from './feature-run.js'

const ZONES = [{ channel: 'preheat.zone-{n}.temperature', periodS: 5 }]
const WITH_SETPOINTS = [...ZONES, { channel: 'preheat.zone-{n}.setpoint' }]
const zone = (n: number, hours: number, at: (second: number) => number) => sampled(`preheat.zone-${n}.temperature`, 5, 0, hours * 3600, at)
const setpoint = (n: number, hours: number, at: (second: number) => number) => sampled(`preheat.zone-${n}.setpoint`, 60, 0, hours * 3600, at)

/** Three zones with fast noise of `fast` and a slow sine of 6 min of amplitude `slow` each, in their own phases. */
function threeZones(hours: number, seed: number, fast: readonly number[], slow: readonly number[], change: Change = {}) {
  const { afterH = hours, coated = 0, common = 0 } = change
  const noise = normal(seeded(seed))
  return inOrder(...[1, 2, 3].map((n) => zone(n, hours, (second) => {
    const factor = n === coated && second >= afterH * 3600 ? 2 : 1
    const shared = second >= afterH * 3600 ? common * Math.sin((2 * Math.PI * second) / 500) : 0
    return 100 + 20 * n + (fast[n - 1]! * noise()) / factor + factor * slow[n - 1]! * Math.sin((2 * Math.PI * second) / 360 + 2.1 * n) + shared
  })))
}

/** After some hours one zone's fast part is halved and its slow part doubled, or all zones swing together. */
interface Change {
  readonly afterH?: number
  readonly coated?: number
  readonly common?: number
}

/** Mean of the last `count` values less that of the first. */
function changeOf(values: readonly number[], count: number): number {
  return meanOf(values.slice(-count)) - meanOf(values.slice(0, count))
}

describe('zone offset', () => {
  it('is the mean off the set-point where that is named, the plain mean where none is', () => {
    const readings = inOrder(zone(1, 1, () => 110.4), setpoint(1, 1, () => 110))
    expect(new FeatureRun(lineWith(WITH_SETPOINTS)).take(readings).of('preheat.zone-1.temperature.offset')[0]).toBeCloseTo(0.4, 6)
    expect(new FeatureRun(lineWith(ZONES)).take(readings).of('preheat.zone-1.temperature.offset')[0]).toBeCloseTo(110.4, 6)
  })

  it('does not change its scale when a set-point comes late to a line that declares no channels', () => {
    const late = sampled('preheat.zone-1.setpoint', 60, 1800, 3600, () => 110)
    const values = new FeatureRun(lineWith([])).take(inOrder(zone(1, 1, () => 110.4), late)).of('preheat.zone-1.temperature.offset')
    expect(values.every((value) => Math.abs(value - 110.4) < 1e-6)).toBe(true)
    expect(values.length).toBeGreaterThan(3)
  })

  it('is silent for ten minutes after a set-point step and a recipe change', () => {
    const step = (second: number): number => (second < 2 * 600 + 60 ? 110 : 115)
    const run = new FeatureRun(lineWith(WITH_SETPOINTS)).take(inOrder(zone(1, 1.5, step), setpoint(1, 1.5, step)))
    expect(run.takenOf('preheat.zone-1.temperature.offset').map(({ timeMs }) => (timeMs - START_MS) / 60_000)).toEqual([10, 20, 50, 60, 70, 80])
    const phases: Phase[] = [{ fromS: 0, state: 'production', recipe: 'a' }, { fromS: 1260, state: 'production', recipe: 'b' }]
    const other = new FeatureRun(lineWith(ZONES), phases).take(zone(1, 1.5, () => 110))
    expect(other.takenOf('preheat.zone-1.temperature.offset').map(({ timeMs, recipe }) => `${(timeMs - START_MS) / 60_000} ${recipe}`)).toEqual(['10 a', '20 a', '50 b', '60 b', '70 b', '80 b'])
  })
})

describe('fast and slow part of a zone', () => {
  it('give the sd of each band, apart', () => {
    const run = new FeatureRun(lineWith(ZONES)).take(threeZones(6, 1, [0.12, 0.24, 0.12], [0.5, 0.5, 0.5]))
    expect(Math.exp(meanOf(run.of('preheat.zone-1.temperature.fast')))).toBeCloseTo(0.12, 2)
    expect(Math.exp(meanOf(run.of('preheat.zone-2.temperature.fast')))).toBeCloseTo(0.24, 2)
    expect(Math.exp(meanOf(run.of('preheat.zone-1.temperature.slow')))).toBeCloseTo(0.5 / Math.SQRT2, 1)
  })

  it('mean the same before and after a gap, also with readings of a period that lies between two widths', () => {
    const noise = normal(seeded(5))
    let colored = 0
    const wandering = (): number => (colored = 0.8 * colored + 0.6 * noise())
    const readings = [...sampled('preheat.zone-1.temperature', 4, 0, 12 * 3600, () => 150 + 0.3 * wandering())].filter(({ timeMs }) => timeMs < START_MS + 6 * 3_600_000 || timeMs > START_MS + 6 * 3_600_000 + 90_000)
    const fast = new FeatureRun(lineWith([{ channel: 'preheat.zone-{n}.temperature', periodS: 4 }])).take(readings).of('preheat.zone-1.temperature.fast')
    expect(fast.length).toBeGreaterThan(60)
    expect(Math.abs(changeOf(fast, 30))).toBeLessThan(0.03)
  })

  it('beside the neighbours show one slow sensor in its own zone only, though the zones are unlike', () => {
    const run = new FeatureRun(lineWith(ZONES)).take(threeZones(18, 2, [0.12, 0.2, 0.09], [0.3, 0.5, 0.2], { afterH: 12, coated: 2 }))
    const change = (feature: string): number => changeOf(run.of(feature), feature.includes('fast') ? 30 : 4)
    expect(change('preheat.zone-2.temperature.fast-own')).toBeCloseTo(-Math.LN2, 1)
    expect(change('preheat.zone-2.temperature.slow-own')).toBeCloseTo(Math.LN2, 1)
    for (const feature of ['preheat.zone-1.temperature.fast-own', 'preheat.zone-3.temperature.fast-own', 'preheat.zone-1.temperature.slow-own', 'preheat.zone-3.temperature.slow-own']) expect(Math.abs(change(feature))).toBeLessThan(0.1)
    expect(Math.abs(change('preheat.common-movement'))).toBeLessThan(0.15)
  })

  it('beside the neighbours wait until each zone knows its own level', () => {
    const run = new FeatureRun(lineWith(ZONES)).take(threeZones(12, 4, [0.1, 0.1, 0.1], [0.3, 0.3, 0.3]))
    expect(run.of('preheat.zone-1.temperature.slow').length - run.of('preheat.zone-1.temperature.slow-own').length).toBe(8)
    expect(run.of('preheat.zone-1.temperature.fast').length - run.of('preheat.zone-1.temperature.fast-own').length).toBe(24)
  })

  it('put what all zones do together into the common movement', () => {
    const run = new FeatureRun(lineWith(ZONES)).take(threeZones(18, 3, [0.1, 0.1, 0.1], [0.2, 0.2, 0.2], { afterH: 12, common: 0.8 }))
    expect(changeOf(run.of('preheat.common-movement'), 5)).toBeGreaterThan(1)
    expect(Math.abs(changeOf(run.of('preheat.zone-2.temperature.slow-own'), 3))).toBeLessThan(0.15)
  })

  it('need half an hour of readings to trust the resolution; from a channel rounded to 1 °C there is no fast part, and a slow one only above the rounding', () => {
    const noise = normal(seeded(5))
    const coarse = new FeatureRun(lineWith(ZONES)).take(zone(1, 3, () => rounded(110 + 0.18 * noise(), 1)))
    expect(coarse.of('preheat.zone-1.temperature.offset').length).toBeGreaterThan(10)
    expect(coarse.values.filter(({ feature }) => /fast/.test(feature))).toEqual([])
    expect(coarse.of('preheat.zone-1.temperature.slow').length).toBeGreaterThan(0)
    for (const value of coarse.of('preheat.zone-1.temperature.slow')) expect(value).toBeCloseTo(0.5 * Math.log(1 / 12), 6)
    const [quality] = coarse.features.dataQuality()
    expect(quality).toMatchObject({ channel: 'preheat.zone-1.temperature', status: 'quantised' })
    expect(quality?.reason).toMatch(/steps of 1/)
  })

  it('lose one zone and keep the others when its channel drops out', () => {
    const noise = normal(seeded(6))
    const at = (n: number) => zone(n, 5, (second) => (n === 2 && second > 3 * 3600 + 900 && second < 3 * 3600 + 1500 ? undefined : 100 + 20 * n + 0.2 * noise()) as number)
    const run = new FeatureRun(lineWith(ZONES)).take(inOrder(at(1), at(2), at(3)))
    const hours = (feature: string): number[] => run.takenOf(feature).map(({ timeMs }) => (timeMs - START_MS) / 3_600_000)
    expect(hours('preheat.zone-1.temperature.slow')).toEqual([1, 2, 3, 4])
    expect(hours('preheat.zone-2.temperature.slow')).toEqual([1, 2, 3])
  })
})

describe('heating up', () => {
  const tau = 500
  const heat = (from: number, end: number, factor = 1, overshoot = 0) => (second: number): number => {
    const warm = from + (1.4 * end - from) * (1 - Math.exp(-second / (tau * factor)))
    return warm < end ? warm : end + overshoot * Math.exp(-Math.max(0, second - 900) / 200) * Math.sin(Math.max(0, second - 300) / 150)
  }
  const start = (curve: (second: number) => number, machineSetpoint = 150): FeatureRun => {
    const phases: Phase[] = [{ fromS: 0, state: 'off', recipe: 'a' }, { fromS: 60, state: 'warm-up', recipe: 'a' }, { fromS: 3000, state: 'production', recipe: 'a' }]
    const noise = normal(seeded(7))
    const readings = inOrder(setpoint(1, 1.2, () => machineSetpoint), zone(1, 1.2, (second) => rounded(curve(Math.max(0, second - 60)) + 0.1 * noise(), 0.1)))
    return new FeatureRun(lineWith(WITH_SETPOINTS), phases).take(readings)
  }
  const crossingS = (level: number, from: number, end: number, factor: number): number => -tau * factor * Math.log(1 - (level - from) / (1.4 * end - from))

  it('is timed from a third to half of the way up, where the heater is at full power', () => {
    const run = start(heat(28, 150))
    const expected = crossingS(25 + 0.5 * 125, 28, 150, 1) - crossingS(25 + 0.33 * 125, 28, 150, 1)
    expect(run.of('preheat.zone-1.warm-up-time')).toEqual([expect.closeTo(expected, -1)])
    expect(run.takenOf('preheat.zone-1.warm-up-time')[0]).toMatchObject({ state: 'warm-up', recipe: 'a', weight: 1 })
  })

  it('takes a third longer where the heater is a third slower, and does not mind a cooler start', () => {
    const time = (curve: (second: number) => number): number => start(curve).of('preheat.zone-1.warm-up-time')[0]!
    expect(time(heat(28, 150, 1.34)) / time(heat(28, 150))).toBeCloseTo(1.34, 1)
    expect(time(heat(18, 150)) / time(heat(28, 150))).toBeCloseTo(1, 1)
  })

  it('is not timed where the reading stood still on the way', () => {
    const frozen = (fromS: number, forS: number): FeatureRun => {
      const phases: Phase[] = [{ fromS: 0, state: 'off', recipe: 'a' }, { fromS: 60, state: 'warm-up', recipe: 'a' }, { fromS: 3000, state: 'production', recipe: 'a' }]
      const readings = inOrder(setpoint(1, 1.2, () => 150), zone(1, 1.2, (second) => rounded(heat(28, 150)(Math.max(0, (second >= fromS && second < fromS + forS ? fromS : second) - 60)), 0.1)))
      return new FeatureRun(lineWith(WITH_SETPOINTS), phases).take(readings)
    }
    expect(frozen(240, 120).of('preheat.zone-1.warm-up-time')).toEqual([])
    expect(frozen(800, 120).of('preheat.zone-1.warm-up-time')).toHaveLength(1)
  })

  it('gives the overshoot', () => {
    expect(start(heat(28, 150)).of('preheat.zone-1.warm-up-overshoot')[0]).toBeCloseTo(0, 0)
    expect(start(heat(28, 150, 1, 5)).of('preheat.zone-1.warm-up-overshoot')[0]).toBeGreaterThan(2)
  })

  /** Days of 2 h, up to an end and in a state of the heater each; it pulls towards 210 °C, and before a low end its power is taken off early. */
  const starts = (...days: readonly { readonly end: number; readonly slower?: number; readonly daysOff?: number; readonly serviced?: boolean }[]): number[] => {
    const DAY = 7200
    const begins = days.map((_, day) => day * DAY + 86_400 * days.slice(0, day + 1).reduce((sum, { daysOff = 0 }) => sum + daysOff, 0))
    const phases: Phase[] = days.flatMap(({ end, serviced = false }, day): Phase[] => {
      const beginS = begins[day]!
      const work: Phase[] = serviced ? [{ fromS: beginS + 5000, state: 'maintenance', recipe: `to ${end}` }] : []
      return [{ fromS: Math.max(0, beginS - 1800), state: 'off', recipe: `to ${end}` }, { fromS: beginS + 60, state: 'warm-up', recipe: `to ${end}` }, { fromS: beginS + 3000, state: 'production', recipe: `to ${end}` }, ...work]
    })
    const noise = normal(seeded(11))
    const curve = (second: number, end: number, slower: number): number => Math.min(end, 210 - (210 - 28) * Math.exp(-Math.max(0, second - 60) / (tau * slower * (end < 120 ? 1.3 : 1))))
    const dayAt = (second: number): number => begins.findLastIndex((beginS) => second >= Math.max(0, beginS - 1800))
    const temperature = (second: number): number => curve(second - begins[dayAt(second)]!, days[dayAt(second)]!.end, days[dayAt(second)]!.slower ?? 1)
    const hours = (begins.at(-1)! + DAY) / 3600
    const readings = inOrder(setpoint(1, hours, (second) => days[dayAt(second)]!.end), zone(1, hours, (second) => rounded(temperature(second) + 0.1 * noise(), 0.1)))
    return new FeatureRun(lineWith(WITH_SETPOINTS), phases).take(readings).of('preheat.zone-1.warm-up-time')
  }

  it('means the same for starts to a lower temperature, where the usual band ends too near to it, from the second of them on', () => {
    const [first, ...others] = starts({ end: 150 }, { end: 115 }, { end: 115 }, { end: 105 }, { end: 150 }, { end: 115, slower: 1.34 }, { end: 105, slower: 1.34 }, { end: 150, slower: 1.34 })
    expect(others.map((time) => time / first!)).toEqual([1, 1, 1.34, 1.34, 1.34].map((ratio) => expect.closeTo(ratio, 1)))
  })

  it('takes a zone that is already slow at its first start to a lower temperature for what it is', () => {
    const [first, ...others] = starts({ end: 150 }, { end: 150, slower: 1.34 }, { end: 115, slower: 1.34 }, { end: 115, slower: 1.8 })
    expect(others.map((time) => time / first!)).toEqual([1.34, 1.8].map((ratio) => expect.closeTo(ratio, 1)))
  })

  it('is not taken from a start with a gap, nor a lower band from a time of the usual one that is old or from before work on the line', () => {
    const phases: Phase[] = [{ fromS: 0, state: 'off', recipe: 'a' }, { fromS: 60, state: 'warm-up', recipe: 'a' }, { fromS: 3000, state: 'production', recipe: 'a' }]
    const withGap = (minutes: number): number[] => {
      const whole = [...zone(1, 1.2, (second) => rounded(heat(28, 150)(Math.max(0, second - 60)), 0.1))]
      const readings = inOrder(setpoint(1, 1.2, () => 150), whole.filter(({ timeMs }) => timeMs < START_MS + 240_000 || timeMs >= START_MS + 240_000 + minutes * 60_000))
      return new FeatureRun(lineWith(WITH_SETPOINTS), phases).take(readings).of('preheat.zone-1.warm-up-time')
    }
    expect([withGap(1).length, withGap(5).length]).toEqual([1, 0])
    const lower = { end: 115 }
    expect(starts({ end: 150 }, lower, lower)).toHaveLength(2)
    expect(starts({ end: 150 }, { ...lower, daysOff: 5 }, lower)).toHaveLength(1)
    expect(starts({ end: 150, serviced: true }, lower, lower)).toHaveLength(1)
  })

  it('says nothing of a start from a warm zone, and gives no overshoot of a zone that does not come up', () => {
    expect(start(heat(90, 150)).of('preheat.zone-1.warm-up-time')).toEqual([])
    const weak = start(heat(28, 140))
    expect(weak.of('preheat.zone-1.warm-up-time')).toHaveLength(1)
    expect(weak.of('preheat.zone-1.warm-up-overshoot')).toEqual([])
  })
})

describe('set-point step', () => {
  const stepped = (size: number, tauS: number, overshootShare = 0): FeatureRun => {
    const at = (second: number): number => {
      const since = second - 3600
      if (since < 0) return 130
      return 130 + size * (1 - Math.exp(-since / tauS) + overshootShare * Math.sin(Math.min(Math.PI, since / 250)) * (1 - Math.exp(-since / 60)))
    }
    return new FeatureRun(lineWith(WITH_SETPOINTS)).take(inOrder(setpoint(1, 2, (second) => (second < 3600 ? 130 : 130 + size)), zone(1, 2, at)))
  }

  it.each([10, -10])('of %d °C gives the 63 %% time within the smoothing', (size) => {
    const [time] = stepped(size, 120).of('preheat.zone-1.step-response')
    expect(time).toBeGreaterThan(115)
    expect(time).toBeLessThan(140)
    expect(stepped(size, 160).of('preheat.zone-1.step-response')[0]! - time!).toBeCloseTo(40, -1)
  })

  it('gives the overshoot as a share of the step, the same up and down', () => {
    expect(stepped(10, 120).of('preheat.zone-1.step-overshoot')[0]).toBeCloseTo(0, 2)
    expect(stepped(10, 120, 0.35).of('preheat.zone-1.step-overshoot')[0]).toBeCloseTo(stepped(-10, 120, 0.35).of('preheat.zone-1.step-overshoot')[0]!, 6)
    expect(stepped(10, 120, 0.35).of('preheat.zone-1.step-overshoot')[0]).toBeGreaterThan(0.15)
  })

  it('is left alone when it is small, large, or itself changed', () => {
    expect(stepped(2, 120).of('preheat.zone-1.step-response')).toEqual([])
    expect(stepped(30, 120).of('preheat.zone-1.step-response')).toEqual([])
    const twice = inOrder(setpoint(1, 2, (second) => (second < 3600 ? 130 : second < 4000 ? 140 : 137)), zone(1, 2, () => 130))
    expect(new FeatureRun(lineWith(WITH_SETPOINTS)).take(twice).of('preheat.zone-1.step-response')).toEqual([])
  })
})
