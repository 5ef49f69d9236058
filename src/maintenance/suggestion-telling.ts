import type { Suggestion } from './suggestion.js'

const HOUR_MS = 3_600_000

/** What the lead's probability must have moved by before people are told again, and the production time in between: a shift. [ASM] */
const MATERIAL = 0.15
const SHIFT_MS = 8 * HOUR_MS
/** Another cause, place, certainty or urgency is told once it has stood so long... */
const STANDS_MS = HOUR_MS
/** ...and the earliest after this since people were last told, doubled at every telling up to a day of two shifts. [ASM] */
const FIRST_CHANGE_MS = HOUR_MS
const CHANGE_MS_MAX = 2 * SHIFT_MS

/** What has been told of an open suggestion and what has not yet: plain data; times are production time, ms. */
export interface Telling {
  /** Changes told. */
  told: number
  sinceToldMs: number
  /** What a change not yet told would say, and how long it has stood. */
  pending: string
  pendingMs: number
}

export function createTelling(): Telling {
  return { told: 0, sinceToldMs: 0, pending: '', pendingMs: 0 }
}

/** What a person acts on: cause, place, certainty, urgency. */
function gistOf({ causes, section, zone, abstains, urgency }: Suggestion): string {
  return `${causes[0]?.cause ?? ''} ${section} ${zone ?? ''} ${abstains ? 'abstains' : 'names'} ${urgency}`
}

/**
 * Whether people are told that an open suggestion says something else now. What has become urgent is told at once; another
 * cause, place, certainty or urgency once it has stood, and seldom where it comes and goes; a probability that moved after
 * a shift at the earliest. The telling is changed in place.
 *
 * @param passedMs production time since the last look
 */
export function isTold(before: Suggestion, after: Suggestion, telling: Telling, passedMs: number): boolean {
  telling.sinceToldMs += passedMs
  const gist = gistOf(after)
  if (gist === gistOf(before)) {
    telling.pending = ''
    telling.pendingMs = 0
    const moved = Math.abs((after.causes[0]?.probability ?? 0) - (before.causes[0]?.probability ?? 0))
    return moved >= MATERIAL && telling.sinceToldMs >= SHIFT_MS && note(telling)
  }
  telling.pendingMs = gist === telling.pending ? telling.pendingMs + passedMs : 0
  telling.pending = gist
  if (after.urgency === 'urgent' && before.urgency !== 'urgent') return note(telling)
  const waitMs = Math.min(CHANGE_MS_MAX, FIRST_CHANGE_MS * 2 ** Math.min(10, telling.told))
  return telling.pendingMs >= STANDS_MS && telling.sinceToldMs >= waitMs && note(telling)
}

function note(telling: Telling): true {
  Object.assign(telling, { told: telling.told + 1, sinceToldMs: 0, pending: '', pendingMs: 0 })
  return true
}
