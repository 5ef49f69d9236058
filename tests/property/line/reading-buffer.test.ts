import fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { parseLineDefinition, type LineDefinition } from '../../../src/line/line-definition.js'
import type { Reading } from '../../../src/line/reading.js'
import { createTelemetryStage, type TelemetryInput, type TelemetrySink, type TelemetryStage } from '../../../src/line/telemetry/telemetry-stage.js'

function define(input: unknown): LineDefinition {
  const result = parseLineDefinition(input)
  if (result.kind === 'faults') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

const CHANNELS = ['conveyor.speed', 'preheat.zone-1.temperature', 'preheat.zone-2.temperature', 'pot.level', 'preheat.zone-1.setpoint'] as const
const LATENESS_MS = 30_000
const definition = define({ line: 'line-a', channels: CHANNELS.map((channel) => ({ channel, periodS: channel === 'conveyor.speed' ? 1 : 10, latenessS: LATENESS_MS / 1000 })) })
const START_MS = Date.UTC(2026, 0, 5)

interface Log {
  readonly released: Reading[]
  readonly reasons: string[]
}

function sinkInto(log: Log): TelemetrySink {
  return { release: (reading) => log.released.push(reading), reject: ({ reason }) => log.reasons.push(reason), epoch: () => log.reasons.push('epoch') }
}

function run(inputs: readonly TelemetryInput[], reloadAt = -1): Log {
  const log: Log = { released: [], reasons: [] }
  const sink = sinkInto(log)
  let stage: TelemetryStage = createTelemetryStage(definition)
  inputs.forEach((input, index) => {
    if (index === reloadAt) stage = createTelemetryStage(definition, JSON.parse(JSON.stringify(stage.snapshot())))
    stage.take(input, sink)
  })
  stage.flush(sink)
  return log
}

/** A trace with gaps, and an arrival order in which each reading comes at most the bound behind the newest before it. */
const traces = fc
  .array(fc.record({ channel: fc.constantFrom(...CHANNELS), stepMs: fc.oneof({ weight: 9, arbitrary: fc.integer({ min: 0, max: 3000 }) }, { weight: 1, arbitrary: fc.integer({ min: 60_000, max: 600_000 }) }), delayMs: fc.integer({ min: 0, max: LATENESS_MS }) }), { minLength: 1, maxLength: 300 })
  .map((steps) => {
    let timeMs = START_MS
    const seen = new Set<string>()
    const items: { input: TelemetryInput; key: string; arrivesMs: number }[] = []
    for (const { channel, stepMs, delayMs } of steps) {
      timeMs += stepMs
      const key = `${channel} ${timeMs}`
      if (seen.has(key)) continue
      seen.add(key)
      items.push({ input: { kind: 'value', channel, value: 20 + (items.length % 7), time: timeMs, receivedMs: timeMs }, key, arrivesMs: timeMs + delayMs })
    }
    return items
  })

describe('order of readings', () => {
  test('any arrival order within the bound releases the same sequence, in the order of time', () => {
    fc.assert(
      fc.property(traces, (items) => {
        const inOrder = run(items.map(({ input }) => input))
        const shuffled = run([...items].sort((one, other) => one.arrivesMs - other.arrivesMs).map(({ input }) => input))
        expect(inOrder.reasons).toEqual([])
        expect(shuffled.reasons).toEqual([])
        expect(shuffled.released).toEqual(inOrder.released)
        expect(inOrder.released).toHaveLength(items.length)
        inOrder.released.reduce((beforeMs, { timeMs }) => {
          expect(timeMs).toBeGreaterThanOrEqual(beforeMs)
          return timeMs
        }, 0)
      }),
      { numRuns: 150 },
    )
  })

  test('going on from a snapshot through JSON changes nothing', () => {
    fc.assert(
      fc.property(traces, fc.nat(300), fc.boolean(), (items, at, late) => {
        const order = [...items].sort((one, other) => one.arrivesMs * (late ? 1 : -1) - other.arrivesMs * (late ? 1 : -1)).map(({ input }) => input)
        expect(run(order, at)).toEqual(run(order))
      }),
      { numRuns: 100 },
    )
  })

  test('a reading that comes again is never released twice', () => {
    fc.assert(
      fc.property(traces, fc.array(fc.tuple(fc.nat(), fc.nat(40)), { maxLength: 40 }), (items, repeats) => {
        const order = [...items].sort((one, other) => one.arrivesMs - other.arrivesMs).map(({ input }) => input)
        for (const [at, behind] of repeats) {
          const source = at % order.length
          order.splice(Math.min(order.length, source + 1 + behind), 0, order[source] as TelemetryInput)
        }
        const { released } = run(order)
        expect(new Set(released.map(({ channel, timeMs }) => `${channel} ${timeMs}`)).size).toBe(released.length)
      }),
      { numRuns: 100 },
    )
  })
})
