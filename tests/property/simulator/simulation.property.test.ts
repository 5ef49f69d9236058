import { createHash } from 'node:crypto'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { FaultLedger } from '../../../src/simulator/fault-ledger.js'
import { RandomStream } from '../../../src/simulator/random-stream.js'
import { SIMULATED_FAULTS, type SimulatedFault } from '../../../src/simulator/simulation-causes.js'
import type { FaultEpisode, MaintenanceWorkKind, SimulationConfig } from '../../../src/simulator/simulation-config.js'
import { createSimulation, siteOf, truthOf } from '../../../src/simulator/simulation.js'
import { SimulatedLine } from '../../../src/simulator/simulated-line.js'
import { kgPerMm } from '../../../src/simulator/solder-pot.js'
import { waveHeightMm } from '../../../src/simulator/solder-wave.js'
import { longFormRows } from '../../../src/simulator/telemetry-file.js'

const MONDAY_MS = Date.UTC(2026, 0, 5)
const causes = Object.keys(SIMULATED_FAULTS) as SimulatedFault[]

const seedArbitrary = fc.integer({ min: -1_000_000, max: 1_000_000 })
const causeArbitrary = fc.constantFrom(...causes)
const episodeArbitrary = fc.record({ cause: causeArbitrary, growthHours: fc.double({ min: 0, max: 40, noNaN: true }), severityEnd: fc.double({ min: 0.05, max: 1, noNaN: true }) })

function episode({ cause, growthHours, severityEnd }: { cause: SimulatedFault; growthHours: number; severityEnd: number }, onsetHours: number): FaultEpisode {
  return { cause, growthHours, severityEnd, onsetHours, ...(SIMULATED_FAULTS[cause].zoned ? { zone: 1 } : {}) }
}

function textOf(config: SimulationConfig, untilMs = Infinity): string {
  const simulation = createSimulation(config)
  let text = ''
  for (let sample = simulation.next(); sample !== undefined && sample.trueMs <= untilMs; sample = simulation.next()) text += longFormRows(sample)
  return text
}

describe('simulation', () => {
  it('gives the same bytes for the same configuration, others for another seed', () => {
    fc.assert(
      fc.property(seedArbitrary, episodeArbitrary, (seed, drawn) => {
        const config: SimulationConfig = { seed, startMs: MONDAY_MS + 6 * 3_600_000, durationHours: 0.4, channels: 'rich', faults: [episode(drawn, 0)], site: 'drawn', alwaysProducing: true }
        const hash = (text: string): string => createHash('sha256').update(text).digest('hex')
        const first = hash(textOf(config))
        expect(hash(textOf(config))).toBe(first)
        expect(hash(textOf({ ...config, seed: seed + 1 }))).not.toBe(first)
      }),
      { numRuns: 5 },
    )
  })

  it('publishes the same values of a channel whatever other channels are published', () => {
    fc.assert(
      fc.property(seedArbitrary, (seed) => {
        const config: SimulationConfig = { seed, startMs: MONDAY_MS, durationHours: 1, channels: 'minimum', faults: [], alwaysProducing: true, periodsS: { '*': 5 } }
        const kept = new Set(createSimulation(config).channels)
        const rich = textOf({ ...config, channels: 'rich' })
          .split('\n')
          .filter((row) => kept.has(row.split(',')[1] ?? ''))
        expect(rich).toEqual(textOf(config).split('\n').slice(0, -1))
      }),
      { numRuns: 6 },
    )
  })

  it('is not touched by a fault before its onset', () => {
    fc.assert(
      fc.property(seedArbitrary, episodeArbitrary, (seed, drawn) => {
        const config: SimulationConfig = { seed, startMs: MONDAY_MS, durationHours: 2, channels: 'rich', faults: [], alwaysProducing: true }
        const onsetMs = MONDAY_MS + 3_600_000
        const faulty = { ...config, faults: [episode({ ...drawn, growthHours: 0 }, 1)] }
        expect(textOf(faulty, onsetMs - 60_000)).toBe(textOf(config, onsetMs - 60_000))
      }),
      { numRuns: 5 },
    )
  })

  it('keeps the solder: what the level lost is what boards, dross, skimming and draining took, less what was added', () => {
    fc.assert(
      fc.property(seedArbitrary, fc.boolean(), (seed, draining) => {
        const config: SimulationConfig = { seed, startMs: MONDAY_MS, durationHours: 20, channels: 'minimum', site: 'drawn', faults: draining ? [{ cause: 'low-level', onsetHours: 4, growthHours: 8 }] : [], alwaysProducing: true }
        const line = new SimulatedLine(config, siteOf(config))
        const startMm = line.pot.levelMm
        for (let second = 0; second < 20 * 3600; second += 1) line.step()
        const { added, dragged, dross, skimmed, drained } = line.pot.books
        const heldKg = (line.pot.levelMm - startMm) * kgPerMm(line.site.pot.surfaceAreaM2)
        expect(heldKg).toBeCloseTo(added - dragged - dross - skimmed - drained, 6)
        for (const kg of [added, dragged, dross, skimmed, drained]) expect(kg).toBeGreaterThanOrEqual(0)
        expect(dragged).toBeGreaterThan(0)
      }),
      { numRuns: 4 },
    )
  })

  it('keeps every number finite and every temperature between the hall and the elements, whatever the fault', () => {
    fc.assert(
      fc.property(seedArbitrary, episodeArbitrary, (seed, drawn) => {
        const simulation = createSimulation({ seed, startMs: MONDAY_MS + 5 * 3_600_000, durationHours: 4, channels: 'rich', site: 'drawn', faults: [episode({ ...drawn, growthHours: 0 }, 0)], benign: { exhausts: [{ atHours: 2, factor: 1.3 }] } })
        for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
          for (const [channel, value] of sample.values) {
            if (typeof value === 'string') continue
            if (!Number.isFinite(value)) throw new Error(`${channel} is ${value}`)
            if (/zone.*temperature/.test(channel) && (value < 10 || value > 420)) throw new Error(`${channel} is ${value}`)
            if (/duty/.test(channel) && (value < 0 || value > 100)) throw new Error(`${channel} is ${value}`)
          }
        }
        expect(truthOf(simulation).moments).toHaveLength(24)
      }),
      { numRuns: 6 },
    )
  })
})

describe('severities', () => {
  it('stay in 0 to 1 and never fall without work, and end where they are meant to', () => {
    fc.assert(
      fc.property(episodeArbitrary, fc.double({ min: 0, max: 1, noNaN: true }), (drawn, naturalRate) => {
        const zone = SIMULATED_FAULTS[drawn.cause].zoned ? 1 : 0
        const ledger = new FaultLedger(2, [episode(drawn, 0)], naturalRate, 400, new RandomStream(1, 'faults'))
        let last = 0
        for (let step = 1; step <= 500; step += 1) {
          ledger.advance({ hours: 0.1, elapsedHours: step / 10, producing: step % 7 !== 0, hot: true, boards: 12 })
          const severity = ledger.severityOf(drawn.cause, zone)
          // Baking moves residue from one book to the other: rounding only.
          if (severity < last - 1e-12 || severity > 1) throw new Error(`severity ${severity} after ${last}`)
          last = severity
        }
        // The level of the pot is a mass balance of its own.
        if (drawn.cause !== 'low-level') expect(last).toBeGreaterThanOrEqual(drawn.severityEnd - 1e-3)
      }),
      // Drawn once: the last mass was a rounding above its end.
      { numRuns: 60, examples: [[{ cause: 'blocked-vents', growthHours: 0, severityEnd: 0.9999999999999999 }, 0]] },
    )
  })

  it('never rise by cleaning, but for the film that washing takes off', () => {
    const works: readonly MaintenanceWorkKind[] = ['full-clean', 'wipe', 'solvent-wipe', 'repair', 'lubricate', 'top-up', 'skim']
    fc.assert(
      fc.property(episodeArbitrary, fc.constantFrom(...works), fc.boolean(), (drawn, work, lubricated) => {
        const ledger = new FaultLedger(2, [episode({ ...drawn, growthHours: 5 }, 0)], 0.5, 400, new RandomStream(2, 'faults'))
        for (let step = 1; step <= 200; step += 1) ledger.advance({ hours: 0.1, elapsedHours: step / 10, producing: true, hot: true, boards: 12 })
        const before = causes.flatMap((cause) => (SIMULATED_FAULTS[cause].zoned ? [1, 2] : [0]).map((zone) => [cause, zone, ledger.severityOf(cause, zone)] as const))
        ledger.perform({ atHours: 0, work, causes: [drawn.cause], lubricated })
        for (const [cause, zone, severity] of before) if (cause !== 'dry-chain') expect(ledger.severityOf(cause, zone)).toBeLessThanOrEqual(severity + 1e-12)
      }),
      { numRuns: 60 },
    )
  })
})

describe('wave', () => {
  it('rises with pump speed and level, falls with resistance', () => {
    const share = fc.double({ min: 0.8, max: 1.4, noNaN: true })
    fc.assert(
      fc.property(share, fc.double({ min: -30, max: 5, noNaN: true }), fc.double({ min: 1, max: 4, noNaN: true }), (pump, levelMm, resistance) => {
        const heightMm = waveHeightMm(pump, levelMm, resistance)
        expect(waveHeightMm(pump * 1.01, levelMm, resistance)).toBeGreaterThan(heightMm)
        expect(waveHeightMm(pump, levelMm + 1, resistance)).toBeGreaterThan(heightMm)
        expect(waveHeightMm(pump, levelMm, resistance * 1.05)).toBeLessThan(heightMm)
      }),
    )
  })
})
