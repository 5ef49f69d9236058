import { describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../../src/line/line-definition.js'
import type { MaintenanceFact, MaintenanceFactType } from '../../../src/maintenance/maintenance-fact.js'
import { createLineMonitor } from '../../../src/monitor/line-monitor.js'
import { describeLine } from '../../../src/simulator/line-description.js'
import { createSimulation } from '../../../src/simulator/simulation.js'
import type { SimulationConfig } from '../../../src/simulator/simulation-config.js'
import { referenceRecipe, referenceSite } from '../../../src/simulator/site-parameters.js'

const HOUR = 3_600_000
const CHANNELS = ['preheat.zone-1.temperature', 'preheat.zone-2.temperature', 'preheat.zone-3.temperature', 'preheat.zone-1.setpoint', 'preheat.zone-2.setpoint', 'preheat.zone-3.setpoint', 'conveyor.speed', 'conveyor.setpoint', 'pot.level', 'board.count', 'line.recipe']

type Facts = <T extends MaintenanceFactType>(type: T) => Extract<MaintenanceFact, { type: T }>[]

/** A simulated line from its begin to its end, with what the maintenance side of it said. */
function play(more: Partial<SimulationConfig>): { readonly facts: Facts; readonly startMs: number } {
  const site = referenceSite()
  site.recipes = [referenceRecipe(), { ...referenceRecipe(), id: 'power-board', zoneTemperaturesC: [120, 140, 160], speedMmS: 17.5, boardIntervalS: 36 }]
  const startMs = Date.UTC(2026, 0, 5)
  const simulation = createSimulation({
    seed: 5, startMs, durationHours: 4 * 24, channels: CHANNELS, thermalStepS: 1, faults: [],
    periodsS: { 'conveyor.speed': 4, 'preheat.zone-<n>.temperature': 20, 'pot.level': 60, 'board.count': 60 },
    site: { ...site, habits: { ...site.habits, workdays: [0, 1, 2, 3, 4, 5, 6], changeoversPerShift: [2, 2] } }, ...more,
  })
  const parsed = parseLineDefinition(describeLine(simulation, { line: 'line-a' }))
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  const monitor = createLineMonitor(parsed.definition)
  const said: MaintenanceFact[] = []
  let seq = 0
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    for (const [channel, value] of sample.values) {
      monitor.step({ kind: 'value', channel, value, time: sample.timeMs, seq: (seq += 1), receivedMs: sample.timeMs }, (output) => {
        if (output.kind === 'fact') said.push(output.body)
      })
    }
  }
  return { startMs, facts: ((type) => said.filter((fact) => fact.type === type)) as Facts }
}

describe('a healthy line with changeovers', () => {
  const { facts } = play({ durationHours: 4 * 24 })

  it('has its recipes among what changed, and not one set-point edit', () => {
    expect(facts('change').filter(({ change }) => change === 'set-point')).toEqual([])
    expect(facts('change').filter(({ change }) => change === 'recipe').length).toBeGreaterThan(4)
  })

  it('has no settings on hold', () => {
    expect(facts('hold')).toEqual([])
  })

  it('counts its boards by recipe', () => {
    const boards = [...new Map(facts('boards').map((fact) => [fact.id, fact])).values()]
    expect(new Set(boards.map(({ recipe }) => recipe))).toEqual(new Set(['recipe-a', 'power-board']))
    // two shifts of some 60 to 120 boards an hour, four days
    const sum = boards.reduce((total, fact) => total + fact.boards, 0)
    expect(sum).toBeGreaterThan(3000)
    expect(sum).toBeLessThan(8000)
  })

  it('expects of a start what the starts before took, whatever the recipe', () => {
    const last = facts('start-up').at(-1)!
    expect(last.parts).toHaveLength(3)
    for (const { actualS, lowerS, upperS } of last.parts) {
      expect(actualS).toBeGreaterThanOrEqual(lowerS!)
      expect(actualS).toBeLessThanOrEqual(upperS!)
    }
  })
})

describe('a set-point that somebody moves in production', () => {
  it('is the one edit among the changeovers, in its place and at its time', () => {
    const atHours = 2 * 24 + 10
    const { facts, startMs } = play({ durationHours: 3 * 24, benign: { setpointEdits: [{ atHours, target: 'zone-2', delta: 8 }] } })
    const edits = facts('change').filter(({ change }) => change === 'set-point')
    expect(edits).toMatchObject([{ channel: 'preheat.zone-2.setpoint', section: 'preheat', zone: 2 }])
    expect(Number(edits[0]!.to) - Number(edits[0]!.from)).toBeCloseTo(8, 5)
    expect(Math.abs(edits[0]!.timeMs - startMs - atHours * HOUR)).toBeLessThan(10 * 60_000)
  })
})

describe('a chain that begins to stick', () => {
  it('puts settings on hold with the chain first, long before it is at its worst', () => {
    const onsetHours = 2 * 24 + 14
    const { facts, startMs } = play({ durationHours: 4 * 24, faults: [{ cause: 'dirty-chain', onsetHours, growthHours: 16 }] })
    const first = facts('hold')[0]
    expect(first).toMatchObject({ on: true, sections: ['transport'] })
    expect(first!.sinceMs).toBeGreaterThan(startMs + onsetHours * HOUR)
    expect(first!.checks.find(({ rank }) => rank === 1)?.section).toBe('transport')
    // nothing ends it while nobody has looked
    expect(facts('hold').at(-1)?.on).toBe(true)
  })
})
