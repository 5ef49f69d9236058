import type { FaultEffects } from './fault-effects.js'
import { RandomStream } from './random-stream.js'
import type { ZoneParameters } from './site-parameters.js'
import { coatedLagS } from './thermocouple-lag.js'

const BOARDS_MAX = 64
/** Exponents of the forced-convection couplings, usual range 0.6-0.8 [MEM]. */
const FLOW_EXPONENT = 0.7
const COUPLING_EXPONENT = 0.5

/** What acts on all zones from outside in a step. */
export interface TunnelSurroundings {
  ambientC: number
  speedMmS: number
  /** House exhaust, 1 nominal, without the draught. */
  exhaust: number
  /** Heaters may switch on. */
  powered: boolean
  /** Blown air, share of nominal (1 in production, less in standby). */
  flowShare: number
  /** Turbulence over its usual size (run-in). */
  turbulenceFactor: number
}

/**
 * The preheat tunnel: per zone a heater body and the air at board level, a thermocouple with lag, a PI controller, and the boards
 * passing through. Heater: Ch dTh/dt = u P eta - hA (Th - Tz) - UAh (Th - Tamb). Air: Cz dTz/dt = hA (Th - Tz) -
 * UA e (1 + d)(Tz - Tamb) - sum g (Tz - Tb). Board: m cp dTb/dt = g (Tz - Tb), plus gr c (Th - Tb) from an emitter.
 */
export class PreheatTunnel {
  readonly zoneCount: number
  readonly setpointC: Float64Array
  readonly airC: Float64Array
  readonly heaterC: Float64Array
  /** What the thermocouple has come to, before noise and rounding. */
  readonly sensedC: Float64Array
  /** Heater duty, 0-1. */
  readonly duty: Float64Array
  private readonly integral: Float64Array
  private readonly turbulence: Float64Array
  private readonly turbulenceDecay: Float64Array
  private readonly turbulenceKick: Float64Array
  private readonly transfer: Float64Array
  private readonly boardFactor: Float64Array
  private readonly radiantFactor: Float64Array
  private readonly airFlow: Float64Array
  private readonly lagShare: Float64Array
  private readonly stemShare: Float64Array
  private readonly addedC: Float64Array
  private readonly boardLoad: Float64Array
  private readonly radiantLoad: Float64Array
  private readonly zoneEndMm: Float64Array
  private readonly streams: RandomStream[]
  private readonly draughtStream: RandomStream
  private readonly stepS: number
  private draught = 0
  private readonly draughtDecay: number
  draughtSd: number
  private readonly boardPositionMm = new Float64Array(BOARDS_MAX)
  private readonly boardC = new Float64Array(BOARDS_MAX)
  private readonly boardCapacity = new Float64Array(BOARDS_MAX)
  private readonly boardConductance = new Float64Array(BOARDS_MAX)
  private boardFirst = 0
  private flowShareApplied = 1
  boardCount = 0
  /** Temperatures of the boards that left in the last step. */
  readonly exitedC: number[] = []

  constructor(
    private readonly zones: readonly ZoneParameters[],
    options: { readonly seed: number; readonly stepS: number; readonly ambientC: number; readonly draughtSd: number; readonly draughtCorrelationS: number },
  ) {
    const count = zones.length
    const array = (value = 0): Float64Array => new Float64Array(count).fill(value)
    this.zoneCount = count
    this.setpointC = array(options.ambientC)
    this.airC = array(options.ambientC)
    this.heaterC = array(options.ambientC)
    this.sensedC = array(options.ambientC)
    this.duty = array()
    this.integral = array()
    this.turbulence = array()
    this.turbulenceDecay = array()
    this.turbulenceKick = array()
    this.transfer = array()
    this.boardFactor = array(1)
    this.radiantFactor = array()
    this.airFlow = array()
    this.lagShare = array()
    this.stemShare = array()
    this.addedC = array()
    this.boardLoad = array()
    this.radiantLoad = array()
    this.zoneEndMm = array()
    this.streams = zones.map((_, index) => new RandomStream(options.seed, `zone-${index + 1}.turbulence`))
    this.draughtStream = new RandomStream(options.seed, 'draught')
    this.draughtSd = options.draughtSd
    this.stepS = options.stepS
    this.draughtDecay = Math.exp(-options.stepS / options.draughtCorrelationS)
    let endMm = 0
    zones.forEach((zone, index) => {
      endMm += zone.lengthMm
      this.zoneEndMm[index] = endMm
      const decay = Math.exp(-options.stepS / zone.turbulenceCorrelationS)
      this.turbulenceDecay[index] = decay
      this.turbulenceKick[index] = zone.turbulenceSdC * Math.sqrt(1 - decay * decay)
    })
  }

  /** Takes over the couplings that the faults leave; call whenever the effects or the flow share have changed. */
  applyEffects(effects: FaultEffects, flowShare = this.flowShareApplied): void {
    this.flowShareApplied = flowShare
    this.zones.forEach((zone, index) => {
      const flow = effects.flow[index]! * flowShare
      const coupling = effects.coupling[index]!
      const flowFactor = flow ** FLOW_EXPONENT
      this.transfer[index] = zone.transferWPerK * flowFactor * coupling
      this.boardFactor[index] = flowFactor * coupling ** COUPLING_EXPONENT
      this.radiantFactor[index] = zone.kind === 'radiant' ? zone.radiantShare * coupling : 0
      this.airFlow[index] = zone.airFlowWPerK * flow
      const coating = effects.coating[index]!
      this.lagShare[index] = 1 - Math.exp(-this.stepS / coatedLagS(zone.sensorLagS, zone.sensorLagMaxS, coating))
      this.stemShare[index] = zone.kind === 'convection' ? zone.fouledStemShare * coating : 0
      this.addedC[index] = zone.kind === 'radiant' ? zone.fouledRadiationC * coating : 0
    })
  }

  /** A board enters zone 1; with too many boards in the tunnel the newest waits outside (false). */
  enter(board: { readonly heatCapacityJPerK: number; readonly tauS: number; readonly startC: number; readonly aheadMm: number }): boolean {
    if (this.boardCount >= BOARDS_MAX) return false
    const slot = (this.boardFirst + this.boardCount) % BOARDS_MAX
    this.boardPositionMm[slot] = board.aheadMm
    this.boardC[slot] = board.startC
    this.boardCapacity[slot] = board.heatCapacityJPerK
    this.boardConductance[slot] = board.heatCapacityJPerK / board.tauS
    this.boardCount += 1
    return true
  }

  clearBoards(): void {
    this.boardCount = 0
  }

  step(surroundings: TunnelSurroundings, effects: FaultEffects): void {
    const { stepS } = this
    const { ambientC, powered } = surroundings
    if (surroundings.flowShare !== this.flowShareApplied) this.applyEffects(effects, surroundings.flowShare)
    this.draught = this.draught * this.draughtDecay
    if (this.draughtSd > 0) this.draught += this.draughtSd * Math.sqrt(1 - this.draughtDecay * this.draughtDecay) * this.draughtStream.gaussian()
    this.exitedC.length = 0
    if (this.boardCount > 0) this.moveBoards(surroundings.speedMmS)
    const lossShare = Math.max(0, surroundings.exhaust * (1 + this.draught))
    for (let index = 0; index < this.zoneCount; index += 1) {
      const zone = this.zones[index]!
      const air = this.airC[index]!
      const heater = this.heaterC[index]!
      const transfer = this.transfer[index]!
      const transferred = transfer * (heater - air)
      const loss = zone.airLossWPerK * effects.extraction[index]! * lossShare * (air - ambientC)
      const power = this.duty[index]! * zone.powerMaxW * effects.elementPower[index]!
      this.heaterC[index] = heater + (stepS / zone.heaterCapacityJPerK) * (power - transferred - zone.heaterLossWPerK * (heater - ambientC) - this.radiantLoad[index]!)
      const newAir = air + (stepS / zone.airCapacityJPerK) * (transferred - loss - this.boardLoad[index]!)
      this.airC[index] = newAir
      this.sense(index, zone, newAir, ambientC, surroundings.turbulenceFactor)
      if (powered) this.control(index, zone)
      else {
        this.duty[index] = 0
        this.integral[index] = 0
      }
    }
  }

  /** Set-point of the reading that gives the wanted air temperature on the clean zone under mean load. */
  setpointFor(index: number, airC: number, ambientC: number, meanBoardLoadW: number): number {
    const zone = this.zones[index]!
    if (zone.thermocouple === 'board-air') return airC
    const flowW = zone.airLossWPerK * (airC - ambientC) + meanBoardLoadW
    return Math.round(zone.thermocouple === 'heater-outlet' ? airC + flowW / zone.airFlowWPerK : airC + flowW / zone.transferWPerK)
  }

  private sense(index: number, zone: ZoneParameters, air: number, ambientC: number, turbulenceFactor: number): void {
    const w = this.turbulence[index]! * this.turbulenceDecay[index]! + this.turbulenceKick[index]! * this.streams[index]!.gaussian()
    this.turbulence[index] = w
    let seen = air
    if (zone.thermocouple !== 'board-air') {
      const heater = this.heaterC[index]!
      seen = zone.thermocouple === 'on-element' ? heater : Math.min(heater, air + (this.transfer[index]! * (heater - air)) / this.airFlow[index]!)
    }
    const target = seen + w * turbulenceFactor - this.stemShare[index]! * (seen - ambientC) + this.addedC[index]!
    this.sensedC[index] = this.sensedC[index]! + this.lagShare[index]! * (target - this.sensedC[index]!)
  }

  /** PI with the integral held while the output is at an end (anti-wind-up). */
  private control(index: number, zone: ZoneParameters): void {
    const error = this.setpointC[index]! - this.sensedC[index]! - zone.sensorBiasC
    const wanted = zone.gainPerK * error + this.integral[index]!
    if (wanted > 0 && wanted < 1) {
      this.integral[index] = this.integral[index]! + (zone.gainPerK * error * this.stepS) / zone.integralTimeS
      this.duty[index] = wanted
    } else this.duty[index] = wanted >= 1 ? 1 : 0
  }

  private moveBoards(speedMmS: number): void {
    const { stepS } = this
    this.boardLoad.fill(0)
    this.radiantLoad.fill(0)
    const last = this.zoneCount - 1
    const tunnelMm = this.zoneEndMm[last]!
    let leaving = 0
    for (let offset = 0; offset < this.boardCount; offset += 1) {
      const slot = (this.boardFirst + offset) % BOARDS_MAX
      const position = this.boardPositionMm[slot]! + speedMmS * stepS
      this.boardPositionMm[slot] = position
      if (position < 0) continue
      if (position >= tunnelMm) {
        this.exitedC.push(this.boardC[slot]!)
        leaving += 1
        continue
      }
      let index = 0
      while (index < last && position >= this.zoneEndMm[index]!) index += 1
      const board = this.boardC[slot]!
      const conductance = this.boardConductance[slot]!
      const fromAir = conductance * this.boardFactor[index]! * (this.airC[index]! - board)
      const fromHeater = conductance * this.radiantFactor[index]! * (this.heaterC[index]! - board)
      this.boardLoad[index] = this.boardLoad[index]! + fromAir
      this.radiantLoad[index] = this.radiantLoad[index]! + fromHeater
      this.boardC[slot] = board + ((fromAir + fromHeater) * stepS) / this.boardCapacity[slot]!
    }
    this.boardFirst = (this.boardFirst + leaving) % BOARDS_MAX
    this.boardCount -= leaving
    if (this.boardCount === 0) {
      this.boardLoad.fill(0)
      this.radiantLoad.fill(0)
    }
  }
}
