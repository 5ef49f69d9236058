import { z } from 'zod'
import type { Language } from '../../maintenance/catalogue-language.js'
import { CHANGE_KINDS } from '../../maintenance/changes/change-entry.js'
import { changeWords } from '../../maintenance/changes/change-texts.js'
import { boardsCsv, boardsView, changesView, type ChangesQuestion } from '../changes-view.js'
import { holdView } from '../hold-view.js'
import { roundsView } from '../rounds-view.js'
import { startUpsView } from '../start-up-view.js'
import { get, language, languageQuery, lineOf, timeQuery, type Route, type RouteRequest } from './route-forms.js'

const time = z.iso.datetime()
const section = z.enum(['fluxer', 'preheat', 'transport', 'pot'])
const values = z.number()

const valueSchema = z.strictObject({
  value: z.string(), title: z.string(), unit: z.string(), possibleMin: values, possibleMax: values,
  lower: values.optional().describe('Below it somebody acts'), upper: values.optional(), target: values.optional(), recipe: z.string().optional().describe('The recipe that runs, where target and limits are its own'),
  last: z.strictObject({ time, value: values }).optional(), feature: z.string().optional().describe('Its chart'),
})

const roundCheckSchema = z.strictObject({
  check: z.string(), title: z.string(), steps: z.array(z.string()), section,
  every: z.enum(['shift', 'day', 'week', 'month', 'event']), everyText: z.string(), minutes: z.number(),
  status: z.enum(['due', 'overdue', 'done', 'not-due']), carriedOver: z.boolean(), since: time.optional(), dueBy: time.optional(),
  event: z.string().optional(), eventText: z.string().optional(), last: z.strictObject({ time, inOrder: z.boolean() }).optional(),
  asks: z.enum(['value', 'look', 'nothing']).describe('What "in order" needs beside it this time'), zones: z.int(),
  looks: z.array(z.strictObject({ finding: z.int(), text: z.string() })), values: z.array(valueSchema), cautions: z.array(z.string()).min(1),
})

const exceptionSchema = z.strictObject({ time, check: z.string(), title: z.string(), zone: z.int().optional(), reason: z.string(), text: z.string() })

const roundsSchema = z.strictObject({
  time, shift: z.strictObject({ name: z.string().optional(), from: time, until: time }), minutesDue: z.number(),
  checks: z.array(roundCheckSchema).describe('In walking order'), exceptions: z.array(exceptionSchema).describe('Found in this shift'),
})

const holdCheckSchema = z.strictObject({
  check: z.string(), title: z.string(), section, zone: z.int().optional(), done: z.boolean(), rank: z.int(), minutes: z.number(),
  how: z.string().optional(), howText: z.string().optional(), doneTime: time.optional(), failed: z.strictObject({ time, text: z.string() }).optional(),
  handChecks: z.array(z.strictObject({ check: z.string(), title: z.string() })), works: z.array(z.strictObject({ work: z.string(), title: z.string() })),
})

const holdSchema = z.strictObject({
  on: z.boolean(), id: z.string().optional(), time: time.optional(), since: time.optional(), onset: time.optional(), because: z.string().optional(), becauseText: z.string().optional(),
  sections: z.array(z.string()).optional(), suggestions: z.array(z.string()).optional(), features: z.array(z.string()).optional(),
  checksLeft: z.int(), minutesLeft: z.number(), checks: z.array(holdCheckSchema).describe('In the order a board travels; rank says which first'),
  changes: z.array(z.strictObject({ id: z.string(), time, channel: z.string(), from: z.number(), to: z.number(), reason: z.string().optional() })),
  watchedHours: z.number().optional(), neededHours: z.number().optional(), by: z.string().optional(), reason: z.string().optional(), until: time.optional(),
})

const changeSchema = z.looseObject({
  id: z.string(), time, change: z.string(), title: z.string(), source: z.enum(['entry', 'channel', 'record']),
  beforeOnset: z.boolean().optional(), minutesBefore: z.number().optional(), weight: z.number().optional().describe('0-1, near in time and place'),
})
const changesSchema = z.strictObject({ since: time, onset: time.optional(), section: z.string().optional(), changes: z.array(changeSchema) })
const stretchSchema = z.strictObject({ from: time, until: time, boards: z.int(), recipe: z.string(), lot: z.string().optional(), order: z.string().optional() })
const boardsSchema = z.strictObject({ since: time, boards: z.int(), lots: z.array(z.string()), orders: z.array(z.string()), recipes: z.array(z.string()), stretches: z.array(stretchSchema) })
const startPartSchema = z.strictObject({
  part: z.string(), actualS: z.number(), expectedS: z.number().optional(), lowerS: z.number().optional(), upperS: z.number().optional(), starts: z.int(),
  verdict: z.enum(['no-expectation', 'as-usual', 'slower', 'faster']),
})
const startsSchema = z.strictObject({ starts: z.array(z.strictObject({ id: z.string(), since: time, ready: time.optional(), pumpBeforeMelt: time.optional(), parts: z.array(startPartSchema) })) })

const changesQuery = z.strictObject({ lang: language, since: timeQuery, suggestion: z.string().max(80).optional().describe('Beside its onset; else beside that of the settings on hold') })

/** What only channels and records tell is not offered for entry. */
const ENTERED_KINDS = CHANGE_KINDS.filter((kind) => !['sensor-frozen', 'fouls-faster', 'work'].includes(kind))

/** Rounds, settings on hold, what changed, boards since an onset, starts. Entries go to `api/lines/:line/entries`. */
export const ROUND_ROUTES: readonly Route[] = [
  get('api/lines/:line/rounds', 'Checks of the rounds in walking order, which are due now and what each asks', roundsSchema, (request) => roundsView(lineOf(request), languageOf(request)), languageQuery),
  get('api/lines/:line/hold', 'Settings on hold or not, and the checks that are left', holdSchema, (request) => holdView(lineOf(request), languageOf(request)), languageQuery),
  get('api/lines/:line/changes', 'What changed, from channels, records and entries; beside an onset the likeliest reasons first', changesSchema, (request) => changesView(lineOf(request), questionOf(request), languageOf(request)), changesQuery),
  get('api/lines/:line/boards', 'Boards, lots and orders since a time or an onset', boardsSchema, (request) => boardsView(lineOf(request), questionOf(request)), changesQuery),
  { ...get('api/lines/:line/boards.csv', 'The same as CSV', z.string(), (request) => boardsCsv(lineOf(request), questionOf(request)), changesQuery), contentType: 'text/csv; charset=utf-8' },
  get('api/lines/:line/start-ups', 'Starts of the line: expected and actual time to ready of each zone and the pot, the newest first', startsSchema, (request) => startUpsView(lineOf(request)), languageQuery),
  get('api/change-kinds', 'Kinds of changes that people can enter', z.strictObject({ kinds: z.array(z.strictObject({ kind: z.string(), title: z.string() })) }), (request) => ({ kinds: ENTERED_KINDS.map((kind) => ({ kind, title: changeWords(kind, languageOf(request)) })) }), languageQuery),
]

function languageOf({ query }: RouteRequest): Language {
  return query['lang'] as Language
}

function questionOf({ query }: RouteRequest): ChangesQuestion {
  const { since, suggestion } = query as z.output<typeof changesQuery>
  return { ...(since === undefined ? {} : { sinceMs: since }), ...(suggestion === undefined ? {} : { suggestion }) }
}
