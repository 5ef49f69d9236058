import type { Language } from '../catalogue-language.js'
import type { ChangeFact } from '../changes/change-fact.js'
import type { JobFact, RecordFact } from '../jobs/job-fact.js'
import type { ProofFact } from '../proof/proof-fact.js'
import { factsOf, type LineBook } from '../plan/line-book.js'
import { placeText, workTitle } from '../plan/plan-words.js'
import type { StopFact } from '../plan/plan-fact.js'
import type { PaperFact } from '../plan/plan-fact.js'
import { INSTRUMENTS } from '../plan/plan-entry.js'
import { siteCatalogue } from '../site-catalogue.js'
import { dateText } from '../wording-format.js'
import { SECTION_TITLES } from '../wording-data-sentences.js'
import { amountText, dayText, timeText, withoutNames } from './report-format.js'
import { reportText, reportTextOf } from './report-words.js'

/** Period and language of a report, and what leaves names out of its texts. */
export interface ReportContext {
  readonly book: LineBook
  readonly fromMs: number
  readonly untilMs: number
  readonly timeZone: string
  readonly language: Language
  readonly hide: (text: string) => string
}

export function contextOf(book: LineBook, input: { readonly fromMs: number; readonly untilMs: number; readonly timeZone: string }, language: Language): ReportContext {
  return { book, fromMs: input.fromMs, untilMs: input.untilMs, timeZone: input.timeZone, language, hide: withoutNames(book, language) }
}

function inPeriod({ fromMs, untilMs }: ReportContext, timeMs: number): boolean {
  return timeMs >= fromMs && timeMs <= untilMs
}

/** Work recorded in the period, corrected and withdrawn records with what they said first. */
export interface WorkRow {
  readonly when: string
  readonly timeMs: number
  readonly job: string
  readonly place: string
  readonly finding?: number
  readonly minutes?: number
  readonly product?: string
  readonly remark?: string
  readonly outcome: string
}

export function workRows(context: ReportContext): WorkRow[] {
  const { book, language, timeZone, hide } = context
  const proofs = new Map(factsOf(book, 'proof').map((proof) => [proof.record, proof]))
  return factsOf(book, 'record')
    .filter(({ record }) => inPeriod(context, record.timeMs))
    .sort((a, b) => a.record.timeMs - b.record.timeMs)
    .map((fact): WorkRow => {
      const { record } = fact
      const remark = [record.remark, correctionText(fact, context)].filter((text) => text !== undefined && text !== '').join(' · ')
      return {
        when: timeText(record.timeMs, language, timeZone),
        timeMs: record.timeMs,
        job: workTitle(record.work, language, book.definition),
        place: record.section === 'line' ? SECTION_TITLES.line[language] : placeText({ section: record.section, ...(record.zone === undefined ? {} : { zone: record.zone }) }, language),
        ...(record.finding === undefined ? {} : { finding: record.finding }),
        ...(record.minutes === undefined ? {} : { minutes: record.minutes }),
        ...(record.product === undefined ? {} : { product: hide(record.product) }),
        ...(remark === '' ? {} : { remark: hide(remark) }),
        outcome: fact.withdrawn ? reportText('withdrawn', language) : proofText(proofs.get(record.id), context),
      }
    })
}

function correctionText({ earlier }: RecordFact, { book, language, timeZone }: ReportContext): string | undefined {
  const [first] = earlier
  if (first === undefined) return undefined
  const { work, finding, minutes, timeMs } = first.record
  const said = [workTitle(work, language, book.definition), timeText(timeMs, language, timeZone), ...(finding === undefined ? [] : [String(finding)]), ...(minutes === undefined ? [] : [`${minutes} min`]), first.reason].join(', ')
  return reportText('corrected', language, { count: String(earlier.length), first: said })
}

function proofText(proof: ProofFact | undefined, { language, timeZone }: ReportContext): string {
  if (proof === undefined) return reportText('proof.none', language)
  if (proof.verdict === 'too-early' && proof.verdictByMs !== undefined) return reportText('proof.too-early-by', language, { date: dateText(proof.verdictByMs, language, timeZone) })
  return reportTextOf(`proof.${proof.verdict}`, language)
}

/** What must be known before anything else: what must not run, what is half done, where somebody holds a lock. */
export function firstThings(context: ReportContext): { readonly text: string; readonly act: boolean }[] {
  const { book, language, timeZone, hide } = context
  const left = factsOf(book, 'job').filter(({ status }) => status !== 'done' && status !== 'dropped')
  return left.filter(isFirst).map((job) => {
    const since = timeText(job.doNotStartSinceMs ?? job.statusMs, language, timeZone)
    const title = `${workTitle(job.work, language, book.definition)} (${placeText(job, language)})`
    const parts = [
      ...(job.doNotStart !== undefined ? [reportText('do-not-start', language, { job: title, since })] : job.status === 'half-done' ? [reportText('half-done', language, { job: title, since })] : [title]),
      ...(job.isolation === undefined ? [] : [reportText('isolation', language, { since: timeText(job.isolation.sinceMs, language, timeZone) })]),
      ...(job.dismantled === undefined ? [] : [reportText('dismantled', language, { what: hide(job.dismantled) })]),
    ]
    return { text: parts.join(' · '), act: job.doNotStart !== undefined }
  })
}

function isFirst(job: JobFact): boolean {
  return job.doNotStart !== undefined || job.status === 'half-done' || job.isolation !== undefined || job.dismantled !== undefined
}

/** A channel that changes more often than this in a period is told once, with its count. */
const OFTEN = 4

/** Changes of the period in words. */
export function changeTexts(context: ReportContext): string[] {
  const { book, language, timeZone, hide } = context
  const changes = factsOf(book, 'change').filter(({ timeMs }) => inPeriod(context, timeMs)).sort((a, b) => a.timeMs - b.timeMs)
  const isOften = (change: ChangeFact): boolean => change.source === 'channel' && changes.filter((other) => other.source === 'channel' && other.change === change.change).length > OFTEN
  const often = [...new Set(changes.filter(isOften).map(({ change }) => change))].map((kind) => {
    const same = changes.filter((change) => change.source === 'channel' && change.change === kind)
    return reportText('changes.often', language, { count: String(same.length), what: reportTextOf(`change.${kind}`, language), from: timeText(same[0]!.timeMs, language, timeZone), until: timeText(same.at(-1)!.timeMs, language, timeZone) })
  })
  return [...often, ...changes
    .filter((change) => !isOften(change))
    .map((change) => {
      const values = change.from !== undefined && change.to !== undefined ? `${shown(change.from, language)} → ${shown(change.to, language)}` : change.to === undefined ? undefined : shown(change.to, language)
      return [timeText(change.timeMs, language, timeZone), reportTextOf(`change.${change.change}`, language), change.zone === undefined ? undefined : placeText({ section: 'preheat', zone: change.zone }, language), change.channel, change.text === undefined ? undefined : hide(change.text), values].filter((part) => part !== undefined).join(' · ')
    })]
}

function shown(value: number | string, language: Language): string {
  return typeof value === 'number' ? amountText(value, language) : value
}

/** One stop of the ledger in words. */
export interface StopRow {
  readonly asked: string
  readonly work: string
  readonly minutes?: number
  readonly people?: number
  readonly answer: string
  readonly followed: string
}

export function stopRows(context: ReportContext): StopRow[] {
  const { book, language, timeZone, hide } = context
  return factsOf(book, 'stop')
    .filter(({ askedMs, timeMs }) => inPeriod(context, askedMs) || inPeriod(context, timeMs))
    .sort((a, b) => a.askedMs - b.askedMs)
    .map((stop): StopRow => ({
      asked: timeText(stop.askedMs, language, timeZone),
      work: stop.work.map((work) => workTitle(work, language, book.definition)).join(', '),
      ...(stop.minutes === undefined ? {} : { minutes: stop.minutes }),
      ...(stop.people === undefined ? {} : { people: stop.people }),
      answer: [reportTextOf(`stop.${stop.status}`, language), stop.answeredMs === undefined ? undefined : timeText(stop.answeredMs, language, timeZone), stop.reason === undefined ? undefined : hide(stop.reason)].filter((part) => part !== undefined).join(', '),
      followed: followedText(stop, context),
    }))
}

function followedText({ followed }: StopFact, { language, timeZone, hide }: ReportContext): string {
  if (followed.length === 0) return reportText('followed.nothing', language)
  return followed
    .map((what) =>
      [
        timeText(what.timeMs, language, timeZone),
        what.stopMinutes === undefined ? undefined : reportText('followed.stop', language, { minutes: amountText(what.stopMinutes, language), kind: reportText(what.stopKind === 'planned' ? 'followed.planned' : 'followed.unplanned', language) }),
        what.boardsScrapped === undefined ? undefined : reportText('followed.scrap', language, { count: String(what.boardsScrapped) }),
        what.boardsNotMade === undefined ? undefined : reportText('followed.not-made', language, { count: String(what.boardsNotMade) }),
        what.ordersLate === undefined ? undefined : reportText('followed.late', language, { count: String(what.ordersLate) }),
        what.text === undefined ? undefined : hide(what.text),
      ].filter((part) => part !== undefined).join(' · '),
    )
    .join('; ')
}

/** A paper of the audit with how it stands at the end of the period. */
export interface PaperRow {
  readonly paper: string
  readonly of: string
  readonly reference: string
  readonly from: string
  readonly due: string
  readonly state: string
  readonly overdue: boolean
}

/** Papers as entered; before them the instructions that the line definition names, each until another is entered. */
export function paperRows(context: ReportContext): PaperRow[] {
  const { book, language, timeZone, untilMs, hide } = context
  const entered = [...factsOf(book, 'paper')].sort((a, b) => (a.id < b.id ? -1 : 1))
  const catalogue = siteCatalogue(book.definition)
  const defined = catalogue.items.flatMap(({ id }): PaperRow[] => {
    const instruction = catalogue.instruction(id)
    if (instruction === undefined || entered.some(({ paper, of }) => paper === 'instruction' && of === id)) return []
    const reference = reportText('paper.revision', language, { id: instruction.id, revision: instruction.revision })
    return [{ paper: reportText('paper.instruction', language), of: workTitle(id, language, book.definition), reference, from: reportText('paper.by-definition', language), due: '–', state: reportText('paper.in-force', language), overdue: false }]
  })
  const rows = entered
    .map((paper): PaperRow => {
      const overdue = paper.dueMs !== undefined && paper.dueMs < untilMs
      const state = overdue ? 'paper.over' : paper.validFromMs > untilMs ? 'paper.not-yet' : 'paper.in-force'
      return {
        paper: reportText(`paper.${paper.paper}`, language),
        of: paper.paper === 'calibration' ? reportTextOf(`instrument.${paper.of}`, language) : workTitle(paper.of, language, book.definition),
        reference: [hide(paper.reference), ...(paper.people === undefined ? [] : [reportText('paper.people', language, { count: String(paper.people) })])].join(', '),
        from: dayText(paper.validFromMs, language, timeZone),
        due: paper.dueMs === undefined ? '–' : dayText(paper.dueMs, language, timeZone),
        state: reportText(state, language),
        overdue,
      }
    })
  return [...defined, ...rows]
}

/** What an auditor will ask for and nobody has entered. */
export function paperGaps(context: ReportContext): string[] {
  const { book, language } = context
  const papers = factsOf(book, 'paper')
  const isInForce = (paper: PaperFact, timeMs: number): boolean => paper.validFromMs <= timeMs && (paper.dueMs === undefined || paper.dueMs >= timeMs)
  const catalogue = siteCatalogue(book.definition)
  const byDefinition = (work: string): boolean => catalogue.instruction(work) !== undefined && !papers.some(({ paper, of }) => paper === 'instruction' && of === work)
  const without = factsOf(book, 'record').filter(({ record, withdrawn }) => !withdrawn && inPeriod(context, record.timeMs) && !byDefinition(record.work) && !papers.some((paper) => paper.paper === 'instruction' && paper.of === record.work && isInForce(paper, record.timeMs)))
  const jobs = [...new Set(without.map(({ record }) => workTitle(record.work, language, book.definition)))]
  const instruments = INSTRUMENTS.slice(0, 3).filter((instrument) => !papers.some((paper) => paper.paper === 'calibration' && paper.of === instrument)).map((instrument) => reportTextOf(`instrument.${instrument}`, language))
  return [
    ...(jobs.length === 0 ? [] : [reportText('paper.missing', language, { jobs: jobs.join(', ') })]),
    ...(instruments.length === 0 ? [] : [reportText('paper.no-calibration', language, { instruments: instruments.join(', ') })]),
  ]
}
