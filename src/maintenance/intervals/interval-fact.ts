import type { Section } from '../../line/feature-value.js'
import type { FactMark } from '../maintenance-fact.js'

export const INTERVAL_VERDICTS = ['shorten', 'keep', 'may-lengthen', 'use-condition', 'not-enough-history'] as const
export type IntervalVerdict = (typeof INTERVAL_VERDICTS)[number]
export const INTERVAL_SCALES = ['running-hours', 'boards', 'flux-g', 'calendar-hours'] as const
export type IntervalScale = (typeof INTERVAL_SCALES)[number]

/** How often a job is needed on this line, as learned so far. */
export interface IntervalFact extends FactMark {
  readonly type: 'interval'
  readonly work: string
  readonly section: Exclude<Section, 'line'>
  readonly zone?: number
  /** Scale that fits best. */
  readonly scale: IntervalScale
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
  /** Whether the age counts from a recorded job; else it counts from the first data and is at least this. */
  readonly ageKnown?: boolean
  /** The scale's units in one running hour of this line. */
  readonly perHour?: number
  /** What the verdict rests on, one for each time between two cleanings, the newest last: age, finding, and the ages between which it was due. */
  readonly lives?: readonly { readonly age: number; readonly finding?: number; readonly event: boolean; readonly lower: number; readonly upper?: number }[]
  readonly costs?: { readonly planned: number; readonly failure: number }
}
