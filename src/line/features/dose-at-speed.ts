/** Speed and dose per board that a recipe had at first. Plain JSON. */
export interface RecipeDose {
  readonly speeds: number[]
  readonly dosesML: number[]
}

/** What is known of each recipe, the one heard of last at the end. */
export type RecipeDoses = Record<string, RecipeDose>

const FIRST_DOSES = 4
const RECIPES_MAX = 200
/** A speed within so much of the usual one is the usual one. [ASM] */
const SAME_SPEED_SHARE = 0.01

/**
 * A board that goes slower is under the nozzle for longer and gets more flux, unless the fluxer follows the speed; which of
 * the two a line does is not published. [CP] The dose at another speed than the recipe's first ones is therefore a change only
 * as far as neither explains it: of all values between the dose and the dose brought to the usual speed, the nearest to the usual one.
 *
 * @param doses first doses by recipe; changed in place
 * @param speed of the conveyor now, any unit; undefined or 0 where it is not known
 * @returns dose per board at the recipe's usual speed, mL
 */
export function doseAtUsualSpeed(doses: RecipeDoses, recipe: string, doseML: number, speed: number | undefined): number {
  if (speed === undefined || !(speed > 0)) return doseML
  if (!Object.hasOwn(doses, recipe)) {
    doses[recipe] = { speeds: [], dosesML: [] }
    for (const oldest of Object.keys(doses).slice(0, -RECIPES_MAX)) delete doses[oldest]
  }
  const first = doses[recipe]!
  if (first.speeds.length < FIRST_DOSES) {
    first.speeds.push(speed)
    first.dosesML.push(doseML)
    return doseML
  }
  const ratio = speed / medianOf(first.speeds)
  if (Math.abs(ratio - 1) <= SAME_SPEED_SHARE) return doseML
  const lower = Math.min(doseML, doseML * ratio)
  const upper = Math.max(doseML, doseML * ratio)
  return Math.min(upper, Math.max(lower, medianOf(first.dosesML)))
}

function medianOf(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b)
  const middle = sorted.length >> 1
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2
}
