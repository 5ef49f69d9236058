import { WEAR_PRIOR } from '../../spc/weibull-fit.js'
import { predictedAge, predictedCosts, predictedFailed, shapeAtMost, shapeQuantile, weibullPosterior, type BoundedLife, type CostPoint, type ScalePrior, type WeibullPosterior } from '../../spc/weibull-posterior.js'
import { cycleLife, isEvent, type AgeLook } from './finding-growth.js'
import type { IntervalVerdict } from './interval-fact.js'

/** One time between two cleanings. */
export interface IntervalCycle {
  /** Age at the cleaning, in the unit of the scale. */
  readonly age: number
  /** In order of age; that of the cleaning itself is the last. */
  readonly looks: readonly AgeLook[]
}

export interface IntervalQuestion {
  /** The oldest first. */
  readonly cycles: readonly IntervalCycle[]
  /** The one under way. */
  readonly open?: IntervalCycle
  /** The trade's starting interval and the one in force, in the unit of the scale. */
  readonly startInterval: number
  readonly present: number
  readonly safety: boolean
  /** What a planned cleaning costs, and one that came too late. */
  readonly costs: { readonly planned: number; readonly failure: number }
}

export interface IntervalReason {
  readonly key: string
  readonly values: Readonly<Record<string, number | string>>
}

export interface IntervalAnswer {
  readonly verdict: IntervalVerdict
  readonly interval: number
  readonly because: readonly IntervalReason[]
  readonly events: number
  readonly censored: number
  /** Where the cost lies within 5 % of its least; absent without a model. */
  readonly range?: readonly [number, number]
  readonly posterior?: WeibullPosterior
  readonly curve?: readonly CostPoint[]
}

/** Cycles that bound the life before a model is trusted, and cycles in all unless so many were events. */
const SIGNS_MIN = 3
const CYCLES_MIN = 5
const EVENTS_FREE = 10
/** Between the two the interval may not be lengthened by more than a fifth. */
const LENGTHEN_FEW = 1.2
/** After three clean findings in a row at nearly the full age. */
const CLEAN_ROW = 3
const LENGTHEN_CLEAN = 1.25
const FULL_AGE = 0.8
/** Even a free interval is at most doubled at once. [ASM] */
const LENGTHEN_FREE = 2
/** Found due before its time and nothing known yet: by a fifth at least, and not below four fifths of that age. [ASM] */
const SHORTEN = 0.8
/** Before anything is known half of the parts are due at the trade's starting interval, within a factor of two between sites. [ASM] */
const TRADE_SD = Math.log(2)
/** Chance of being found due that is taken at the end of an interval. */
export const DUE_SHARE_MAX = 0.1
const NO_WEAR_SHAPE = 1.1
const NO_WEAR_MAX = 0.3
const PLAIN_WEAR_SHAPE = 1.5
/** Events below which randomness cannot be told from wear. */
const RANDOM_EVENTS_MIN = 3
/** Costs that differ by less are the same. [ASM] */
const EQUAL = 1.02
/** Changes smaller than this are none. [ASM] */
const WORTH = 0.05

/** How often a job is needed, as far as its history tells, and what to do about it. */
export function judgeHistory(question: IntervalQuestion): IntervalAnswer {
  const { cycles } = question
  const counts = { events: cycles.filter(({ looks }) => isEvent(looks)).length, censored: cycles.filter(({ looks }) => !isEvent(looks)).length }
  const lives = livesOf(question)
  const signs = lives.filter(({ upper }) => upper !== undefined).length
  const posterior = (): WeibullPosterior => historyPosterior(lives, question.startInterval)
  const answer = carriesModel(signs, cycles.length, counts.events) ? byModel({ ...question, cycles: cycles.length }, posterior(), counts) : byRule(question, posterior)
  return held({ ...answer, ...counts }, question)
}

/** What a line's own history tells of the life, beside what the trade's starting interval tells. */
export function historyPosterior(lives: readonly BoundedLife[], startInterval: number): WeibullPosterior {
  const logScale = Math.log(startInterval) - Math.log(Math.LN2) / WEAR_PRIOR.medianShape
  const posterior = weibullPosterior(lives, { scale: { logScale, sd: TRADE_SD } })
  if (posterior.kind !== 'weibull-posterior') throw new Error('interval: a starting interval always bounds the life')
  return posterior
}

/** Whether a line's own history carries a model. @param signs times between cleanings that bound the life from above */
export function carriesModel(signs: number, cycles: number, events: number): boolean {
  return signs >= SIGNS_MIN && (cycles >= CYCLES_MIN || events >= SIGNS_MIN)
}

/** What a line's own times between cleanings and what sister lines say of the scale tell together, by the same cautious rules. */
export function judgeWithSisters({ lives, events, censored, sisters, ...question }: Pick<IntervalQuestion, 'startInterval' | 'present' | 'safety' | 'costs'> & { readonly lives: readonly BoundedLife[]; readonly events: number; readonly censored: number; readonly sisters: ScalePrior }): IntervalAnswer | undefined {
  const posterior = weibullPosterior(lives, { scale: sisters })
  if (posterior.kind !== 'weibull-posterior') return undefined
  const answer = byModel({ ...question, cycles: events + censored }, posterior, { events })
  const most = LENGTHEN_FEW * Math.max(question.present, question.startInterval)
  return held({ ...answer, interval: Math.min(answer.interval, most), events, censored }, question)
}

/** A safety item is never lengthened, past what it is and past where it began. */
function held(answer: IntervalAnswer, { safety, present, startInterval }: Pick<IntervalQuestion, 'safety' | 'present' | 'startInterval'>): IntervalAnswer {
  if (!safety) return answer
  const interval = Math.min(answer.interval, present, startInterval)
  const verdict = interval < present * (1 - WORTH) ? 'shorten' : answer.verdict === 'may-lengthen' || answer.verdict === 'shorten' ? 'keep' : answer.verdict
  return { ...answer, interval, verdict, because: [...(verdict === 'shorten' || verdict === 'not-enough-history' ? answer.because : []), { key: 'interval.safety', values: {} }] }
}

function livesOf({ cycles, open }: IntervalQuestion): BoundedLife[] {
  const lives = cycles.flatMap(({ age, looks }) => cycleLife(looks, age) ?? [])
  const running = open === undefined || open.looks.length === 0 ? undefined : cycleLife(open.looks, open.age)
  return running === undefined ? lives : [...lives, running]
}

/** Before the history carries a model: shorten after a finding, lengthen a little after three clean ones. */
function byRule({ cycles, present }: IntervalQuestion, posterior: () => WeibullPosterior): Omit<IntervalAnswer, 'events' | 'censored'> {
  const last = cycles.at(-1)
  if (last !== undefined && isEvent(last.looks)) {
    const age = Math.min(last.age, ...last.looks.filter((look) => isEvent([look])).map((look) => look.age))
    // Found due only long after its time it says nothing against the interval.
    if (SHORTEN * age < present * (1 - WORTH)) {
      // One early finding may be an accident: it counts with what is known besides, not alone.
      const interval = Math.min(SHORTEN * present, Math.max(SHORTEN * age, predictedAge(posterior(), DUE_SHARE_MAX)))
      return { verdict: 'shorten', interval, because: [{ key: 'interval.found-due', values: { age } }] }
    }
  }
  const row = cycles.slice(-CLEAN_ROW)
  if (row.length === CLEAN_ROW && row.every((cycle) => isCleanAtFullAge(cycle, present))) {
    return { verdict: 'may-lengthen', interval: LENGTHEN_CLEAN * present, because: [{ key: 'interval.three-clean', values: { count: CLEAN_ROW } }] }
  }
  return { verdict: 'not-enough-history', interval: present, because: [{ key: 'interval.few-cycles', values: { cycles: cycles.length, wanted: CYCLES_MIN } }] }
}

function isCleanAtFullAge({ age, looks }: IntervalCycle, present: number): boolean {
  const finding = looks.at(-1)?.finding
  return finding !== undefined && finding <= 1 && age >= FULL_AGE * present
}

function byModel({ present, startInterval, costs, cycles }: Pick<IntervalQuestion, 'present' | 'startInterval' | 'costs'> & { readonly cycles: number }, posterior: WeibullPosterior, { events }: { readonly events: number }): Omit<IntervalAnswer, 'events' | 'censored'> {
  const curve = predictedCosts(posterior, costs, 'best')
  const least = curve.reduce((best, point) => (point.rate < best.rate ? point : best))
  const near = curve.filter(({ rate }) => rate <= 1.05 * least.rate)
  const range: [number, number] = [near[0]!.age, near.at(-1)!.age]
  const base = { posterior, curve, range }
  const probabilityNoWear = shapeAtMost(posterior, NO_WEAR_SHAPE)
  if (probabilityNoWear > NO_WEAR_MAX && events >= RANDOM_EVENTS_MIN) {
    const interval = withoutAge(posterior, { present, startInterval, costs })
    const longer = interval > present * (1 + WORTH) ? [{ key: 'interval.longer-again', values: {} }] : []
    return { ...base, verdict: 'use-condition', interval, because: [{ key: 'interval.age-says-little', values: { events } }, ...longer] }
  }
  const cautious = predictedAge(posterior, DUE_SHARE_MAX)
  // Of intervals that cost the same, the one with the fewest stops.
  const cheap = curve.findLast(({ rate }) => rate <= EQUAL * least.rate)!.age
  const best = Math.min(cheap, cautious)
  const free = events >= EVENTS_FREE || shapeQuantile(posterior, 0.1) > PLAIN_WEAR_SHAPE
  // An interval that was cut short by one early finding may come back to where it began.
  const cap = free ? Math.max(LENGTHEN_FREE * present, startInterval) : LENGTHEN_FEW * Math.max(present, startInterval)
  const interval = Math.min(best, cap)
  const values = { events, cycles, due: Math.round(100 * predictedFailed(posterior, present)) }
  if (interval < present * (1 - WORTH)) return { ...base, verdict: 'shorten', interval, because: [{ key: cautious <= cheap ? 'interval.due-too-often' : 'interval.cheaper-sooner', values }] }
  if (interval > present * (1 + WORTH)) return { ...base, verdict: 'may-lengthen', interval, because: [{ key: 'interval.rarely-due', values }, ...(interval < best ? [{ key: free ? 'interval.in-steps' : 'interval.fifth-only', values: {} }] : [])] }
  return { ...base, verdict: 'keep', interval: present, because: [{ key: 'interval.about-right', values }] }
}

/**
 * Where age says little, early cleanings save little: what a few early findings have shortened may go back towards the
 * trade's interval, as far as the cost allows over all that is still thought possible.
 */
function withoutAge(posterior: WeibullPosterior, { present, startInterval, costs }: Pick<IntervalQuestion, 'present' | 'startInterval' | 'costs'>): number {
  const least = predictedCosts(posterior, costs).reduce((best, point) => (point.rate < best.rate ? point : best))
  return Math.max(present, Math.min(startInterval, least.age))
}
