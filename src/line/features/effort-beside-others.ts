import { median } from './minute-block.js'

/** How the effort of a zone goes with that of the others, learned once and then left alone. Plain JSON. */
export interface OthersCorrection {
  learned: boolean
  slope: number
  /** Effort of the others at which nothing is corrected. */
  others: number
  pairs: { recipe: string; others: number; effort: number }[]
}

export interface EffortWindow {
  readonly recipe: string
  /** Mean effort of the other zones in the window. */
  readonly others: number
  readonly effort: number
}

/** About seven hours of production. */
const TRAINING_WINDOWS = 40
/** Boards and air take more from the first zone than from the last, but not several times as much. [ASM] */
const SLOPE_MAX = 1.5

export function createOthersCorrection(): OthersCorrection {
  return { learned: false, slope: 0, others: 0, pairs: [] }
}

/**
 * Effort of a zone at the usual effort of the others: boards, exhaust, draught and mains voltage move all zones together,
 * what fouls or ages in one does not. Where the zones turn out to have nothing in common the slope is near 0 and the effort
 * stays as it is. The slope is fixed after the training: one that goes on learning would learn the fault.
 *
 * @returns undefined while the correction is learned
 */
export function effortBesideOthers(correction: OthersCorrection, { recipe, others, effort }: EffortWindow): number | undefined {
  if (!correction.learned) {
    correction.pairs.push({ recipe, others, effort })
    if (correction.pairs.length >= TRAINING_WINDOWS) learn(correction)
    return undefined
  }
  return effort - correction.slope * (others - correction.others)
}

function learn(correction: OthersCorrection): void {
  const { pairs } = correction
  correction.slope = Math.min(SLOPE_MAX, Math.max(0, slopeWithinRecipes(pairs)))
  correction.others = median(pairs.map(({ others }) => others))
  correction.learned = true
  correction.pairs = []
}

/** Median of the slopes of all pairs within one recipe, weighed by how far they lie apart, so that neither odd windows nor pairs that differ by noise alone bend it. */
function slopeWithinRecipes(pairs: OthersCorrection['pairs']): number {
  const slopes: { slope: number; weight: number }[] = []
  pairs.forEach((one, at) => {
    for (const other of pairs.slice(at + 1)) {
      const apart = other.others - one.others
      if (other.recipe === one.recipe && apart !== 0) slopes.push({ slope: (other.effort - one.effort) / apart, weight: Math.abs(apart) })
    }
  })
  slopes.sort((a, b) => a.slope - b.slope)
  const half = slopes.reduce((sum, { weight }) => sum + weight, 0) / 2
  let sum = 0
  for (const { slope, weight } of slopes) {
    sum += weight
    if (sum >= half) return slope
  }
  return 0
}
