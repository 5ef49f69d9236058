import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { createServer, request, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../src/line/line-definition.js'
import { HttpApi, type HostApplication } from '../../src/service/http/http-api.js'
import { ROUTES } from '../../src/service/http/routes.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'
import { demoConfig, samplesAsMessage } from '../../src/simulator/demo-line.js'
import { describeLine } from '../../src/simulator/line-description.js'
import { createSimulation } from '../../src/simulator/simulation.js'

const express = createRequire(import.meta.url)('express') as () => HostApplication & Parameters<typeof createServer>[1]

let folder = ''
let site: Site
let server: Server
let base = ''
const logged: string[] = []

/** Five and a half days of a line that gets a fault, as fast as it goes. */
async function feedFaultyLine(): Promise<void> {
  const config = demoConfig({ seed: 7, line: 'faulty', startMs: Date.UTC(2026, 0, 5) })
  const parsed = parseLineDefinition(describeLine(config, { line: 'north-1', title: 'North 1' }))
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  const line = site.openLine({ definition: parsed.definition, stages: undefined, mqtt: false })
  const simulation = createSimulation(config)
  while (line.projection.allSuggestions().length === 0) {
    const ticks: string[] = []
    while (ticks.length < 2000) {
      const sample = simulation.next()
      if (sample === undefined) throw new Error('the simulated line has ended without a suggestion')
      ticks.push(samplesAsMessage(sample))
    }
    const { seq } = await line.submit({ kind: 'message', topic: 'wave-solder/north-1/telemetry', payload: `[${ticks.join(',')}]` })
    await line.stepped(seq)
  }
  const { seq } = await line.submit({ kind: 'record', record: { id: 'first-record', timeMs: line.nowMs(), section: 'pot', work: 'skim-dross', finding: 1 } })
  await line.stepped(seq)
  await line.enter({ type: 'job', id: 'first-job', timeMs: line.nowMs(), action: 'add', work: 'clean-vents', zone: 2 })
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'api-'))
  const pageFolder = join(folder, 'page')
  mkdirSync(pageFolder)
  writeFileSync(join(pageFolder, 'index.html'), '<!doctype html><title>page</title>')
  writeFileSync(join(folder, 'secret.html'), 'secret')
  site = await acquireSite({ dataFolder: join(folder, 'data'), log: (message) => logged.push(message) })
  const api = new HttpApi({ site: () => site, pageFolder, version: '0.0.0', log: (message) => logged.push(message) })
  site.onOutput((stored) => api.stream.publish(stored))
  const application = express()
  api.mount(application)
  server = createServer(application)
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/wave-solder`
  await feedFaultyLine()
}, 180_000)

afterAll(async () => {
  server.closeAllConnections()
  server.close()
  await releaseSite(site)
  rmSync(folder, { recursive: true, force: true })
})

interface Answer {
  readonly status: number
  readonly type: string
  readonly body: Record<string, unknown>
}

async function ask(path: string, init?: RequestInit): Promise<Answer> {
  const response = await fetch(`${base}/${path}`, init)
  return { status: response.status, type: response.headers.get('content-type') ?? '', body: (await response.json()) as Record<string, unknown> }
}

function post(path: string, body: unknown): Promise<Answer> {
  return ask(path, { method: 'POST', headers: { 'content-type': 'application/json' }, body: typeof body === 'string' ? body : JSON.stringify(body) })
}

async function firstSuggestion(): Promise<Record<string, unknown> & { id: string }> {
  const { body } = await ask('api/suggestions')
  return (body['suggestions'] as (Record<string, unknown> & { id: string })[])[0]!
}

/** Nothing of this has come about on this line yet. */
const MAY_BE_EMPTY = ['/stops', '/insights']

describe('the HTTP API', () => {
  it('answers every GET route in the form it promises', async () => {
    const { id } = await firstSuggestion()
    const job = ((await ask('api/jobs')).body['jobs'] as { id: string }[])[0]!
    // Files (CSV, calendars, reports, photos) have tests of their own.
    const gets = ROUTES.filter(({ method, path, contentType }) => method === 'GET' && contentType === undefined && !path.startsWith('api/own-history') && (!path.includes(':id') || path.startsWith('api/suggestions')))
    expect(gets.length).toBeGreaterThan(8)
    for (const route of gets) {
      const path = route.path.replace(':line', 'north-1').replace(':id', id).replace(':job', job.id) + (/[/-]points$|\/capability$/.test(route.path) ? '?feature=preheat.zone-1.temperature.offset' : '')
      const { status, type, body } = await ask(path)
      expect(status, path).toBe(200)
      expect(type).toContain('application/json')
      const parsed = route.answer.safeParse(body)
      expect(parsed.success ? [] : parsed.error.issues, path).toEqual([])
      // An answer that is a list of something has some of it to show, or the test says nothing.
      if (Object.values(body).every(Array.isArray) && !MAY_BE_EMPTY.some((end) => path.endsWith(end))) expect(Object.values(body).flat().length, path).toBeGreaterThan(0)
    }
  })

  it('gives points oldest first, the newest when there are too many, and within a time', async () => {
    const points = async (more: string): Promise<{ time: string; chart: string }[]> => (await ask(`api/lines/north-1/points?feature=preheat.zone-1.temperature.offset&chart=cusum-up${more}`)).body['points'] as { time: string; chart: string }[]
    const all = await points('&limit=10000')
    expect(all.length).toBeGreaterThan(100)
    expect([...all].map(({ time }) => time).sort()).toEqual(all.map(({ time }) => time))
    expect(await points('&limit=10')).toEqual(all.slice(-10))
    const [from, to] = [all[20]!.time, all[30]!.time]
    expect((await points(`&from=${from}&to=${to}`)).every(({ time }) => time >= from && time <= to)).toBe(true)
    expect((await points(`&from=${from}&to=${to}`)).length).toBeGreaterThanOrEqual(10)
  })

  it('gives what engineers look at: tables, capability, made charts, marks, baselines with their costs', async () => {
    const feature = 'preheat.zone-2.temperature.offset'
    const csv = await fetch(`${base}/api/lines/north-1/points.csv?feature=${feature}`)
    expect(csv.headers.get('content-type')).toContain('text/csv')
    const rows = (await csv.text()).trimEnd().split('\r\n')
    expect(rows[0]).toMatch(/^time,window_start,feature,unit,chart,value/)
    expect(rows.length).toBeGreaterThan(100)
    expect((await ask(`api/lines/north-1/capability?feature=${feature}`)).body['result']).toEqual({ kind: 'no-limits' })
    const stated = (await ask(`api/lines/north-1/capability?feature=${feature}&lower=-20&upper=20`)).body['result'] as { kind: string }
    expect(['capability', 'not-stable', 'not-normal', 'too-few-values']).toContain(stated.kind)
    expect(await ask(`api/lines/north-1/capability?feature=${feature}&lower=2&upper=1`)).toMatchObject({ status: 400 })
    expect(await ask('api/lines/north-1/capability?feature=nothing')).toMatchObject({ status: 404 })
    const ewma = (await ask(`api/lines/north-1/derived-points?feature=${feature}&kind=ewma`)).body['points'] as { statistic: number; upper: number }[]
    expect(ewma.length).toBeGreaterThan(100)
    expect(ewma.at(-1)!.upper).toBeGreaterThan(0)
    expect((await ask('api/lines/north-1/together')).body).toMatchObject({ kind: 'together', features: [1, 2, 3].map((zone) => `preheat.zone-${zone}.temperature.offset`) })
    const { marks } = (await ask('api/lines/north-1/marks?lang=es')).body as { marks: { kind: string; section?: string; words: string }[] }
    expect(marks.find(({ kind }) => kind === 'record')).toMatchObject({ section: 'pot', words: expect.stringMatching(/escoria/i) })
    const { baselines, falsePerWeek, textbook } = (await ask('api/lines/north-1/baselines')).body as { baselines: { feature: string; status: string; cost: { falsePerWeek: number } }[]; falsePerWeek: number; textbook: { fourRules: number } }
    expect(baselines.find((baseline) => baseline.feature === feature)).toMatchObject({ status: expect.stringMatching(/learning|provisional|suspended/) })
    expect(textbook.fourRules / falsePerWeek).toBeGreaterThan(50)
  })

  it('gives texts in the language asked for, and refuses another', async () => {
    const english = (await ask('api/suggestions?lang=en')).body['suggestions'] as { headline: string }[]
    const spanish = (await ask('api/suggestions?lang=es-MX')).body['suggestions'] as { headline: string }[]
    expect(spanish[0]?.headline).not.toBe(english[0]?.headline)
    expect(await ask('api/suggestions?lang=xx')).toMatchObject({ status: 400, type: expect.stringContaining('application/problem+json') })
  })

  it('takes replies and records, tells what is impossible now, and shows the new state at once', async () => {
    const { id } = await firstSuggestion()
    const taken = await post(`api/suggestions/${id}/replies`, { action: 'take', by: 'Robin' })
    expect(taken).toMatchObject({ status: 202, body: { suggestion: { id, status: 'taken' } } })
    expect(await post(`api/suggestions/${id}/replies`, { action: 'take' })).toMatchObject({ status: 409, body: { title: 'Conflict', status: 409 } })
    expect(await post('api/lines/north-1/records', { section: 'pot', work: 'skim-dross', finding: 1 })).toMatchObject({ status: 202, body: { line: 'north-1', seq: expect.any(Number) } })
    const { body } = await ask(`api/suggestions/${id}`)
    expect(body).toMatchObject({ id, history: expect.arrayContaining([expect.objectContaining({ status: 'taken', by: 'Robin' })]) })
  })

  it('journals a decision on a baseline, and refuses one about nothing', async () => {
    const feature = 'preheat.zone-2.temperature.offset'
    expect(await post('api/lines/north-1/baselines', { feature, decision: 'accept', by: 'engineer' })).toMatchObject({ status: 202 })
    await expect.poll(async () => ((await ask('api/lines/north-1/features')).body['features'] as { feature: string; baseline: { status: string } }[]).find((entry) => entry.feature === feature)?.baseline.status).toMatch(/accepted|provisional|learning|suspended/)
    expect(await post('api/lines/north-1/baselines', { feature: 'oven.mood', decision: 'accept' })).toMatchObject({ status: 409 })
  })

  it.each([
    ['GET', 'api/lines/nobody', 404, undefined],
    ['GET', 'api/suggestions/nobody', 404, undefined],
    ['GET', 'api/nothing', 404, undefined],
    ['GET', 'api/lines/north-1/points', 400, undefined],
    ['GET', 'api/lines/north-1/points?feature=x&limit=0', 400, undefined],
    ['GET', 'api/lines/north-1/points?feature=x&from=yesterday', 400, undefined],
    ['GET', 'api/lines/north-1/points?feature=x&chrat=y', 400, undefined],
    ['GET', 'api/lines/%E0%A4%A', 400, undefined],
    ['DELETE', 'api/lines', 405, undefined],
    ['POST', 'api/suggestions', 405, '{}'],
    ['POST', 'api/lines/nobody/records', 404, '{"section":"pot","work":"skim-dross"}'],
    ['POST', 'api/lines/north-1/records', 400, '{'],
    ['POST', 'api/lines/north-1/records', 400, '[]'],
    ['POST', 'api/lines/north-1/records', 400, '{"section":"oven","work":"x"}'],
    ['POST', 'api/lines/north-1/records', 400, '{"section":"pot","work":"x","__proto__":{"a":1}}'],
    ['POST', 'api/lines/north-1/records', 413, `{"section":"pot","work":"x","remark":"${'x'.repeat(40_000)}"}`],
    ['POST', 'api/suggestions/nobody/replies', 404, '{"action":"take"}'],
    ['POST', 'api/suggestions/nobody/replies', 400, '{"action":"decline"}'],
  ])('answers %s %s with a problem of status %d', async (method, path, status, body) => {
    const answer = await ask(path, { method, ...(body === undefined ? {} : { body, headers: { 'content-type': 'application/json' } }) })
    expect(answer).toMatchObject({ status, body: { type: 'about:blank', status, title: expect.any(String), detail: expect.any(String) } })
    expect(answer.type).toContain('application/problem+json')
  })

  it('takes no form and nothing from another site', async () => {
    expect((await ask('api/lines/north-1/records', { method: 'POST', headers: { 'content-type': 'application/x-www-form-urlencoded' }, body: 'section=pot&work=x' })).status).toBe(415)
    // fetch would not let a script set this header, and a browser sets it by itself.
    const status = await new Promise<number>((resolve, reject) => {
      const call = request(`${base}/api/lines/north-1/records`, { method: 'POST', headers: { 'content-type': 'application/json', 'sec-fetch-site': 'cross-site' } }, (response) => resolve(response.statusCode ?? 0))
      call.once('error', reject)
      call.end('{"section":"pot","work":"skim-dross"}')
    })
    expect(status).toBe(403)
  })

  it('streams committed outputs in the very form the history has', async () => {
    const abort = new AbortController()
    const response = await fetch(`${base}/api/events?line=north-1`, { signal: abort.signal })
    expect(response.headers.get('content-type')).toContain('text/event-stream')
    const { id } = await firstSuggestion()
    const reader = response.body!.pipeThrough(new TextDecoderStream()).getReader()
    const read = (async () => {
      let text = ''
      while (!text.includes('event: suggestion')) text += (await reader.read()).value ?? ''
      while (!/event: suggestion\nid: .*\ndata: .*\n\n/.test(text)) text += (await reader.read()).value ?? ''
      return text
    })()
    await post(`api/suggestions/${id}/replies`, { action: 'put-off', reason: 'no-time-now', until: new Date(site.line('north-1')!.nowMs() + 86_400_000).toISOString() })
    const event = /event: suggestion\nid: (.*)\ndata: (.*)\n\n/.exec(await read)
    expect(event?.[1]).toMatch(/^north-1:\d+:\d+$/)
    expect(JSON.parse(event?.[2] ?? '')).toMatchObject({ schemaVersion: 1, id, status: 'put-off', time: expect.stringMatching(/Z$/) })
    abort.abort()
  })

  it('describes itself: every route stands in the OpenAPI document', async () => {
    const { body } = await ask('api/openapi.json')
    const paths = body['paths'] as Record<string, Record<string, unknown>>
    for (const { method, path } of ROUTES) expect(paths[`/${path.replaceAll(/:([a-z]+)/g, '{$1}')}`]?.[method.toLowerCase()], path).toBeDefined()
    expect(body['openapi']).toBe('3.1.0')
  })

  it('gives health and metrics', async () => {
    expect(await ask('healthz')).toMatchObject({ status: 200, body: { status: 'ok', lines: [{ line: 'north-1' }] } })
    const metrics = await (await fetch(`${base}/metrics`)).text()
    expect(metrics).toMatch(/^wave_solder_events_processed_total\{line="north-1"\} \d+$/m)
    expect(metrics.split('\n').filter((line) => line !== '' && !/^(# (HELP|TYPE) |[a-z_]+(\{[^}]*\})? -?[0-9.e+-]+$)/.test(line))).toEqual([])
  })

  it('serves the page and nothing outside its folder', async () => {
    const page = await fetch(`${base}/`)
    expect(await page.text()).toContain('<title>page</title>')
    expect(page.headers.get('content-security-policy')).toContain("default-src 'self'")
    expect(page.headers.get('x-content-type-options')).toBe('nosniff')
    for (const path of ['../secret.html', '%2e%2e/secret.html', '..%2fsecret.html', 'secret.html']) {
      const status = await new Promise<number>((resolve, reject) => request(`${base}/`.replace(/\/$/, '') + '/' + path, { path: `/wave-solder/${path}` }, (response) => resolve(response.statusCode ?? 0)).once('error', reject).end())
      expect(status, path).toBe(404)
    }
    expect((await fetch(base, { redirect: 'manual' })).headers.get('location')).toBe('./wave-solder/')
  })

  it('has logged no failure of its own, and no event was too much for the line', async () => {
    expect(logged).toEqual([])
    expect((await ask('api/lines/north-1')).body['rejected']).toEqual({ total: 0, byReason: {} })
  })
})
