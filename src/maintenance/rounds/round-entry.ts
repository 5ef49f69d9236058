import type { EntryMark } from '../maintenance-entry.js'

/** One check of a round as it was found. */
export interface RoundItem {
  /** Round check id of the catalogue. */
  readonly check: string
  /** Looked at and in order; an exception says more. */
  readonly ok: boolean
  /** Hand-measured values by their name in the catalogue, in its units. */
  readonly values?: Readonly<Record<string, number>>
  /** 0 clean … 4 blocked. */
  readonly finding?: number
  readonly zone?: number
  readonly remark?: string
}

/** The checks of a shift, day, week or event, or some of them. */
export interface RoundEntry extends EntryMark {
  readonly type: 'round'
  readonly round: 'shift' | 'day' | 'week' | 'month' | 'event'
  readonly items: readonly RoundItem[]
}
