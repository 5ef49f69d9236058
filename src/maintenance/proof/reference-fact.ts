import type { Section } from '../../line/feature-value.js'
import type { FactMark } from '../maintenance-fact.js'

/**
 * What the reference of a section, or of a preheat zone, is worth: learned before every cleaning job of it was done once,
 * it may be that of a half fouled machine.
 */
export interface ReferenceFact extends FactMark {
  readonly type: 'reference'
  readonly section: Exclude<Section, 'line'>
  readonly zone?: number
  /** No full service is recorded yet. */
  readonly provisional: boolean
  /** When the last full service was complete, ms UTC. */
  readonly servicedMs?: number
  /** Jobs still missing for a full service. */
  readonly missing: readonly string[]
  /** Charts whose reference is older than the full service, with the level since: a new reference is offered. */
  readonly offers: readonly { readonly feature: string; readonly recipe: string; readonly centre: number; readonly since: number; readonly windows: number }[]
}
