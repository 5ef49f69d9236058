import { neutralEffects, type FaultEffects } from '../../../src/simulator/fault-effects.js'
import { PreheatTunnel } from '../../../src/simulator/preheat-tunnel.js'
import { referenceZone, type ZoneParameters } from '../../../src/simulator/site-parameters.js'

/** What is changed in zone 3 of the reference line, or around it. */
export interface ZoneChange {
  readonly flow?: number
  readonly coupling?: number
  readonly extraction?: number
  readonly exhaust?: number
  readonly power?: number
  readonly lagS?: number
  readonly stemShare?: number
  readonly offsetC?: number
  readonly ambientC?: number
  readonly draughtSd?: number
  readonly loadFactor?: number
  readonly load?: 'batch' | 'continuous' | 'none'
  readonly thermocouple?: ZoneParameters['thermocouple']
  readonly stepS?: number
  readonly hours?: number
  readonly seed?: number
}

export interface ZoneStudy {
  readonly readingMean: number
  readonly readingSd: number
  readonly fastSd: number
  readonly zoneMean: number
  readonly zoneSd: number
  readonly dutyMean: number
  readonly dutySd: number
  readonly heaterMean: number
  readonly exitMean: number
  readonly exitSd: number
  readonly warmUpS: number
  readonly overshootC: number
}

const TARGETS_C = [110, 130, 150]
const ZONE = 2
const WARM_S = 7200
const SETTLE_S = 3600

/** Runs the reference line's tunnel with a change in zone 3 and gives the statistics of the regression table. */
export function studyZone(change: ZoneChange = {}): ZoneStudy {
  const { tunnel, effects, surroundings, stepS } = build(change)
  const reading: number[] = []
  const air: number[] = []
  const duty: number[] = []
  const heater: number[] = []
  const exits: number[] = []
  const endS = WARM_S + SETTLE_S + (change.hours ?? 8) * 3600
  const stepsPerSecond = Math.round(1 / stepS)
  let warmUpS = Infinity
  let peak = 0
  for (let second = 0; second < endS; second += 1) {
    if (second >= WARM_S && boardDue(second, change.load ?? 'batch')) tunnel.enter({ heatCapacityJPerK: 350 * (change.loadFactor ?? 1), tauS: 60, startC: surroundings.ambientC, aheadMm: 0 })
    for (let part = 0; part < stepsPerSecond; part += 1) {
      tunnel.step(surroundings, effects)
      if (second >= WARM_S + SETTLE_S) exits.push(...tunnel.exitedC)
    }
    const seen = tunnel.sensedC[ZONE]!
    if (seen >= 147 && warmUpS === Infinity) warmUpS = second
    if (second < WARM_S) peak = Math.max(peak, seen)
    if (second < WARM_S + SETTLE_S) continue
    reading.push(seen + (change.offsetC ?? 0))
    air.push(tunnel.airC[ZONE]!)
    duty.push(tunnel.duty[ZONE]!)
    heater.push(tunnel.heaterC[ZONE]!)
  }
  return {
    readingMean: mean(reading),
    readingSd: sd(reading),
    fastSd: Math.hypot(sd(fastPart(reading)), 0.058), // electronics and rounding of the published reading
    zoneMean: mean(air),
    zoneSd: sd(air),
    dutyMean: mean(duty),
    dutySd: sd(duty),
    heaterMean: mean(heater),
    exitMean: exits.length === 0 ? 0 : mean(exits),
    exitSd: exits.length === 0 ? 0 : sd(exits),
    warmUpS,
    overshootC: peak - TARGETS_C[ZONE]!,
  }
}

/** Response to a set-point step of +10 °C without boards: 63.2 % times and overshoots of reading and true air, mean over seeds. */
export function studyStep(lagS: number, seeds: readonly number[]): { readonly read63S: number; readonly true63S: number; readonly readOvershootC: number; readonly trueOvershootC: number } {
  const runs = seeds.map((seed) => {
    const { tunnel, effects, surroundings, stepS } = build({ lagS, seed })
    const steps = Math.round(1 / stepS)
    const stepAtS = 9000
    let read63S = 0
    let true63S = 0
    let readPeak = 0
    let truePeak = 0
    for (let second = 0; second < stepAtS + 3600; second += 1) {
      if (second === stepAtS) tunnel.setpointC[ZONE] = 160
      if (boardDue(second, 'continuous')) tunnel.enter({ heatCapacityJPerK: 350, tauS: 60, startC: surroundings.ambientC, aheadMm: 0 })
      for (let part = 0; part < steps; part += 1) tunnel.step(surroundings, effects)
      if (second < stepAtS) continue
      const reading = tunnel.sensedC[ZONE]!
      const air = tunnel.airC[ZONE]!
      if (read63S === 0 && reading >= 156.32) read63S = second - stepAtS
      if (true63S === 0 && air >= 156.32) true63S = second - stepAtS
      readPeak = Math.max(readPeak, reading - 160)
      truePeak = Math.max(truePeak, air - 160)
    }
    return [read63S, true63S, readPeak, truePeak]
  })
  const [read63S = 0, true63S = 0, readOvershootC = 0, trueOvershootC = 0] = [0, 1, 2, 3].map((index) => mean(runs.map((run) => run[index]!)))
  return { read63S, true63S, readOvershootC, trueOvershootC }
}

function build(change: ZoneChange): { tunnel: PreheatTunnel; effects: FaultEffects; surroundings: Parameters<PreheatTunnel['step']>[0]; stepS: number } {
  const zones = TARGETS_C.map(() => referenceZone())
  const zone = zones[ZONE]!
  if (change.thermocouple !== undefined) zone.thermocouple = change.thermocouple
  if (change.lagS !== undefined) zone.sensorLagS = change.lagS
  const effects = neutralEffects(3)
  effects.flow[ZONE] = change.flow ?? 1
  effects.coupling[ZONE] = change.coupling ?? 1
  effects.extraction[ZONE] = change.extraction ?? 1
  effects.elementPower[ZONE] = change.power ?? 1
  if (change.stemShare !== undefined) {
    zone.fouledStemShare = change.stemShare
    zone.sensorLagMaxS = zone.sensorLagS
    effects.coating[ZONE] = 1
  }
  if (change.offsetC !== undefined) zone.sensorBiasC = change.offsetC
  const stepS = change.stepS ?? 0.5
  const ambientC = change.ambientC ?? 28
  const tunnel = new PreheatTunnel(zones, { seed: change.seed ?? 5, stepS, ambientC, draughtSd: change.draughtSd ?? 0, draughtCorrelationS: 600 })
  tunnel.applyEffects(effects)
  // A line with its sensor at the heater outlet is set so that the clean zone holds the same air temperature.
  TARGETS_C.forEach((airC, index) => (tunnel.setpointC[index] = tunnel.setpointFor(index, airC, 28, 286)))
  return { tunnel, effects, surroundings: { ambientC, speedMmS: 20, exhaust: change.exhaust ?? 1, powered: true, flowShare: 1, turbulenceFactor: 1 }, stepS }
}

function boardDue(second: number, load: 'batch' | 'continuous' | 'none'): boolean {
  return load !== 'none' && second % 30 === 0 && (load === 'continuous' || second % 600 < 420)
}

export function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length
}

export function sd(values: readonly number[]): number {
  const centre = mean(values)
  return Math.sqrt(values.reduce((sum, value) => sum + (value - centre) ** 2, 0) / values.length)
}

/** Part of a 1 s signal faster than 20 s: second-order Butterworth high-pass at 0.05 Hz. */
export function fastPart(values: readonly number[]): number[] {
  const w = Math.tan(Math.PI * 0.05)
  const norm = 1 / (1 + Math.SQRT2 * w + w * w)
  const a1 = 2 * (w * w - 1) * norm
  const a2 = (1 - Math.SQRT2 * w + w * w) * norm
  const out: number[] = []
  let x1 = values[0] ?? 0
  let x2 = x1
  let y1 = 0
  let y2 = 0
  for (const x of values) {
    const y = norm * (x - 2 * x1 + x2) - a1 * y1 - a2 * y2
    x2 = x1
    x1 = x
    y2 = y1
    y1 = y
    out.push(y)
  }
  return out.slice(60)
}
