import type { FeatureEvidence } from '../../../../src/line/diagnosis.js'
import type { FeatureValue, LineStateName } from '../../../../src/line/feature-value.js'
import { parseLineDefinition, type LineDefinition, type LineDefinitionInput } from '../../../../src/line/line-definition.js'
import type { MaintenanceEntry } from '../../../../src/maintenance/maintenance-entry.js'
import type { MaintenanceFact, MaintenanceFactType } from '../../../../src/maintenance/maintenance-fact.js'
import type { CreateMaintenancePart, MaintenanceAsks, MaintenanceContext, MaintenancePart } from '../../../../src/maintenance/maintenance-part.js'

export const MINUTE = 60_000
export const HOUR = 60 * MINUTE
export const DAY = 24 * HOUR
/** A Monday at midnight, UTC. */
export const MONDAY = Date.UTC(2026, 2, 2)

export function definitionWith(input: Partial<LineDefinitionInput> = {}): LineDefinition {
  const result = parseLineDefinition({ line: 'line-a', channels: [{ channel: 'preheat.zone-{n}.temperature' }, { channel: 'conveyor.speed' }, { channel: 'pot.level' }], ...input })
  if (result.kind === 'faults') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

/** Parts of the maintenance side as the line runs them: facts of one reach every other within the step. */
export class PartBench {
  nowMs = MONDAY
  state: LineStateName = 'production'
  recipe = 'control-board'
  readonly facts: MaintenanceFact[] = []
  readonly charted: FeatureValue[] = []
  private parts: MaintenancePart[]

  constructor(
    readonly definition: LineDefinition,
    private readonly makers: readonly CreateMaintenancePart[],
  ) {
    this.parts = makers.map((make) => make(definition, undefined))
  }

  /** As after a restart: every part goes on from the text of its snapshot. */
  restart(): void {
    const texts = this.parts.map((part) => JSON.stringify(part.snapshot()))
    this.parts = this.makers.map((make, index) => make(this.definition, JSON.parse(texts[index]!)))
  }

  run(call: (part: MaintenancePart, context: MaintenanceContext, asks: MaintenanceAsks) => void): void {
    const facts: MaintenanceFact[] = []
    const context: MaintenanceContext = { nowMs: this.nowMs, state: this.state, recipe: this.recipe, definition: this.definition }
    const asks: MaintenanceAsks = { emit: (fact) => facts.push(fact), chart: (value) => this.charted.push(value), learnCause: () => undefined }
    for (const part of this.parts) call(part, context, asks)
    for (let next = 0; next < facts.length; next += 1) {
      this.facts.push(facts[next]!)
      for (const part of this.parts) part.fact?.(facts[next]!, context, asks)
    }
  }

  enter(entry: MaintenanceEntry): void {
    this.run((part, context, asks) => part.entry?.(entry, context, asks))
  }

  /** A fact that another part of the line said. */
  tell(fact: MaintenanceFact): void {
    this.facts.push(fact)
    this.run((part, context, asks) => part.fact?.(fact, context, asks))
  }

  change(state: LineStateName, recipe = this.recipe): void {
    const previous = this.state
    this.state = state
    this.recipe = recipe
    this.run((part, context, asks) => part.state?.({ timeMs: this.nowMs, state, previous, recipe, because: 'test' }, context, asks))
  }

  read(channel: string, value: number | string): void {
    this.run((part, context, asks) => part.reading?.({ channel, timeMs: this.nowMs, value }, context, asks))
  }

  /** Ticks every ten minutes for so long. */
  pass(hours: number, evidence: readonly FeatureEvidence[] = []): void {
    const untilMs = this.nowMs + hours * HOUR
    while (this.nowMs < untilMs) {
      this.nowMs = Math.min(untilMs, this.nowMs + 10 * MINUTE)
      this.run((part, context, asks) => part.tick?.(evidence, context, asks))
    }
  }

  factsOf<T extends MaintenanceFactType>(type: T): Extract<MaintenanceFact, { type: T }>[] {
    return this.facts.filter((fact): fact is Extract<MaintenanceFact, { type: T }> => fact.type === type)
  }

  last<T extends MaintenanceFactType>(type: T): Extract<MaintenanceFact, { type: T }> | undefined {
    return this.factsOf(type).at(-1)
  }
}

let count = 0

/** An id of its own for each entry. */
export function nextId(): string {
  count += 1
  return `entry-${count}`
}
