import { RandomStream } from './random-stream.js'

export const DEFECT_KINDS = ['skip', 'bridge', 'hole-fill', 'residue'] as const
export type DefectKind = (typeof DEFECT_KINDS)[number]

/** What one board met on its way through the line. */
export interface BoardConditions {
  /** Topside temperature at the end of preheat. */
  readonly topsideC: number
  readonly dwellS: number
  /** Local flux as a share of the nominal dose, where least and where most of it landed. */
  readonly fluxShareLeast: number
  readonly fluxShareMost: number
  /** sd of the speed over the wave exit as a share of the speed. */
  readonly speedSdShare: number
  readonly waveSdMm: number
  readonly sideDwellS: number
  readonly potC: number
}

/** ppm of joints, then the exponents of x1..x10, one row per kind [ASM]. */
const COEFFICIENTS: Readonly<Record<DefectKind, readonly number[]>> = {
  skip: [30, 0.1, 0.1, 0.5, 0, 0.8, 0, 0.2, 0.4, 0.4, 0.2],
  bridge: [60, 0.25, 0.4, 0.1, 0.3, 0.5, -0.1, 0.4, 0.3, 0.2, 0.3],
  'hole-fill': [80, 0.6, 0.1, 0.7, 0, 0.5, 0, 0.1, 0.1, 0.2, 0.5],
  residue: [40, 0.4, -0.1, 0, -0.1, -0.1, 0.7, 0, 0.1, 0, 0],
}

/** The ten departures from the window that the exponents weigh. */
export function defectDrivers(board: BoardConditions): number[] {
  const over = (value: number, unit: number): number => Math.max(0, value) / unit
  return [
    over(105 - board.topsideC, 5),
    over(board.topsideC - 125, 5),
    over(2 - board.dwellS, 0.25),
    over(board.dwellS - 5, 0.5),
    over(0.75 - board.fluxShareLeast, 0.1),
    over(board.fluxShareMost - 1.4, 0.2),
    board.speedSdShare / 0.05,
    board.waveSdMm / 0.3,
    Math.abs(board.sideDwellS) / 0.2,
    over(252 - board.potC, 3),
  ]
}

/** Expected defects of one kind on a board: joints x p0 x exp(sum a x), held below one per joint. */
export function expectedDefects(kind: DefectKind, joints: number, board: BoardConditions): number {
  const [ppm = 0, ...exponents] = COEFFICIENTS[kind]
  const drivers = defectDrivers(board)
  let sum = 0
  exponents.forEach((exponent, index) => {
    sum += exponent * drivers[index]!
  })
  return Math.min(joints, (joints * ppm * Math.exp(sum)) / 1e6)
}

/** Draws defect counts with more spread than Poisson: variance about `dispersion` times the mean (1.5-3 usual). */
export class DefectInspection {
  private readonly random: RandomStream

  constructor(
    seed: number,
    private readonly dispersion = 2,
  ) {
    this.random = new RandomStream(seed, 'defects')
  }

  count(expected: number): number {
    if (expected <= 0) return 0
    const scale = this.dispersion - 1
    const mean = this.random.gamma(expected / scale, scale)
    return mean > 50 ? Math.max(0, Math.round(mean + Math.sqrt(mean) * this.random.gaussian())) : this.random.poisson(mean)
  }
}
