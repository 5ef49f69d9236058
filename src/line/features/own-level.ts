/** Usual level of one zone, learned once. Plain JSON. */
export interface OwnLevel {
  n: number
  mean: number
}

export function createOwnLevel(): OwnLevel {
  return { n: 0, mean: 0 }
}

/**
 * What a value stands above the zone's own usual level, so that zones of different kinds can be compared. The level is
 * the mean of the first `training` values and then stays: one that goes on learning would learn the fault.
 *
 * @returns undefined while the level is learned
 */
export function aboveOwnLevel(level: OwnLevel, value: number, training: number): number | undefined {
  if (level.n < training) {
    level.n += 1
    level.mean += (value - level.mean) / level.n
    return undefined
  }
  return value - level.mean
}
