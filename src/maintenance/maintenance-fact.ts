import type { BoardsFact } from './changes/boards-fact.js'
import type { ChangeFact } from './changes/change-fact.js'
import type { HoldFact } from './hold/hold-fact.js'
import type { IntervalFact } from './intervals/interval-fact.js'
import type { JobFact, RecordFact } from './jobs/job-fact.js'
import type { PaperFact, PlanFact, StockFact, StopFact } from './plan/plan-fact.js'
import type { ProofFact } from './proof/proof-fact.js'
import type { ReferenceFact } from './proof/reference-fact.js'
import type { RoundFact, RoundsFact } from './rounds/round-fact.js'
import type { StartUpFact } from './rounds/start-up-fact.js'

/** What every fact has: the newest with the same type and id holds. */
export interface FactMark {
  readonly id: string
  /** ms UTC. */
  readonly timeMs: number
}

/** An entry that was not taken, and why. */
export interface RefusedFact extends FactMark {
  readonly type: 'refused'
  /** Id of the entry. */
  readonly entry: string
  /** Reason key, e.g. `job.two-people-needed`. */
  readonly reason: string
  readonly values: Readonly<Record<string, number | string>>
}

/** What the maintenance side of a line brings out; kept in the history, sent to page, topics and nodes. */
export type MaintenanceFact = RecordFact | JobFact | RoundFact | RoundsFact | BoardsFact | ProofFact | ReferenceFact | HoldFact | ChangeFact | IntervalFact | StartUpFact | PlanFact | StopFact | StockFact | PaperFact | RefusedFact

export type MaintenanceFactType = MaintenanceFact['type']
export type EmitFact = (fact: MaintenanceFact) => void
