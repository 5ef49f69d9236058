import type { Section, LineStateName } from '../../line/feature-value.js'
import type { LineDefinition } from '../../line/line-definition.js'
import type { MaintenanceFact, MaintenanceFactType } from '../maintenance-fact.js'
import type { Suggestion } from '../suggestion.js'

/** How a feature moves towards its limit, as the monitor's insight says it. */
export interface DriftNote {
  readonly feature: string
  readonly section: Section
  readonly zone?: number
  readonly onsetMs: number
  /** When it reaches its limit: one in ten, even chance, nine in ten; ms UTC. Absent: no date can be given. */
  readonly dueMs?: readonly [number, number, number]
}

/**
 * All that plan, cost and report have to know of one line at one time. The service fills it from a line's projection,
 * `replay` from the outputs it wrote.
 */
export interface LineBook {
  readonly definition: LineDefinition
  /** The line's own time, ms UTC. */
  readonly nowMs: number
  readonly state?: LineStateName
  readonly recipe?: string
  /** Every suggestion as it stands now. */
  readonly suggestions: readonly Suggestion[]
  /** Facts as they hold now: of each type and id the newest. */
  readonly facts: readonly MaintenanceFact[]
  readonly drifts?: readonly DriftNote[]
}

/** Facts of one type in a book. */
export function factsOf<T extends MaintenanceFactType>(book: Pick<LineBook, 'facts'>, type: T): readonly Extract<MaintenanceFact, { type: T }>[] {
  return book.facts.filter((fact): fact is Extract<MaintenanceFact, { type: T }> => fact.type === type)
}
