import type { Section } from '../../line/feature-value.js'
import type { FactMark } from '../maintenance-fact.js'

export const PROOF_VERDICTS = ['helped', 'did-not-help', 'too-early', 'was-clean', 'no-channel', 'checked-by-hand', 'not-attributable'] as const
export type ProofVerdict = (typeof PROOF_VERDICTS)[number]

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
  /** When the work was done, ms UTC. */
  readonly doneMs: number
  /** Too early: when the verdict can be expected, ms UTC. */
  readonly verdictByMs?: number
  /** Jobs whose effect cannot be told from this one's, or that belong to it; work ids with their zone. */
  readonly with?: readonly { readonly record: string; readonly work: string; readonly zone?: number }[]
  /** Features that are better than what the charts had learned: a new reference is offered for them. */
  readonly offersReference?: readonly string[]
  /** What was compared, each under one recipe and state. */
  readonly compared: readonly { readonly feature: string; readonly recipe: string; readonly before: number; readonly after: number; readonly reference?: number; readonly sigma: number; readonly nBefore: number; readonly nAfter: number; readonly probability: number }[]
  /** Reason keys, e.g. `proof.two-jobs-at-once`. */
  readonly because: readonly string[]
}
