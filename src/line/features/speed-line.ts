/** Strength of a movement that repeats over a fixed length of chain, followed by the way travelled. Plain JSON. */
export interface LineState {
  /** Repeats since the begin of the stretch, with fractions. */
  cycles: number
  n: number
  x: number
  xCos: number
  xSin: number
  cos: number
  sin: number
  /** Sum of squared amplitudes of finished stretches, and their number. */
  power: number
  stretches: number
  /** Readings in the finished stretches. */
  readings: number
}

/**
 * Repeats in one stretch. The sums of a stretch keep the phase, those of several do not: that leaves room for a speed
 * reading that is off by 1-2 %, which would blur a longer one.
 */
const STRETCH_CYCLES = 25
/** A stretch that the end of the window cuts short counts from here. */
const STRETCH_CYCLES_MIN = 3

export function createSpeedLine(): LineState {
  return { cycles: 0, n: 0, x: 0, xCos: 0, xSin: 0, cos: 0, sin: 0, power: 0, stretches: 0, readings: 0 }
}

/**
 * @param x any quantity of the conveyor, finite; its mean over the stretch is taken out
 * @param travelledShare way travelled since the last reading as a share of the repeat length
 */
export function addToLine(line: LineState, x: number, travelledShare: number): void {
  line.cycles += travelledShare
  if (line.cycles >= STRETCH_CYCLES) endStretch(line)
  const phase = 2 * Math.PI * line.cycles
  const cos = Math.cos(phase)
  const sin = Math.sin(phase)
  line.n += 1
  line.x += x
  line.xCos += x * cos
  line.xSin += x * sin
  line.cos += cos
  line.sin += sin
}

function endStretch(line: LineState): void {
  if (line.n >= 8 && line.cycles >= STRETCH_CYCLES_MIN) {
    const mean = line.x / line.n
    const real = (2 * (line.xCos - mean * line.cos)) / line.n
    const imaginary = (2 * (line.xSin - mean * line.sin)) / line.n
    line.power += real * real + imaginary * imaginary
    line.stretches += 1
    line.readings += line.n
  }
  line.cycles = 0
  line.n = 0
  line.x = 0
  line.xCos = 0
  line.xSin = 0
  line.cos = 0
  line.sin = 0
}

/**
 * Mean squared amplitude of the window, in the unit of x squared, and the readings of a stretch; 0 where it held too
 * little. Empties the line.
 */
export function takeLinePower(line: LineState): { readonly power: number; readonly stretchReadings: number } {
  endStretch(line)
  const { stretches } = line
  const taken = stretches === 0 ? { power: 0, stretchReadings: 0 } : { power: line.power / stretches, stretchReadings: line.readings / stretches }
  line.power = 0
  line.stretches = 0
  line.readings = 0
  return taken
}
