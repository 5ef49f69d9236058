import type { LineDefinition } from '../line/line-definition.js'
import type { Language } from '../maintenance/catalogue-language.js'
import type { ChangeFact } from '../maintenance/changes/change-fact.js'
import { changeWords } from '../maintenance/changes/change-texts.js'
import type { RecordFact } from '../maintenance/jobs/job-fact.js'
import { workTitle } from '../maintenance/plan/plan-words.js'
import type { ProofFact } from '../maintenance/proof/proof-fact.js'
import { siteCatalogue } from '../maintenance/site-catalogue.js'
import { isoTime } from './output-json.js'
import type { SiteLine } from './site-view.js'

/** What stands on the time axis of the charts: work, changes and what came of work. */
export interface TimeMark {
  readonly time: string
  readonly kind: 'record' | 'change' | 'proof'
  readonly section?: string
  readonly zone?: number
  readonly words: string
  /** Work that cleans or lubricates. */
  readonly cleaning?: true
  readonly verdict?: string
  /** Channel and values of a change that channels have shown. */
  readonly channel?: string
  readonly from?: number | string
  readonly to?: number | string
}

/** Work stands there as records, recipes and stops as states of the line. */
const ELSEWHERE: readonly string[] = ['work', 'recipe', 'long-stop']

/** Marks of a line between two times, oldest first; each fact once, as it holds now. */
export function timeMarks({ projection, definition }: SiteLine, language: Language, fromMs: number, toMs: number): readonly TimeMark[] {
  const marks = [
    ...projection.factsOf('record').filter(({ withdrawn }) => !withdrawn).map((fact) => ({ timeMs: fact.record.timeMs, mark: recordMark(fact, definition, language) })),
    ...projection.factsOf('change').filter((fact) => fact.withdrawn !== true && !ELSEWHERE.includes(fact.change)).map((fact) => ({ timeMs: fact.timeMs, mark: changeMark(fact, language) })),
    ...projection.factsOf('proof').map((fact) => ({ timeMs: fact.timeMs, mark: proofMark(fact, definition, language) })),
  ]
  return marks
    .filter(({ timeMs }) => timeMs >= fromMs && timeMs <= toMs)
    .sort((a, b) => a.timeMs - b.timeMs)
    .map(({ timeMs, mark }) => ({ time: isoTime(timeMs), ...mark }))
}

type Mark = Omit<TimeMark, 'time'>

function place({ section, zone }: { readonly section?: string; readonly zone?: number }): Pick<TimeMark, 'section' | 'zone'> {
  return { ...(section === undefined ? {} : { section }), ...(zone === undefined ? {} : { zone }) }
}

function recordMark({ record }: RecordFact, definition: LineDefinition, language: Language): Mark {
  const kind = siteCatalogue(definition).item(record.work)?.kind
  return { kind: 'record', ...place(record), words: workTitle(record.work, language, definition), ...(kind === 'cleaning' || kind === 'lubrication' ? { cleaning: true as const } : {}) }
}

function changeMark(fact: ChangeFact, language: Language): Mark {
  const { channel, from, to, text } = fact
  return {
    kind: 'change',
    ...place(fact),
    words: text === undefined || text === '' ? changeWords(fact.change, language) : `${changeWords(fact.change, language)}: ${text}`,
    ...(channel === undefined ? {} : { channel }),
    ...(from === undefined ? {} : { from }),
    ...(to === undefined ? {} : { to }),
  }
}

function proofMark(fact: ProofFact, definition: LineDefinition, language: Language): Mark {
  return { kind: 'proof', ...place(fact), words: workTitle(fact.work, language, definition), verdict: fact.verdict }
}
