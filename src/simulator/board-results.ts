import { DEFECT_KINDS, DefectInspection, expectedDefects } from './defect-model.js'
import { RandomStream } from './random-stream.js'
import type { SimulatedLine } from './simulated-line.js'
import { sideDwellDifferenceS } from './solder-wave.js'

const TOPSIDE_SD_C = 1.2 // 1-2 within one product
/** Stick-slip seen by a joint: a jump of 5 mm in 60 mm of contact is 8 % of its dwell. */
const JOINTS_NEAR_EXIT_MM = 60
const SPEED_SD_FELT = 0.15

/** What is known of one soldered board. */
export interface BoardResult {
  timeMs: number
  topsideC: number
  /** Counts in the order of DEFECT_KINDS. */
  defects: number[]
}

/** Judges each board as it leaves the wave. Results wait here until the output takes them. */
export class BoardResults {
  readonly waiting: BoardResult[] = []
  private readonly inspection: DefectInspection
  private readonly random: RandomStream
  /** Only filled while somebody takes the results. */
  collecting = false

  constructor(seed: number) {
    this.inspection = new DefectInspection(seed)
    this.random = new RandomStream(seed, 'board.topside')
  }

  add(line: SimulatedLine, exitC: number): void {
    if (!this.collecting) return
    const { effects, conveyor, pot } = line
    const v = Math.max(1, conveyor.chainSpeedMmS)
    const widthC = maxOf(effects.extraction) * 4 * this.random.gaussian() // ±4 °C across the width where vents are blocked
    const topsideC = exitC + TOPSIDE_SD_C * this.random.gaussian() + 2 * effects.rails * this.random.gaussian()
    const recipe = line.activeRecipe
    const sideDwellS = sideDwellDifferenceS(2 * effects.fingers, v) + 0.03 * this.random.gaussian()
    const slipS = (conveyor.speedSdMmS / v) * (5 / JOINTS_NEAR_EXIT_MM) * Math.abs(this.random.gaussian())
    const dwellS = Math.max(0, (pot.contactMm - 2 * effects.fingers) / v - slipS)
    const flux = line.fluxer.fluxShares(v, effects)
    const dose = 1 + 0.04 * this.random.gaussian()
    const conditions = {
      topsideC: topsideC - Math.abs(widthC),
      dwellS,
      fluxShareLeast: flux.least * dose,
      fluxShareMost: flux.most * dose,
      // The solder's own inertia smooths the fast part of the motion over the wave exit [ASM].
      speedSdShare: (SPEED_SD_FELT * conveyor.speedSdMmS) / v,
      waveSdMm: pot.waveSdMm,
      sideDwellS,
      potC: pot.temperatureC,
    }
    const greasy = 1 + 2 * effects.drips + 0.5 * effects.sticky + 0.5 * effects.stroke
    const defects = DEFECT_KINDS.map((kind) => {
      const expected = expectedDefects(kind, recipe.jointCount, conditions) * (kind === 'residue' ? greasy : 1)
      return this.inspection.count(expected)
    })
    this.waiting.push({ timeMs: line.timeMs, topsideC, defects })
  }
}

/** How far the most blocked zone is from open, 0-1. */
function maxOf(extraction: Float64Array): number {
  let most = 0
  for (const open of extraction) most = Math.max(most, 1 - open)
  return most
}
