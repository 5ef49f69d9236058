import type { FaultEffects } from './fault-effects.js'
import { RandomStream } from './random-stream.js'
import type { ConveyorParameters } from './site-parameters.js'

/** Speeds ripple by 1 - cos(pi/z), peak to peak, on a sprocket of z teeth (chain kinematics). */
export function chordalRipple(teeth: number): number {
  return 1 - Math.cos(Math.PI / teeth)
}

/** Frequencies that ride on the chain speed, Hz: tooth v/p, sprocket turn v/(p z), chain loop v/L, finger pass v/pf. */
export function conveyorFrequenciesHz(speedMmS: number, conveyor: Pick<ConveyorParameters, 'chainPitchMm' | 'sprocketTeeth' | 'chainLoopMm' | 'fingerPitchMm'>): {
  readonly tooth: number
  readonly turn: number
  readonly loop: number
  readonly fingers: number
} {
  const tooth = speedMmS / conveyor.chainPitchMm
  return { tooth, turn: tooth / conveyor.sprocketTeeth, loop: speedMmS / conveyor.chainLoopMm, fingers: speedMmS / conveyor.fingerPitchMm }
}

const PENDING_S = 8
/** Speed at which the tables of stick-slip were computed. */
const TABLE_SPEED_MM_S = 20
const RAIL_TIME_CONSTANT_S = 1800
/** A motor encoder sees little of what the chain does behind its own compliance [ASM]. */
const MOTOR_SENSOR_SHARE = 0.12
const JUMP_LENGTH_MAX_MM = 20

/**
 * Event model of the conveyor for long runs: 1 s mean speed = v (1 + noise + tooth + sprocket + loop parts) plus jumps, each a dip
 * followed by an overshoot of the same area. Sizes follow the bristle-friction results at 20 mm/s [SIM]: sd of 1 s
 * means 0.16 clean, 0.78 dirty rails, 2.4 dirty chain severe, 0.73 dry, 0.19 sticky grease; sd at 100 Hz 1.3, 6.6, 25, 8.6, 0.5 mm/s.
 */
export class ConveyorMotion {
  /** Mean over the last second as the sensor sees it, mm/s. */
  speedMmS = 0
  /** Mean over the last second of the chain itself. */
  chainSpeedMmS = 0
  speedSdMmS = 0
  speedMinMmS = 0
  speedMaxMmS = 0
  currentA = 0
  railC: number
  jumpCount = 0
  private positionMm = 0
  private turning = 0
  private readonly pending = new Float64Array(PENDING_S)
  private pendingIndex = 0
  private slowNoise = 0
  private readonly loopPhase: number
  private readonly patchPhase: number
  private readonly noise: RandomStream
  private readonly jumps: RandomStream
  private readonly drive: RandomStream
  private readonly rippleAmplitude: number

  constructor(
    private readonly conveyor: ConveyorParameters,
    seed: number,
    ambientC: number,
  ) {
    this.noise = new RandomStream(seed, 'conveyor.noise')
    this.jumps = new RandomStream(seed, 'conveyor.jumps')
    this.drive = new RandomStream(seed, 'conveyor.drive')
    this.loopPhase = this.jumps.uniform(0, 2 * Math.PI)
    this.patchPhase = this.jumps.uniform(0, 2 * Math.PI)
    this.rippleAmplitude = (chordalRipple(conveyor.sprocketTeeth) / 2) * conveyor.rippleShare
    this.railC = ambientC
  }

  /** One second. `hotC`: mean air temperature of the zones; `wet`: excess lubricant after work, 0-1. */
  step(setpointMmS: number, surroundings: { readonly ambientC: number; readonly hotC: number; readonly wet: number }, effects: FaultEffects): void {
    const railTargetC = surroundings.ambientC + 0.27 * (surroundings.hotC - surroundings.ambientC)
    this.railC += (railTargetC - this.railC) / RAIL_TIME_CONSTANT_S
    this.turning += (setpointMmS - this.turning) * 0.9 // speed servo 0.1-0.5 s
    if (setpointMmS === 0 && this.turning < 0.05) {
      this.stand()
      return
    }
    const v = this.turning * (1 - 0.03 * effects.drive) // servo droop under load
    const crawl = TABLE_SPEED_MM_S / Math.max(4, v) // stick-slip worsens at low speed
    const modulation = this.speedParts(v, crawl, surroundings.wet, effects)
    const jump = this.jumpPart(v, crawl, effects)
    this.chainSpeedMmS = Math.max(0, v * (1 + modulation) + jump)
    this.positionMm += this.chainSpeedMmS
    this.speedMmS = this.conveyor.speedSensor === 'chain' ? this.chainSpeedMmS : v * (1 + MOTOR_SENSOR_SHARE * modulation + 0.003 * this.drive.gaussian()) + MOTOR_SENSOR_SHARE * jump
    this.driveStatistics(v, crawl, effects)
    this.currentA = this.current(v, crawl, surroundings.ambientC, effects, jump)
  }

  private stand(): void {
    this.turning = 0
    this.speedMmS = 0
    this.chainSpeedMmS = 0
    this.speedSdMmS = 0
    this.speedMinMmS = 0
    this.speedMaxMmS = 0
    this.currentA = 0
    this.pending.fill(0)
  }

  /** Share of v: noise, friction noise of the faults, tooth, turn, finger and loop lines, each averaged over the second. */
  private speedParts(v: number, crawl: number, wet: number, effects: FaultEffects): number {
    const { conveyor, positionMm } = this
    const mid = positionMm + v / 2
    const turn = (2 * Math.PI * mid) / (conveyor.chainPitchMm * conveyor.sprocketTeeth)
    const tooth = turn * conveyor.sprocketTeeth
    const toothHz = v / conveyor.chainPitchMm
    const share = this.noise.gaussian()
    this.slowNoise = 0.3 * this.slowNoise + this.noise.gaussian()
    // Excess sd of the 1 s mean at 20 mm/s as a share of v; the jumps add theirs by themselves.
    const friction = Math.hypot(0.03 * effects.rails, 0.02 * effects.chain ** 2, 0.016 * effects.dry ** 1.5) * crawl
    const rough = Math.hypot(0.005 * effects.sticky, 0.012 * effects.bearing, 0.012 * effects.drive, 0.006 * wet)
    let part = conveyor.noiseShare * share + (friction + rough) * 0.95 * this.slowNoise
    part += this.rippleAmplitude * (1 + 2 * effects.sprocket) * secondMean(toothHz) * Math.sin(tooth)
    part += (0.001 + 0.05 * effects.sprocket) * secondMean(toothHz / conveyor.sprocketTeeth) * Math.sin(turn)
    part += (0.0005 + 0.004 * effects.chain + 0.006 * effects.sprocket) * Math.sin((2 * Math.PI * mid) / conveyor.chainLoopMm + this.loopPhase)
    if (effects.rails > 0) {
      const fingerHz = v / conveyor.fingerPitchMm
      part += 0.035 * effects.rails * secondMean(fingerHz) * Math.sin((2 * Math.PI * mid) / conveyor.fingerPitchMm + this.patchPhase)
    }
    return part
  }

  /** Jumps per hour: clean 0.1, dirty chain 6 at severity 0.5 and 60 at 1 [ASM]; dry chain and rails fewer; cold sticky grease some. */
  private jumpRatePerHour(v: number, crawl: number, effects: FaultEffects): number {
    const loop = (2 * Math.PI * this.positionMm) / this.conveyor.chainLoopMm + this.loopPhase
    const patch = 1 + 0.8 * Math.cos(loop) // the dirty links come round once per loop
    const cold = Math.max(0, (50 - this.railC) / 22)
    const rate = 59.9 * effects.chain ** 3.32 * patch + 4 * effects.dry ** 2 + 2.5 * effects.rails ** 2 + 25 * effects.sticky * cold + 0.5 * effects.drive
    return (0.1 + rate * crawl) * Math.min(1, v / 5)
  }

  private jumpPart(v: number, crawl: number, effects: FaultEffects): number {
    const pending = this.pending[this.pendingIndex]!
    this.pending[this.pendingIndex] = 0
    this.pendingIndex = (this.pendingIndex + 1) % PENDING_S
    let now = 0
    if (this.jumps.next() < this.jumpRatePerHour(v, crawl, effects) / 3600) {
      this.jumpCount += 1
      const depth = this.jumps.uniform(0.2, 1)
      const start = this.jumps.next()
      const durationS = Math.min(this.jumps.uniform(0.5, 2), JUMP_LENGTH_MAX_MM / (depth * v))
      now += this.spread(-depth * v, start, start + durationS)
      now += this.spread(depth * v, start + durationS, start + 2 * durationS)
    }
    return pending + now
  }

  /** Spreads a rectangle of speed over the seconds it covers; returns the part of the second under way. */
  private spread(height: number, fromS: number, toS: number): number {
    let now = 0
    for (let second = Math.floor(fromS); second < toS; second += 1) {
      const part = height * (Math.min(toS, second + 1) - Math.max(fromS, second))
      if (second === 0) now += part
      else {
        const index = (this.pendingIndex + second - 1) % PENDING_S
        this.pending[index] = this.pending[index]! + part
      }
    }
    return now
  }

  /** sd, min and max inside the second as a drive that samples at 100 Hz would report them. */
  private driveStatistics(v: number, crawl: number, effects: FaultEffects): void {
    const own = 1.3 * (1 - 0.6 * effects.sticky)
    const sd = Math.hypot(own, 6.5 * effects.rails * crawl, 25 * effects.chain ** 1.2 * crawl, 8.5 * effects.dry ** 1.5 * crawl, 0.6 * effects.sprocket, 1.2 * effects.bearing)
    const seen = (this.conveyor.speedSensor === 'chain' ? 1 : MOTOR_SENSOR_SHARE) * sd * Math.exp(0.15 * this.drive.gaussian())
    this.speedSdMmS = (seen * v) / (v + 1)
    this.speedMinMmS = Math.max(0, this.speedMmS - 2.3 * this.speedSdMmS)
    this.speedMaxMmS = this.speedMmS + 2.3 * this.speedSdMmS
  }

  /** Drive current, A: idle part plus drag, drag from the friction pairs of the bristle model and the state of the lubricant. */
  private current(v: number, crawl: number, ambientC: number, effects: FaultEffects, jump: number): number {
    const { conveyor } = this
    const force = dragForceN(v, this.railC, conveyor.normalForceN, effects)
    const cold = conveyor.coldDragN * Math.exp(-Math.max(0, this.railC - ambientC) / 10)
    // sd of the current: 0.006 A clean, 0.029 rails, 0.083 dirty chain, 0.028 dry, 0.008 sticky [SIM].
    const sd = Math.hypot(0.006, 0.028 * effects.rails * crawl, 0.08 * effects.chain ** 1.2 * crawl, 0.027 * effects.dry ** 1.5 * crawl, 0.005 * effects.sticky, 0.012 * effects.bearing)
    const turn = (2 * Math.PI * this.positionMm) / (conveyor.chainPitchMm * conveyor.sprocketTeeth)
    const wear = 0.02 * effects.sprocket * Math.sin(turn)
    const total = conveyor.currentIdleA + conveyor.currentPerN * (force + cold) * (1 + 0.3 * effects.bearing)
    return (total + wear) * (1 + 0.2 * effects.drive) + sd * this.drive.gaussian() - jump * 0.002
  }
}

/**
 * Mean drag, N: normal force times the kinetic friction that dirt and lack of lubricant leave, plus viscous drag.
 * mu_k 0.12 clean, 0.22 dirty rails or chain, 0.12 + 0.16 (1 - l)^2 dry; stick phases add about half of the gap to mu_s.
 */
export function dragForceN(speedMmS: number, railC: number, normalForceN: number, effects: Pick<FaultEffects, 'rails' | 'chain' | 'dry' | 'sticky' | 'greaseHotHours'>): number {
  const varnish = effects.greaseHotHours > 500 ? Math.min(0.06, ((effects.greaseHotHours - 500) / 500) * 0.06) : 0 // above 500 hot hours [ASM]
  const kinetic = 0.12 + 0.1 * effects.rails + 0.09 * effects.chain + 0.16 * effects.dry ** 2 + varnish
  const stick = 0.01 * effects.chain + 0.01 * effects.dry ** 2
  const viscous = 60 * (1 + 49 * effects.sticky * Math.exp(-(railC - 60) / 25))
  return normalForceN * (kinetic + stick) + (viscous * speedMmS) / 1000
}

/** Share of a sine of this frequency that is left in a mean over one second. */
function secondMean(frequencyHz: number): number {
  const x = Math.PI * frequencyHz
  return x < 1e-6 ? 1 : Math.sin(x) / x
}
