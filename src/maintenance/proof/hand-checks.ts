import { ROUND_CHECKS } from '../rounds/round-catalogue.js'
import { isWork, workItem } from '../work-catalogue.js'

/** What a person saw when a check was done by hand. */
export interface HandCheckResult {
  readonly check: string
  readonly passed: boolean
  readonly timeMs: number
  readonly zone?: number
}

/** Checks by hand that show whether a job worked: its own, and those of the rounds that see the faults it mends. */
export function handChecksOf(work: string): readonly string[] {
  if (!isWork(work)) return []
  const { check, mends } = workItem(work)
  return [...new Set([...(check === undefined ? [] : [check]), ...ROUND_CHECKS.filter(({ sees }) => sees.some((cause) => mends.includes(cause))).map((round) => round.check)])]
}
