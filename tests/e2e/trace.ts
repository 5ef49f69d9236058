import { parseLineDefinition, type LineDefinition } from '../../src/line/line-definition.js'
import type { LineOutput } from '../../src/monitor/line-output.js'
import { outputText } from '../../src/service/output-json.js'
import { demoConfig } from '../../src/simulator/demo-line.js'
import { describeLine } from '../../src/simulator/line-description.js'
import { createSimulation } from '../../src/simulator/simulation.js'
import type { SimulationConfig } from '../../src/simulator/simulation-config.js'

/** Everything published at one moment. */
export interface Tick {
  readonly timeMs: number
  readonly values: readonly (readonly [channel: string, value: number | string])[]
}

/** Five days of a simulated line whose chain gets dirty: enough to learn, to signal and to suggest. */
export const TRACE_CONFIG: SimulationConfig = {
  ...demoConfig({ seed: 5, line: 'faulty', startMs: Date.UTC(2026, 0, 5) }),
  durationHours: 120,
  periodsS: { 'conveyor.speed': 4, 'preheat.zone-<n>.temperature': 10, 'pot.level': 60, 'board.count': 60 },
}

export const TRACE_TOPIC = 'wave-solder/north-1/telemetry'

export function traceDefinition(): LineDefinition {
  const parsed = parseLineDefinition(describeLine(TRACE_CONFIG, { line: 'north-1' }))
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  return parsed.definition
}

export function traceTicks(): Tick[] {
  const simulation = createSimulation(TRACE_CONFIG)
  const ticks: Tick[] = []
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) ticks.push({ timeMs: sample.timeMs, values: sample.values.map(([channel, value]) => [channel, value] as const) })
  return ticks
}

/** Payloads of so many ticks each, as a gateway sends that collects for a while. */
export function traceMessages(ticks: readonly Tick[], ticksPerMessage: number): string[] {
  const messages: string[] = []
  for (let at = 0; at < ticks.length; at += ticksPerMessage) messages.push(JSON.stringify(ticks.slice(at, at + ticksPerMessage).map(({ timeMs, values }) => ({ t: timeMs, v: Object.fromEntries(values) }))))
  return messages
}

/** Kinds that must be the same whichever way a trace comes. */
export const TOLD_KINDS = ['point', 'rule-hit', 'signal', 'state', 'baseline', 'diagnosis', 'suggestion'] as const

/** Texts of the outputs by kind, in order. */
export type Told = Record<(typeof TOLD_KINDS)[number], string[]>

export function nothingTold(): Told {
  return { point: [], 'rule-hit': [], signal: [], state: [], baseline: [], diagnosis: [], suggestion: [] }
}

export function tell(told: Told, output: LineOutput): void {
  if (output.kind in told) told[output.kind as keyof Told].push(outputText(output))
}

/** First difference of each kind with both texts; empty when all is the same. */
export function differences(one: Told, other: Told): Partial<Record<keyof Told, string>> {
  const found: Partial<Record<keyof Told, string>> = {}
  for (const kind of TOLD_KINDS) {
    const length = Math.max(one[kind].length, other[kind].length)
    for (let at = 0; at < length; at += 1) {
      if (one[kind][at] === other[kind][at]) continue
      found[kind] = `${one[kind].length} and ${other[kind].length}; at ${at}: ${one[kind][at] ?? 'none'} | ${other[kind][at] ?? 'none'}`
      break
    }
  }
  return found
}
