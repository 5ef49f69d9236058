import type { RankedCause } from '../line/causes.js'
import type { EvidenceItem, CheckRef } from '../line/diagnosis.js'
import type { Section } from '../line/feature-value.js'
import type { SuggestionDue } from './suggestion-due.js'

export type SuggestionStatus = 'open' | 'taken' | 'put-off' | 'declined' | 'done' | 'withdrawn'

/** A maintenance suggestion as it stands in the queue; texts are resolved per language from the catalogue. */
export interface Suggestion {
  /** Made from line, leading cause and onset: the same history gives the same id. */
  readonly id: string
  readonly line: string
  readonly raisedMs: number
  readonly section: Section
  readonly zone?: number
  readonly causes: readonly RankedCause[]
  readonly evidence: readonly EvidenceItem[]
  readonly checkFirst: CheckRef
  /** Work catalogue ids in the order to do them. */
  readonly work: readonly string[]
  /** Caution ids of the catalogue; never empty. */
  readonly cautions: readonly string[]
  readonly onsetMs: number
  readonly abstains: boolean
  readonly urgency: 'urgent' | 'soon' | 'plan'
  /** By when the drift of its features calls for work; absent where nothing drifts towards a limit. */
  readonly due?: SuggestionDue
  readonly invisible: readonly string[]
  readonly channelThatWouldTell?: string
  readonly features: readonly string[]
  readonly status: SuggestionStatus
  readonly statusMs: number
  readonly history: readonly SuggestionChange[]
}

export interface SuggestionChange {
  readonly timeMs: number
  readonly status: SuggestionStatus
  readonly reason?: string
  readonly untilMs?: number
  readonly by?: string
  /** Id of the reply that brought it, where it had one. */
  readonly reply?: string
}

/** What a person answers; arrives by page, MQTT or node. */
export interface SuggestionReply {
  /** The same reply sent twice counts once; without an id it is taken as it comes. */
  readonly id?: string
  readonly suggestion: string
  readonly action: 'take' | 'put-off' | 'decline' | 'done'
  /** A reason id from the catalogue's list; required for put-off and decline. */
  readonly reason?: string
  /** ms UTC; required for put-off. */
  readonly untilMs?: number
  readonly by?: string
  /** Named engineer who answers for putting safety work off past its limit. */
  readonly engineer?: string
  /** Feedback once the work is done. */
  readonly found?: 'confirmed' | 'something-else' | 'nothing-found'
}

/** Work done, with or without a suggestion. */
export interface WorkRecord {
  readonly id: string
  readonly timeMs: number
  readonly section: Section
  readonly zone?: number
  /** Work catalogue id. */
  readonly work: string
  readonly suggestion?: string
  /** 0 clean .. 4 blocked, as found. */
  readonly finding?: number
  readonly minutes?: number
  /** Name of the site's list, or a product class. */
  readonly product?: string
  readonly remark?: string
  readonly by?: string
  /** Id of the job it belongs to; without it the active one of the same work and place. */
  readonly job?: string
  /** Hand-measured values by name, in the units of the catalogue. */
  readonly values?: Readonly<Record<string, number>>
  /** How often the cleaner was put on and wiped or rinsed off. */
  readonly passes?: number
  readonly parts?: readonly string[]
  /** Lot of the product or part. */
  readonly lot?: string
  /** Done in a washing machine. */
  readonly washer?: boolean
  readonly people?: number
  /** The job's own check afterwards, by hand or eye. */
  readonly handCheck?: 'passed' | 'failed'
  /** Hottest surface within reach before a cleaner was used, measured by hand, °C. */
  readonly surfaceC?: number
  /** Why a product that is not approved was used: recorded as it was, and marked. */
  readonly deviation?: string
  readonly photo?: PhotoReference
}

/** A picture kept beside the history. */
export interface PhotoReference {
  readonly name: string
  readonly type: 'image/jpeg' | 'image/png' | 'image/webp'
  /** Bytes. */
  readonly size: number
  /** Of the bytes, hex. */
  readonly sha256: string
}
