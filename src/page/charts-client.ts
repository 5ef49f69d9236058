import { ask, at } from './api-client.js'
import type { PointView, RuleEndView, RuleHitView, SignalView, StateView, TimeMarkView } from './api-types.js'
import type { Language } from './texts.js'

/** One point of a chart that the service makes from the points in its history. */
export interface DerivedPointView {
  readonly time: string
  readonly statistic: number
  readonly centre: number
  readonly lower: number
  readonly upper: number
  readonly n: number
}

export interface DriftView {
  readonly type: 'drift'
  readonly time: string
  readonly feature: string
  readonly recipe: string
  readonly phase: 'start' | 'standing' | 'end'
  readonly shape: 'step' | 'ramp' | 'spread' | 'unclear'
  readonly onset: string
  readonly onsetFrom: string
  readonly onsetTo: string
  readonly slopePerDay?: number
  readonly slopePerDayLower?: number
  readonly slopePerDayUpper?: number
  readonly limit?: number
  readonly due?: readonly [string, string, string]
  readonly noDate?: string
}

export interface EffortView {
  readonly type: 'effort'
  readonly time: string
  readonly verdict: string
  readonly feature: string
  readonly effortFeature: string
  readonly effectLossShare?: number
  readonly saturatedShare: number
}

export interface BudgetView {
  readonly type: 'budget'
  readonly time: string
  readonly from: string
  readonly complete: boolean
  readonly productionHours: number
  readonly expectedSignals: number
  readonly signals: number
  readonly expectedSuggestions: number
  readonly suggestions: number
  readonly unexplained: number
  readonly total: { readonly weeks: number; readonly expectedSignals: number; readonly unexplained: number; readonly verdict: string }
}

export type InsightView = DriftView | EffortView | BudgetView

export interface CapabilityView {
  readonly unit: string
  readonly lower?: number
  readonly upper?: number
  readonly from?: string
  readonly to?: string
  readonly recipe: string
  readonly correlated: boolean
  readonly result:
    | { readonly kind: 'capability'; readonly n: number; readonly ppk: CapabilityIndexView; readonly pp?: CapabilityIndexView; readonly cp?: CapabilityIndexView; readonly cpk?: CapabilityIndexView; readonly ppmBelow: number; readonly ppmAbove: number }
    | { readonly kind: 'no-limits' | 'no-variation' }
    | { readonly kind: 'too-few-values'; readonly valueCount: number; readonly valueCountMin: number }
    | { readonly kind: 'not-stable'; readonly signalCount: number }
    | { readonly kind: 'not-normal'; readonly p: number }
}

export interface CapabilityIndexView {
  readonly value: number
  readonly interval?: { readonly lower: number; readonly upper: number }
}

export type TogetherView =
  | { readonly kind: 'together'; readonly features: readonly string[]; readonly baselineCount: number; readonly points: readonly DerivedPointView[] }
  | { readonly kind: 'too-few-values'; readonly valueCount: number; readonly valueCountMin: number }
  | { readonly kind: 'no-variation' }
  | { readonly kind: 'dependent'; readonly feature: string }

export interface CostView {
  readonly falsePerWeek: number
  readonly delayPoints: number
}

export interface BaselineView {
  readonly feature: string
  readonly recipe: string
  readonly title: string
  readonly section: string
  readonly zone?: number
  readonly unit: string
  readonly difference?: true
  readonly hand?: true
  readonly time: string
  readonly status: string
  readonly n: number
  readonly target: number
  readonly centre: number
  readonly sigma: number
  readonly reason?: string
  readonly limits?: { readonly lower: number; readonly upper: number; readonly chart: string }
  readonly standsGiven: boolean
  readonly signal: boolean
  readonly provisionalBecause?: { readonly reason: 'no-full-service' | 'not-accepted'; readonly missing: readonly string[] }
  readonly cost: CostView & { readonly pointsPerWeek: number; readonly textbook: { readonly threeSigma: CostView; readonly fourRules: CostView } }
}

export interface BaselinesView {
  readonly baselines: readonly BaselineView[]
  readonly falsePerWeek: number
  readonly textbook: { readonly threeSigma: number; readonly fourRules: number }
}

export interface ShiftView {
  readonly name: string
  readonly days: readonly string[]
  readonly start: string
}

const since = (from: string | undefined): string => (from === undefined ? '' : `&from=${at(from)}`)

export const chartsApi = {
  /** Points of one chart, oldest first; with `from` only those at or after it. */
  points: async (line: string, feature: string, chart: string, limit: number, from?: string): Promise<readonly PointView[]> =>
    (await ask<{ points: PointView[] }>(`lines/${at(line)}/points?feature=${at(feature)}&chart=${at(chart)}&limit=${limit}${since(from)}`)).points,
  /** The newest points of the value chart of a feature, whatever kind it is. */
  valuePoints: async (line: string, feature: string): Promise<readonly PointView[]> =>
    (await ask<{ points: PointView[] }>(`lines/${at(line)}/points?feature=${at(feature)}&limit=1500`)).points.filter(({ chart }) => !chart.startsWith('cusum')),
  derived: async (line: string, feature: string, kind: 'ewma' | 'spread', from?: string): Promise<readonly DerivedPointView[]> =>
    (await ask<{ points: DerivedPointView[] }>(`lines/${at(line)}/derived-points?feature=${at(feature)}&kind=${kind}${since(from)}`)).points,
  together: (line: string, of: 'zones' | 'defects', from?: string): Promise<TogetherView> => ask(`lines/${at(line)}/together?of=${of}${since(from)}`),
  /** Signals of all features at once: one question instead of one for each chart. */
  signals: async (line: string): Promise<readonly SignalView[]> => (await ask<{ signals: SignalView[] }>(`lines/${at(line)}/signals?limit=3000`)).signals,
  ruleEnds: async (line: string, feature: string, from?: string): Promise<readonly RuleEndView[]> =>
    (await ask<{ ruleEnds: RuleEndView[] }>(`lines/${at(line)}/rule-ends?feature=${at(feature)}&limit=500${since(from)}`)).ruleEnds,

  ruleHits: async (line: string, feature: string, from?: string): Promise<readonly RuleHitView[]> =>
    (await ask<{ ruleHits: RuleHitView[] }>(`lines/${at(line)}/rule-hits?feature=${at(feature)}&limit=500${since(from)}`)).ruleHits,
  states: async (line: string, from?: string): Promise<readonly StateView[]> => (await ask<{ states: StateView[] }>(`lines/${at(line)}/states?limit=3000${since(from)}`)).states,
  marks: async (line: string, language: Language): Promise<readonly TimeMarkView[]> => (await ask<{ marks: TimeMarkView[] }>(`lines/${at(line)}/marks?lang=${at(language)}&limit=1000`)).marks,
  insights: async (line: string): Promise<readonly InsightView[]> => (await ask<{ insights: InsightView[] }>(`lines/${at(line)}/insights`)).insights,
  shifts: async (line: string, language: Language): Promise<readonly ShiftView[]> => (await ask<{ definition: { shifts?: ShiftView[] } }>(`lines/${at(line)}?lang=${at(language)}`)).definition.shifts ?? [],
  capability: (line: string, feature: string, limits: Readonly<Record<string, string>>): Promise<CapabilityView> => ask(`lines/${at(line)}/capability?${new URLSearchParams({ feature, ...limits }).toString()}`),
  baselines: (line: string, language: Language): Promise<BaselinesView> => ask(`lines/${at(line)}/baselines?lang=${at(language)}`),
  /** Address of the table of a feature's points. */
  csvOf: (line: string, feature: string, from?: string): string => `./api/lines/${at(line)}/points.csv?feature=${at(feature)}${since(from)}`,
}
