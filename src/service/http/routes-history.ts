import { z } from 'zod'
import type { Language } from '../../maintenance/catalogue-language.js'
import { HistoryFault, historyRequestSchema, type HistoryRequest, type OwnHistory } from '../own-history/own-history.js'
import { historyView } from '../own-history/history-view.js'
import { suggestionSchema } from './api-schemas.js'
import { ProblemError } from './problem.js'
import { get, languageQuery, post, type Route, type RouteRequest } from './route-forms.js'

const time = z.iso.datetime()
const count = z.number().nonnegative()

const stateSchema = z.strictObject({
  id: z.string(),
  fileName: z.string(),
  status: z.enum(['waiting-for-file', 'receiving', 'running', 'done', 'failed']),
  share: z.number().min(0).max(1),
  time: z.string().optional().describe('Where in the data the work is now'),
  message: z.string().optional(),
})

const chartSchema = z.strictObject({
  feature: z.string(),
  chart: z.string(),
  recipe: z.string(),
  title: z.string(),
  unit: z.string(),
  points: z.array(z.strictObject({ time, value: z.number(), centre: z.number(), lower: z.number(), upper: z.number(), baseline: z.string() })),
})

const findingsSchema = z.strictObject({
  from: time.optional(),
  to: time.optional(),
  readings: z.strictObject({ read: count, taken: count, rejectedByReason: z.record(z.string(), count) }),
  ignoredColumns: z.array(z.string()),
  stateHours: z.record(z.string(), count),
  timeZone: z.string(),
  textbook: z.strictObject({ episodes: count, share: z.number().min(0).max(1), byChannel: z.array(z.strictObject({ channel: z.string(), points: count, episodes: count, pointsInEpisodes: count })) }).describe('What 3-sigma charts of one-minute means with the four Western Electric rules would have said'),
  signals: count,
  baselinesLearned: count,
  baselines: count,
  found: z.array(z.strictObject({ suggestion: suggestionSchema, charts: z.array(chartSchema) })),
  unseen: z.strictObject({ text: z.string(), causes: z.array(z.strictObject({ cause: z.string(), title: z.string(), checks: z.array(z.strictObject({ check: z.string(), title: z.string(), minutes: z.number() })) })) }),
})

/** Own history: say which column is what, send the file, read what it would have told you. */
export const HISTORY_ROUTES: readonly Route[] = [
  get('api/own-history', 'Histories, the newest first', z.strictObject({ histories: z.array(stateSchema) }), (request) => ({ histories: historyOf(request).list() })),
  post('api/own-history', 'Begin a history: which column is what', historyRequestSchema, stateSchema, [422], (request) => orFault(() => Promise.resolve(historyOf(request).begin(request.body as HistoryRequest)))),
  get('api/own-history/:id', 'How a history stands', stateSchema, (request) => stateOf(request)),
  {
    method: 'PUT',
    path: 'api/own-history/:id/file',
    summary: 'Send the file; the work starts when it is there',
    answer: stateSchema,
    answerStatus: 202,
    problems: [404, 415, 422],
    handle: () => {
      throw new ProblemError(415, 'Unsupported Media Type', 'expected a file')
    },
    upload: async (request, body) => {
      stateOf(request)
      return { status: 202, body: await orFault(() => historyOf(request).receive(request.path['id'] ?? '', body)) }
    },
  },
  get('api/own-history/:id/findings', 'What the history would have told you', findingsSchema, (request) => {
    const state = stateOf(request)
    const done = historyOf(request).findings(state.id)
    if (done === undefined) throw new ProblemError(409, 'Conflict', `the history is ${state.status}`)
    return historyView(done.findings, done.definition, request.query['lang'] as Language)
  }, languageQuery),
  {
    method: 'DELETE',
    path: 'api/own-history/:id',
    summary: 'Remove a history and its file',
    answer: z.strictObject({ id: z.string() }),
    answerStatus: 200,
    problems: [404],
    handle: (request) => {
      const { id } = stateOf(request)
      historyOf(request).remove(id)
      return { status: 200, body: { id } }
    },
  },
]

function historyOf({ ownHistory }: RouteRequest): OwnHistory {
  if (ownHistory === undefined) throw new ProblemError(503, 'Service Unavailable', 'this service keeps no histories')
  return ownHistory
}

function stateOf(request: RouteRequest): ReturnType<OwnHistory['begin']> {
  const state = historyOf(request).state(request.path['id'] ?? '')
  if (state === undefined) throw new ProblemError(404, 'Not Found', `there is no history "${request.path['id'] ?? ''}"`)
  return state
}

async function orFault<T>(work: () => Promise<T>): Promise<T> {
  try {
    return await work()
  } catch (error) {
    if (error instanceof HistoryFault) throw new ProblemError(422, 'Unprocessable Content', error.message)
    throw error
  }
}
