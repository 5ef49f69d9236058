import { describe, expect, it } from 'vitest'
import type { RankedCause } from '../../../../src/line/causes.js'
import { diagnose } from '../../../../src/line/diagnosis/diagnose.js'
import { featureCatalogue } from '../../../../src/line/features/feature-catalogue.js'
import type { LineDefinition } from '../../../../src/line/line-definition.js'
import { MINIMUM_LINE, RICH_LINE } from './diagnosis-cases.js'
import { generateCase, randomFrom, type GeneratedCase } from './generated-cases.js'

interface Score {
  readonly cases: number
  readonly section: number
  readonly first: number
  readonly firstTwo: number
  readonly whenNamed: number
  readonly calibrationError: number
  readonly unseenClaims: number
}

function isRight(found: GeneratedCase, ranked: RankedCause | undefined): boolean {
  if (ranked === undefined) return false
  const named = ranked.cause === found.cause || (ranked.members as readonly string[] | undefined)?.includes(found.cause) === true
  return named && (found.zone === undefined || ranked.zone === undefined || ranked.zone === found.zone)
}

function score(definition: LineDefinition, drawn: number): Score {
  const random = randomFrom(20_240)
  const specs = featureCatalogue(definition)
  const leads: { probability: number; right: boolean; abstains: boolean; section: boolean; firstTwo: boolean; unseen: boolean }[] = []
  for (let index = 0; index < drawn; index += 1) {
    const found = generateCase(definition, random)
    if (found === undefined) continue
    const diagnoses = diagnose({ definition, timeMs: 2_000_000, evidence: found.evidence, specs })
    if (diagnoses.length === 0) continue
    const main = diagnoses.reduce((most, diagnosis) => (diagnosis.features.length > most.features.length ? diagnosis : most))
    const lead = main.causes[0]!
    leads.push({
      probability: lead.probability,
      right: isRight(found, lead),
      abstains: main.abstains,
      section: lead.section === found.section,
      firstTwo: main.causes.slice(0, 2).some((cause) => isRight(found, cause)),
      unseen: lead.kind === 'fault' && lead.members === undefined && lead.probability >= 0.5 && main.invisible.includes(lead.cause),
    })
  }
  const share = (list: readonly { right: boolean }[], test: (item: (typeof leads)[number]) => boolean): number => (list as typeof leads).filter(test).length / list.length
  const named = leads.filter((lead) => !lead.abstains)
  return {
    cases: leads.length,
    section: share(leads, (lead) => lead.section),
    first: share(leads, (lead) => lead.right),
    firstTwo: share(leads, (lead) => lead.firstTwo),
    whenNamed: share(named, (lead) => lead.right),
    calibrationError: calibrationError(leads),
    unseenClaims: leads.filter((lead) => lead.unseen).length,
  }
}

/** Expected calibration error over ten bins of equal mass. */
function calibrationError(leads: readonly { probability: number; right: boolean }[]): number {
  const sorted = [...leads].sort((a, b) => a.probability - b.probability)
  let error = 0
  for (let bin = 0; bin < 10; bin += 1) {
    const items = sorted.slice(Math.floor((bin * sorted.length) / 10), Math.floor(((bin + 1) * sorted.length) / 10))
    const claimed = items.reduce((sum, item) => sum + item.probability, 0)
    const right = items.filter((item) => item.right).length
    error += Math.abs(claimed - right) / sorted.length
  }
  return error
}

/**
 * Cases drawn from the matrix with strengths up to twice off and one cell in eight missing. They hold the arithmetic to
 * account, not the matrix: whether that is true to a line only a line, or a simulator of its own, can say. Bounds are
 * those of a long run less about three standard errors.
 */
describe('diagnosis of cases generated from a distorted matrix', () => {
  it('minimum set: section, cause or group, first two, calibration, and no claim of what it cannot see', () => {
    const found = score(MINIMUM_LINE, 1200)
    expect(found.cases).toBeGreaterThan(500)
    expect(found.section).toBeGreaterThan(0.87)
    expect(found.first).toBeGreaterThan(0.72)
    expect(found.firstTwo).toBeGreaterThan(0.87)
    expect(found.calibrationError).toBeLessThan(0.1)
    expect(found.unseenClaims).toBe(0)
  })

  it('every channel: better when it names a cause than when it must', () => {
    const found = score(RICH_LINE, 1200)
    expect(found.cases).toBeGreaterThan(1100)
    expect(found.section).toBeGreaterThan(0.85)
    expect(found.first).toBeGreaterThan(0.77)
    expect(found.whenNamed).toBeGreaterThan(0.9)
    expect(found.whenNamed).toBeGreaterThan(found.first)
    expect(found.calibrationError).toBeLessThan(0.09)
    expect(found.unseenClaims).toBe(0)
  })
})
