import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { boardsAtUsualAir, createBoardAir, type BoardAir } from '../../../src/line/features/boards-at-usual-air.js'
import { featureCatalogue, type FeatureSpec } from '../../../src/line/features/feature-catalogue.js'
import { LEVEL_VALUES } from '../../../src/line/features/usual-level.js'
import { lineWith, normal, seeded } from './feature-run.js'

const ROOM_C = 28

describe('temperature of boards at the usual air', () => {
  /** Boards of a line whose exhaust takes `perShareC` for the whole of the zones' usual effort. */
  const line = (perShareC: number, seed = 5): { readonly air: BoardAir; at(share: number, faultC?: number): number } => {
    const noise = normal(seeded(seed))
    const air = createBoardAir()
    return { air, at: (share, faultC = 0) => boardsAtUsualAir(air, 'a', 112 + perShareC * share + faultC + 0.2 * noise(), { ambientC: ROOM_C, share }) }
  }
  const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length

  it('takes out the room as far as boards bring it with them [process knowledge B2: 8 °C more leave 1.9 °C]', () => {
    const air = createBoardAir()
    expect(boardsAtUsualAir(air, 'a', 113.8, { ambientC: ROOM_C + 8, share: undefined })).toBeCloseTo(111.9, 1)
    expect(boardsAtUsualAir(air, 'a', 112, { ambientC: undefined, share: undefined })).toBe(112)
  })

  it('learns from changes of the draw how boards follow it, whichever way, and leaves next to nothing of them', () => {
    for (const perShareC of [-30, 15]) {
      const { at } = line(perShareC)
      for (let n = 0; n < LEVEL_VALUES; n += 1) at(0)
      for (let n = 0; n < 8; n += 1) at(0.12)
      for (let n = 0; n < 8; n += 1) at(0)
      expect(Math.abs(mean(Array.from({ length: 8 }, () => at(0.12))) - 112)).toBeLessThan(Math.abs(0.12 * perShareC) / 6)
      expect(Math.abs(mean(Array.from({ length: 8 }, () => at(0))) - 112)).toBeLessThan(0.3)
    }
  })

  it('leaves what grows over a day in full, also while the draw changes', () => {
    const { at } = line(-30)
    for (let n = 0; n < LEVEL_VALUES; n += 1) at(0)
    for (let n = 0; n < 16; n += 1) at(n < 8 ? 0.12 : 0)
    const values = Array.from({ length: 48 }, (_, n) => at(n % 24 < 12 ? 0 : 0.12, -n / 8))
    expect(mean(values.slice(-6))).toBeGreaterThan(112 - 6.6)
    expect(mean(values.slice(-6))).toBeLessThan(112 - 4.6)
  })

  it('holds a recipe against the draw under which its level was learned, and one it has not heard of the draw against the last', () => {
    const { air, at } = line(-30)
    for (let n = 0; n < LEVEL_VALUES; n += 1) at(0.12)
    for (let n = 0; n < 8; n += 1) at(0)
    for (let n = 0; n < 8; n += 1) at(0.12)
    // usual of this recipe is a draw of 12 %: there nothing is taken out
    expect(mean(Array.from({ length: 8 }, () => at(0.12)))).toBeCloseTo(112 - 3.6, 0)
    expect(boardsAtUsualAir(air, 'a', 112 - 3.6, { ambientC: ROOM_C, share: undefined })).toBeCloseTo(112 - 3.6, 0)
  })

  it('counts smaller changes where room and heating of the zones are known than where they are not', () => {
    const specFor = (more: readonly string[]): FeatureSpec =>
      featureCatalogue(lineWith(['board.topside-temperature', ...more].map((channel) => ({ channel })))).find(({ feature }) => feature === 'board.topside-temperature.mean')!
    const known = specFor(['ambient.temperature', 'preheat.zone-{n}.duty', 'preheat.zone-{n}.temperature'])
    const unknown = specFor(['ambient.temperature'])
    expect(known.relevant).toBeLessThan(unknown.relevant!)
    expect(known.sigmaFloor).toBeLessThan(unknown.sigmaFloor)
  })

  it('is a number whatever comes, moves with the boards one to one, and a copy through JSON goes on the same', () => {
    const given = fc.record({ key: fc.constantFrom('a', 'b', '__proto__'), value: fc.double({ min: 20, max: 250, noNaN: true }), ambientC: fc.option(fc.double({ min: -40, max: 80, noNaN: true }), { nil: undefined }), share: fc.option(fc.double({ min: -0.5, max: 0.5, noNaN: true }), { nil: undefined }) })
    fc.assert(fc.property(fc.array(given, { maxLength: 80 }), given, fc.double({ min: -20, max: 20, noNaN: true }), (values, last, move) => {
      const air = createBoardAir()
      for (const { key, value, ...now } of values) expect(Number.isFinite(boardsAtUsualAir(air, key, value, now))).toBe(true)
      const copy = (): BoardAir => JSON.parse(JSON.stringify(air)) as BoardAir
      const { key, value, ambientC } = last
      const plain = boardsAtUsualAir(copy(), key, value, { ambientC, share: undefined })
      expect(boardsAtUsualAir(copy(), key, value + move, { ambientC, share: undefined }) - plain).toBeCloseTo(move, 6)
      expect(boardsAtUsualAir(copy(), key, value, last)).toBe(boardsAtUsualAir(air, key, value, last))
    }), { numRuns: 100, seed: 6 })
  })
})
