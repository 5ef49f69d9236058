import { describe, expect, it } from 'vitest'
import type { FeatureEvidence } from '../../../../src/line/diagnosis.js'
import { withoutSpoiltComparisons } from '../../../../src/line/diagnosis/spoilt-comparisons.js'

const item = (feature: string, status: FeatureEvidence['status'], shiftSigma = 0): FeatureEvidence => ({ feature, status, shiftSigma, shift: shiftSigma, centre: 1, onsetMs: status === 'up' ? 5 : 0, windows: 3, trend: 'steady' })

describe('comparisons between zones', () => {
  it('are taken back for the others while one zone is clearly off by itself', () => {
    const evidence = [item('preheat.zone-1.warm-up-time', 'up', 6), item('preheat.zone-1.temperature.slow-own', 'up', 4), item('preheat.zone-2.temperature.slow-own', 'up', 4), item('preheat.zone-2.temperature.slow', 'quiet')]
    expect(withoutSpoiltComparisons(evidence).map(({ status }) => status)).toEqual(['up', 'up', 'not-observable', 'quiet'])
  })

  it('stand while nothing but comparisons moved, or only a little', () => {
    const evidence = [item('preheat.zone-1.temperature.fast-own', 'down', -5), item('preheat.zone-2.temperature.slow-own', 'up', 4), item('preheat.zone-3.temperature.offset', 'up', 2)]
    expect(withoutSpoiltComparisons(evidence)).toEqual(evidence)
  })
})
