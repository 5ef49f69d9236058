import { once } from 'node:events'
import { createServer, type IncomingHttpHeaders, type Server } from 'node:http'
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { createWebhookDelivery } from '../../src/adapters/webhook/webhook-delivery.js'
import { DeliveryDelayedError, DeliveryRefusedError } from '../../src/ports/delivery.js'
import type { OutboxItem } from '../../src/ports/line-store.js'

interface Call {
  readonly method: string | undefined
  readonly headers: IncomingHttpHeaders
  readonly body: string
}

let server: Server
let url: string
let answer: { status: number; body?: string; headers?: Record<string, string>; silent?: boolean }
let calls: Call[]

beforeAll(async () => {
  server = createServer((request, response) => {
    let body = ''
    request.on('data', (part: Buffer) => (body += part.toString()))
    request.on('end', () => {
      calls.push({ method: request.method, headers: request.headers, body })
      if (answer.silent === true) return
      response.writeHead(answer.status, answer.headers).end(answer.body)
    })
  })
  server.listen(0, '127.0.0.1')
  await once(server, 'listening')
  const address = server.address()
  url = `http://127.0.0.1:${typeof address === 'object' && address !== null ? address.port : 0}/hook`
})

beforeEach(() => {
  calls = []
  answer = { status: 204 }
})

afterAll(() => {
  server.closeAllConnections()
  server.close()
})

function item(): OutboxItem {
  return { id: 'line-a:7:0:webhook', line: 'line-a', destination: 'webhook', target: url, payload: '{"id":"s-1","title":"ü"}', retain: false, createdMs: 1 }
}

describe('delivery by webhook', () => {
  it('posts the payload as JSON with the stable id', async () => {
    await createWebhookDelivery({ headersOf: (target) => ({ authorization: `Bearer for ${target === url ? 'it' : 'other'}` }) })(item())
    expect(calls).toHaveLength(1)
    expect(calls[0]).toMatchObject({ method: 'POST', body: '{"id":"s-1","title":"ü"}', headers: { 'content-type': 'application/json', 'idempotency-key': 'line-a:7:0:webhook', authorization: 'Bearer for it' } })
  })

  it.each([400, 410, 422])('gives up on answer %i, which another attempt would not change', async (status) => {
    answer = { status, body: 'unknown field\n' }
    const error = await failureOf()
    expect(error).toBeInstanceOf(DeliveryRefusedError)
    expect(error.message).toBe(`answer ${status} unknown field`)
  })

  it.each([401, 404, 500, 502])('fails on answer %i, to be tried again', async (status) => {
    answer = { status }
    const error = await failureOf()
    expect(error).not.toBeInstanceOf(DeliveryRefusedError)
    expect(error.message).toBe(`answer ${status}`)
  })

  it('honours the time a busy receiver asks for', async () => {
    answer = { status: 429, headers: { 'retry-after': '30' } }
    expect(await failureOf()).toMatchObject({ afterMs: 30_000 })
    expect(await failureOf()).toBeInstanceOf(DeliveryDelayedError)
  })

  it('follows no redirect', async () => {
    answer = { status: 307, headers: { location: url } }
    expect((await failureOf()).message).toBe('answer 307')
    expect(calls).toHaveLength(1)
  })

  it('keeps only the beginning of an endless answer', async () => {
    answer = { status: 500, body: 'x'.repeat(100_000) }
    expect((await failureOf()).message.length).toBeLessThan(300)
  })

  it('fails without an answer, and says why', async () => {
    answer = { status: 200, silent: true }
    expect((await failureOf(50)).message).toContain('no answer')
    const gone = createWebhookDelivery()({ ...item(), target: 'http://127.0.0.1:9/' })
    await expect(gone).rejects.toThrow('no answer')
  })
})

async function failureOf(timeoutMs = 5_000): Promise<Error> {
  try {
    await createWebhookDelivery({ timeoutMs })(item())
  } catch (error) {
    return error as Error
  }
  throw new Error('the delivery did not fail')
}
