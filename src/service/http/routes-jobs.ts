import { join } from 'node:path'
import type { Readable } from 'node:stream'
import { z } from 'zod'
import { catalogueLanguage } from '../../maintenance/catalogue-language.js'
import { siteCatalogue } from '../../maintenance/site-catalogue.js'
import { refusalWords } from '../hold-view.js'
import { findJob, jobReasons, jobsView, jobView, pageLanguage, workView } from '../jobs-view.js'
import { notAhead } from '../entry-inputs.js'
import { recordBodySchema, recordOf } from '../outside-inputs.js'
import { PHOTO_BYTES_MAX, PhotoStore } from '../photo-store.js'
import { recordsCsv, takeRecordsCsv } from '../records-csv.js'
import { recordsView } from '../records-view.js'
import type { SiteLine } from '../site-view.js'
import { ProblemError } from './problem.js'
import { get, limitQuery, lineOf, post, signed, takenSchema, type Route, type RouteRequest } from './route-forms.js'

const time = z.iso.datetime()
const lang = z.string().max(40).default('en-US').describe('A language of the work catalogue of the line, the site’s further ones too')
const langQuery = z.strictObject({ lang })
const jobsQuery = z.strictObject({ lang, line: z.string().max(64).optional(), all: z.enum(['true', 'false']).default('false').describe('true: closed jobs too') })
const textStep = z.strictObject({ step: z.string(), text: z.string() })
const cautionSchema = z.strictObject({ caution: z.string(), text: z.string() })
const minutesSchema = z.looseObject({ low: z.number(), likely: z.number(), planned: z.number(), basis: z.string(), records: z.int() })
const productSchema = z.strictObject({ product: z.string(), title: z.string() })
const passSchema = z.strictObject({ value: z.string(), unit: z.string(), lower: z.number().optional(), upper: z.number().optional() })
const section = z.enum(['fluxer', 'preheat', 'transport', 'pot'])
const instruction = z.strictObject({ id: z.string(), revision: z.string() }).optional()

const jobSchema = z.strictObject({
  id: z.string(), shortCode: z.string(), line: z.string(), work: z.string(), title: z.string(), section, sectionTitle: z.string(), zone: z.int().optional(),
  suggestion: z.string().optional(), record: z.string().optional(), by: z.string().optional(), engineer: z.string().optional(), part: z.string().optional(), dismantled: z.string().optional(), product: z.string().optional(), surfaceC: z.number().optional(), people: z.int().optional(), reason: z.string().optional(),
  status: z.enum(['open', 'taken', 'started', 'paused', 'waiting-for-part', 'put-off', 'half-done', 'done', 'dropped']), statusText: z.string(), statusTime: time, raised: time, sourceText: z.string(),
  urgency: z.enum(['urgent', 'soon', 'plan']), urgentText: z.string().optional(), until: time.optional(),
  doNotStart: z.strictObject({ key: z.string(), text: z.string(), since: time, ranAnyway: time.optional(), ranAnywayText: z.string().optional() }).optional(),
  followUp: z.strictObject({ work: z.string(), title: z.string() }).optional(),
  holders: z.array(z.strictObject({ holder: z.string().optional(), since: time })),
  peopleNeeded: z.int(), peopleAtWork: z.int().optional(), forLoneShift: z.boolean(), qualification: z.string(), needsElectrician: z.boolean(), safety: z.boolean(),
  minutes: minutesSchema, tools: z.array(z.string()), cautions: z.array(cautionSchema).min(1), before: z.array(textStep).min(1), steps: z.array(z.string()).min(1), verification: z.string(),
  after: z.array(z.strictObject({ step: z.string(), text: z.string(), done: z.boolean() })), begun: z.boolean(), products: z.array(productSchema), passIf: z.array(passSchema), instruction,
  actions: z.array(z.string()), history: z.array(z.strictObject({ time, status: z.string(), statusText: z.string(), by: z.string().optional(), reason: z.string().optional() })),
})

const workSchema = z.strictObject({
  work: z.string(), title: z.string(), section, kind: z.string(), mends: z.array(z.string()), laterFor: z.array(z.string()), people: z.int(), qualification: z.string(), needsElectrician: z.boolean(), safety: z.boolean(),
  minutes: minutesSchema, steps: z.array(z.string()), tools: z.array(z.string()), verification: z.string(), cautions: z.array(cautionSchema).min(1), before: z.array(textStep), after: z.array(textStep), products: z.array(productSchema), passIf: z.array(passSchema), leadsTo: z.array(z.string()),
  check: z.string().optional(), followedBy: z.string().optional(), instruction,
})

const reasonSchema = z.strictObject({ id: z.string(), title: z.string() })
const photoSchema = z.strictObject({ name: z.string(), type: z.enum(['image/jpeg', 'image/png', 'image/webp']), size: z.int(), sha256: z.string() })
const csvOutcomeSchema = z.strictObject({ taken: z.int(), refused: z.array(z.strictObject({ row: z.int(), message: z.string() })) })
const CSV_BYTES_MAX = 5_000_000

const recordsQuery = z.strictObject({ lang, section: z.enum(['fluxer', 'preheat', 'transport', 'pot', 'line']).optional(), work: z.string().max(80).optional(), job: z.string().max(80).optional().describe('Id of a job: its own records'), limit: limitQuery(50) })
const saidSchema = { time, title: z.string(), sectionTitle: z.string(), productTitle: z.string().optional(), measured: z.array(z.strictObject({ value: z.string(), amount: z.number(), unit: z.string().optional() })), record: recordBodySchema.extend({ time }).describe('As it would be entered again') }
const recordSchema = z.strictObject({
  id: z.string(), ...saidSchema, entered: time.optional(), job: z.strictObject({ id: z.string(), shortCode: z.string() }).optional(), withdrawn: z.boolean().describe('Taken back: it never happened'), correctable: z.boolean().describe('Whether it can still be corrected or taken back'),
  earlier: z.array(z.strictObject({ correctedTime: time, reason: z.string(), by: z.string().optional(), ...saidSchema })).describe('What it said before, the oldest first, each with why and when it was corrected'),
})
const recordsSchema = z.strictObject({ total: z.int(), works: z.array(z.strictObject({ work: z.string(), title: z.string() })).describe('Works that were recorded on this line'), records: z.array(recordSchema) })

/** Jobs in words, the work catalogue, records by JSON and CSV, and the photos that belong to them. */
export const JOB_ROUTES: readonly Route[] = [
  get('api/jobs', 'Jobs in the order to do them: what cannot wait, what is half done, then the board’s way', z.strictObject({ jobs: z.array(jobSchema) }), ({ site, query }) => {
    const { line: only, all, lang: tag } = query as z.output<typeof jobsQuery>
    return { jobs: site.lines().filter((line) => only === undefined || line.definition.line === only).flatMap((line) => jobsView(line, languageOf(line, tag), all === 'true')) }
  }, jobsQuery),
  get('api/jobs/:job', 'One job, by its id or the short code of its card', jobSchema, ({ site, path, query }) => {
    const found = findJob(site.lines(), path['job'] ?? '')
    if (found === undefined) throw new ProblemError(404, 'Not Found', `there is no job "${path['job'] ?? ''}"`)
    return jobView(found.line, found.job, languageOf(found.line, query['lang'] as string))
  }, langQuery),
  get('api/job-reasons', 'Reasons to put off or drop a job', z.strictObject({ putOff: z.array(reasonSchema), drop: z.array(reasonSchema) }), ({ query }) => jobReasons(query['lang'] as string), langQuery),
  get('api/lines/:line/work', 'The work catalogue of a line in words', z.strictObject({ languages: z.array(z.string()), work: z.array(workSchema) }), (request) => {
    const line = lineOf(request)
    return { languages: siteCatalogue(line.definition).languages, work: workView(line, languageOf(line, request.query['lang'] as string)) }
  }, langQuery),
  post('api/lines/:line/records', 'Record work done', recordBodySchema, takenSchema, [404, 409], async (request) => {
    const line = lineOf(request)
    const record = notAhead(recordOf(signed(request, request.body as z.output<typeof recordBodySchema>), line.nowMs()), line)
    const outcome = await line.record(record)
    if (outcome.kind === 'refused') throw new ProblemError(409, 'Conflict', refusalWords(line, record.id, pageLanguage(languageOf(line, request.query['lang'] as string))) ?? outcome.message)
    return { line: line.definition.line, seq: outcome.seq }
  }),
  get('api/lines/:line/records', 'Records of work, the newest first, each with the history of its corrections', recordsSchema, (request) => {
    const { lang: tag, ...question } = request.query as z.output<typeof recordsQuery>
    const line = lineOf(request)
    return recordsView(line, languageOf(line, tag), question)
  }, recordsQuery),
  { ...get('api/lines/:line/records.csv', 'Records of work as CSV', z.string(), (request) => recordsCsv(lineOf(request))), contentType: 'text/csv; charset=utf-8' },
  {
    method: 'POST',
    path: 'api/lines/:line/records.csv',
    summary: 'Take records of work from CSV with the columns of the export; what is refused is told with its row',
    answer: csvOutcomeSchema,
    answerStatus: 202,
    problems: [400, 404, 413, 415],
    upload: async (request, body) => {
      const line = lineOf(request)
      const text = await textOf(body)
      return { status: 202, body: await takeRecordsCsv(line, text).catch((error: unknown) => Promise.reject(new ProblemError(400, 'Bad Request', error instanceof Error ? error.message : String(error)))) }
    },
    handle: () => uploaded(),
  },
  {
    method: 'POST',
    path: 'api/lines/:line/photos',
    summary: 'Keep a photo (JPEG, PNG or WebP) for a record; the answer is what the record names it by',
    query: z.strictObject({ name: z.string().trim().min(1).max(80).default('photo') }),
    answer: photoSchema,
    answerStatus: 202,
    problems: [400, 404, 409, 413, 415],
    upload: async (request, body) => {
      const outcome = await photosOf(request).take(request.query['name'] as string, body)
      switch (outcome.kind) {
        case 'photo':
          return { status: 202, body: outcome.photo }
        case 'too-big':
          throw new ProblemError(413, 'Content Too Large', `expected at most ${PHOTO_BYTES_MAX} bytes`)
        case 'not-a-photo':
          throw new ProblemError(415, 'Unsupported Media Type', 'expected a JPEG, PNG or WebP picture')
        case 'full':
          throw new ProblemError(409, 'Conflict', 'the folder of photos is full')
      }
    },
    handle: () => uploaded(),
  },
  {
    ...get('api/lines/:line/photos/:photo', 'A photo by its hash', z.string(), (request) => request),
    contentType: 'image/*',
    handle: (request) => {
      const found = photosOf(request).read(request.path['photo'] ?? '')
      if (found === undefined) throw new ProblemError(404, 'Not Found', `there is no photo "${request.path['photo'] ?? ''}"`)
      return { status: 200, body: found.bytes, contentType: found.type }
    },
  },
]

function uploaded(): never {
  throw new ProblemError(500, 'Internal Server Error', 'a body that is streamed is not handled twice')
}

/** A tag in the form the line's catalogue knows; never another language than the one asked for. */
function languageOf(line: SiteLine, tag: string): string {
  const known = catalogueLanguage(tag)
  if (known.kind === 'language') return known.language
  const { languages } = siteCatalogue(line.definition)
  const own = languages.find((language) => language.toLowerCase() === tag.trim().toLowerCase())
  if (own === undefined) throw new ProblemError(400, 'Bad Request', `lang: "${tag}"; expected one of ${languages.join(', ')}`)
  return own
}

function photosOf(request: RouteRequest): PhotoStore {
  const line = lineOf(request)
  const { folder } = request.site
  if (folder === undefined) throw new ProblemError(409, 'Conflict', 'there is no data folder for photos')
  return new PhotoStore(join(folder, 'photos', line.definition.line))
}

async function textOf(body: Readable): Promise<string> {
  const parts: Buffer[] = []
  let size = 0
  for await (const part of body as AsyncIterable<Buffer>) {
    size += part.length
    if (size > CSV_BYTES_MAX) throw new ProblemError(413, 'Content Too Large', `expected at most ${CSV_BYTES_MAX} bytes`)
    parts.push(part)
  }
  return Buffer.concat(parts).toString('utf8')
}
