import { describe, expect, it } from 'vitest'
import type { FeatureEvidence } from '../../../src/line/diagnosis.js'
import { withCompanionCounts, type CountKept } from '../../../src/monitor/companion-counts.js'

const ONSET_MS = 10_000
const SKIP = 'board.defects.skip.count', BRIDGE = 'board.defects.bridge.count', HOLE = 'board.defects.hole-fill.count'

function evidence(feature: string, status: FeatureEvidence['status']): FeatureEvidence {
  return { feature, status, shiftSigma: status === 'up' ? 3 : 0, shift: status === 'up' ? 2 : 0, centre: 1, onsetMs: status === 'up' ? ONSET_MS : 0, windows: status === 'up' ? 6 : 0, trend: 'steady' }
}

/** A count of 1 in the mean of its roots; some values before the onset and some since. */
function kept(since: readonly number[], more: Partial<CountKept> = {}): CountKept {
  const values = [0, 9, 9, ...since]
  return { centre: 1, sigma: 1.2, n: 60, recent: { values, timesMs: values.map((_, index) => ONSET_MS + (index - 3) * 1000) }, ...more }
}

function said(counts: Readonly<Record<string, CountKept>>, statuses: readonly FeatureEvidence[]): Map<string, FeatureEvidence> {
  return new Map(withCompanionCounts(statuses, (feature) => counts[feature]).map((item) => [item.feature, item]))
}

describe('counts of defects that rise together', () => {
  const risen = [4, 5, 3, 4, 6, 4, 5, 4]
  const calm = [1, 0, 2, 1, 1, 0, 2, 1]

  it('leaves everything as it is while none has risen', () => {
    const items = [evidence(SKIP, 'quiet'), evidence(BRIDGE, 'learning')]
    expect(withCompanionCounts(items, () => kept(risen))).toEqual(items)
  })

  it('takes a second kind for risen that stands above its level since the first one rose, and no other', () => {
    const result = said({ [SKIP]: kept(risen), [BRIDGE]: kept(risen), [HOLE]: kept(calm) }, [evidence(SKIP, 'up'), evidence(BRIDGE, 'learning'), evidence(HOLE, 'quiet'), evidence('pot.duty.effort', 'quiet')])
    expect(result.get(BRIDGE)).toMatchObject({ status: 'up', onsetMs: ONSET_MS, windows: 8, trend: 'steady' })
    expect(result.get(BRIDGE)!.shift).toBeGreaterThan(2)
    expect(result.get(HOLE)!.status).toBe('quiet')
    expect(result.get('pot.duty.effort')).toEqual(evidence('pot.duty.effort', 'quiet'))
  })

  it('asks the kinds as well where all together have risen before any of them', () => {
    const all = 'board.all-defects.count'
    const result = said({ [SKIP]: kept(risen), [BRIDGE]: kept(risen), [HOLE]: kept(calm) }, [evidence(all, 'up'), evidence(SKIP, 'quiet'), evidence(BRIDGE, 'quiet'), evidence(HOLE, 'quiet')])
    expect([SKIP, BRIDGE, HOLE].map((feature) => result.get(feature)!.status)).toEqual(['up', 'up', 'quiet'])
    expect(result.get(SKIP)!.allKindsErrors).toBeGreaterThan(5)
    expect(result.get(all)).toEqual(evidence(all, 'up'))
  })

  it('looks at no value from before the first one rose', () => {
    const before = kept([1, 1, 1, 1, 1])
    expect(said({ [SKIP]: kept(risen), [BRIDGE]: before }, [evidence(SKIP, 'up'), evidence(BRIDGE, 'quiet')]).get(BRIDGE)!.status).toBe('quiet')
  })

  it('tells by how many standard errors all kinds together stand above their levels', () => {
    const statuses = [evidence(SKIP, 'up'), evidence(BRIDGE, 'quiet'), evidence(HOLE, 'quiet')]
    const one = said({ [SKIP]: kept(risen), [BRIDGE]: kept(calm), [HOLE]: kept(calm) }, statuses).get(SKIP)!.allKindsErrors!
    const all = said({ [SKIP]: kept(risen), [BRIDGE]: kept(risen), [HOLE]: kept(risen) }, statuses).get(SKIP)!.allKindsErrors!
    // by hand: the same sum three times, and the errors of three kinds
    const sum = risen.reduce((total, value) => total + ((Math.sqrt(value + 0.375) - Math.sqrt(1.375)) * 2 * Math.sqrt(1.375)) / 1.2, 0)
    expect(all).toBeCloseTo((3 * sum) / Math.sqrt(3 * 8 * (1 + 8 / 60)), 9)
    expect(one).toBeLessThan(all / 2)
  })

  it('is less sure where the level itself is known from few values', () => {
    const statuses = [evidence(SKIP, 'up'), evidence(BRIDGE, 'quiet')]
    const errors = (n: number): number => said({ [SKIP]: kept(risen, { n }), [BRIDGE]: kept(risen, { n }) }, statuses).get(SKIP)!.allKindsErrors!
    expect(errors(8)).toBeLessThan(errors(16))
    expect(errors(16)).toBeLessThan(errors(160))
  })

  it('says nothing of a count that has no level yet or too few values since', () => {
    const statuses = [evidence(SKIP, 'up'), evidence(BRIDGE, 'learning')]
    for (const unknown of [kept(risen, { sigma: 0 }), kept(risen, { n: 0 }), kept([6, 6, 6])]) {
      expect(said({ [SKIP]: kept(risen), [BRIDGE]: unknown }, statuses).get(BRIDGE)).toEqual(evidence(BRIDGE, 'learning'))
    }
  })
})
