import { parseLineDefinition, type LineDefinition } from '../../../src/line/line-definition.js'
import type { MaintenanceFact } from '../../../src/maintenance/maintenance-fact.js'
import type { Suggestion, WorkRecord } from '../../../src/maintenance/suggestion.js'
import type { LineEvent } from '../../../src/monitor/line-event.js'
import { createLineMonitor } from '../../../src/monitor/line-monitor.js'
import type { LineOutput } from '../../../src/monitor/line-output.js'
import { describeLine } from '../../../src/simulator/line-description.js'
import type { MaintenanceWork, SimulationConfig } from '../../../src/simulator/simulation-config.js'
import { createSimulation } from '../../../src/simulator/simulation.js'

export const START_MS = Date.UTC(2026, 0, 5)
export const HOUR_MS = 3_600_000

/** Work that is done on the simulated line and what is written down of it. */
export interface ServedWork extends MaintenanceWork {
  readonly record?: Omit<WorkRecord, 'id' | 'timeMs'> & { readonly id?: string }
  /** Further records of the same moment. */
  readonly records?: readonly (Omit<WorkRecord, 'id' | 'timeMs'> & { readonly id?: string })[]
}

export interface ServedLine {
  readonly facts: readonly MaintenanceFact[]
  readonly suggestions: readonly Suggestion[]
  readonly outputs: readonly LineOutput[]
  readonly definition: LineDefinition
  factsOf<T extends MaintenanceFact['type']>(type: T): Extract<MaintenanceFact, { type: T }>[]
  /** The last fact with each id. */
  lastOf<T extends MaintenanceFact['type']>(type: T): Extract<MaintenanceFact, { type: T }>[]
}

export interface ServedOptions extends Partial<Omit<SimulationConfig, 'cleanings'>> {
  readonly works: readonly ServedWork[]
  readonly days: number
  readonly definition?: object
  readonly watch?: (output: LineOutput) => void
}

/** Simulates a line, does the work on it, records it when it is done, and runs the whole monitor over it. */
export function serve({ works, days, definition: given = {}, watch, ...change }: ServedOptions): ServedLine {
  const simulation = createSimulation({
    seed: 7, startMs: START_MS, durationHours: 24 * days, channels: 'minimum', faults: [],
    periodsS: { 'preheat.zone-<n>.temperature': 5, 'conveyor.speed': 2, 'pot.level': 30, '*': 5 },
    benign: { changeovers: false, topUps: true }, ...change,
    cleanings: works.map(({ record: _record, records: _records, ...work }) => work),
  })
  const parsed = parseLineDefinition({ ...describeLine(simulation, { line: 'served' }), ...given })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  const { definition } = parsed
  const monitor = createLineMonitor(definition)
  const outputs: LineOutput[] = []
  const emit = (output: LineOutput): void => {
    watch?.(output)
    if (output.kind === 'fact' || output.kind === 'suggestion') outputs.push(structuredClone(output))
  }
  let seq = 0
  const step = (event: object, receivedMs: number): void => monitor.step({ ...event, seq: (seq += 1), receivedMs } as LineEvent, emit)
  const waiting = works
    .flatMap((work, index) => [...(work.record === undefined ? [] : [work.record]), ...(work.records ?? [])].map((record, at): WorkRecord => ({ id: `record-${index}-${at}`, ...record, timeMs: START_MS + (work.atHours + (work.durationHours ?? 0)) * HOUR_MS })))
    .sort((a, b) => a.timeMs - b.timeMs)
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    while (waiting[0] !== undefined && waiting[0].timeMs <= sample.timeMs) step({ kind: 'record', record: waiting.shift()! }, sample.timeMs)
    for (const [channel, value] of sample.values) step({ kind: 'value', channel, value, time: sample.timeMs }, sample.timeMs)
    for (const [channel, value, timeMs] of sample.delayed) step({ kind: 'value', channel, value, time: timeMs }, timeMs)
  }
  step({ kind: 'end-of-data' }, simulation.timeMs)
  const facts = outputs.flatMap((output) => (output.kind === 'fact' ? [output.body] : []))
  const factsOf: ServedLine['factsOf'] = (type) => facts.filter((fact) => fact.type === type) as never
  return {
    facts,
    outputs,
    definition,
    suggestions: outputs.flatMap((output) => (output.kind === 'suggestion' ? [output.body] : [])),
    factsOf,
    lastOf: (type) => [...new Map(factsOf(type).map((fact) => [fact.id, fact])).values()],
  }
}
