import { CHECKS } from '../line/diagnosis/checks.js'
import type { Language } from '../maintenance/catalogue-language.js'
import { checkWords } from '../maintenance/catalogue-texts.js'
import type { JobFact, RecordFact } from '../maintenance/jobs/job-fact.js'
import { RECORDS_KEPT } from '../maintenance/jobs/record-book.js'
import { siteCatalogue, type SiteCatalogue } from '../maintenance/site-catalogue.js'
import type { WorkRecord } from '../maintenance/suggestion.js'
import { shortCode } from '../maintenance/suggestion-id.js'
import { PRODUCT_CLASSES, PRODUCT_TITLES } from '../maintenance/work-products.js'
import { SECTION_TITLES } from '../maintenance/wording-data-sentences.js'
import { pageLanguage } from './jobs-view.js'
import { withinRetention } from './names-of-people.js'
import { isoTime } from './output-json.js'
import type { SiteLine } from './site-view.js'

/** Which records are asked for; what is absent does not choose. */
export interface RecordsQuestion {
  readonly section?: string | undefined
  readonly work?: string | undefined
  /** Id of a job: its own records. */
  readonly job?: string | undefined
  readonly limit: number
}

/** Records of work of a line as people read them, those of the newest work first, each with what it said before. */
export function recordsView(line: SiteLine, language: string, { section, work, job, limit }: RecordsQuestion): { readonly total: number; readonly works: readonly Record<string, unknown>[]; readonly records: readonly Record<string, unknown>[] } {
  const facts = line.projection.factsOf('record')
  const jobs = line.projection.factsOf('job')
  const jobOf = new Map(jobs.flatMap((known) => (known.record === undefined ? [] : [[known.record, known] as const])))
  const ofJob = ({ record, id }: RecordFact): JobFact | undefined => jobs.find((known) => known.id === record.job) ?? jobOf.get(id)
  const found = facts
    .filter((fact) => (section === undefined || fact.record.section === section) && (work === undefined || fact.record.work === work) && (job === undefined || ofJob(fact)?.id === job))
    .sort((a, b) => b.timeMs - a.timeMs || (a.id < b.id ? 1 : -1))
  const catalogue = siteCatalogue(line.definition)
  // The line itself keeps the last entered ones for corrections; older ones are history.
  const correctable = new Set([...facts].sort((a, b) => (b.enteredMs ?? b.timeMs) - (a.enteredMs ?? a.timeMs)).slice(0, RECORDS_KEPT).map(({ id }) => id))
  const titles = new Map(facts.map(({ record }) => [record.work, workTitleOf(catalogue, record.work, language)]))
  return {
    total: found.length,
    works: [...titles].map(([id, title]) => ({ work: id, title })).sort((a, b) => (a.title < b.title ? -1 : 1)),
    records: found.slice(0, limit).map((fact) => recordView(line, withinRetention(fact, line.definition, line.nowMs()), ofJob(fact), correctable.has(fact.id), language)),
  }
}

/** Title of a job of the line's catalogue or of a check; an id that neither holds stands as it is. */
function workTitleOf(catalogue: SiteCatalogue, work: string, language: string): string {
  if (catalogue.item(work) !== undefined) return catalogue.words(work, language).title
  return CHECKS.some(({ check }) => check === work) ? checkWords(work, pageLanguage(language)).title : work
}

function recordView(line: SiteLine, fact: RecordFact, job: JobFact | undefined, correctable: boolean, language: string): Record<string, unknown> {
  const { id, enteredMs, earlier, withdrawn, record } = fact
  return {
    id,
    ...said(line, record, language),
    ...(enteredMs === undefined ? {} : { entered: isoTime(enteredMs) }),
    ...(job === undefined ? {} : { job: { id: job.id, shortCode: shortCode(job.id) } }),
    withdrawn,
    correctable: correctable && !withdrawn,
    earlier: earlier.map((version) => ({ correctedTime: isoTime(version.correctedMs), reason: version.reason, ...(version.by === undefined ? {} : { by: version.by }), ...said(line, version.record, language) })),
  }
}

/** What one version of a record says: in words, and as it would be entered again. */
function said(line: SiteLine, record: WorkRecord, language: string): Record<string, unknown> {
  const catalogue = siteCatalogue(line.definition)
  const page = pageLanguage(language)
  const { id: _id, timeMs, ...rest } = record
  const units = new Map((catalogue.item(record.work)?.passIf ?? []).map(({ value, unit }) => [value, unit]))
  return {
    time: isoTime(timeMs),
    title: workTitleOf(catalogue, record.work, language),
    sectionTitle: SECTION_TITLES[record.section][page],
    ...(record.product === undefined ? {} : { productTitle: productTitle(record.product, page) }),
    measured: Object.entries(record.values ?? {}).map(([value, amount]) => ({ value, amount, ...(units.has(value) ? { unit: units.get(value) } : {}) })),
    record: { ...rest, time: isoTime(timeMs) },
  }
}

function productTitle(product: string, language: Language): string {
  const known = PRODUCT_CLASSES.find((name) => name === product)
  return known === undefined ? product : PRODUCT_TITLES[known][language]
}
