import type { Language } from '../maintenance/catalogue-language.js'
import { LANGUAGES } from '../maintenance/catalogue-language.js'
import type { JobAction } from '../maintenance/jobs/job-entry.js'
import type { JobFact } from '../maintenance/jobs/job-fact.js'
import { isOpenJob, isUnderWay } from '../maintenance/jobs/job-steps.js'
import { doNotStartText, JOB_DROP_TITLES, JOB_SOURCE_TEXTS, JOB_STATUS_TEXTS, RAN_ANYWAY_TEXT, URGENT_TEXT } from '../maintenance/jobs/job-texts.js'
import { JOB_DROP_REASONS, JOB_PUT_OFF_REASONS } from '../maintenance/jobs/job-reasons.js'
import { peopleAtWork } from '../maintenance/jobs/people-at-work.js'
import { minutesNow } from '../maintenance/plan/work-effort.js'
import { siteCatalogue, type SiteCatalogue } from '../maintenance/site-catalogue.js'
import { isCodeOf, shortCode } from '../maintenance/suggestion-id.js'
import { SECTION_TITLES, PUT_OFF_TITLES } from '../maintenance/wording-data-sentences.js'
import type { WorkItem } from '../maintenance/work-catalogue.js'
import { withinRetention } from './names-of-people.js'
import { isoTime } from './output-json.js'
import { effortBook } from './plan-book.js'
import type { SiteLine } from './site-view.js'

/** Jobs of a line as people read them: what cannot wait, what is half done, then the board's way; wired work last in its place. */
export function jobsView(line: SiteLine, language: string, all: boolean): Record<string, unknown>[] {
  const catalogue = siteCatalogue(line.definition)
  const order = new Map(catalogue.items.map((item, index) => [item.id, index + (item.needsElectrician ? 0.5 : 0)]))
  const sections = ['fluxer', 'preheat', 'transport', 'pot']
  const rank = (job: JobFact): number[] => [isOpenJob(job) ? 0 : 1, job.urgency === 'urgent' ? 0 : 1, job.doNotStart === undefined ? 1 : 0, sections.indexOf(job.section), catalogue.item(job.work)?.needsElectrician === true ? 1 : 0, order.get(job.work) ?? 0, job.zone ?? 0]
  return line.projection
    .factsOf('job')
    .filter((job) => (all || isOpenJob(job)) && catalogue.item(job.work) !== undefined)
    .sort((a, b) => byRank(rank(a), rank(b)))
    .map((job) => jobView(line, job, language))
}

function byRank(a: readonly number[], b: readonly number[]): number {
  const index = a.findIndex((value, at) => value !== b[at])
  return index < 0 ? 0 : a[index]! - b[index]!
}

/** A job by its id or the short code of its card, among all lines. */
export function findJob(lines: readonly SiteLine[], idOrCode: string): { readonly line: SiteLine; readonly job: JobFact } | undefined {
  const found = lines.flatMap((line) => line.projection.factsOf('job').map((job) => ({ line, job }))).filter(({ job }) => job.id === idOrCode || isCodeOf(job.id, idOrCode))
  return found.find(({ job }) => job.id === idOrCode) ?? found.find(({ job }) => isOpenJob(job)) ?? found.at(-1)
}

/** One job with everything a person needs before the first move. @throws Error for a language the catalogue does not hold */
export function jobView(line: SiteLine, found: JobFact, language: string): Record<string, unknown> {
  const job = withinRetention(found, line.definition, line.nowMs())
  const catalogue = siteCatalogue(line.definition)
  const item = catalogue.item(job.work)
  if (item === undefined) throw new Error(`work catalogue of line "${line.definition.line}" has no job "${job.work}"`)
  const words = catalogue.words(job.work, language)
  // Words of the page itself are in its two languages; cautions and steps are in the one asked for, or there is no card.
  const page = pageLanguage(language)
  const stop = doNotStartText(job, page)
  const instruction = catalogue.instruction(job.work)
  const shift = peopleAtWork(line.definition, line.nowMs())
  return {
    id: job.id, shortCode: shortCode(job.id), line: line.definition.line, work: job.work, title: words.title,
    section: job.section, sectionTitle: SECTION_TITLES[job.section][page], ...optional({ zone: job.zone, suggestion: job.suggestion, record: job.record, by: job.by, engineer: job.engineer, part: job.part, dismantled: job.dismantled, product: job.product, surfaceC: job.surfaceC, people: job.people, reason: job.reason }),
    status: job.status, statusText: JOB_STATUS_TEXTS[job.status][page], statusTime: isoTime(job.statusMs), raised: isoTime(job.raisedMs), sourceText: JOB_SOURCE_TEXTS[job.source][page],
    urgency: job.urgency, ...(job.urgency === 'urgent' && item.kind === 'response' ? { urgentText: URGENT_TEXT[page] } : {}),
    ...(job.untilMs === undefined ? {} : { until: isoTime(job.untilMs) }),
    ...(stop === undefined || job.doNotStartSinceMs === undefined ? {} : { doNotStart: { key: job.doNotStart, text: stop, since: isoTime(job.doNotStartSinceMs), ...(job.ranAnywayMs === undefined ? {} : { ranAnyway: isoTime(job.ranAnywayMs), ranAnywayText: RAN_ANYWAY_TEXT[page] }) } }),
    ...(job.followUp === undefined ? {} : { followUp: { work: job.followUp, title: catalogue.words(job.followUp, language).title } }),
    holders: job.holders.map(({ holder, sinceMs }) => ({ holder, since: isoTime(sinceMs) })),
    peopleNeeded: item.people, ...(shift === undefined ? {} : { peopleAtWork: shift }), forLoneShift: item.people <= (shift ?? item.people),
    qualification: item.qualification, needsElectrician: item.needsElectrician, safety: item.safety,
    minutes: minutesNow(job.work, job.zone, job.suggestion !== undefined, effortBook(line)), tools: words.tools, cautions: words.cautions, before: words.before, steps: words.steps, verification: words.verification,
    after: words.after.map(({ step, text }) => ({ step, text, done: job.returnSteps.includes(step) })), begun: job.begun,
    products: words.products, passIf: item.passIf, ...(instruction === undefined ? {} : { instruction }),
    actions: actionsOf(job, item),
    history: job.history.map(({ timeMs, status, by, reason }) => ({ time: isoTime(timeMs), status, statusText: JOB_STATUS_TEXTS[status][page], ...optional({ by, reason }) })),
  }
}

/** A language of the page nearest to the one of the card. */
export function pageLanguage(language: string): Language {
  return LANGUAGES.find((known) => known === language) ?? 'en-US'
}

/** What a person can do with a job as it stands, in the order offered. */
function actionsOf(job: JobFact, item: WorkItem): readonly JobAction[] {
  if (!isOpenJob(job)) return []
  const away: readonly JobAction[] = isUnderWay(job) || (job.urgency === 'urgent' && item.kind !== 'response') ? [] : [...(job.urgency === 'urgent' ? [] : (['put-off'] as const)), 'drop']
  const release: readonly JobAction[] = job.holders.length > 0 ? ['release-isolation'] : []
  const close: readonly JobAction[] = item.kind === 'response' && !job.begun ? ['done'] : []
  switch (job.status) {
    case 'open':
    case 'put-off':
      return ['take', ...away]
    case 'taken':
      return ['start', 'isolate', ...close, ...release, 'wait-for-part', ...(isUnderWay(job) ? [] : (['give-back'] as const)), 'hand-over', ...away]
    case 'started':
      return ['isolate', 'pause', 'wait-for-part', 'hand-over', 'return-step', ...release]
    case 'paused':
      return ['resume', 'isolate', 'wait-for-part', 'hand-over', 'return-step', ...release]
    case 'waiting-for-part':
      return ['resume', 'isolate', 'hand-over', ...release, ...away]
    case 'half-done':
      return [...(job.begun && job.followUp === undefined ? (['return-step'] as const) : []), ...release, 'isolate', 'hand-over']
    default:
      return []
  }
}

/** The catalogue of a line in words, for choosing a job or a record. */
export function workView(line: SiteLine, language: string): Record<string, unknown>[] {
  const catalogue = siteCatalogue(line.definition)
  return catalogue.items.map((item) => workItemView(line, catalogue, item, language))
}

function workItemView(line: SiteLine, catalogue: SiteCatalogue, item: WorkItem, language: string): Record<string, unknown> {
  const { title, steps, tools, verification, cautions, before, after, products } = catalogue.words(item.id, language)
  const { check, followedBy } = item
  const instruction = catalogue.instruction(item.id)
  return {
    work: item.id, title, section: item.section, kind: item.kind, mends: item.mends, laterFor: item.laterFor, people: item.people, qualification: item.qualification, needsElectrician: item.needsElectrician, safety: item.safety,
    minutes: minutesNow(item.id, undefined, false, effortBook(line)), steps, tools, verification, cautions, before, after, products, passIf: item.passIf, leadsTo: item.leadsTo, ...optional({ check, followedBy, instruction }),
  }
}

/** Reasons a person can give, in the order shown. */
export function jobReasons(language: string): { readonly putOff: readonly { id: string; title: string }[]; readonly drop: readonly { id: string; title: string }[] } {
  const page = pageLanguage(language)
  return { putOff: JOB_PUT_OFF_REASONS.map((id) => ({ id, title: PUT_OFF_TITLES[id][page] })), drop: JOB_DROP_REASONS.map((id) => ({ id, title: JOB_DROP_TITLES[id][page] })) }
}

function optional<T extends Readonly<Record<string, unknown>>>(fields: T): Partial<T> {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined)) as Partial<T>
}
