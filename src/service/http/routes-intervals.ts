import { z } from 'zod'
import type { Language } from '../../maintenance/catalogue-language.js'
import { INTERVAL_SCALES, INTERVAL_VERDICTS } from '../../maintenance/intervals/interval-fact.js'
import { intervalCurvesOf, intervalViews } from '../interval-view.js'
import { ProblemError } from './problem.js'
import { get, languageQuery, lineOf, type Route } from './route-forms.js'

const amount = z.number().nonnegative()
const count = z.int().nonnegative()

const intervalSchema = z.strictObject({
  id: z.string(),
  work: z.string(),
  title: z.string(),
  section: z.string(),
  zone: z.int().optional(),
  scale: z.enum(INTERVAL_SCALES),
  interval: amount.describe('In force, in the unit of the scale'),
  intervalText: z.string(),
  startInterval: amount.describe("The trade's usual interval to start with"),
  startText: z.string(),
  verdict: z.enum(INTERVAL_VERDICTS),
  verdictText: z.string(),
  words: z.string().describe('The verdict and why, in a sentence'),
  safety: z.boolean().describe('Never lengthened'),
  age: amount,
  ageText: z.string(),
  ageKnown: z.boolean().describe('false: nothing is recorded yet; the age counts from the first data and may be more'),
  used: amount.describe('Share of the interval that is used'),
  events: count,
  censored: count,
  range: z.array(amount).length(2).optional().describe('Where the cost lies within 5 % of its least'),
  rangeText: z.string().optional(),
  sisters: z.strictObject({ lines: count, interval: amount, intervalText: z.string() }).optional().describe('With what sister lines have learned'),
})

const curvesSchema = z.strictObject({
  observed: z.array(z.strictObject({ age: amount, share: z.number() })),
  predicted: z.array(z.strictObject({ age: amount, share: z.number() })),
  cost: z.array(z.strictObject({ age: amount, ratio: z.number() })).describe('Cost by interval; 1 is the least'),
  life: z.strictObject({ shape: z.number(), scale: z.number() }).optional(),
})

/** How often each job is needed on a line, and what stands behind it. */
export const INTERVAL_ROUTES: readonly Route[] = [
  get('api/lines/:line/intervals', 'Intervals of all jobs, those used up furthest first', z.strictObject({ intervals: z.array(intervalSchema) }), (request) => ({ intervals: intervalViews(lineOf(request), request.site.lines(), request.query['lang'] as Language) }), languageQuery),
  get('api/lines/:line/intervals/:id/curves', 'Share still in order and cost by age behind one interval', curvesSchema, (request) => {
    const curves = intervalCurvesOf(lineOf(request), request.path['id'] ?? '')
    if (curves === undefined) throw new ProblemError(404, 'Not Found', `there is no interval "${request.path['id'] ?? ''}"`)
    return curves
  }),
]
