/** How long a part was in service, and how that ended. */
export interface Lifetime {
  /** Any unit, above 0. */
  readonly time: number
  /** False: taken out or still running before it failed (censored). A planned replacement is no failure. */
  readonly failed: boolean
}

/** Nothing has failed: how long it lasts cannot be known yet. */
export interface NoFailures {
  readonly kind: 'no-failures'
  readonly valueCount: number
}

/** All failures at one age (to 1e-9 of it) and nothing older: the likelihood grows without end. */
export interface NoSpreadOfAges {
  readonly kind: 'no-spread-of-ages'
}

/**
 * Checks lifetimes before a fit.
 * @throws Error if a time is not a number between 1e-100 and 1e100
 */
export function lifetimeProblem(name: string, lifetimes: readonly Lifetime[]): NoFailures | NoSpreadOfAges | undefined {
  requireLifetimes(name, lifetimes)
  const failures = lifetimes.filter(({ failed }) => failed)
  if (failures.length === 0) return { kind: 'no-failures', valueCount: lifetimes.length }
  const oldest = lifetimes.reduce((most, { time }) => Math.max(most, time), 0)
  return failures.every(({ time }) => time >= oldest * (1 - 1e-9)) ? { kind: 'no-spread-of-ages' } : undefined
}

/** @throws Error if a time is not a number between 1e-100 and 1e100 */
export function requireLifetimes(name: string, lifetimes: readonly Lifetime[]): void {
  lifetimes.forEach(({ time }, i) => {
    if (!(time >= 1e-100 && time <= 1e100)) throw new Error(`${name}: lifetime ${i} must be a number from 1e-100 to 1e100, got ${time}`)
  })
}
