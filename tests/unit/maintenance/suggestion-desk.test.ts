import { describe, expect, it } from 'vitest'
import { DECLINE_REASONS, PUT_OFF_MS_MAX } from '../../../src/maintenance/suggestion-replies.js'
import { createSuggestionDesk } from '../../../src/maintenance/suggestion-desk.js'
import { suggestionId } from '../../../src/maintenance/suggestion-id.js'
import type { Diagnosis, FeatureEvidence } from '../../../src/line/diagnosis.js'
import type { LineDefinition } from '../../../src/line/line-definition.js'
import { diagnoseMoves, evidenceOf, MINIMUM_CHANNELS, MINIMUM_LINE, RICH_LINE, definitionOf } from '../line/diagnosis/diagnosis-cases.js'
import { DeskBench, HOUR_MS, START_MS } from './desk-bench.js'

const DRAG = { 'conveyor.speed.spread': 3 }
const LOW = { 'pot.level.offset': -5 }

describe('raising', () => {
  it('one feature: not at once, but after it stood three windows and an hour and a half', () => {
    const bench = new DeskBench(MINIMUM_LINE).run(1, DRAG)
    expect(bench.desk.open()).toEqual([])
    bench.run(1.5, DRAG)
    const suggestion = bench.only()
    expect(suggestion).toMatchObject({ line: 'line-a', section: 'transport', status: 'open', abstains: false })
    expect(suggestion.causes[0]!.cause).toBe('transport-drag')
    expect(suggestion.work).toEqual(['clean-rails', 'clean-chain', 'lubricate-chain'])
    expect(suggestion.cautions).toContain('pinch-points')
    expect(suggestion.invisible).toContain('clogged-nozzle')
    expect(bench.emitted).toHaveLength(1)
  })

  it('two independent features: sooner', () => {
    const one = new DeskBench(RICH_LINE).run(0.7, { 'conveyor.current.warm': 3 })
    const two = new DeskBench(RICH_LINE).run(0.7, { 'conveyor.current.warm': 3, 'conveyor.current.spread': 3 })
    expect(one.desk.open()).toHaveLength(0)
    expect(two.desk.open()).toHaveLength(1)
  })

  it('stronger: sooner; a flicker: never', () => {
    const raisedAfter = (sigma: number): number => {
      const bench = new DeskBench(MINIMUM_LINE)
      while (bench.desk.open().length === 0) bench.look({ 'conveyor.speed.spread': sigma })
      return (bench.timeMs - START_MS) / HOUR_MS
    }
    expect(raisedAfter(6)).toBeLessThan(raisedAfter(3))
    expect(raisedAfter(3)).toBeLessThanOrEqual(raisedAfter(1.5))
    const flicker = new DeskBench(MINIMUM_LINE)
    for (let times = 0; times < 30; times += 1) flicker.run(0.34, DRAG).run(2, {})
    expect(flicker.emitted).toEqual([])
  })

  it('what stands out at one start-up, a zone that is slow or a chain that jumps, is not left to the next morning', () => {
    const toldAfterOne = (feature: string, sigma: number): number => {
      const bench = new DeskBench(MINIMUM_LINE)
      for (let look = 0; look < 12; look += 1) {
        bench.timeMs += HOUR_MS / 6
        bench.consider(diagnoseMoves(MINIMUM_LINE, {}, { evidence: evidenceOf(MINIMUM_LINE, { [feature]: sigma }, { windows: 1 }), timeMs: bench.timeMs }))
      }
      return bench.desk.open().length
    }
    for (const feature of ['preheat.zone-2.warm-up-time', 'conveyor.speed.cold-jumps']) {
      expect([toldAfterOne(feature, 4.6), toldAfterOne(feature, 4.4)], feature).toEqual([1, 0])
    }
    expect(toldAfterOne('conveyor.speed.spread', 6)).toBe(0)
  })

  it('a tighter budget for suggestions asks for more windows', () => {
    const tight = definitionOf({ channels: MINIMUM_CHANNELS, budget: { falseSignalsPerWeek: 5, falseSuggestionsPerWeek: 0.01 } })
    const windowsOf = (bench: DeskBench): number => {
      while (bench.desk.open().length === 0) bench.look({ 'conveyor.speed.spread': 5 })
      return (bench.timeMs - START_MS) / 600_000
    }
    expect(windowsOf(new DeskBench(tight))).toBeGreaterThan(windowsOf(new DeskBench(MINIMUM_LINE)))
  })

  it('the heat or swing of one zone alone, as boards and doors make it: only when clear, and past the hours they last', () => {
    const effort = 'preheat.zone-2.duty.effort-own'
    const tenth = { centre: 5 }
    expect(new DeskBench(RICH_LINE).run(5.5, { [effort]: 5 }, 'production', tenth).emitted).toEqual([])
    expect(new DeskBench(RICH_LINE).run(6.5, { [effort]: 5 }, 'production', tenth).only()).toMatchObject({ section: 'preheat', zone: 2 })
    expect(new DeskBench(RICH_LINE).run(20, { [effort]: 2.4 }, 'production', tenth).emitted).toEqual([])
    // what is more than an eighth does not pass
    expect(new DeskBench(RICH_LINE).run(2, { [effort]: 5 }, 'production', { centre: 3.9 }).desk.open()).toHaveLength(1)
    expect(new DeskBench(RICH_LINE).run(2, { [effort]: 5, 'preheat.zone-2.blower-current.mean': -4 }).desk.open()).toHaveLength(1)
  })

  it('a look some minutes back, as late channels bring it, is no time of its own', () => {
    const effort = { 'preheat.zone-2.duty.effort-own': 5 }
    const lookBack = (bench: DeskBench, diagnoses: Parameters<DeskBench['consider']>[0]): void => {
      bench.timeMs -= 8 * 60_000
      bench.consider(diagnoses)
      bench.timeMs += 8 * 60_000
    }
    const suspected = new DeskBench(RICH_LINE)
    const seen = diagnoseMoves(RICH_LINE, {}, { evidence: evidenceOf(RICH_LINE, effort, { centre: 5, windows: 1 }), timeMs: suspected.timeMs })
    for (let looks = 0; looks < 33; looks += 1) {
      suspected.look(effort, 'production', { centre: 5 })
      lookBack(suspected, seen)
    }
    expect(suspected.emitted).toEqual([])
    suspected.run(1, effort, 'production', { centre: 5 })
    expect(suspected.desk.open()).toHaveLength(1)
    // nor does it wear out a suggestion
    for (let looks = 0; looks < 42; looks += 1) {
      suspected.timeMs += 600_000
      suspected.consider([])
      lookBack(suspected, [])
    }
    expect(suspected.desk.open()).toHaveLength(1)
    suspected.run(1.2, {})
    expect(suspected.desk.open()).toHaveLength(0)
  })

  it('one kind of defect that could be this or that is left to those who count them, kinds that point to one thing are told after two hours and a quarter', () => {
    const sure = { trend: 'steady', allKindsErrors: 6 } as const
    const skips = { 'board.defects.skip.count': 3.2 }
    expect(new DeskBench(RICH_LINE).run(40, skips, 'production', { ...sure, allKindsErrors: 5.5 }).emitted).toEqual([])
    const both = { ...skips, 'board.defects.bridge.count': 2.5 }
    expect(new DeskBench(RICH_LINE).run(2, both, 'production', sure).emitted).toEqual([])
    expect(new DeskBench(RICH_LINE).run(3, both, 'production', sure).desk.open()).toHaveLength(1)
  })

  it('what could be this or that is told after four hours and a half where it stands very far above its level, and one kind clearly', () => {
    const after = (hours: number, allKindsErrors: number, sigma: number): number => new DeskBench(RICH_LINE).run(hours, { 'board.defects.skip.count': sigma }, 'production', { trend: 'steady', allKindsErrors }).desk.open().length
    expect([after(4, 6.5, 3.2), after(6, 6.5, 3.2), after(6, 5.5, 3.2), after(6, 6.5, 1.1)]).toEqual([0, 1, 0, 0])
  })

  it('defects alone are told only where all kinds together stand far above their levels, however far one of them does', () => {
    const both = { 'board.defects.skip.count': 9, 'board.defects.bridge.count': 5 }
    expect(new DeskBench(RICH_LINE).run(40, both, 'production', { trend: 'steady', allKindsErrors: 4.9 }).emitted).toEqual([])
    expect(new DeskBench(RICH_LINE).run(40, both, 'production', { trend: 'steady' }).emitted).toEqual([])
  })

  it('kinds of defects that stood as they are for days are what the boards are like', () => {
    const both = { 'board.defects.skip.count': 4, 'board.defects.bridge.count': 3 }
    const bench = new DeskBench(RICH_LINE)
    // The charts have known of them for long when the desk first hears of them.
    for (let looks = 0; looks < 60; looks += 1) bench.look(both, 'changeover', { trend: 'steady', allKindsErrors: 6 })
    expect(bench.run(10, both, 'production', { trend: 'steady', allKindsErrors: 6 }).emitted).toEqual([])
    expect(bench.run(6, both, 'production', { trend: 'growing', allKindsErrors: 6 }).desk.open()).toHaveLength(1)
  })

  it('counts that are silent while another product runs are waited for, a channel is not', () => {
    const both = { 'board.defects.skip.count': 3, 'board.defects.bridge.count': 2.5 }
    const sure = { trend: 'steady', allKindsErrors: 6 } as const
    expect(new DeskBench(RICH_LINE).run(2, both, 'production', sure).run(2, {}).run(2, both, 'production', sure).desk.open()).toHaveLength(1)
    expect(new DeskBench(RICH_LINE).run(1, { 'conveyor.current.warm': 3 }).run(2, {}).run(1, { 'conveyor.current.warm': 3 }).emitted).toEqual([])
  })

  it('a filter told by the exhaust must have drifted on for most of a shift', () => {
    const exhaust = { 'exhaust.pressure.mean': 8 }
    const drifting = { centre: -120, shift: 36, trend: 'growing', creeps: true } as const
    expect(new DeskBench(RICH_LINE).run(4, exhaust, 'production', drifting).emitted).toEqual([])
    expect(new DeskBench(RICH_LINE).run(5, exhaust, 'production', drifting).only().causes[0]!.cause).toBe('saturated-filter')
    expect(new DeskBench(RICH_LINE).run(40, exhaust, 'production', { ...drifting, creeps: false }).emitted).toEqual([])
    // a fifth of the pressure is what the house and the weather do
    expect(new DeskBench(RICH_LINE).run(40, exhaust, 'production', { ...drifting, shift: 24 }).emitted).toEqual([])
  })

  it('boards that are colder by a step, and nothing else: never; colder and colder: after a while', () => {
    const cold = { 'board.topside-temperature.mean': -5 }
    expect(new DeskBench(RICH_LINE).run(30, cold, 'production', { trend: 'steady', creeps: false }).emitted).toEqual([])
    expect(new DeskBench(RICH_LINE).run(1, cold, 'production', { trend: 'growing', creeps: true }).emitted).toEqual([])
    expect(new DeskBench(RICH_LINE).run(2, cold, 'production', { trend: 'growing', creeps: true }).desk.open()).toHaveLength(1)
    // what grows is told when it has stood for most of a shift, or is already two degrees off
    const somewhat = { 'board.topside-temperature.mean': -3.5 }
    expect(new DeskBench(RICH_LINE).run(5.5, somewhat, 'production', { trend: 'growing', creeps: false }).emitted).toEqual([])
    expect(new DeskBench(RICH_LINE).run(7, somewhat, 'production', { trend: 'growing', creeps: false }).desk.open()).toHaveLength(1)
    expect(new DeskBench(RICH_LINE).run(1, cold, 'production', { trend: 'growing', creeps: false }).emitted).toEqual([])
    expect(new DeskBench(RICH_LINE).run(2, cold, 'production', { trend: 'growing', creeps: false }).desk.open()).toHaveLength(1)
  })

  it('a zone that stands colder, where set-points are not published, must get colder and colder: the swing of going over to another set-point is no second sign', () => {
    const told = (swing: Partial<FeatureEvidence>, offset: Partial<FeatureEvidence> = {}): number => {
      const bench = new DeskBench(MINIMUM_LINE)
      for (let look = 1; look <= 60; look += 1) {
        bench.timeMs += HOUR_MS / 6
        const evidence = evidenceOf(MINIMUM_LINE, { 'preheat.zone-2.temperature.offset': -6, 'preheat.zone-2.temperature.slow-own': 4 }).map((item) =>
          item.status === 'quiet' ? item : { ...item, windows: look, ...(item.feature.endsWith('.offset') ? offset : { windows: Math.ceil(look / 6), ...swing }) })
        bench.consider(diagnoseMoves(MINIMUM_LINE, {}, { evidence, timeMs: bench.timeMs }))
      }
      return bench.desk.open().length
    }
    expect(told({ windows: 2 })).toBe(0)
    expect(told({ windows: 2 }, { creeps: false })).toBe(0)
    expect(told({ windows: 2 }, { creeps: true })).toBe(1)
    // a zone that goes on swinging was not set to another value, and one that swings more and more was not either
    expect(told({})).toBe(1)
    expect(told({ windows: 2, creeps: true })).toBe(1)
  })

  it('a zone that swings more and does nothing else must do so for a shift and a half, or more and more', () => {
    const swing = { 'preheat.zone-2.temperature.slow-own': 5 }
    expect(new DeskBench(RICH_LINE).run(11.5, swing, 'production', { trend: 'steady', creeps: false }).emitted).toEqual([])
    expect(new DeskBench(RICH_LINE).run(12.5, swing, 'production', { trend: 'steady', creeps: false }).desk.open()).toHaveLength(1)
    expect(new DeskBench(RICH_LINE).run(7, swing, 'production', { trend: 'growing', creeps: true }).desk.open()).toHaveLength(1)
  })

  it('effort of the pot that no fault explains sends nobody; one that goes with another channel may', () => {
    const unexplained = { ...diagnoseMoves(RICH_LINE, {}, { evidence: evidenceOf(RICH_LINE, { 'pot.duty.effort': 6 }, { windows: 12, trend: 'growing', creeps: true }) })[0]! }
    const unnamed = (features: readonly string[]): Diagnosis => ({ ...unexplained, features, causes: [{ cause: 'none-of-these', kind: 'none-of-these', section: 'pot', probability: 0.7 }, { cause: 'drifting-pot-probe', kind: 'fault', section: 'pot', probability: 0.3 }], abstains: true, abstainReason: 'none-of-these-leads' })
    const told = (diagnosis: Diagnosis): number => {
      const bench = new DeskBench(RICH_LINE)
      // a window of every feature closes with each look
      for (let looks = 0; looks < 80; looks += 1) {
        const evidence = diagnosis.evidence.map((item) => ({ ...item, values: { ...item.values, windows: looks + 5 } }))
        bench.timeMs += 600_000
        bench.consider([{ ...diagnosis, evidence, timeMs: bench.timeMs }])
      }
      return bench.desk.open().length
    }
    expect(told(unnamed(['pot.duty.effort']))).toBe(0)
    const other = { ...unexplained.evidence.find(({ feature }) => feature === 'pot.duty.effort')!, feature: 'pot.temperature.offset' }
    expect(told({ ...unnamed(['pot.duty.effort', 'pot.temperature.offset']), evidence: [...unexplained.evidence, { ...other, values: { ...other.values, mechanism: 'pot-temperature' } }] })).toBe(1)
  })

  it('an effort of one zone alone must have moved by some hundredths of itself; with boards as cold as it says it needs no more', () => {
    const effort = { 'preheat.zone-2.duty.effort-own': 5 }
    // half a unit of forty, of nine and of seven and a half
    for (const centre of [40, 9]) expect(new DeskBench(RICH_LINE).run(20, effort, 'production', { centre }).emitted).toEqual([])
    expect(new DeskBench(RICH_LINE).run(20, effort, 'production', { centre: 7.5 }).desk.open()).toHaveLength(1)
    expect(new DeskBench(RICH_LINE).run(2, { ...effort, 'board.topside-temperature.mean': -4 }, 'production', { centre: 40 }).only()).toMatchObject({ section: 'preheat', zone: 2 })
  })

  it('an effort of a zone whose emitters heat the boards themselves must have moved by a tenth', () => {
    const radiant = definitionOf({ machine: { zones: [1, 2, 3].map(() => ({ kind: 'radiant' as const, thermocouple: 'board-air' as const })) } })
    const told = (line: LineDefinition, centre: number): number => new DeskBench(line).run(20, { 'preheat.zone-2.duty.effort-own': -5 }, 'production', { centre }).desk.open().length
    // half a unit of six and a quarter, and of four and a half
    expect([told(RICH_LINE, 6.25), told(radiant, 6.25), told(radiant, 4.5)]).toEqual([1, 0, 1])
  })

  it('what speaks against the cause in the lead is no second sign of it', () => {
    const zone = (more: Readonly<Record<string, number>>): DeskBench => new DeskBench(RICH_LINE).run(4, { 'preheat.zone-1.duty.effort-own': 5, ...more }, 'production', { centre: 14 })
    const bench = zone({ 'preheat.zone-1.warm-up-overshoot': 2 })
    const diagnosis = diagnoseMoves(RICH_LINE, {}, { evidence: evidenceOf(RICH_LINE, { 'preheat.zone-1.duty.effort-own': 5, 'preheat.zone-1.warm-up-overshoot': 2 }, { centre: 14 }) })[0]!
    const stanceOf = (name: string): string | undefined => diagnosis.evidence.find(({ feature, key }) => feature === name && key === 'evidence.up')?.stance
    expect([diagnosis.causes[0]!.cause, stanceOf('preheat.zone-1.duty.effort-own'), stanceOf('preheat.zone-1.warm-up-overshoot')]).toEqual(['zone-weak', 'for', 'against'])
    expect(bench.emitted).toEqual([])
    // one that the cause makes as well is
    expect(zone({ 'preheat.zone-1.warm-up-time': 2 }).desk.open()).toHaveLength(1)
  })

  it('blames nothing seen in warm-up, changeover, idle or run-in', () => {
    for (const state of ['warm-up', 'changeover', 'idle', 'run-in', 'maintenance', 'settling', 'off'] as const) {
      expect(new DeskBench(MINIMUM_LINE).run(12, DRAG, state).emitted).toEqual([])
    }
  })

  it('is quiet on benign causes, however long they last', () => {
    const together = { 'preheat.common-movement': 5, 'preheat.zone-1.temperature.slow': 4, 'preheat.zone-2.temperature.slow': 4, 'preheat.zone-3.temperature.slow': 4 }
    expect(new DeskBench(MINIMUM_LINE).run(48, together).emitted).toEqual([])
  })

  it('is quiet on changes for the better', () => {
    expect(new DeskBench(MINIMUM_LINE).run(48, { 'conveyor.speed.spread': -6, 'preheat.zone-1.warm-up-time': -6 }).emitted).toEqual([])
  })

  it('what nothing explains: a look at the section, only when strong and after hours', () => {
    const odd = { 'fluxer.flow.spread': 6, 'fluxer.pressure.mean': 6, 'fluxer.pressure.spread': 6, 'fluxer.flux-per-board': 6 }
    const bench = new DeskBench(RICH_LINE).run(4, odd)
    expect(bench.emitted).toEqual([])
    bench.run(4, odd)
    const suggestion = bench.only()
    expect(suggestion).toMatchObject({ section: 'fluxer', abstains: true, urgency: 'plan', work: [] })
    expect(suggestion.causes[0]!.cause).toBe('none-of-these')
    expect(suggestion.cautions.length).toBeGreaterThan(1)
    expect(new DeskBench(RICH_LINE).run(12, Object.fromEntries(Object.keys(odd).map((feature) => [feature, 2.5]))).emitted).toEqual([])
  })

  it('low level with the pump running is urgent, else soon', () => {
    const at = (shift: number): string => new DeskBench(MINIMUM_LINE).run(3, LOW, 'production', { shift, centre: 0 }).only().urgency
    expect(at(-6)).toBe('soon')
    expect(at(-11)).toBe('urgent')
  })

  it('two faults in two places: two suggestions', () => {
    const bench = new DeskBench(MINIMUM_LINE).run(3, { ...DRAG, ...LOW })
    expect(bench.desk.open().map((suggestion) => suggestion.section).sort()).toEqual(['pot', 'transport'])
  })

  it('the same history gives the same ids', () => {
    const ids = (): string[] => new DeskBench(MINIMUM_LINE).run(3, { ...DRAG, ...LOW }).emitted.map((suggestion) => suggestion.id)
    expect(ids()).toEqual(ids())
    expect(new Set(ids()).size).toBe(2)
    expect(suggestionId('line-a', 'low-level', undefined, 1)).not.toBe(suggestionId('line-a', 'low-level', 1, 1))
    expect(suggestionId('line-a', 'low-level', undefined, 1)).toMatch(/^s-[0-9a-z]{13}$/)
  })
})

describe('an open suggestion', () => {
  it('is the only one of its trouble and is said again only when it says something new', () => {
    const bench = new DeskBench(RICH_LINE).run(30, { 'conveyor.current.warm': 3, 'conveyor.current.spread': 3 })
    expect(bench.emitted).toHaveLength(1)
    bench.run(4, { 'conveyor.current.warm': 3, 'conveyor.current.spread': 5, 'conveyor.speed.spread': 5, 'conveyor.speed.jumps': 5, 'conveyor.speed.loop-line': 4 })
    expect(bench.desk.open()).toHaveLength(1)
    expect(bench.emitted.length).toBeGreaterThan(1)
    expect(bench.emitted.length).toBeLessThan(4)
    expect(bench.only().id).toBe(bench.emitted[0]!.id)
    expect(bench.only().causes[0]!.cause).toBe('dirty-chain')
    expect(bench.only().raisedMs).toBe(bench.emitted[0]!.raisedMs)
  })

  it('is withdrawn when its symptoms are long gone, but not one somebody has taken', () => {
    const open = new DeskBench(MINIMUM_LINE).run(3, DRAG).run(7, {})
    expect(open.only().status).toBe('open')
    open.run(2, {})
    expect(open.desk.open()).toEqual([])
    expect(open.emitted.at(-1)).toMatchObject({ status: 'withdrawn' })
    const taken = new DeskBench(MINIMUM_LINE).run(3, DRAG)
    taken.reply({ suggestion: taken.only().id, action: 'take', by: 'shift 1' })
    expect(taken.run(20, {}).only().status).toBe('taken')
  })

  it('time without production does not withdraw it', () => {
    const bench = new DeskBench(MINIMUM_LINE).run(3, DRAG)
    bench.timeMs += 60 * HOUR_MS
    expect(bench.run(2, {}).only().status).toBe('open')
  })
})

describe('replies', () => {
  it('sent twice under one id count once; under another id they are judged anew', () => {
    const bench = new DeskBench(MINIMUM_LINE).run(3, DRAG)
    const take = { suggestion: bench.only().id, action: 'take', id: 'r-1' } as const
    expect(bench.reply(take)).toEqual({ kind: 'accepted' })
    const emitted = bench.emitted.length
    expect(bench.reply(take)).toEqual({ kind: 'repeated' })
    expect(bench.emitted).toHaveLength(emitted)
    expect(bench.reply({ ...take, id: 'r-2' })).toEqual({ kind: 'refused', reason: 'already-taken' })
  })

  const raised = (): DeskBench => new DeskBench(MINIMUM_LINE).run(3, DRAG)

  it('put off wakes up at its time, also in a stop', () => {
    const bench = raised()
    const untilMs = bench.timeMs + 5 * HOUR_MS
    expect(bench.reply({ suggestion: bench.only().id, action: 'put-off', reason: 'parts-missing', untilMs })).toEqual({ kind: 'accepted' })
    bench.run(4, DRAG)
    expect(bench.only().status).toBe('put-off')
    bench.run(1.2, {}, 'idle')
    expect(bench.only()).toMatchObject({ status: 'open' })
    expect(bench.only().history.map((change) => change.status)).toEqual(['open', 'put-off', 'open'])
  })

  it('declined is not raised again for the same trouble, but for a new one', () => {
    const bench = raised()
    bench.reply({ suggestion: bench.only().id, action: 'decline', reason: 'changed-on-purpose' })
    bench.run(72, DRAG)
    expect(bench.desk.open()).toEqual([])
    bench.run(6, {}).run(3, DRAG)
    expect(bench.only().id).not.toBe(bench.emitted[0]!.id)
  })

  it('done and cured stays closed; done and not cured is raised again after the run-in and its windows', () => {
    const cured = raised()
    cured.reply({ suggestion: cured.only().id, action: 'done', found: 'confirmed' })
    expect(cured.run(30, {}).desk.open()).toEqual([])
    const notCured = raised()
    notCured.reply({ suggestion: notCured.only().id, action: 'done' })
    expect(notCured.run(7, DRAG).desk.open()).toEqual([])
    expect(notCured.run(6, DRAG).desk.open()).toHaveLength(1)
  })

  it('withdrawn or declined trouble that grows by a step: withdrawn comes back', () => {
    const bench = raised().run(9, {})
    expect(bench.emitted.at(-1)!.status).toBe('withdrawn')
    expect(bench.run(3, { 'conveyor.speed.spread': 6 }).desk.open()).toHaveLength(1)
  })

  it('refuses what cannot be, and says why', () => {
    const bench = raised()
    const { id } = bench.only()
    const why = (reply: object): unknown => bench.reply({ suggestion: id, action: 'take', ...reply })
    expect(why({ suggestion: 's-none' })).toEqual({ kind: 'refused', reason: 'unknown-suggestion' })
    expect(why({ action: 'burn' })).toEqual({ kind: 'refused', reason: 'unknown-action' })
    expect(why({ action: 'toString' })).toEqual({ kind: 'refused', reason: 'unknown-action' })
    expect(why({ action: 'put-off', untilMs: bench.timeMs + 1 })).toEqual({ kind: 'refused', reason: 'reason-missing' })
    expect(why({ action: 'put-off', reason: 'lazy', untilMs: bench.timeMs + 1 })).toEqual({ kind: 'refused', reason: 'unknown-reason' })
    expect(why({ action: 'put-off', reason: 'other' })).toEqual({ kind: 'refused', reason: 'until-missing' })
    expect(why({ action: 'put-off', reason: 'other', untilMs: bench.timeMs })).toEqual({ kind: 'refused', reason: 'until-in-the-past' })
    expect(why({ action: 'put-off', reason: 'other', untilMs: bench.timeMs + PUT_OFF_MS_MAX + 1 })).toEqual({ kind: 'refused', reason: 'until-too-far' })
    expect(why({ action: 'decline' })).toEqual({ kind: 'refused', reason: 'reason-missing' })
    expect(why({ action: 'take', found: 'confirmed' })).toEqual({ kind: 'refused', reason: 'found-before-done' })
    expect(bench.only().status).toBe('open')
    expect(why({})).toEqual({ kind: 'accepted' })
    expect(why({})).toEqual({ kind: 'refused', reason: 'already-taken' })
    expect(why({ action: 'done' })).toEqual({ kind: 'accepted' })
    expect(why({ action: 'decline', reason: DECLINE_REASONS[0] })).toEqual({ kind: 'refused', reason: 'already-closed' })
  })

  it('feedback is counted by cause', () => {
    const bench = new DeskBench(MINIMUM_LINE).run(3, LOW)
    bench.reply({ suggestion: bench.only().id, action: 'done', found: 'confirmed' })
    expect(bench.desk.feedback()['low-level']).toMatchObject({ confirmed: 1, somethingElse: 0, nothingFound: 0, features: { 'pot.level.offset': { up: 0, down: 1, quiet: 0 }, 'pot.level.slope': { up: 0, down: 0, quiet: 1 } } })
    const clean = raised()
    clean.reply({ suggestion: clean.only().id, action: 'decline', reason: 'checked-and-clean' })
    expect(clean.desk.feedback()['transport-drag']).toMatchObject({ confirmed: 0, nothingFound: 1 })
  })
})

describe('records', () => {
  it('of work that was done before it began do not answer a suggestion, however late they come', () => {
    const bench = new DeskBench(MINIMUM_LINE).run(3, LOW)
    const { onsetMs } = bench.only()
    bench.record('top-up-pot', { section: 'pot', timeMs: onsetMs - 1 })
    expect(bench.only().status).toBe('open')
    bench.record('top-up-pot', { section: 'pot', timeMs: onsetMs })
    expect(bench.desk.open()).toEqual([])
  })

  it('a washed chain is half done until it is lubricated', () => {
    const bench = new DeskBench(MINIMUM_LINE).run(3, DRAG)
    bench.record('clean-chain', { finding: 3, by: 'technician' })
    expect(bench.only()).toMatchObject({ status: 'taken' })
    expect(bench.reply({ suggestion: bench.only().id, action: 'done' })).toEqual({ kind: 'refused', reason: 'follow-up-missing' })
    bench.record('lubricate-chain', { finding: 3 })
    expect(bench.desk.open()).toEqual([])
    expect(bench.emitted.at(-1)).toMatchObject({ status: 'done' })
    expect(bench.desk.feedback()['transport-drag']).toMatchObject({ confirmed: 1 })
  })

  it('closes what it names, or what it answers in its place, and nothing else', () => {
    const bench = new DeskBench(MINIMUM_LINE).run(3, { ...DRAG, ...LOW })
    bench.record('top-up-pot', { section: 'fluxer' })
    expect(bench.desk.open()).toHaveLength(2)
    bench.record('top-up-pot', { section: 'pot' })
    expect(bench.only().section).toBe('transport')
    bench.record('gauge-everything', { suggestion: bench.only().id })
    expect(bench.desk.open()).toEqual([])
  })

  it('a finding of 0 says it was clean, 1 says nothing', () => {
    const finding = (value: number): unknown => {
      const bench = new DeskBench(MINIMUM_LINE).run(3, LOW)
      bench.record('top-up-pot', { section: 'pot', finding: value })
      return bench.desk.feedback()['low-level']
    }
    expect(finding(0)).toMatchObject({ nothingFound: 1, confirmed: 0 })
    expect(finding(1)).toBeUndefined()
  })
})

describe('state', () => {
  it('goes on exactly from a snapshot through JSON, at any moment', () => {
    const moves = [DRAG, {}, { ...DRAG, ...LOW }, LOW, {}]
    const straight = new DeskBench(MINIMUM_LINE)
    const broken = new DeskBench(MINIMUM_LINE)
    for (const moved of moves) {
      straight.run(2, moved)
      for (let half = 0; half < 4; half += 1) broken.run(0.5, moved).restart()
    }
    expect(broken.emitted).toEqual(straight.emitted)
    expect(broken.desk.snapshot()).toEqual(straight.desk.snapshot())
  })

  it('a snapshot does not change with the desk, and one of another version is refused', () => {
    const bench = new DeskBench(MINIMUM_LINE).run(1, DRAG)
    const snapshot = JSON.stringify(bench.desk.snapshot())
    const kept = bench.desk.snapshot()
    bench.run(5, DRAG)
    expect(JSON.stringify(kept)).toBe(snapshot)
    expect(() => createSuggestionDesk(MINIMUM_LINE, { version: 9 })).toThrow('snapshot version 9; expected 1')
  })
})
