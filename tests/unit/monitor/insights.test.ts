import { describe, expect, it } from 'vitest'
import type { FeatureEvidence } from '../../../src/line/diagnosis.js'
import { featureCatalogue } from '../../../src/line/features/feature-catalogue.js'
import { chargePoint, countSignal, countSuggestion, createBudgetState, explainByRecord, stepBudget } from '../../../src/monitor/insight-budget.js'
import { driftInsight } from '../../../src/monitor/insight-drift.js'
import { controlLoops, createLoopState, noteDuty, stepLoop } from '../../../src/monitor/insight-effort.js'
import { createInsightHistory, pushInsightValue, seriesAround, seriesSince } from '../../../src/monitor/insight-history.js'
import { featureLimit } from '../../../src/monitor/insight-limits.js'
import type { BudgetInsight, DriftInsight, EffortInsight } from '../../../src/monitor/insight.js'
import { define, MonitorBench, spreadAt, START_MS } from './monitor-bench.js'

const TEN_MINUTES = 600_000
const HOUR = 3_600_000
const DAY = 24 * HOUR
const CONTEXT = { feature: 'custom.level.value', recipe: 'all', state: 'production' as const }

/** Ten-minute values with unrest 1 about a level that may step or ramp. */
function historyOf(count: number, level: (index: number) => number) {
  const history = createInsightHistory()
  for (let index = 0; index < count; index += 1) pushInsightValue(history, START_MS + index * TEN_MINUTES, level(index) + spreadAt(index), 1008)
  return history
}

function driftOf(count: number, level: (index: number) => number, onsetIndex: number, limit?: number): DriftInsight {
  const timeMs = START_MS + (count - 1) * TEN_MINUTES
  return driftInsight({ history: historyOf(count, level), context: CONTEXT, timeMs, phase: 'standing', side: 'above', onsetMs: START_MS + onsetIndex * TEN_MINUTES, afterMs: 0, windowS: 600, limit: limit === undefined ? undefined : { value: limit, source: 'definition' } })
}

describe('the history behind insights', () => {
  it('keeps all values of a young line, and means of blocks of an old one, in bounded size', () => {
    const young = historyOf(60, () => 0)
    expect(seriesAround(young, START_MS + 50 * TEN_MINUTES, 0)).toMatchObject({ block: 1 })
    expect(seriesAround(young, START_MS + 50 * TEN_MINUTES, 0).points).toHaveLength(60)
    const old = historyOf(20_000, (index) => index)
    expect(JSON.stringify(old).length).toBeLessThan(2600)
    const { points, block } = seriesAround(old, 0, 0)
    // four weeks of 1008 values in at most 80 blocks
    expect(block).toBe(64)
    expect(points.length).toBeLessThanOrEqual(80)
    expect((points.at(-1)!.timeMs - points[0]!.timeMs) / DAY).toBeGreaterThan(14)
    // a block of a ramp is its middle
    expect(points.at(-1)!.value).toBeCloseTo(19_999 - (19_999 - Math.round((points.at(-1)!.timeMs - START_MS) / TEN_MINUTES)) - (block - 1) / 2, -1)
  })

  it('gives single values around a change of the last hours, and leaves an earlier episode out', () => {
    const old = historyOf(2000, () => 0)
    expect(seriesAround(old, START_MS + 1990 * TEN_MINUTES, 0)).toMatchObject({ block: 1 })
    const afterMs = START_MS + 1000 * TEN_MINUTES
    const { points, block } = seriesAround(old, START_MS + 1500 * TEN_MINUTES, afterMs)
    expect(block).toBeGreaterThan(1)
    expect(points.every(({ timeMs }) => timeMs > afterMs)).toBe(true)
    expect(seriesSince(old, START_MS + 1990 * TEN_MINUTES)).toMatchObject({ block: 1 })
  })

  it('begins anew when the clock is set back', () => {
    const history = historyOf(100, () => 0)
    pushInsightValue(history, START_MS, 5, 1008)
    expect(seriesSince(history, 0).points).toEqual([{ timeMs: START_MS, value: 5 }])
  })
})

describe('how a feature moves', () => {
  it('names a step with its time in the confidence set, and gives no date for what stands', () => {
    const insight = driftOf(200, (index) => (index >= 150 ? 6 : 0), 150, 20)
    expect(insight.shape).toBe('step')
    expect(insight.lead).toBeGreaterThan(6)
    const trueMs = START_MS + 150 * TEN_MINUTES
    expect(insight.onsetFromMs).toBeLessThanOrEqual(trueMs)
    expect(insight.onsetToMs).toBeGreaterThanOrEqual(trueMs - 3 * HOUR)
    expect(Math.abs(insight.onsetMs - trueMs)).toBeLessThan(3 * HOUR)
    expect(insight.before).toBeCloseTo(0, 0)
    expect(insight.level).toBeCloseTo(6, 0)
    expect(insight.noDate).toBe('no-clear-drift')
    expect(insight.dueMs).toBeUndefined()
  })

  it('names a ramp and dates its limit about where the line reaches it', () => {
    // 0.05 a value: 7.2 a day; after 150 values of ramp at 7.5, the limit 12 is 90 values or 15 h ahead
    const insight = driftOf(400, (index) => Math.max(0, index - 250) * 0.05, 260, 12)
    expect(insight.shape).toBe('ramp')
    expect(insight.slopePerDay).toBeGreaterThan(6)
    expect(insight.slopePerDay).toBeLessThan(8.5)
    expect(insight.slopePerDayLower).toBeLessThan(7.2)
    expect(insight.slopePerDayUpper).toBeGreaterThan(7.2)
    const [p10, p50, p90] = insight.dueMs!
    const trueMs = START_MS + (250 + 240) * TEN_MINUTES
    expect(p10).toBeLessThan(p50)
    expect(p50).toBeLessThan(p90)
    expect(Math.abs(p50 - trueMs)).toBeLessThan(5 * HOUR)
    expect(insight.noDate).toBeUndefined()
  })

  it('says why there is no date: none set, too early, too few, beyond', () => {
    const ramp = (index: number): number => Math.max(0, index - 250) * 0.05
    expect(driftOf(400, ramp, 260).noDate).toBe('no-limit-set')
    expect(driftOf(400, ramp, 260, 500).noDate).toBe('rising-too-early-to-date')
    expect(driftOf(400, ramp, 260, 3).noDate).toBe('beyond-already')
    expect(driftOf(256, (index) => (index >= 251 ? 8 : 0), 251, 20)).toMatchObject({ noDate: 'too-few-values' })
    expect(driftOf(400, (index) => -ramp(index), 260, 12).noDate).toBe('moving-away')
  })

  it('keeps to its shape in another unit', () => {
    const celsius = driftOf(400, (index) => Math.max(0, index - 250) * 0.05, 260, 12)
    const history = createInsightHistory()
    for (let index = 0; index < 400; index += 1) pushInsightValue(history, START_MS + index * TEN_MINUTES, (Math.max(0, index - 250) * 0.05 + spreadAt(index)) * 1.8 + 32, 1008)
    const fahrenheit = driftInsight({ history, context: CONTEXT, timeMs: celsius.timeMs, phase: 'standing', side: 'above', onsetMs: START_MS + 260 * TEN_MINUTES, afterMs: 0, windowS: 600, limit: { value: 12 * 1.8 + 32, source: 'definition' } })
    expect(fahrenheit.shape).toBe(celsius.shape)
    expect(fahrenheit.onsetMs).toBe(celsius.onsetMs)
    expect(fahrenheit.slopePerDay! / 1.8).toBeCloseTo(celsius.slopePerDay!, 3)
    expect(Math.abs(fahrenheit.dueMs![1] - celsius.dueMs![1])).toBeLessThan(60_000)
  })

  it('never answers with a number that is none, whatever the values', () => {
    for (const level of [() => 0, (index: number) => (index === 30 ? 1e9 : 0), (index: number) => (index % 2) * 1e-9]) {
      for (const count of [1, 2, 8, 16, 90]) {
        const numbers = Object.values(driftOf(count, level, Math.floor(count / 2), 5)).filter((value) => typeof value === 'number')
        expect(numbers.every(Number.isFinite)).toBe(true)
      }
    }
  })

  it('takes its limit from the definition, else from the process, else from nowhere', () => {
    const own = define({ featureLimits: { 'pot.level.offset': { action: { lower: -4 } } } })
    const now = { level: -3, centre: 0, dutyPercent: 0 }
    expect(featureLimit(own, 'pot.level.offset', 'below', now)).toEqual({ value: -4, source: 'definition' })
    expect(featureLimit(define(), 'pot.level.offset', 'below', now)).toEqual({ value: -10, source: 'process' })
    expect(featureLimit(define(), 'pot.level.offset', 'above', now)).toBeUndefined()
    // half the duty at this effort: the stop at 95 % lies at 1.9 times the effort
    expect(featureLimit(define(), 'preheat.zone-1.duty.effort', 'above', { level: 40, centre: 38, dutyPercent: 50 })).toEqual({ value: 76, source: 'process' })
    expect(featureLimit(define(), 'conveyor.speed.spread', 'above', now)).toBeUndefined()
  })
})

describe('the audit of the budget', () => {
  const definition = define()
  const spec = featureCatalogue(definition).find(({ feature }) => feature === 'pot.level.offset')!

  it('sets expected beside what came, once a day while the week runs and at its end', () => {
    const state = createBudgetState()
    const said: BudgetInsight[] = []
    for (let timeMs = START_MS; timeMs <= START_MS + 8 * DAY; timeMs += TEN_MINUTES) {
      for (let point = 0; point < 10; point += 1) chargePoint(state, 5000)
      if (timeMs === START_MS + 2 * DAY) countSignal(state, spec, timeMs)
      if (timeMs === START_MS + 3 * DAY) countSignal(state, spec, timeMs)
      stepBudget(state, definition, timeMs, true, (insight) => said.push(insight))
    }
    expect(said.map(({ complete }) => complete)).toEqual([false, false, false, false, false, false, true, false])
    const week = said[6]!
    expect(week).toMatchObject({ signals: 2, unexplained: 2, suggestions: 0, fromMs: START_MS })
    expect(week.productionHours).toBeCloseTo(168, 0)
    expect(week.expectedSignals).toBeCloseTo((1008 * 10) / 5000, 1)
    expect(week.expectedSuggestions).toBeCloseTo((0.05 * 168) / 80, 2)
    expect(said[7]).toMatchObject({ signals: 0, total: { unexplained: 2 } })
    expect(week.total.verdict).toBe('undecided')
  })

  it('counts a signal as explained by a suggestion that rests on it, or by work in its place', () => {
    const state = createBudgetState()
    const said: BudgetInsight[] = []
    stepBudget(state, definition, START_MS, true, () => undefined)
    for (let signal = 0; signal < 3; signal += 1) countSignal(state, { ...spec, feature: `f${signal}`, ...(signal === 2 ? { section: 'transport' as const } : {}) }, START_MS)
    countSuggestion(state, { features: ['f0'], status: 'open', raisedMs: START_MS, history: [{ timeMs: START_MS, status: 'open' }] } as never, START_MS)
    explainByRecord(state, { id: 'r', timeMs: START_MS, section: 'pot', work: 'skim-dross' })
    stepBudget(state, definition, START_MS + DAY, true, (insight) => said.push(insight))
    expect(said[0]).toMatchObject({ signals: 3, suggestions: 1, unexplained: 1 })
  })

  it('takes results that come late for no new week', () => {
    const state = createBudgetState()
    stepBudget(state, definition, START_MS, true, () => undefined)
    stepBudget(state, definition, START_MS + HOUR, true, () => undefined)
    stepBudget(state, definition, START_MS + HOUR / 2, true, () => undefined)
    expect(state.fromMs).toBe(START_MS)
    stepBudget(state, definition, START_MS - 3 * DAY, true, () => undefined)
    expect(state.fromMs).toBe(START_MS - 3 * DAY)
  })
})

describe('result and effort of a zone', () => {
  const definition = define({ machine: { zones: [{}, {}, {}] }, channels: [1, 2, 3].flatMap((zone) => [`preheat.zone-${zone}.temperature`, `preheat.zone-${zone}.setpoint`, `preheat.zone-${zone}.duty`]).map((channel) => ({ channel, periodS: 10 })) })
  const loops = controlLoops(featureCatalogue(definition))
  const quiet = (feature: string): FeatureEvidence => ({ feature, status: 'quiet', shiftSigma: 0, shift: 0, centre: 40, onsetMs: 0, windows: 0, trend: 'steady' })
  const up = (feature: string): FeatureEvidence => ({ feature, status: 'up', shiftSigma: 6, shift: 4, centre: 36, onsetMs: START_MS, windows: 9, trend: 'growing' })

  function verdicts(evidence: readonly FeatureEvidence[], dutyPercent = 50): EffortInsight[] {
    const state = createLoopState()
    const said: EffortInsight[] = []
    const byFeature = new Map(evidence.map((item) => [item.feature, item]))
    for (let reading = 0; reading < 500; reading += 1) noteDuty(state, dutyPercent)
    for (let hour = 1; hour <= 26; hour += 1) {
      stepLoop(state, loops[0]!, { timeMs: START_MS + hour * HOUR, passedMs: 0, recipe: 'a', recipeSinceMs: START_MS - DAY, evidenceOf: (feature) => byFeature.get(feature), otherLoops: loops, isFrozen: () => false }, (insight) => said.push(insight))
    }
    return said
  }

  it('finds the three zones', () => {
    expect(loops.map(({ zone }) => zone)).toEqual([1, 2, 3])
  })

  it('says "effort up, result same" once, and again after a day', () => {
    const said = verdicts([quiet(loops[0]!.result), up(loops[0]!.effort), quiet(loops[1]!.effort), quiet(loops[2]!.effort)])
    expect(said.map(({ verdict }) => verdict)).toEqual(['effort-up-result-same', 'effort-up-result-same'])
    // 10 % less effect make 11 % more effort
    expect(said[0]!.effectLossShare).toBeCloseTo(0.1, 6)
  })

  it('blames no zone where the neighbours moved too', () => {
    expect(verdicts([quiet(loops[0]!.result), up(loops[0]!.effort), up(loops[1]!.effort), quiet(loops[2]!.effort)])[0]!.verdict).toBe('common-cause')
  })

  it('is urgent where the heater is at its stop and the zone off', () => {
    const [said] = verdicts([up(loops[0]!.result), up(loops[0]!.effort), quiet(loops[1]!.effort), quiet(loops[2]!.effort)], 99)
    expect(said).toMatchObject({ verdict: 'capacity-exhausted', saturatedShare: 1 })
  })

  it('has no verdict on half a pair', () => {
    expect(verdicts([up(loops[0]!.effort)])).toEqual([])
    expect(verdicts([quiet(loops[0]!.result), quiet(loops[0]!.effort)])).toEqual([])
  })
})

describe('insights of a line', () => {
  it('follow a signal, come again after a day, and go on exactly from their text', { timeout: 60_000 }, () => {
    const step = (minute: number) => ({ custom: 60 + spreadAt(minute) + (minute >= 2600 ? 8 : 0) })
    const whole = new MonitorBench(define({ channels: [{ channel: 'custom.temperature', periodS: 60 }, { channel: 'line.state', latenessS: 10 }], featureLimits: { 'custom.temperature.value': { action: { upper: 90 } } } }))
    const cut = new MonitorBench(whole.definition)
    whole.run(0, 4150, step)
    cut.run(0, 3000, step).restart().run(3000, 4150, step)
    const drifts = whole.of('insight').filter((insight) => insight.type === 'drift')
    expect(drifts[0]).toMatchObject({ phase: 'start', feature: 'custom.temperature.value', limit: 90, limitSource: 'definition' })
    expect(drifts.some(({ phase }) => phase === 'standing')).toBe(true)
    const standing = drifts.find(({ phase }) => phase === 'standing')!
    expect(standing.shape).toBe('step')
    expect(Math.abs(standing.onsetMs - (START_MS + 2600 * 60_000))).toBeLessThan(3 * HOUR)
    // a signal stands before its insight
    const first = whole.outputs.findIndex((output) => output.kind === 'insight' && output.body.type === 'drift')
    expect(whole.outputs[first - 1]).toMatchObject({ kind: 'signal', body: { feature: 'custom.temperature.value', phase: 'start' } })
    expect(cut.of('insight')).toEqual(whole.of('insight'))
    expect(whole.of('insight').some(({ type }) => type === 'budget')).toBe(true)
  })

  it('supplementary rules come only where the line asks for them', { timeout: 60_000 }, () => {
    const channels = [{ channel: 'custom.temperature', periodS: 60 }, { channel: 'line.state', latenessS: 10 }]
    const stepped = (minute: number) => ({ custom: 60 + spreadAt(minute) + (minute >= 300 ? 6 : 0) })
    const without = new MonitorBench(define({ channels })).run(0, 400, stepped)
    const asked = new MonitorBench(define({ channels, rules: { supplementary: ['nine-on-one-side', 'too-quiet'] } })).run(0, 400, stepped)
    const names = (bench: MonitorBench) => new Set(bench.of('rule-hit').map(({ rule }) => rule as string))
    expect([...names(without)].filter((name) => name === 'nine-on-one-side' || name === 'too-quiet')).toEqual([])
    expect(names(asked).has('nine-on-one-side')).toBe(true)
    expect(names(asked).has('alternation')).toBe(false)
    const hit = asked.of('rule-hit').find(({ rule, side }) => rule === 'nine-on-one-side' && side === 'above')!
    expect(hit.pointTimesMs).toHaveLength(9)
    expect(asked.of('signal')).toEqual(without.of('signal'))
  })

  it('a rule hit is one episode: it ends once, after its hit, and only then comes the next', { timeout: 60_000 }, () => {
    const channels = [{ channel: 'custom.temperature', periodS: 60 }, { channel: 'line.state', latenessS: 10 }]
    const bench = new MonitorBench(define({ channels, rules: { supplementary: ['nine-on-one-side'] } })).run(0, 500, (minute) => ({ custom: 60 + spreadAt(minute) + (minute % 120 >= 100 ? 3 : 0) }))
    const open = new Map<string, number>()
    let ended = 0
    const rules = new Set<string>()
    for (const { kind, body } of bench.outputs) {
      if (kind !== 'rule-hit' && kind !== 'rule-end') continue
      const episode = `${body.feature} ${body.recipe} ${body.chart} ${body.rule} ${body.side}`
      if (kind === 'rule-hit') {
        expect(open.has(episode), episode).toBe(false)
        open.set(episode, body.timeMs)
        continue
      }
      expect(open.get(episode), episode).toBeLessThan(body.timeMs)
      open.delete(episode)
      rules.add(body.rule)
      ended += 1
    }
    expect(ended).toBeGreaterThan(5)
    expect([...rules]).toEqual(expect.arrayContaining(['eight-on-one-side', 'nine-on-one-side']))
  })
})
