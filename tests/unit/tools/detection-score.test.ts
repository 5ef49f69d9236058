import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { RandomStream } from '../../../src/simulator/random-stream.js'
import { calibrationError, scoreDetections, type EpisodeResult, type ScoredSuggestion, type TrueFault } from '../../../src/tools/detect/detection-score.js'
import { bootstrapFigure, median, rateFigure, shareFigure } from '../../../src/tools/detect/intervals.js'
import { kindOfFeature, oracleFinding, type OracleValue } from '../../../src/tools/detect/oracle.js'
import { keyOf, ResultsFile } from '../../../src/tools/detect/results-file.js'
import { scoreTable } from '../../../src/tools/detect/score-table.js'
import { NaivePractice, UnconfirmedPractice, YARDSTICK_BASELINE } from '../../../src/tools/detect/yardstick.js'

const HOUR_MS = 3_600_000
const fault = (change: Partial<TrueFault> = {}): TrueFault => ({ cause: 'dirty-chain', section: 'transport', observability: 'observable', step: false, onsetMs: 100 * HOUR_MS, oracle: { feature: 'conveyor.speed.jumps', shiftSigma: 2, hours: 5, severity: 0.2 }, ...change })
const suggestion = (change: Partial<ScoredSuggestion> = {}): ScoredSuggestion => ({
  raisedMs: 110 * HOUR_MS,
  section: 'transport',
  day: 4,
  severities: [0.3],
  hours: [8],
  leadSeverity: 0.3,
  causes: [{ cause: 'transport-drag', members: ['dirty-rails', 'dirty-chain'], probability: 0.8 }, { cause: 'none-of-these', members: ['none-of-these'], probability: 0.2 }],
  ...change,
})
const episode = (faults: readonly TrueFault[], suggestions: readonly ScoredSuggestion[], change: Partial<EpisodeResult> = {}): EpisodeResult => ({ seed: 1, channels: 'minimum', kind: 'fault', faults, invisible: ['clogged-nozzle'], productionDays: 6, healthyDays: 3.5, suggestions, naive: [], unconfirmed: [], ...change })

describe('intervals', () => {
  it('share: 8 of 10 is 49.0-94.3 %, none of 20 ends at 16.1 % (Wilson 1927)', () => {
    const some = shareFigure(8, 10)
    expect([some.lower, some.upper].map((value) => Number(value.toFixed(3)))).toEqual([0.49, 0.943])
    expect(shareFigure(0, 20).upper).toBeCloseTo(0.161, 3)
  })

  it('rate: no event in 300 days is below 1.23 per 100 days, three are 0.21 to 2.92 (exact Poisson)', () => {
    expect(rateFigure(0, 300, 100).upper).toBeCloseTo(3.689 / 3, 2)
    const three = rateFigure(3, 300, 100)
    expect([three.value, three.lower, three.upper].map((value) => Number(value.toFixed(2)))).toEqual([1, 0.21, 2.92])
  })

  it('bootstrap: the interval of a mean of 400 normal values is near 1.96 standard errors, and the same every time', () => {
    const random = new RandomStream(1, 'test')
    const values = Array.from({ length: 400 }, () => random.gaussian())
    const mean = (items: readonly number[]): number => items.reduce((sum, value) => sum + value, 0) / items.length
    const figure = bootstrapFigure(values, mean)
    expect((figure.upper - figure.lower) / 2).toBeCloseTo(1.96 / 20, 1.5)
    expect(bootstrapFigure(values, mean)).toEqual(figure)
    expect(median([3, 1, 2, 10])).toBe(2.5)
  })
})

describe('score of simulated lines', () => {
  it('counts a fault as found only in its section and before severity 0.8', () => {
    const results = [
      episode([fault()], [suggestion()]),
      episode([fault()], [suggestion({ severities: [0.9] })]),
      episode([fault()], [suggestion({ section: 'pot' })]),
      episode([fault()], [suggestion({ section: 'pot' }), suggestion({ raisedMs: 111 * HOUR_MS, severities: [0.5], hours: [9] })]),
      episode([fault({ observability: 'weak' })], []),
    ]
    const score = scoreDetections(results)
    expect([score.found.value, score.found.n]).toEqual([0.5, 4])
    expect([score.foundWithWeak.value, score.foundWithWeak.n]).toEqual([0.4, 5])
    expect(score.severity.value).toBeCloseTo(0.4, 9)
    expect(score.section.value).toBe(0.5) // first suggestions: two right, two of the pot
    expect([score.causeFirst.value, score.causeFirst.n]).toEqual([1, 4]) // the lead names the fault even where the section is wrong
  })

  it('a step has a day, whatever its severity', () => {
    const step = fault({ step: true })
    expect(scoreDetections([episode([step], [suggestion({ severities: [1], hours: [10] })])]).found.value).toBe(1)
    expect(scoreDetections([episode([step], [suggestion({ severities: [1], hours: [17] })])]).found.value).toBe(0)
  })

  it('false suggestions: before the onset and on healthy lines, apart while the line is new', () => {
    const early = suggestion({ raisedMs: 20 * HOUR_MS, day: 1, severities: [0], hours: [0] })
    const late = suggestion({ raisedMs: 90 * HOUR_MS, day: 3.2, severities: [0], hours: [0] })
    const score = scoreDetections([episode([fault()], [early, late, suggestion()]), episode([], [late], { kind: 'healthy', healthyDays: 13 })])
    expect(score.healthyDays).toBeCloseTo(10.5, 9)
    expect([score.falsePer100Days.n, score.falseWhileNew.n]).toEqual([2, 1])
    expect(score.falsePer100Days.value).toBeCloseTo(200 / 10.5, 9)
    expect(score.falseWhileNew.value).toBeCloseTo(100 / 6, 9)
  })

  it('delay beside the oracle: twice, or the confirmation; a miss is never within', () => {
    const at = (hours: number, oracleHours: number): EpisodeResult => episode([fault({ oracle: { feature: 'f', shiftSigma: 2, hours: oracleHours } })], [suggestion({ hours: [hours] })])
    const score = scoreDetections([at(9, 5), at(11, 5), at(1.9, 0.5), episode([fault()], [])])
    expect([score.oracleWithin.value, score.oracleWithin.n]).toEqual([0.5, 4])
    expect(score.oracleRatio.value).toBeCloseTo((2.2 + 3.8) / 2, 6)
    expect(scoreTable([at(9, 5)], ['minimum'])).toContain('within 2x or oracle + confirmation')
  })

  it('claims of what cannot be seen, and suggestions of what is not there', () => {
    const unseen = fault({ cause: 'clogged-nozzle', section: 'fluxer', observability: 'invisible' })
    const claim = suggestion({ leadSeverity: 0, causes: [{ cause: 'clogged-nozzle', members: ['clogged-nozzle'], probability: 0.6 }] })
    expect(scoreDetections([episode([unseen], [claim])])).toMatchObject({ invisibleClaimed: 1, wrongOnInvisible: { value: 0 } })
    expect(scoreDetections([episode([unseen], [suggestion({ leadSeverity: 0 })])])).toMatchObject({ invisibleClaimed: 0, wrongOnInvisible: { value: 1 } })
    expect(scoreDetections([episode([unseen], [suggestion({ leadSeverity: 0.4 })])]).wrongOnInvisible.value).toBe(0) // the chain is dirty by now
  })

  it('two faults at once need a suggestion each', () => {
    const second = fault({ cause: 'low-level', section: 'pot' })
    const both = [suggestion({ severities: [0.3, 0.2], hours: [8, 8] }), suggestion({ section: 'pot', severities: [0.4, 0.3], hours: [9, 9] })]
    expect(scoreDetections([episode([fault(), second], both)])).toMatchObject({ faultEpisodes: 0, bothFound: { value: 1, n: 1 } })
    expect(scoreDetections([episode([fault(), second], both.slice(0, 1))]).bothFound.value).toBe(0)
  })

  it('calibration: 0 when what is said comes true as often, the gap when not', () => {
    const cases = (probability: number, rights: number): { probability: number; right: boolean }[] => Array.from({ length: 20 }, (_, index) => ({ probability, right: index < rights }))
    expect(calibrationError(cases(0.8, 16))).toBeLessThan(0.21) // bins of ten keep the order given
    expect(calibrationError(cases(0.8, 0))).toBeCloseTo(0.8, 9)
  })
})

describe('oracle', () => {
  const random = new RandomStream(3, 'oracle')
  const series = (shiftAt: (hour: number) => number, phi = 0): OracleValue[] => {
    let wander = 0
    return Array.from({ length: 600 }, (_, index) => {
      wander = phi * wander + Math.sqrt(1 - phi * phi) * random.gaussian()
      return { timeMs: index * 600_000, value: 10 + wander + shiftAt(index / 6), recipe: 'a' }
    })
  }
  const ask = (features: Record<string, OracleValue[]>): ReturnType<typeof oracleFinding> =>
    oracleFinding({ features: new Map(Object.entries(features)), cause: 'dirty-chain', onsetMs: 60 * HOUR_MS, halfMs: 60 * HOUR_MS, endMs: 1e15, daysBefore: 3.5 })

  it('takes the feature that moves most and finds a shift of two sigmas within the delay a CUSUM has for it', () => {
    const found = ask({ 'conveyor.speed.spread': series((hour) => (hour >= 60 ? 2 : 0)), 'conveyor.speed.jumps': series((hour) => (hour >= 60 ? 0.5 : 0)), 'pot.level.offset': series((hour) => (hour >= 60 ? 9 : 0)) })!
    expect(found.feature).toBe('conveyor.speed.spread')
    expect(Math.abs(found.shiftSigma - 2)).toBeLessThan(0.4)
    expect((found.foundMs! - 60 * HOUR_MS) / 600_000).toBeLessThan(25) // about 10 values by the run length tables at this budget
  })

  it('does not take slow wandering for a shift', () => {
    const alarms = Array.from({ length: 20 }, () => ask({ 'conveyor.speed.spread': series(() => 0, 0.8) })).filter((found) => found?.foundMs !== undefined)
    expect(alarms.length).toBeLessThanOrEqual(2)
  })

  it('knows which channel a feature is made of', () => {
    expect(['preheat.zone-2.warm-up-time', 'preheat.zone-2.duty.effort', 'conveyor.speed-sd.spread', 'pot.wave.speed-for-height', 'board.defects.skip.count'].map(kindOfFeature)).toEqual(['preheat.temperature', 'preheat.duty', 'conveyor.speed', 'pot.pump-speed', 'board.defects'])
  })
})

describe('yardstick', () => {
  it('independent minutes keep quiet as often as the four rules do, a shift is suggested at once, stops are left out', () => {
    const random = new RandomStream(5, 'naive')
    const naive = new NaivePractice()
    naive.producing = true
    const minute = (index: number, value: number): void => naive.take('conveyor.speed', index * 60_000, value)
    for (let index = 0; index < YARDSTICK_BASELINE; index += 1) minute(index, 20 + 0.1 * random.gaussian())
    expect(naive.suggestions).toEqual([])
    naive.producing = false
    for (let index = 200; index < 300; index += 1) minute(index, 0)
    expect(naive.suggestions).toEqual([])
    naive.producing = true
    for (let index = 300; index < 320; index += 1) minute(index, 21)
    expect(naive.suggestions).toHaveLength(1)
    expect(naive.suggestions[0]!.section).toBe('transport')
    for (let index = 1500; index < 1520; index += 1) minute(index, index < 1510 ? 20 : 21)
    expect(naive.suggestions).toHaveLength(2) // the next day
  })

  it('charts measured channels alone', () => {
    const naive = new NaivePractice()
    naive.producing = true
    for (let index = 0; index < 200; index += 1) for (const channel of ['line.recipe', 'board.count', 'preheat.zone-1.setpoint']) naive.take(channel, index * 60_000, index)
    expect(naive.suggestions).toEqual([])
  })
})

describe('told at once', () => {
  it('has a column of its own', () => {
    const fault: TrueFault = { cause: 'dirty-chain', section: 'transport', observability: 'observable', step: false, onsetMs: 10 }
    const said: ScoredSuggestion = { raisedMs: 20, section: 'transport', day: 4, severities: [0.2], hours: [3], leadSeverity: 0, causes: [] }
    const cells = scoreTable([episode([fault], [], { unconfirmed: [said] })], ['minimum']).split('\n').find((line) => line.startsWith('observable faults'))!.split(/ {2,}/)
    expect(cells.slice(2).map((cell) => cell.split(' ')[0])).toEqual(['0.0', '100.0', '0.0'])
  })

  it('suggests the section of a signal for the worse when it begins and on each day it stands, once a day', () => {
    const practice = new UnconfirmedPractice()
    const day = 86_400_000
    const signal = (feature: string, side: 'above' | 'below', phase: 'start' | 'end', timeMs: number) => ({ feature, recipe: 'r1', chart: 'cusum-up', side, phase, timeMs }) as const
    const drag = { section: 'transport', suspicious: 'up' } as const
    practice.take(drag, signal('conveyor.speed.spread', 'below', 'start', 1))
    practice.take({ section: 'line', suspicious: 'both' }, signal('board.topside-temperature.mean', 'above', 'start', 2))
    practice.pass(3)
    expect(practice.suggestions).toEqual([])
    practice.take(drag, signal('conveyor.speed.spread', 'above', 'start', 4))
    practice.take(drag, signal('conveyor.current.warm', 'above', 'start', 5))
    practice.take({ section: 'line', suspicious: 'both' }, signal('exhaust.pressure.mean', 'below', 'start', 6))
    practice.take(drag, signal('conveyor.current.warm', 'above', 'end', 7))
    practice.pass(day + 1)
    practice.pass(day + 2)
    practice.take(drag, signal('conveyor.speed.spread', 'above', 'end', day + 3))
    practice.pass(2 * day)
    expect(practice.suggestions).toEqual([
      { raisedMs: 4, section: 'transport' },
      { raisedMs: 6, section: 'fluxer' },
      { raisedMs: day + 1, section: 'transport' },
      { raisedMs: day + 1, section: 'fluxer' },
      { raisedMs: 2 * day, section: 'fluxer' },
    ])
  })
})

describe('results on disk', () => {
  it('go on after a stop, take another machine\'s part, and leave other builds and torn lines alone', () => {
    const folder = mkdtempSync(join(tmpdir(), 'bench-detect-'))
    try {
      const own = join(folder, 'deep', 'own.jsonl')
      const other = join(folder, 'other.jsonl')
      const request = (seed: number) => ({ seed, kind: 'healthy' as const, channels: 'minimum' as const, days: 5 })
      new ResultsFile([own], 'a').add(request(1), episode([], []))
      new ResultsFile([own], 'b').add(request(2), episode([], []))
      new ResultsFile([other], 'a').add(request(3), episode([], [], { seed: 3 }))
      writeFileSync(own, `${readFileSync(own, 'utf8')}{"build":"a","key":"torn`)
      const joined = new ResultsFile([own, other], 'a')
      expect([1, 2, 3].map((seed) => joined.get(request(seed))?.seed)).toEqual([1, undefined, 3])
      expect(joined.otherCount).toBe(1)
      expect(keyOf(request(1))).not.toBe(keyOf({ ...request(1), cause: 'dirty-chain' }))
    } finally {
      rmSync(folder, { recursive: true })
    }
  })
})
