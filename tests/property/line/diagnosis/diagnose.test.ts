import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { GROUP_FAMILIES } from '../../../../src/line/diagnosis/cause-groups.js'
import { diagnose } from '../../../../src/line/diagnosis/diagnose.js'
import { outcomesOf } from '../../../../src/line/diagnosis/likelihoods.js'
import { featureCatalogue } from '../../../../src/line/features/feature-catalogue.js'
import type { FeatureEvidence } from '../../../../src/line/diagnosis.js'
import { BENIGN_IDS, FAULT_IDS, NONE_OF_THESE } from '../../../../src/line/causes.js'
import { MINIMUM_LINE, RICH_LINE } from '../../../unit/line/diagnosis/diagnosis-cases.js'

const LINES = [MINIMUM_LINE, RICH_LINE]

function evidenceArbitrary(features: readonly string[]): fc.Arbitrary<FeatureEvidence[]> {
  const item = (feature: string): fc.Arbitrary<FeatureEvidence> =>
    fc
      .tuple(fc.constantFrom('quiet', 'quiet', 'quiet', 'quiet', 'moved', 'learning', 'not-observable'), fc.double({ min: 0.3, max: 12, noNaN: true }), fc.boolean(), fc.integer({ min: 1, max: 40 }), fc.constantFrom('growing', 'steady', 'fading'))
      .map(([kind, size, up, windows, trend]): FeatureEvidence => {
        const still = { shiftSigma: 0, shift: 0, onsetMs: 0, windows: 0, trend: 'steady' as const }
        if (kind === 'quiet') return { feature, status: 'quiet', centre: 1, ...still }
        if (kind !== 'moved') return { feature, status: kind as 'learning' | 'not-observable', centre: 0, ...still }
        const shiftSigma = up ? size : -size
        return { feature, status: up ? 'up' : 'down', shiftSigma, shift: shiftSigma / 10, centre: 1, onsetMs: 1000 * windows, windows, trend: trend as FeatureEvidence['trend'] }
      })
  return fc.tuple(...features.map(item)) as fc.Arbitrary<FeatureEvidence[]>
}

const SPECS = LINES.map((definition) => featureCatalogue(definition))
const caseArbitrary = fc.integer({ min: 0, max: LINES.length - 1 }).chain((index) => evidenceArbitrary(SPECS[index]!.map((spec) => spec.feature)).map((evidence) => ({ definition: LINES[index]!, specs: SPECS[index]!, evidence, timeMs: 1_000_000 })))

describe('diagnose', () => {
  it('gives probabilities that sum to 1, ranked, each cause once, none-of-these always among them', () => {
    fc.assert(
      fc.property(caseArbitrary, (input) => {
        for (const { causes } of diagnose(input)) {
          expect(causes.reduce((sum, cause) => sum + cause.probability, 0)).toBeCloseTo(1, 9)
          for (const { probability } of causes) expect(probability).toBeGreaterThanOrEqual(0)
          expect(causes.map(({ probability }) => probability)).toEqual([...causes.map(({ probability }) => probability)].sort((a, b) => b - a))
          const all = causes.flatMap(({ cause, members }): readonly string[] => members ?? [cause])
          expect(new Set(all).size).toBe(all.length)
          expect(all).toContain(NONE_OF_THESE)
        }
      }),
      { numRuns: 150 },
    )
  })

  it('does not depend on the order of the evidence', () => {
    fc.assert(
      fc.property(caseArbitrary, fc.integer(), (input, seed) => {
        const shuffled = [...input.evidence].sort((a, b) => hash(a.feature, seed) - hash(b.feature, seed))
        expect(diagnose({ ...input, evidence: shuffled })).toEqual(diagnose(input))
      }),
      { numRuns: 80 },
    )
  })

  it('says the same again and in plain JSON: no undefined, no NaN', () => {
    fc.assert(
      fc.property(caseArbitrary, (input) => {
        const first = diagnose(input)
        expect(JSON.parse(JSON.stringify(first))).toEqual(first)
        expect(JSON.stringify(diagnose(input))).toBe(JSON.stringify(first))
      }),
      { numRuns: 60 },
    )
  })

  it('names only known causes and groups, with members of the group', () => {
    const known = new Set<string>([...FAULT_IDS, ...BENIGN_IDS, NONE_OF_THESE])
    fc.assert(
      fc.property(caseArbitrary, (input) => {
        for (const { causes } of diagnose(input)) {
          for (const { cause, members, kind } of causes) {
            if (members === undefined) expect(known.has(cause)).toBe(true)
            else {
              expect(members.length).toBeGreaterThan(1)
              expect(kind).toBe('fault')
              for (const member of members) expect(GROUP_FAMILIES[cause]).toContain(member)
            }
          }
        }
      }),
      { numRuns: 100 },
    )
  })

  it('abstains exactly where the lead is weak, close or none, and then still lists causes and a check without electrician', () => {
    fc.assert(
      fc.property(caseArbitrary, (input) => {
        for (const { causes, abstains, abstainReason, checkFirst } of diagnose(input)) {
          const [first, second] = causes
          const weak = first!.kind === 'none-of-these' || first!.probability < 0.6 || (second !== undefined && first!.probability - second.probability < 0.2)
          expect(abstains).toBe(weak)
          expect(abstainReason !== undefined).toBe(abstains)
          expect(checkFirst.needsElectrician).toBe(false)
        }
      }),
      { numRuns: 100 },
    )
  })

  it('never claims a fault no channel can show with half the weight', () => {
    fc.assert(
      fc.property(caseArbitrary, (input) => {
        for (const { causes, invisible } of diagnose(input)) {
          for (const { cause, members, probability } of causes) if ((members ?? [cause]).every((id) => invisible.includes(id))) expect(probability).toBeLessThan(0.5)
        }
      }),
      { numRuns: 100 },
    )
  })

  it('a feature found quiet lowers the fault that would have moved it most', () => {
    const definition = RICH_LINE
    const specs = SPECS[1]!
    const pairs: readonly (readonly [string, string, string])[] = [
      ['clogged-nozzle', 'fluxer.flow.mean', 'fluxer.flow-for-pressure'],
      ['leaking-seal', 'fluxer.pressure.mean', 'fluxer.pressure.hold'],
      ['coated-thermocouple', 'preheat.zone-1.temperature.slow-own', 'preheat.zone-1.temperature.fast-own'],
      ['dross-at-intake', 'pot.wave-height.spread', 'pot.wave.height-for-speed'],
      ['low-level', 'pot.level.slope', 'pot.level.offset'],
    ]
    fc.assert(
      fc.property(fc.constantFrom(...pairs), fc.double({ min: 2, max: 8, noNaN: true }), ([fault, moved, absent], size) => {
        const way = outcomesOf(fault as 'low-level', moved, definition).down > outcomesOf(fault as 'low-level', moved, definition).up ? -1 : 1
        const evidence = (status: 'quiet' | 'not-observable'): FeatureEvidence[] => [
          { feature: moved, status: way > 0 ? 'up' : 'down', shiftSigma: way * size, shift: way, centre: 1, onsetMs: 1, windows: 5, trend: 'growing' },
          { feature: absent, status, shiftSigma: 0, shift: 0, centre: 1, onsetMs: 0, windows: 0, trend: 'steady' },
        ]
        const weight = (status: 'quiet' | 'not-observable'): number => {
          const causes = diagnose({ definition, specs, timeMs: 10, evidence: evidence(status) })[0]!.causes
          return causes.find(({ cause, members }) => cause === fault || (members as readonly string[] | undefined)?.includes(fault))?.probability ?? 0
        }
        // Seen alone, without its quiet partner, the fault weighs more; being able to show there at all weighs nothing.
        expect(weight('quiet')).toBeLessThan(weight('not-observable') + 0.02)
      }),
      { numRuns: 60 },
    )
  })
})

function hash(text: string, seed: number): number {
  let value = seed
  for (const char of text) value = (value * 31 + char.charCodeAt(0)) % 1_000_003
  return value
}
