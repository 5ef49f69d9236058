import type { Readable } from 'node:stream'
import { z } from 'zod'
import { catalogueLanguage, type Language } from '../../maintenance/catalogue-language.js'
import type { OwnHistory } from '../own-history/own-history.js'
import { mayDo, type Role } from '../people/people.js'
import type { Reader, Sessions } from '../people/sessions.js'
import type { SiteLine, SiteView } from '../site-view.js'
import { ProblemError } from './problem.js'

/** What a handler gets: everything checked. */
export interface RouteRequest {
  readonly site: SiteView
  readonly path: Readonly<Record<string, string>>
  readonly query: Readonly<Record<string, unknown>>
  readonly body: unknown
  /** Who asks, and what the session routes need. */
  readonly access: Access
  /** Histories dropped on the page; undefined where the data folder cannot hold any. */
  readonly ownHistory: OwnHistory | undefined
}

/** Who asks. */
export interface Access {
  readonly sessions: Sessions
  readonly reader: Reader
  readonly token: string | undefined
  readonly address: string
}

export interface RouteAnswer {
  readonly status: number
  readonly body: unknown
  /** Type of a body that is a text or bytes, where the route itself cannot say it. */
  readonly contentType?: string
  /** A cookie to set. */
  readonly cookie?: string
}

export interface Route {
  readonly method: 'GET' | 'POST' | 'PUT' | 'DELETE'
  /** Below the base, e.g. `api/lines/:line`. */
  readonly path: string
  readonly summary: string
  readonly query?: z.ZodObject
  readonly body?: z.ZodType
  readonly answer: z.ZodType
  readonly answerStatus: 200 | 202
  /** The answer is a text of this type, not JSON. */
  readonly contentType?: string
  /** Who may; without it looking is free and everything else needs a technician. */
  readonly needs?: Role
  /** The body is a file that is streamed to `upload`; `handle` is then not called. */
  readonly upload?: (request: RouteRequest, body: Readable) => Promise<RouteAnswer>
  readonly problems: readonly number[]
  handle(request: RouteRequest): RouteAnswer | Promise<RouteAnswer>
}

const LIMIT_MAX = 10_000
export const timeQuery = z.iso.datetime({ offset: true, error: 'expected an ISO 8601 time with a zone' }).transform((text) => Date.parse(text)).optional()
export const limitQuery = (usual: number): z.ZodType<number> => z.coerce.number().int().min(1).max(LIMIT_MAX).default(usual)
export const rangeQuery = { from: timeQuery, to: timeQuery }
export const language = z
  .string()
  .max(40)
  .default('en-US')
  .transform((tag, context): Language => {
    const result = catalogueLanguage(tag)
    if (result.kind === 'language') return result.language
    context.addIssue({ code: 'custom', message: `expected one of ${result.expected.join(', ')}` })
    return z.NEVER
  })
export const languageQuery = z.strictObject({ lang: language })

/** Answer to what was committed and is stepped later. */
export const takenSchema = z.strictObject({ line: z.string(), seq: z.int() })

export function get(path: string, summary: string, answer: z.ZodType, answerOf: (request: RouteRequest) => unknown, query?: z.ZodObject): Route {
  return { method: 'GET', path, summary, answer, answerStatus: 200, problems: path.includes(':') ? [400, 404] : [400], ...(query === undefined ? {} : { query }), handle: (request) => ({ status: 200, body: answerOf(request) }) }
}

export function post(path: string, summary: string, body: z.ZodType, answer: z.ZodType, problems: readonly number[], answerOf: (request: RouteRequest) => Promise<unknown>): Route {
  return { method: 'POST', path, summary, query: languageQuery, body, answer, answerStatus: 202, problems: [400, 413, 415, ...problems], handle: async (request) => ({ status: 202, body: await answerOf(request) }) }
}

/**
 * The body of somebody who is signed in carries their name, whatever it said; of nobody, what it said. An engineer who
 * answers for something is the one who is signed in.
 *
 * @throws ProblemError 403 where somebody else names an engineer
 */
export function signed<T extends { by?: string | undefined }>({ access }: Pick<RouteRequest, 'access'>, body: T): T {
  const name = access.reader.person?.name
  if (name === undefined) return body
  if (!('engineer' in body) || body.engineer === undefined) return { ...body, by: name }
  requireRole(access, 'engineer')
  return { ...body, by: name, engineer: name }
}

/** @throws ProblemError 401 where nobody is signed in, 403 where the person may not */
export function requireRole({ reader }: Access, needed: Role): void {
  if (mayDo(reader.role, needed)) return
  if (reader.person === undefined) throw new ProblemError(401, 'Unauthorized', `sign in first: this needs ${needed === 'engineer' ? 'an engineer' : 'a technician'}`)
  throw new ProblemError(403, 'Forbidden', `this needs ${needed === 'engineer' ? 'an engineer' : 'a technician'}`)
}

/** The line of the path, or a 404. */
export function lineOf({ site, path }: RouteRequest): SiteLine {
  const line = site.line(path['line'] ?? '')
  if (line === undefined) throw new ProblemError(404, 'Not Found', `there is no line "${path['line'] ?? ''}"`)
  return line
}

export function between(from: number | undefined, to: number | undefined): { fromMs?: number; toMs?: number } {
  return { ...(from === undefined ? {} : { fromMs: from }), ...(to === undefined ? {} : { toMs: to }) }
}
