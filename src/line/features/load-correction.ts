import { median } from './minute-block.js'

/** How a heating effort depends on the boards, learned once and then left alone. Plain JSON. */
export interface LoadCorrection {
  learned: boolean
  /** Effort per board. */
  slope: number
  /** Boards at which nothing is corrected. */
  boards: number
  pairs: { recipe: string; boards: number; effort: number }[]
}

/** With less variation of the load than this share of its median a slope would be noise. */
const LOAD_VARIATION_MIN = 0.15
/** Boards at the usual load take at most this share of the heat, even where emitters heat little else. [ASM] */
const LOAD_SHARE_MAX = 0.5

export interface LoadWindow {
  readonly recipe: string
  readonly boards: number
  readonly effort: number
}

export interface LoadTraining {
  readonly windows: number
  /** Share of the effort that boards take at the usual load, where the load varied too little to learn it. */
  readonly usualShare: number
}

export function createLoadCorrection(): LoadCorrection {
  return { learned: false, slope: 0, boards: 0, pairs: [] }
}

/**
 * Effort at the usual load. The slope is the median of the slopes of all pairs within one recipe (Theil and Sen), so
 * that single odd windows do not bend it; a load that hardly varied teaches nothing, and the usual share stands in. It is fixed after the training: a correction that goes on
 * learning would learn the fault.
 *
 * @param boards boards in the window; -1 where no count is known, the effort then stays as it is
 * @returns undefined while the correction is learned
 */
export function effortAtUsualLoad(correction: LoadCorrection, window: LoadWindow, training: LoadTraining): number | undefined {
  const { recipe, boards, effort } = window
  if (boards < 0) return effort
  if (!correction.learned) {
    correction.pairs.push({ recipe, boards, effort })
    if (correction.pairs.length >= training.windows) learn(correction, training)
    return undefined
  }
  return effort - correction.slope * (boards - correction.boards)
}

function learn(correction: LoadCorrection, training: LoadTraining): void {
  const { pairs } = correction
  const loads = pairs.map(({ boards }) => boards).sort((a, b) => a - b)
  const middle = median(loads)
  const spread = (loads[Math.floor(0.9 * (loads.length - 1))] ?? 0) - (loads[Math.floor(0.1 * (loads.length - 1))] ?? 0)
  const slopes: number[] = []
  pairs.forEach((one, at) => {
    for (const other of pairs.slice(at + 1)) {
      if (other.recipe === one.recipe && other.boards !== one.boards) slopes.push((other.effort - one.effort) / (other.boards - one.boards))
    }
  })
  const varied = slopes.length > 0 && spread >= LOAD_VARIATION_MIN * Math.max(1, middle)
  const perBoard = middle > 0 ? median(pairs.map(({ effort }) => effort)) / middle : 0
  correction.learned = true
  correction.boards = middle
  // boards only take heat: a slope below 0 is chance, and so is one that would leave nothing for the zone itself
  correction.slope = varied ? Math.min(middle > 0 ? LOAD_SHARE_MAX * perBoard : Infinity, Math.max(0, median(slopes))) : training.usualShare * perBoard
  correction.pairs = []
}
