import { describe, expect, it } from 'vitest'
import type { ChangeFact } from '../../../../src/maintenance/changes/change-fact.js'
import { boardsSince, rankChanges } from '../../../../src/maintenance/changes/change-ranking.js'
import { createChangesPart } from '../../../../src/maintenance/changes/changes-part.js'
import type { WorkRecord } from '../../../../src/maintenance/suggestion.js'
import { DAY, definitionWith, HOUR, MINUTE, MONDAY, nextId, PartBench } from '../rounds/part-bench.js'

function bench(): PartBench {
  const made = new PartBench(definitionWith(), [createChangesPart])
  made.state = 'off'
  made.change('production')
  return made
}

const changes = (on: PartBench): ChangeFact[] => [...new Map(on.factsOf('change').map((fact) => [fact.id, fact])).values()]

function record(on: PartBench, work: string, more: Partial<WorkRecord> = {}): void {
  const id = nextId()
  on.tell({ type: 'record', id: `record-${id}`, timeMs: on.nowMs, record: { id, timeMs: on.nowMs, section: 'transport', work, ...more }, earlier: [], withdrawn: false })
}

describe('set-points', () => {
  it('that move alone are an edit, told once the line had time to explain them', () => {
    const on = bench()
    on.read('pot.setpoint', 255)
    on.pass(1)
    on.read('pot.setpoint', 258)
    expect(changes(on)).toEqual([])
    on.pass(0.4)
    expect(changes(on)).toMatchObject([{ change: 'set-point', source: 'channel', channel: 'pot.setpoint', section: 'pot', from: 255, to: 258, timeMs: on.nowMs - 0.4 * HOUR }])
  })

  it('that were moved back before anybody was told are none', () => {
    const on = bench()
    on.read('pot.setpoint', 255)
    on.nowMs += MINUTE
    on.read('pot.setpoint', 258)
    on.nowMs += MINUTE
    on.read('pot.setpoint', 255)
    on.pass(1)
    expect(changes(on)).toEqual([])
  })

  it('of a changeover belong to its recipe, which is one change', () => {
    const on = bench()
    on.read('preheat.zone-2.setpoint', 130)
    on.nowMs += HOUR
    on.read('preheat.zone-2.setpoint', 140)
    on.nowMs += 2 * MINUTE
    on.change('changeover', 'power-board')
    on.nowMs += 4 * MINUTE
    on.change('production')
    on.pass(1)
    expect(changes(on)).toMatchObject([{ change: 'recipe', from: 'control-board', to: 'power-board' }])
  })

  it('that were lowered for the night are no edit in the morning, one that stayed is', () => {
    const on = bench()
    for (const zone of [1, 2]) on.read(`preheat.zone-${zone}.setpoint`, 120)
    on.change('off')
    for (const zone of [1, 2]) on.read(`preheat.zone-${zone}.setpoint`, 60)
    on.nowMs += 8 * HOUR
    on.read('preheat.zone-1.setpoint', 120)
    on.read('preheat.zone-2.setpoint', 127)
    on.change('production')
    for (const [zone, value] of [[1, 120], [2, 127]] as const) on.read(`preheat.zone-${zone}.setpoint`, value)
    on.pass(1)
    expect(changes(on)).toMatchObject([{ change: 'set-point', channel: 'preheat.zone-2.setpoint', zone: 2, from: 120, to: 127 }])
  })
})

describe('a line that is switched off', () => {
  it('lowers its set-points and stands its conveyor still: no edit, neither in the evening nor in the morning', () => {
    const on = bench()
    on.read('conveyor.setpoint', 20)
    on.read('preheat.zone-1.setpoint', 120)
    on.nowMs += 5 * HOUR
    on.read('conveyor.setpoint', 0)
    on.read('preheat.zone-1.setpoint', 60)
    on.nowMs += 4 * MINUTE
    on.change('off')
    on.pass(8)
    on.read('preheat.zone-1.setpoint', 120)
    on.change('settling')
    on.read('conveyor.setpoint', 20)
    on.read('preheat.zone-1.setpoint', 120)
    on.pass(1)
    expect(changes(on)).toEqual([])
  })
})

describe('channels', () => {
  it('tell a long stop with its length, a short one not', () => {
    const on = bench()
    const stop = (minutes: number): void => {
      on.change('idle')
      on.nowMs += minutes * MINUTE
      on.change('production')
      on.nowMs += 10 * MINUTE
    }
    stop(20)
    expect(changes(on)).toEqual([])
    stop(45)
    expect(changes(on)).toMatchObject([{ change: 'long-stop', minutes: 45 }])
  })

  it('tell a sensor that stands still after it has moved, and not one that seldom moves', () => {
    const on = bench()
    for (let index = 0; index < 300; index += 1) {
      on.nowMs += 5000
      on.read('preheat.zone-1.temperature', 150 + (index % 2) * 0.1)
      if (index % 60 === 0) on.read('pot.level', 4.5 + (index % 120) / 120)
    }
    for (let index = 0; index < 800; index += 1) {
      on.nowMs += 5000
      on.read('preheat.zone-1.temperature', 150)
      on.read('pot.level', 4.5)
    }
    expect(changes(on)).toMatchObject([{ change: 'sensor-frozen', channel: 'preheat.zone-1.temperature', zone: 1, to: 150 }])
  })

  it('tell a top-up by the step of the level, and not its ripple nor its slow fall', () => {
    const on = bench()
    const level = (from: number, minutes: number): void => {
      for (let index = 0; index < minutes * 2; index += 1) {
        on.nowMs += 30_000
        on.read('pot.level', from - (index / 120) * 1.06 + 0.3 * Math.sin(index))
      }
    }
    on.nowMs += 20 * MINUTE
    level(1, 120)
    expect(changes(on)).toEqual([])
    level(1.6, 30) // 2.65 mm of one bar of 5 kg above where it had fallen to (worked number G14)
    expect(changes(on)).toMatchObject([{ change: 'top-up', source: 'channel', section: 'pot' }])
  })

  it('count boards by recipe, lot and order', () => {
    const on = bench()
    let count = 100
    const make = (boards: number): void => {
      for (let index = 0; index < boards; index += 1) {
        on.nowMs += 30_000
        count += 1
        on.read('board.count', count)
      }
    }
    on.read('custom.lot', 'L-1')
    on.read('custom.order', 'O-7')
    on.read('board.count', count)
    make(150)
    const onsetMs = on.nowMs
    on.read('custom.lot', 'L-2')
    make(40)
    count = 0
    on.read('board.count', 0)
    make(10)
    on.pass(0.2)
    const facts = [...new Map(on.factsOf('boards').map((fact) => [fact.id, fact])).values()]
    expect(facts.reduce((sum, { boards }) => sum + boards, 0)).toBe(200)
    expect(boardsSince(facts, onsetMs + 1)).toMatchObject({ boards: 50, lots: ['L-2'], orders: ['O-7'], recipes: ['control-board'] })
    expect(boardsSince(facts, onsetMs - 10 * MINUTE).boards).toBeGreaterThanOrEqual(70)
    expect(changes(on)).toMatchObject([{ change: 'board-lot', from: 'L-1', to: 'L-2' }])
  })
})

describe('entries and records', () => {
  it('are one list, and what is told twice is one change', () => {
    const on = bench()
    on.enter({ type: 'change', id: nextId(), timeMs: on.nowMs, change: 'flux-lot', text: 'F-22' })
    on.nowMs += 5 * MINUTE
    on.enter({ type: 'change', id: nextId(), timeMs: on.nowMs, change: 'flux-lot', text: 'F-22' })
    on.enter({ type: 'change', id: nextId(), timeMs: on.nowMs, change: 'flux-lot', text: 'F-23' })
    expect(changes(on).map(({ text }) => text)).toEqual(['F-22', 'F-23'])
  })

  it('say a recorded nozzle job is a nozzle refitted, once, also when somebody enters it too', () => {
    const on = bench()
    record(on, 'clean-nozzle', { section: 'fluxer', by: 'A' })
    on.nowMs += 4 * MINUTE
    on.enter({ type: 'change', id: nextId(), timeMs: on.nowMs, change: 'nozzle-refitted', text: 'tip soaked' })
    expect(changes(on)).toMatchObject([{ change: 'nozzle-refitted', source: 'record', work: 'clean-nozzle', section: 'fluxer', text: 'tip soaked', by: 'A' }])
  })

  it('add the words of people to a set-point edit seen in the telemetry', () => {
    const on = bench()
    on.read('pot.setpoint', 255)
    on.nowMs += HOUR
    on.read('pot.setpoint', 258)
    on.pass(0.2)
    on.enter({ type: 'change', id: nextId(), timeMs: on.nowMs, change: 'set-point', text: 'as the alloy data sheet asks' })
    expect(changes(on)).toMatchObject([{ change: 'set-point', channel: 'pot.setpoint', text: 'as the alloy data sheet asks' }])
  })

  it('of work that was taken back say so', () => {
    const on = bench()
    record(on, 'clean-rails')
    const [first] = on.factsOf('record')
    on.tell({ ...first!, withdrawn: true })
    expect(changes(on)).toMatchObject([{ change: 'work', work: 'clean-rails', withdrawn: true }])
    expect(rankChanges(changes(on), on.nowMs, 'transport')).toEqual([])
  })

  it('point upstream when a section fouls twice as fast as its own history', () => {
    const on = bench()
    const clean = (hours: number, finding: number): void => {
      on.nowMs += hours * HOUR
      record(on, 'clean-fingers', { finding })
    }
    clean(0, 2)
    for (const hours of [100, 110, 95]) clean(hours, 2)
    clean(70, 2)
    expect(changes(on).filter(({ change }) => change === 'fouls-faster')).toEqual([])
    clean(45, 3)
    expect(changes(on).filter(({ change }) => change === 'fouls-faster')).toMatchObject([{ work: 'clean-fingers', section: 'transport', upstream: expect.arrayContaining(['set-spray-stroke', 'calibrate-dosing']) as unknown }])
  })

  it('are remembered through a restart', () => {
    const on = bench()
    on.enter({ type: 'change', id: nextId(), timeMs: on.nowMs, change: 'jam' })
    on.restart()
    on.nowMs += MINUTE
    on.enter({ type: 'change', id: nextId(), timeMs: on.nowMs, change: 'jam' })
    expect(changes(on)).toHaveLength(1)
  })
})

describe('beside an onset', () => {
  const change = (kind: ChangeFact['change'], hoursBefore: number, more: Partial<ChangeFact> = {}): ChangeFact => ({ type: 'change', id: `${kind}-${hoursBefore}`, timeMs: MONDAY + 5 * DAY - hoursBefore * HOUR, change: kind, source: 'entry', section: 'line', ...more })
  const onsetMs = MONDAY + 5 * DAY

  it('the nearest in place and time comes first, what came after it last', () => {
    const ranked = rankChanges([change('board-lot', 90), change('top-up', 2, { section: 'pot' }), change('nozzle-refitted', 20, { section: 'fluxer' }), change('crew', -5)], onsetMs, 'fluxer')
    expect(ranked.map(({ change: { change: kind } }) => kind)).toEqual(['nozzle-refitted', 'top-up', 'board-lot', 'crew'])
    expect(ranked.at(-1)).toMatchObject({ beforeOnset: false, weight: 0 })
    expect(ranked[0]).toMatchObject({ beforeOnset: true, minutesBefore: 1200 })
  })

  it('defects that no section explains look at the fluxer first', () => {
    const ranked = rankChanges([change('work', 20, { section: 'pot' }), change('nozzle-refitted', 24, { section: 'fluxer' })], onsetMs, 'line')
    expect(ranked[0]?.change.change).toBe('nozzle-refitted')
  })

  it('an onset is known to an hour: what came shortly after it may still be its reason', () => {
    expect(rankChanges([change('nozzle-refitted', -0.5, { section: 'fluxer' })], onsetMs, 'fluxer')[0]).toMatchObject({ beforeOnset: true, weight: 1 })
  })
})
