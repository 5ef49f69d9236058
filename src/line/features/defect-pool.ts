/** Counts of the kinds of defects of the group of boards that is being summed. Plain JSON. */
export interface DefectPool {
  readonly counts: Record<string, number>
}

/** Defects of all kinds together: what makes some more of each shows here before it shows in any of them. It asks the kinds and is no symptom of its own. */
export const ALL_DEFECTS = 'board.all-defects.count'

export function createDefectPool(): DefectPool {
  return { counts: {} }
}

/**
 * Sums one group of boards over the kinds of defects. Every kind is at the line's usual mix, so the sum is as well. A group that lacks a
 * kind, one whose readings were lost, is not summed: it would be another count.
 *
 * @param kinds channels that are summed
 * @returns the sum once every kind has given its count
 */
export function countOfAllKinds({ counts }: DefectPool, kinds: readonly string[], channel: string, count: number): number | undefined {
  if (Object.hasOwn(counts, channel)) clear(counts)
  counts[channel] = count
  if (kinds.some((kind) => !Object.hasOwn(counts, kind))) return undefined
  const sum = kinds.reduce((total, kind) => total + counts[kind]!, 0)
  clear(counts)
  return sum
}

function clear(counts: Record<string, number>): void {
  for (const channel of Object.keys(counts)) delete counts[channel]
}
