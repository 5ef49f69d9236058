import { demoConfig } from '../../src/simulator/demo-line.js'
import { createSimulation } from '../../src/simulator/simulation.js'
import type { SiteParameters } from '../../src/simulator/site-parameters.js'

const WEEK_HOURS = 168
/** Hours of production in a week of five days and two shifts. */
const PRODUCTION_HOURS = 80

/**
 * Twelve weeks of a simulated line as a plant would have logged them: five columns, a row a minute. From week 4 the
 * elements of zone 2 grow weak, from week 7 the chain gets dirty, in week 10 it is washed and lubricated.
 *
 * @returns CSV text, and when each fault began, ms UTC
 */
export function twelveWeeks(): { readonly csv: string; readonly weakFromMs: number; readonly dirtyFromMs: number } {
  const startMs = Date.UTC(2026, 0, 5)
  const base = demoConfig({ seed: 3, line: 'healthy', startMs })
  const site = base.site as SiteParameters
  const channels = ['preheat.zone-1.temperature', 'preheat.zone-2.temperature', 'preheat.zone-3.temperature', 'conveyor.speed', 'pot.level']
  const [weakHours, dirtyHours] = [3 * WEEK_HOURS, 6 * WEEK_HOURS]
  const simulation = createSimulation({
    ...base,
    site: { ...site, habits: { ...site.habits, workdays: [1, 2, 3, 4, 5] } },
    durationHours: 12 * WEEK_HOURS,
    channels,
    periodsS: { '*': 60 },
    faults: [
      { cause: 'ageing-element', zone: 2, onsetHours: weakHours, growthHours: 6 * PRODUCTION_HOURS, shape: 'linear' },
      { cause: 'dirty-chain', onsetHours: dirtyHours, growthHours: 3 * PRODUCTION_HOURS },
    ],
    cleanings: [{ atHours: 9 * WEEK_HOURS + 10, work: 'full-clean', causes: ['dirty-chain'], durationHours: 4 }],
  })
  const rows = ['Time;Zone 1 [°C];Zone 2 [°C];Zone 3 [°C];Chain speed [mm/s];Solder level']
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    const values = new Map(sample.values)
    rows.push([new Date(sample.timeMs).toISOString(), ...channels.map((channel) => String(values.get(channel) ?? '').replace('.', ','))].join(';'))
  }
  return { csv: `${rows.join('\n')}\n`, weakFromMs: startMs + weakHours * 3_600_000, dirtyFromMs: startMs + dirtyHours * 3_600_000 }
}
