import type { FeatureEvidence, Diagnosis } from '../line/diagnosis.js'
import type { FeatureValue, LineStateName } from '../line/feature-value.js'
import type { Reading, Rejection } from '../line/reading.js'
import type { LineStateChange } from '../line/state/line-state-change.js'
import type { MaintenanceFact } from '../maintenance/maintenance-fact.js'
import type { Suggestion } from '../maintenance/suggestion.js'
import type { ChartPoint, RuleEnd, RuleHit, Signal } from '../spc/chart-point.js'
import type { SupplementaryEnd, SupplementaryHit } from '../spc/supplementary-rules.js'
import type { Insight } from './insight.js'

export type { LineStateChange } from '../line/state/line-state-change.js'

/** Context every charted output carries. */
export interface ChartContext {
  readonly feature: string
  readonly recipe: string
  readonly state: LineStateName
}

/** Progress of what a chart has learned, emitted when it changes. */
export interface BaselineProgress extends ChartContext {
  readonly timeMs: number
  readonly status: 'learning' | 'provisional' | 'accepted' | 'refused' | 'suspended'
  /** Effective values learned so far, and how many the baseline wants. */
  readonly n: number
  readonly target: number
  readonly centre: number
  readonly sigma: number
  /** In words' raw form: a text key, e.g. `baseline.change-point-inside`. */
  readonly reason?: string
}

/** A hit of one of the four zone rules, or of a supplementary rule that the line has asked for. */
export type ChartedRuleHit = RuleHit | (SupplementaryHit & { readonly chart: RuleHit['chart'] })

/** The end of what a rule hit began: its first point that no longer fulfils the rule. Where the chart began anew meanwhile there is none. */
export type ChartedRuleEnd = RuleEnd | (SupplementaryEnd & { readonly chart: RuleHit['chart'] })

/** What one step of a line brought out, in order. Kinds of the same name are kept in the history. */
export type LineOutput =
  | { readonly kind: 'reading'; readonly body: Reading }
  | { readonly kind: 'feature'; readonly body: FeatureValue & { readonly recipe: string; readonly state: LineStateName } }
  | { readonly kind: 'state'; readonly body: LineStateChange }
  | { readonly kind: 'rejected'; readonly body: Rejection }
  | { readonly kind: 'epoch'; readonly body: { readonly timeMs: number; readonly beforeMs: number } }
  | { readonly kind: 'point'; readonly body: ChartPoint & ChartContext }
  | { readonly kind: 'rule-hit'; readonly body: ChartedRuleHit & ChartContext }
  | { readonly kind: 'rule-end'; readonly body: ChartedRuleEnd & ChartContext }
  | { readonly kind: 'signal'; readonly body: Signal & ChartContext }
  | { readonly kind: 'baseline'; readonly body: BaselineProgress }
  | { readonly kind: 'diagnosis'; readonly body: Diagnosis & { readonly symptoms: readonly FeatureEvidence[] } }
  | { readonly kind: 'suggestion'; readonly body: Suggestion }
  | { readonly kind: 'fact'; readonly body: MaintenanceFact }
  | { readonly kind: 'insight'; readonly body: Insight }
  | { readonly kind: 'note'; readonly body: { readonly timeMs: number; readonly key: string; readonly values: Readonly<Record<string, number | string>> } }

export type LineOutputKind = LineOutput['kind']
export type EmitOutput = (output: LineOutput) => void

/** One line's whole pipeline, without clock, I/O or random: the same object live, in Node-RED and in replay. */
export interface LineMonitor {
  /** Takes one event; outputs leave through `emit` in order. State is changed in place. */
  step(event: import('./line-event.js').LineEvent, emit: EmitOutput): void
  /** Plain JSON data: `createLineMonitor(definition, snapshot)` goes on from it exactly. */
  snapshot(): unknown
}
