import type { SimulatedFault } from '../../simulator/simulation-causes.js'
import { cusumLimit } from '../../spc/design-limits.js'
import { movedKinds } from './observability.js'

/** One value of a feature of the monitor. */
export interface OracleValue {
  readonly timeMs: number
  readonly value: number
  readonly recipe: string
}

export interface OracleInput {
  /** Values by feature, in order of time. */
  readonly features: ReadonlyMap<string, readonly OracleValue[]>
  readonly cause: SimulatedFault
  readonly zone?: number
  readonly onsetMs: number
  /** From here on the severity was at least half. */
  readonly halfMs: number
  /** End of the whole course. */
  readonly endMs: number
  /** Production days before the onset. */
  readonly daysBefore: number
}

export interface OracleFinding {
  readonly feature: string
  /** Shift of the feature at severity 0.5 and above, in sigmas of its long-run variation. */
  readonly shiftSigma: number
  /** When its CUSUM crossed; absent when it never did. */
  readonly foundMs?: number
}

/** Production days in which one false alarm is allowed: the budget of the suggestions. */
export const BUDGET_DAYS = 100

export const ORACLE = `oracle: a CUSUM that knows the fault, its place, its onset and which feature it moves most, tuned to the true shift (at most four sigmas), one false alarm in ${BUDGET_DAYS} production days`

const VALUES_BEFORE_MIN = 12
const VALUES_AFTER_MIN = 4
const PER_RECIPE_MIN = 6
const CORRELATION_MAX = 0.9
const SHIFT_MIN = 0.3
const SHIFT_MAX = 4

/** The feature that tells most of a known fault, and when a CUSUM on it alone would have signalled; undefined when nothing moves. */
export function oracleFinding(input: OracleInput): OracleFinding | undefined {
  let best: { feature: string; shift: number; telling: number; z: { timeMs: number; z: number }[]; perDay: number } | undefined
  const kinds = movedKinds(input.cause)
  for (const [feature, values] of input.features) {
    if (!isInZone(feature, input.zone) || !kinds.has(kindOfFeature(feature))) continue
    const standardised = standardise(values, input.onsetMs)
    if (standardised === undefined) continue
    const after = standardised.filter(({ timeMs }) => timeMs >= input.halfMs && timeMs <= input.endMs)
    if (after.length < VALUES_AFTER_MIN) continue
    const shift = after.reduce((sum, { z }) => sum + z, 0) / after.length
    const before = standardised.filter(({ timeMs }) => timeMs < input.onsetMs).length
    const perDay = before / Math.max(1, input.daysBefore)
    // The delay of a tuned CUSUM falls with the square of the shift and with the values a day.
    const telling = shift * shift * perDay
    if (Math.abs(shift) >= SHIFT_MIN && (best === undefined || telling > best.telling)) best = { feature, shift, telling, z: standardised, perDay }
  }
  if (best === undefined) return undefined
  const size = Math.min(SHIFT_MAX, Math.abs(best.shift))
  const k = Math.round(10 * size) / 20
  const limit = cusumLimit(k, Math.max(200, 10 * Math.round((best.perDay * BUDGET_DAYS) / 10)))
  const sign = Math.sign(best.shift)
  let sum = 0
  for (const { timeMs, z } of best.z) {
    if (timeMs < input.onsetMs || timeMs > input.endMs) continue
    sum = Math.max(0, sum + sign * z - k)
    if (sum > limit) return { feature: best.feature, shiftSigma: best.shift, foundMs: timeMs }
  }
  return { feature: best.feature, shiftSigma: best.shift }
}

function isInZone(feature: string, zone: number | undefined): boolean {
  const found = /\.zone-(\d+)\./.exec(feature)
  return found === null || zone === undefined || Number(found[1]) === zone
}

/** The kind of channel a feature is made of. */
export function kindOfFeature(feature: string): string {
  const name = feature.replace(/\.zone-\d+\./, '.')
  if (/^preheat\.(warm-up|step)-/.test(name)) return 'preheat.temperature'
  if (name.startsWith('conveyor.speed')) return 'conveyor.speed'
  if (name === 'pot.wave.speed-for-height') return 'pot.pump-speed'
  if (name.startsWith('pot.wave')) return 'pot.wave-height'
  if (name === 'fluxer.flow-for-pressure') return 'fluxer.flow'
  if (name === 'fluxer.flux-per-board') return 'fluxer.per-board'
  return name.split('.').slice(0, 2).join('.')
}

/** Distances from the recipe's own mean before the onset, in sigmas that hold for correlated values as well. */
function standardise(values: readonly OracleValue[], onsetMs: number): { timeMs: number; z: number }[] | undefined {
  const means = new Map<string, { sum: number; count: number }>()
  for (const { timeMs, value, recipe } of values) {
    if (timeMs >= onsetMs) continue
    const mean = means.get(recipe) ?? { sum: 0, count: 0 }
    mean.sum += value
    mean.count += 1
    means.set(recipe, mean)
  }
  const residuals = values.flatMap(({ timeMs, value, recipe }) => {
    const mean = means.get(recipe)
    return mean === undefined || mean.count < PER_RECIPE_MIN ? [] : [{ timeMs, residual: value - mean.sum / mean.count }]
  })
  const before = residuals.filter(({ timeMs }) => timeMs < onsetMs).map(({ residual }) => residual)
  if (before.length < VALUES_BEFORE_MIN) return undefined
  const square = before.reduce((sum, residual) => sum + residual * residual, 0)
  if (!(square > 0)) return undefined
  let cross = 0
  for (let index = 1; index < before.length; index += 1) cross += before[index]! * before[index - 1]!
  const phi = Math.min(CORRELATION_MAX, Math.max(0, cross / square))
  const sigma = Math.sqrt((square / (before.length - means.size)) * ((1 + phi) / (1 - phi)))
  return residuals.map(({ timeMs, residual }) => ({ timeMs, z: residual / sigma }))
}
