import type { ChangeEntry } from './changes/change-entry.js'
import type { HoldEntry } from './hold/hold-entry.js'
import type { CorrectionEntry, JobEntry } from './jobs/job-entry.js'
import type { PaperEntry, PlanEntry, StockEntry, StopEntry } from './plan/plan-entry.js'
import type { RoundEntry } from './rounds/round-entry.js'

/** What every entry of a person or another system has. */
export interface EntryMark {
  /** Made by the sender, so that the same entry sent twice counts once. */
  readonly id: string
  /** When it happened, ms UTC. */
  readonly timeMs: number
  /** Name, badge or role; a site's choice. */
  readonly by?: string
}

/** Anything people enter about a line besides replies to suggestions and records of work. */
export type MaintenanceEntry = RoundEntry | JobEntry | CorrectionEntry | HoldEntry | ChangeEntry | PlanEntry | StopEntry | StockEntry | PaperEntry

export type MaintenanceEntryType = MaintenanceEntry['type']
