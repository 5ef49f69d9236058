import { meanOf } from './autocorrelation.js'
import { autocovarianceSums, LAGS_MAX } from './autoregressive-model.js'
import { median } from './robust-estimates.js'

/** Values Phase I has learned so far, plain JSON; dropped when the limits are frozen. */
export interface LearnedValues {
  /** The newest values in charting units, one by one, with their times. */
  values: number[]
  timesMs: number[]
  /** Older values, oldest first, as sums of blocks: what the centre, the spread and the autocorrelation need of them. */
  blocks: LearnedBlock[]
  /** Values learned, all together. */
  count: number
  /** Fit again when `count` reaches this. */
  nextFit: number
  /** Values that came under a suspicion: learned after all if it passes without a signal. */
  aside: { values: number[]; timesMs: number[] }
  /** Values in a row that were not learned because of a suspicion. */
  heldCount: number
}

/** Sums over one stretch of values, about `reference`. */
export interface LearnedBlock {
  endMs: number
  reference: number
  count: number
  sum: number
  /** Sums of products at lag 0 to 5, the pairs in them, and the sums of both values of these. */
  products: number[]
  pairs: number[]
  sums: number[]
}

/** Mean and autocovariances of everything learned. */
export interface LearnedMoments {
  readonly count: number
  readonly centre: number
  /** At lag 0 to 5. */
  readonly covariance: readonly number[]
}

/** Values and times kept one by one; more are summed up in blocks. */
export const SINGLE_VALUES_MAX = 300
/** What the older half becomes. */
const BLOCK_LENGTH = 50
/** Blocks before neighbours are joined in pairs. */
const BLOCKS_MAX = 20
const GAP_FACTOR = 1.6

export function createLearnedValues(firstFit: number): LearnedValues {
  return { values: [], timesMs: [], blocks: [], count: 0, nextFit: firstFit, aside: { values: [], timesMs: [] }, heldCount: 0 }
}

export function learnOne(learned: LearnedValues, timeMs: number, y: number): void {
  learned.values.push(y)
  learned.timesMs.push(timeMs)
  learned.count++
}

/** Sums the older half of the single values up in blocks. `kept` has 0 for values that are not believed. */
export function condense(learned: LearnedValues, kept: ArrayLike<number>): void {
  const { values, timesMs, blocks } = learned
  const take = Math.floor(values.length / 2 / BLOCK_LENGTH) * BLOCK_LENGTH
  const follows = followsOf(timesMs)
  for (let from = 0; from < take; from += BLOCK_LENGTH) {
    const reference = values[from]!
    const sums = autocovarianceSums(values, reference, kept, follows, LAGS_MAX, from, from + BLOCK_LENGTH)
    let sum = 0
    for (let i = from; i < from + BLOCK_LENGTH; i++) if (kept[i] !== 0) sum += values[i]! - reference
    if (sums.pairs[0]! > 0) blocks.push({ endMs: timesMs[from + BLOCK_LENGTH - 1]!, reference, count: sums.pairs[0]!, sum, ...sums })
  }
  values.splice(0, take)
  timesMs.splice(0, take)
  if (blocks.length >= BLOCKS_MAX) learned.blocks = blocks.flatMap((block, i) => (i % 2 === 0 ? [i + 1 < blocks.length ? joined(block, blocks[i + 1]!) : block] : []))
}

function joined(older: LearnedBlock, newer: LearnedBlock): LearnedBlock {
  const moved = about(newer, older.reference)
  return {
    endMs: newer.endMs,
    reference: older.reference,
    count: older.count + newer.count,
    sum: older.sum + moved.sum,
    products: older.products.map((product, lag) => product + moved.products[lag]!),
    pairs: older.pairs.map((pair, lag) => pair + newer.pairs[lag]!),
    sums: older.sums.map((sum, lag) => sum + moved.sums[lag]!),
  }
}

/** The sums of a block about another reference. */
function about(block: LearnedBlock, reference: number): { readonly sum: number; readonly products: number[]; readonly sums: number[] } {
  const offset = block.reference - reference
  return {
    sum: block.sum + offset * block.count,
    products: block.products.map((product, lag) => product + offset * (block.sums[lag]! + block.pairs[lag]! * offset)),
    sums: block.sums.map((sum, lag) => sum + 2 * block.pairs[lag]! * offset),
  }
}

/** Moments of the blocks and of the single values that are kept. */
export function learnedMoments(learned: LearnedValues, kept: ArrayLike<number>): LearnedMoments {
  const { values, timesMs, blocks } = learned
  const zero = blocks[0]?.reference ?? values[0] ?? 0
  let count = 0
  let sum = 0
  for (const block of blocks) {
    count += block.count
    sum += block.sum + (block.reference - zero) * block.count
  }
  for (let i = 0; i < values.length; i++) {
    if (kept[i] === 0) continue
    count++
    sum += values[i]! - zero
  }
  const centre = zero + sum / Math.max(1, count)
  const { products, pairs } = autocovarianceSums(values, centre, kept, followsOf(timesMs), LAGS_MAX)
  for (const block of blocks) {
    about(block, centre).products.forEach((product, lag) => {
      products[lag]! += product
      pairs[lag]! += block.pairs[lag]!
    })
  }
  return { count, centre, covariance: products.map((product, lag) => (pairs[lag] === 0 ? 0 : product / pairs[lag]!)) }
}

/** Means of equally long stretches of everything learned, oldest first, for the search for a change; undefined while all values are single. */
export function stretchMeans(learned: LearnedValues): number[] | undefined {
  const { blocks, values } = learned
  if (blocks.length === 0) return undefined
  const means = blocks.map((block) => block.reference + block.sum / block.count)
  const length = Math.max(...blocks.map((block) => block.count))
  for (let from = 0; from + length <= values.length; from += length) means.push(meanOf(values.slice(from, from + length)))
  return means
}

/** Takes the values from `sinceMs` on out again and keeps them aside, all but the first `keep`. */
export function setAside(learned: LearnedValues, sinceMs: number, keep: number): void {
  const { values, timesMs, aside } = learned
  let length = values.length
  while (length > keep && timesMs[length - 1]! >= sinceMs) length--
  aside.values = values.splice(length)
  aside.timesMs = timesMs.splice(length)
  learned.count -= aside.values.length
}

/** One more value under suspicion. */
export function pushAside(learned: LearnedValues, timeMs: number, y: number): void {
  learned.aside.values.push(y)
  learned.aside.timesMs.push(timeMs)
}

export function forgetAside(learned: LearnedValues): void {
  learned.aside = { values: [], timesMs: [] }
}

/** The suspicion has passed: leaving its values out would make the spread and the correlation look smaller than they are. */
export function learnAside(learned: LearnedValues): void {
  const { aside } = learned
  learned.values.push(...aside.values)
  learned.timesMs.push(...aside.timesMs)
  learned.count += aside.values.length
  learned.heldCount = 0
  forgetAside(learned)
}

/** 1 where a value follows its predecessor without a gap. */
export function followsOf(timesMs: readonly number[]): number[] {
  const longest = usualGap(timesMs) * GAP_FACTOR
  return timesMs.map((timeMs, i) => (i > 0 && timeMs >= timesMs[i - 1]! && timeMs - timesMs[i - 1]! <= longest ? 1 : 0))
}

export function usualGap(timesMs: readonly number[]): number {
  const gaps: number[] = []
  for (let i = 1; i < timesMs.length; i++) gaps.push(timesMs[i]! - timesMs[i - 1]!)
  return gaps.length === 0 ? 0 : Math.max(0, median(gaps))
}
