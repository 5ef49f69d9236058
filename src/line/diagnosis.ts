import type { RankedCause } from './causes.js'

/** What the charts say of one feature now. `not-observable`: no channel, or no baseline yet. */
export interface FeatureEvidence {
  readonly feature: string
  readonly status: 'up' | 'down' | 'quiet' | 'learning' | 'not-observable'
  /** Size of the present change in baseline sigmas of the feature, signed; 0 where there is none. */
  readonly shiftSigma: number
  /** Size of the present change in the feature's own unit, signed. */
  readonly shift: number
  /** Level learned as normal, in the feature's unit; 0 while learning. */
  readonly centre: number
  /** Estimated begin of the change, ms UTC; 0 where there is none. */
  readonly onsetMs: number
  /** Consecutive windows in which the change stood. */
  readonly windows: number
  /** Whether the change is growing, judged over the windows since its onset. */
  readonly trend: 'growing' | 'steady' | 'fading'
  /** Whether it went on growing after it was first seen; absent where that is not known. What a person sets is there at once. */
  readonly creeps?: boolean
  /** Of counts: how large the change was when it was first seen, baseline sigmas, signed; absent before some values. */
  readonly atFirstSigma?: number
  /** Of defects: standard errors by which all kinds together stand above their levels since the first of them rose; absent where none has. */
  readonly allKindsErrors?: number
  /** How far the newest values lie off the centre on the median, feature's unit, signed, also where that is no change; absent while learning. */
  readonly lean?: number
  /** End of the newest value, ms UTC; absent while there is none. */
  readonly lastMs?: number
}

/** One piece of evidence in words' raw form: texts are made from the key and the numbers, per language. */
export interface EvidenceItem {
  readonly feature: string
  readonly stance: 'for' | 'against' | 'missing'
  /** Text key, e.g. `evidence.up`. */
  readonly key: string
  readonly values: Readonly<Record<string, number | string>>
}

/** A check a person can do, cheapest and safest first. */
export interface CheckRef {
  /** Id in the work catalogue. */
  readonly check: string
  readonly minutes: number
  readonly needsElectrician: boolean
}

export interface Diagnosis {
  readonly timeMs: number
  /** All causes considered, most probable first, benign ones and `none-of-these` among them; sums to 1. */
  readonly causes: readonly RankedCause[]
  readonly evidence: readonly EvidenceItem[]
  readonly checkFirst: CheckRef
  /** True when the leading cause is not clear enough to be named alone; `abstainReason` then says why. */
  readonly abstains: boolean
  readonly abstainReason?: 'weak-lead' | 'close-second' | 'none-of-these-leads' | 'data-quality'
  /** Faults no channel of this line can show. */
  readonly invisible: readonly string[]
  /** Channel pattern that would help most to tell the leading causes apart, where one would. */
  readonly channelThatWouldTell?: string
  /** Begin of the earliest symptom this diagnosis rests on, ms UTC. */
  readonly onsetMs: number
  /** Features the diagnosis rests on. */
  readonly features: readonly string[]
}
