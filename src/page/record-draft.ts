import type { JobView, WorkChoice } from './job-client.js'
import { fieldOfTime, timeOfField } from './plant-time.js'
import type { RecordBody } from './record-client.js'

/** What stands in the form of a record, as typed. */
export interface RecordDraft {
  readonly line: string
  readonly work: string
  readonly zone: string
  readonly finding: number | undefined
  readonly minutes: string
  readonly product: string
  readonly surfaceC: string
  readonly deviation: string
  readonly lot: string
  readonly passes: string
  readonly people: string
  readonly parts: string
  readonly washer: boolean
  readonly values: Readonly<Record<string, string>>
  readonly handCheck: '' | 'passed' | 'failed'
  /** When it was done, as the date-and-time field holds it; empty for now. */
  readonly when: string
  readonly remark: string
  readonly photo: File | undefined
  readonly dropPhoto: boolean
}

/** An empty form, or the one of a job. */
export function newDraft(line: string, job: JobView | undefined): RecordDraft {
  return { line: job?.line ?? line, work: job?.work ?? '', zone: textOf(job?.zone), finding: undefined, minutes: '', product: '', surfaceC: '', deviation: '', lot: '', passes: '', people: '', parts: '', washer: false, values: {}, handCheck: '', when: '', remark: '', photo: undefined, dropPhoto: false }
}

/** The form with what a record says, to correct it. */
export function draftOf(line: string, said: RecordBody, timeZone: string): RecordDraft {
  return {
    ...newDraft(line, undefined),
    work: said.work,
    zone: textOf(said.zone),
    finding: said.finding,
    minutes: textOf(said.minutes),
    product: said.product ?? '',
    surfaceC: textOf(said.surfaceC),
    deviation: said.deviation ?? '',
    lot: said.lot ?? '',
    passes: textOf(said.passes),
    people: textOf(said.people),
    parts: (said.parts ?? []).join(', '),
    washer: said.washer ?? false,
    values: Object.fromEntries(Object.entries(said.values ?? {}).map(([name, value]) => [name, String(value)])),
    handCheck: said.handCheck ?? '',
    when: fieldOfTime(said.time, timeZone),
    remark: said.remark ?? '',
  }
}

export interface RecordPlace {
  /** The work of the catalogue; absent for a check that is recorded by itself, which keeps its section. */
  readonly chosen: WorkChoice | undefined
  readonly timeZone: string
  /** The job it belongs to. */
  readonly job: string | undefined
  /** What the record says that is corrected. */
  readonly former: RecordBody | undefined
  /** Answer of the upload. */
  readonly photo: unknown
}

/** What is sent; what the form does not ask stays as the former record had it. */
export function recordFrom(draft: RecordDraft, { chosen, timeZone, job, former, photo }: RecordPlace): Record<string, unknown> {
  const number = (name: string, text: string): Record<string, number> => (text.trim() === '' ? {} : { [name]: Number(text) })
  const text = (name: string, value: string): Record<string, string> => (value.trim() === '' ? {} : { [name]: value.trim() })
  const section = chosen?.section ?? former?.section ?? ''
  // Values belong to the work they were measured on.
  const kept = former?.work === draft.work ? draft.values : Object.fromEntries(Object.entries(draft.values).filter(([name]) => chosen?.passIf.some(({ value }) => value === name) === true))
  const values = Object.fromEntries(Object.entries(kept).filter(([, value]) => value.trim() !== '').map(([name, value]) => [name, Number(value)]))
  const parts = draft.parts.split(',').map((part) => part.trim()).filter((part) => part !== '')
  const picture = photo ?? (draft.dropPhoto ? undefined : former?.photo)
  const by = former === undefined ? (localStorage.getItem('wave-solder-name') ?? '') : (former.by ?? '')
  return {
    section,
    work: draft.work,
    ...timeSaid(draft.when, former, timeZone),
    ...number('zone', section === 'preheat' ? draft.zone : ''),
    ...(draft.finding === undefined ? {} : { finding: draft.finding }),
    ...number('minutes', draft.minutes),
    ...text('product', draft.product),
    ...number('surfaceC', draft.surfaceC),
    ...text('deviation', draft.deviation),
    ...text('lot', draft.lot),
    ...number('passes', draft.passes),
    ...number('people', draft.people),
    ...(parts.length === 0 ? {} : { parts }),
    ...(draft.washer ? { washer: true } : former?.washer === undefined ? {} : { washer: false }),
    ...(Object.keys(values).length === 0 ? {} : { values }),
    ...(draft.handCheck === '' ? {} : { handCheck: draft.handCheck }),
    ...text('remark', draft.remark),
    ...text('by', by),
    ...text('job', job ?? (former?.work === draft.work ? (former.job ?? '') : '')),
    ...text('suggestion', former?.suggestion ?? ''),
    ...(picture === undefined ? {} : { photo: picture }),
  }
}

/** A time that was not changed keeps its seconds. */
function timeSaid(when: string, former: RecordBody | undefined, timeZone: string): { readonly time?: string } {
  if (former !== undefined && (when === '' || when === fieldOfTime(former.time, timeZone))) return { time: former.time }
  return when === '' ? {} : { time: timeOfField(when, timeZone) }
}

function textOf(value: number | undefined): string {
  return value === undefined ? '' : String(value)
}
