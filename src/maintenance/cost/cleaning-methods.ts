import type { LineDefinition } from '../../line/line-definition.js'
import type { WorkRecord } from '../suggestion.js'
import type { CostAmount, SiteCosts } from './cost-table.js'

export type CleaningMethod = NonNullable<SiteCosts['cleaningMethods']>[number]

/** Flash point above the hottest surface within reach by at least so much, °C. [ASM; the local code wins] */
export const FLASH_MARGIN_C = 15
/** A machine does not cool below the room; a product that would ask for it is not allowed at all. °C [ASM] */
const ROOM_C = 25
/** Passes are known to this share where no range was counted. [ASM] */
const PASSES_UNCERTAINTY = 0.2

/** Whether a product may be used at all, asked before any money. */
export type FireGate =
  | { readonly gate: 'allowed' }
  /** Only when the hottest surface has been measured below this, °C. */
  | { readonly gate: 'cool-first'; readonly belowC: number }
  /** Not decided until somebody has measured the hottest surface by hand; allowed below this, °C. */
  | { readonly gate: 'measure-first'; readonly belowC: number }
  | { readonly gate: 'never'; readonly flashPointC: number }
  | { readonly gate: 'no-data-sheet' }

/**
 * The fire gate: a product whose flash point lies less than 15 °C above the hottest surface within reach is not allowed
 * until that has cooled, and never where it cannot cool so far.
 *
 * @param hottestSurfaceC measured by hand at the surface, °C; a zone's reading says nothing of the surfaces in reach
 */
export function fireGate({ flashPointC }: Pick<CleaningMethod, 'flashPointC'>, hottestSurfaceC: number | undefined): FireGate {
  if (flashPointC === null) return { gate: 'allowed' }
  if (flashPointC === undefined) return { gate: 'no-data-sheet' }
  const belowC = flashPointC - FLASH_MARGIN_C
  if (belowC < ROOM_C) return { gate: 'never', flashPointC }
  if (hottestSurfaceC === undefined) return { gate: 'measure-first', belowC }
  return flashPointC < hottestSurfaceC + FLASH_MARGIN_C ? { gate: 'cool-first', belowC } : { gate: 'allowed' }
}

/** Passes noted for a product from which they replace the ones in the definition. */
const COUNTED_MIN = 3

/**
 * Methods with the passes that people counted on this residue, where at least three records of the product of the same
 * name say so: the whole comparison hangs on them.
 */
export function withCountedPasses(methods: readonly CleaningMethod[], records: readonly Pick<WorkRecord, 'product' | 'passes'>[]): { readonly method: CleaningMethod; readonly counted: number }[] {
  return methods.map((method) => {
    const passes = records.flatMap((record) => (record.product === method.method && record.passes !== undefined && record.passes > 0 ? [record.passes] : []))
    if (passes.length < COUNTED_MIN) return { method, counted: 0 }
    const mean = passes.reduce((sum, value) => sum + value, 0) / passes.length
    return { method: { ...method, passes: mean, passesRange: [Math.min(...passes), Math.max(...passes)] }, counted: passes.length }
  })
}

/** Hourly figures of a job; a stop outside production costs none. */
export interface CleaningFigures {
  readonly labourPerHour: number
  readonly stopPerHour: number
}

/**
 * Cost of one cleaning: labour, product, line stop with the cooling its flash point asks for, waste, and fire risk.
 * `C = n t w + n V p + (t_cool + n t) D + n V c_waste + E_risk`
 *
 * @param passes n; that of the method where absent
 */
export function cleaningCost(method: CleaningMethod, { labourPerHour, stopPerHour }: CleaningFigures, passes = method.passes): number {
  const { hoursPerPass, litresPerPass, pricePerLitre, wastePerLitre, coolDownHours, riskPerJob } = method
  const hours = passes * hoursPerPass
  const litres = passes * litresPerPass
  return hours * labourPerHour + litres * pricePerLitre + (coolDownHours + hours) * stopPerHour + litres * wastePerLitre + riskPerJob
}

/**
 * Price per litre at which a method costs as much as another.
 *
 * @returns undefined where the method uses no product, so that no price makes them equal
 */
export function breakEvenPrice(method: CleaningMethod, other: CleaningMethod, figures: CleaningFigures): number | undefined {
  const litres = method.passes * method.litresPerPass
  return litres === 0 ? undefined : (cleaningCost(other, figures) - cleaningCost({ ...method, pricePerLitre: 0 }, figures)) / litres
}

export interface ComparedMethod {
  readonly method: CleaningMethod
  readonly gate: FireGate
  /** Records the passes were counted in; 0 where they come from the definition. */
  readonly counted: number
  /** Cost of one job with the fewest, usual and most passes; or the figures that are missing. */
  readonly cost: { readonly kind: 'cost'; readonly low: number; readonly likely: number; readonly high: number } | Extract<CostAmount, { kind: 'no-figure' }>
  /** Price per litre at which it would cost as much as the cheapest other one that is allowed. */
  readonly breakEven?: number
}

export interface CleaningComparison {
  readonly currency: string
  /** Allowed ones by cost, then those the gate holds back. */
  readonly methods: readonly ComparedMethod[]
  /** Cheapest allowed method; or that two are about equal; or that there is nothing to compare. */
  readonly verdict: { readonly kind: 'cheapest'; readonly method: string } | { readonly kind: 'about-equal'; readonly methods: readonly string[] } | { readonly kind: 'one-allowed'; readonly method: string } | { readonly kind: 'none-allowed' } | { readonly kind: 'no-figure'; readonly missing: readonly string[] }
}

/**
 * Compares ways of cleaning: first the fire gate, then the money among those that may be used. Two whose costs
 * overlap over the passes that were counted are about equal.
 *
 * @param options.duringProduction whether the line stands for it
 * @param options.records records of cleanings, for the passes people counted
 */
export function compareCleaning(definition: Pick<LineDefinition, 'costs'>, options: { readonly hottestSurfaceC?: number; readonly duringProduction: boolean; readonly records?: readonly Pick<WorkRecord, 'product' | 'passes'>[] }): CleaningComparison {
  const costs = definition.costs ?? { currency: 'EUR' }
  const missing = [...(costs.labourPerHour === undefined ? ['labourPerHour'] : []), ...(options.duringProduction && costs.lineStopPerHour === undefined ? ['lineStopPerHour'] : [])]
  const figures: CleaningFigures = { labourPerHour: costs.labourPerHour ?? 0, stopPerHour: options.duringProduction ? (costs.lineStopPerHour ?? 0) : 0 }
  const compared = withCountedPasses(costs.cleaningMethods ?? [], options.records ?? []).map(({ method, counted }): ComparedMethod => {
    const [fewest, most] = method.passesRange ?? [method.passes * (1 - PASSES_UNCERTAINTY), method.passes * (1 + PASSES_UNCERTAINTY)]
    return {
      method,
      counted,
      gate: fireGate(method, options.hottestSurfaceC),
      cost: missing.length > 0 ? { kind: 'no-figure', missing } : { kind: 'cost', low: cleaningCost(method, figures, fewest), likely: cleaningCost(method, figures), high: cleaningCost(method, figures, most) },
    }
  })
  const likely = ({ cost }: ComparedMethod): number => (cost.kind === 'cost' ? cost.likely : 0)
  const isAllowed = ({ gate }: ComparedMethod): boolean => gate.gate === 'allowed'
  const allowed = compared.filter(isAllowed).sort((a, b) => likely(a) - likely(b))
  const methods = [...allowed, ...compared.filter((other) => !isAllowed(other)).sort((a, b) => likely(a) - likely(b))].map((one): ComparedMethod => {
    const rival = allowed.find((other) => other !== one)
    const breakEven = rival === undefined || missing.length > 0 ? undefined : breakEvenPrice(one.method, rival.method, figures)
    return { ...one, ...(breakEven === undefined ? {} : { breakEven }) }
  })
  return { currency: costs.currency, methods, verdict: verdictOf(allowed, missing) }
}

function verdictOf(allowed: readonly ComparedMethod[], missing: readonly string[]): CleaningComparison['verdict'] {
  const [best, ...rest] = allowed
  if (best === undefined) return { kind: 'none-allowed' }
  if (rest.length === 0) return { kind: 'one-allowed', method: best.method.method }
  if (missing.length > 0 || best.cost.kind !== 'cost') return { kind: 'no-figure', missing }
  const { high } = best.cost
  const equal = rest.filter(({ cost }) => cost.kind === 'cost' && cost.low <= high)
  return equal.length === 0 ? { kind: 'cheapest', method: best.method.method } : { kind: 'about-equal', methods: [best, ...equal].map(({ method }) => method.method) }
}
