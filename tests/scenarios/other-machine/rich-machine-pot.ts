import type { Chance, SeverityOf } from './rich-machine-parts.js'

/** Pot with a sluggish heater, a level topped up by hand, and a wave that is held at its height or at its pump speed. */
export class SolderBath {
  potC = 250
  duty = 0
  levelMm: number
  pumpShare = 0
  waveMm = 0
  private integral = 0.35
  private swingC = 0
  private meltingMm = 0
  private waveNoise = 0
  private readonly draw: Readonly<Record<'lossW' | 'maxW' | 'heatJ' | 'lossMmH' | 'boardMm' | 'barMm' | 'topAtMm' | 'noiseMm', number>>

  constructor(private readonly chance: Chance, private readonly holdsHeight: boolean) {
    const { between } = chance
    this.levelMm = between(-1, 1)
    this.draw = { lossW: between(12, 19), maxW: between(8100, 12_600), heatJ: between(8e4, 1.3e5), lossMmH: between(0.3, 0.7), boardMm: between(0.003, 0.007), barMm: between(1.8, 3), topAtMm: between(-3.5, -2), noiseMm: between(0.15, 0.35) }
  }

  step(now: { readonly targetC: number; readonly roomC: number; readonly isHot: boolean; readonly pumpShare: number; readonly boardsPerS: number }, severity: SeverityOf): void {
    const { draw, chance } = this
    this.swingC += -this.swingC / 200 + 0.03 * chance.normal()
    const wanted = 0.05 * (now.targetC - this.readC(severity)) + this.integral
    this.duty = Math.min(1, Math.max(0, wanted))
    if (wanted === this.duty) this.integral += (0.05 * (now.targetC - this.readC(severity))) / 900
    const melted = Math.min(this.meltingMm, draw.barMm / 120)
    this.meltingMm -= melted
    this.potC += (this.duty * draw.maxW - draw.lossW * (this.potC - now.roomC) - 28_000 * now.boardsPerS - melted * 2.2e5) / draw.heatJ
    this.levelMm += melted - ((now.isHot ? draw.lossMmH : 0.1) * (1 + 0.3 * severity('dross-at-intake'))) / 3600 - draw.boardMm * now.boardsPerS
    if (now.isHot && this.meltingMm <= 0 && this.levelMm < draw.topAtMm && chance.oneIn(900)) this.meltingMm = draw.barMm
    this.wave(now.pumpShare, severity)
  }

  /** What the probe reads; a drift makes the loop heat less. */
  readC(severity: SeverityOf): number {
    return this.potC + 8 * severity('drifting-pot-probe') + this.swingC
  }

  readLevelMm(severity: SeverityOf): number {
    return this.trueLevelMm(severity) - (this.pumpShare > 0 ? 0 : -2) + severity('dross-at-intake') + this.draw.noiseMm * this.chance.normal()
  }

  private trueLevelMm(severity: SeverityOf): number {
    return this.levelMm - 30 * severity('low-level')
  }

  private wave(pumpShare: number, severity: SeverityOf): void {
    const dross = severity('dross-at-intake')
    this.pumpShare = pumpShare
    this.waveMm = 0
    if (pumpShare === 0) return
    const heightMm = (share: number): number => 10 * (1 + 1.25 * (share - 1)) + 0.055 * this.trueLevelMm(severity) - 3.4 * (1 - 1 / Math.sqrt(1 + 1.1 * dross))
    if (this.holdsHeight) this.pumpShare += (10 * pumpShare - heightMm(pumpShare)) / 12.5
    this.waveNoise += -this.waveNoise / 3 + (0.12 + 0.5 * dross) * Math.sqrt(2 / 3) * this.chance.normal()
    this.waveMm = Math.max(0, heightMm(this.pumpShare) + this.waveNoise)
  }
}

export const DEFECTS = ['skip', 'bridge', 'hole-fill', 'residue'] as const

/** Defects expected on a board: rows of the table of F2, for what this machine varies. */
export function defectsExpected(board: { readonly joints: number; readonly topsideC: number; readonly flux: number; readonly speedMmS: number; readonly waveSdMm: number }, severity: SeverityOf): number[] {
  const cold = Math.max(0, 88 - board.topsideC) / 5
  const dry = Math.max(0, 0.75 - board.flux) / 0.1
  const rough = 1.5 * severity('dirty-chain')
  const unsteady = board.waveSdMm / 0.3
  const tilt = (8 * severity('residue-on-fingers')) / board.speedMmS / 0.2
  const rates = [6e-5 * Math.exp(0.1 * cold + 0.8 * dry + 0.2 * rough + 0.4 * unsteady + 0.4 * tilt), 1.2e-4 * Math.exp(0.25 * cold + 0.5 * dry + 0.4 * rough + 0.3 * unsteady + 0.2 * tilt), 1.6e-4 * Math.exp(0.6 * cold + 0.5 * dry + 0.1 * rough + 0.1 * unsteady + 0.2 * tilt), 8e-5 * (1 + 3 * severity('saturated-filter') + severity('stroke-too-wide'))]
  return rates.map((rate) => board.joints * Math.min(0.05, rate))
}
