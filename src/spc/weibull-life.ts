import { incompleteGamma, logGamma } from './gamma-functions.js'

/** Weibull distribution of a time to failure: R(t) = exp(-(t / scale)^shape). Shape above 1 wears out, 1 fails at random. */
export interface WeibullLife {
  readonly shape: number
  /** Time by which 63.2 % have failed, in the unit of the times. */
  readonly scale: number
}

/** @throws Error on a shape or scale that is not above 0, or beyond what the powers of it can hold */
export function checkLife(name: string, { shape, scale }: WeibullLife): void {
  if (!(shape >= 0.01 && shape <= 1e12)) throw new Error(`${name}: expected a shape above 0 (0.01 to 1e12), got ${shape}`)
  if (!(scale > 0 && scale <= 1e150)) throw new Error(`${name}: expected a scale above 0 and up to 1e150, got ${scale}`)
}

/** Share that lives longer than `time`, 0-1. */
export function weibullSurvival(life: WeibullLife, time: number): number {
  checkLife('Weibull survival', life)
  if (!(time >= 0)) throw new Error(`Weibull survival: expected a time of at least 0, got ${time}`)
  return Math.exp(-((time / life.scale) ** life.shape))
}

/** Time by which the share `failed` (between 0 and 1) has failed: 0.1 gives the B10 life. */
export function weibullQuantile(life: WeibullLife, failed: number): number {
  checkLife('Weibull quantile', life)
  if (!(failed > 0 && failed < 1)) throw new Error(`Weibull quantile: expected a share between 0 and 1 (both excluded), got ${failed}`)
  return life.scale * (-Math.log1p(-failed)) ** (1 / life.shape)
}

/**
 * Mean and standard deviation of the time to failure.
 * @throws Error where the shape is so small that they exceed what a number holds
 */
export function weibullMoments(life: WeibullLife): { readonly mean: number; readonly sd: number } {
  checkLife('Weibull moments', life)
  const first = Math.exp(logGamma(1 + 1 / life.shape))
  const ratio = Math.exp(logGamma(1 + 2 / life.shape) - 2 * logGamma(1 + 1 / life.shape))
  const mean = life.scale * first
  const sd = mean * Math.sqrt(Math.max(0, ratio - 1))
  if (!Number.isFinite(mean) || !Number.isFinite(sd)) throw new Error(`Weibull moments: too large to be a number at shape ${life.shape}`)
  return { mean, sd }
}

/** Mean time a part is in service when it is replaced at age `age` or at failure: the integral of R from 0 to `age`. */
export function weibullMeanServiceTime(life: WeibullLife, age: number): number {
  checkLife('Weibull service time', life)
  if (!(age >= 0)) throw new Error(`Weibull service time: expected an age of at least 0, got ${age}`)
  const x = (age / life.scale) ** life.shape
  return life.scale * Math.exp(logGamma(1 + 1 / life.shape)) * incompleteGamma(1 / life.shape, x).lower
}
