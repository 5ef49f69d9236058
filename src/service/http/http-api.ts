import type { IncomingMessage, ServerResponse } from 'node:http'
import { z } from 'zod'
import type { OwnHistory } from '../own-history/own-history.js'
import type { SiteView } from '../site-view.js'
import { EventStream } from './event-stream.js'
import { readJsonBody } from './json-body.js'
import { metricsText } from './metrics.js'
import { openApiDocument } from './openapi.js'
import { PageFiles } from './page-files.js'
import { ProblemError, send, sendJson, sendProblem } from './problem.js'
import type { PeopleFile } from '../people/people.js'
import { Sessions } from '../people/sessions.js'
import { requireRole, type Access, type Route } from './route-forms.js'
import { ROUTES } from './routes.js'
import { SESSION_COOKIE } from './routes-session.js'

/** Where the API and the page live under the host application's root. */
export const HTTP_BASE = '/wave-solder'

const SECURITY_HEADERS: Readonly<Record<string, string>> = {
  'content-security-policy': "default-src 'self'; img-src 'self' data:; style-src 'self' 'unsafe-inline'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'self'",
  'x-content-type-options': 'nosniff',
  'x-frame-options': 'SAMEORIGIN',
  'referrer-policy': 'no-referrer',
  'cross-origin-resource-policy': 'same-origin',
  'cache-control': 'no-store',
}

/** The part of an express application that is needed: Node-RED's `httpNode` is one. */
export interface HostApplication {
  use(path: string, handler: (request: IncomingMessage & { body?: unknown; originalUrl?: string }, response: ServerResponse, next: (error?: unknown) => void) => void): unknown
}

export interface HttpApiOptions {
  /** The site as it is now; undefined while no line is deployed. */
  readonly site: () => SiteView | undefined
  readonly pageFolder: string
  readonly version: string
  /** Who may enter and decide; without it whoever reaches the service may. */
  readonly people?: PeopleFile | undefined
  /** Histories dropped on the page. */
  readonly ownHistory?: () => OwnHistory
  readonly log: (message: string) => void
}

const NO_SITE: SiteView = { lines: () => [], line: () => undefined, refusedLines: () => [], outboxStatus: { lanes: [], delivered: 0, refused: 0, dropped: 0 }, historyStatus: undefined, brokers: [] }

/** Page, API, event stream, health and metrics; mounted once for the life of the host application. */
export class HttpApi {
  readonly stream = new EventStream()
  private readonly page: PageFiles
  private readonly sessions: Sessions
  private readonly routes = ROUTES.map((route) => ({ route, segments: route.path.split('/') }))

  constructor(private readonly options: HttpApiOptions) {
    this.page = new PageFiles(options.pageFolder)
    this.sessions = new Sessions(options.people, () => Date.now())
  }

  mount(application: HostApplication): void {
    application.use(HTTP_BASE, (request, response) => {
      this.handle(request, response).catch((error: unknown) => this.fail(request, response, error))
    })
  }

  private async handle(request: IncomingMessage & { body?: unknown; originalUrl?: string }, response: ServerResponse): Promise<void> {
    for (const [name, value] of Object.entries(SECURITY_HEADERS)) response.setHeader(name, value)
    const url = new URL(request.url ?? '/', 'http://localhost')
    const path = url.pathname.replace(/^\/+/, '')
    const method = request.method === 'HEAD' ? 'GET' : request.method
    // The page's own addresses are relative, so its folder must end in a slash.
    if (path === '' && !new URL(request.originalUrl ?? '/', 'http://localhost').pathname.endsWith('/')) {
      response.writeHead(308, { location: `.${HTTP_BASE}/` }).end()
      return
    }
    if (method === 'GET' && this.serveFixed(path, url, request, response)) return
    const matches = this.routes.flatMap(({ route, segments }) => {
      const parts = matchPath(segments, path)
      return parts === undefined ? [] : [{ route, parts }]
    })
    const match = matches.find(({ route }) => route.method === method)
    if (match !== undefined) {
      await this.run(match.route, match.parts, url, request, response)
      return
    }
    if (matches.length === 0) throw new ProblemError(404, 'Not Found', `there is nothing at ${HTTP_BASE}/${path}`)
    response.setHeader('allow', matches.map(({ route }) => route.method).join(', '))
    throw new ProblemError(405, 'Method Not Allowed', `expected ${matches.map(({ route }) => route.method).join(' or ')}`)
  }

  private serveFixed(path: string, url: URL, request: IncomingMessage, response: ServerResponse): boolean {
    const site = this.options.site()
    switch (path) {
      case 'healthz':
        sendHealth(response, site)
        return true
      case 'metrics':
        send(response, 200, 'text/plain; version=0.0.4; charset=utf-8', metricsText(site, this.stream))
        return true
      case 'api/openapi.json':
        sendJson(response, 200, openApiDocument(this.options.version))
        return true
      case 'api/events':
        this.stream.open(request, response, url.searchParams.get('line') ?? undefined)
        return true
      default:
        return !path.startsWith('api/') && this.page.serve(path, request, response)
    }
  }

  private async run(route: Route, path: Readonly<Record<string, string>>, url: URL, request: IncomingMessage & { body?: unknown }, response: ServerResponse): Promise<void> {
    if (route.method !== 'GET' && request.headers['sec-fetch-site'] === 'cross-site') throw new ProblemError(403, 'Forbidden', 'another site may not post here')
    const token = cookieOf(request, SESSION_COOKIE)
    const access: Access = { sessions: this.sessions, reader: this.sessions.readerOf(token), token, address: request.socket.remoteAddress ?? '' }
    requireRole(access, route.needs ?? (route.method === 'GET' ? 'wall' : 'technician'))
    const query = checked(route.query ?? z.strictObject({}), Object.fromEntries(url.searchParams), 'query') as Readonly<Record<string, unknown>>
    const asked = { site: this.options.site() ?? NO_SITE, path, query, access, ownHistory: this.options.ownHistory?.() }
    const answer = route.upload === undefined ? await route.handle({ ...asked, body: route.body === undefined ? undefined : checked(route.body, await readJsonBody(request), 'body') }) : await route.upload({ ...asked, body: undefined }, uploadOf(request))
    if (answer.cookie !== undefined) response.setHeader('set-cookie', answer.cookie)
    const contentType = answer.contentType ?? route.contentType
    if (contentType !== undefined && (typeof answer.body === 'string' || Buffer.isBuffer(answer.body))) send(response, answer.status, contentType, answer.body)
    else sendJson(response, answer.status, answer.body)
  }

  private fail(request: IncomingMessage, response: ServerResponse, error: unknown): void {
    if (response.headersSent) {
      response.destroy()
      return
    }
    // The rest of a body that was refused is not read: the next request must not come over this connection.
    if (!request.complete) response.setHeader('connection', 'close')
    if (error instanceof ProblemError) {
      sendProblem(response, error)
      return
    }
    // What went wrong inside is for the log, not for strangers.
    this.options.log(`HTTP: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`)
    sendProblem(response, new ProblemError(500, 'Internal Server Error', 'the service failed; its log tells why'))
  }
}

function cookieOf(request: IncomingMessage, name: string): string | undefined {
  const found = (request.headers.cookie ?? '').split(';').find((part) => part.trim().startsWith(`${name}=`))
  return found?.trim().slice(name.length + 1)
}

/** @throws ProblemError 415 for a type a foreign site's form could send */
function uploadOf(request: IncomingMessage): IncomingMessage {
  if (!/^application\/octet-stream\b/i.test(request.headers['content-type'] ?? '')) throw new ProblemError(415, 'Unsupported Media Type', 'expected content-type application/octet-stream')
  return request
}

function sendHealth(response: ServerResponse, site: SiteView | undefined): void {
  const lines = (site?.lines() ?? []).map((line) => ({ line: line.definition.line, state: line.projection.state, ...(line.status().paused === undefined ? {} : { paused: line.status().paused }) }))
  const refused = site?.refusedLines() ?? []
  const isPaused = lines.some((line) => line.paused !== undefined)
  const status = isPaused ? 'paused' : refused.length > 0 ? 'refused' : 'ok'
  sendJson(response, status === 'ok' ? 200 : 503, { status, lines, ...(refused.length === 0 ? {} : { refused }), outbox: (site?.outboxStatus.lanes ?? []).map(({ destination, target, count, failures, lastError }) => ({ destination, target, count, failures, ...(lastError === undefined ? {} : { lastError }) })), ...(site?.historyStatus === undefined ? {} : { history: site.historyStatus }) })
}

function matchPath(segments: readonly string[], path: string): Record<string, string> | undefined {
  const given = path.split('/')
  if (given.length !== segments.length) return undefined
  const parts: Record<string, string> = {}
  for (const [index, segment] of segments.entries()) {
    const text = decoded(given[index] ?? '')
    if (segment.startsWith(':')) parts[segment.slice(1)] = text
    else if (segment !== text) return undefined
  }
  return parts
}

function decoded(text: string): string {
  try {
    return decodeURIComponent(text)
  } catch {
    throw new ProblemError(400, 'Bad Request', 'the address is not encoded as a URL')
  }
}

function checked(schema: z.ZodType, value: unknown, where: string): unknown {
  const result = schema.safeParse(value)
  if (result.success) return result.data
  const faults = result.error.issues.map((issue) => ({ path: issue.path.join('.'), message: issue.message }))
  throw new ProblemError(400, 'Bad Request', `${where}: ${faults.map(({ path, message }) => (path === '' ? message : `${path}: ${message}`)).join('; ')}`, faults)
}
