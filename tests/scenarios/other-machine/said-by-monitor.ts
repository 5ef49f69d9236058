import { parseLineDefinition, type LineDefinitionInput } from '../../../src/line/line-definition.js'
import type { Suggestion } from '../../../src/maintenance/suggestion.js'
import { createLineMonitor } from '../../../src/monitor/line-monitor.js'

export interface Said {
  readonly suggestion: Suggestion
  /** Severity of the fault when it was said, 0-1. */
  readonly severity: number
}

interface Row {
  readonly timeMs: number
  readonly values: readonly (readonly [channel: string, value: number | string])[]
  readonly severity: number
}

/** Runs the whole monitor over telemetry; with a fault until something has been suggested since it began. */
export function saidByMonitor(description: LineDefinitionInput, rows: Iterable<Row>): Said[] {
  const parsed = parseLineDefinition(description)
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  const monitor = createLineMonitor(parsed.definition)
  const said = new Map<string, Said>()
  let seq = 0
  for (const { timeMs, values, severity } of rows) {
    for (const [channel, value] of values) {
      seq += 1
      monitor.step({ kind: 'value', seq, receivedMs: timeMs, channel, value, time: timeMs }, (output) => {
        if (output.kind === 'suggestion' && !said.has(output.body.id)) said.set(output.body.id, { suggestion: output.body, severity })
      })
    }
    if (severity > 0 && said.size > 0) break
  }
  return [...said.values()]
}
