/** Values of one feature under one recipe, oldest first. Times in whole seconds UTC, so that the state stays small. */
export interface ValueStretch {
  timesS: number[]
  values: number[]
}

export interface FeatureHistory {
  /** By recipe. */
  recipes: Record<string, ValueStretch>
}

/** Newest values kept of each feature and recipe: about twelve hours of production. */
const VALUES_KEPT = 72
/** Recipes kept of each feature, those produced last. */
const RECIPES_KEPT = 5
/** Rounding keeps the state small and is far below any sigma. */
const DIGITS = 6

export function noteValue(histories: Record<string, FeatureHistory>, feature: string, recipe: string, timeMs: number, value: number): void {
  const history = (histories[feature] ??= { recipes: {} })
  const stretch = (history.recipes[recipe] ??= { timesS: [], values: [] })
  pushValue(stretch, timeMs, value, VALUES_KEPT)
  const names = Object.keys(history.recipes)
  if (names.length <= RECIPES_KEPT) return
  const oldest = names.reduce((first, name) => ((history.recipes[name]!.timesS.at(-1) ?? 0) < (history.recipes[first]!.timesS.at(-1) ?? 0) ? name : first))
  delete history.recipes[oldest]
}

export function pushValue(stretch: ValueStretch, timeMs: number, value: number, kept: number): void {
  stretch.timesS.push(Math.round(timeMs / 1000))
  stretch.values.push(Number(value.toPrecision(DIGITS)))
  if (stretch.timesS.length > kept) {
    stretch.timesS.shift()
    stretch.values.shift()
  }
}

/** The part of a stretch after `fromMs` up to and with `toMs`. */
export function between(stretch: ValueStretch, fromMs: number, toMs: number): ValueStretch {
  const picked: ValueStretch = { timesS: [], values: [] }
  stretch.timesS.forEach((timeS, i) => {
    if (timeS * 1000 <= fromMs || timeS * 1000 > toMs) return
    picked.timesS.push(timeS)
    picked.values.push(stretch.values[i]!)
  })
  return picked
}

/** Values a stretch brings in a ms of calendar time, nights and weekends included; undefined while there are too few. */
export function rateOf(stretch: ValueStretch): number | undefined {
  const count = stretch.timesS.length
  const spanMs = ((stretch.timesS.at(-1) ?? 0) - (stretch.timesS[0] ?? 0)) * 1000
  return count < 3 || spanMs <= 0 ? undefined : (count - 1) / spanMs
}
