import type { WorkRecord } from '../suggestion.js'
import { workItem, type MinutesRange, type WorkItem } from '../work-catalogue.js'

/** Normal quantile of 0.9: ranges of the catalogue are taken as what eight jobs in ten need. */
const Z_90 = 1.2815515655446004
/** The catalogue's range counts as so many records of the site's own. [ASM] */
const CATALOGUE_WEIGHT = 3
/** Records with a heavy finding from which they speak for themselves. */
const HEAVY_RECORDS_MIN = 3
/** Findings that mean heavy work: 3 and 4 of 0 to 4. */
const HEAVY_FINDING = 3
/** A job cannot take less than this, whatever the spread of the records says. */
const MINUTES_MIN = 1

export type MinutesBasis = 'hand' | 'washing-machine' | 'spare-set' | 'neglected'

/** How long a job takes; the plan uses `planned`, which nine jobs in ten keep. */
export interface WorkMinutes {
  readonly low: number
  readonly likely: number
  readonly planned: number
  readonly basis: MinutesBasis
  /** Records of the site it rests on besides the catalogue. */
  readonly records: number
}

export interface WorkMinutesInput {
  readonly work: string
  /** The job as it holds at the site, where it is another than the package's. */
  readonly item?: WorkItem
  readonly basis: MinutesBasis
  /** Minutes of a swap where the basis is a spare set. */
  readonly spareSetMinutes?: MinutesRange
  /** Records of this job on this line, with their minutes where they were noted. */
  readonly records: readonly Pick<WorkRecord, 'minutes' | 'finding'>[]
  /** Whether a heavy finding is to be expected: then records of heavy findings count alone where there are enough. */
  readonly heavy: boolean
}

/**
 * Minutes of a job: the catalogue's range as 10 to 90 % of a log-normal, moved by the site's own records (normal-inverse
 * mean and spread of the logarithms, the catalogue counting as three records). `planned` is the 90 % point for the next job.
 *
 * @throws Error for a job the catalogue does not hold
 */
export function workMinutes({ work, item = workItem(work), basis, spareSetMinutes, records, heavy }: WorkMinutesInput): WorkMinutes {
  const [shortest, longest] = rangeOf(item, basis, spareSetMinutes)
  const centre = (Math.log(shortest) + Math.log(longest)) / 2
  const spread = (Math.log(longest) - Math.log(shortest)) / (2 * Z_90)
  const noted = records.filter(({ minutes }) => minutes !== undefined && minutes >= MINUTES_MIN)
  const ofHeavy = noted.filter(({ finding }) => (finding ?? 0) >= HEAVY_FINDING)
  // A neglected chain is its own case: records of a chain that is kept up say nothing of it.
  const used = basis === 'neglected' ? [] : heavy && ofHeavy.length >= HEAVY_RECORDS_MIN ? ofHeavy : noted
  const logs = used.map(({ minutes }) => Math.log(minutes!))
  const n = logs.length
  const mean = n === 0 ? centre : logs.reduce((sum, value) => sum + value, 0) / n
  const weight = CATALOGUE_WEIGHT + n
  const middle = (CATALOGUE_WEIGHT * centre + n * mean) / weight
  const squares = logs.reduce((sum, value) => sum + (value - mean) ** 2, 0)
  const variance = (CATALOGUE_WEIGHT * spread ** 2 + squares + ((CATALOGUE_WEIGHT * n) / weight) * (mean - centre) ** 2) / weight
  const reach = Z_90 * Math.sqrt(n === 0 ? variance : variance * (1 + 1 / weight))
  return { low: rounded(Math.exp(middle - reach)), likely: rounded(Math.exp(middle)), planned: rounded(Math.exp(middle + reach)), basis, records: n }
}

function rangeOf(item: WorkItem, basis: MinutesBasis, spareSetMinutes: MinutesRange | undefined): MinutesRange {
  if (basis === 'neglected') return item.minutesWhenNeglected ?? item.minutesByHand
  if (basis === 'spare-set') return spareSetMinutes ?? item.minutesByHand
  return basis === 'washing-machine' ? (item.minutesWithWasher ?? item.minutesByHand) : item.minutesByHand
}

function rounded(minutes: number): number {
  return Math.max(MINUTES_MIN, Math.round(minutes))
}
