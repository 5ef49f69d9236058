import { fromCountScale, toCountScale } from '../../spc/count-scale.js'

/** How many defects the boards of each recipe usually have. Plain JSON. */
export interface DefectLevels {
  /** Mean count of a group, of any kind, over the first groups of the line, whatever their recipe; 0 until it is known. */
  usual: number
  readonly first: Tally
  /** By recipe, then by kind. */
  readonly recipes: Record<string, Record<string, Tally>>
}

interface Tally {
  groups: number
  defects: number
}

export function createDefectLevels(): DefectLevels {
  return { usual: 0, first: { groups: 0, defects: 0 }, recipes: {} }
}

/** Groups of 50 boards: the usual count is taken from half a shift of production, a recipe's from as much of it; after two days of it they are left alone. [ASM] */
const FIRST_GROUPS = 6
const RECIPE_GROUPS_MIN = 6
const RECIPE_GROUPS_MAX = 32
/** Recipes kept; the oldest go first. */
const RECIPES_MAX = 200
/** All kinds of a recipe are held towards the usual, one kind towards what all kinds of the recipe say, as if that had been seen in so many groups. [ASM] */
const PRIOR_GROUPS_ALL = 2
const PRIOR_GROUPS_KIND = 16
/** A recipe's count is held within these bounds against the usual one: what is left over shows on the chart. [ASM] */
const FACTOR_MIN = 0.1
const FACTOR_MAX = 10

/**
 * A count of defects as it would be at the line's usual mix of boards: divided by how many defects of the kind the boards of this
 * recipe have against the usual. Boards have a hundred joints or two thousand, so recipes differ severalfold; all kinds together
 * tell that soon, each kind by itself only in time. One chart over all recipes learns in a day what one for each would in a week.
 * Levels are left alone once learned: one that went on learning would learn the fault.
 *
 * @returns undefined while the recipe, or the line, is not known well enough
 */
export function countAtUsualMix(levels: DefectLevels, kind: string, recipe: string, count: number): number | undefined {
  const kinds = (levels.recipes[recipe] ??= {})
  const known = (kinds[kind] ??= { groups: 0, defects: 0 })
  const value = levels.usual > 0 && known.groups >= RECIPE_GROUPS_MIN ? atUsual(levels, kind, kinds, count) : undefined
  if (known.groups < RECIPE_GROUPS_MAX) add(known, count)
  if (levels.usual === 0) learnUsual(levels, count)
  const names = Object.keys(levels.recipes)
  for (const old of names.slice(0, Math.max(0, names.length - RECIPES_MAX))) delete levels.recipes[old]
  return value
}

function learnUsual(levels: DefectLevels, count: number): void {
  const { first, recipes } = levels
  add(first, count)
  const kinds = new Set(Object.values(recipes).flatMap((kindsOfRecipe) => Object.keys(kindsOfRecipe)))
  // Half a defect where there was none: one day there will be.
  if (first.groups >= FIRST_GROUPS * kinds.size) levels.usual = Math.max(first.defects, 0.5) / first.groups
}

function add(tally: Tally, count: number): void {
  tally.groups += 1
  tally.defects += count
}

/**
 * Boards that have fewer defects than usual tell less: where one in ten groups has a single one, dividing would make several of it.
 * Their roots are moved instead, so that a count scatters as it does at the usual mix.
 */
function atUsual(levels: DefectLevels, kind: string, kinds: Record<string, Tally>, count: number): number {
  const { factor, expected } = factorOf(levels, kind, kinds)
  if (factor >= 1) return count / factor
  return fromCountScale(toCountScale(expected) + toCountScale(count) - toCountScale(factor * expected))
}

/** How many defects of a kind the boards of a recipe have against the usual, and what is usual of the kind. */
function factorOf({ usual, recipes }: DefectLevels, kind: string, kinds: Record<string, Tally>): { readonly factor: number; readonly expected: number } {
  const { groups, defects } = sumOf(Object.values(kinds))
  const names = Object.keys(kinds).length
  const all = (defects + PRIOR_GROUPS_ALL * names * usual) / ((groups + PRIOR_GROUPS_ALL * names) * usual)
  const everywhere = Object.values(recipes)
  const ofKind = sumOf(everywhere.flatMap((one) => one[kind] ?? []))
  const ofAll = sumOf(everywhere.flatMap((one) => Object.values(one)))
  // How often the kind is met against the mean of all kinds, over all recipes.
  const share = (ofKind.defects + 0.5) / (ofAll.defects + 0.5 * names) / (ofKind.groups / ofAll.groups)
  const own = kinds[kind]!
  const expected = share * usual
  const factor = (own.defects + PRIOR_GROUPS_KIND * all * expected) / ((own.groups + PRIOR_GROUPS_KIND) * expected)
  return { factor: Math.min(FACTOR_MAX, Math.max(FACTOR_MIN, factor)), expected }
}

function sumOf(tallies: readonly Tally[]): Tally {
  return tallies.reduce((sum, { groups, defects }) => ({ groups: sum.groups + groups, defects: sum.defects + defects }), { groups: 0, defects: 0 })
}
