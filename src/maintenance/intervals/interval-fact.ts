import type { Section } from '../../line/feature-value.js'
import type { FactMark } from '../maintenance-fact.js'

export type IntervalVerdict = 'shorten' | 'keep' | 'may-lengthen' | 'use-condition' | 'not-enough-history'

/** How often a job is needed on this line, as learned so far. */
export interface IntervalFact extends FactMark {
  readonly type: 'interval'
  readonly work: string
  readonly section: Exclude<Section, 'line'>
  readonly zone?: number
  /** Scale that fits best. */
  readonly scale: 'running-hours' | 'boards' | 'flux-g' | 'calendar-hours'
  /** Interval in force, in the scale's unit. */
  readonly interval: number
  readonly startInterval: number
  readonly verdict: IntervalVerdict
  /** Where the cost lies within 5 % of its least, in the scale's unit. */
  readonly range?: readonly [number, number]
  readonly events: number
  readonly censored: number
  readonly safety: boolean
  readonly because: readonly { readonly key: string; readonly values: Readonly<Record<string, number | string>> }[]
  /** Age now, in the scale's unit, and the share of the interval used. */
  readonly age: number
  readonly used: number
}
