import { describe, expect, it } from 'vitest'
import type { SimulationConfig } from '../../../src/simulator/simulation-config.js'
import { createSimulation, truthOf } from '../../../src/simulator/simulation.js'
import { referenceRecipe, referenceSite } from '../../../src/simulator/site-parameters.js'

const MONDAY_MS = Date.UTC(2026, 0, 5)
const HOUR_MS = 3_600_000

const config = (change: Partial<SimulationConfig> = {}): SimulationConfig => ({ seed: 1, startMs: MONDAY_MS, durationHours: 24, channels: 'minimum', faults: [], ...change })

interface Row {
  readonly timeMs: number
  readonly channel: string
  readonly value: number | string
}

function rowsOf(change: Partial<SimulationConfig>): Row[] {
  const simulation = createSimulation(config(change))
  const rows: Row[] = []
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    for (const [channel, value] of sample.values) rows.push({ timeMs: sample.timeMs, channel, value })
    for (const [channel, value, timeMs] of sample.delayed) rows.push({ timeMs, channel, value })
  }
  return rows
}

const twoRecipes = (): Partial<SimulationConfig>['site'] => ({
  ...referenceSite(),
  recipes: [referenceRecipe(), { ...referenceRecipe(), id: 'recipe-b', zoneTemperaturesC: [120, 140, 160], speedMmS: 17 }],
})

describe('channels of a simulation', () => {
  it('minimum: zone temperatures, speed, level; minimum+ adds set-points, recipe and board count', () => {
    expect(createSimulation(config()).channels).toEqual(['preheat.zone-1.temperature', 'preheat.zone-2.temperature', 'preheat.zone-3.temperature', 'conveyor.speed', 'pot.level'])
    const more = createSimulation(config({ channels: 'minimum+' })).channels
    expect(more).toHaveLength(11)
    expect(more).toEqual(expect.arrayContaining(['preheat.zone-2.setpoint', 'conveyor.setpoint', 'line.recipe', 'board.count']))
    expect(createSimulation(config({ channels: ['pot.level'] })).channels).toEqual(['pot.level'])
  })

  it('publishes at the periods asked for: one for all, by pattern, by channel', () => {
    const rows = rowsOf({ durationHours: 1, periodsS: { '*': 20, 'preheat.zone-<n>.temperature': 10, 'preheat.zone-3.temperature': 5 } })
    const count = (channel: string): number => rows.filter((row) => row.channel === channel).length
    expect([count('pot.level'), count('conveyor.speed'), count('preheat.zone-1.temperature'), count('preheat.zone-3.temperature')]).toEqual([180, 180, 360, 720])
    expect(rows[0]!.timeMs).toBe(MONDAY_MS + 5000)
  })

  it('stamps per-board values with the time of the board, and delivers inspection results later', () => {
    const simulation = createSimulation(config({ channels: 'rich', alwaysProducing: true, durationHours: 1 }))
    let delays = 0
    let boards = 0
    for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
      boards += sample.values.filter(([channel]) => channel === 'board.topside-temperature').length
      for (const [channel, , timeMs] of sample.delayed) {
        expect(channel).toMatch(/^board\.defects\./)
        expect(sample.timeMs - timeMs).toBeGreaterThanOrEqual(90_000)
        delays += 1
      }
    }
    expect(boards).toBeGreaterThan(70)
    expect(delays).toBeGreaterThan(4 * (boards - 15))
  })

  it('says what is wrong with a configuration', () => {
    expect(() => createSimulation(config({ channels: ['pot.lvl'] }))).toThrow('channels names "pot.lvl"')
    expect(() => createSimulation(config({ seed: 0.5 }))).toThrow('seed is 0.5')
    expect(() => createSimulation(config({ faults: [{ cause: 'gremlins', onsetHours: 0, growthHours: 1 }] }))).toThrow('faults[0].cause is "gremlins"')
    expect(() => createSimulation(config({ faults: [{ cause: 'dirty-chain', onsetHours: -1, growthHours: 1 }] }))).toThrow('faults[0].onsetHours is -1')
    expect(() => createSimulation(config({ faults: [{ cause: 'dirty-chain', onsetHours: 0, growthHours: 1, severityEnd: 2 }] }))).toThrow('severityEnd is 2')
    expect(() => createSimulation(config({ periodsS: { '*': 0.5 } }))).toThrow('whole seconds')
    expect(() => createSimulation(config({ thermalStepS: 0.3 }))).toThrow('thermalStepS is 0.3')
    expect(() => createSimulation(config({ durationHours: Number.NaN }))).toThrow('durationHours')
    expect(() => createSimulation(config({ cleanings: [{ atHours: 1, work: 'wipe', causes: ['dust'] }] }))).toThrow('cleanings[0].causes names "dust"')
    expect(() => truthOf(config({ benign: { setpointEdits: [{ atHours: 0, target: 'zone-9', delta: 5 }] } }))).toThrow('zone-9')
  })
})

describe('working days', () => {
  it('follow off, warm-up, standby, production, idle, off', () => {
    const states = truthOf(config({ benign: { stops: false, breaks: false } })).events.flatMap((event) => (event.kind === 'state' ? [{ state: event.state, hour: (event.timeMs - MONDAY_MS) / HOUR_MS }] : []))
    expect(states.map(({ state }) => state)).toEqual(['off', 'warm-up', 'standby', 'production', 'idle', 'off'])
    expect(states[1]!.hour).toBeCloseTo(5.25, 2)
    expect(states[3]!.hour).toBeCloseTo(6, 2)
    expect(states[4]!.hour).toBeCloseTo(22, 2)
  })

  it('leave the line off on days that are no workdays', () => {
    const saturday = truthOf(config({ startMs: MONDAY_MS + 5 * 24 * HOUR_MS }))
    expect(saturday.events.filter((event) => event.kind === 'state').map((event) => event.kind === 'state' && event.state)).toEqual(['off'])
    expect(saturday.moments.at(-1)!.boards).toBe(0)
  })

  it('change recipe by clearing the line, then set-points, then waiting until they are reached', () => {
    const rows = rowsOf({ site: twoRecipes()!, channels: 'rich', benign: { stops: false, breaks: false } })
    const states = rows.filter(({ channel }) => channel === 'line.state')
    const changeover = states.find(({ value }) => value === 'changeover')!
    const production = states.find(({ value, timeMs }) => value === 'production' && timeMs > changeover.timeMs)!
    const within = (channel: string): Row[] => rows.filter((row) => row.channel === channel && row.timeMs >= changeover.timeMs && row.timeMs < production.timeMs)
    expect(production.timeMs - changeover.timeMs).toBeGreaterThan(480_000)
    expect(production.timeMs - changeover.timeMs).toBeLessThanOrEqual(2_400_000)
    const changes = ['preheat.zone-1.setpoint', 'preheat.zone-3.setpoint', 'conveyor.setpoint', 'line.recipe'].map((channel) => within(channel).find((row, index, all) => index > 0 && row.value !== all[0]!.value)!.timeMs)
    expect(Math.max(...changes) - Math.min(...changes)).toBeLessThanOrEqual(60_000)
    expect(changes[0]! - changeover.timeMs).toBeGreaterThan(30_000) // boards on the line are finished first
    const last = within('preheat.zone-3.temperature').at(-1)!
    expect(Math.abs((last.value as number) - (within('preheat.zone-3.setpoint').at(-1)!.value as number))).toBeLessThan(2.5)
  })

  it('stopping work is maintenance, then warm-up if the zones went cold, then a run-in', () => {
    const states = truthOf(config({ benign: { stops: false, breaks: false }, cleanings: [{ atHours: 9, work: 'full-clean', causes: ['clogged-blower'], durationHours: 1 }] })).events.flatMap((event) => (event.kind === 'state' && event.timeMs >= MONDAY_MS + 9 * HOUR_MS ? [event.state] : []))
    expect(states).toEqual(['maintenance', 'warm-up', 'standby', 'run-in', 'production', 'idle', 'off'])
  })

  it('melt a pot that was off overnight before the shift begins', () => {
    const site = referenceSite()
    site.pot.night = 'off'
    const { moments } = truthOf(config({ site }))
    expect(moments.find(({ timeMs }) => timeMs === MONDAY_MS + 3 * HOUR_MS)!.potC).toBeLessThan(60)
    expect(moments.some(({ potC }) => Math.abs(potC - 217) < 0.01)).toBe(true)
    expect(moments.find(({ timeMs }) => timeMs === MONDAY_MS + 7 * HOUR_MS)!.potC).toBeGreaterThan(255)
  })

  it('keep the level in its band as long as somebody tops up, and only then', () => {
    const week = { durationHours: 120 }
    const kept = truthOf(config(week)).moments.map(({ levelMm }) => levelMm)
    expect(Math.min(...kept)).toBeGreaterThan(-7)
    expect(Math.max(...kept)).toBeLessThan(6)
    expect(truthOf(config({ ...week, benign: { topUps: false } })).moments.at(-1)!.levelMm).toBeLessThan(-30)
  })
})

describe('work asked for while it runs', () => {
  it('cleans the chain at the next second and stands in the truth', () => {
    const simulation = createSimulation(config({ alwaysProducing: true, faults: [{ cause: 'dirty-chain', onsetHours: 0, growthHours: 2 }], durationHours: 8 }))
    while (simulation.timeMs < MONDAY_MS + 4 * HOUR_MS) simulation.next()
    simulation.perform({ work: 'full-clean', causes: ['dirty-chain'] })
    while (simulation.next() !== undefined);
    const truth = truthOf(simulation)
    const severityAt = (hours: number): number => truth.moments.find(({ timeMs }) => timeMs >= MONDAY_MS + hours * HOUR_MS)!.severities.find(({ cause }) => cause === 'dirty-chain')?.severity ?? 0
    expect(severityAt(3.9)).toBeGreaterThan(0.95)
    expect(severityAt(4.2)).toBeLessThan(0.05)
    expect(severityAt(7.9)).toBeLessThan(0.05)
    expect(truth.events.some((event) => event.kind === 'work' && event.timeMs === MONDAY_MS + 4 * HOUR_MS + 1000)).toBe(true)
  })
})

describe('traps in the data', () => {
  const speed = (change: Partial<SimulationConfig>): number[] => rowsOf({ channels: ['conveyor.speed'], alwaysProducing: true, durationHours: 2, ...change }).map(({ value }) => value as number)

  it('dead-band stores only what moves', () => {
    const stored = speed({ traps: [{ kind: 'dead-band', channel: 'conveyor.*', width: 0.2 }] })
    expect(stored.length).toBeLessThan(5000)
    expect(stored.slice(1).every((value, index) => Math.abs(value - stored[index]!) > 0.2)).toBe(true)
  })

  it('quantisation rounds', () => {
    expect(speed({ traps: [{ kind: 'quantisation', channel: 'conveyor.speed', step: 0.5 }] }).every((value) => Number.isInteger(value * 2))).toBe(true)
  })

  it('dropouts give a code, a frozen value or nothing', () => {
    const drop = (code: number | 'gap' | 'hold'): number[] => speed({ traps: [{ kind: 'dropout', channel: 'conveyor.speed', atHours: 1, hours: 0.5, code }] })
    expect(drop(850).filter((value) => value === 850)).toHaveLength(1800)
    expect(drop('gap')).toHaveLength(7200 - 1800)
    expect(new Set(drop('hold').slice(3600, 5390)).size).toBe(1)
    expect(new Set(drop('hold').slice(0, 1790)).size).toBeGreaterThan(50)
  })

  it('a clock jumps forth and back, duplicates repeat the whole tick', () => {
    const jumped = rowsOf({ channels: ['conveyor.speed'], durationHours: 2, traps: [{ kind: 'clock-jump', atHours: 0.5, seconds: 3600, hours: 0.5 }] }).map(({ timeMs }) => timeMs)
    expect(jumped.some((timeMs, index) => index > 0 && timeMs < jumped[index - 1]!)).toBe(true)
    expect(jumped.filter((timeMs, index) => index > 0 && timeMs - jumped[index - 1]! > 3_000_000)).toHaveLength(1)
    const repeated = rowsOf({ channels: ['conveyor.speed'], durationHours: 2, traps: [{ kind: 'duplicates', share: 0.1 }] })
    expect(Math.abs(repeated.length - 7200 * 1.1)).toBeLessThan(120)
    expect(new Set(repeated.map(({ timeMs }) => timeMs)).size).toBe(7200)
  })

  it('late values keep their own time', () => {
    const simulation = createSimulation(config({ channels: ['pot.level'], alwaysProducing: true, durationHours: 6, traps: [{ kind: 'late', channel: 'pot.level', hours: [1, 2] }] }))
    let count = 0
    for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
      for (const [, , timeMs] of sample.delayed) {
        expect(sample.timeMs - timeMs).toBeGreaterThanOrEqual(HOUR_MS - 1000)
        expect(sample.timeMs - timeMs).toBeLessThanOrEqual(2 * HOUR_MS + 1000)
        count += 1
      }
      expect(sample.values).toEqual([])
    }
    expect(count).toBeGreaterThan(400)
  })
})

describe('benign events', () => {
  it('move what they should: exhaust the duty of all zones, edits one set-point, load the board count', () => {
    const mean = (rows: readonly Row[], channel: string, from: number, to: number): number => {
      const values = rows.filter((row) => row.channel === channel && row.timeMs > MONDAY_MS + from * HOUR_MS && row.timeMs <= MONDAY_MS + to * HOUR_MS).map(({ value }) => value as number)
      return values.reduce((sum, value) => sum + value, 0) / values.length
    }
    const rows = rowsOf({
      channels: 'rich',
      alwaysProducing: true,
      durationHours: 16,
      benign: { exhausts: [{ atHours: 4, hours: 4, factor: 1.3 }], setpointEdits: [{ atHours: 9, hours: 2, target: 'zone-2', delta: 5 }, { atHours: 9, hours: 2, target: 'conveyor', delta: 1 }], loads: [{ atHours: 12, rateFactor: 0.5 }] },
    })
    for (const zone of [1, 2, 3]) expect(mean(rows, `preheat.zone-${zone}.duty`, 5, 8) / mean(rows, `preheat.zone-${zone}.duty`, 1, 4)).toBeGreaterThan(1.15)
    // clean batch 0.561 -> 0.682 with the extraction at 1.3
    expect(Math.abs(mean(rows, 'preheat.zone-3.duty', 5, 8) - 68.2)).toBeLessThan(3.4)
    expect(mean(rows, 'preheat.zone-2.temperature', 9.5, 11)).toBeCloseTo(135, 0)
    expect(mean(rows, 'preheat.zone-1.temperature', 9.5, 11)).toBeCloseTo(110, 0)
    expect(mean(rows, 'conveyor.speed', 9.5, 11)).toBeCloseTo(21, 1)
    const counts = rows.filter(({ channel }) => channel === 'board.count')
    const at = (hours: number): number => counts.find(({ timeMs }) => timeMs >= MONDAY_MS + hours * HOUR_MS)!.value as number
    expect((at(15.9) - at(12.1)) / (at(7.9) - at(4.1))).toBeCloseTo(0.5, 1)
  })
})
