/** The HTTP API's answers as the page reads them; times are ISO 8601 UTC. */

export interface LineSummary {
  readonly line: string
  readonly title: string
  readonly timeZone: string
  readonly simulated: boolean
  readonly state: string
  readonly stateSince?: string
  readonly recipe?: string
  readonly dataTime?: string
  readonly openSuggestions: number
  readonly baselines: { readonly learning: number; readonly provisional: number; readonly accepted: number; readonly refused: number }
  readonly rejected: { readonly total: number; readonly byReason: Readonly<Record<string, number>> }
  readonly paused?: string
}

export interface LineDetail extends LineSummary {
  readonly invisible: readonly { readonly cause: string; readonly title: string }[]
  readonly invisibleText: string
  readonly rejectedLast: readonly { readonly reason: string; readonly where: string; readonly time: string; readonly found: string; readonly expected: string; readonly count: number }[]
}

export interface FeatureSummary {
  readonly feature: string
  readonly title: string
  readonly section: string
  readonly zone?: number
  readonly unit: string
  /** A difference of temperatures. */
  readonly difference?: true
  /** Measured by hand. */
  readonly hand?: true
  readonly windowS: number
  readonly charts: readonly string[]
  readonly baseline: { readonly status: string; readonly n: number; readonly target: number; readonly reason?: string }
  readonly latest?: { readonly time: string; readonly value: number }
  readonly evidence: { readonly status: string; readonly shiftSigma: number; readonly onset?: string }
}

export interface PointView {
  readonly time: string
  readonly feature: string
  readonly chart: string
  readonly value: number
  readonly statistic: number
  readonly centre: number
  readonly lower: number
  readonly upper: number
  readonly sigma: number
  readonly n: number
  readonly recipe: string
  readonly state: string
  readonly baseline: string
}

/** A line that could not be opened, and why. */
export interface RefusedLine {
  readonly line: string
  readonly title: string
  readonly reason: string
}

export interface RuleHitView {
  readonly time: string
  readonly feature: string
  readonly recipe: string
  readonly chart: string
  readonly rule: string
  readonly side: string
  readonly points: readonly string[]
}

/** End of what a rule hit began: the first point that no longer fulfils the rule. */
export interface RuleEndView {
  readonly feature: string
  readonly recipe: string
  readonly time: string
  readonly chart: string
  readonly rule: string
  readonly side: string
}

export interface SignalView {
  readonly time: string
  readonly feature: string
  readonly chart: string
  readonly phase: 'start' | 'end'
  readonly side: string
  readonly onset: string
  readonly shiftSigma: number
  readonly recipe: string
}

/** Work, a change or what came of work, on the time axis. */
export interface TimeMarkView {
  readonly time: string
  readonly kind: 'record' | 'change' | 'proof'
  readonly section?: string
  readonly zone?: number
  readonly words: string
  readonly cleaning?: true
  readonly verdict?: string
  readonly channel?: string
  readonly from?: number | string
  readonly to?: number | string
}

export interface StateView {
  readonly time: string
  readonly state: string
  readonly previous: string
  readonly recipe: string
}

export interface CauseView {
  readonly cause: string
  readonly title: string
  readonly words: string
  readonly probability: number
  readonly kind: string
}

export interface WorkView {
  readonly id: string
  readonly title: string
  readonly steps: readonly string[]
  readonly people: number
  readonly minutes: readonly [number, number]
  readonly tools: readonly string[]
}

export interface SuggestionView {
  readonly id: string
  readonly shortCode: string
  readonly line: string
  readonly raised: string
  readonly onset: string
  readonly section: string
  readonly zone?: number
  readonly status: string
  readonly urgency: string
  readonly abstains: boolean
  readonly headline: string
  readonly causes: readonly CauseView[]
  readonly reasons: readonly string[]
  readonly against: readonly string[]
  readonly missing: readonly string[]
  readonly checkFirst: { readonly title: string; readonly minutes: number; readonly steps: readonly string[] }
  readonly work: readonly WorkView[]
  readonly cautions: readonly string[]
  readonly cautionIds: readonly string[]
  readonly statusTime: string
  readonly byWhen: string
  readonly features: readonly string[]
}

export interface Reason {
  readonly id: string
  readonly title: string
}

export interface Problem {
  readonly title?: string
  readonly detail?: string
  readonly status?: number
}
