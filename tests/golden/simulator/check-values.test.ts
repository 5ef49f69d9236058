import { describe, expect, it } from 'vitest'
import { chordalRipple, conveyorFrequenciesHz } from '../../../src/simulator/conveyor-motion.js'
import { severityOfDeposit } from '../../../src/simulator/deposits.js'
import { fluxPerBoardG, orificeFlowMlPerMin, strokeOverlap } from '../../../src/simulator/fluxer.js'
import { referenceSite } from '../../../src/simulator/site-parameters.js'
import { barHeatJ, kgPerMm } from '../../../src/simulator/solder-pot.js'
import { contactLengthMm, pumpShareForHeight, sideDwellDifferenceS, waveHeightMm } from '../../../src/simulator/solder-wave.js'
import { beadTimeConstantS, coatedLagS, firstOrderResponse, heatedTemperatureC, lumpedTimeConstantS } from '../../../src/simulator/thermocouple-lag.js'

/** Worked numbers of the process knowledge; each is exact arithmetic on stated inputs unless marked [SIM]. */
describe('check values', () => {
  it('board through three zones: 60.26, 87.70, 112.22 °C', () => {
    let boardC = 28
    const after = [110, 130, 150].map((airC) => (boardC = heatedTemperatureC(airC, boardC, 30, 60)))
    expect(after[0]).toBeCloseTo(60.26, 2)
    expect(after[1]).toBeCloseTo(87.7, 1)
    expect(after[2]).toBeCloseTo(112.22, 2)
  })

  it('mean ramp 0.936 °C/s over the three zones, 1.075 °C/s in the first', () => {
    const after = [110, 130, 150].reduce<number[]>((boards, airC) => [...boards, heatedTemperatureC(airC, boards.at(-1) ?? 28, 30, 60)], [])
    expect((after[2]! - 28) / 90).toBeCloseTo(0.936, 3)
    expect((after[0]! - 28) / 30).toBeCloseTo(1.075, 3)
  })

  it('dwell: 50 mm of contact are 2.50 s at 20 mm/s, 60 mm 3.00 s there and 2.0 s at 30 mm/s', () => {
    expect(contactLengthMm(10) / 20).toBeCloseTo(2.5, 9)
    expect(contactLengthMm(12.5) / 20).toBeCloseTo(3, 9)
    expect(contactLengthMm(12.5) / 30).toBeCloseTo(2, 9)
  })

  it('sheathed thermocouples of 1.0, 1.5 and 3.0 mm: half after 3, 8, 23 s and 90 % after 10, 25, 80 s are one time constant each', () => {
    const table: readonly [number, number, number][] = [[3, 10, 4.33], [8, 25, 11.2], [23, 80, 34]]
    for (const [halfS, ninetyS, timeConstantS] of table) {
      expect(firstOrderResponse(halfS, timeConstantS)).toBeCloseTo(0.5, 1)
      expect(firstOrderResponse(ninetyS, timeConstantS)).toBeCloseTo(0.9, 1)
    }
  })

  it('first-order step: 63.2, 86.5, 95.0, 99.3 %; half after 0.693 and 90 % after 2.303 time constants', () => {
    expect([1, 2, 3, 5].map((time) => Number((100 * firstOrderResponse(time, 1)).toFixed(1)))).toEqual([63.2, 86.5, 95.0, 99.3])
    expect(firstOrderResponse(0.693, 1)).toBeCloseTo(0.5, 3)
    expect(firstOrderResponse(2.303, 1)).toBeCloseTo(0.9, 3)
  })

  it('lag under a ramp of 1 °C/s is 30 °C at a time constant of 30 s', () => {
    let sensedC = 0
    for (let step = 1; step <= 20_000; step += 1) sensedC += firstOrderResponse(0.01, 30) * (step * 0.01 - sensedC)
    expect(200 - sensedC).toBeCloseTo(30, 1)
  })

  it('bead 3.17 s, board 60 s, pot 1.85 h holding 3.48 kW', () => {
    expect(beadTimeConstantS(3.8e6, 1e-3, 200)).toBeCloseTo(3.17, 2)
    expect(lumpedTimeConstantS(350, 58.3 * 0.1)).toBeCloseTo(60, 1)
    const { pot } = referenceSite()
    expect(lumpedTimeConstantS(pot.massKg * 250, pot.lossWPerK) / 3600).toBeCloseTo(1.85, 2)
    expect((pot.lossWPerK * 232) / 1000).toBeCloseTo(3.48, 2)
  })

  it('coating: 4 s clean, its end at severity 1, next to nothing from a thin film', () => {
    expect(coatedLagS(4, 50, 0)).toBe(4)
    expect(coatedLagS(4, 50, 1)).toBe(50)
    expect(coatedLagS(4, 50, 0.05)).toBeLessThan(4.6)
  })

  it('level: 1.89 kg/mm; 2.0 kg/h are 1.058 mm/h; a bar lifts it 2.65 mm', () => {
    const { pot } = referenceSite()
    const perMm = kgPerMm(pot.surfaceAreaM2)
    expect(perMm).toBeCloseTo(1.89, 2)
    const lossKgPerHour = (120 * pot.dragPerBoardG) / 1000 + pot.drossKgPerHour
    expect(lossKgPerHour).toBeCloseTo(2, 6)
    expect(lossKgPerHour / perMm).toBeCloseTo(1.058, 3)
    expect(5 / (lossKgPerHour / perMm)).toBeCloseTo(4.73, 2)
    expect(pot.barKg / perMm).toBeCloseTo(2.65, 2)
  })

  it('a bar takes 575 kJ, 5.75 °C of the bath', () => {
    const joules = barHeatJ(5, 25, 260)
    expect(joules / 1000).toBeCloseTo(575, 0)
    expect(joules / 100_000).toBeCloseTo(5.75, 1)
  })

  it('tooth 0.787 Hz, sprocket turn 15.24 s, chain loop 600 s, fingers 0.394 Hz', () => {
    const found = conveyorFrequenciesHz(20, { chainPitchMm: 25.4, sprocketTeeth: 12, chainLoopMm: 12_000, fingerPitchMm: 50.8 })
    expect(found.tooth).toBeCloseTo(0.787, 3)
    expect(1 / found.turn).toBeCloseTo(15.24, 2)
    expect(1 / found.loop).toBeCloseTo(600, 6)
    expect(found.fingers).toBeCloseTo(0.394, 3)
  })

  it('chordal ripple: 12 teeth 3.41 %, 20 teeth 1.23 %', () => {
    expect(100 * chordalRipple(12)).toBeCloseTo(3.41, 2)
    expect(100 * chordalRipple(20)).toBeCloseTo(1.23, 2)
  })

  it('flux per board 2.5 g on it, 4.17 g sprayed, 625 mL/h', () => {
    expect(fluxPerBoardG({ areaCm2: 500, doseUgPerCm2: 150, solidsShare: 0.03, transferShare: 1 })).toBeCloseTo(2.5, 6)
    const sprayedG = fluxPerBoardG({ areaCm2: 500, doseUgPerCm2: 150, solidsShare: 0.03, transferShare: 0.6 })
    expect(sprayedG).toBeCloseTo(4.17, 2)
    expect((sprayedG / 0.8) * 120).toBeCloseTo(625, 0)
  })

  it('spray overlap 0.60, no overlap left at 50 mm/s', () => {
    expect(strokeOverlap(20, 0.6, 30)).toBeCloseTo(0.6, 9)
    expect(strokeOverlap(50, 0.6, 30)).toBeCloseTo(0, 9)
    expect(strokeOverlap(51, 0.6, 30)).toBeLessThan(0)
  })

  it('orifice flow 101, 82, 65 mL/min at 0.50, 0.45, 0.40 mm', () => {
    const flow = (diameterMm: number): number => orificeFlowMlPerMin({ diameterMm, pressureBar: 0.6, dischargeCoefficient: 0.7, densityKgPerM3: 800 })
    expect(flow(0.5)).toBeCloseTo(101, 0)
    expect(flow(0.45)).toBeCloseTo(82, 0)
    expect(flow(0.4)).toBeCloseTo(65, 0)
  })

  it('4 mm of contact length are 0.2 s between the sides at 20 mm/s', () => {
    expect(sideDwellDifferenceS(1, 20)).toBeCloseTo(0.2, 9)
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

  it('severity of a deposit: 0.217 at half of m50, 0.5 at m50, 0.859 at twice', () => {
    expect(severityOfDeposit(0)).toBe(0)
    expect(severityOfDeposit(0.5)).toBeCloseTo(0.217, 3)
    expect(severityOfDeposit(1)).toBeCloseTo(0.5, 9)
    expect(severityOfDeposit(2)).toBeCloseTo(0.859, 3)
  })
})
