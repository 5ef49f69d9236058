import { createServer, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { StoredOutput } from '../../../src/ports/line-store.js'
import { EventStream } from '../../../src/service/http/event-stream.js'

let stream: EventStream
let server: Server
let base = ''

beforeEach(async () => {
  stream = new EventStream()
  server = createServer((request, response) => stream.open(request, response, new URL(request.url ?? '/', 'http://x').searchParams.get('line') ?? undefined))
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/`
})

afterEach(() => {
  stream.close()
  server.closeAllConnections()
  server.close()
})

function state(line: string, seq: number): StoredOutput {
  return { line, seq, ordinal: 0, output: { kind: 'state', body: { timeMs: seq * 1000, state: 'production', previous: 'idle', recipe: '', because: 'channels' } } }
}

/** Reads until the text holds `until`. */
async function read(until: string, options: { readonly last?: string; readonly line?: string; readonly meanwhile?: () => void } = {}): Promise<string> {
  const abort = new AbortController()
  const response = await fetch(`${base}${options.line === undefined ? '' : `?line=${options.line}`}`, { signal: abort.signal, headers: options.last === undefined ? {} : { 'last-event-id': options.last } })
  options.meanwhile?.()
  const reader = response.body!.getReader()
  let text = ''
  while (!text.includes(until)) text += new TextDecoder().decode((await reader.read()).value)
  abort.abort()
  return text
}

describe('the event stream', () => {
  it('gives a reader who comes back what came since, and nothing twice', async () => {
    for (let seq = 1; seq <= 5; seq += 1) stream.publish(state('a', seq))
    const text = await read('id: a:6:0', { last: 'a:3:0', meanwhile: () => stream.publish(state('a', 6)) })
    expect([...text.matchAll(/^id: (.*)$/gm)].map(([, id]) => id)).toEqual(['a:4:0', 'a:5:0', 'a:6:0'])
    expect(text).not.toContain('event: missed')
  })

  it('keeps to the line that was asked for', async () => {
    stream.publish(state('a', 1))
    stream.publish(state('b', 1))
    stream.publish(state('a', 2))
    const text = await read('id: b:2:0', { last: 'a:1:0', line: 'b', meanwhile: () => stream.publish(state('b', 2)) })
    expect([...text.matchAll(/^id: (.*)$/gm)].map(([, id]) => id)).toEqual(['b:1:0', 'b:2:0'])
  })

  it('says where something was missed that is no longer known', async () => {
    for (let seq = 1; seq <= 10_001; seq += 1) stream.publish(state('a', seq))
    expect(await read('missed', { last: 'a:1:0' })).toContain('event: missed')
    const kept = await read('id: a:10001:0', { last: 'a:9990:0' })
    expect([...kept.matchAll(/^id: /gm)]).toHaveLength(11)
    const fresh = await read('retry')
    expect(fresh).not.toContain('event:')
  })
})
