import { describe, expect, it } from 'vitest'
import { createFeatureSet } from '../../../src/line/features/feature-set.js'
import { FeatureRun, inOrder, lineWith, normal, sampled, seeded, START_MS, type Phase } from './feature-run.js'

const DEFINITION = lineWith([{ channel: 'pot.level', periodS: 30 }, { channel: 'conveyor.speed', periodS: 1 }])
const level = (fromS: number, toS: number, at: (second: number) => number | undefined = (second) => (second % 90) / 90) => sampled('pot.level', 30, fromS, toS, at)
const minutes = (run: FeatureRun, feature: string): number[] => run.takenOf(feature).map(({ timeMs }) => (timeMs - START_MS) / 60_000)

describe('windows', () => {
  it('are aligned to ten minutes of UTC, whenever the readings start, and end with their end', () => {
    // what the line did before the first reading is not known, so the window that began before it says nothing
    expect(minutes(new FeatureRun(DEFINITION).take(level(-400, 1900)), 'pot.level.offset')).toEqual([10, 20, 30])
  })

  it('are closed for all channels by the first reading past their end, of whatever channel', () => {
    const run = new FeatureRun(DEFINITION).take(level(0, 600))
    expect(run.values).toEqual([])
    run.take([{ channel: 'conveyor.speed', timeMs: START_MS + 600_000, value: 20 }])
    expect(minutes(run, 'pot.level.offset')).toEqual([10])
  })

  it('give nothing where the line was in another state for a moment, or changed its recipe', () => {
    const phases: Phase[] = [
      { fromS: 0, state: 'production', recipe: 'a' }, { fromS: 700, state: 'settling', recipe: 'a' }, { fromS: 760, state: 'production', recipe: 'a' },
      { fromS: 2400, state: 'production', recipe: 'b' }, { fromS: 3050, state: 'run-in', recipe: 'b' },
    ]
    const run = new FeatureRun(DEFINITION, phases).take(level(0, 3700))
    expect(run.takenOf('pot.level.offset').map(({ timeMs, recipe, state }) => `${(timeMs - START_MS) / 60_000} ${state} ${recipe}`)).toEqual(['10 production a', '30 production a', '40 production a', '50 production b'])
  })

  it('go on through a short wait for boards, not through a longer one', () => {
    const phases: Phase[] = [
      { fromS: 0, state: 'production', recipe: 'a' }, { fromS: 700, state: 'idle', recipe: 'a' }, { fromS: 820, state: 'production', recipe: 'a' },
      { fromS: 1700, state: 'idle', recipe: 'a' }, { fromS: 1840, state: 'production', recipe: 'a' }, { fromS: 2450, state: 'idle', recipe: 'a' }, { fromS: 2700, state: 'production', recipe: 'a' },
    ]
    const run = new FeatureRun(DEFINITION, phases).take(level(0, 3700))
    expect(run.takenOf('pot.level.offset').map(({ timeMs, state }) => `${(timeMs - START_MS) / 60_000} ${state}`)).toEqual(['10 production', '20 production', '30 production', '40 production', '60 production'])
  })

  it('belong to the state they were in, though the reading that closes them brings another', () => {
    const phases: Phase[] = [{ fromS: 0, state: 'production', recipe: 'a' }, { fromS: 600, state: 'changeover', recipe: 'b' }]
    expect(new FeatureRun(DEFINITION, phases).take(level(0, 660)).takenOf('pot.level.offset')).toMatchObject([{ state: 'production', recipe: 'a' }])
  })

  it('told of a change before its reading come out the same', () => {
    const features = createFeatureSet(DEFINITION)
    const values: string[] = []
    const emit: Parameters<typeof features.take>[2] = (value, spec, context) => values.push(`${spec.feature} ${(value.timeMs - START_MS) / 60_000} ${context.recipe}`)
    for (const reading of level(0, 600)) features.take(reading, { state: 'production', recipe: 'a', stateSinceMs: 0 }, emit)
    features.stateChanged({ timeMs: START_MS + 600_000, state: 'changeover', recipe: 'b' }, emit)
    expect(values).toEqual(['pot.level.offset 10 a'])
  })

  it('need readings for three fifths of their time', () => {
    const run = (share: number): number => new FeatureRun(DEFINITION).take(level(0, 1300, (second) => (second < 600 || (second - 600) / 600 < share || second >= 1200 ? second % 7 : undefined))).takenOf('pot.level.offset').length
    expect(run(0.65)).toBe(2)
    expect(run(0.55)).toBe(1)
  })

  it('say how much of them held readings', () => {
    const run = new FeatureRun(DEFINITION).take(level(0, 700, (second) => (second < 480 || second >= 600 ? second % 7 : undefined)))
    expect(run.takenOf('pot.level.offset')[0]!.weight).toBeCloseTo(0.8, 6)
  })

  it('do not bridge a gap: an hour needs its six slots on end', () => {
    expect(minutes(new FeatureRun(DEFINITION).take([...level(0, 3000), ...level(5400, 10_000)]), 'pot.level.slope')).toEqual([150])
  })

  it('start anew when the clock is set back', () => {
    const run = new FeatureRun(DEFINITION).take([...level(0, 2000), ...level(-7200, -5300)])
    expect(minutes(run, 'pot.level.offset')).toEqual([10, 20, 30, -110, -100, -90])
  })

  it('are closed at the end of the data where they hold enough', () => {
    expect(minutes(new FeatureRun(DEFINITION).take(level(0, 1000)).flush(), 'pot.level.offset')).toEqual([10, 20])
    expect(minutes(new FeatureRun(DEFINITION).take(level(0, 700)).flush(), 'pot.level.offset')).toEqual([10])
    expect(new FeatureRun(DEFINITION).flush().values).toEqual([])
  })
})

describe('data quality', () => {
  it('a frozen channel gives no features until it moves, and says so', () => {
    const noise = normal(seeded(1))
    const speed = sampled('conveyor.speed', 1, 0, 3 * 3600, (second) => (second > 5400 && second < 9100 ? 20.2 : 20 * (1 + 0.008 * noise())))
    const run = new FeatureRun(DEFINITION)
    const states: string[] = []
    for (const reading of speed) {
      run.take([reading])
      if (reading.timeMs === START_MS + 8_000_000) states.push(...run.features.dataQuality().map(({ status, reason }) => `${status}: ${reason}`))
    }
    expect(minutes(run, 'conveyor.speed.spread').filter((minute) => minute > 90 && minute <= 160)).toEqual([])
    expect(minutes(run, 'conveyor.speed.spread')).toContain(170)
    expect(states).toEqual([expect.stringMatching(/^frozen: the same value \d+ times/)])
  })

  it('a silent channel is told, others go on', () => {
    const noise = normal(seeded(2))
    const run = new FeatureRun(DEFINITION).take(inOrder(level(0, 600), sampled('conveyor.speed', 1, 0, 3600, () => 20 + noise())))
    expect(run.features.dataQuality().map(({ channel, status }) => `${channel} ${status}`)).toEqual(['conveyor.speed good', 'pot.level silent'])
  })

  it('channels the line does not declare, and texts, are passed over', () => {
    const run = new FeatureRun(DEFINITION).take([{ channel: 'exhaust.pressure', timeMs: START_MS, value: 1 }, { channel: 'pot.level', timeMs: START_MS, value: 'low' }])
    expect(run.features.dataQuality()).toEqual([])
  })
})

describe('snapshot', () => {
  it('of another version is refused', () => {
    expect(() => createFeatureSet(DEFINITION, { version: 9 })).toThrow(/version 9; expected 1/)
  })

  it('is not changed by what is taken after it', () => {
    const run = new FeatureRun(DEFINITION).take(level(0, 500))
    const snapshot = run.features.snapshot()
    const text = JSON.stringify(snapshot)
    run.take(level(500, 5000))
    expect(JSON.stringify(snapshot)).toBe(text)
  })

  it('goes on under a definition with more channels', () => {
    const run = new FeatureRun(DEFINITION).take(level(0, 3000))
    const wider = lineWith([{ channel: 'pot.level', periodS: 30 }, { channel: 'pot.temperature', periodS: 5 }, { channel: 'preheat.zone-{n}.temperature', periodS: 5 }])
    const later = new FeatureRun(wider, undefined, run.features.snapshot()).take(level(3000, 3700))
    expect(minutes(later, 'pot.level.slope')).toEqual([60])
  })
})
