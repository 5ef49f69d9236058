/** Defects of one kind on one board. */
export interface BoardCount {
  readonly timeMs: number
  readonly kind: string
  readonly recipe: string
  readonly count: number
}

const HOUR_MS = 3_600_000
/** Boards of a kind and recipe before the onset that make a level. */
const LEVEL_BOARDS = 100
/** Half a defect where there was none: one day there will be. */
const NONE_YET = 0.5

/**
 * Standard errors by which defects of all kinds together stand above their levels, for a test that is told everything but the size:
 * the moment, the course and that nothing else happens. No method that looks at the counts, and has to find the moment by itself, does better.
 *
 * @param weightAt course of the fault over time, 0 before it begins
 * @param onsetMs values before it make the levels, by kind and recipe
 * @returns undefined where no kind and recipe was seen often enough on both sides of the onset
 */
export function idealCountErrors(counts: readonly BoardCount[], onsetMs: number, weightAt: (timeMs: number) => number): number | undefined {
  const before = levelsOf(counts.filter(({ timeMs }) => timeMs < onsetMs))
  const scatter = scatterOf(counts.filter(({ timeMs }) => timeMs < onsetMs), before)
  let excess = 0
  let variance = 0
  for (const { timeMs, kind, recipe, count } of counts) {
    const level = before.get(keyOf(kind, recipe))
    if (timeMs < onsetMs || level === undefined) continue
    const weight = weightAt(timeMs)
    const beyond = scatter.get(kind) ?? 1
    excess += (weight * (count - level)) / beyond
    variance += (weight ** 2 * level) / beyond
  }
  return variance > 0 ? excess / Math.sqrt(variance) : undefined
}

function keyOf(kind: string, recipe: string): string {
  return JSON.stringify([kind, recipe])
}

function levelsOf(counts: readonly BoardCount[]): Map<string, number> {
  const sums = new Map<string, { boards: number; defects: number }>()
  for (const { kind, recipe, count } of counts) {
    const key = keyOf(kind, recipe)
    const sum = sums.get(key) ?? { boards: 0, defects: 0 }
    sums.set(key, { boards: sum.boards + 1, defects: sum.defects + count })
  }
  return new Map([...sums].flatMap(([key, { boards, defects }]) => (boards < LEVEL_BOARDS ? [] : [[key, Math.max(NONE_YET, defects) / boards] as const])))
}

/** How far the counts of whole hours scatter beyond Poisson counts, by kind; 1 at least. */
function scatterOf(counts: readonly BoardCount[], levels: ReadonlyMap<string, number>): Map<string, number> {
  const hours = new Map<string, { kind: string; expected: number; seen: number }>()
  for (const { timeMs, kind, recipe, count } of counts) {
    const level = levels.get(keyOf(kind, recipe))
    if (level === undefined) continue
    const key = keyOf(kind, String(Math.floor(timeMs / HOUR_MS)))
    const hour = hours.get(key) ?? { kind, expected: 0, seen: 0 }
    hours.set(key, { kind, expected: hour.expected + level, seen: hour.seen + count })
  }
  const sums = new Map<string, { hours: number; sum: number }>()
  for (const { kind, expected, seen } of hours.values()) {
    const known = sums.get(kind) ?? { hours: 0, sum: 0 }
    sums.set(kind, { hours: known.hours + 1, sum: known.sum + (seen - expected) ** 2 / expected })
  }
  return new Map([...sums].map(([kind, { hours: n, sum }]) => [kind, Math.max(1, sum / n)]))
}
