import { describe, expect, it } from 'vitest'
import { richDefinition, richMachine, type RichFault, type RichMachineOptions } from './other-machine/rich-machine.js'
import { saidByMonitor, type Said } from './other-machine/said-by-monitor.js'

const saidOf = (options: RichMachineOptions): Said[] => saidByMonitor(richDefinition(options), richMachine(options))

/** After three production days, on a Thursday morning. */
const fault = (kind: string, zone?: number): RichFault => ({ kind, ...(zone === undefined ? {} : { zone }), onsetHours: 3 * 24 + 8, growthHours: 24 })

describe('the detector on a machine it was not made from, with all channels', () => {
  it('is silent through changeovers, exhaust, stops and top-ups', () => {
    expect(saidOf({ seed: 21, days: 8, zones: 3, periodS: 5, feed: 'pressure' }).map(({ suggestion }) => suggestion.causes[0]?.cause)).toEqual([])
  }, 180_000)

  it.each([
    { seed: 1, feed: 'pressure' as const, fault: fault('clogged-blower', 2), section: 'preheat', zone: 2, by: 0.4 },
    { seed: 2, feed: 'metered-pump' as const, fault: fault('dosing-off'), section: 'fluxer', by: 0.3 },
    { seed: 10, feed: 'pressure' as const, fault: fault('stroke-too-wide'), section: 'fluxer', by: 0.3 },
    { seed: 3, feed: 'pressure' as const, fault: fault('dry-chain'), section: 'transport', by: 0.4 },
    { seed: 17, feed: 'pressure' as const, fault: fault('dross-at-intake'), section: 'pot', by: 0.4 },
  ])('finds its place and its cause or group: $fault.kind', ({ section, zone, by, ...line }) => {
    const [first] = saidOf({ ...line, days: 8, zones: 3, periodS: 5 })
    if (first === undefined) throw new Error(`nothing was suggested for ${line.fault.kind}`)
    const lead = first.suggestion.causes[0]!
    expect(first.severity).toBeGreaterThan(0)
    expect(first.severity).toBeLessThanOrEqual(by)
    expect(first.suggestion.section).toBe(section)
    expect(first.suggestion.zone).toBe(zone)
    expect(lead.members ?? [lead.cause]).toContain(line.fault.kind)
  }, 180_000)
})
