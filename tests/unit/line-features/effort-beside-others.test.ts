import { describe, expect, it } from 'vitest'
import { commonShare, createCommonEffort, effortsBesideOthers, keepLoaded, takeLoaded, type CommonEffort } from '../../../src/line/features/effort-beside-others.js'
import { normal, seeded } from './feature-run.js'

describe('effort beside the other zones', () => {
  const noise = normal(seeded(11))
  const USUAL = { 1: 50, 2: 40, 3: 30 } as const
  /** Efforts in which zones 2 and 3 change by a share, and zone 1 by `share` of it. */
  const moved = (change: number, share: number): Record<string, number> => ({ 1: USUAL[1] * (1 + share * change), 2: USUAL[2] * (1 + change), 3: USUAL[3] * (1 + change) })
  /** Two recipes; what boards and air do to all zones has a standard deviation of `size`, and chance one of 0.2 %. */
  const trained = (share: number, size = 0.04): CommonEffort => {
    const common = createCommonEffort()
    for (let at = 0; at < 40; at += 1) {
      const recipe = at % 3 === 0 ? 'b' : 'a'
      const efforts = Object.fromEntries(Object.entries(moved(size * noise(), share)).map(([zone, effort]) => [zone, effort * (1 + 0.002 * noise()) * (recipe === 'b' && zone === '1' ? 1.1 : 1)]))
      expect(effortsBesideOthers(common, { recipe, efforts })).toBeUndefined()
    }
    return common
  }
  const own = (common: CommonEffort, efforts: Record<string, number>): Record<string, number> => effortsBesideOthers(common, { recipe: 'a', efforts })!

  it('takes out what all zones do and leaves what one does, the level of the recipe not being mistaken for either', () => {
    const common = trained(1.2)
    expect(common.zones['1']!.slope).toBeGreaterThan(1.1)
    expect(common.zones['1']!.slope).toBeLessThan(1.25)
    const usual = own(common, moved(0, 1.2))
    const together = own(common, moved(0.1, 1.2))
    for (const zone of [1, 2, 3] as const) expect(Math.abs(together[zone]! - usual[zone]!) / USUAL[zone]).toBeLessThan(0.01)
    expect(own(common, { ...moved(0, 1.2), 1: USUAL[1] + 2 })['1']! - usual['1']!).toBeCloseTo(2, 6)
  })

  it('hardly lets one zone that is off move the others', () => {
    const common = trained(1)
    const usual = own(common, moved(0, 1))
    const off = own(common, { ...moved(0, 1), 1: USUAL[1] * 1.2 })
    // zone 1 is off by a fifth, and counts among two as off by 4 % at most, up or down
    for (const zone of [2, 3] as const) expect(Math.abs(off[zone]! - usual[zone]!) / USUAL[zone]).toBeLessThan(0.04)
    expect(off['1']! - usual['1']!).toBeCloseTo(10, 6)
  })

  it('nor under a recipe that takes more of one zone by right', () => {
    const common = createCommonEffort()
    for (let at = 0; at < 40; at += 1) {
      const [recipe, more] = at % 4 === 0 ? ['b', 1.15] as const : ['a', 1] as const
      const all = 1 + 0.01 * noise()
      effortsBesideOthers(common, { recipe, efforts: { 1: 50 * all, 2: 40 * more * all, 3: 30 * all } })
    }
    const usual = effortsBesideOthers(common, { recipe: 'b', efforts: { 1: 50, 2: 46, 3: 30 } })!
    const off = effortsBesideOthers(common, { recipe: 'b', efforts: { 1: 50, 2: 46, 3: 36 } })!
    for (const [zone, effort] of [[1, 50], [2, 46]] as const) expect(Math.abs(off[zone]! - usual[zone]!) / effort).toBeLessThan(0.03)
    expect(off['3']! - usual['3']!).toBeCloseTo(6, 6)
  })

  it('takes no more than half of a change from others that nearly stand still at first', () => {
    const common = createCommonEffort()
    for (let at = 0; at < 40; at += 1) effortsBesideOthers(common, { recipe: 'a', efforts: { 1: 50, 2: 0.5 } })
    expect(own(common, { 1: 50, 2: 5 })['1']).toBeCloseTo(25, 6)
  })

  it('takes any name of a recipe', () => {
    for (const recipe of ['constructor', '__proto__', 'toString']) {
      expect(effortsBesideOthers(trained(1), { recipe, efforts: moved(0, 1) })!['1']).toBeGreaterThan(45)
      const common = createCommonEffort()
      for (let at = 0; at < 40; at += 1) effortsBesideOthers(common, { recipe: at % 10 === 0 ? recipe : 'a', efforts: moved(0.01 * noise(), 1) })
      expect(common.zones['1']!.slope).toBe(1)
    }
  })

  it('leaves the effort nearly alone where the zones were seen to have nothing in common', () => {
    const common = trained(0)
    expect(common.zones['1']!.slope).toBeLessThan(0.15)
    expect(Math.abs(own(common, moved(0.05, 0))['1']! - own(common, moved(0, 0))['1']!)).toBeLessThan(0.4)
  })

  it('expects the same share of every zone while nothing but chance moved them', () => {
    const common = trained(1, 0)
    for (const zone of [1, 2, 3]) expect(common.zones[zone]!.slope).toBe(1)
    const usual = own(common, moved(0, 1))
    const less = own(common, moved(-0.25, 1))
    for (const zone of [1, 2, 3] as const) expect(Math.abs(less[zone]! - usual[zone]!) / USUAL[zone]).toBeLessThan(0.01)
  })

  it('learns the usual once: slow changes of one zone bend nothing, and a copy through JSON goes on the same', () => {
    const common = trained(1)
    const usual = own(common, moved(0, 1))
    const { zones, recipes } = JSON.parse(JSON.stringify(common)) as CommonEffort
    // a zone that comes to need a third less within a day and more
    for (let at = 0; at < 200; at += 1) own(common, { ...moved(0, 1), 1: 50 - at / 12 })
    expect({ zones: common.zones, recipes: common.recipes }).toEqual({ zones, recipes })
    const other = own(common, moved(0, 1))
    for (const zone of [1, 2, 3]) expect(other[zone]).toBeCloseTo(usual[zone]!, 9)
    const copy = JSON.parse(JSON.stringify(common)) as CommonEffort
    for (let at = 0; at < 20; at += 1) expect(own(copy, moved(0.01 * at, 1))).toEqual(own(common, moved(0.01 * at, 1)))
  })

  it('goes on learning by which share a zone goes along with the others, from what they do within an hour', () => {
    const common = trained(1, 0)
    const usual = own(common, moved(0, 0.6))
    const off = (): number => Math.abs(own(common, moved(0.2, 0.6))['1']! - usual['1']!) / USUAL[1]
    for (let at = 0; at < 6; at += 1) own(common, moved(0, 0.6))
    const first = off()
    // 8 % of which half is taken out at once
    expect(first).toBeGreaterThan(0.03)
    for (let at = 0; at < 6; at += 1) own(common, moved(0.2, 0.6))
    const second = off()
    expect(second).toBeLessThan(first / 2)
    // nothing is left of it once the draw is as before
    for (let at = 0; at < 12; at += 1) own(common, moved(0, 0.6))
    expect(own(common, moved(0, 0.6))['1']).toBeCloseTo(usual['1']!, 2)
  })

  it('is not taught by a zone that does something of its own while the others move', () => {
    const common = trained(1, 0)
    for (let at = 0; at < 8; at += 1) own(common, moved(0, 1))
    for (let at = 0; at < 8; at += 1) own(common, { ...moved(0.1, 1), 1: USUAL[1] * 0.8 })
    const usual = own(common, moved(0, 1))
    expect(Math.abs(own(common, moved(0.1, 1))['1']! - usual['1']!) / USUAL[1]).toBeLessThan(0.01)
  })

  it('tells by which share all zones need more than usual, of the recipe that runs', () => {
    const common = trained(1, 0)
    expect(commonShare(createCommonEffort(), 'a')).toBeUndefined()
    expect(commonShare(common, 'a')).toBeUndefined()
    own(common, moved(0.1, 1))
    own(common, { ...moved(0.1, 1), 1: USUAL[1] * 1.5 })
    expect(commonShare(common, 'a')).toBeCloseTo(0.1, 2)
    expect(commonShare(common, 'b')).toBeUndefined()
  })

  it('bounds the share a zone may take of what the others do, and takes none of the other sign', () => {
    const steep = createCommonEffort()
    const against = createCommonEffort()
    for (let at = 0; at < 40; at += 1) {
      effortsBesideOthers(steep, { recipe: 'a', efforts: moved((at - 20) / 100, 4) })
      effortsBesideOthers(against, { recipe: 'a', efforts: moved((at - 20) / 100, -1) })
    }
    expect(steep.zones['1']!.slope).toBe(1.5)
    expect(against.zones['1']!.slope).toBe(0)
  })

  it('of two zones takes each as the measure of the other', () => {
    const common = createCommonEffort()
    for (let at = 0; at < 40; at += 1) effortsBesideOthers(common, { recipe: 'a', efforts: { 1: 50 + (at % 5), 2: 40 + 0.8 * (at % 5) } })
    expect(own(common, { 1: 57, 2: 45.6 })['1']).toBeCloseTo(own(common, { 1: 52, 2: 41.6 })['1']!, 6)
  })

  it('learns from windows kept until the load was known as from any others', () => {
    const direct = createCommonEffort()
    const kept = createCommonEffort()
    for (let at = 0; at < 40; at += 1) {
      const boards = at % 7
      const efforts = moved(0.03 * noise(), 1)
      effortsBesideOthers(direct, { recipe: 'a', efforts })
      keepLoaded(kept, { recipe: 'a', boards, efforts: { 1: efforts['1']! + boards, 2: efforts['2']! + boards, 3: efforts['3']! + boards } })
    }
    takeLoaded(kept, (zone, { boards, efforts }) => efforts[zone]! - boards)
    expect(kept.waiting).toEqual([])
    for (const zone of ['1', '2', '3']) {
      expect(kept.zones[zone]!.usual).toBeCloseTo(direct.zones[zone]!.usual, 9)
      expect(kept.zones[zone]!.slope).toBeCloseTo(direct.zones[zone]!.slope, 6)
    }
  })

  it('starts anew with a zone heard for the first time', () => {
    const common = trained(1)
    expect(effortsBesideOthers(common, { recipe: 'a', efforts: { ...moved(0, 1), 4: 20 } })).toBeUndefined()
    for (let at = 0; at < 38; at += 1) effortsBesideOthers(common, { recipe: 'a', efforts: { ...moved(0.01 * noise(), 1), 4: 20 } })
    expect(Object.keys(common.zones)).toEqual([])
    effortsBesideOthers(common, { recipe: 'a', efforts: { ...moved(0, 1), 4: 20 } })
    expect(own(common, { ...moved(0, 1), 4: 20 })['4']).toBeCloseTo(20, 1)
  })
})
