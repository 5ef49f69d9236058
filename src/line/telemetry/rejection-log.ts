import type { Rejection, RejectionReason } from '../reading.js'

/** What was refused so far: plain JSON. */
export interface RejectionCounts {
  /** Count and last case of each reason that occurred. */
  readonly reasons: Partial<Record<RejectionReason, { count: number; last: Rejection }>>
}

/** Counts refusals by reason and keeps the last of each. */
export interface RejectionLog {
  note(rejection: Rejection): void
  counts(): RejectionCounts
}

/** @param state what `counts()` gave, after a JSON round trip or not; taken over and changed in place */
export function createRejectionLog(state: RejectionCounts = { reasons: {} }): RejectionLog {
  return {
    note(rejection) {
      const entry = state.reasons[rejection.reason]
      if (entry === undefined) state.reasons[rejection.reason] = { count: 1, last: rejection }
      else {
        entry.count += 1
        entry.last = rejection
      }
    },
    counts: () => state,
  }
}
