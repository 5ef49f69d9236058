import { predictedAge, weibullPosterior, type BoundedLife, type ScalePrior } from '../../spc/weibull-posterior.js'
import type { IntervalFact } from './interval-fact.js'
import { carriesModel, DUE_SHARE_MAX, judgeWithSisters } from './interval-verdict.js'

/** One line's history of a job, on one scale. */
export interface SisterHistory {
  readonly line: string
  readonly lives: readonly BoundedLife[]
}

/** What the other lines say of one line's job. */
export interface SisterView {
  readonly line: string
  /** ln(scale) of the life as the sister lines have it, and how much lines differ: a prior for the line. */
  readonly prior: ScalePrior
  /** Age by which one in ten is due, from the line's own history and the sisters' together. */
  readonly interval: number
  /** Lines that say something. */
  readonly sisters: number
}

/** Lines differ by a factor of two or so before anything is known of them. [ASM, factor 2 between sites] */
const BETWEEN_SD = Math.log(2)
/** Lines are never taken for more alike than this. [ASM] */
const BETWEEN_SD_MIN = 0.15

/**
 * Sister lines share what they know: each line's life is drawn towards that of the others by as much as its own history
 * is short and the others agree. The line's own data are not used twice: its prior comes from the others alone.
 */
export function shareBetweenLines(histories: readonly SisterHistory[]): readonly SisterView[] {
  const own = histories.map(({ line, lives }) => {
    const posterior = lives.some(({ upper }) => upper !== undefined) ? weibullPosterior(lives) : undefined
    return { line, lives, known: posterior?.kind === 'weibull-posterior' ? { mean: posterior.logScaleMean, variance: Math.max(1e-4, posterior.logScaleSd ** 2) } : undefined }
  })
  return own.flatMap(({ line, lives }): SisterView[] => {
    const others = own.filter((other) => other.line !== line).flatMap((other) => other.known ?? [])
    if (others.length === 0) return []
    const prior = priorFrom(others)
    const together = weibullPosterior(lives, { scale: prior })
    return together.kind === 'weibull-posterior' ? [{ line, prior, interval: predictedAge(together, DUE_SHARE_MAX), sisters: others.length }] : []
  })
}

/** Mean and spread of the lines by moments (DerSimonian and Laird), the spread held up by what is usual between sites. */
function priorFrom(known: readonly { readonly mean: number; readonly variance: number }[]): ScalePrior {
  const weights = known.map(({ variance }) => 1 / variance)
  const total = weights.reduce((sum, weight) => sum + weight, 0)
  const mean = known.reduce((sum, one, i) => sum + one.mean * weights[i]!, 0) / total
  const scatter = known.reduce((sum, one, i) => sum + weights[i]! * (one.mean - mean) ** 2, 0)
  const free = known.length - 1
  const excess = free === 0 ? 0 : Math.max(0, (scatter - free) / (total - weights.reduce((sum, weight) => sum + weight * weight, 0) / total))
  // As if one more pair of lines had differed as sites usually do.
  const between = Math.max(BETWEEN_SD_MIN ** 2, (free * excess + BETWEEN_SD ** 2) / (free + 1))
  const pooledWeights = known.map(({ variance }) => 1 / (variance + between))
  const pooledTotal = pooledWeights.reduce((sum, weight) => sum + weight, 0)
  const pooled = known.reduce((sum, one, i) => sum + one.mean * pooledWeights[i]!, 0) / pooledTotal
  return { logScale: pooled, sd: Math.sqrt(between + 1 / pooledTotal) }
}

/** Intervals of the same job, kind of place and scale on several lines, as histories to share. */
export function sisterHistories(facts: readonly { readonly line: string; readonly fact: IntervalFact }[], of: IntervalFact): SisterHistory[] {
  const byLine = new Map<string, BoundedLife[]>()
  for (const { line, fact } of facts) {
    if (fact.work !== of.work || fact.scale !== of.scale) continue
    byLine.set(line, [...(byLine.get(line) ?? []), ...boundedLives(fact)])
  }
  return [...byLine].map(([line, lives]) => ({ line, lives }))
}

/**
 * An interval as it is in force at a site of several lines. A line whose own history carries no model yet goes by what it
 * and its sisters tell together, under the same rules and never past what its own findings have shortened it to; from
 * there on its own history speaks. Computed from the facts alone: the same facts give the same interval.
 */
export function withSisters(own: IntervalFact, sisters: SisterView | undefined): IntervalFact {
  const lives = boundedLives(own)
  const { interval: present, startInterval, safety, costs, events, censored } = own
  if (sisters === undefined || costs === undefined || carriesModel(lives.filter(({ upper }) => upper !== undefined).length, events + censored, events)) return own
  const together = judgeWithSisters({ lives, events, censored, sisters: sisters.prior, startInterval, present, safety, costs })
  if (together === undefined) return own
  const interval = Number((own.verdict === 'shorten' ? Math.min(present, together.interval) : together.interval).toPrecision(4))
  const because = [...together.because, { key: 'interval.sisters', values: { lines: sisters.sisters } }]
  // What its own finding asked for stays said, even where the sisters would wait longer.
  if (own.verdict === 'shorten' && interval === present) return own
  return { ...own, interval, used: Number((own.age / interval).toPrecision(4)), verdict: together.verdict, because, ...(together.range === undefined ? {} : { range: together.range }) }
}

function boundedLives({ lives = [] }: IntervalFact): BoundedLife[] {
  return lives.map(({ lower, upper }): BoundedLife => ({ lower, ...(upper === undefined ? {} : { upper }) }))
}
