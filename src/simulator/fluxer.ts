import type { FaultEffects } from './fault-effects.js'
import { RandomStream } from './random-stream.js'
import type { FluxerParameters } from './site-parameters.js'

/** Flow through an orifice, mL/min: Cd A sqrt(2 dP / rho). */
export function orificeFlowMlPerMin(orifice: { readonly diameterMm: number; readonly pressureBar: number; readonly dischargeCoefficient: number; readonly densityKgPerM3: number }): number {
  const areaM2 = (Math.PI / 4) * (orifice.diameterMm / 1000) ** 2
  const flowM3PerS = orifice.dischargeCoefficient * areaM2 * Math.sqrt((2 * orifice.pressureBar * 1e5) / orifice.densityKgPerM3)
  return flowM3PerS * 6e7
}

/** Wet flux to spray per board, g, for a dose of solids on its area. */
export function fluxPerBoardG(board: { readonly areaCm2: number; readonly doseUgPerCm2: number; readonly solidsShare: number; readonly transferShare: number }): number {
  return (board.areaCm2 * board.doseUgPerCm2) / 1e6 / board.solidsShare / board.transferShare
}

/** Overlap of neighbouring strokes, share of the fan width; below 0 there is a gap. */
export function strokeOverlap(speedMmS: number, strokeTimeS: number, fanWidthMm: number): number {
  return 1 - (speedMmS * strokeTimeS) / fanWidthMm
}

const HOLD_TIGHT_S = 3600
const HOLD_LEAKING_S = 30
const STROKE_EXTRA_MM = 40
/** Share of the pressure drop that a clean hose takes [ASM]. */
const HOSE_SHARE = 0.12

/** Spray fluxer: flow and pressure while boards pass, and what lands on the board. */
export class Fluxer {
  spraying = false
  flowMlPerMin = 0
  pressureBar: number
  sprayedMl = 0
  private remainingS = 0
  private strokeClockS = 0
  private nominalFlowMlPerMin = 0
  private readonly noise: RandomStream

  constructor(
    private readonly fluxer: FluxerParameters,
    seed: number,
  ) {
    this.noise = new RandomStream(seed, 'fluxer.noise')
    this.pressureBar = fluxer.pressureBar
  }

  /** A board comes under the spray head. */
  startBoard(board: { readonly lengthMm: number; readonly speedMmS: number; readonly fluxG: number }): void {
    const passS = board.lengthMm / Math.max(1, board.speedMmS)
    this.remainingS = passS
    this.nominalFlowMlPerMin = (board.fluxG / this.fluxer.densityKgPerM3) * 1000 * (60 / passS)
  }

  /** One second. `active`: feed pressure is on (line not off). */
  step(active: boolean, effects: FaultEffects): void {
    this.spraying = active && this.remainingS > 0
    this.strokeClockS += 1
    if (!this.spraying) {
      this.flowMlPerMin = active && effects.seal > 0 && !effects.sealMeterDownstream ? 0.6 * effects.seal * (1 + 0.1 * this.noise.gaussian()) : 0
      this.idlePressure(active, effects)
      return
    }
    this.remainingS -= 1
    this.spray(effects)
    this.sprayedMl += this.flowMlPerMin / 60
  }

  /** Local flux as a share of the nominal dose, where least and where most of it lands. */
  fluxShares(speedMmS: number, effects: FaultEffects): { readonly least: number; readonly most: number } {
    const { fluxer } = this
    const overlap = strokeOverlap(speedMmS, this.strokeTimeS(effects), fluxer.fanWidthMm * effects.fanWidthFactor)
    const wanted = strokeOverlap(speedMmS, fluxer.strokeTimeS, fluxer.fanWidthMm)
    // Less overlap than the site is set to leaves stripes, as do a dose out of calibration and a sputtering nozzle [ASM].
    const stripes = Math.min(0.9, Math.max(0, wanted - overlap) * 2 + 0.3 * effects.nozzle + (0.25 * Math.abs(effects.doseFactor - 1)) / 0.3)
    const axisLoss = Math.min(0.9, ((25 * effects.nozzleAxis) / (fluxer.boardWidthMm / 4)) * 0.9)
    const delivered = this.deliveredShare(effects)
    return { least: delivered * (1 - stripes) * (1 - axisLoss), most: delivered * (1 + stripes + 0.5 * axisLoss) }
  }

  private strokeTimeS(effects: FaultEffects): number {
    return this.fluxer.strokeTimeS * (1 + (0.3 * STROKE_EXTRA_MM * effects.stroke) / this.fluxer.boardWidthMm)
  }

  /** Flux delivered to the head as a share of nominal, before it is spread. */
  private deliveredShare(effects: FaultEffects): number {
    const area = 1 - 0.6 * effects.nozzle
    const dose = effects.doseFactor
    if (this.fluxer.feed === 'metered-pump') return dose * (1 - 0.25 * effects.seal)
    const headShare = (1 - 0.5 * effects.seal) * (1 - HOSE_SHARE * 4 * effects.hose)
    return dose * area * Math.sqrt(headShare)
  }

  private spray(effects: FaultEffects): void {
    const { noise, fluxer } = this
    const pulsation = 0.02 + 0.08 * effects.nozzle
    const strokeHz = 1 / (2 * this.strokeTimeS(effects))
    const bent = effects.hoseBent ? 0.3 * effects.hose * Math.sin(2 * Math.PI * strokeHz * (this.strokeClockS + 0.5)) : 0
    const stroke = 1 + (2 * STROKE_EXTRA_MM * effects.stroke) / fluxer.boardWidthMm
    const wobble = 1 + pulsation * noise.gaussian() - 0.5 * bent
    const pressureWobble = 1 + (0.012 + 0.03 * effects.seal) * noise.gaussian()
    if (fluxer.feed === 'metered-pump') {
      // The pump keeps the flow; the pressure it needs rises as 1/area^2 and with the hose.
      const area = 1 - 0.6 * effects.nozzle
      const needed = (1 - HOSE_SHARE) / (area * area) + HOSE_SHARE * (1 + 4 * effects.hose) * (1 + bent)
      const leak = 1 - 0.5 * effects.seal
      this.pressureBar = Math.min(6, fluxer.pressureBar * needed * leak * effects.doseFactor ** 2) * pressureWobble
      this.flowMlPerMin = this.nominalFlowMlPerMin * effects.doseFactor * stroke * (1 + (0.02 + 0.02 * effects.nozzle) * noise.gaussian())
    } else {
      const head = (1 - 0.5 * effects.seal) * (1 - HOSE_SHARE * 4 * effects.hose * (1 + bent))
      this.pressureBar = fluxer.pressureBar * head * pressureWobble
      this.flowMlPerMin = Math.max(0, this.nominalFlowMlPerMin * this.deliveredShare(effects) * stroke * wobble)
    }
    // A meter before the leak counts the leak as well; one behind it sees what is left.
    this.flowMlPerMin *= effects.sealMeterDownstream ? 1 - 0.25 * effects.seal : fluxer.feed === 'pressure' ? (1 + 0.2 * effects.seal) / Math.sqrt(1 - 0.5 * effects.seal) : 1
  }

  /** With the valve shut the pressure decays over the hold time, 3600 s tight .. 30 s leaking [ASM]; the regulator refills it when spraying. */
  private idlePressure(active: boolean, effects: FaultEffects): void {
    const holdS = HOLD_TIGHT_S * (HOLD_LEAKING_S / HOLD_TIGHT_S) ** effects.seal
    this.pressureBar *= Math.exp(-1 / holdS)
    if (!active) return
    if (this.fluxer.feed === 'pressure' && this.pressureBar < 0.3 * this.fluxer.pressureBar && this.remainingS > 0) this.pressureBar = this.fluxer.pressureBar
  }
}
