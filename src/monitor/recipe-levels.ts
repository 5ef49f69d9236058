import type { FeatureValue } from '../line/feature-value.js'
import type { FeatureSpec } from '../line/features/feature-catalogue.js'
import { RELEVANT_FLOORS } from '../line/features/feature-spec.js'
import { atUsualRecipe, createUsualLevels, type LevelRule, type UsualLevels } from '../line/features/usual-level.js'

/** Stands for the recipe where one chart serves all of them. */
export const ALL_RECIPES = 'all'

/** Levels of the features whose level depends on the recipe, by feature. Plain JSON. */
export type RecipeLevels = Record<string, UsualLevels>

/** Two hours of production tell what a recipe makes of a feature. [ASM] */
const LEVEL_VALUES = 12
/** Share of the level that is much where no change of consequence is given. [ASM] */
const SHARE_MUCH = 0.05

/**
 * A value as it would be under the recipe that the line was first heard with, where the feature is charted so. A chart for each recipe
 * would have to learn, signal and be waited for once for each: on a line with four of them, for weeks.
 *
 * @returns undefined while the level of the recipe is learned
 */
export function valueAtUsualRecipe(levels: RecipeLevels, spec: FeatureSpec, value: FeatureValue, recipe: string): FeatureValue | undefined {
  if (spec.atUsualRecipe === undefined) return value
  const rule: LevelRule = { values: LEVEL_VALUES, by: spec.atUsualRecipe, firstPasses: true, much: muchOff(spec) }
  const moved = atUsualRecipe((levels[spec.feature] ??= createUsualLevels()), recipe, value.value, rule)
  return moved === undefined ? undefined : { ...value, value: moved }
}

/** What is of consequence is much. */
function muchOff({ atUsualRecipe: by, relevant, relevantShare, sigmaFloor }: FeatureSpec): number {
  return by === 'ratio' ? (relevantShare ?? SHARE_MUCH) : (relevant ?? RELEVANT_FLOORS * sigmaFloor)
}
