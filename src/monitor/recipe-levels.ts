import type { FeatureValue } from '../line/feature-value.js'
import type { FeatureSpec } from '../line/features/feature-catalogue.js'
import { atUsualRecipe, createUsualLevels, type UsualLevels } from '../line/features/usual-level.js'

/** Levels of the features whose level depends on the recipe, by feature. Plain JSON. */
export type RecipeLevels = Record<string, UsualLevels>

/** Two hours of production tell what a recipe makes of a feature. [ASM] */
const LEVEL_VALUES = 12

/**
 * A value as it would be under the recipe that the line was first heard with, where the feature is charted so. A chart for each recipe
 * would have to learn, signal and be waited for once for each: on a line with four of them, for weeks.
 *
 * @returns undefined while the level of the recipe is learned
 */
export function valueAtUsualRecipe(levels: RecipeLevels, spec: FeatureSpec, value: FeatureValue, recipe: string): FeatureValue | undefined {
  if (spec.atUsualRecipe === undefined) return value
  const moved = atUsualRecipe((levels[spec.feature] ??= createUsualLevels()), recipe, value.value, { values: LEVEL_VALUES, by: spec.atUsualRecipe, firstPasses: true })
  return moved === undefined ? undefined : { ...value, value: moved }
}
