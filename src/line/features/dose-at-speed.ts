import { median } from './minute-block.js'

/** What a recipe's dose was at the speed it runs, and how it is brought to the scale of its first one. Plain JSON. */
export interface RecipeDose {
  speed: number
  /** What doses at this speed are multiplied by. */
  factor: number
  /** Newest doses at this speed, mL, as they were. */
  newestML: number[]
  /** Speeds that were learned, the first one first: who goes back to one gets its factor. */
  readonly known: { readonly speed: number; readonly factor: number }[]
  /** The speed before, while the dose at the new one is being learned. */
  before?: { readonly speed: number; readonly factor: number; readonly levelML: number }
}

/** By recipe, the one heard of last at the end. The keys begin with a space: names that are numbers would be sorted, and some words mean something else. */
export type RecipeDoses = Record<string, RecipeDose>

const NEWEST = 4
const RECIPES_MAX = 200
const SPEEDS_MAX = 8
/** A speed within so much of another is the same. [ASM] */
const SAME_SPEED_SHARE = 0.01

/** Whether two speeds are one. */
export function isSameSpeed(speed: number, other: number): boolean {
  return Math.abs(speed / other - 1) <= SAME_SPEED_SHARE
}

/**
 * A board that goes slower is under the nozzle for longer and gets more flux, unless the fluxer follows the speed; which of the
 * two a line does is not published. [CP] After a change of speed the first doses tell: as much of the change as one law or the
 * other explains, or anything between, is the speed's and is taken out from then on; the rest, and all that comes later, is a change of the dose.
 *
 * @param doses what is known by recipe; changed in place
 * @param speed of the conveyor while they were sprayed, above 0, any unit
 * @returns dose per board on the scale of the recipe's first speed, mL
 */
export function doseAtUsualSpeed(doses: RecipeDoses, recipe: string, doseML: number, speed: number): number {
  const dose = ofRecipe(doses, recipe, speed)
  if (!isSameSpeed(speed, dose.speed)) changeSpeed(dose, speed)
  dose.newestML.push(doseML)
  if (dose.newestML.length > NEWEST) dose.newestML.shift()
  if (dose.before !== undefined) learnFactor(dose, dose.before)
  return doseML * dose.factor
}

function changeSpeed(dose: RecipeDose, speed: number): void {
  // A speed that was run too shortly to be learned is skipped.
  dose.before ??= { speed: dose.speed, factor: dose.factor, levelML: dose.factor * median(dose.newestML) }
  dose.speed = speed
  dose.newestML = []
  const known = dose.known.find((one) => isSameSpeed(speed, one.speed))
  if (known === undefined) return
  dose.factor = known.factor
  delete dose.before
}

function learnFactor(dose: RecipeDose, { speed, factor, levelML }: NonNullable<RecipeDose['before']>): void {
  const ratio = dose.speed / speed
  const now = median(dose.newestML)
  dose.factor = now > 0 ? Math.min(factor * Math.max(1, ratio), Math.max(factor * Math.min(1, ratio), levelML / now)) : factor
  if (dose.newestML.length < NEWEST) return
  delete dose.before
  dose.known.push({ speed: dose.speed, factor: dose.factor })
  if (dose.known.length > SPEEDS_MAX) dose.known.splice(1, 1)
}

function ofRecipe(doses: RecipeDoses, recipe: string, speed: number): RecipeDose {
  const key = ` ${recipe}`
  const known = doses[key] ?? { speed, factor: 1, newestML: [], known: [{ speed, factor: 1 }] }
  delete doses[key]
  doses[key] = known
  for (const oldest of Object.keys(doses).slice(0, -RECIPES_MAX)) delete doses[oldest]
  return known
}
