import type { FaultEffects } from './fault-effects.js'
import { RandomStream } from './random-stream.js'
import type { PotParameters } from './site-parameters.js'
import { contactLengthMm, pumpShareForHeight, waveHeightMm, WAVE_NOMINAL_MM } from './solder-wave.js'

const LIQUID_KG_PER_M3 = 7000 // [MEM]
const HEAT_CAPACITY_J_PER_KG_K = 250 // liquid [MEM]
const SOLID_HEAT_CAPACITY_J_PER_KG_K = 230
const LATENT_J_PER_KG = 60_000
const MELTING_C = 217
const BOARD_HEAT_J = 28_000 // 120 boards/h are 0.9 kW [SIM]
const BAR_MELT_S = 120 // 1-3 min [ASM]
const DROSS_DOUBLING_C = 12 // doubles for +10-15 °C [CP]
const SENSOR_SWING_SD_C = 0.35
const SENSOR_SWING_CORRELATION_S = 200

/** Mass of one millimetre of level, kg: A rho / 1000. */
export function kgPerMm(surfaceAreaM2: number): number {
  return (surfaceAreaM2 * LIQUID_KG_PER_M3) / 1000
}

/** Heat a bar takes from the pot until it is melted and as hot, J. */
export function barHeatJ(kg: number, roomC: number, potC: number): number {
  return kg * (SOLID_HEAT_CAPACITY_J_PER_KG_K * (MELTING_C - roomC) + LATENT_J_PER_KG + HEAT_CAPACITY_J_PER_KG_K * (potC - MELTING_C))
}

/** Solder pot: temperature with melting and freezing, level as a mass balance, pump and wave. */
export class SolderPot {
  /** True temperature. */
  temperatureC: number
  duty = 0
  /** True level with the wave running, mm to reference; the bath stands higher while the pump rests. */
  levelMm: number
  waveMm = 0
  contactMm = 0
  waveSdMm = 0.1
  pumpShare = 0
  setpointC: number
  pumpOn = false
  /** Mass books, kg: for checking the balance. */
  readonly books = { dragged: 0, dross: 0, added: 0, skimmed: 0, drained: 0 }
  private meltShare = 1
  private integral = 0
  private swing = 0
  private meltHeatJ = 0
  private meltKg = 0
  private heightNoise = 0
  private readonly heat: RandomStream
  private readonly wave: RandomStream

  constructor(
    private readonly pot: PotParameters,
    options: { readonly seed: number; readonly setpointC: number; readonly startC: number; readonly startLevelMm: number },
  ) {
    this.heat = new RandomStream(options.seed, 'pot.heat')
    this.wave = new RandomStream(options.seed, 'pot.wave')
    this.temperatureC = options.startC
    this.setpointC = options.setpointC
    this.levelMm = options.startLevelMm
    this.meltShare = options.startC > MELTING_C ? 1 : 0
    this.duty = 0.32
    this.integral = 0.32
  }

  get molten(): boolean {
    return this.meltShare >= 1
  }

  /** Reading of the level sensor without noise: rise when the pump stops, float on dross, shrinkage of frozen solder. */
  sensedLevelMm(effects: FaultEffects): number {
    const float = this.pot.levelSensor === 'float' ? 3 * effects.intake : 0 // +1..4 mm on dross [ASM]
    return this.levelMm + (this.pumpOn ? 0 : this.pot.pumpDropMm) + float - 1.5 * (1 - this.meltShare)
  }

  /** Reading of the probe before noise: true value, slow swing, drift. */
  sensedC(effects: FaultEffects): number {
    return this.temperatureC + this.swing + effects.potOffsetC
  }

  /** Solder bars go in: they melt over some two minutes, cooling the pot and raising the level. */
  addBars(kg: number, roomC: number): void {
    this.meltHeatJ += barHeatJ(kg, roomC, this.temperatureC)
    this.meltKg += kg
  }

  skim(mm: number): void {
    this.levelMm -= mm
    this.books.skimmed += mm * kgPerMm(this.pot.surfaceAreaM2)
  }

  /** Takes solder out (a leak, or a loss nobody makes good), kg. */
  drain(kg: number): void {
    this.levelMm -= kg / kgPerMm(this.pot.surfaceAreaM2)
    this.books.drained += kg
  }

  boardSoldered(heatFactor = 1): void {
    this.temperatureC -= (BOARD_HEAT_J * heatFactor) / this.heatCapacityJPerK()
    this.levelMm -= this.pot.dragPerBoardG / 1000 / kgPerMm(this.pot.surfaceAreaM2)
    this.books.dragged += this.pot.dragPerBoardG / 1000
  }

  step(dtS: number, surroundings: { readonly ambientC: number; readonly powered: boolean; readonly pumpNominal: number }, effects: FaultEffects): void {
    const { pot } = this
    const decay = 1 - dtS / SENSOR_SWING_CORRELATION_S
    this.swing = this.swing * decay + SENSOR_SWING_SD_C * Math.sqrt(Math.max(0, 1 - decay * decay)) * this.heat.gaussian()
    this.control(dtS, surroundings.powered, effects)
    const lossW = pot.lossWPerK * (this.temperatureC - surroundings.ambientC)
    let joules = (this.duty * pot.powerMaxW * effects.potElementPower - lossW) * dtS
    if (this.meltHeatJ > 0 && this.molten) joules -= this.melt(dtS)
    this.takeHeat(joules)
    this.loseDross(dtS, effects)
    this.runPump(dtS, surroundings.pumpNominal, effects)
  }

  private control(dtS: number, powered: boolean, effects: FaultEffects): void {
    if (!powered) {
      this.duty = 0
      this.integral = 0
      return
    }
    const error = this.setpointC - this.sensedC(effects)
    const wanted = this.pot.gainPerK * error + this.integral
    if (wanted > 0 && wanted < 1) this.integral += (this.pot.gainPerK * error * dtS) / this.pot.integralTimeS
    this.duty = Math.min(1, Math.max(0, wanted))
  }

  private heatCapacityJPerK(): number {
    const massKg = this.pot.massKg + this.levelMm * kgPerMm(this.pot.surfaceAreaM2)
    return Math.max(20, massKg) * (this.meltShare >= 1 ? HEAT_CAPACITY_J_PER_KG_K : SOLID_HEAT_CAPACITY_J_PER_KG_K)
  }

  /** Warms, melts, freezes or cools the bath by an amount of heat. */
  private takeHeat(joules: number): void {
    const latentJ = this.pot.massKg * LATENT_J_PER_KG
    const atMelting = (this.meltShare < 1 && this.temperatureC >= MELTING_C) || (this.meltShare > 0 && this.temperatureC <= MELTING_C)
    if (atMelting) {
      this.temperatureC = MELTING_C
      const share = this.meltShare + joules / latentJ
      this.meltShare = Math.min(1, Math.max(0, share))
      if (share < 0 || share > 1) this.temperatureC += ((share - this.meltShare) * latentJ) / this.heatCapacityJPerK()
      return
    }
    this.temperatureC += joules / this.heatCapacityJPerK()
  }

  /** Heat taken by melting bars in this step, J; the level rises with what has melted. */
  private melt(dtS: number): number {
    const share = Math.min(1, dtS / BAR_MELT_S)
    const kg = this.meltKg < 0.01 ? this.meltKg : this.meltKg * share
    const joules = this.meltKg < 0.01 ? this.meltHeatJ : this.meltHeatJ * share
    this.meltKg -= kg
    this.meltHeatJ -= joules
    this.levelMm += kg / kgPerMm(this.pot.surfaceAreaM2)
    this.books.added += kg
    return joules
  }

  private loseDross(dtS: number, effects: FaultEffects): void {
    if (!this.molten) return
    const motion = this.pumpOn ? 1 : 0.25 // a resting surface hardly drosses [ASM]
    const heat = 2 ** ((this.temperatureC - 260) / DROSS_DOUBLING_C)
    const kg = (this.pot.drossKgPerHour * motion * heat * (1 + 0.5 * effects.intake) * dtS) / 3600
    this.levelMm -= kg / kgPerMm(this.pot.surfaceAreaM2)
    this.books.dross += kg
  }

  private runPump(dtS: number, nominalShare: number, effects: FaultEffects): void {
    if (!this.pumpOn || !this.molten) {
      this.pumpShare = 0
      this.waveMm = 0
      this.contactMm = 0
      return
    }
    const resistance = 1 + 3 * effects.intake
    const level = this.levelMm
    let wanted = nominalShare
    if (this.pot.waveControl === 'height') wanted = Math.min(1.5 * nominalShare, pumpShareForHeight(WAVE_NOMINAL_MM * nominalShare, level, resistance))
    this.pumpShare = this.pumpShare === 0 ? wanted : this.pumpShare + (wanted - this.pumpShare) * Math.min(1, dtS / 60)
    // Below some -20 mm the intake draws dross and air; a half-blocked intake does so too [ASM, S24].
    const starving = Math.min(1, Math.max(0, (-level - 18) / 12))
    this.waveSdMm = 0.1 + 0.7 * Math.max(starving, effects.intake)
    const decay = 1 - Math.min(1, dtS / 5)
    this.heightNoise = this.heightNoise * decay + Math.sqrt(1 - decay * decay) * this.wave.gaussian()
    this.waveMm = Math.max(0, waveHeightMm(this.pumpShare, level, resistance) + this.waveSdMm * this.heightNoise)
    this.contactMm = contactLengthMm(this.waveMm)
  }
}
