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

  describe('of heating efforts', () => {
    const zones = (plain: readonly number[], own: readonly number[]): FeatureEvidence[] => [
      ...plain.map((shift, index): FeatureEvidence => ({ ...item(`preheat.zone-${index + 1}.duty.effort`, 'quiet'), lean: shift })),
      ...own.map((shift, index) => item(`preheat.zone-${index + 1}.duty.effort-own`, shift === 0 ? 'quiet' : shift > 0 ? 'up' : 'down', shift)),
    ]
    const ownOf = (evidence: readonly FeatureEvidence[]): string[] => withoutSpoiltComparisons(evidence).slice(evidence.length / 2).map(({ status }) => status)

    it('stand for the zone that moved, not for those that only mirror it', () => {
      expect(ownOf(zones([2, 0, 0], [2, -1, -1]))).toEqual(['up', 'not-observable', 'not-observable'])
      expect(ownOf(zones([0, -2, 0], [1, -2, 1]))).toEqual(['not-observable', 'down', 'not-observable'])
    })

    it('of two zones, where each mirrors the other in full: the one its plain effort bears out, else the one that rose', () => {
      const pair = zones([2, 0], [2, -2])
      expect(ownOf(pair)).toEqual(['up', 'not-observable'])
      expect(ownOf(pair.map((one) => (one.feature === 'preheat.zone-2.duty.effort' ? { ...one, status: 'down' as const, shift: -2 } : one)))).toEqual(['not-observable', 'down'])
    })

    it('of two zones: the one whose plain effort leans far further, though nothing else bears it out', () => {
      expect(ownOf(zones([-0.03, -0.3], [0.2, -0.19]))).toEqual(['not-observable', 'down'])
      expect(ownOf(zones([0.02, -0.3], [0.2, 0]))).toEqual(['not-observable', 'quiet'])
      // both lean: it cannot be told so
      expect(ownOf(zones([0.2, -0.3], [0.2, -0.15]))[0]).toBe('up')
    })

    it('do not stand where all zones went the same way, or the other zones as far', () => {
      expect(ownOf(zones([3, 3, 3], [1, 1, 1]))).toEqual(['not-observable', 'not-observable', 'not-observable'])
      expect(ownOf(zones([-3, -1.5, -1.5], [-2, 0, 0]))[0]).toBe('not-observable')
      expect(ownOf(zones([-3, 4, 0], [-2, 0, 0]))[0]).toBe('not-observable')
    })

    it('do not stand where the exhaust was seen to change by as much, that way', () => {
      const air = (centre: number, shift: number): FeatureEvidence => ({ ...item('exhaust.pressure.mean', shift < 0 ? 'down' : 'up'), centre, shift })
      const own = (shift: number): FeatureEvidence => ({ ...item('preheat.zone-1.duty.effort-own', shift > 0 ? 'up' : 'down', 10 * shift), shift: 40 * shift, centre: 40 })
      const status = (...evidence: FeatureEvidence[]): string => withoutSpoiltComparisons(evidence)[0]!.status
      // 44 % more suction is a fifth more air: 0.6 of that in the effort at most
      expect(status(own(0.11), air(-100, -44))).toBe('not-observable')
      expect(status(own(0.13), air(-100, -44))).toBe('up')
      expect(status(own(-0.11), air(-100, -44))).toBe('down')
      expect(status(own(-0.11), air(-100, 36))).toBe('not-observable')
      expect(status(own(0.11), air(100, 44))).toBe('not-observable')
      expect(status(own(0.11), air(0, 44))).toBe('up')
      expect(status(own(0.11), { ...air(-100, -44), status: 'quiet' })).toBe('up')
    })

    it('stand where the others hardly lean', () => {
      expect(ownOf(zones([-3, -0.2, 0.3], [-2, 0, 0]))[0]).toBe('down')
      expect(ownOf(zones([3, 0.5, 0.5], [3, 0, 0]))[0]).toBe('up')
    })
  })
})
