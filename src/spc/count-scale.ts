/** What makes the spread of a Poisson count's square root nearly the same for all means (Anscombe 1948, Biometrika 35). */
const ANSCOMBE = 0.375

/** A count on the scale that count charts work on: the square root, on which all counts scatter alike. */
export function toCountScale(count: number): number {
  return Math.sqrt(Math.max(0, count) + ANSCOMBE)
}

/**
 * The count at a place of that scale. The mean of roots is the root of less than the mean: compare levels on the scale, or
 * both brought back from it, never one of them with a plain mean.
 */
export function fromCountScale(root: number): number {
  return Math.max(0, Math.max(0, root) ** 2 - ANSCOMBE)
}
