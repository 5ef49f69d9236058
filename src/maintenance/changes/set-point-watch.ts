import type { LineStateName } from '../../line/feature-value.js'

/** States in which a set-point is at work; a line that stands or heats up may have others by right. */
const AT_WORK: readonly LineStateName[] = ['production', 'settling', 'run-in']
/** A set-point that moved waits so long for a recipe or a changeover to explain it. */
const WAIT_MS = 10 * 60_000
/** A recipe is noticed this long after its set-points at most. */
const RECIPE_REACH_MS = 15 * 60_000
/** Several set-points that move within a minute are a changeover, whether or not the recipe is known. */
const TOGETHER_MS = 60_000
const TOGETHER_MIN = 2

/** Plain JSON. */
export interface SetPointWatchState {
  /** Newest value of each set-point while the line was at work. */
  known: Record<string, number>
  waiting: { channel: string; from: number; to: number; timeMs: number }[]
  /** When a recipe or a changeover was last seen, ms UTC. */
  recipeMs: number
}

export interface SetPointEdit {
  readonly channel: string
  readonly from: number
  readonly to: number
  readonly timeMs: number
}

export function createSetPointWatch(): SetPointWatchState {
  return { known: {}, waiting: [], recipeMs: 0 }
}

export function isSetPoint(channel: string): boolean {
  return channel.endsWith('.setpoint')
}

/** Takes a reading of a set-point channel. A conveyor that is told to stand still is stopped, not tuned. */
export function noteSetPoint(watch: SetPointWatchState, channel: string, value: number, timeMs: number, state: LineStateName): void {
  if (!AT_WORK.includes(state) || (channel === 'conveyor.setpoint' && value === 0)) return
  const before = watch.known[channel]
  watch.known[channel] = value
  if (before === undefined || before === value) return
  const open = watch.waiting.find((edit) => edit.channel === channel)
  if (open === undefined) watch.waiting.push({ channel, from: before, to: value, timeMs })
  else open.to = value
}

/** A recipe changed or a changeover began: set-points that moved about then belong to it, and those of before count no more. */
export function noteRecipe(watch: SetPointWatchState, timeMs: number): void {
  watch.recipeMs = timeMs
  watch.known = {}
  watch.waiting = watch.waiting.filter((edit) => Math.abs(edit.timeMs - timeMs) > RECIPE_REACH_MS)
}

/** The line stops working: set-points that moved shortly before were lowered for it. */
export function noteStandstill(watch: SetPointWatchState, timeMs: number): void {
  const lowered = watch.waiting.filter((edit) => Math.abs(edit.timeMs - timeMs) <= RECIPE_REACH_MS)
  for (const edit of lowered) watch.known[edit.channel] = edit.from
  watch.waiting = watch.waiting.filter((edit) => !lowered.includes(edit))
}

/** Edits of one set-point that nothing has explained in the time they waited, and moves of several together. */
export function takeEdits(watch: SetPointWatchState, nowMs: number): { readonly edits: readonly SetPointEdit[]; readonly together: readonly (readonly SetPointEdit[])[] } {
  const ripe = watch.waiting.filter((edit) => nowMs - edit.timeMs >= WAIT_MS || nowMs < edit.timeMs)
  if (ripe.length === 0) return { edits: [], together: [] }
  watch.waiting = watch.waiting.filter((edit) => !ripe.includes(edit))
  const unexplained = ripe.filter((edit) => edit.from !== edit.to && Math.abs(edit.timeMs - watch.recipeMs) > RECIPE_REACH_MS)
  const groups: SetPointEdit[][] = []
  for (const edit of [...unexplained].sort((a, b) => a.timeMs - b.timeMs)) {
    const last = groups.at(-1)
    if (last !== undefined && edit.timeMs - last[0]!.timeMs <= TOGETHER_MS) last.push(edit)
    else groups.push([edit])
  }
  return { edits: groups.filter((group) => group.length < TOGETHER_MIN).flat(), together: groups.filter((group) => group.length >= TOGETHER_MIN) }
}
