import { z } from 'zod'
import type { Language } from '../../maintenance/catalogue-language.js'
import { entryBodySchema, entryOf, notAhead, type EntryBody } from '../entry-inputs.js'
import { refusalWords } from '../hold-view.js'
import { withinRetention } from '../names-of-people.js'
import { outputJson } from '../output-json.js'
import { between, get, limitQuery, lineOf, post, rangeQuery, requireRole, signed, type Route, type RouteRequest } from './route-forms.js'
import { ProblemError } from './problem.js'

const FACT_TYPES = ['record', 'job', 'round', 'rounds', 'boards', 'proof', 'reference', 'hold', 'change', 'interval', 'start-up', 'plan', 'stop', 'stock', 'paper', 'refused'] as const
const factSchema = z.looseObject({ type: z.enum(FACT_TYPES), id: z.string(), time: z.iso.datetime() })
const factsQuery = z.strictObject({ type: z.enum(FACT_TYPES).optional(), history: z.enum(['true', 'false']).default('false').describe('true: every version from the history; else each fact as it holds now'), ...rangeQuery, limit: limitQuery(500) })

/** Facts of the maintenance side of a line, and the way in for entries of people. */
export const FACT_ROUTES: readonly Route[] = [
  get('api/lines/:line/facts', 'Records, jobs, rounds, proofs, holds, changes and intervals, oldest first', z.strictObject({ facts: z.array(factSchema) }), (request) => {
    const { type, history, from, to, limit } = request.query as z.output<typeof factsQuery>
    const line = lineOf(request)
    if (history === 'true') {
      const stored = line.store.outputs({ line: line.definition.line, kinds: ['fact'], limit, ...(type === undefined ? {} : { factType: type }), ...between(from, to) })
      return { facts: stored.map(({ output }) => outputJson(output.kind === 'fact' ? { kind: 'fact', body: withinRetention(output.body, line.definition, line.nowMs()) } : output)) }
    }
    const now = FACT_TYPES.filter((known) => type === undefined || known === type).flatMap((known) => line.projection.factsOf(known))
    const facts = now.filter(({ timeMs }) => timeMs >= (from ?? 0) && timeMs <= (to ?? Number.MAX_SAFE_INTEGER)).sort((a, b) => a.timeMs - b.timeMs)
    return { facts: facts.slice(-limit).map((fact) => outputJson({ kind: 'fact', body: withinRetention(fact, line.definition, line.nowMs()) })) }
  }, factsQuery),
  get('api/lines/:line/insights', 'How features move and when they reach their limits; what the budget cost', z.strictObject({ insights: z.array(z.looseObject({ type: z.string(), time: z.iso.datetime() })) }), (request) => ({
    insights: lineOf(request).projection.insights().map((insight) => outputJson({ kind: 'insight', body: insight })),
  })),
  post('api/lines/:line/entries', 'Enter a round, a step of a job, a correction, a word on settings on hold or on what changed', entryBodySchema, z.strictObject({ line: z.string(), seq: z.int(), entry: z.string() }), [404, 409], async (request) => {
    const line = lineOf(request)
    const body = request.body as EntryBody
    if (body.type === 'hold' && body.action !== 'explain-change') requireRole(request.access, 'engineer')
    const entry = notAhead(entryOf(ofWhoDidIt(signed(request, body), request), line.nowMs()), line)
    const outcome = await line.enter(entry)
    if (outcome.kind === 'refused') throw new ProblemError(409, 'Conflict', refusalWords(line, entry.id, request.query['lang'] as Language) ?? outcome.message)
    return { line: line.definition.line, seq: outcome.seq, entry: entry.id }
  }),
]

/** With a PIN nobody writes another person's name into what they correct: the record keeps the one it has. */
function ofWhoDidIt(body: EntryBody, { access }: Pick<RouteRequest, 'access'>): EntryBody {
  if (body.type !== 'correction' || body.record === undefined || access.reader.person === undefined) return body
  const { by: _by, ...record } = body.record
  return { ...body, record }
}
