import { describe, expect, it } from 'vitest'
import type { FaultEpisode, MaintenanceWork } from '../../../src/simulator/simulation-config.js'
import { referenceSite } from '../../../src/simulator/site-parameters.js'
import { createSimulation, truthOf } from '../../../src/simulator/simulation.js'
import { fastPart } from '../../golden/simulator/zone-study.js'
import { collect, MONDAY_MS, statisticsOf, studyProduction } from './telemetry-study.js'

const at = (cause: string, severityEnd: number, more: Partial<FaultEpisode> = {}): FaultEpisode => ({ cause, onsetHours: 0, growthHours: 0, shape: 'step', severityEnd, ...more })

describe('behaviour a simulator of this process must show', () => {
  it('the controller hides preheat faults: the mean reading stays within 0.1 °C of its set-point', () => {
    for (const cause of ['clogged-blower', 'coated-emitter', 'blocked-vents', 'coated-thermocouple']) {
      const study = studyProduction({ channels: ['preheat.zone-3.temperature'], faults: [at(cause, 0.8, { zone: 3 })] }, { hours: 12 })
      expect(Math.abs(study['preheat.zone-3.temperature']!.mean - 150), cause).toBeLessThan(0.1)
    }
  })

  it('a coated thermocouple of 20 s halves the fast part of the reading and swells the whole under batch load', () => {
    const config = { channels: ['preheat.zone-3.temperature'], periodsS: { '*': 1 } }
    const site = referenceSite()
    for (const zone of site.zones) zone.sensorLagMaxS = 20
    const clean = studyProduction({ ...config, site }, { hours: 12 })['preheat.zone-3.temperature']!
    const coated = studyProduction({ ...config, site, faults: [at('coated-thermocouple', 1, { zone: 3 })] }, { hours: 12 })['preheat.zone-3.temperature']!
    expect(statisticsOf(fastPart(coated.values)).sd).toBeLessThan(0.6 * statisticsOf(fastPart(clean.values)).sd)
    expect(coated.sd).toBeGreaterThan(1.1 * clean.sd)
  })

  it('dry chain and sticky grease both raise the current; only the dry chain roughens the speed when warm', () => {
    const config = { channels: ['conveyor.current', 'conveyor.speed'] }
    const clean = studyProduction(config)
    const dry = studyProduction({ ...config, faults: [at('dry-chain', 1)] })
    const sticky = studyProduction({ ...config, faults: [at('sticky-grease', 1)] })
    expect(dry['conveyor.current']!.mean).toBeGreaterThan(clean['conveyor.current']!.mean + 0.1)
    expect(sticky['conveyor.current']!.mean).toBeGreaterThan(clean['conveyor.current']!.mean + 0.1)
    expect(dry['conveyor.speed']!.sd).toBeGreaterThan(2.5 * clean['conveyor.speed']!.sd)
    expect(sticky['conveyor.speed']!.sd).toBeLessThan(1.2 * clean['conveyor.speed']!.sd)
  })

  it('a top-up is a step of the level and a dip of the pot, and does not change the slope', () => {
    const site = referenceSite()
    site.habits.skimsPerShift = 0
    site.pot.levelQuantumMm = 0.1
    const topUp: MaintenanceWork = { atHours: 7, work: 'top-up', causes: [] }
    const config = { seed: 3, startMs: MONDAY_MS, durationHours: 14, channels: ['pot.level', 'pot.temperature'], faults: [], alwaysProducing: true, benign: { topUps: false }, site }
    const before = collect(createSimulation(config))
    const after = collect(createSimulation({ ...config, cleanings: [topUp] }))
    const hoursOf = (study: ReturnType<typeof collect>, channel: string, from: number, to: number): { hours: number[]; values: number[] } => {
      const { timesMs, values } = study[channel]!
      const inside = timesMs.map((timeMs, index) => ({ hours: (timeMs - MONDAY_MS) / 3_600_000, value: values[index]! })).filter(({ hours }) => hours > from && hours <= to)
      return { hours: inside.map(({ hours }) => hours), values: inside.map(({ value }) => value) }
    }
    const barsKg = truthOf({ ...config, cleanings: [topUp] }).events.reduce((sum, event) => sum + (event.kind === 'top-up' ? event.kg : 0), 0)
    expect(barsKg).toBeGreaterThanOrEqual(5)
    const step = statisticsOf(hoursOf(after, 'pot.level', 7.5, 8).values).mean - statisticsOf(hoursOf(before, 'pot.level', 7.5, 8).values).mean
    expect(step).toBeCloseTo(barsKg / 1.89, 0)
    expect(slope(hoursOf(after, 'pot.level', 7.5, 14)) / slope(hoursOf(before, 'pot.level', 7.5, 14))).toBeCloseTo(1, 1)
    const dip = statisticsOf(hoursOf(before, 'pot.temperature', 7, 7.3).values).min - statisticsOf(hoursOf(after, 'pot.temperature', 7, 7.3).values).min
    expect(dip).toBeGreaterThan(1)
    const recovered = statisticsOf(hoursOf(after, 'pot.temperature', 9, 14).values).mean - statisticsOf(hoursOf(before, 'pot.temperature', 9, 14).values).mean
    expect(Math.abs(recovered)).toBeLessThan(0.2)
  })

  it('the level falls by the mass balance, about 1 mm/h at 120 boards/h without pauses', () => {
    const site = referenceSite()
    site.habits = { ...site.habits, batchOffS: 0, skimsPerShift: 0 }
    const study = studyProduction({ site, channels: ['pot.level'], benign: { topUps: false } }, { hours: 16 })
    const { timesMs, values } = study['pot.level']!
    expect(slope({ hours: timesMs.map((timeMs) => timeMs / 3_600_000), values })).toBeCloseTo(-1.06, 1)
  })

  it('washing a dirty chain without lubrication raises the current, with lubrication it falls', () => {
    const currentAfter = (lubricated: boolean): { before: number; after: number; film: number } => {
      const config = {
        seed: 5,
        startMs: MONDAY_MS,
        durationHours: 16,
        channels: ['conveyor.current'],
        faults: [at('dirty-chain', 0.7)],
        alwaysProducing: true,
        cleanings: [{ atHours: 6, work: 'full-clean' as const, causes: ['dirty-chain'], lubricated, durationHours: 1 }],
      }
      const simulation = createSimulation(config)
      const { values, timesMs } = collect(simulation)['conveyor.current']!
      const mean = (from: number, to: number): number => statisticsOf(values.filter((_, index) => timesMs[index]! > MONDAY_MS + from * 3_600_000 && timesMs[index]! <= MONDAY_MS + to * 3_600_000)).mean
      return { before: mean(3, 5.9), after: mean(11, 16), film: truthOf(simulation).moments.at(-1)!.film }
    }
    const dry = currentAfter(false)
    const wet = currentAfter(true)
    expect(dry.before).toBeCloseTo(wet.before, 9)
    expect(dry.after).toBeGreaterThan(dry.before + 0.03)
    expect(wet.after).toBeLessThan(wet.before - 0.03)
    expect([dry.film, wet.film]).toEqual([0, 1])
  })

  it('the current falls in the first hour while the lubricant warms', () => {
    const { values } = studyProduction({ channels: ['conveyor.current'] }, { hours: 2, skipHours: 0 })['conveyor.current']!
    const early = statisticsOf(values.slice(60, 360)).mean
    const late = statisticsOf(values.slice(-300)).mean
    expect(1 - late / early).toBeGreaterThan(0.05)
    expect(1 - late / early).toBeLessThan(0.15)
  })

  it('draught moves all zones together, load only what carries boards', () => {
    const zones = ['preheat.zone-1.temperature', 'preheat.zone-3.temperature']
    const draught = studyProduction({ channels: zones, benign: { draughts: [{ atHours: 0, hours: 99, sd: 0.15 }] } }, { hours: 16 })
    expect(correlation(draught[zones[0]!]!.values, draught[zones[1]!]!.values)).toBeGreaterThan(0.5)
  })

  it('jumps come as often as stated: 6 an hour at severity 0.5 of a dirty chain, 60 at 1, almost none clean', () => {
    const jumpsPerHour = (severity: number): number => {
      const { moments } = truthOf({ seed: 2, startMs: MONDAY_MS, durationHours: 40, channels: 'minimum', faults: severity > 0 ? [at('dirty-chain', severity)] : [], alwaysProducing: true })
      return (moments.at(-1)!.jumps - moments[11]!.jumps) / ((moments.at(-1)!.timeMs - moments[11]!.timeMs) / 3_600_000)
    }
    expect(jumpsPerHour(0)).toBeLessThan(0.4)
    expect(Math.abs(jumpsPerHour(0.5) - 6)).toBeLessThan(1.5)
    expect(Math.abs(jumpsPerHour(1) - 60)).toBeLessThan(6)
  })
})

function slope({ hours, values }: { readonly hours: readonly number[]; readonly values: readonly number[] }): number {
  const meanHours = statisticsOf(hours).mean
  const meanValue = statisticsOf(values).mean
  let cross = 0
  let square = 0
  hours.forEach((hour, index) => {
    cross += (hour - meanHours) * (values[index]! - meanValue)
    square += (hour - meanHours) ** 2
  })
  return cross / square
}

function correlation(first: readonly number[], second: readonly number[]): number {
  const a = statisticsOf(first)
  const b = statisticsOf(second)
  return first.reduce((sum, value, index) => sum + (value - a.mean) * (second[index]! - b.mean), 0) / first.length / a.sd / b.sd
}
