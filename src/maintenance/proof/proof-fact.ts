import type { Section } from '../../line/feature-value.js'
import type { FactMark } from '../maintenance-fact.js'

export type ProofVerdict = 'helped' | 'did-not-help' | 'too-early' | 'was-clean' | 'no-channel' | 'checked-by-hand' | 'not-attributable'

/** Whether work helped: like with like, after the run-in. */
export interface ProofFact extends FactMark {
  readonly type: 'proof'
  /** Id of the record. */
  readonly record: string
  readonly work: string
  readonly section: Section
  readonly zone?: number
  readonly suggestion?: string
  readonly verdict: ProofVerdict
  /** Too early: when the verdict can be expected, ms UTC. */
  readonly verdictByMs?: number
  /** What was compared, each under one recipe and state. */
  readonly compared: readonly { readonly feature: string; readonly recipe: string; readonly before: number; readonly after: number; readonly reference?: number; readonly sigma: number; readonly nBefore: number; readonly nAfter: number; readonly probability: number }[]
  /** Reason keys, e.g. `proof.two-jobs-at-once`. */
  readonly because: readonly string[]
}
