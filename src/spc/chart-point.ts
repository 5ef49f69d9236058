/**
 * What a chart says about one plotted value. Everything a rule hit rests on stands in the point itself, so that a
 * reader of the points alone can derive every rule hit again.
 */
export interface ChartPoint {
  /** End of the window the value was taken from, ms UTC. */
  readonly timeMs: number
  readonly chart: ChartKind
  /** The plotted feature value, in the feature's unit. */
  readonly value: number
  /** What the limits apply to: the value itself, or the chart's running statistic (in the same unit or in sigmas). */
  readonly statistic: number
  readonly centre: number
  readonly lower: number
  readonly upper: number
  /** Standard deviation of `statistic` around `centre`; the sigma bands of the rules are whole multiples of it. */
  readonly sigma: number
  /** Effective number of values the baseline rests on. */
  readonly n: number
  readonly baseline: BaselineStatus
}

/**
 * `individuals` plots the value, `residual` what is left after the autocorrelation is predicted, `standards-given` the
 * value against adopted limits (no rules run there), the others a memory statistic.
 */
export type ChartKind = 'individuals' | 'residual' | 'standards-given' | 'subgroup-mean' | 'subgroup-range' | 'subgroup-sd' | 'cusum-up' | 'cusum-down' | 'ewma' | 'spread' | 'count'

/**
 * What a chart rests on: `self-starting` standardises each value by all values before it, `provisional` has learned
 * limits nobody has confirmed, `accepted` was confirmed by an engineer.
 */
export type BaselineStatus = 'self-starting' | 'provisional' | 'accepted'

/** Side of the centre line. */
export type Side = 'above' | 'below'

/** The four rules of the Western Electric handbook (1956), in plain words. */
export type RuleName = 'one-beyond-three-sigma' | 'two-of-three-beyond-two-sigma' | 'four-of-five-beyond-one-sigma' | 'eight-on-one-side'

/** One rule, fulfilled at `timeMs` by the points that ended at `pointTimesMs` (oldest first, the newest is `timeMs`). */
export interface RuleHit {
  readonly timeMs: number
  readonly chart: ChartKind
  readonly rule: RuleName
  readonly side: Side
  readonly pointTimesMs: readonly number[]
}

/** The episode of a rule hit is over: `timeMs` is the first point that no longer fulfils the rule. */
export interface RuleEnd {
  readonly timeMs: number
  readonly chart: ChartKind
  readonly rule: RuleName
  readonly side: Side
}

/** The budgeted alarm of a chart: starts once, is held while it lasts, ends once. */
export interface Signal {
  readonly timeMs: number
  readonly phase: 'start' | 'end'
  readonly chart: ChartKind
  readonly side: Side
  /** Estimated time at which the change began, ms UTC; never after `timeMs`. */
  readonly onsetMs: number
  /** Estimated size of the change in baseline sigmas of the feature, signed: above is positive. */
  readonly shiftSigma: number
}
