import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { studyStep, studyZone, type ZoneChange, type ZoneStudy } from './zone-study.js'

type Target = { readonly name: string; readonly change: ZoneChange } & Partial<ZoneStudy>

const fixture = JSON.parse(readFileSync(new URL('../../../fixtures/reference/preheat-model.json', import.meta.url), 'utf8')) as {
  readonly cases: readonly Target[]
  readonly outletSensor: readonly { flow: number; zoneFallC: number }[]
  readonly steps: readonly { lagS: number; read63S: number; true63S: number; readOvershootC: number; trueOvershootC: number }[]
}

const TOLERANCE = 0.15
/** Means of temperatures lie near their set-point whatever happens: 15 % of them would be no test. */
const TEMPERATURE_TOLERANCE_C: Partial<Record<keyof ZoneStudy, number>> = { readingMean: 0.1, zoneMean: 0.6, heaterMean: 3, exitMean: 1 }

function expectTarget(found: ZoneStudy, target: Target): void {
  for (const key of Object.keys(found) as (keyof ZoneStudy)[]) {
    const wanted = target[key]
    if (wanted === undefined) continue
    const allowed = TEMPERATURE_TOLERANCE_C[key] ?? TOLERANCE * wanted
    // A sd near 0.05 or 0.11 °C is given to two digits only.
    expect(Math.abs(found[key] - wanted), `${key}: ${found[key]} for ${wanted}`).toBeLessThanOrEqual(Math.max(allowed, key.endsWith('Sd') && wanted > 0.02 && wanted < 0.2 && key !== 'fastSd' ? 0.02 : 0))
  }
}

describe('preheat model against its regression targets', () => {
  it.each(fixture.cases.map((target) => [target.name, target] as const))('%s', (_name, target) => {
    expectTarget(studyZone(target.change), target)
  })

  it('a clogged blower lowers the zone where the thermocouple sits at the heater outlet, and the duty with it', () => {
    const clean = studyZone({ thermocouple: 'heater-outlet' })
    for (const { flow, zoneFallC } of fixture.outletSensor) {
      const clogged = studyZone({ thermocouple: 'heater-outlet', flow })
      expect(clogged.readingMean).toBeCloseTo(clean.readingMean, 1)
      expect(Math.abs(clean.zoneMean - clogged.zoneMean - zoneFallC)).toBeLessThanOrEqual(TOLERANCE * zoneFallC)
      expect(clogged.dutyMean).toBeLessThan(0.98 * clean.dutyMean)
      expect(clogged.exitMean).toBeLessThan(clean.exitMean - 3)
    }
  })

  it.each(fixture.steps.map((step) => [step.lagS, step] as const))('set-point step of 10 °C with a lag of %i s', (lagS, target) => {
    const found = studyStep(lagS, [1, 2, 3, 4])
    for (const key of ['read63S', 'true63S', 'readOvershootC', 'trueOvershootC'] as const) expect(Math.abs(found[key] - target[key]) / target[key], `${key}: ${found[key]}`).toBeLessThanOrEqual(TOLERANCE)
  })

  it('half-second steps agree with steps of a tenth and of a whole second', () => {
    const half = studyZone({})
    for (const stepS of [0.1, 1]) {
      const other = studyZone({ stepS })
      expect(other.readingSd / half.readingSd).toBeCloseTo(1, 1)
      expect(other.dutyMean / half.dutyMean).toBeCloseTo(1, 2)
      expect(other.exitMean).toBeCloseTo(half.exitMean, 0)
      expect(other.warmUpS / half.warmUpS).toBeGreaterThan(0.95)
      expect(other.warmUpS / half.warmUpS).toBeLessThan(1.05)
    }
  })

  it('separates a weak heater from a clogged blower and a coated thermocouple by the warm-up time', () => {
    const clean = studyZone({ hours: 1 }).warmUpS
    const weak = studyZone({ power: 0.8, hours: 1 }).warmUpS / clean
    expect(Math.abs(weak / 1.34 - 1)).toBeLessThan(0.08) // 1019/760
    expect(studyZone({ flow: 0.6, hours: 1 }).warmUpS / clean).toBeLessThan(1.12)
    expect(studyZone({ lagS: 40, hours: 1 }).warmUpS / clean).toBeLessThan(1.06)
  })
})
