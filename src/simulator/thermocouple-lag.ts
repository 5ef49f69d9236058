/** Where the control thermocouple of a zone sits. */
export type Thermocouple = 'board-air' | 'heater-outlet' | 'on-element'

/**
 * Lag of a thermocouple under a coating: tau0 + (tauMax - tau0) s^1.5, tauMax 40-60 s [ASM]. The law is flat at the start:
 * a thin film on the bead does nothing measurable.
 *
 * @param severity 0-1
 */
export function coatedLagS(lagS: number, lagMaxS: number, severity: number): number {
  return lagS + (lagMaxS - lagS) * severity ** 1.5
}

/** Time constant of a bare bead, rho cp d / (6 h), s; diameter in m, volumetric heat capacity in J/(m3 K), h in W/(m2 K). */
export function beadTimeConstantS(volumetricHeatCapacity: number, diameterM: number, transferWPerM2K: number): number {
  return (volumetricHeatCapacity * diameterM) / (6 * transferWPerM2K)
}

/** Time constant of a lumped body, m cp / (h A), s. */
export function lumpedTimeConstantS(heatCapacityJPerK: number, conductanceWPerK: number): number {
  return heatCapacityJPerK / conductanceWPerK
}

/** Share of a step that a first-order body has followed after a time. */
export function firstOrderResponse(elapsedS: number, timeConstantS: number): number {
  return 1 - Math.exp(-elapsedS / timeConstantS)
}

/** Temperature of a board after a stay in a zone of constant air temperature: Ts - (Ts - T1) exp(-t/tau). */
export function heatedTemperatureC(airC: number, startC: number, elapsedS: number, timeConstantS: number): number {
  return airC - (airC - startC) * Math.exp(-elapsedS / timeConstantS)
}
