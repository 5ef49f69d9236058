import type { MaintenanceEntry } from '../../../../src/maintenance/maintenance-entry.js'
import type { MaintenanceFact } from '../../../../src/maintenance/maintenance-fact.js'
import type { MaintenanceAsks, MaintenanceContext } from '../../../../src/maintenance/maintenance-part.js'
import { createPlanPart } from '../../../../src/maintenance/plan/plan-part.js'
import { definitionOf } from './plan-bench.js'

/** The plan's part alone: what an entry brings out. */
export function workFactsOf(snapshot?: unknown, input: Parameters<typeof definitionOf>[0] = {}): { enter(entry: MaintenanceEntry): MaintenanceFact[]; snapshot(): unknown } {
  const definition = definitionOf(input)
  const part = createPlanPart(definition, snapshot)
  const context: MaintenanceContext = { nowMs: 0, state: 'production', recipe: '', definition }
  return {
    enter(entry) {
      const facts: MaintenanceFact[] = []
      const asks = { emit: (fact: MaintenanceFact) => facts.push(fact) } as unknown as MaintenanceAsks
      part.entry?.(entry, context, asks)
      return facts
    },
    snapshot: () => part.snapshot(),
  }
}
