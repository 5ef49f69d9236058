import type { ServerResponse } from 'node:http'

/** An answer that says no, in the form of RFC 9457. */
export class ProblemError extends Error {
  constructor(
    readonly status: number,
    readonly title: string,
    detail: string,
    /** Where in the request, e.g. `until`. */
    readonly faults?: readonly { readonly path: string; readonly message: string }[],
  ) {
    super(detail)
  }
}

export function sendJson(response: ServerResponse, status: number, body: unknown): void {
  send(response, status, 'application/json; charset=utf-8', JSON.stringify(body))
}

export function sendProblem(response: ServerResponse, problem: ProblemError): void {
  const body = { type: 'about:blank', title: problem.title, status: problem.status, detail: problem.message, ...(problem.faults === undefined ? {} : { faults: problem.faults }) }
  send(response, problem.status, 'application/problem+json', JSON.stringify(body))
}

export function send(response: ServerResponse, status: number, contentType: string, body: string | Buffer): void {
  response.writeHead(status, { 'content-type': contentType, 'content-length': Buffer.byteLength(body) })
  response.end(body)
}
