import type { SimulationConfig } from './simulation-config.js'
import type { SiteParameters } from './site-parameters.js'
import { createSimulation, type Simulation } from './simulation.js'

/** What a person would write down about the simulated line; the form of a line definition, always `simulated: true`. */
export interface LineDescription {
  schemaVersion: 1
  line: string
  title: string
  timeZone: 'UTC'
  simulated: true
  machine: {
    fluxer: { feed: 'pressure' | 'metered-pump' }
    zones: { kind: 'convection' | 'radiant'; thermocouple: 'board-air' | 'heater-outlet' | 'on-element'; blower: 'fixed-speed' | 'constant-flow' }[]
    conveyor: { chainPitchMm: number; sprocketTeeth: number; chainLoopM: number; fingerPitchMm: number; speedSensor: 'chain' | 'motor' }
    pot: { surfaceAreaM2: number; levelBandMm: [number, number]; levelAlarmMm: number }
  }
  channels: { channel: string; periodS: number; latenessS?: number }[]
  shifts: { name: string; days: string[]; start: string; end: string }[]
}

const DAYS = ['sun', 'mon', 'tue', 'wed', 'thu', 'fri', 'sat']

/** Describes the line of a simulation as far as a plant would know it: nothing of the faults. */
export function describeLine(source: Simulation | SimulationConfig, options: { readonly line: string; readonly title?: string }): LineDescription {
  const { site, published } = 'next' in source ? source : createSimulation(source)
  const { habits } = site
  const shiftMinutes = (habits.dayEndMinute - habits.dayStartMinute) / habits.shiftsPerDay
  return {
    schemaVersion: 1,
    line: options.line,
    title: options.title ?? `Simulated line ${options.line}`,
    timeZone: 'UTC',
    simulated: true,
    machine: {
      fluxer: { feed: site.fluxer.feed },
      zones: site.zones.map(({ kind, thermocouple, blower }) => ({ kind, thermocouple, blower })),
      conveyor: {
        chainPitchMm: site.conveyor.chainPitchMm,
        sprocketTeeth: site.conveyor.sprocketTeeth,
        chainLoopM: Number((site.conveyor.chainLoopMm / 1000).toFixed(4)),
        fingerPitchMm: site.conveyor.fingerPitchMm,
        speedSensor: site.conveyor.speedSensor,
      },
      pot: { surfaceAreaM2: Number(site.pot.surfaceAreaM2.toFixed(3)), levelBandMm: [-5, 5], levelAlarmMm: -10 },
    },
    channels: published.map(({ channel, periodS, perBoard }) => (perBoard ? { channel, periodS: boardPeriodS(site), latenessS: 86_400 } : { channel, periodS })),
    shifts: Array.from({ length: habits.shiftsPerDay }, (_, index) => ({
      name: `shift ${index + 1}`,
      days: habits.workdays.map((day) => DAYS[day]!),
      start: clock(habits.dayStartMinute + index * shiftMinutes),
      end: clock(habits.dayStartMinute + (index + 1) * shiftMinutes),
    })),
  }
}

function boardPeriodS(site: SiteParameters): number {
  return site.recipes[0]?.boardIntervalS ?? 30
}

function clock(minute: number): string {
  const whole = Math.round(minute) % 1440
  return `${String(Math.floor(whole / 60)).padStart(2, '0')}:${String(whole % 60).padStart(2, '0')}`
}
