import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { parseLineDefinition, type LineDefinitionInput } from '../../src/line/line-definition.js'
import { handLimits, handValues } from '../../src/line/hand-values.js'
import { declaredChannels } from '../../src/line/features/declared-channels.js'
import type { FeatureRefusal } from '../../src/line/features/feature-spec.js'
import { speedLines } from '../../src/line/features/transport-specs.js'
import { convertUnit, type BaseUnit } from '../../src/line/units.js'
import { depositAt } from '../../src/maintenance/intervals/finding-growth.js'
import { FLUX_DENSITY } from '../../src/maintenance/intervals/usual-intervals.js'
import { effectiveCount } from '../../src/spc/autocorrelation.js'
import { stickSlipCycle } from '../../src/simulator/bristle-friction.js'
import { chordalRipple, conveyorFrequenciesHz } from '../../src/simulator/conveyor-motion.js'
import { severityOfDeposit } from '../../src/simulator/deposits.js'
import { fluxPerBoardG, orificeFlowMlPerMin, strokeOverlap } from '../../src/simulator/fluxer.js'
import { referenceSite } from '../../src/simulator/site-parameters.js'
import { barHeatJ, kgPerMm } from '../../src/simulator/solder-pot.js'
import { contactLengthMm, pumpShareForHeight, sideDwellDifferenceS, waveHeightMm } from '../../src/simulator/solder-wave.js'
import { beadTimeConstantS, firstOrderResponse, heatedTemperatureC, lumpedTimeConstantS } from '../../src/simulator/thermocouple-lag.js'
import { studyZone } from './simulator/zone-study.js'

interface Check {
  readonly id: string
  readonly unit: string
  readonly expected: readonly number[]
  /** One for all expected values, or one each. */
  readonly within: number | readonly number[]
  readonly source: string
}

const { checks } = JSON.parse(readFileSync('fixtures/reference/process-values.json', 'utf8')) as { readonly checks: readonly Check[] }

function inBase(value: number, unit: string, base: BaseUnit): number {
  const converted = convertUnit(value, unit, base)
  if (converted.kind !== 'value') throw new Error(`no unit ${unit}`)
  return converted.value
}

function lineWith(definition: Partial<LineDefinitionInput>): ReturnType<typeof parseLineDefinition> & { kind: 'definition' } {
  const parsed = parseLineDefinition({ line: 'line-a', ...definition })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  return parsed
}

/** Time constant of a first-order body from the time it takes to a share of a step, by halving. */
function timeConstantFrom(elapsedS: number, share: number): number {
  let low = 0.01
  let high = 1000
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2
    if (firstOrderResponse(elapsedS, middle) > share) low = middle
    else high = middle
  }
  return low
}

function afterZones(): number[] {
  let boardC = 28
  return [110, 130, 150].map((airC) => (boardC = heatedTemperatureC(airC, boardC, 30, 60)))
}

function rampLagC(): number {
  let sensedC = 0
  for (let step = 1; step <= 20_000; step += 1) sensedC += firstOrderResponse(0.01, 30) * (step * 0.01 - sensedC)
  return 200 - sensedC
}

/** Frequency that a sine shows when it is looked at once a second, by its changes of sign. */
function shownFrequencyHz(frequencyHz: number): number {
  const seconds = 4000
  const values = Array.from({ length: seconds }, (_, second) => Math.sin(2 * Math.PI * frequencyHz * second + 0.1))
  return values.slice(1).filter((value, i) => Math.sign(value) !== Math.sign(values[i]!)).length / 2 / seconds
}

/** Take-up of a loop whose links have come to the limit of the monthly length check. */
function takeUpMm(loopMm: number): number {
  const { definition } = lineWith({ machine: { conveyor: { chainPitchMm: 25.4 } } })
  const pitch = handValues(definition).find(({ check, value }) => check === 'chain-length' && value === 'pitch')!
  return (loopMm / 25.4) * (handLimits(definition, pitch).upper! - 25.4)
}

/** Pressure that a nozzle of four fifths of its area needs for the same flow, and its flow at the same pressure. */
function nozzleValues(): number[] {
  const flow = (areaShare: number, pressureBar: number): number => orificeFlowMlPerMin({ diameterMm: 0.5 * Math.sqrt(areaShare), pressureBar, dischargeCoefficient: 0.7, densityKgPerM3: 800 })
  let ratio = 1
  while (flow(0.8, 0.6 * ratio) < flow(1, 0.6)) ratio += 0.0005
  return [ratio, flow(0.8, 0.6) / flow(1, 0.6)]
}

const flux = { areaCm2: 500, doseUgPerCm2: 150 }
const sprayedG = (): number => fluxPerBoardG({ ...flux, solidsShare: 0.03, transferShare: 0.6 })
const found: Readonly<Record<string, () => readonly number[]>> = {
  'dwell-by-length-and-speed': () => [contactLengthMm(10) / 20, contactLengthMm(12.5) / 20, contactLengthMm(10) / inBase(150, 'cm/min', 'mm/s'), contactLengthMm(2.5) / inBase(60, 'cm/min', 'mm/s')],
  'speed-for-a-dwell': () => [contactLengthMm(12.5) / 2, contactLengthMm(12.5) / 2 / inBase(1, 'm/min', 'mm/s')],
  'speed-units': () => [inBase(1.2, 'm/min', 'mm/s'), inBase(1, 'ft/min', 'mm/s')],
  'board-through-three-zones': afterZones,
  'mean-ramp': () => [(afterZones()[2]! - 28) / 90, (afterZones()[0]! - 28) / 30],
  'first-order-step': () => [1, 2, 3, 5, 0.693, 2.303].map((time) => firstOrderResponse(time, 1)),
  'sheathed-thermocouples': () => [[3, 10], [8, 25], [23, 80]].flatMap(([half, ninety]) => [timeConstantFrom(half!, 0.5), timeConstantFrom(ninety!, 0.9)]),
  'lag-under-a-ramp': () => [rampLagC()],
  'bead-time-constant': () => [beadTimeConstantS(3.8e6, 1e-3, 200)],
  'board-time-constant': () => [lumpedTimeConstantS(350, 58.3 * 0.1)],
  'pot-time-constant': () => [lumpedTimeConstantS(referenceSite().pot.massKg * 250, referenceSite().pot.lossWPerK) / 3600, (referenceSite().pot.lossWPerK * 232) / 1000],
  'solder-per-level': () => [kgPerMm(referenceSite().pot.surfaceAreaM2)],
  'level-fall': () => {
    const { pot } = referenceSite()
    const kgPerHour = (120 * pot.dragPerBoardG) / 1000 + pot.drossKgPerHour
    const mmPerHour = kgPerHour / kgPerMm(pot.surfaceAreaM2)
    return [kgPerHour, mmPerHour, 5 / mmPerHour]
  },
  'top-up-step': () => [referenceSite().pot.barKg / kgPerMm(referenceSite().pot.surfaceAreaM2)],
  'bar-heat': () => [barHeatJ(5, 25, 260) / 1000, barHeatJ(5, 25, 260) / 100_000],
  'conveyor-frequencies': () => {
    const { tooth, turn, loop } = conveyorFrequenciesHz(20, { chainPitchMm: 25.4, sprocketTeeth: 12, chainLoopMm: 12_000, fingerPitchMm: 50.8 })
    return [tooth, turn, 1 / turn, 1000 * loop, 1 / loop]
  },
  'chordal-ripple': () => [100 * chordalRipple(12), 100 * chordalRipple(20)],
  'chain-take-up': () => [takeUpMm(12_000)],
  'stick-slip': () => {
    const { stickS, slipS, frequencyHz, slipMm } = stickSlipCycle({ forceStepN: 52.8, stiffnessNPerM: 2e4, massKg: 45, speedMmS: 20 })
    return [stickS, slipS, frequencyHz, slipMm]
  },
  alias: () => [shownFrequencyHz(2.42)],
  'flux-per-board': () => [fluxPerBoardG({ ...flux, solidsShare: 1, transferShare: 1 }) * 1000, fluxPerBoardG({ ...flux, solidsShare: 0.03, transferShare: 1 }), sprayedG(), sprayedG() / FLUX_DENSITY, (sprayedG() / FLUX_DENSITY) * 120],
  'dose-per-square-inch': () => [150 * (inBase(1, 'in', 'mm') / inBase(1, 'cm', 'mm')) ** 2],
  'spray-overlap': () => {
    let speedMmS = 20
    while (strokeOverlap(speedMmS, 0.6, 30) > 1e-12) speedMmS += 0.125
    return [strokeOverlap(20, 0.6, 30), speedMmS]
  },
  'clogged-nozzle': nozzleValues,
  'orifice-flow': () => [orificeFlowMlPerMin({ diameterMm: 0.5, pressureBar: 0.6, dischargeCoefficient: 0.7, densityKgPerM3: 800 })],
  'mean-of-correlated-values': () => [0.31 / Math.sqrt(effectiveCount(600, Math.exp(-1 / 8)).forMean)],
  parallelism: () => [sideDwellDifferenceS(1, 20) * 20, (Math.asin(1 / 300) * 180) / Math.PI],
  'wave-height': () => [waveHeightMm(1, -10, 1), waveHeightMm(1, 0, 2), pumpShareForHeight(10, 0, 2)],
  'severity-of-a-deposit': () => [0.5, 1, 2].map(severityOfDeposit),
  'zone-duty-under-exhaust': () => [studyZone().dutyMean, studyZone({ exhaust: 1.3 }).dutyMean],
  'warm-up-of-a-weak-heater': () => [studyZone({ power: 0.8, hours: 0.1 }).warmUpS / studyZone({ hours: 0.1 }).warmUpS],
}

describe('worked numbers of the process', () => {
  it('are all held against the code', () => {
    expect(Object.keys(found).sort()).toEqual(checks.map(({ id }) => id).sort())
    for (const { id, source } of checks) expect(source, id).not.toBe('')
  })

  it.each(checks.map((check) => [check.id, check] as const))('%s', (id, { expected, within, unit }) => {
    const values = found[id]!()
    expect(values).toHaveLength(expected.length)
    values.forEach((value, i) => expect(Math.abs(value - expected[i]!), `${id}: ${value} for ${expected[i]} ${unit}`).toBeLessThanOrEqual(typeof within === 'number' ? within : within[i]!))
  })

  it('deposit and severity turn round into each other on both sides', () => {
    for (const severity of [0.1, 0.217, 0.5, 0.625, 0.859]) expect(severityOfDeposit(depositAt(severity))).toBeCloseTo(severity, 9)
  })

  it('a movement that would show as another is refused: 2.42 Hz at one reading a second, not at ten', () => {
    const refusedAt = (periodS: number): boolean => {
      const { definition } = lineWith({ channels: [{ channel: 'conveyor.speed', periodS }], machine: { conveyor: { fingerPitchMm: 20 / 2.42 } } })
      const refusals: FeatureRefusal[] = []
      const lines = speedLines(definition, declaredChannels(definition), refusals)
      const named = lines.some(({ feature }) => feature === 'conveyor.speed.finger-line')
      expect(named).toBe(!refusals.some(({ feature }) => feature === 'conveyor.speed.finger-line'))
      return !named
    }
    expect(refusedAt(1)).toBe(true)
    expect(refusedAt(0.1)).toBe(false)
  })
})
