import { describe, expect, it } from 'vitest'
import type { LineDefinitionInput } from '../../src/line/line-definition.js'
import { otherMachine, type OtherFault, type OtherMachineOptions } from './other-machine/other-machine.js'
import { saidByMonitor, type Said } from './other-machine/said-by-monitor.js'

const HOUR_MS = 3_600_000

/** The line of the other machine as a site would describe it: channels and zones, nothing of its parts. */
function definitionOf({ zones, periodS, publishesSetpoints }: OtherMachineOptions): LineDefinitionInput {
  const numbers = Array.from({ length: zones }, (_, index) => index + 1)
  return {
    line: 'other-machine',
    machine: { zones: numbers.map(() => ({})) },
    channels: [
      ...numbers.map((zone) => ({ channel: `preheat.zone-${zone}.temperature`, periodS })),
      { channel: 'conveyor.speed', periodS },
      { channel: 'pot.level', periodS: Math.max(10, 2 * periodS) },
      ...(publishesSetpoints ? [...numbers.map((zone) => ({ channel: `preheat.zone-${zone}.setpoint`, periodS: 60 })), { channel: 'conveyor.setpoint', periodS: 60 }] : []),
    ],
  }
}

const suggestionsOf = (options: OtherMachineOptions): Said[] => saidByMonitor(definitionOf(options), otherMachine(options))

/** After four production days, on a Friday morning; the line works on through the weekend or not. */
const fault = (kind: OtherFault['kind'], growthHours: number, zone?: number): OtherFault => ({ kind, ...(zone === undefined ? {} : { zone }), onsetHours: 4 * 24 + 8, growthHours })

describe('the detector on a machine it was not made from', () => {
  it.each([
    { seed: 2, zones: 5, periodS: 10, publishesSetpoints: false },
    { seed: 5, zones: 3, periodS: 5, publishesSetpoints: true },
    { seed: 4, zones: 7, periodS: 30, publishesSetpoints: false },
  ])('is silent through shifts, changeovers, top-ups, stops and draughts: %o', (line) => {
    expect(suggestionsOf({ ...line, days: 6 }).map(({ suggestion }) => suggestion.causes[0]?.cause)).toEqual([])
  }, 180_000)

  it.each([
    { seed: 2, zones: 4, periodS: 5, publishesSetpoints: false, fault: fault('coated-thermocouple', 24, 3), section: 'preheat', zone: 3, cause: 'coated-thermocouple', by: 0.5 },
    { seed: 3, zones: 3, periodS: 10, publishesSetpoints: true, fault: fault('rough-chain', 24), section: 'transport', cause: 'dirty-chain', by: 0.5 },
    { seed: 8, zones: 3, periodS: 30, publishesSetpoints: false, fault: fault('dry-chain', 24), section: 'transport', cause: 'dry-chain', by: 0.8 },
    { seed: 9, zones: 3, periodS: 10, publishesSetpoints: true, fault: fault('slow-drive', 12), section: 'transport', cause: 'worn-drive', by: 0.8 },
    { seed: 10, zones: 3, periodS: 10, publishesSetpoints: false, fault: fault('falling-level', 10), section: 'pot', cause: 'low-level', by: 0.6 },
    { seed: 4, zones: 4, periodS: 10, publishesSetpoints: false, fault: fault('weak-element', 24, 2), section: 'preheat', zone: 2, cause: 'ageing-element', by: 1 },
  ])('finds its place and its cause or group: $fault.kind', ({ section, cause, by, zone, ...line }) => {
    const [first] = suggestionsOf({ ...line, days: 8 })
    if (first === undefined) throw new Error(`nothing was suggested for ${line.fault.kind}`)
    const lead = first.suggestion.causes[0]!
    expect(first.severity).toBeGreaterThan(0)
    expect(first.severity).toBeLessThanOrEqual(by)
    expect(first.suggestion.section).toBe(section)
    expect(first.suggestion.zone).toBe(zone)
    expect(lead.members ?? [lead.cause]).toContain(cause)
    expect(first.suggestion.onsetMs).toBeLessThanOrEqual(first.suggestion.raisedMs)
    expect(first.suggestion.raisedMs - first.suggestion.onsetMs).toBeLessThan(96 * HOUR_MS)
  }, 180_000)
})
