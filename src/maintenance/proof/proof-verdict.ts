import { chanceNotAbove, chanceNotBelow, compareLevels, equivalenceP, levelOf, type Level, type LevelComparison, type LevelOptions } from '../../spc/level-comparison.js'
import type { ProofFact, ProofVerdict } from './proof-fact.js'

/** What a chart had learned as normal when the work was done. */
export interface Reference {
  readonly centre: number
  readonly sigma: number
  readonly n: number
}

/** Values of one feature under one recipe, in time order. */
export interface ProofStratum {
  readonly recipe: string
  readonly before: readonly number[]
  /** After the run-in. */
  readonly after: readonly number[]
  readonly reference?: Reference
}

export interface ProofSeries {
  readonly feature: string
  readonly mechanism: string
  readonly bad: 'up' | 'down' | 'either'
  readonly strength: number
  readonly rare: boolean
  /** Smallest spread the instrument can show, in the feature's unit. */
  readonly sigmaFloor: number
  readonly strata: readonly ProofStratum[]
  /** The same feature of zones on which nothing was done: what moves there as well is not the job's doing. */
  readonly controls: readonly (readonly ProofStratum[])[]
}

export interface ProofQuestion {
  readonly series: readonly ProofSeries[]
  /** 0 clean … 4 blocked, as found. */
  readonly finding?: number
  /** The job that had to follow is not recorded. */
  readonly followUpMissing: boolean
}

export interface ProofAnswer {
  readonly verdict: ProofVerdict
  readonly because: readonly string[]
  readonly compared: ProofFact['compared']
  /** Too early: production windows still wanted of the feature that will tell first. */
  readonly wanted?: { readonly feature: string; readonly windows: number }
  /** Features that are better than their reference. */
  readonly betterThanReference: readonly string[]
  /** Feature and side to which it moved for the better. */
  readonly better: readonly { readonly feature: string; readonly side: 'up' | 'down' }[]
}

/**
 * The verdict is looked for when so many windows have come, so that looking often does not make false verdicts: the
 * error of 5 % is shared between the looks and, for "helped", between the mechanisms (Bonferroni). [ASM]
 */
export const LOOKS = [6, 12, 24, 48] as const
export const RARE_LOOKS = [3, 6, 10] as const
const ALPHA = 0.05
/** Smallest gain that counts, in baseline sigmas. [ASM] */
const GAIN_MIN = 1
/** A level within so many sigmas of its reference is clean (two one-sided tests). [ASM] */
const CLEAN_MARGIN = 1.5
/** A level differs by so many sigmas from one day to another though nothing was done. [ASM] */
const BETWEEN_DAYS = 0.25
/** A gain below half of what there was to gain is none. [ASM] */
const HALF = 0.5
const BEFORE_MIN = 3

type Outcome = 'better' | 'worse' | 'no-better' | 'clean' | 'unchanged' | 'open'

interface Judged {
  readonly series: ProofSeries
  readonly outcome: Outcome
  /** Sigmas by which it became better. */
  readonly gain: number
  /** Sigmas by which it was worse than its reference before; undefined without one. */
  readonly excess: number | undefined
  readonly othersToo: boolean
  readonly beyondReference: boolean
  readonly side: 'up' | 'down'
  readonly compared: ProofFact['compared']
  readonly wantedWindows: number
  readonly lastLook: boolean
}

/** Whether a job helped, from what its features did before and after it. */
export function proofVerdict(question: ProofQuestion): ProofAnswer {
  const mechanisms = new Set(question.series.map(({ mechanism }) => mechanism)).size
  const judged = question.series.flatMap((series) => judge(series, Math.max(1, mechanisms)) ?? [])
  const decision = decide(judged, question)
  const open = judged.filter(({ wantedWindows }) => wantedWindows > 0).sort((a, b) => a.wantedWindows - b.wantedWindows)[0]
  const better = judged.filter(({ outcome }) => outcome === 'better')
  return {
    verdict: decision.verdict,
    because: [...new Set(decision.because)],
    compared: judged.flatMap(({ compared }) => compared),
    ...(decision.verdict === 'too-early' && open !== undefined ? { wanted: { feature: open.series.feature, windows: open.wantedWindows } } : {}),
    betterThanReference: better.filter(({ beyondReference }) => beyondReference).map(({ series }) => series.feature),
    better: better.map(({ series, side }) => ({ feature: series.feature, side })),
  }
}

function decide(judged: readonly Judged[], { finding, followUpMissing }: ProofQuestion): { readonly verdict: ProofVerdict; readonly because: readonly string[] } {
  const of = (outcome: Outcome): readonly Judged[] => judged.filter((one) => one.outcome === outcome)
  const better = of('better')
  const worse = of('worse').filter(({ othersToo }) => !othersToo)
  if (worse.length > 0) {
    if (followUpMissing) return { verdict: 'did-not-help', because: ['proof.worse-after', 'proof.follow-up-missing'] }
    return better.length > 0 ? { verdict: 'not-attributable', because: ['proof.some-better-some-worse'] } : { verdict: 'did-not-help', because: ['proof.worse-after'] }
  }
  if (better.length > 0) {
    if (better.every(({ othersToo }) => othersToo)) return { verdict: 'not-attributable', because: ['proof.others-moved-too'] }
    const because = ['proof.better']
    if (better.some(({ beyondReference }) => beyondReference)) because.push('proof.better-than-reference')
    else if (better.every(({ gain, excess }) => excess !== undefined && gain < 0.7 * excess)) because.push('proof.partly')
    return { verdict: 'helped', because }
  }
  const noBetter = of('no-better')
  // Only what stood out before, too, can still show that it helped.
  if (noBetter.length > 0 && judged.every(({ outcome, series, excess }) => outcome !== 'open' || series.rare || series.strength < 2 || (excess !== undefined && excess < GAIN_MIN))) return { verdict: 'did-not-help', because: ['proof.no-better'] }
  const telling = tellingOf(judged)
  if (noBetter.length === 0 && telling.length > 0 && telling.every(({ outcome }) => outcome === 'clean')) {
    return finding !== undefined && finding >= 2 ? { verdict: 'no-channel', because: ['proof.dirt-not-seen'] } : { verdict: 'was-clean', because: ['proof.at-reference-before'] }
  }
  if (judged.length > 0 && telling.length > 0 && telling.every(({ outcome }) => outcome === 'unchanged' || outcome === 'clean') && finding === 0) return { verdict: 'was-clean', because: ['proof.found-clean'] }
  const exhausted = telling.length > 0 && telling.every(({ lastLook }) => lastLook)
  if (exhausted) return { verdict: 'not-attributable', because: [telling.every(({ excess }) => excess === undefined) ? 'proof.no-reference' : 'proof.too-noisy'] }
  return { verdict: 'too-early', because: ['proof.windows-missing'] }
}

/** The features a "nothing to gain" rests on: those that show the faults clearly and often; the strongest where none does. */
function tellingOf(judged: readonly Judged[]): readonly Judged[] {
  const frequent = judged.filter(({ series }) => !series.rare)
  const pool = frequent.length > 0 ? frequent : judged
  const clear = pool.filter(({ series }) => series.strength >= 2)
  return clear.length > 0 ? clear : pool
}

interface StratumJudged {
  readonly recipe: string
  readonly sigma: number
  readonly gain: LevelComparison
  /** Change in the feature's unit, signed. */
  readonly change: number
  readonly excess: LevelComparison | undefined
  readonly afterExcess: number | undefined
  readonly before: Level
  readonly after: Level
  readonly reference: Reference | undefined
}

function judge(series: ProofSeries, mechanisms: number): Judged | undefined {
  const looks: readonly number[] = series.rare ? RARE_LOOKS : LOOKS
  const usable = series.strata.filter(({ before }) => before.length >= BEFORE_MIN)
  const count = usable.reduce((sum, { after }) => sum + after.length, 0)
  const look = [...looks].reverse().find((wanted) => count >= wanted)
  const next = looks.find((wanted) => wanted > count) ?? 0
  const bad = series.bad === 'either' ? sideOf(usable) : series.bad
  const nothing: Judged = { series, outcome: 'open', gain: 0, excess: undefined, othersToo: false, beyondReference: false, side: 'up', compared: [], wantedWindows: next - count, lastLook: false }
  if (usable.length === 0) return undefined
  if (bad === undefined || look === undefined) return bad === undefined && look === looks.at(-1) ? { ...nothing, lastLook: true } : nothing
  const strata = firstAfter(usable, look).flatMap((stratum) => judgeStratum(stratum, bad, series.sigmaFloor) ?? [])
  if (strata.length === 0) return nothing
  const gain = pooled(strata.map((stratum) => stratum.gain))
  const excesses = strata.flatMap(({ excess }) => (excess === undefined ? [] : [excess]))
  const excess = excesses.length === 0 ? undefined : pooled(excesses)
  const alpha = ALPHA / looks.length
  const outcome = outcomeOf(gain, excess, alpha, mechanisms)
  const moved = outcome === 'better' || outcome === 'worse'
  const afterExcess = strata.flatMap((stratum) => stratum.afterExcess ?? [])
  return {
    series,
    outcome,
    gain: gain.difference,
    excess: excess?.difference,
    othersToo: moved && othersToo(series, bad, look, gain.difference),
    beyondReference: afterExcess.length > 0 && meanOf(afterExcess) < -GAIN_MIN,
    side: bad === 'up' ? 'down' : 'up',
    compared: strata.map((stratum) => comparedOf(series.feature, stratum, gain)),
    wantedWindows: outcome === 'open' || outcome === 'unchanged' ? Math.max(0, next - count) : 0,
    lastLook: look === looks.at(-1),
  }
}

function outcomeOf(gain: LevelComparison, excess: LevelComparison | undefined, alpha: number, mechanisms: number): Outcome {
  const shared = alpha / mechanisms
  if (gain.difference >= GAIN_MIN && chanceNotAbove(gain, 0) < shared) return 'better'
  if (gain.difference <= -GAIN_MIN && chanceNotBelow(gain, 0) < shared) return 'worse'
  // Calling a clean part clean once too often does no harm: the looks do not share this error.
  const still = equivalenceP(gain, CLEAN_MARGIN) < ALPHA
  if (excess === undefined) return still ? 'unchanged' : 'open'
  const wasBad = excess.difference >= GAIN_MIN && chanceNotAbove(excess, 0) < alpha
  if (wasBad) return chanceNotBelow(gain, Math.max(GAIN_MIN, HALF * excess.difference)) < alpha ? 'no-better' : 'open'
  if (still && chanceNotBelow(excess, CLEAN_MARGIN) < ALPHA) return 'clean'
  return still ? 'unchanged' : 'open'
}

/** The bad side of a feature that can go either way: where it stood against its reference. */
function sideOf(strata: readonly ProofStratum[]): 'up' | 'down' | undefined {
  const deviations = strata.flatMap(({ before, reference }) => (reference === undefined || !(reference.sigma > 0) ? [] : [(meanOf(before) - reference.centre) / reference.sigma]))
  if (deviations.length === 0) return undefined
  return meanOf(deviations) >= 0 ? 'up' : 'down'
}

/** The first so many values after the work over all recipes: what comes later may be another story. */
function firstAfter(strata: readonly ProofStratum[], count: number): ProofStratum[] {
  const total = strata.reduce((sum, { after }) => sum + after.length, 0)
  return strata.map((stratum) => ({ ...stratum, after: stratum.after.slice(0, Math.max(0, Math.round((stratum.after.length * count) / Math.max(1, total)))) }))
}

function judgeStratum(stratum: ProofStratum, bad: 'up' | 'down', sigmaFloor: number): StratumJudged | undefined {
  if (stratum.after.length < 2) return undefined
  const { reference } = stratum
  // A sigma at its floor is that of the instrument: it says nothing of how the process wanders.
  const known = reference !== undefined && reference.sigma > 1.05 * sigmaFloor ? { sd: reference.sigma, degreesOfFreedom: reference.n - 1 } : undefined
  const options = { sdMin: Math.max(sigmaFloor, HALF * (reference?.sigma ?? 0)), ...(known === undefined ? {} : { known }) }
  const before = levelBefore(stratum.before, options)
  const after = levelOf(calm(stratum.after), options)
  const sigma = Math.max(sigmaFloor, reference === undefined ? Math.min(before.sd, after.sd) : reference.sigma, Number.MIN_VALUE)
  const sign = bad === 'up' ? 1 : -1
  const inSigmas = ({ difference, se, degreesOfFreedom }: LevelComparison, way: 1 | -1): LevelComparison => ({ difference: (way * difference) / sigma, se: se / sigma, degreesOfFreedom })
  const between = BETWEEN_DAYS * sigma
  const norm: Level | undefined = reference === undefined ? undefined : { level: reference.centre, se: sigma / Math.sqrt(Math.max(2, reference.n)), degreesOfFreedom: Math.max(1, reference.n - 1), effectiveCount: reference.n, sd: sigma, lagOne: 0, drifts: false }
  return {
    recipe: stratum.recipe,
    sigma,
    gain: inSigmas(compareLevels(before, after, between), -sign as 1 | -1),
    change: after.level - before.level,
    excess: norm === undefined ? undefined : inSigmas(compareLevels(norm, before, between), sign as 1 | -1),
    afterExcess: norm === undefined ? undefined : (sign * (after.level - norm.level)) / sigma,
    before,
    after,
    reference,
  }
}

/** How many of the last values before the work are tried as one level. */
const BEFORE_STRETCHES = [36, 24, 16, 10] as const

/**
 * The level at the time of the work: of the stretches before it the one that fixes it best. A stretch that reaches back
 * over the onset is worth few independent values and loses to a shorter one.
 */
function levelBefore(values: readonly number[], options: LevelOptions): Level {
  const levels = BEFORE_STRETCHES.filter((count, i) => i === 0 || count < values.length).map((count) => levelOf(calm(values.slice(-count)), { ...options, at: 'end' }))
  return levels.reduce((best, level) => (level.se < best.se ? level : best))
}

/** Single values that stand far out are drawn in: one jump says nothing of a level. */
function calm(values: readonly number[]): number[] {
  if (values.length < 5) return [...values]
  const middle = medianOf(values)
  const reach = 4 * 1.4826 * medianOf(values.map((value) => Math.abs(value - middle)))
  return reach > 0 ? values.map((value) => Math.min(middle + reach, Math.max(middle - reach, value))) : [...values]
}

/** Differences of several recipes as one, each weighed by how surely it is known. */
function pooled(differences: readonly LevelComparison[]): LevelComparison {
  if (differences.length === 1) return differences[0]!
  const weights = differences.map(({ se }) => 1 / Math.max(1e-12, se * se))
  const total = weights.reduce((sum, weight) => sum + weight, 0)
  return {
    difference: differences.reduce((sum, { difference }, i) => sum + (difference * weights[i]!) / total, 0),
    se: Math.sqrt(1 / total),
    degreesOfFreedom: differences.reduce((sum, { degreesOfFreedom }) => sum + degreesOfFreedom, 0),
  }
}

/** Whether zones on which nothing was done moved the same way by half as much or more. */
function othersToo(series: ProofSeries, bad: 'up' | 'down', look: number, gain: number): boolean {
  const moves = series.controls.flatMap((strata) => {
    const judged = firstAfter(strata.filter(({ before }) => before.length >= BEFORE_MIN), look).flatMap((stratum) => judgeStratum(stratum, bad, series.sigmaFloor) ?? [])
    return judged.length === 0 ? [] : [pooled(judged.map((stratum) => stratum.gain)).difference]
  })
  if (moves.length === 0) return false
  const typical = medianOf(moves)
  return Math.sign(typical) === Math.sign(gain) && Math.abs(typical) >= GAIN_MIN && Math.abs(typical) >= HALF * Math.abs(gain)
}

function comparedOf(feature: string, stratum: StratumJudged, gain: LevelComparison): ProofFact['compared'][number] {
  return {
    feature,
    recipe: stratum.recipe,
    before: rounded(stratum.before.level),
    after: rounded(stratum.after.level),
    ...(stratum.reference === undefined ? {} : { reference: rounded(stratum.reference.centre) }),
    sigma: rounded(stratum.sigma),
    nBefore: rounded(stratum.before.effectiveCount),
    nAfter: rounded(stratum.after.effectiveCount),
    probability: rounded(1 - chanceNotAbove(gain, 0)),
  }
}

function rounded(value: number): number {
  return Number(value.toPrecision(6))
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / Math.max(1, values.length)
}

function medianOf(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b)
  const middle = Math.floor(sorted.length / 2)
  return sorted.length % 2 === 1 ? (sorted[middle] ?? 0) : ((sorted[middle - 1] ?? 0) + (sorted[middle] ?? 0)) / 2
}
