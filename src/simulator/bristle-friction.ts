import { RandomStream } from './random-stream.js'

/**
 * Chain drive with friction by the dynamic bristle model: servo speed -> chain compliance -> carried mass on rails.
 * Values [ASM], the model from "A new model for control of systems with friction", IEEE Trans. Automatic Control 40(3), 1995.
 */
export interface BristleDrive {
  readonly massKg: number
  readonly normalForceN: number
  /** Chain compliance, N/m. */
  readonly stiffnessNPerM: number
  readonly dampingRatio: number
  /** Stribeck speed, m/s. */
  readonly stribeckMPerS: number
  /** Bristle stiffness, N/m. */
  readonly bristleNPerM: number
  /** Viscous friction, N s/m. */
  readonly viscousNsPerM: number
  /** Kinetic and static friction numbers. */
  readonly kinetic: number
  readonly static: number
  /** Slow multiplicative friction noise, sd as a share; correlation 0.8 s. */
  readonly noiseShare: number
  readonly speedMmS: number
  /** Speed wave of the sprocket as a share of the speed, once per tooth and once per turn. */
  readonly toothShare: number
  readonly turnShare: number
}

export const REFERENCE_DRIVE: BristleDrive = {
  massKg: 45,
  normalForceN: 440,
  stiffnessNPerM: 2e4,
  dampingRatio: 0.05,
  stribeckMPerS: 0.004,
  bristleNPerM: 1e6,
  viscousNsPerM: 60,
  kinetic: 0.12,
  static: 0.14,
  noiseShare: 0.04,
  speedMmS: 20,
  toothShare: 0,
  turnShare: 0,
}

export interface BristleRun {
  /** sd of the speed sampled at 100 Hz, mm/s. */
  readonly speedSdMmS: number
  readonly speedPeakMmS: number
  readonly secondMeanSdMmS: number
  /** Share of the time below a twentieth of the set speed. */
  readonly stuckShare: number
  readonly forceMeanN: number
  readonly currentMeanA: number
  /** sd of the current sampled at 100 Hz after the drive's own averaging over 0.1 s. */
  readonly currentSdA: number
  readonly slipsPerS: number
  readonly speedsMmS: Float64Array
}

const STEP_S = 1e-4
const STEPS_PER_SAMPLE = 100
const NOISE_CORRELATION_S = 0.8
const SETTLE_S = 10
const TOOTH_PITCH_MM = 25.4
const TEETH = 12
const STUCK_SHARE = 0.1

/** Integrates the drive and reports the statistics a 100 Hz speed signal would give. */
export function runBristleDrive(drive: BristleDrive, options: { readonly seed: number; readonly durationS: number }): BristleRun {
  const random = new RandomStream(options.seed, 'bristle')
  const { massKg: mass, stiffnessNPerM: k, bristleNPerM: s0, viscousNsPerM: s2, normalForceN } = drive
  const c = 2 * drive.dampingRatio * Math.sqrt(k * mass)
  const s1 = 0.6 * Math.sqrt(s0 * mass)
  const vSet = drive.speedMmS / 1000
  const noiseDecay = Math.exp((-STEP_S * STEPS_PER_SAMPLE) / NOISE_CORRELATION_S)
  const sampleCount = Math.round(options.durationS * 100)
  const settleCount = SETTLE_S * 100
  const speeds = new Float64Array(sampleCount)
  const currents = new Float64Array(sampleCount)
  const phaseRate = (2 * Math.PI * vSet * 1000) / TOOTH_PITCH_MM
  let v = vSet
  let z = (drive.kinetic * normalForceN) / s0
  let stretch = (drive.kinetic * normalForceN + s2 * vSet) / k
  let noise = 0
  let time = 0
  let forceSum = 0
  let stuck = 0
  let slips = 0
  let wasStuck = false
  let currentMean = 0.62 + 0.0025 * k * stretch
  for (let sample = -settleCount; sample < sampleCount; sample += 1) {
    noise = noise * noiseDecay + drive.noiseShare * Math.sqrt(1 - noiseDecay * noiseDecay) * random.gaussian()
    const normal = normalForceN * (1 + noise)
    let force = 0
    for (let step = 0; step < STEPS_PER_SAMPLE; step += 1) {
      time += STEP_S
      const wave = drive.toothShare * Math.sin(phaseRate * time) + drive.turnShare * Math.sin((phaseRate / TEETH) * time)
      const driven = vSet * (1 + wave)
      const g = normal * (drive.kinetic + (drive.static - drive.kinetic) * Math.exp(-((v / drive.stribeckMPerS) ** 2)))
      const dz = (v - (s0 * Math.abs(v) * z) / g) / (1 + (STEP_S * s0 * Math.abs(v)) / g) // bristle state implicit in its own decay
      z += STEP_S * dz
      const friction = s0 * z + s1 * dz + s2 * v
      const spring = k * stretch + c * (driven - v)
      v += (STEP_S * (spring - friction)) / mass
      stretch += STEP_S * (driven - v)
      force += spring / STEPS_PER_SAMPLE
    }
    currentMean += (0.62 + 0.0025 * force - currentMean) * 0.1
    if (sample < 0) continue
    speeds[sample] = v * 1000
    currents[sample] = currentMean
    forceSum += force
    // Bristles still creep while the chain sticks; a slip counts once the chain has overtaken the drive.
    if (v < STUCK_SHARE * vSet) {
      stuck += 1
      wasStuck = true
    } else if (wasStuck && v > vSet) {
      slips += 1
      wasStuck = false
    }
  }
  return {
    speedSdMmS: sdOf(speeds),
    speedPeakMmS: speeds.reduce((peak, speed) => Math.max(peak, speed), 0),
    secondMeanSdMmS: sdOf(secondMeans(speeds)),
    stuckShare: stuck / sampleCount,
    forceMeanN: forceSum / sampleCount,
    currentMeanA: currents.reduce((sum, current) => sum + current, 0) / sampleCount,
    currentSdA: sdOf(currents),
    slipsPerS: slips / options.durationS,
    speedsMmS: speeds,
  }
}

/** Period and length of one stick-slip cycle by static and kinetic friction and a spring: 2 dF/(k v) + pi sqrt(M/k), slip 2 dF/k. */
export function stickSlipCycle(drive: { readonly forceStepN: number; readonly stiffnessNPerM: number; readonly massKg: number; readonly speedMmS: number }): { readonly stickS: number; readonly slipS: number; readonly frequencyHz: number; readonly slipMm: number } {
  const stickS = (2 * drive.forceStepN) / (drive.stiffnessNPerM * (drive.speedMmS / 1000))
  const slipS = Math.PI * Math.sqrt(drive.massKg / drive.stiffnessNPerM)
  return { stickS, slipS, frequencyHz: 1 / (stickS + slipS), slipMm: (2000 * drive.forceStepN) / drive.stiffnessNPerM }
}

function secondMeans(speeds: Float64Array): Float64Array {
  const count = Math.floor(speeds.length / 100)
  const means = new Float64Array(count)
  for (let index = 0; index < count * 100; index += 1) means[Math.floor(index / 100)]! += speeds[index]! / 100
  return means
}

function sdOf(values: Float64Array): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length)
}
