import { describe, expect, it } from 'vitest'
import { createOthersCorrection, effortBesideOthers, type OthersCorrection } from '../../../src/line/features/effort-beside-others.js'
import { normal, seeded } from './feature-run.js'

describe('effort beside the other zones', () => {
  const noise = normal(seeded(11))
  /** Two recipes; what boards and air do to all zones is six times the noise of one. */
  const trained = (share: number): OthersCorrection => {
    const correction = createOthersCorrection()
    for (let at = 0; at < 40; at += 1) {
      const common = 0.6 * noise()
      const recipe = at % 3 === 0 ? 'b' : 'a'
      expect(effortBesideOthers(correction, { recipe, others: 40 + (recipe === 'b' ? 5 : 0) + common, effort: 50 + (recipe === 'b' ? 9 : 0) + share * common + 0.1 * noise() })).toBeUndefined()
    }
    return correction
  }

  it('takes out what all zones do and leaves what one does, the level of the recipe not being mistaken for either', () => {
    const correction = trained(1.2)
    expect(correction.slope).toBeGreaterThan(1.05)
    expect(correction.slope).toBeLessThan(1.35)
    const usual = effortBesideOthers(correction, { recipe: 'a', others: 40, effort: 50 })!
    expect(effortBesideOthers(correction, { recipe: 'a', others: 42, effort: 52.4 })! - usual).toBeCloseTo(0, 0)
    expect(effortBesideOthers(correction, { recipe: 'a', others: 40, effort: 52 })! - usual).toBeCloseTo(2, 6)
  })

  it('leaves the effort nearly alone where the zones have nothing in common', () => {
    const correction = trained(0)
    expect(correction.slope).toBeLessThan(0.15)
    const change = effortBesideOthers(correction, { recipe: 'a', others: 42, effort: 50 })! - effortBesideOthers(correction, { recipe: 'a', others: 40, effort: 50 })!
    expect(Math.abs(change)).toBeLessThan(0.3)
  })

  it('is learned once: what comes later does not bend it, and a copy through JSON goes on the same', () => {
    const correction = trained(1)
    const slope = correction.slope
    for (let at = 0; at < 100; at += 1) effortBesideOthers(correction, { recipe: 'a', others: 40 + at, effort: 50 - at })
    expect(correction.slope).toBe(slope)
    const copy = JSON.parse(JSON.stringify(correction)) as OthersCorrection
    expect(effortBesideOthers(copy, { recipe: 'a', others: 41, effort: 50 })).toBe(effortBesideOthers(correction, { recipe: 'a', others: 41, effort: 50 }))
  })

  it('bounds the share a zone may take of what the others do, and takes none of the other sign', () => {
    const steep = createOthersCorrection()
    const against = createOthersCorrection()
    for (let at = 0; at < 40; at += 1) {
      effortBesideOthers(steep, { recipe: 'a', others: at, effort: 4 * at })
      effortBesideOthers(against, { recipe: 'a', others: at, effort: -at })
    }
    expect(steep.slope).toBe(1.5)
    expect(against.slope).toBe(0)
  })

  it('takes others that never move for what they are: nothing to correct by', () => {
    const correction = createOthersCorrection()
    for (let at = 0; at < 40; at += 1) effortBesideOthers(correction, { recipe: 'a', others: 40, effort: 50 + noise() })
    expect(effortBesideOthers(correction, { recipe: 'a', others: 44, effort: 51 })).toBe(51)
  })
})
