import type { Section } from '../../line/feature-value.js'
import type { IntervalFact } from '../intervals/interval-fact.js'
import type { JobFact } from '../jobs/job-fact.js'
import { wantedByMs } from '../suggestion-due.js'
import type { Language } from '../catalogue-language.js'
import { siteCatalogue } from '../site-catalogue.js'
import { isWork, type WorkItem } from '../work-catalogue.js'
import { factsOf, type LineBook } from './line-book.js'
import { catalogueItem, effortOf, stockOf, type WorkEffort } from './work-effort.js'

const HOUR_MS = 3_600_000
const DAY_MS = 24 * HOUR_MS
/** An interval used this far is worth a look for the next plan. [ASM] */
const USED_DUE = 0.8
/** Safety items are planned earlier: they are never lengthened and not put off for long. [ASM] */
const USED_DUE_SAFETY = 0.7
const CLOSED_JOBS: readonly JobFact['status'][] = ['done', 'dropped']

export interface PlanReason {
  /** Text key of the plan's wording. */
  readonly key: string
  readonly values: Readonly<Record<string, number | string>>
}

/** One job that is due on a line, whatever says so. */
export interface DueItem extends WorkEffort {
  /** `<line>/<work>[/<zone>]`: one job is planned once, however many reasons there are. */
  readonly id: string
  readonly line: string
  readonly work: string
  readonly section: Exclude<Section, 'line'>
  readonly zone?: number
  /** By when; absent where nothing gives a date. ms UTC. */
  readonly dueMs?: number
  /** Put off until then, ms UTC. */
  readonly notBeforeMs?: number
  readonly urgency: 'urgent' | 'soon' | 'plan'
  readonly safety: boolean
  readonly people: number
  readonly needsElectrician: boolean
  /** It has to cool down first. */
  readonly needsCold: boolean
  /** Title of a job of the site's own, or one that the site calls otherwise. */
  readonly ownTitle?: Readonly<Record<Language, string>>
  readonly because: readonly PlanReason[]
  readonly suggestion?: string
  readonly job?: string
  /** Must be finished before the line runs: no matter of a plan. */
  readonly mustFinish: boolean
  /** Part a started job waits for, in words. */
  readonly waitsFor?: string
}

interface Found {
  readonly work: string
  readonly section: Exclude<Section, 'line'>
  readonly zone?: number | undefined
  readonly dueMs?: number | undefined
  readonly notBeforeMs?: number | undefined
  readonly urgency: DueItem['urgency']
  readonly safety?: boolean
  readonly because: PlanReason
  readonly suggestion?: string | undefined
  readonly job?: string | undefined
  readonly mustFinish?: boolean
  readonly waitsFor?: string | undefined
  readonly used?: number
}

/** Due work of one line: intervals used up or nearly, open suggestions, open jobs; each job once with all its reasons. */
export function dueItems(book: LineBook): DueItem[] {
  const catalogue = siteCatalogue(book.definition)
  const found = [...fromJobs(book), ...fromSuggestions(book), ...fromIntervals(book)].filter(({ work }) => catalogue.item(work) !== undefined)
  const byId = new Map<string, Found[]>()
  for (const item of found) {
    const id = [book.definition.line, item.work, ...(item.zone === undefined ? [] : [String(item.zone)])].join('/')
    byId.set(id, [...(byId.get(id) ?? []), item])
  }
  const stock = stockOf(book)
  return [...byId]
    .map(([id, reasons]) => ({ reasons, item: merged(id, reasons, book) }))
    .sort((a, b) => byUrgency(a.item, b.item))
    .map(({ reasons, item }) => ({ ...item, ...effortOf(item.work, item.zone, reasons, book, stock) }))
}

/** The most urgent first, then what is due first; a stable order. */
export function byUrgency(a: Pick<DueItem, 'urgency' | 'dueMs' | 'id'>, b: Pick<DueItem, 'urgency' | 'dueMs' | 'id'>): number {
  const rank = { urgent: 0, soon: 1, plan: 2 }
  return rank[a.urgency] - rank[b.urgency] || (a.dueMs ?? Number.MAX_SAFE_INTEGER) - (b.dueMs ?? Number.MAX_SAFE_INTEGER) || (a.id < b.id ? -1 : a.id > b.id ? 1 : 0)
}

function fromSuggestions({ definition, suggestions, facts, nowMs }: LineBook): Found[] {
  const catalogue = siteCatalogue(definition)
  // Once a suggestion has jobs, those say what is left of it.
  const withJobs = new Set(facts.flatMap((fact) => (fact.type === 'job' && fact.suggestion !== undefined ? [fact.suggestion] : [])))
  return suggestions
    .filter(({ status, id }) => status === 'open' || status === 'put-off' || (status === 'taken' && !withJobs.has(id)))
    .flatMap((suggestion) => {
      const notBeforeMs = suggestion.status === 'put-off' ? suggestion.history.findLast(({ untilMs }) => untilMs !== undefined)?.untilMs : undefined
      // A repair is for what cleaning did not mend: nobody plans to change a part before it has been cleaned.
      const known = suggestion.work.flatMap((work) => catalogue.item(work) ?? [])
      const first = known.filter(({ kind }) => kind !== 'repair')
      return (first.length > 0 ? first : known).map(({ id: work, section }): Found => {
        return {
          work,
          section,
          zone: section === 'preheat' ? suggestion.zone : undefined,
          dueMs: Math.max(wantedByMs(suggestion), notBeforeMs ?? 0),
          notBeforeMs: notBeforeMs !== undefined && notBeforeMs > nowMs ? notBeforeMs : undefined,
          urgency: suggestion.urgency,
          because: { key: 'because.suggestion', values: { suggestion: suggestion.id } },
          suggestion: suggestion.id,
        }
      })
    })
}

function fromJobs(book: LineBook): Found[] {
  const catalogue = siteCatalogue(book.definition)
  return factsOf(book, 'job')
    .filter(({ status }) => !CLOSED_JOBS.includes(status))
    .map((job): Found => {
      const putOff = job.status === 'put-off' ? job.untilMs : undefined
      const suggestion = job.suggestion === undefined ? undefined : book.suggestions.find(({ id }) => id === job.suggestion)
      // Of a washed chain only the lubricating is left.
      const left = job.status === 'half-done' && job.followUp !== undefined && catalogue.item(job.followUp) !== undefined ? { work: job.followUp, section: catalogue.item(job.followUp)!.section } : { work: job.work, section: job.section, zone: job.zone }
      return {
        ...left,
        dueMs: putOff ?? (suggestion === undefined ? (job.urgency === 'plan' ? undefined : wantedByMs({ urgency: job.urgency, raisedMs: job.raisedMs })) : wantedByMs(suggestion)),
        notBeforeMs: putOff !== undefined && putOff > book.nowMs ? putOff : undefined,
        urgency: job.urgency,
        because: { key: `because.job-${job.status}`, values: { job: job.id } },
        job: job.id,
        suggestion: job.suggestion,
        mustFinish: job.doNotStart !== undefined || job.status === 'half-done',
        waitsFor: job.status === 'waiting-for-part' ? (job.part ?? '') : undefined,
      }
    })
}

function fromIntervals(book: LineBook): Found[] {
  return factsOf(book, 'interval')
    .filter(({ used, safety }) => used >= (safety ? USED_DUE_SAFETY : USED_DUE))
    .map((fact): Found => ({
      work: fact.work,
      section: fact.section,
      zone: fact.zone,
      dueMs: fact.used >= 1 ? Math.min(fact.timeMs, book.nowMs) : intervalDueMs(fact, book),
      urgency: fact.safety && fact.used >= 1 ? 'soon' : 'plan',
      safety: fact.safety,
      because: { key: fact.used >= 1 ? 'because.interval-over' : 'because.interval-soon', values: { percent: Math.round(fact.used * 100), work: fact.work } },
      used: fact.used,
    }))
}

/** When an interval will be used up if it goes on as since the last work; undefined where nothing tells how fast. */
function intervalDueMs(fact: IntervalFact, book: LineBook): number | undefined {
  const left = fact.interval - fact.age
  if (fact.scale === 'calendar-hours') return fact.timeMs + left * HOUR_MS
  const last = factsOf(book, 'record').filter(({ record, withdrawn }) => !withdrawn && record.work === fact.work && record.zone === fact.zone).reduce((latest, { record }) => Math.max(latest, record.timeMs), 0)
  const sinceMs = fact.timeMs - last
  if (last > 0 && sinceMs > DAY_MS && fact.age > 0) return fact.timeMs + (left / fact.age) * sinceMs
  // Without a record the line's own rate and its shifts tell how fast it is used up.
  const weekly = usedPerWeek(fact, book)
  return weekly === undefined ? undefined : fact.timeMs + (left / weekly) * 7 * DAY_MS
}

/** How much of an interval's scale a week uses up by the line's shifts; undefined where nothing tells. */
export function usedPerWeek({ scale, perHour }: Pick<IntervalFact, 'scale' | 'perHour'>, { definition }: Pick<LineBook, 'definition'>): number | undefined {
  if (scale === 'calendar-hours') return 7 * 24
  const weeklyHours = definition.shifts.reduce((sum, shift) => sum + (shift.production === false ? 0 : shift.days.length * shiftHours(shift.start, shift.end)), 0)
  const weekly = weeklyHours * (scale === 'running-hours' ? 1 : (perHour ?? 0))
  return weekly > 0 ? weekly : undefined
}

function shiftHours(start: string, end: string): number {
  const hours = (text: string): number => Number(text.slice(0, 2)) + Number(text.slice(3, 5)) / 60
  const length = hours(end) - hours(start)
  return length > 0 ? length : length + 24
}

function merged(id: string, reasons: readonly Found[], book: LineBook): Omit<DueItem, 'minutes' | 'parts'> {
  const first = reasons[0]!
  const dues = reasons.flatMap(({ dueMs }) => (dueMs === undefined ? [] : [dueMs]))
  const notBefores = reasons.map(({ notBeforeMs }) => notBeforeMs)
  // What only one reason puts off is still asked for by the others.
  const notBeforeMs = notBefores.every((time) => time !== undefined) ? Math.min(...(notBefores as number[])) : undefined
  const urgency = reasons.some((reason) => reason.urgency === 'urgent') ? 'urgent' : reasons.some((reason) => reason.urgency === 'soon') ? 'soon' : 'plan'
  const item = catalogueItem(first.work, book)
  const suggestion = reasons.find((reason) => reason.suggestion !== undefined)?.suggestion
  const job = reasons.find((reason) => reason.job !== undefined)?.job
  const waitsFor = reasons.find((reason) => reason.waitsFor !== undefined)?.waitsFor
  return {
    id,
    line: book.definition.line,
    work: first.work,
    section: item.section,
    ...(first.zone === undefined ? {} : { zone: first.zone }),
    ...(dues.length === 0 ? {} : { dueMs: Math.min(...dues) }),
    ...(notBeforeMs === undefined ? {} : { notBeforeMs }),
    urgency,
    safety: reasons.some((reason) => reason.safety === true),
    ...itemFacts(item, book),
    because: reasons.map(({ because }) => because),
    ...(suggestion === undefined ? {} : { suggestion }),
    ...(job === undefined ? {} : { job }),
    mustFinish: reasons.some((reason) => reason.mustFinish === true),
    ...(waitsFor === undefined ? {} : { waitsFor }),
  }
}

/** What the site's catalogue says of people, wires, heat and the name of a job. */
export function itemFacts({ id, people, needsElectrician, isolation }: WorkItem, { definition }: Pick<LineBook, 'definition'>): Pick<DueItem, 'people' | 'needsElectrician' | 'needsCold' | 'ownTitle'> {
  const isOwn = !isWork(id) || definition.siteWork?.edits[id]?.texts !== undefined
  const catalogue = siteCatalogue(definition)
  return { people, needsElectrician, needsCold: isolation.includes('cool-down'), ...(isOwn ? { ownTitle: { 'en-US': catalogue.words(id, 'en-US').title, es: catalogue.words(id, 'es').title } } : {}) }
}
