import { describe, expect, it } from 'vitest'
import { conveyorFrequenciesHz } from '../../../src/simulator/conveyor-motion.js'
import { severityOfDeposit } from '../../../src/simulator/deposits.js'
import { orificeFlowMlPerMin, strokeOverlap } from '../../../src/simulator/fluxer.js'
import { contactLengthMm, pumpShareForHeight, waveHeightMm } from '../../../src/simulator/solder-wave.js'
import { coatedLagS } from '../../../src/simulator/thermocouple-lag.js'

/** What the model of the process gives beside the worked numbers of fixtures/reference/process-values.json. */
describe('values of the model', () => {
  it('coating: 4 s clean, its end at severity 1, next to nothing from a thin film', () => {
    expect(coatedLagS(4, 50, 0)).toBe(4)
    expect(coatedLagS(4, 50, 1)).toBe(50)
    expect(coatedLagS(4, 50, 0.05)).toBeLessThan(4.6)
  })

  it('orifice flow 82, 65 mL/min at 0.45, 0.40 mm', () => {
    const flow = (diameterMm: number): number => orificeFlowMlPerMin({ diameterMm, pressureBar: 0.6, dischargeCoefficient: 0.7, densityKgPerM3: 800 })
    expect(flow(0.45)).toBeCloseTo(82, 0)
    expect(flow(0.4)).toBeCloseTo(65, 0)
  })

  it('wave height by level, intake resistance and pump speed [SIM]', () => {
    expect(waveHeightMm(1, 0, 1)).toBeCloseTo(10, 2)
    const byLevel: readonly [number, number][] = [[-5, 9.75], [-10, 9.49], [-20, 8.92], [-30, 8.27]]
    for (const [levelMm, heightMm] of byLevel) expect(waveHeightMm(1, levelMm, 1)).toBeCloseTo(heightMm, 1)
    const byResistance: readonly [number, number, number][] = [[1.25, 9.3, 1.07], [1.5, 8.8, 1.13], [2, 8.02, 1.24], [3, 7, 1.44]]
    for (const [factor, heightMm, pumpShare] of byResistance) {
      expect(waveHeightMm(1, 0, factor)).toBeCloseTo(heightMm, 0)
      expect(Math.abs(waveHeightMm(1, 0, factor) - heightMm)).toBeLessThan(0.06)
      expect(pumpShareForHeight(10, 0, factor)).toBeCloseTo(pumpShare, 2)
      expect(waveHeightMm(pumpShareForHeight(10, 0, factor), 0, factor)).toBeCloseTo(10, 4)
    }
    expect(waveHeightMm(0.95, 0, 1)).toBeCloseTo(9.4, 1)
    expect(waveHeightMm(1.05, 0, 1)).toBeCloseTo(10.6, 1)
    expect(contactLengthMm(10)).toBe(50)
    expect(contactLengthMm(9)).toBe(46)
  })

  it('a pump that cannot lift the solder over the lip makes no wave', () => {
    expect(waveHeightMm(0.5, 0, 1)).toBe(0)
  })

  it('fingers pass at 0.394 Hz', () => {
    expect(conveyorFrequenciesHz(20, { chainPitchMm: 25.4, sprocketTeeth: 12, chainLoopMm: 12_000, fingerPitchMm: 50.8 }).fingers).toBeCloseTo(0.394, 3)
  })

  it('above the speed of no overlap there is a gap, and nothing there is no severity', () => {
    expect(strokeOverlap(51, 0.6, 30)).toBeLessThan(0)
    expect(severityOfDeposit(0)).toBe(0)
  })
})
