import type { FeatureEvidence } from '../diagnosis.js'

const OWN = /^preheat\.zone-(\d+)\.temperature\.(?:fast|slow)-own$/
const ZONE = /^preheat\.zone-(\d+)\./
/** A zone that is this far off in something of its own is no measure for the others. [ASM] */
const CLEARLY_OFF_SIGMA = 3

/**
 * Takes back what comparisons between zones say of the others while one zone is clearly off: a zone that cannot hold its
 * heat, or swings, shifts the level the others are compared with. Such a comparison is `not-observable`.
 */
export function withoutSpoiltComparisons(evidence: readonly FeatureEvidence[]): readonly FeatureEvidence[] {
  const off = new Set(
    evidence
      .filter((item) => (item.status === 'up' || item.status === 'down') && Math.abs(item.shiftSigma) >= CLEARLY_OFF_SIGMA && !OWN.test(item.feature))
      .flatMap((item) => ZONE.exec(item.feature)?.[1] ?? []),
  )
  if (off.size === 0) return evidence
  return evidence.map((item) => {
    const zone = OWN.exec(item.feature)?.[1]
    if (zone === undefined || off.has(zone)) return item
    return { ...item, status: 'not-observable', shiftSigma: 0, shift: 0, onsetMs: 0, windows: 0, trend: 'steady' }
  })
}
