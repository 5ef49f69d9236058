import type { Diagnosis, FeatureEvidence } from '../line/diagnosis.js'
import type { CleaningHistory } from '../line/diagnosis/cause-priors.js'
import type { FeatureValue, LineStateName } from '../line/feature-value.js'
import type { LineDefinition } from '../line/line-definition.js'
import type { Reading } from '../line/reading.js'
import type { LineStateChange } from '../line/state/line-state-change.js'
import type { MaintenanceEntry } from './maintenance-entry.js'
import type { EmitFact, MaintenanceFact } from './maintenance-fact.js'
import type { Suggestion, SuggestionReply, WorkRecord } from './suggestion.js'

/** What a part may know of the line at a step. */
export interface MaintenanceContext {
  /** The line's own time: the data's on a simulated line, that of receipt else; ms UTC. */
  readonly nowMs: number
  readonly state: LineStateName
  readonly recipe: string
  readonly definition: LineDefinition
}

/** A value on its way to a chart, with what the line did in its window. */
export interface ChartedValue {
  readonly value: FeatureValue
  readonly recipe: string
  readonly state: LineStateName
}

/** What a chart has learned as normal, as far as it is; said when it changes. */
export interface LearnedLevel {
  readonly feature: string
  /** The recipe it holds for, or `all`. */
  readonly recipe: string
  readonly timeMs: number
  readonly status: 'learning' | 'provisional' | 'accepted' | 'refused' | 'suspended'
  /** Effective values it rests on. */
  readonly n: number
  readonly centre: number
  readonly sigma: number
  /** How the values themselves scatter, where the chart's limits stand wider by right. */
  readonly scatter?: number
}

/** What a part can ask of the rest of the line besides facts. */
export interface MaintenanceAsks {
  readonly emit: EmitFact
  /** Charts a hand-measured value like that of a channel; the feature must be in the catalogue. */
  readonly chart: (value: FeatureValue) => void
  /** Feedback for the site's likelihoods: a cleaning helped or did not, a check found nothing. */
  readonly learnCause: (suggestion: string, found: 'confirmed' | 'something-else' | 'nothing-found') => void
}

/**
 * One part of the maintenance side of a line: jobs, rounds, proof, settings on hold, changes, intervals. Pure: state is
 * plain JSON, changed in place. Handlers that a part does not need are left out. Facts that a part emits reach every
 * other part within the same step through `fact`.
 */
export interface MaintenancePart {
  reading?(reading: Reading, context: MaintenanceContext, asks: MaintenanceAsks): void
  value?(value: ChartedValue, context: MaintenanceContext, asks: MaintenanceAsks): void
  state?(change: LineStateChange, context: MaintenanceContext, asks: MaintenanceAsks): void
  /** An entry of a person; each part takes those of its own type. */
  entry?(entry: MaintenanceEntry, context: MaintenanceContext, asks: MaintenanceAsks): void
  /** Work that was done, its time already held to be no later than now. */
  record?(record: WorkRecord, context: MaintenanceContext, asks: MaintenanceAsks): void
  reply?(reply: SuggestionReply, context: MaintenanceContext, asks: MaintenanceAsks): void
  /** A suggestion was raised or changed. */
  suggestion?(suggestion: Suggestion, context: MaintenanceContext, asks: MaintenanceAsks): void
  /** About every ten minutes of the data's time, with what the charts say. */
  tick?(evidence: readonly FeatureEvidence[], context: MaintenanceContext, asks: MaintenanceAsks): void
  fact?(fact: MaintenanceFact, context: MaintenanceContext, asks: MaintenanceAsks): void
  /** A chart has learned something new of its level. */
  level?(level: LearnedLevel, context: MaintenanceContext, asks: MaintenanceAsks): void
  /** Whether work that was done explains all a diagnosis rests on: such a diagnosis raises no suggestion. */
  explains?(diagnosis: Diagnosis, context: MaintenanceContext): boolean
  /** Work history for the diagnosis, by cause id or `<cause>/<zone>`. */
  priors?(context: MaintenanceContext): Readonly<Record<string, CleaningHistory>>
  snapshot(): unknown
}

/** Makes a part from a checked definition and what its `snapshot` gave, after a JSON round trip; undefined for a new line. */
export type CreateMaintenancePart = (definition: LineDefinition, snapshot: unknown) => MaintenancePart
