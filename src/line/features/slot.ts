import type { LineStateName } from '../feature-value.js'
import { SLOT_MS } from './feature-spec.js'

/** One slot of ten minutes that has just ended, as all collectors see it. */
export interface Slot {
  readonly startMs: number
  readonly endMs: number
  readonly state: LineStateName
  readonly recipe: string
  /** One state and one recipe from its first moment to its last, short pauses between boards aside. */
  readonly clean: boolean
  /** Since when the recipe runs, ms UTC. */
  readonly recipeSinceMs: number
  /** Boards counted in it; -1 where no count is known. */
  readonly boards: number
}

/** Takes a value of a feature. Values that are not finite are the caller's mistake and are refused loudly. */
export type Give = (feature: string, timeMs: number, value: number, weight: number) => void

/** The line as it is now, kept in place by the feature set. */
export interface LiveContext {
  state: LineStateName
  recipe: string
  /** Last change of state or recipe, ms UTC. */
  changedMs: number
  /** Since when the line produces one recipe, short pauses bridged, ms UTC; absent before the first change. */
  producingSinceMs?: number
  /** Begin of a pause that may turn out to be a short one. */
  pauseSinceMs?: number
  /** Means of `PAUSE_CHANNELS` in the last clean slot of production under this recipe. */
  runs?: Partial<Record<string, number>>
  recipeSinceMs: number
  /** Begin and last moment of the last time the line was off, ms UTC; 0 before any. */
  offSinceMs: number
  offUntilMs: number
}

/** Turns the readings of some channels into features. Its state is plain JSON, held by the feature set. */
export interface Collector {
  readonly channels: readonly string[]
  /** @param index position of the reading's channel in `channels` */
  take(index: number, timeMs: number, value: number, give: Give): void
  endSlot(slot: Slot, give: Give): void
}

/** A line that waits a moment for boards is the same line: its zones, chain and wave go on as they are. Longer pauses cool and empty it. [ASM] */
const SHORT_PAUSE_MS = 180_000

/** Channels of what must go on in a short pause: a stopped chain or pump is a stop of the line. */
export const PAUSE_CHANNELS = ['conveyor.speed', 'pot.pump-speed'] as const
/** A chain or pump this much slower than before goes on no more. [ASM] */
const GOES_ON_SHARE = 0.8

/**
 * Notes a change of state or recipe in the context, which still holds what was before.
 *
 * @param last readings of `PAUSE_CHANNELS`, by channel, where the line has them
 */
export function notePause(live: LiveContext, timeMs: number, toState: LineStateName, recipe: string, last: Partial<Record<string, number>> = {}): void {
  const same = recipe === live.recipe
  if (!same) delete live.runs
  if (same && live.state === 'production' && toState === 'idle') {
    if (Object.entries(last).every(([channel, value]) => goesOn(live, channel, value!))) live.pauseSinceMs = timeMs
    return
  }
  const bridged = same && toState === 'production' && isShortPause(live, timeMs)
  if (!bridged) live.producingSinceMs = timeMs
  delete live.pauseSinceMs
}

/** A reading during a pause: one that shows the chain or the pump slower makes it a stop. */
export function watchPause(live: LiveContext, channel: string, value: number): void {
  if (live.pauseSinceMs !== undefined && (PAUSE_CHANNELS as readonly string[]).includes(channel) && !goesOn(live, channel, value)) delete live.pauseSinceMs
}

/** Before a slot of the recipe has shown what is usual, nothing is known to go on. */
function goesOn({ runs }: LiveContext, channel: string, value: number): boolean {
  const usual = runs?.[channel]
  return usual !== undefined && value >= GOES_ON_SHARE * usual
}

/** The state a slot that ends now is taken for, and since when. */
export function slotState(live: LiveContext, endMs: number): { readonly state: LineStateName; readonly sinceMs: number } {
  const state = isShortPause(live, endMs) ? 'production' : live.state
  return { state, sinceMs: state === 'production' ? (live.producingSinceMs ?? live.changedMs) : live.changedMs }
}

function isShortPause({ state, pauseSinceMs }: LiveContext, timeMs: number): boolean {
  return state === 'idle' && pauseSinceMs !== undefined && timeMs >= pauseSinceMs && timeMs - pauseSinceMs <= SHORT_PAUSE_MS
}

/** After a set-point step or a recipe change a zone is left alone for five closed-loop time constants of 60-180 s [ASM, A1]. */
export const ZONE_BLANK_MS = SLOT_MS
/** The same for the pot, 3-10 min [ASM, A1]. */
export const POT_BLANK_MS = 3 * SLOT_MS
/** The speed servo follows in 0.1-0.5 s [ASM, A1]; ramps of the drive take longer. */
export const SPEED_BLANK_MS = 30_000

/** True where neither the recipe nor the set-point changed in the slot or too shortly before it. */
export function isSettled(slot: Slot, setpointChangedMs: number, blankMs: number): boolean {
  return slot.recipeSinceMs + blankMs <= slot.startMs && setpointChangedMs + blankMs <= slot.startMs
}
