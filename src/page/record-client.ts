import { ask, at, post } from './api-client.js'

/** A photo as a record names it. */
export interface PhotoRef {
  readonly name: string
  readonly type: string
  readonly size: number
  readonly sha256: string
}

/** What a record says, as it would be entered; times are ISO 8601 UTC. */
export interface RecordBody {
  readonly time: string
  readonly section: string
  readonly work: string
  readonly zone?: number
  readonly suggestion?: string
  readonly finding?: number
  readonly minutes?: number
  readonly product?: string
  readonly remark?: string
  readonly by?: string
  readonly job?: string
  readonly values?: Readonly<Record<string, number>>
  readonly passes?: number
  readonly parts?: readonly string[]
  readonly lot?: string
  readonly washer?: boolean
  readonly people?: number
  readonly handCheck?: 'passed' | 'failed'
  readonly surfaceC?: number
  readonly deviation?: string
  readonly photo?: PhotoRef
}

/** One version of a record, in words too. */
export interface RecordVersion {
  readonly time: string
  readonly title: string
  readonly sectionTitle: string
  readonly productTitle?: string
  readonly measured: readonly { readonly value: string; readonly amount: number; readonly unit?: string }[]
  readonly record: RecordBody
}

/** A record of work as it holds now, with what it said before. */
export interface RecordView extends RecordVersion {
  readonly id: string
  readonly entered?: string
  readonly job?: { readonly id: string; readonly shortCode: string }
  readonly withdrawn: boolean
  readonly correctable: boolean
  readonly earlier: readonly (RecordVersion & { readonly correctedTime: string; readonly reason: string; readonly by?: string })[]
}

export interface RecordList {
  readonly total: number
  readonly works: readonly { readonly work: string; readonly title: string }[]
  readonly records: readonly RecordView[]
}

/** What came of a table of records. */
export interface CsvTaken {
  readonly taken: number
  readonly refused: readonly { readonly row: number; readonly message: string }[]
}

export interface RecordChoice {
  readonly section: string
  readonly work: string
  /** Id of a job. */
  readonly job: string
  readonly limit: number
}

export const records = {
  of: (line: string, { section, work, job, limit }: RecordChoice, language: string): Promise<RecordList> => {
    const chosen = Object.entries({ section, work, job }).filter(([, value]) => value !== '').map(([name, value]) => `&${name}=${at(value)}`)
    return ask(`lines/${at(line)}/records?lang=${at(language)}&limit=${limit}${chosen.join('')}`)
  },
  /** Replaces what a record says; without a record it is taken back. What it said before is kept. */
  correct: (line: string, of: string, reason: string, record: Readonly<Record<string, unknown>> | undefined, language: string): Promise<unknown> => {
    const by = (localStorage.getItem('wave-solder-name') ?? '').trim()
    return post(`lines/${at(line)}/entries?lang=${at(language)}`, { type: 'correction', of, reason, ...(by === '' ? {} : { by }), ...(record === undefined ? {} : { record }) })
  },
  fromCsv: (line: string, file: File): Promise<CsvTaken> => ask(`lines/${at(line)}/records.csv`, { method: 'POST', headers: { 'content-type': 'application/octet-stream' }, body: file }),
  photoUrl: (line: string, sha256: string): string => `./api/lines/${at(line)}/photos/${sha256}`,
}
