import type { LineStateName } from '../feature-value.js'

/** State and recipe from a time on. Plain JSON. */
export interface PastContext {
  readonly fromMs: number
  readonly state: LineStateName
  readonly recipe: string
}

/** Per-board values may come a day late. */
const KEPT_MS = 26 * 3_600_000
const KEPT_MAX = 500

/** Keeps a change, and forgets those no value can ask for any more. */
export function noteContext(past: PastContext[], fromMs: number, state: LineStateName, recipe: string): void {
  const last = past.at(-1)
  // a clock that was set back: what lies ahead of it is of another time
  if (last !== undefined && fromMs < last.fromMs) past.length = 0
  past.push({ fromMs, state, recipe })
  let tooOld = 0
  while (tooOld < past.length - 1 && ((past[tooOld + 1] as PastContext).fromMs < fromMs - KEPT_MS || past.length - tooOld > KEPT_MAX)) tooOld += 1
  if (tooOld > 0) past.splice(0, tooOld)
}

/** What the line did at a time; undefined before the first that is kept. */
export function contextAt(past: readonly PastContext[], timeMs: number): PastContext | undefined {
  for (let at = past.length - 1; at >= 0; at -= 1) {
    const context = past[at] as PastContext
    if (context.fromMs <= timeMs) return context
  }
  return undefined
}
