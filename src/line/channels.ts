import type { Section } from './feature-value.js'
import { unitConversion, unitNamesFor, type BaseUnit } from './units.js'

/** What is known of a channel before any line is described. */
export interface ChannelKind {
  /** Channel id; `<n>` stands for a zone number from 1, `<kind>` and `<name>` for a word of the site. */
  readonly pattern: string
  readonly section: Section
  readonly unit: BaseUnit
  readonly valueType: 'number' | 'text'
  /** Values outside cannot be true readings, whatever the line; base unit. */
  readonly possibleMin: number
  readonly possibleMax: number
  /** Usual time between readings; the lateness bound is two of them unless the line says otherwise. */
  readonly periodS: number
  /** Per-board and hand-measured values may come up to a day late and are taken in the order they come. */
  readonly arrival: 'streaming' | 'delayed' | 'on-change'
  /** Belongs to the smallest set the tool works with. */
  readonly minimum: boolean
  /** Further units a source may use; their numbers are kept as they are, since only changes against the line's own normal count. */
  readonly unitsAsIs: readonly string[]
}

/**
 * The channels a line can have. Ranges are common practice, no source: wide enough that only a broken sensor, a wrong
 * unit or an error code (0, 850, -200 °C) falls outside; no hall with a wave line in it is as cold as 2 °C.
 */
export const CHANNEL_KINDS: readonly ChannelKind[] = [
  kind('preheat.zone-<n>.temperature', 'preheat', '°C', 2, 800, 5, { minimum: true }),
  kind('preheat.zone-<n>.setpoint', 'preheat', '°C', -40, 800, 60, { arrival: 'on-change' }),
  kind('preheat.zone-<n>.duty', 'preheat', '%', 0, 100, 5),
  kind('preheat.zone-<n>.blower-current', 'preheat', 'A', 0, 100, 5),
  kind('conveyor.speed', 'transport', 'mm/s', -5, 200, 1, { minimum: true }),
  kind('conveyor.setpoint', 'transport', 'mm/s', 0, 200, 60, { arrival: 'on-change' }),
  kind('conveyor.speed-sd', 'transport', 'mm/s', 0, 200, 1),
  kind('conveyor.speed-min', 'transport', 'mm/s', -200, 400, 1),
  kind('conveyor.speed-max', 'transport', 'mm/s', -200, 400, 1),
  kind('conveyor.current', 'transport', 'A', 0, 100, 1),
  kind('pot.level', 'pot', 'mm', -500, 500, 30, { minimum: true }),
  kind('pot.temperature', 'pot', '°C', 2, 500, 5),
  kind('pot.setpoint', 'pot', '°C', 0, 500, 60, { arrival: 'on-change' }),
  kind('pot.duty', 'pot', '%', 0, 100, 5),
  kind('pot.pump-speed', 'pot', '%', 0, 5000, 5, { unitsAsIs: ['rpm', '1/min', 'Hz'] }),
  kind('pot.wave-height', 'pot', 'mm', -20, 60, 5),
  kind('fluxer.flow', 'fluxer', 'mL/min', -1, 2000, 1),
  kind('fluxer.pressure', 'fluxer', 'bar', -0.2, 20, 1),
  kind('fluxer.spray-on', 'fluxer', 'none', 0, 1, 1),
  kind('board.count', 'line', 'count', 0, 1e12, 30),
  kind('board.topside-temperature', 'line', '°C', -40, 300, 30, { arrival: 'delayed' }),
  kind('board.defects.<kind>', 'line', 'count', 0, 1e6, 60, { arrival: 'delayed' }),
  kind('line.recipe', 'line', 'none', 0, 0, 60, { arrival: 'on-change', valueType: 'text' }),
  kind('line.state', 'line', 'none', 0, 0, 60, { arrival: 'on-change', valueType: 'text' }),
  kind('ambient.temperature', 'line', '°C', -40, 80, 60),
  kind('exhaust.pressure', 'line', 'Pa', -5000, 5000, 10),
  // what the boards belong to, for quality; texts
  kind('custom.lot', 'line', 'none', 0, 0, 60, { arrival: 'on-change', valueType: 'text' }),
  kind('custom.order', 'line', 'none', 0, 0, 60, { arrival: 'on-change', valueType: 'text' }),
  kind('custom.<name>', 'line', 'none', -1e15, 1e15, 60),
]

interface KindOptions {
  readonly arrival?: ChannelKind['arrival']
  readonly valueType?: ChannelKind['valueType']
  readonly minimum?: boolean
  readonly unitsAsIs?: readonly string[]
}

function kind(pattern: string, section: Section, unit: BaseUnit, possibleMin: number, possibleMax: number, periodS: number, options: KindOptions = {}): ChannelKind {
  const { arrival = 'streaming', valueType = 'number', minimum = false, unitsAsIs = [] } = options
  return { pattern, section, unit, possibleMin, possibleMax, periodS, arrival, valueType, minimum, unitsAsIs }
}

const KIND_EXPRESSIONS = CHANNEL_KINDS.map((channelKind) => {
  const source = channelKind.pattern
    .replaceAll('.', '\\.')
    .replace('<n>', '([1-9][0-9]?)')
    .replace(/<(kind|name)>/, '([a-z0-9][a-z0-9-]{0,63})')
  return { channelKind, expression: new RegExp(`^${source}$`) }
})

/** The kind of a channel id, with the zone number where it has one; undefined for an id no kind matches. */
export function channelKindOf(channel: string): { readonly channelKind: ChannelKind; readonly zone?: number } | undefined {
  for (const { channelKind, expression } of KIND_EXPRESSIONS) {
    const match = expression.exec(channel)
    if (match === null) continue
    return channelKind.pattern.includes('<n>') ? { channelKind, zone: Number(match[1]) } : { channelKind }
  }
  return undefined
}

/** Factor and offset that bring a source's number to the channel's base unit. */
export type ChannelConversion = { readonly kind: 'conversion'; readonly factor: number; readonly offset: number } | { readonly kind: 'unknown-unit'; readonly expected: string }

/** How a channel's readings in `unit` become its base unit. A channel without a unit of its own takes numbers in any. */
export function channelConversion(channelKind: ChannelKind, unit: string): ChannelConversion {
  const asIs = channelKind.unit === 'none' || channelKind.unitsAsIs.some((name) => name.toLowerCase() === unit.trim().toLowerCase())
  if (asIs) return { kind: 'conversion', factor: 1, offset: 0 }
  const conversion = unitConversion(unit, channelKind.unit)
  if (conversion === undefined) return { kind: 'unknown-unit', expected: [...unitNamesFor(channelKind.unit), ...channelKind.unitsAsIs].join(', ') }
  return { kind: 'conversion', factor: conversion.factor, offset: conversion.offset }
}
