import { describe, expect, it } from 'vitest'
import { BoardLoading } from '../../../src/simulator/board-loading.js'
import { ConveyorMotion, dragForceN } from '../../../src/simulator/conveyor-motion.js'
import { DEFECT_KINDS, DefectInspection, expectedDefects, type BoardConditions } from '../../../src/simulator/defect-model.js'
import { neutralEffects } from '../../../src/simulator/fault-effects.js'
import { Fluxer } from '../../../src/simulator/fluxer.js'
import { referenceSite } from '../../../src/simulator/site-parameters.js'
import { PotKeeping } from '../../../src/simulator/pot-keeping.js'
import { SolderPot } from '../../../src/simulator/solder-pot.js'

describe('BoardLoading', () => {
  it('puts a board on every interval, in batches', () => {
    const { habits } = referenceSite()
    const loading = new BoardLoading({ ...habits, intervalJitterS: 0 }, 1)
    const seconds = Array.from({ length: 1200 }, (_, second) => (loading.step(30) ? second : -1)).filter((second) => second >= 0)
    expect(seconds.slice(0, 4)).toEqual([0, 30, 60, 90])
    expect(seconds.some((second) => second >= 420 && second < 598)).toBe(false)
    expect(loading.count).toBe(28)
  })

  it('keeps the mean interval whatever the jitter', () => {
    const { habits } = referenceSite()
    const loading = new BoardLoading({ ...habits, intervalJitterS: 5, batchOffS: 0 }, 1)
    for (let second = 0; second < 36_000; second += 1) loading.step(30)
    expect(Math.abs(loading.count - 1200)).toBeLessThan(12)
  })
})

describe('PotKeeping', () => {
  it.each(['bars', 'wire'] as const)('brings the level up before long when the day begins, whatever a weekend has cost (%s)', (feed) => {
    for (const seed of [1, 2, 3, 4, 5]) {
      const site = { ...referenceSite(), pot: { ...referenceSite().pot, feed } }
      const pot = new SolderPot(site.pot, { seed, setpointC: 260, startC: 260, startLevelMm: -16 })
      pot.pumpOn = true
      const keeping = new PotKeeping(site, seed, true)
      const effects = neutralEffects(3)
      const minutes = (count: number, producing: boolean): void => {
        for (let minute = 0; minute < count; minute += 1) {
          keeping.minute({ pot, producing, draining: undefined, ambientC: 28, effects })
          for (let second = 0; second < 60; second += 1) if (producing) pot.step(1, { ambientC: 28, powered: true, pumpNominal: 1 }, effects)
        }
      }
      minutes(60 * 50, false)
      minutes(45, true)
      expect(pot.levelMm, `seed ${seed}`).toBeGreaterThan(-5)
    }
  })
})

describe('SolderPot', () => {
  const surroundings = { ambientC: 28, powered: true, pumpNominal: 1 }
  const potAt = (startC: number): SolderPot => new SolderPot(referenceSite().pot, { seed: 1, setpointC: 260, startC, startLevelMm: 0 })
  const effects = neutralEffects(3)

  it('holds its set-point with about a third of its power', () => {
    const pot = potAt(260)
    let duty = 0
    for (let second = 0; second < 14_400; second += 1) {
      pot.step(1, surroundings, effects)
      if (second >= 7200) duty += pot.duty / 7200
    }
    expect(Math.abs(pot.temperatureC - 260)).toBeLessThan(1.5)
    expect(duty).toBeCloseTo(3.48 / 11, 1)
  })

  it('stops at the melting point when heated from cold, as long as the latent heat takes', () => {
    const pot = potAt(28)
    let plateauS = 0
    let meltedAtS = 0
    for (let second = 0; second < 4 * 3600; second += 1) {
      pot.step(1, surroundings, effects)
      if (Math.abs(pot.temperatureC - 217) < 0.01) plateauS += 1
      if (meltedAtS === 0 && pot.molten) meltedAtS = second
    }
    // 400 kg x 60 kJ/kg over 11 kW less 2.8 kW lost
    expect(plateauS / (24e6 / (11_000 - 15 * 189))).toBeCloseTo(1, 1)
    expect(meltedAtS).toBeGreaterThan(3600)
    expect(Math.abs(pot.temperatureC - 260)).toBeLessThan(3)
  })

  it('cools with a time constant of 1.85 h, freezes at its melting point and makes no dross then', () => {
    const pot = potAt(260)
    for (let second = 0; second < 600; second += 1) pot.step(1, { ...surroundings, powered: false }, effects)
    expect(pot.temperatureC).toBeCloseTo(28 + 232 * Math.exp(-600 / 6667), 0)
    for (let second = 0; second < 10 * 3600; second += 1) pot.step(1, { ...surroundings, powered: false }, effects)
    expect(pot.temperatureC).toBeLessThan(217)
    const { dross } = pot.books
    pot.step(1, { ...surroundings, powered: false }, effects)
    expect(pot.books.dross).toBe(dross)
  })

  it('stands higher by the pump drop while the pump rests', () => {
    const pot = potAt(260)
    const resting = pot.sensedLevelMm(effects)
    pot.pumpOn = true
    expect(resting - pot.sensedLevelMm(effects)).toBeCloseTo(2, 9)
  })

  it('makes twice the dross at a temperature 12 °C higher', () => {
    const drossAt = (celsius: number): number => {
      const pot = potAt(celsius)
      pot.setpointC = celsius
      pot.pumpOn = true
      for (let second = 0; second < 3600; second += 1) pot.step(1, surroundings, effects)
      return pot.books.dross
    }
    expect(drossAt(260)).toBeCloseTo(0.8, 1)
    expect(drossAt(272) / drossAt(260)).toBeCloseTo(2, 0)
  })
})

describe('ConveyorMotion', () => {
  it('stands still with no current and starts within seconds', () => {
    const conveyor = new ConveyorMotion(referenceSite().conveyor, 1, 28)
    const effects = neutralEffects(3)
    const surroundings = { ambientC: 28, hotC: 130, wet: 0 }
    conveyor.step(0, surroundings, effects)
    expect([conveyor.speedMmS, conveyor.currentA, conveyor.speedSdMmS]).toEqual([0, 0, 0])
    for (let second = 0; second < 3; second += 1) conveyor.step(20, surroundings, effects)
    expect(conveyor.speedMmS).toBeGreaterThan(19)
    for (let second = 0; second < 4; second += 1) conveyor.step(0, surroundings, effects)
    expect(conveyor.speedMmS).toBe(0)
  })

  it('jumps lose no way: the chain catches up what it lagged', () => {
    const conveyor = new ConveyorMotion(referenceSite().conveyor, 1, 28)
    const effects = neutralEffects(3)
    effects.chain = 1
    let wayMm = 0
    for (let second = 0; second < 20_000; second += 1) {
      conveyor.step(20, { ambientC: 28, hotC: 130, wet: 0 }, effects)
      wayMm += conveyor.chainSpeedMmS
    }
    expect(conveyor.jumpCount).toBeGreaterThan(200)
    expect(wayMm / 20_000 / 20).toBeCloseTo(1, 2)
  })

  it('a motor encoder sees little of what the chain does', () => {
    const sdSeenBy = (speedSensor: 'chain' | 'motor'): number => {
      const conveyor = new ConveyorMotion({ ...referenceSite().conveyor, speedSensor }, 1, 28)
      const effects = neutralEffects(3)
      effects.chain = 1
      let sum = 0
      for (let second = 0; second < 5000; second += 1) {
        conveyor.step(20, { ambientC: 28, hotC: 130, wet: 0 }, effects)
        if (second > 10) sum += (conveyor.speedMmS - 20) ** 2
      }
      return Math.sqrt(sum / 5000)
    }
    expect(sdSeenBy('chain')).toBeGreaterThan(1.5)
    expect(sdSeenBy('motor')).toBeLessThan(0.35)
  })

  it('drag by friction pair: 54 N clean, about 90 dirty, 125 dry, 122 sticky at a rail of 56 °C', () => {
    const none = { rails: 0, chain: 0, dry: 0, sticky: 0, greaseHotHours: 0 }
    expect(dragForceN(20, 56, 440, none)).toBeCloseTo(54, 0)
    expect(dragForceN(20, 56, 440, { ...none, rails: 0.8 })).toBeCloseTo(90, -1)
    expect(dragForceN(20, 56, 440, { ...none, chain: 1 })).toBeCloseTo(100, -1)
    expect(dragForceN(20, 56, 440, { ...none, dry: 1 })).toBeCloseTo(128, -1)
    expect(dragForceN(20, 56, 440, { ...none, sticky: 1 })).toBeCloseTo(122, -0.5)
    expect(dragForceN(20, 28, 440, { ...none, sticky: 1 })).toBeGreaterThan(200)
  })
})

describe('Fluxer', () => {
  it('sprays the recipe dose on each board', () => {
    const fluxer = new Fluxer(referenceSite().fluxer, 1)
    const effects = neutralEffects(3)
    for (let board = 0; board < 200; board += 1) {
      fluxer.startBoard({ lengthMm: 240, speedMmS: 20, fluxG: 4.17 })
      for (let second = 0; second < 30; second += 1) fluxer.step(true, effects)
    }
    expect(fluxer.sprayedMl / 200).toBeCloseTo(5.21, 1)
  })

  it('leaves a tight line under pressure and lets a leaking one fall within a minute', () => {
    const idleAfterMinute = (seal: number): number => {
      const fluxer = new Fluxer(referenceSite().fluxer, 1)
      const effects = neutralEffects(3)
      effects.seal = seal
      for (let second = 0; second < 60; second += 1) fluxer.step(true, effects)
      return fluxer.pressureBar
    }
    expect(idleAfterMinute(0)).toBeGreaterThan(0.58)
    expect(idleAfterMinute(1)).toBeLessThan(0.1)
  })
})

describe('defect model', () => {
  const good: BoardConditions = { topsideC: 112, dwellS: 2.5, fluxShareLeast: 1, fluxShareMost: 1, speedSdShare: 0, waveSdMm: 0, sideDwellS: 0, potC: 260 }

  it('gives the base rates in the middle of the window', () => {
    expect(DEFECT_KINDS.map((kind) => expectedDefects(kind, 1e6, good))).toEqual([30, 60, 80, 40])
  })

  it('follows the exponents', () => {
    expect(expectedDefects('hole-fill', 1e6, { ...good, topsideC: 100 })).toBeCloseTo(80 * Math.exp(0.6), 6)
    expect(expectedDefects('skip', 1e6, { ...good, dwellS: 1.75 })).toBeCloseTo(30 * Math.exp(0.5), 6)
    expect(expectedDefects('residue', 1e6, { ...good, fluxShareMost: 1.8 })).toBeCloseTo(40 * Math.exp(1.4), 6)
    expect(expectedDefects('bridge', 1e6, { ...good, speedSdShare: 0.05, waveSdMm: 0.3, sideDwellS: -0.2, potC: 249 })).toBeCloseTo(60 * Math.exp(0.4 + 0.3 + 0.2 + 0.3), 6)
    expect(expectedDefects('skip', 100, { ...good, fluxShareLeast: -9 })).toBe(100)
  })

  it('counts with the mean asked for and about twice the spread of a Poisson count', () => {
    const inspection = new DefectInspection(1)
    for (const expected of [0.5, 8, 120]) {
      const counts = Array.from({ length: 20_000 }, () => inspection.count(expected))
      const mean = counts.reduce((sum, count) => sum + count, 0) / counts.length
      const variance = counts.reduce((sum, count) => sum + (count - mean) ** 2, 0) / counts.length
      expect(mean / expected).toBeCloseTo(1, 1)
      expect(variance / mean).toBeGreaterThan(1.7)
      expect(variance / mean).toBeLessThan(2.3)
    }
    expect(inspection.count(0)).toBe(0)
  })
})
