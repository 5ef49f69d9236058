import type { SimulationConfig } from '../../../src/simulator/simulation-config.js'
import { createSimulation, type Simulation } from '../../../src/simulator/simulation.js'

export interface ChannelStatistics {
  readonly mean: number
  readonly sd: number
  readonly min: number
  readonly max: number
  readonly values: number[]
  readonly timesMs: number[]
}

/** 2026-01-05, a Monday, 00:00 UTC. */
export const MONDAY_MS = Date.UTC(2026, 0, 5)

/** The reference line in endless production, boards as given, all channels; the first hours are left out. */
export function studyProduction(change: Partial<SimulationConfig>, options: { readonly hours?: number; readonly skipHours?: number } = {}): Record<string, ChannelStatistics> {
  const hours = options.hours ?? 6
  const skipHours = options.skipHours ?? 2
  const simulation = createSimulation({ seed: 11, startMs: MONDAY_MS, durationHours: hours + skipHours, channels: 'rich', faults: [], alwaysProducing: true, ...change })
  return collect(simulation, MONDAY_MS + skipHours * 3_600_000)
}

/** Numbers of every channel from a time on, as they are stamped. */
export function collect(simulation: Simulation, fromMs = 0): Record<string, ChannelStatistics> {
  const byChannel = new Map<string, { values: number[]; timesMs: number[] }>()
  const take = (channel: string, value: number | string, timeMs: number): void => {
    if (typeof value !== 'number' || timeMs < fromMs) return
    let entry = byChannel.get(channel)
    if (entry === undefined) byChannel.set(channel, (entry = { values: [], timesMs: [] }))
    entry.values.push(value)
    entry.timesMs.push(timeMs)
  }
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    for (const [channel, value] of sample.values) take(channel, value, sample.timeMs)
    for (const [channel, value, timeMs] of sample.delayed) take(channel, value, timeMs)
  }
  return Object.fromEntries(Array.from(byChannel, ([channel, { values, timesMs }]) => [channel, { ...statisticsOf(values), values, timesMs }]))
}

export function statisticsOf(values: readonly number[]): { mean: number; sd: number; min: number; max: number } {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length
  const sd = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length)
  return { mean, sd, min: values.reduce((low, value) => Math.min(low, value), Infinity), max: values.reduce((high, value) => Math.max(high, value), -Infinity) }
}

/** Values while flux is sprayed. */
export function whileSpraying(channels: Record<string, ChannelStatistics>, channel: string): ReturnType<typeof statisticsOf> {
  const on = channels['fluxer.spray-on']!
  const spraying = new Set(on.timesMs.filter((_, index) => on.values[index] === 1))
  const { values, timesMs } = channels[channel]!
  return statisticsOf(values.filter((_, index) => spraying.has(timesMs[index]!)))
}
