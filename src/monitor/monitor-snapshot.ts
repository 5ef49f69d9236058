import type { FeatureValue } from '../line/feature-value.js'
import type { WindowContext } from '../line/features/feature-set.js'
import type { ChartStageState } from './chart-stage.js'
import type { InsightState } from './insight-stage.js'
import type { Stage } from './line-event.js'
import type { RecipeLevels } from './recipe-levels.js'
import type { StopLog } from './run-in.js'

/** Changes with every change of the state's form that an older state cannot go on in. */
export const SNAPSHOT_VERSION = 3

export interface MonitorSnapshot {
  readonly version: typeof SNAPSHOT_VERSION
  readonly stages: readonly Stage[]
  readonly telemetry: unknown
  readonly tracker: unknown
  readonly features: unknown
  readonly charts: ChartStageState
  readonly insights?: InsightState
  readonly levels?: RecipeLevels
  readonly desk: unknown
  readonly maintenance?: unknown
  readonly held: HeldValue[]
  readonly progress: MonitorProgress
}

/** A value of a production window that waits for the line state to be sure. */
export interface HeldValue {
  readonly value: FeatureValue
  readonly context: WindowContext
}

export interface MonitorProgress {
  /** Newest time of a reading taken since the clock was last set back, ms UTC; 0 before the first. */
  dataMs: number
  diagnosisMs: number
  /** A signal has started or ended since the last diagnosis. */
  signalChanged: boolean
  /** Stops of the line; what begins right after one may be a run-in. */
  stopLog?: StopLog
  /** What the last diagnosis said, shortened, and when it was last put out. */
  lastDiagnosis: string
  lastDiagnosisMs: number
}

/** What is wrong with a saved state of another form, and what to do. */
export function unusable(line: string, version: unknown): string {
  return `line "${line}": its saved state has form ${String(version)}, this program goes on from form ${SNAPSHOT_VERSION} only; nothing was changed: go on with the program that saved it, or begin the line anew in another data folder and keep this one to look things up`
}
