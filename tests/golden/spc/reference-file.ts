import { readFileSync } from 'node:fs'
import { expect } from 'vitest'

/** Parsed values computed independently of this project; each file names its source and tolerance. */
export function readReference(name: string): any {
  return JSON.parse(readFileSync(new URL(`../../../fixtures/reference/${name}.json`, import.meta.url), 'utf8'))
}

/** Relative agreement; `what` names the entry in a failure. */
export function expectClose(actual: number, expected: number, toleranceRel: number, what: string): void {
  const error = expected === 0 ? Math.abs(actual) : Math.abs(actual / expected - 1)
  expect(error, `${what}: ${actual} instead of ${expected}`).toBeLessThanOrEqual(toleranceRel)
}
