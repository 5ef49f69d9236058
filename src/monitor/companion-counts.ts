import type { FeatureEvidence } from '../line/diagnosis.js'
import { ALL_DEFECTS } from '../line/features/defect-pool.js'
import { deviationOf, shiftOf, type RecentValues } from './standing-change.js'

const COUNT = /^board\.defects\..+\.count$/
/** Standard errors by which the counts of another kind must stand above their level since the first kind rose. [ASM] */
const COMPANION_ERRORS = 2.5
const VALUES_MIN = 4

/** Level and newest values of a count, whatever its chart says. */
export interface CountKept {
  readonly centre: number
  readonly sigma: number
  /** Effective values learned from. */
  readonly n: number
  readonly recent: RecentValues
}

/**
 * Once boards show more of one kind of defect, or of all together, whether they show more of another is a question of its own, asked once and of
 * a known time: it takes no chart's limits, which guard against asking every half hour for weeks. A kind that has risen
 * since then, though its chart has not signalled, is `up`. All kinds together say how sure the rise is.
 *
 * @param keptOf level and newest values of a count; undefined where it has none
 */
export function withCompanionCounts(evidence: readonly FeatureEvidence[], keptOf: (feature: string) => CountKept | undefined): FeatureEvidence[] {
  const risen = evidence.filter(({ feature, status }) => (COUNT.test(feature) || feature === ALL_DEFECTS) && status === 'up')
  if (risen.length === 0) return [...evidence]
  const onsetMs = Math.min(...risen.map((item) => item.onsetMs))
  const known = new Map(evidence.flatMap(({ feature }) => (COUNT.test(feature) ? [[feature, excessSince(keptOf(feature), onsetMs)] as const] : [])))
  const allKindsErrors = errorsOf([...known.values()])
  return evidence.map((item) => {
    const excess = known.get(item.feature)
    if (excess === undefined || item.status === 'down') return item
    const together = { ...item, allKindsErrors }
    if (item.status === 'up' || errorsOf([excess]) < COMPANION_ERRORS) return together
    const shiftSigma = excess.sum / excess.values
    return { ...together, status: 'up', centre: excess.level.centre, shift: shiftOf(excess.level, shiftSigma, true), shiftSigma, onsetMs, windows: excess.values, trend: 'steady' }
  })
}

/** What some counts were above their level. */
interface Excess {
  /** Sigmas, over all of them. */
  readonly sum: number
  readonly values: number
  readonly level: CountKept
}

function excessSince(kept: CountKept | undefined, onsetMs: number): Excess | undefined {
  if (kept === undefined || !(kept.sigma > 0) || !(kept.n > 0)) return undefined
  const values = kept.recent.values.filter((_, index) => kept.recent.timesMs[index]! >= onsetMs)
  return values.length < VALUES_MIN ? undefined : { sum: values.reduce((sum, value) => sum + deviationOf(kept, value, true), 0), values: values.length, level: kept }
}

/** Standard errors of the sum of what several kinds were above their levels; each level is itself known from some values only. */
function errorsOf(excesses: readonly (Excess | undefined)[]): number {
  let sum = 0
  let variance = 0
  for (const excess of excesses) {
    if (excess === undefined) continue
    sum += excess.sum
    variance += excess.values * (1 + excess.values / excess.level.n)
  }
  return variance > 0 ? sum / Math.sqrt(variance) : 0
}
