import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { createCommonEffort, effortsBesideOthers, type CommonEffort, type EffortWindow } from '../../../src/line/features/effort-beside-others.js'

const share = fc.double({ min: -0.3, max: 0.3, noNaN: true })
const course = fc.record({
  usual: fc.array(fc.double({ min: 5, max: 90, noNaN: true }), { minLength: 2, maxLength: 6 }),
  windows: fc.array(fc.record({ recipe: fc.constantFrom('a', 'b'), common: share, own: fc.array(fc.double({ min: -0.02, max: 0.02, noNaN: true }), { minLength: 6, maxLength: 6 }) }), { minLength: 40, maxLength: 40 }),
})
type Course = typeof course extends fc.Arbitrary<infer T> ? T : never

function trained({ usual, windows }: Course, name: (zone: number) => string = String): CommonEffort {
  const common = createCommonEffort()
  for (const window of windows) effortsBesideOthers(common, { recipe: window.recipe, efforts: efforts(usual, (zone) => (1 + window.common) * (1 + window.own[zone]!), name) })
  return common
}

function efforts(usual: readonly number[], factor: (zone: number) => number, name: (zone: number) => string = String): EffortWindow['efforts'] {
  return Object.fromEntries(usual.map((effort, zone) => [name(zone), effort * factor(zone)]))
}

describe('effort beside the other zones', () => {
  it('gives every zone a number, within bounds of slope, whatever it was trained with', () => {
    fc.assert(fc.property(course, fc.array(share, { minLength: 6, maxLength: 6 }), (made, now) => {
      const own = effortsBesideOthers(trained(made), { recipe: 'a', efforts: efforts(made.usual, (zone) => 1 + now[zone]!) })!
      made.usual.forEach((usual, zone) => {
        expect(Number.isFinite(own[zone])).toBe(true)
        // at most the zone's own move and one and a half times the others'
        expect(Math.abs(own[zone]! / usual - 1)).toBeLessThan(2.5)
      })
    }))
  })

  it('moves by exactly what one zone did on its own, and of four or more zones moves the others by no more than these differ among themselves and a bounded share of it', () => {
    fc.assert(fc.property(course.filter(({ usual }) => usual.length >= 4), share, (made, off) => {
      const common = trained(made)
      const before = effortsBesideOthers(common, { recipe: 'a', efforts: efforts(made.usual, () => 1) })!
      const after = effortsBesideOthers(common, { recipe: 'a', efforts: efforts(made.usual, (zone) => (zone === 0 ? 1 + off : 1)) })!
      expect(after[0]! - before[0]!).toBeCloseTo(made.usual[0]! * off, 6)
      made.usual.forEach((_, zone) => {
        if (zone === 0) return
        const ratios = made.usual.flatMap((one, at) => (at === 0 || at === zone ? [] : [one / common.zones[at]!.usual]))
        const apart = Math.max(...ratios) - Math.min(...ratios)
        expect(Math.abs(after[zone]! - before[zone]!)).toBeLessThanOrEqual(1.5 * common.zones[zone]!.usual * (apart + 0.04) * (1 + 1e-9))
      })
    }))
  })

  it('does not depend on how the zones are called or in which order they come', () => {
    fc.assert(fc.property(course, share, (made, change) => {
      const plain = effortsBesideOthers(trained(made), { recipe: 'b', efforts: efforts(made.usual, (zone) => 1 + change / (zone + 1)) })!
      const called = (zone: number): string => `zone ${9 - zone}`
      const other = effortsBesideOthers(trained(made, called), { recipe: 'b', efforts: efforts(made.usual, (zone) => 1 + change / (zone + 1), called) })!
      made.usual.forEach((_, zone) => expect(other[called(zone)]).toBeCloseTo(plain[zone]!, 9))
    }))
  })
})
