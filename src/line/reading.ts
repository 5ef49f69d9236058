/** One value of one channel at one time: a number in the channel's base unit, or a text (recipe, state, lot). */
export interface Reading {
  readonly channel: string
  /** ms UTC, the data's own time. */
  readonly timeMs: number
  readonly value: number | string
}

/** Why a reading was not taken. Each is counted per line, the last of each is kept and shown. */
export type RejectionReason =
  | 'unreadable-payload'
  | 'value-missing'
  | 'not-finite'
  | 'unknown-unit'
  | 'impossible-value'
  | 'bad-time'
  | 'no-time'
  | 'from-the-future'
  | 'late'
  | 'duplicate'
  | 'unknown-topic'
  | 'unknown-channel'
  | 'bad-quality'
  | 'oversize'
  | 'internal-error'

/** A reading that was not taken: what was wrong, where, and what was expected. */
export interface Rejection {
  readonly reason: RejectionReason
  /** Channel if it is known, else the topic. */
  readonly where: string
  /** ms UTC: the reading's own time if it has one, else the time it was received. */
  readonly timeMs: number
  /** What was found, shortened. */
  readonly found: string
  readonly expected: string
}
