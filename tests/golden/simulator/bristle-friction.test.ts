import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { REFERENCE_DRIVE, runBristleDrive, stickSlipCycle, type BristleDrive } from '../../../src/simulator/bristle-friction.js'

interface Case {
  readonly name: string
  readonly drive: Partial<BristleDrive>
  readonly speedSd: number
  readonly secondMeanSd: number
  readonly stuck: number
  readonly force: number
  readonly current: number
  readonly tolerance: number
}

const fixture = JSON.parse(readFileSync(new URL('../../../fixtures/reference/bristle-drive.json', import.meta.url), 'utf8')) as { readonly cases: readonly Case[]; readonly severeSlipsPerS: number }

const run = (drive: Partial<BristleDrive>, seed = 1): ReturnType<typeof runBristleDrive> => runBristleDrive({ ...REFERENCE_DRIVE, ...drive }, { seed, durationS: 300 })

describe('chain drive with bristle friction', () => {
  it.each(fixture.cases.map((entry) => [entry.name, entry] as const))('%s', (_name, target) => {
    const runs = [1, 2, 3].map((seed) => run(target.drive, seed))
    const mean = (pick: (result: (typeof runs)[number]) => number): number => runs.reduce((sum, result) => sum + pick(result), 0) / runs.length
    expect(mean((result) => result.forceMeanN) / target.force).toBeGreaterThan(0.95)
    expect(mean((result) => result.forceMeanN) / target.force).toBeLessThan(1.05)
    expect(Math.abs(mean((result) => result.currentMeanA) / target.current - 1)).toBeLessThan(0.02)
    expect(Math.abs(mean((result) => result.speedSdMmS) / target.speedSd - 1), `speed sd ${mean((result) => result.speedSdMmS)}`).toBeLessThanOrEqual(target.tolerance)
    expect(Math.abs(mean((result) => result.secondMeanSdMmS) / target.secondMeanSd - 1), `sd of 1 s means ${mean((result) => result.secondMeanSdMmS)}`).toBeLessThanOrEqual(Math.max(0.25, target.tolerance))
    expect(Math.abs(mean((result) => result.stuckShare) - target.stuck), `stuck ${mean((result) => result.stuckShare)}`).toBeLessThanOrEqual(0.08)
  })

  it('slips as often as the simple static-kinetic model says', () => {
    const simple = stickSlipCycle({ forceStepN: 52.8, stiffnessNPerM: 2e4, massKg: 45, speedMmS: 20 })
    expect(simple.stickS).toBeCloseTo(0.264, 3)
    expect(simple.slipS).toBeCloseTo(0.149, 3)
    expect(simple.frequencyHz).toBeCloseTo(2.42, 2)
    expect(simple.slipMm).toBeCloseTo(5.28, 2)
    const severe = run({ kinetic: 0.22, static: 0.4, noiseShare: 0.15 })
    expect(severe.slipsPerS).toBeGreaterThan(0.85 * fixture.severeSlipsPerS)
    expect(severe.slipsPerS).toBeLessThan(1.15 * fixture.severeSlipsPerS)
  })

  it('stick-slip worsens at low speed and all but vanishes with a stiff chain', () => {
    const dry = { kinetic: 0.28, static: 0.4, noiseShare: 0.05 }
    const usual = run(dry)
    const slow = run({ ...dry, speedMmS: 10 })
    expect(slow.speedSdMmS / 10).toBeGreaterThan(1.5 * (usual.speedSdMmS / 20))
    expect(run({ ...dry, speedMmS: 40 }).speedSdMmS / 40).toBeLessThan(usual.speedSdMmS / 20)
    expect(run({ ...dry, stiffnessNPerM: 1e5 }).speedSdMmS).toBeLessThan(0.3 * usual.speedSdMmS)
  })
})
