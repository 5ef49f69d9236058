import { START_UP_ALONE_SIGMA } from '../line/features/feature-spec.js'
import { fromCountScale, toCountScale } from '../spc/count-scale.js'
import type { Side } from '../spc/chart-point.js'
import type { ChartEvidence } from '../spc/process-chart-evidence.js'
import { cameAndWent, EARLY_VALUES, keepCourse, leapt, wentBack, type ChangeCourse } from './change-course.js'

/** Newest values of a feature, oldest first: what tells a change that stands from one value that stood out. */
export interface RecentValues extends ChangeCourse {
  timesMs: number[]
  values: number[]
}

const RECENT_MAX = 8
/** Counts scatter so much that it takes half a day of them to be sure. */
export const RECENT_COUNTS_MAX = 24
/** Values since the onset before a change is believed; rare ones (hourly, per start-up) need fewer. */
const VALUES_MIN = 3
const RARE_VALUES_MIN = 2
/** Sigmas the present level must be off on its side, the largest value left out. */
const STANDING_SIGMA = 0.8
/** Share of the counts since the onset that must be high: a burst or two in a day is no higher rate. [ASM] */
const HIGH_COUNTS_SHARE = 0.3
/** What the newest values must still show of the change, rare ones and counts aside: a level that was topped up has come back, whatever it was before. [ASM] */
const STILL_SHARE = 0.5
const NEWEST_VALUES = 2

/** A change has gone on growing when it stands this far, and by this share, above its first values. [ASM] */
const CREEP_SIGMA = 1.5
const CREEP_SHARE = 0.35
/** What goes one way only, as a filter fills up, must have grown by more: the house switches by a fifth and moves by half of that again through the day. [ASM] */
const CREEP_SHARE_ONE_WAY = 0.8

export function createRecentValues(): RecentValues {
  return { timesMs: [], values: [] }
}

/**
 * @param signalled side of the chart's signal; undefined while none is on
 * @param oneWay its course since then is kept
 * @param passes what it was in the newest days is kept
 */
export function pushRecentValue(recent: RecentValues, timeMs: number, value: number, signalled?: Side, { max = RECENT_MAX, ...what }: { readonly max?: number; readonly oneWay?: boolean; readonly passes?: boolean } = {}): void {
  if (recent.timesMs.length >= max) {
    recent.timesMs.shift()
    recent.values.shift()
  }
  recent.timesMs.push(timeMs)
  recent.values.push(value)
  keepCourse(recent, value, recent.values, signalled, what)
}

export interface StandingOptions {
  /** Smallest lasting change that is of consequence, feature's unit. */
  readonly relevant: number
  readonly rare: boolean
  readonly counts: boolean
  /** One value that stands out far enough is believed alone. */
  readonly toldByOne?: boolean
  readonly runInUntilMs?: number
}

/** A chart's word, and of a change whether it went on growing after it was first seen. */
export type StandingEvidence = ChartEvidence & { readonly creeps?: boolean; readonly atFirstSigma?: number }

/** How far the newest values lie off the learned centre on the median, feature's unit; undefined before there are enough. */
export function leanOf({ sigma, centre }: Pick<ChartEvidence, 'sigma' | 'centre'>, { values }: RecentValues): number | undefined {
  if (!(sigma > 0) || values.length < VALUES_MIN) return undefined
  return medianOfSorted([...values].sort((a, b) => a - b)) - centre
}

/**
 * What is left of a chart's word once single values that stood out are set aside: a signal is held for hours, but one
 * jump in a day is no symptom. A change that no longer stands, or is too small to matter, is `learning`: it says nothing
 * either way.
 *
 * @param options.counts numbers of rare events, most of them 0 even where there are far more than usual: their mean counts
 * @param options.rare values that come hourly or once a start-up
 * @param options.toldByOne the newest value alone is believed where it stands out far enough, and is then how large the change is
 * @param options.runInUntilMs values up to this time may show a run-in and do not count; 0 where none can
 */
export function standingChange(evidence: ChartEvidence, kept: RecentValues, options: StandingOptions): StandingEvidence {
  const undecided = withoutChange(evidence)
  if (undecided === evidence) return evidence
  if (!(evidence.sigma > 0)) return undecided
  const side = evidence.status === 'up' ? 1 : -1
  const recent = { ...kept, timesMs: kept.timesMs.slice(-RECENT_MAX), values: kept.values.slice(-RECENT_MAX) }
  const inOrder = recent.values
    .filter((_, index) => (recent.timesMs[index] ?? 0) >= Math.max(evidence.onsetMs, options.runInUntilMs ?? 0))
    .map((value) => side * deviationOf(evidence, value, options.counts))
  const newest = inOrder.at(-1) ?? 0
  const deviations = [...inOrder].sort((a, b) => a - b)
  const alone = options.toldByOne === true && newest >= START_UP_ALONE_SIGMA
  if (!alone && deviations.length < (options.rare ? RARE_VALUES_MIN : VALUES_MIN)) return undecided
  const without = options.rare ? deviations : deviations.slice(0, -1)
  const levelOf = options.counts ? meanOf : medianOfSorted
  if (!alone && levelOf(without) < STANDING_SIGMA) return undecided
  const level = alone ? Math.max(newest, levelOf(deviations)) : levelOf(deviations)
  const shift = side * shiftOf(evidence, level, options.counts)
  if (Math.abs(shift) < options.relevant) return undecided
  if (options.counts && comesInBursts(evidence, kept, side)) return undecided
  if (!options.rare && !options.counts && hasComeBack(evidence, recent, side, level)) return undecided
  if (cameAndWent(kept.hours ?? [], evidence.centre, shift)) return undecided
  const standing = options.counts ? deviations.length : deviations.filter((deviation) => deviation >= STANDING_SIGMA).length
  // While values of a run-in were left out only those after it count.
  const sinceOnset = deviations.length === recent.values.length || options.runInUntilMs === undefined ? evidence.windows - (deviations.length - standing) : standing
  const windows = Math.max(standing, options.counts ? evidence.windows : sinceOnset)
  return { ...evidence, shiftSigma: side * level, shift, windows, ...(options.counts ? sizeAtFirst(evidence, recent) : creeping(evidence, recent, side, level)) }
}

/** Sigmas of a value from the centre; of counts on the scale they are charted on, where a plain mean is one of the level. */
export function deviationOf({ centre, sigma }: Pick<ChartEvidence, 'centre' | 'sigma'>, value: number, counts: boolean): number {
  return counts ? ((toCountScale(value) - toCountScale(centre)) * 2 * toCountScale(centre)) / sigma : (value - centre) / sigma
}

/** A change of so many sigmas in the feature's unit. */
export function shiftOf({ centre, sigma }: Pick<ChartEvidence, 'centre' | 'sigma'>, sigmas: number, counts: boolean): number {
  const root = toCountScale(centre)
  return counts ? fromCountScale(root + (sigmas * sigma) / (2 * root)) - centre : sigmas * sigma
}

/** A few counts make the whole mean. */
function comesInBursts(evidence: ChartEvidence, { values, timesMs }: RecentValues, side: number): boolean {
  const since = values.filter((_, index) => timesMs[index]! >= evidence.onsetMs)
  return since.filter((value) => side * deviationOf(evidence, value, true) >= STANDING_SIGMA).length < HIGH_COUNTS_SHARE * since.length
}

/** The newest values are all well on their way back. */
function hasComeBack({ centre, sigma }: ChartEvidence, { values }: RecentValues, side: number, level: number): boolean {
  return values.slice(-NEWEST_VALUES).every((value) => (side * (value - centre)) / sigma < STILL_SHARE * level)
}

/** Known once some values have come after the first ones. A step is at its full size in at least one of them. */
function creeping({ centre, sigma, windows }: ChartEvidence, { early, course }: RecentValues, side: number, level: number): { readonly creeps?: boolean } {
  if (early === undefined || early.length < EARLY_VALUES || windows < 2 * EARLY_VALUES) return {}
  const first = early.reduce((most, value) => Math.max(most, (side * (value - centre)) / sigma), 0)
  const share = course === undefined ? CREEP_SHARE : CREEP_SHARE_ONE_WAY
  return { creeps: level - first >= Math.max(CREEP_SIGMA, share * first) && !wentBack(centre, course ?? [], side) && !leapt(centre, course ?? [], side) }
}

/** Counts scatter so much that it takes some of them to say how large a change is. */
function sizeAtFirst(evidence: ChartEvidence, { early }: RecentValues): { readonly atFirstSigma?: number } {
  return early === undefined || early.length < VALUES_MIN ? {} : { atFirstSigma: meanOf(early.map((value) => deviationOf(evidence, value, true))) }
}

/** A change that cannot be told just now is no change, and no calm either. */
export function withoutChange(evidence: ChartEvidence): ChartEvidence {
  if (evidence.status !== 'up' && evidence.status !== 'down') return evidence
  return { ...evidence, status: 'learning', shiftSigma: 0, shift: 0, onsetMs: 0, windows: 0, trend: 'steady' }
}

function medianOfSorted(sorted: readonly number[]): number {
  const middle = Math.floor(sorted.length / 2)
  return sorted.length % 2 === 1 ? (sorted[middle] ?? 0) : ((sorted[middle - 1] ?? 0) + (sorted[middle] ?? 0)) / 2
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / Math.max(1, values.length)
}
