import type { Diagnosis, FeatureEvidence } from '../../../../src/line/diagnosis.js'
import { diagnose, type DiagnosisInput } from '../../../../src/line/diagnosis/diagnose.js'
import { featureCatalogue } from '../../../../src/line/features/feature-catalogue.js'
import { parseLineDefinition, type LineDefinition, type LineDefinitionInput } from '../../../../src/line/line-definition.js'

export function definitionOf(input: Partial<LineDefinitionInput> = {}): LineDefinition {
  const result = parseLineDefinition({ line: 'line-a', ...input })
  if (result.kind !== 'definition') throw new Error(JSON.stringify(result.faults))
  return result.definition
}

export const MINIMUM_CHANNELS = [{ channel: 'preheat.zone-{n}.temperature' }, { channel: 'conveyor.speed' }, { channel: 'pot.level' }]

/** Zone temperatures, speed and level only. */
export const MINIMUM_LINE = definitionOf({ channels: MINIMUM_CHANNELS })

/** The minimum set with the facts that let the lines in the speed be looked for. */
export const MINIMUM_LINE_WITH_CHAIN = definitionOf({ channels: MINIMUM_CHANNELS, machine: { conveyor: { chainPitchMm: 25.4, sprocketTeeth: 12, chainLoopM: 12, speedSensor: 'chain' } } })

/** Every channel, every machine fact. */
export const RICH_LINE = definitionOf({
  machine: {
    fluxer: { feed: 'pressure' },
    zones: [1, 2, 3].map(() => ({ thermocouple: 'board-air' as const, blower: 'fixed-speed' as const })),
    conveyor: { chainPitchMm: 25.4, sprocketTeeth: 12, chainLoopM: 12, fingerPitchMm: 50.8, speedSensor: 'chain' },
  },
})

/** Evidence of every feature of a line: quiet but for those given, as signed shifts in sigmas. */
export function evidenceOf(definition: LineDefinition, moved: Readonly<Record<string, number>>, details: Partial<FeatureEvidence> = {}): FeatureEvidence[] {
  const features = featureCatalogue(definition).map((spec) => spec.feature)
  for (const feature of Object.keys(moved)) if (!features.includes(feature)) throw new Error(`line has no feature "${feature}"`)
  return features.map((feature) => {
    const shiftSigma = moved[feature] ?? 0
    if (shiftSigma === 0) return { feature, status: 'quiet', shiftSigma: 0, shift: 0, centre: 1, onsetMs: 0, windows: 0, trend: 'steady' }
    return { feature, status: shiftSigma > 0 ? 'up' : 'down', shiftSigma, shift: shiftSigma / 10, centre: 1, onsetMs: 1_000_000, windows: 4, trend: 'growing', ...details }
  })
}

export function diagnoseMoves(definition: LineDefinition, moved: Readonly<Record<string, number>>, more: Partial<DiagnosisInput> = {}): readonly Diagnosis[] {
  return diagnose({ definition, timeMs: 2_000_000, evidence: evidenceOf(definition, moved), specs: featureCatalogue(definition), ...more })
}

/** The one diagnosis of a case; fails where there is another number of them. */
export function onlyDiagnosis(definition: LineDefinition, moved: Readonly<Record<string, number>>, more: Partial<DiagnosisInput> = {}): Diagnosis {
  const found = diagnoseMoves(definition, moved, more)
  if (found.length !== 1) throw new Error(`${found.length} diagnoses; expected 1`)
  return found[0]!
}

/** Probability of a cause alone or in a group. */
export function probabilityOf(diagnosis: Diagnosis, cause: string): number {
  return diagnosis.causes.find((ranked) => ranked.cause === cause || (ranked.members as readonly string[] | undefined)?.includes(cause))?.probability ?? 0
}
