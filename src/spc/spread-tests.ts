import { meanOf, requireFinite, type NoVariation, type TooFewValues } from './autocorrelation.js'
import { median } from './robust-estimates.js'
import { chiSquareUpperTail, fTails, normalQuantile } from './special-functions.js'
import { ranks, sampleOf } from './two-sample-tests.js'

export interface FTest {
  readonly kind: 'f-test'
  readonly statistic: number
  readonly degreesOfFreedom: readonly [number, number]
  readonly p: number
}

export interface ChiSquareTest {
  readonly kind: 'chi-square-test'
  readonly statistic: number
  readonly degreesOfFreedom: number
  readonly p: number
}

function checkGroups(name: string, groups: readonly (readonly number[])[], valueCountMin: number): TooFewValues | undefined {
  if (groups.length < 2) throw new Error(`${name}: expected at least 2 groups, got ${groups.length}`)
  for (const group of groups) requireFinite(name, group)
  const valueCount = Math.min(...groups.map((group) => group.length))
  return valueCount < valueCountMin ? { kind: 'too-few-values', valueCount, valueCountMin } : undefined
}

/** One-way analysis of variance: are the means of the groups alike? */
export function oneWayTest(groups: readonly (readonly number[])[]): FTest | TooFewValues | NoVariation {
  const problem = checkGroups('analysis of variance', groups, 2)
  if (problem !== undefined) return problem
  const all = groups.flat()
  const mean = meanOf(all)
  let between = 0
  let within = 0
  for (const group of groups) {
    const groupMean = meanOf(group)
    between += group.length * (groupMean - mean) ** 2
    for (const value of group) within += (value - groupMean) ** 2
  }
  const largest = all.reduce((most, value) => Math.max(most, Math.abs(value)), 0)
  if (!(within > all.length * (1e-15 * largest) ** 2)) return { kind: 'no-variation' }
  const [df1, df2] = [groups.length - 1, all.length - groups.length]
  const statistic = between / df1 / (within / df2)
  return { kind: 'f-test', statistic, degreesOfFreedom: [df1, df2], p: fTails(statistic, df1, df2).upper }
}

/**
 * Are the groups equally spread? Analysis of variance of the distances from each group's centre.
 * @param centre `median`: Brown and Forsythe, holds its level for skew data (default); `mean`: Levene
 */
export function spreadTest(groups: readonly (readonly number[])[], centre: 'median' | 'mean' = 'median'): FTest | TooFewValues | NoVariation {
  const problem = checkGroups('spread test', groups, 3)
  if (problem !== undefined) return problem
  return oneWayTest(
    groups.map((group) => {
      const middle = centre === 'median' ? median(group) : meanOf(group)
      return group.map((value) => Math.abs(value - middle))
    }),
  )
}

/** Bartlett's test of equal variances; for normal data only. */
export function bartlettTest(groups: readonly (readonly number[])[]): ChiSquareTest | TooFewValues | NoVariation {
  const problem = checkGroups('Bartlett test', groups, 2)
  if (problem !== undefined) return problem
  const samples = groups.map(sampleOf)
  if (samples.some(({ variance, mean }) => !(variance > (1e-15 * mean) ** 2))) return { kind: 'no-variation' }
  const df = samples.reduce((sum, { n }) => sum + n - 1, 0)
  const pooled = samples.reduce((sum, { n, variance }) => sum + (n - 1) * variance, 0) / df
  const k = samples.length
  const numerator = df * Math.log(pooled) - samples.reduce((sum, { n, variance }) => sum + (n - 1) * Math.log(variance), 0)
  const correction = 1 + (samples.reduce((sum, { n }) => sum + 1 / (n - 1), 0) - 1 / df) / (3 * (k - 1))
  const statistic = numerator / correction
  return { kind: 'chi-square-test', statistic, degreesOfFreedom: k - 1, p: chiSquareUpperTail(statistic, k - 1) }
}

/** Fligner and Killeen's rank test of equal spread (distances from the group medians, normal scores). */
export function flignerTest(groups: readonly (readonly number[])[]): ChiSquareTest | TooFewValues | NoVariation {
  const problem = checkGroups('Fligner test', groups, 3)
  if (problem !== undefined) return problem
  const distances = groups.flatMap((group) => {
    const middle = median(group)
    return group.map((value) => Math.abs(value - middle))
  })
  const total = distances.length
  const scores = ranks(distances).ranks.map((rank) => normalQuantile((1 + rank / (total + 1)) / 2))
  const { mean, variance } = sampleOf(scores)
  if (!(variance > 0)) return { kind: 'no-variation' }
  let statistic = 0
  let from = 0
  for (const group of groups) {
    statistic += group.length * (meanOf(scores.slice(from, from + group.length)) - mean) ** 2
    from += group.length
  }
  statistic /= variance
  return { kind: 'chi-square-test', statistic, degreesOfFreedom: groups.length - 1, p: chiSquareUpperTail(statistic, groups.length - 1) }
}

/** Kruskal and Wallis' rank test: do the groups lie alike? */
export function kruskalTest(groups: readonly (readonly number[])[]): ChiSquareTest | TooFewValues | NoVariation {
  const problem = checkGroups('Kruskal-Wallis test', groups, 1)
  if (problem !== undefined) return problem
  const all = groups.flat()
  const total = all.length
  const ranked = ranks(all)
  const tieShare = 1 - ranked.tieSum / (total ** 3 - total)
  if (!(tieShare > 0)) return { kind: 'no-variation' }
  let sum = 0
  let from = 0
  for (const group of groups) {
    const rankSum = ranked.ranks.slice(from, from + group.length).reduce((a, b) => a + b, 0)
    sum += rankSum ** 2 / group.length
    from += group.length
  }
  const statistic = ((12 * sum) / (total * (total + 1)) - 3 * (total + 1)) / tieShare
  return { kind: 'chi-square-test', statistic, degreesOfFreedom: groups.length - 1, p: chiSquareUpperTail(statistic, groups.length - 1) }
}
