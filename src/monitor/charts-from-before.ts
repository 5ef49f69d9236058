import type { FeatureSpec } from '../line/features/feature-catalogue.js'
import type { FeatureValue } from '../line/feature-value.js'
import type { Signal } from '../spc/chart-point.js'
import type { ChartEntry, ChartStageState } from './chart-stage.js'
import type { ChartContext, EmitOutput } from './line-output.js'
import { ALL_RECIPES } from './recipe-levels.js'

/**
 * Charts kept from before all recipes shared one, or shared it as they were, by feature: they begin anew, and hold nothing any more.
 *
 * @param levelled features whose values have been brought to the usual recipe; absent: all that are to be
 */
export function takeOutOld(state: ChartStageState, specs: readonly FeatureSpec[], levelled?: ReadonlySet<string>): Map<string, ChartEntry[]> {
  const shared = new Set(specs.flatMap(({ feature, atUsualRecipe }) => (atUsualRecipe === undefined ? [] : [feature])))
  const old = new Map<string, ChartEntry[]>()
  for (const [key, entry] of Object.entries(state.entries)) {
    if (!shared.has(entry.feature) || (entry.recipe === ALL_RECIPES && levelled?.has(entry.feature) !== false)) continue
    old.set(entry.feature, [...(old.get(entry.feature) ?? []), entry])
    delete state.entries[key]
  }
  return old
}

/** Whoever has heard a signal of such a chart hears its end. */
export function endOld(fromBefore: Map<string, ChartEntry[]>, { feature, timeMs }: FeatureValue, { state }: ChartContext, emit: EmitOutput): void {
  for (const { recipe, openSignals } of fromBefore.get(feature) ?? []) {
    for (const name of openSignals) {
      const [chart, side] = name.split(' ') as [Signal['chart'], Signal['side']]
      emit({ kind: 'signal', body: { timeMs, phase: 'end', chart, side, onsetMs: timeMs, shiftSigma: 0, feature, recipe, state } })
    }
  }
  fromBefore.delete(feature)
}
