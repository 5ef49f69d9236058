import { costOf, sumOf, type CostAmount, type CostEvent, type SiteCosts } from '../cost/cost-table.js'
import { predictedFailed } from '../../spc/weibull-posterior.js'
import type { IntervalVerdict } from '../intervals/interval-fact.js'
import { historyPosterior } from '../intervals/interval-verdict.js'
import { usedPerWeek, type DueItem } from './due-items.js'
import { factsOf, type DriftNote, type LineBook } from './line-book.js'
import type { PlannedStop } from './week-plan.js'

const DAY_MS = 86_400_000
/** Without this stop the next chance is taken to be a week later. [ASM] */
const NEXT_CHANCE_MS = 7 * DAY_MS

/** What it costs to leave the work until the next chance, and what that rests on. */
export interface CostOfWaiting {
  readonly untilMs: number
  /** Feature that decides, with the chance that it reaches its limit before then; absent where nothing drifts. */
  readonly drift?: { readonly feature: string; readonly chance: number; readonly dueMs: readonly [number, number, number] }
  /** Chance times an unplanned stop of the usual length with what it costs besides. */
  readonly expected: CostAmount
  /** What one failure costs. */
  readonly failure: CostAmount
  /** What the planned stop itself costs. */
  readonly planned: CostAmount
}

/**
 * Cost of waiting: the chance that a drifting feature of these sections reaches its limit before the next chance to
 * stop, times what an unplanned stop costs by the site's figures. Where nothing drifts, or no date can be given, there
 * is no such number.
 */
export function costOfWaiting(stop: PlannedStop, book: LineBook): CostOfWaiting {
  const costs: SiteCosts = book.definition.costs ?? { currency: 'EUR' }
  const untilMs = stop.fromMs + NEXT_CHANCE_MS
  const drifts = (book.drifts ?? []).filter((drift) => drift.dueMs !== undefined && stop.jobs.some(({ item }) => item.section === drift.section && (item.zone === undefined || drift.zone === undefined || item.zone === drift.zone)))
  const first = drifts.map((drift) => ({ drift, chance: chanceBy(drift.dueMs!, book.nowMs, untilMs) })).sort((a, b) => b.chance - a.chance || (a.drift.feature < b.drift.feature ? -1 : 1))[0]
  const failure = sumOf(failureEvents(stop, first?.drift, costs).map((event) => costOf(event, costs)))
  const planned = sumOf(plannedEvents(stop, costs).map((event) => costOf(event, costs)))
  const expected: CostAmount = first === undefined ? { kind: 'no-figure', missing: [] } : failure.kind === 'amount' ? { kind: 'amount', amount: first.chance * failure.amount } : failure
  return { untilMs, ...(first === undefined ? {} : { drift: { feature: first.drift.feature, chance: first.chance, dueMs: first.drift.dueMs! } }), expected, failure, planned }
}

/** A job of a stop that the line's own history says may be found due before the next chance to stop. */
export interface ChanceByHistory {
  readonly item: DueItem
  /** Of being found due before then, given that it is not yet. */
  readonly chance: number
}

/**
 * Chance by the line's own history that a part is found due, finding 3 or worse, before the next chance to stop. Only
 * where that history carries a model and age tells something; no money, since not every part found due stops the line.
 */
export function chancesByHistory(stop: PlannedStop, book: LineBook): readonly ChanceByHistory[] {
  const intervals = factsOf(book, 'interval')
  return stop.jobs.flatMap(({ item }): ChanceByHistory[] => {
    const fact = intervals.find(({ work, zone }) => work === item.work && zone === item.zone)
    const weekly = fact === undefined ? undefined : usedPerWeek(fact, book)
    if (fact === undefined || weekly === undefined || fact.ageKnown !== true || !TELLING.includes(fact.verdict)) return []
    const posterior = historyPosterior((fact.lives ?? []).map(({ lower, upper }) => ({ lower, ...(upper === undefined ? {} : { upper }) })), fact.startInterval)
    const untilAge = fact.age + (weekly * Math.max(0, stop.fromMs + NEXT_CHANCE_MS - fact.timeMs)) / NEXT_CHANCE_MS
    const now = predictedFailed(posterior, fact.age)
    return now >= 1 ? [] : [{ item, chance: (predictedFailed(posterior, untilAge) - now) / (1 - now) }]
  })
}

/** Verdicts that rest on a model in which age tells something. */
const TELLING: readonly IntervalVerdict[] = ['shorten', 'keep', 'may-lengthen']

/** Chance that a limit is reached before a time: the three dates are its 10, 50 and 90 % points, straight lines between. */
export function chanceBy([earlyMs, likelyMs, lateMs]: readonly [number, number, number], nowMs: number, timeMs: number): number {
  if (timeMs <= nowMs) return 0
  const points = [[nowMs, 0], [Math.max(earlyMs, nowMs), 0.1], [Math.max(likelyMs, nowMs), 0.5], [Math.max(lateMs, nowMs), 0.9], [Math.max(lateMs, nowMs) + Math.max(1, lateMs - likelyMs), 1]] as const
  for (let index = points.length - 1; index > 0; index -= 1) {
    const [fromMs, low] = points[index - 1]!
    const [untilMs, high] = points[index]!
    if (timeMs >= untilMs) return high
    if (timeMs >= fromMs && untilMs > fromMs) return low + ((high - low) * (timeMs - fromMs)) / (untilMs - fromMs)
  }
  return 0
}

function failureEvents(stop: PlannedStop, drift: DriftNote | undefined, costs: SiteCosts): CostEvent[] {
  const section = drift?.section ?? stop.jobs[0]?.item.section ?? 'line'
  const mark = { timeMs: stop.fromMs, line: stop.line, section, ofFailure: true }
  const hours = costs.unplannedStopHours
  const lacks = hours === undefined ? { lacks: 'unplannedStopHours' } : {}
  return [
    { ...mark, ...lacks, kind: 'unplanned-stop', quantity: hours ?? 0 },
    ...(costs.contributionPerBoard === undefined && costs.boardsPerHour === undefined ? [] : [{ ...mark, ...(costs.boardsPerHour === undefined ? { lacks: 'boardsPerHour' } : lacks), kind: 'boards-not-made' as const, quantity: (hours ?? 0) * (costs.boardsPerHour ?? 0) }]),
    // Usual damage of a section counts where the site has named it; without it the sum is a lower one, which is said.
    ...(costs.damagePerFailure !== undefined && Object.hasOwn(costs.damagePerFailure, section) ? [{ ...mark, kind: 'secondary-damage' as const, quantity: 1, of: section }] : []),
  ]
}

function plannedEvents(stop: PlannedStop, costs: SiteCosts): CostEvent[] {
  const mark = { timeMs: stop.fromMs, line: stop.line, section: stop.jobs[0]?.item.section ?? ('line' as const), ofFailure: false }
  const hours = (stop.untilMs - stop.fromMs) / 3_600_000
  const labour: CostEvent = { ...mark, kind: 'labour', quantity: stop.jobs.reduce((sum, { item, fromMs, untilMs }) => sum + ((untilMs - fromMs) / 3_600_000) * item.people, 0) }
  if (!stop.production) return [labour]
  return [{ ...mark, kind: 'planned-stop', quantity: hours }, ...(costs.contributionPerBoard === undefined && costs.boardsPerHour === undefined ? [] : [{ ...mark, ...(costs.boardsPerHour === undefined ? { lacks: 'boardsPerHour' } : {}), kind: 'boards-not-made' as const, quantity: hours * (costs.boardsPerHour ?? 0) }]), labour]
}
