import type { IncomingMessage } from 'node:http'
import { ProblemError } from './problem.js'

/** Replies, records and decisions are short. */
const BODY_BYTES_MAX = 32_768

/**
 * Reads a JSON body. A body parser of the host application that came first is respected.
 *
 * @throws ProblemError 415 if it is not JSON by its type, 413 if it is too long, 400 if it cannot be read
 */
export async function readJsonBody(request: IncomingMessage & { readonly body?: unknown }): Promise<unknown> {
  // The type is demanded so that a form of a foreign site cannot post here without the browser asking first.
  if (!/^application\/json\b/i.test(request.headers['content-type'] ?? '')) throw new ProblemError(415, 'Unsupported Media Type', 'expected content-type application/json')
  if (request.body !== undefined) return request.body
  const parts: Buffer[] = []
  let bytes = 0
  for await (const part of request as AsyncIterable<Buffer>) {
    bytes += part.length
    if (bytes > BODY_BYTES_MAX) throw new ProblemError(413, 'Content Too Large', `expected at most ${BODY_BYTES_MAX} bytes`)
    parts.push(part)
  }
  try {
    return JSON.parse(Buffer.concat(parts).toString('utf8')) as unknown
  } catch {
    throw new ProblemError(400, 'Bad Request', 'the body is not JSON')
  }
}
