/** Pump and weir of the wave, all [ASM, SIM]: at nominal speed and level the wave stands 10.0 mm over the lip. */
const PUMP_HEAD_M = 0.12
const LIP_M = 0.045
const NOZZLE_WIDTH_M = 0.35
const WEIR = 1.8
const RESISTANCE = 40_940
export const WAVE_NOMINAL_MM = 10
const CONTACT_NOMINAL_MM = 50
const CONTACT_PER_MM = 4

/**
 * Height of the wave over the nozzle lip, mm: H0 n^2 = R (1 + 3 s) Q^2 + z_lip + (L0 - L) + h with Q = 2 Cw b h^1.5, solved by
 * Newton's method. 0 when the pump cannot lift the solder over the lip.
 *
 * @param pumpShare pump speed, 1 nominal
 * @param levelMm level over the reference
 * @param resistanceFactor intake resistance, 1 clean
 */
export function waveHeightMm(pumpShare: number, levelMm: number, resistanceFactor: number): number {
  const head = PUMP_HEAD_M * pumpShare * pumpShare - LIP_M + levelMm / 1000
  if (head <= 0) return 0
  const cubic = RESISTANCE * resistanceFactor * (2 * WEIR * NOZZLE_WIDTH_M) ** 2
  let h = 0.01
  for (let round = 0; round < 30; round += 1) {
    const step = (cubic * h ** 3 + h - head) / (3 * cubic * h * h + 1)
    h = Math.max(1e-6, h - step)
    if (Math.abs(step) < 1e-9) break
  }
  return h * 1000
}

/** Pump speed, share of nominal, that gives a wave height at a level and an intake resistance. */
export function pumpShareForHeight(heightMm: number, levelMm: number, resistanceFactor: number): number {
  const h = heightMm / 1000
  const flow = 2 * WEIR * NOZZLE_WIDTH_M * h ** 1.5
  const head = RESISTANCE * resistanceFactor * flow * flow + LIP_M - levelMm / 1000 + h
  return Math.sqrt(Math.max(0, head) / PUMP_HEAD_M)
}

/** Length of the board in contact with the wave, mm; 4 mm more per mm of height [ASM]. */
export function contactLengthMm(waveMm: number): number {
  return Math.max(0, CONTACT_NOMINAL_MM + CONTACT_PER_MM * (waveMm - WAVE_NOMINAL_MM))
}

/** Difference of contact length between the sides for a tilt over the width, mm; tilt of the fingers by `liftMm` over `widthMm`. */
export function sideDwellDifferenceS(liftMm: number, speedMmS: number): number {
  return speedMmS > 0 ? (CONTACT_PER_MM * liftMm) / speedMmS : 0
}
