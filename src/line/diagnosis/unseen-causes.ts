import type { RankedCause } from '../causes.js'

/** A fault that no channel can show is never given half the weight or more. */
const UNSEEN_MAX = 0.49

/** What no channel can show is not claimed: the weight above the bound goes to `none-of-these`. */
export function holdUnseen(causes: readonly RankedCause[], invisible: readonly string[]): RankedCause[] {
  const unseen = (cause: string): boolean => invisible.includes(cause)
  let surplus = 0
  const held = causes.map((cause) => {
    if (cause.kind !== 'fault' || cause.probability <= UNSEEN_MAX || !(cause.members ?? [cause.cause]).every(unseen)) return cause
    surplus += cause.probability - UNSEEN_MAX
    return { ...cause, probability: UNSEEN_MAX }
  })
  if (surplus === 0) return held
  return held.map((cause) => (cause.kind === 'none-of-these' ? { ...cause, probability: cause.probability + surplus } : cause)).sort((a, b) => b.probability - a.probability)
}
