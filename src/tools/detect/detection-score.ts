/** What one simulated line brought out, reduced to what the score needs. */
export interface EpisodeResult {
  readonly seed: number
  readonly channels: string
  /** Empty for a healthy line. */
  readonly cause: string
  readonly zone?: number
  readonly section: string
  /** Whether the channels of this line can show the fault at all, by the fault table. */
  readonly observable: boolean
  readonly productionDays: number
  /** Production days before the onset; all of them for a healthy line. */
  readonly healthyDays: number
  readonly onsetMs: number
  readonly suggestions: readonly ScoredSuggestion[]
}

export interface ScoredSuggestion {
  readonly raisedMs: number
  readonly section: string
  readonly zone?: number
  /** Severity of the true fault when raised, 0-1; 0 before the onset. */
  readonly severity: number
  readonly causes: readonly { readonly cause: string; readonly members: readonly string[]; readonly probability: number }[]
}

export interface DetectionScore {
  readonly episodes: number
  readonly healthyDays: number
  readonly falseSuggestions: number
  readonly falsePer100Days: number
  readonly detectedShare: number
  readonly observableEpisodes: number
  readonly medianSeverity: number
  readonly sectionRight: number
  readonly causeFirst: number
  readonly causeFirstTwo: number
  readonly calibrationError: number
  readonly invisibleClaimed: number
  readonly byCause: Readonly<Record<string, { readonly episodes: number; readonly detected: number; readonly first: number; readonly severity: number }>>
}

/** Severity by which a fault must have been suggested. */
const SEVERITY_LIMIT = 0.8
/** A suggestion this long before the onset is a false one; the fault grows from zero, so nothing before counts for it. */
const before = (suggestion: ScoredSuggestion, result: EpisodeResult): boolean => result.cause === '' || suggestion.raisedMs < result.onsetMs

/** Scores many simulated lines; shares are of the observable faults that were suggested in time unless said otherwise. */
export function scoreDetections(results: readonly EpisodeResult[], invisibleFaults: ReadonlySet<string>): DetectionScore {
  const falseOnes = results.flatMap((result) => result.suggestions.filter((suggestion) => before(suggestion, result)))
  const healthyDays = results.reduce((sum, result) => sum + result.healthyDays, 0)
  const observable = results.filter((result) => result.cause !== '' && result.observable)
  const first = observable.map((result) => ({ result, suggestion: result.suggestions.find((suggestion) => !before(suggestion, result) && suggestion.severity <= SEVERITY_LIMIT) }))
  const detected = first.flatMap(({ result, suggestion }) => (suggestion === undefined ? [] : [{ result, suggestion }]))
  const share = (test: (item: (typeof detected)[number]) => boolean): number => (detected.length === 0 ? 0 : detected.filter(test).length / detected.length)
  const claims = results.flatMap((result) => result.suggestions.flatMap((suggestion) => suggestion.causes.filter((cause) => cause.probability >= 0.5 && cause.members.every((member) => invisibleFaults.has(member)))))
  return {
    episodes: results.filter((result) => result.cause !== '').length,
    healthyDays,
    falseSuggestions: falseOnes.length,
    falsePer100Days: healthyDays === 0 ? 0 : (100 * falseOnes.length) / healthyDays,
    observableEpisodes: observable.length,
    detectedShare: observable.length === 0 ? 0 : detected.length / observable.length,
    medianSeverity: median(detected.map(({ suggestion }) => suggestion.severity)),
    sectionRight: share(({ result, suggestion }) => suggestion.section === result.section),
    causeFirst: share(({ result, suggestion }) => isRight(suggestion.causes[0], result.cause)),
    causeFirstTwo: share(({ result, suggestion }) => suggestion.causes.slice(0, 2).some((cause) => isRight(cause, result.cause))),
    calibrationError: calibrationError(detected.map(({ result, suggestion }) => ({ probability: suggestion.causes[0]?.probability ?? 0, right: isRight(suggestion.causes[0], result.cause) }))),
    invisibleClaimed: claims.length,
    byCause: byCause(first),
  }
}

function isRight(cause: ScoredSuggestion['causes'][number] | undefined, truth: string): boolean {
  return cause !== undefined && cause.members.includes(truth)
}

function byCause(first: readonly { result: EpisodeResult; suggestion: ScoredSuggestion | undefined }[]): DetectionScore['byCause'] {
  const table: Record<string, { episodes: number; detected: number; first: number; severity: number }> = {}
  for (const cause of new Set(first.map(({ result }) => result.cause))) {
    const own = first.filter(({ result }) => result.cause === cause)
    const found = own.flatMap(({ suggestion }) => (suggestion === undefined ? [] : [suggestion]))
    table[cause] = {
      episodes: own.length,
      detected: found.length,
      first: found.filter((suggestion) => isRight(suggestion.causes[0], cause)).length,
      severity: median(found.map((suggestion) => suggestion.severity)),
    }
  }
  return table
}

/** Expected calibration error over at most ten bins of equal mass. */
export function calibrationError(cases: readonly { readonly probability: number; readonly right: boolean }[]): number {
  if (cases.length === 0) return 0
  const sorted = [...cases].sort((a, b) => a.probability - b.probability)
  const binCount = Math.min(10, Math.max(1, Math.floor(sorted.length / 10)))
  let error = 0
  for (let bin = 0; bin < binCount; bin += 1) {
    const items = sorted.slice(Math.floor((bin * sorted.length) / binCount), Math.floor(((bin + 1) * sorted.length) / binCount))
    const said = items.reduce((sum, item) => sum + item.probability, 0) / items.length
    const right = items.filter((item) => item.right).length / items.length
    error += (Math.abs(said - right) * items.length) / sorted.length
  }
  return error
}

function median(values: readonly number[]): number {
  if (values.length === 0) return 0
  const sorted = [...values].sort((a, b) => a - b)
  const middle = Math.floor(sorted.length / 2)
  return sorted.length % 2 === 1 ? (sorted[middle] ?? 0) : ((sorted[middle - 1] ?? 0) + (sorted[middle] ?? 0)) / 2
}
