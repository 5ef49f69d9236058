import type { LineDefinition } from '../line/line-definition.js'
import type { Language } from '../maintenance/catalogue-language.js'
import { intervalCurves, type IntervalCurves } from '../maintenance/intervals/interval-curves.js'
import type { IntervalFact } from '../maintenance/intervals/interval-fact.js'
import { amountWords, intervalVerdictWords, intervalWords, rangeWords } from '../maintenance/intervals/interval-words.js'
import { workTitle } from '../maintenance/plan/plan-words.js'
import { siteIntervals, type IntervalInForce, type KnownLine } from './site-intervals.js'

/** How often a job is needed, as a lead reads it. */
export interface IntervalView {
  readonly id: string
  readonly work: string
  readonly title: string
  readonly section: string
  readonly zone?: number
  readonly scale: IntervalFact['scale']
  readonly interval: number
  readonly intervalText: string
  readonly startInterval: number
  readonly startText: string
  readonly verdict: IntervalFact['verdict']
  readonly verdictText: string
  readonly words: string
  readonly safety: boolean
  readonly age: number
  readonly ageText: string
  readonly ageKnown: boolean
  readonly used: number
  readonly events: number
  readonly censored: number
  readonly range?: readonly [number, number]
  readonly rangeText?: string
  readonly sisters?: { readonly lines: number; readonly interval: number; readonly intervalText: string }
}

/** All intervals of a line as they are in force, those used up furthest first. */
export function intervalViews(line: KnownLine, lines: readonly KnownLine[], language: Language): readonly IntervalView[] {
  const { line: id } = line.definition
  const own = siteIntervals(lines.some(({ definition }) => definition.line === id) ? lines : [line]).get(id) ?? []
  return [...own].sort((a, b) => b.fact.used - a.fact.used || a.fact.id.localeCompare(b.fact.id)).map((one) => intervalView(one, line.definition, language))
}

function intervalView({ fact, sisters }: IntervalInForce, definition: LineDefinition, language: Language): IntervalView {
  const { id, work, section, zone, scale, interval, startInterval, verdict, safety, age, used, events, censored, range } = fact
  const say = (value: number): string => amountWords(value, scale, language)
  return {
    id,
    work,
    title: workTitle(work, language, definition),
    section,
    ...(zone === undefined ? {} : { zone }),
    scale,
    interval,
    intervalText: say(interval),
    startInterval,
    startText: say(startInterval),
    verdict,
    verdictText: intervalVerdictWords(verdict, language),
    words: intervalWords(fact, language),
    safety,
    age,
    ageText: say(age),
    ageKnown: fact.ageKnown ?? true,
    used,
    events,
    censored,
    ...(range === undefined ? {} : { range, rangeText: rangeWords(range, scale, language) }),
    // A safety item is not lengthened by what other lines say.
    ...(sisters === undefined ? {} : { sisters: { lines: sisters.sisters, interval: safety ? Math.min(sisters.interval, interval) : sisters.interval, intervalText: say(safety ? Math.min(sisters.interval, interval) : sisters.interval) } }),
  }
}

/** What stands behind one interval; undefined for a job without one. */
export function intervalCurvesOf(line: KnownLine, id: string): IntervalCurves | undefined {
  const fact = line.projection.factsOf('interval').find((one) => one.id === id)
  return fact === undefined ? undefined : intervalCurves(fact)
}
