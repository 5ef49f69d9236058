import { describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../../src/line/line-definition.js'
import { DEMO_FAULTS, demoConfig, samplesAsMessage } from '../../../src/simulator/demo-line.js'
import { drawScenario } from '../../../src/simulator/draw-scenario.js'
import { drawSite } from '../../../src/simulator/draw-site.js'
import { describeLine } from '../../../src/simulator/line-description.js'
import { sectionOfFault, SIMULATED_FAULTS, type SimulatedFault } from '../../../src/simulator/simulation-causes.js'
import { createSimulation, siteOf, truthOf } from '../../../src/simulator/simulation.js'
import { longFormRows, truthAsJson, wideFormHeader, wideFormRows } from '../../../src/simulator/telemetry-file.js'
import { FAULT_IDS } from '../../../src/line/causes.js'
import { CHANNEL_KINDS, channelKindOf } from '../../../src/line/channels.js'

const MONDAY_MS = Date.UTC(2026, 0, 5)
const seeds = Array.from({ length: 60 }, (_, index) => index + 1)

describe('words shared with the detector', () => {
  it('cause ids are those of the fault list, all of them', () => {
    expect(Object.keys(SIMULATED_FAULTS).sort()).toEqual([...FAULT_IDS].sort())
  })

  it('channel ids are those of the channel list, with values of the right type inside what is possible', () => {
    const simulation = createSimulation({ seed: 1, startMs: MONDAY_MS, durationHours: 8, channels: 'rich', faults: [] })
    for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
      for (const [channel, value] of sample.values) {
        const kind = channelKindOf(channel)?.channelKind
        if (kind === undefined) throw new Error(`unknown channel ${channel}`)
        if (typeof value !== (kind.valueType === 'text' ? 'string' : 'number')) throw new Error(`${channel}: ${value}`)
        if (typeof value === 'number' && (value < kind.possibleMin || value > kind.possibleMax)) throw new Error(`${channel}: ${value}`)
      }
    }
    const published = new Set(simulation.channels.map((channel) => channelKindOf(channel)!.channelKind.pattern))
    expect(CHANNEL_KINDS.map(({ pattern }) => pattern).filter((pattern) => !published.has(pattern) && !pattern.startsWith('custom.'))).toEqual([])
  })
})

describe('drawn plants', () => {
  it('hold their ranges and differ', () => {
    const sites = seeds.map(drawSite)
    for (const site of sites) {
      expect(site.zones.length).toBeGreaterThanOrEqual(2)
      for (const zone of site.zones) {
        expect(zone.powerMaxW).toBeGreaterThanOrEqual(3000)
        expect(zone.powerMaxW).toBeLessThanOrEqual(12_000)
        expect(zone.sensorLagS).toBeLessThanOrEqual(12)
      }
      for (const recipe of site.recipes) {
        expect(recipe.speedMmS).toBeGreaterThanOrEqual(13)
        expect(recipe.speedMmS).toBeLessThanOrEqual(30)
        expect(Math.max(...recipe.zoneTemperaturesC)).toBeLessThan(215)
      }
    }
    expect(new Set(sites.map((site) => site.zones[0]!.transferWPerK)).size).toBe(seeds.length)
    expect(new Set(sites.map((site) => site.zones[0]!.kind)).size).toBe(2)
  })

  it('run a healthy day: the zones reach production and hold their set-points, boards come out warm enough', () => {
    for (const seed of [1, 2, 9, 20]) {
      const { moments } = truthOf(drawScenario({ seed, kind: 'healthy', channels: 'minimum', days: 1, quiet: true }))
      const producing = moments.filter(({ state }) => state === 'production')
      expect(producing.length, `seed ${seed}`).toBeGreaterThan(50)
      expect(moments.at(-1)!.boards).toBeGreaterThan(700)
      expect(producing.every(({ potC }) => Math.abs(potC - 260) < 7)).toBe(true)
    }
  })
})

describe('drawScenario', () => {
  it('draws every fault sooner or later, with its onset in the middle of the span', () => {
    const drawn = Array.from({ length: 400 }, (_, seed) => drawScenario({ seed, kind: 'fault', channels: 'minimum', days: 10 }).faults[0]!)
    expect(new Set(drawn.map(({ cause }) => cause)).size).toBe(Object.keys(SIMULATED_FAULTS).length)
    for (const { onsetHours } of drawn) {
      expect(onsetHours).toBeGreaterThanOrEqual(0.45 * 240)
      expect(onsetHours).toBeLessThanOrEqual(0.65 * 240)
    }
    expect(drawn.some(({ cause, zone }) => cause === 'ageing-element' && zone === undefined)).toBe(true)
  })

  it('an early onset lies after three to four production days of the shop, whatever its days off', () => {
    for (const seed of seeds) {
      const config = drawScenario({ seed, kind: 'fault', channels: 'minimum', days: 14, onset: 'early', severityEnd: 1 })
      const { habits } = siteOf(config)
      const { onsetHours, severityEnd } = config.faults[0]!
      const minutes = Array.from({ length: Math.round(onsetHours * 60) }, (_, minute) => minute)
      const shiftDay = habits.dayEndMinute - habits.dayStartMinute
      // The scenarios begin on a Monday at midnight.
      const inShift = minutes.filter((minute) => habits.workdays.includes((Math.floor(minute / 1440) + 1) % 7) && minute % 1440 >= habits.dayStartMinute && minute % 1440 < habits.dayEndMinute).length
      expect(inShift / shiftDay).toBeGreaterThanOrEqual(3)
      expect(inShift / shiftDay).toBeLessThanOrEqual(4.001)
      expect(severityEnd).toBe(1)
    }
  })

  it('two faults at once sit in two sections and both grow', () => {
    const pairs = seeds.map((seed) => drawScenario({ seed, kind: 'fault', channels: 'rich', faultCount: 2, onset: 'early' }).faults)
    for (const [first, second] of pairs) expect(sectionOfFault(first!.cause as SimulatedFault, first!.zone)).not.toBe(SIMULATED_FAULTS[second!.cause as SimulatedFault].section)
    expect(new Set(pairs.map(([, second]) => second!.cause)).size).toBeGreaterThan(10)
    const asked = drawScenario({ seed: 4, kind: 'fault', channels: 'minimum', onset: 'early', days: 10, cause: 'dirty-chain', secondCause: 'coated-thermocouple', faultCount: 2 })
    const last = truthOf(asked).moments.at(-1)!.severities
    for (const cause of ['dirty-chain', 'coated-thermocouple']) expect(last.find((one) => one.cause === cause)?.severity, cause).toBeGreaterThan(0.6)
    expect(drawScenario({ seed: 4, kind: 'fault', channels: 'minimum', onset: 'early', days: 10, cause: 'dirty-chain' }).faults).toEqual(asked.faults.slice(0, 1))
  })

  it('a line that sleeps when off speaks once a minute then, and as usual in production', () => {
    const perHour = (sleepsWhenOff: boolean): Map<number, number> => {
      const simulation = createSimulation(drawScenario({ seed: 5, kind: 'healthy', channels: ['conveyor.speed'], days: 1, quiet: true, sleepsWhenOff }))
      const counts = new Map<number, number>()
      for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
        const hour = Math.floor((sample.timeMs - MONDAY_MS) / 3_600_000)
        counts.set(hour, (counts.get(hour) ?? 0) + sample.values.length)
      }
      return counts
    }
    const [sleeping, always] = [perHour(true), perHour(false)]
    expect(sleeping.get(2)).toBe(60)
    expect(sleeping.get(12)).toBe(always.get(12))
    expect(always.get(2)).toBe(always.get(12))
  })

  it('takes the cause and zone asked for, and leaves the plant as it is for the seed', () => {
    const asked = drawScenario({ seed: 5, kind: 'fault', channels: 'rich', cause: 'coated-thermocouple', zone: 2 })
    expect(asked.faults).toMatchObject([{ cause: 'coated-thermocouple', zone: 2 }])
    expect(asked.benign).toEqual(drawScenario({ seed: 5, kind: 'healthy', channels: 'rich' }).benign)
    expect(drawScenario({ seed: 5, kind: 'healthy', channels: 'rich' }).faults).toEqual([])
  })

  it('has benign events, routine work and dropouts, or none in a quiet life', () => {
    const messy = seeds.map((seed) => drawScenario({ seed, kind: 'healthy', channels: 'minimum' }))
    expect(messy.filter(({ benign }) => (benign?.draughts?.length ?? 0) > 0).length).toBeGreaterThan(50)
    expect(messy.filter(({ traps }) => traps!.some(({ kind }) => kind === 'dropout')).length).toBeGreaterThan(45)
    expect(messy.every(({ cleanings }) => cleanings!.length > 0)).toBe(true)
    expect(drawScenario({ seed: 1, kind: 'healthy', channels: 'minimum', quiet: true })).toMatchObject({ benign: {}, cleanings: [], traps: [] })
  })

  it('fouling: residue builds up and the weekly cleaning takes it back', () => {
    const { moments, events } = truthOf(drawScenario({ seed: 3, kind: 'fouling', channels: 'minimum', days: 14 }))
    const chain = moments.map(({ severities }) => severities.find(({ cause }) => cause === 'dirty-chain')?.severity ?? 0)
    expect(Math.max(...chain)).toBeGreaterThan(0.05)
    const cleaned = events.find((event) => event.kind === 'work' && event.work === 'full-clean')!
    const index = moments.findIndex(({ timeMs }) => timeMs >= cleaned.timeMs)
    expect(chain[index]!).toBeLessThan(0.5 * chain[index - 1]!)
  })
})

describe('demonstration', () => {
  it('the faulty line begins its fault after three and a half production days, the healthy line never', () => {
    for (const seed of seeds) {
      const { faults, durationHours } = demoConfig({ seed, line: 'faulty', startMs: MONDAY_MS })
      expect(durationHours).toBe(192)
      expect(faults).toHaveLength(1)
      expect(DEMO_FAULTS).toContain(faults[0]!.cause)
      expect(faults[0]!.onsetHours).toBeCloseTo(86, 1) // Thursday 14:00
      expect(faults[0]!.growthHours).toBeGreaterThanOrEqual(24)
      expect(faults[0]!.growthHours).toBeLessThanOrEqual(32)
      expect(demoConfig({ seed, line: 'healthy', startMs: MONDAY_MS }).faults).toEqual([])
    }
    expect(new Set(seeds.map((seed) => demoConfig({ seed, line: 'faulty', startMs: MONDAY_MS }).faults[0]!.cause)).size).toBe(DEMO_FAULTS.length)
  })

  it.each(DEMO_FAULTS.map((cause) => [cause]))('%s is severe before the eight days are over', (cause) => {
    const seed = seeds.find((candidate) => demoConfig({ seed: candidate, line: 'faulty', startMs: MONDAY_MS }).faults[0]!.cause === cause)!
    const { moments } = truthOf(demoConfig({ seed, line: 'faulty', startMs: MONDAY_MS }))
    const severity = (timeMs: number): number => moments.filter((moment) => moment.timeMs <= timeMs).at(-1)!.severities.find((entry) => entry.cause === cause)?.severity ?? 0
    expect(severity(MONDAY_MS + 85.5 * 3_600_000)).toBeLessThan(0.01)
    expect(severity(MONDAY_MS + 192 * 3_600_000)).toBeGreaterThan(0.9)
  })

  it('one tick becomes one message', () => {
    const simulation = createSimulation(demoConfig({ seed: 1, line: 'healthy', startMs: MONDAY_MS }))
    let sample = simulation.next()!
    while (sample.timeMs % 60_000 !== 0) sample = simulation.next()!
    const message = JSON.parse(samplesAsMessage(sample)) as { t: number; v: Record<string, unknown> }
    expect(message.t).toBe(sample.timeMs)
    expect(Object.keys(message.v)).toEqual(expect.arrayContaining(['conveyor.speed', 'pot.level', 'preheat.zone-1.temperature']))
  })
})

describe('files', () => {
  const sample = { timeMs: MONDAY_MS, trueMs: MONDAY_MS, values: [['conveyor.speed', 20.01], ['line.recipe', 'a,"b"']] as [string, number | string][], delayed: [['board.defects.skip', 1, MONDAY_MS - 60_000]] as [string, number, number][] }

  it('long form: time, channel, value; texts quoted where they must be', () => {
    expect(longFormRows(sample)).toBe('2026-01-05T00:00:00.000Z,conveyor.speed,20.01\n2026-01-05T00:00:00.000Z,line.recipe,"a,""b"""\n2026-01-04T23:59:00.000Z,board.defects.skip,1\n')
  })

  it('wide form: a column per channel, empty where there is no value', () => {
    const channels = ['pot.level', 'conveyor.speed', 'board.defects.skip']
    expect(wideFormHeader(channels)).toBe('time,pot.level,conveyor.speed,board.defects.skip\n')
    expect(wideFormRows(sample, channels)).toBe('2026-01-05T00:00:00.000Z,,20.01,\n2026-01-04T23:59:00.000Z,,,1\n')
  })

  it('truth: faults with their onset as a time, moments every ten minutes', () => {
    const truth = JSON.parse(truthAsJson(truthOf({ seed: 1, startMs: MONDAY_MS, durationHours: 2, channels: 'minimum', faults: [{ cause: 'dirty-chain', onsetHours: 1.5, growthHours: 1 }] }))) as { faults: unknown[]; moments: unknown[] }
    expect(truth).toMatchObject({ start: '2026-01-05T00:00:00.000Z', end: '2026-01-05T02:00:00.000Z', faults: [{ cause: 'dirty-chain', onset: '2026-01-05T01:30:00.000Z' }] })
    expect(truth.moments).toHaveLength(12)
  })

  it('the description of any drawn line is a line definition', () => {
    for (const seed of seeds.slice(0, 20)) {
      const description = describeLine(drawScenario({ seed, kind: 'healthy', channels: 'rich' }), { line: `sim-${seed}` })
      expect(parseLineDefinition(description).kind, JSON.stringify(parseLineDefinition(description))).toBe('definition')
    }
  })
})
