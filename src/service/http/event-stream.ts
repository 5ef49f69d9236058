import type { IncomingMessage, ServerResponse } from 'node:http'
import type { LineOutputKind } from '../../monitor/line-output.js'
import type { StoredOutput } from '../../ports/line-store.js'
import { outputText } from '../output-json.js'
import { ProblemError } from './problem.js'

const CLIENTS_MAX = 200
/** A reader that falls this far behind is let go; its browser connects again and reads the present. */
const BACKLOG_BYTES_MAX = 1_048_576
const HEARTBEAT_MS = 15_000
/** Events kept for readers who come back; who has missed more is told to read anew. */
const KEPT_MAX = 5000

const STREAMED: ReadonlySet<LineOutputKind> = new Set<LineOutputKind>(['state', 'point', 'rule-hit', 'rule-end', 'signal', 'baseline', 'suggestion', 'fact', 'insight', 'rejected'])

interface Client {
  readonly response: ServerResponse
  readonly line: string | undefined
}

/** Server-sent events: committed outputs to everybody who listens, in the outside JSON. */
export class EventStream {
  private readonly clients = new Set<Client>()
  /** The newest events, oldest first; `KEPT_MAX` and as many again before the old half goes. */
  private kept: StoredOutput[] = []
  private heartbeat: ReturnType<typeof setInterval> | undefined
  /** Readers let go because they were too slow. */
  droppedCount = 0

  get clientCount(): number {
    return this.clients.size
  }

  /**
   * A reader who lost the connection says the id of the last event it got (`Last-Event-ID`) and gets what came since;
   * where that is no longer known, an event `missed` says that everything has to be read anew.
   *
   * @param line only this line's events; all lines without it
   */
  open(request: IncomingMessage, response: ServerResponse, line: string | undefined): void {
    if (this.clients.size >= CLIENTS_MAX) throw new ProblemError(503, 'Service Unavailable', `${CLIENTS_MAX} readers listen already`)
    response.writeHead(200, { 'content-type': 'text/event-stream; charset=utf-8', 'x-accel-buffering': 'no' })
    response.write('retry: 2000\n\n')
    const client = { response, line }
    const last = request.headers['last-event-id']
    if (typeof last === 'string' && last !== '') response.write(this.since(last, line))
    this.clients.add(client)
    this.heartbeat ??= setInterval(() => this.beat(), HEARTBEAT_MS)
    request.once('close', () => this.forget(client))
  }

  publish(stored: StoredOutput): void {
    if (!STREAMED.has(stored.output.kind)) return
    this.kept.push(stored)
    if (this.kept.length >= 2 * KEPT_MAX) this.kept = this.kept.slice(-KEPT_MAX)
    if (this.clients.size === 0) return
    const text = eventText(stored)
    for (const client of this.clients) if (client.line === undefined || client.line === stored.line) this.write(client, text)
  }

  close(): void {
    for (const client of [...this.clients]) {
      this.forget(client)
      client.response.end()
    }
  }

  private since(last: string, line: string | undefined): string {
    const at = this.kept.findLastIndex((stored) => eventId(stored) === last)
    if (at < 0) return 'event: missed\ndata: {}\n\n'
    return this.kept
      .slice(at + 1)
      .filter((event) => line === undefined || event.line === line)
      .map(eventText)
      .join('')
  }

  private beat(): void {
    for (const client of this.clients) this.write(client, ': still here\n\n')
  }

  private write(client: Client, text: string): void {
    client.response.write(text)
    if (client.response.writableLength <= BACKLOG_BYTES_MAX) return
    this.droppedCount += 1
    this.forget(client)
    client.response.destroy()
  }

  private forget(client: Client): void {
    this.clients.delete(client)
    if (this.clients.size > 0 || this.heartbeat === undefined) return
    clearInterval(this.heartbeat)
    this.heartbeat = undefined
  }
}

function eventId({ line, seq, ordinal }: StoredOutput): string {
  return `${line}:${seq}:${ordinal}`
}

function eventText(stored: StoredOutput): string {
  return `event: ${stored.output.kind}\nid: ${eventId(stored)}\ndata: ${outputText(stored.output)}\n\n`
}
