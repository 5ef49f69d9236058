import { mkdtempSync, rmSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parse } from 'csv-parse/sync'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { parseLineDefinition, type LineDefinitionInput } from '../../src/line/line-definition.js'
import { HttpApi, type HostApplication } from '../../src/service/http/http-api.js'
import { COST_ROUTES } from '../../src/service/http/routes-cost.js'
import { PLAN_ROUTES } from '../../src/service/http/routes-plan.js'
import { REPORT_ROUTES } from '../../src/service/http/routes-report.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'

const express = createRequire(import.meta.url)('express') as () => HostApplication & Parameters<typeof createServer>[1]

/** Monday 23 November 2026, 04:00 UTC. */
const NOW_MS = Date.UTC(2026, 10, 23, 4)
const HOUR_MS = 3_600_000
const clock = { nowMs: () => NOW_MS }
const HOSTILE = '<script>alert(1)</script>'
const DAYS = ['mon', 'tue', 'wed', 'thu', 'fri'] as const

const definition = (line: string, more: Partial<LineDefinitionInput> = {}): LineDefinitionInput => ({
  line,
  title: line === 'line-b' ? `Line B ${HOSTILE}` : 'Line A',
  timeZone: 'Europe/Madrid',
  shifts: [
    { name: 'early', days: [...DAYS], start: '06:00', end: '14:00', people: 2 },
    { name: 'saturday', days: ['sat'], start: '06:00', end: '14:00', people: 2, production: false },
  ],
  costs: { labourPerHour: 40, lineStopPerHour: 300, unplannedStopPerHour: 500, cleaningMethods: [{ method: 'solvent', passes: 4, hoursPerPass: 0.5, litresPerPass: 0.5, pricePerLitre: 6, flashPointC: 12 }, { method: 'engineered', passes: 1, hoursPerPass: 0.75, litresPerPass: 0.4, pricePerLitre: 22, flashPointC: null }] },
  ...more,
})

let folder = ''
let site: Site
let server: Server
let base = ''

function openLines(): void {
  for (const line of ['line-a', 'line-b']) {
    const parsed = parseLineDefinition(definition(line))
    if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
    site.openLine({ definition: parsed.definition, stages: undefined, mqtt: false })
  }
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'plan-'))
  site = await acquireSite({ dataFolder: join(folder, 'data'), log: () => undefined, clock })
  const api = new HttpApi({ site: () => site, pageFolder: folder, version: '0.0.0', log: () => undefined })
  const application = express()
  api.mount(application)
  server = createServer(application)
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/wave-solder`
  openLines()
}, 60_000)

afterAll(async () => {
  server.closeAllConnections()
  server.close()
  await releaseSite(site)
  rmSync(folder, { recursive: true, force: true })
})

async function ask(path: string, init?: RequestInit): Promise<{ readonly status: number; readonly type: string; readonly text: string; readonly body: Record<string, unknown> }> {
  const response = await fetch(`${base}/${path}`, init)
  const text = await response.text()
  const type = response.headers.get('content-type') ?? ''
  return { status: response.status, type, text, body: type.includes('json') ? (JSON.parse(text) as Record<string, unknown>) : {} }
}

function post(path: string, body: unknown): ReturnType<typeof ask> {
  return ask(path, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })
}

const enter = (line: string, body: object): ReturnType<typeof ask> => post(`api/lines/${line}/entries`, body)
const plan = async (query = ''): Promise<Record<string, unknown> & { stops: (Record<string, unknown> & { id: string; line: string; jobs: unknown[] })[] }> => (await ask(`api/plan?${query}`)).body as never

describe('plan, stops, costs and reports over HTTP', () => {
  it('answers every route in the form it promises, also before there is anything', async () => {
    for (const route of [...PLAN_ROUTES, ...COST_ROUTES, ...REPORT_ROUTES].filter(({ method, path }) => method === 'GET' && path !== 'api/stop-request')) {
      const path = route.path.replace(':line', 'line-a')
      const { status, type, body, text } = await ask(path)
      expect(status, `${path} ${text.slice(0, 300)}`).toBe(200)
      expect(type).toContain((route.contentType ?? 'application/json').split(';')[0])
      if (route.contentType === undefined) expect(route.answer.safeParse(body).error?.issues ?? [], path).toEqual([])
      expect((await ask(`${path}?lang=xx`)).status, path).toBe(400)
    }
  })

  it('checks a definition with the site’s own part of the work catalogue before it is used', async () => {
    const check = async (more: object): Promise<unknown> => (await post('api/definition-check', { line: 'line-c', channels: [], ...more })).body['faults']
    expect(await check({})).toEqual([])
    expect(await check({ siteWork: { edits: { 'clean-chain': { people: 1 } } } })).toEqual([{ path: 'siteWork.edits.clean-chain.people', message: expect.stringContaining('at least 2') as string }])
  })

  it('plans jobs that people add, one stop for several', async () => {
    for (const [work, section] of [['clean-nozzle', 'fluxer'], ['clean-rails', 'transport']]) expect((await enter('line-a', { type: 'job', action: 'add', work, section })).status).toBe(202)
    expect((await enter('line-b', { type: 'job', action: 'add', work: 'strip-pump', section: 'pot' })).status).toBe(202)
    const { stops, week, agreed } = await plan()
    expect(week).toBe('2026-W48')
    expect(agreed).toBe(false)
    const ofA = stops.filter(({ line }) => line === 'line-a')
    expect(ofA).toHaveLength(1)
    expect(ofA[0]!.jobs).toHaveLength(2)
    // One crew of two: the two-person job of the other line has its own time.
    const ofB = stops.find(({ line }) => line === 'line-b')!
    expect(String(ofB['from']) >= String(ofA[0]!['until']) || String(ofB['until']) <= String(ofA[0]!['from'])).toBe(true)
  })

  it('is agreed as it was shown, frozen, and opened again only with a reason', async () => {
    const before = await plan()
    expect(await post('api/plan/agreements', { week: before['week'], action: 'agree', digest: 'another' })).toMatchObject({ status: 409 })
    expect(await post('api/plan/agreements', { week: before['week'], action: 'agree', digest: before['digest'] })).toMatchObject({ status: 202, body: { agreed: true, lines: ['line-a', 'line-b'] } })
    expect((await enter('line-a', { type: 'job', action: 'add', work: 'clean-thermocouple', section: 'preheat', zone: 1 })).status).toBe(202)
    const after = await plan()
    expect(after['agreed']).toBe(true)
    expect(after.stops.map(({ id, from, until }) => ({ id, from, until }))).toEqual(before.stops.map(({ id, from, until }) => ({ id, from, until })))
    expect(after['unplanned']).toMatchObject([{ work: 'clean-thermocouple', reasonKey: 'plan.week-agreed' }])
    expect((await ask('api/plan.ics')).text).toContain('STATUS:CONFIRMED')

    expect((await post('api/plan/agreements', { week: before['week'], action: 'reopen' })).status).toBe(400)
    expect((await post('api/plan/agreements', { week: before['week'], action: 'reopen', reason: 'urgent order' })).status).toBe(202)
    const opened = await plan()
    expect(opened['agreed']).toBe(false)
    expect(opened['unplanned']).toEqual([])
    expect((await post('api/plan/agreements', { week: opened['week'], action: 'agree', digest: opened['digest'] })).status).toBe(202)
    expect((await plan())['agreed']).toBe(true)
  })

  it('asks for a stop on one printable page, and the ledger keeps the answer and what followed', async () => {
    const [stop] = (await plan()).stops
    const page = await ask(`api/stop-request?stop=${stop!.id}&lang=es`)
    expect(page).toMatchObject({ status: 200, type: 'text/html; charset=utf-8' })
    expect(page.text).toContain('Solicitud de parada')
    expect((await ask('api/stop-request?stop=nothing')).status).toBe(404)

    expect((await enter('line-a', { type: 'stop', action: 'ask', stop: stop!.id, from: stop!['from'], minutes: 90, work: ['clean-rails'] })).status).toBe(202)
    expect(await post('api/lines/line-a/entries?lang=es', { type: 'stop', action: 'refuse', stop: stop!.id })).toMatchObject({ status: 409, body: { detail: 'Diga por qué se deniega la parada.' } })
    expect((await enter('line-a', { type: 'stop', action: 'refuse', stop: stop!.id, reason: 'order', by: 'Robin Example' })).status).toBe(202)
    expect((await enter('line-a', { type: 'stop', action: 'followed', stop: stop!.id, followed: { stopKind: 'unplanned', stopMinutes: 120, boardsScrapped: 9, text: `=HYPERLINK("x") ${HOSTILE}`, section: 'transport' } })).status).toBe(202)
    expect((await ask('api/stops')).body['stops']).toMatchObject([{ id: stop!.id, status: 'refused', followedCount: 1 }])
    const rows = parse((await ask('api/stops.csv')).text, { columns: true }) as Record<string, string>[]
    expect(rows).toHaveLength(1)
    expect(rows[0]!['followed']).toContain('120 min unplanned stop')
  })

  it('gives costs with the site’s figures, and names the one that is missing', async () => {
    const { rows, missing } = (await ask('api/cost')).body as { rows: { kind: string; amount?: number; text: string }[]; missing: string[] }
    expect(rows.find(({ kind }) => kind === 'unplanned-stop')).toMatchObject({ amount: 1000 })
    expect(rows.find(({ kind }) => kind === 'scrap')?.text).toBe('no figure: scrapPerBoard missing')
    expect(missing).toContain('scrapPerBoard')
    const methods = (await ask('api/lines/line-a/cleaning-methods?surface=30')).body as { verdictText: string; methods: { method: string; gate: string; likely: number }[] }
    expect(methods.methods).toMatchObject([{ method: 'engineered', gate: 'allowed', likely: 38.8 }, { method: 'solvent', gate: 'never', likely: 92 }])
    expect(methods.verdictText).toContain('engineered')
  })

  it('reports in both languages without scripts and names; stock and papers are in it', async () => {
    expect((await enter('line-a', { type: 'stock', item: 'finger-set', ready: 1, dirty: 1, atWasher: 0 })).status).toBe(202)
    expect((await enter('line-a', { type: 'paper', paper: 'calibration', of: 'scale', reference: 'C-77', validFrom: '2025-01-01T00:00:00Z', due: '2026-01-01T00:00:00Z' })).status).toBe(202)
    for (const kind of ['hand-over', 'week', 'audit']) {
      for (const lang of ['en-US', 'es']) {
        const { status, text, type } = await ask(`api/report?kind=${kind}&lang=${lang}`)
        expect(status).toBe(200)
        expect(type).toContain('text/html')
        expect(text).not.toContain('<script')
        expect(text).not.toContain('Robin')
        expect(text).not.toMatch(/undefined|NaN|\[object/)
      }
    }
    expect((await ask('api/report?kind=audit')).text).toMatch(/C-77[^]*overdue/)
    expect((await ask('api/report?from=2026-11-02T00:00:00Z&to=2026-11-01T00:00:00Z')).status).toBe(400)
    expect((await ask('api/report?line=nobody')).status).toBe(404)
    expect((await ask('api/stock')).body['lines']).toMatchObject([{ line: 'line-a', stock: [{ item: 'finger-set', ready: 1 }], papers: [{ overdue: true }] }, { line: 'line-b' }])
  })

  it('moves a set to the washer and back, and refuses what is not there', async () => {
    const counts = async (): Promise<unknown> => ((await ask('api/stock')).body['lines'] as { stock: unknown[] }[])[0]!.stock[0]
    expect((await enter('line-a', { type: 'stock', item: 'finger-set', move: 'to-washer' })).status).toBe(202)
    expect(await counts()).toMatchObject({ ready: 1, dirty: 0, atWasher: 1, moves: 1, isSet: true })
    const refused = await enter('line-a', { type: 'stock', id: 'second-tap', item: 'finger-set', move: 'to-washer' })
    expect(refused.status).toBe(409)
    expect((await enter('line-a', { type: 'stock', item: 'finger-set', move: 'back-clean' })).status).toBe(202)
    expect(await counts()).toMatchObject({ ready: 2, dirty: 0, atWasher: 0, moves: 2 })
  })

  it('puts the line first that must not run, and says what no sensor sees', async () => {
    await post('api/lines/line-b/records', { section: 'transport', work: 'clean-chain', minutes: 120 })
    await expect.poll(async () => ((await ask('api/overview')).body['lines'] as { line: string; mustNotRun: unknown[] }[])[0]).toMatchObject({ line: 'line-b', mustNotRun: [{}] })
    const lines = (await ask('api/overview?lang=es')).body['lines'] as { unseen: string[]; sections: { section: string; title: string }[]; recipe?: string }[]
    expect(lines.every(({ unseen }) => unseen.length > 0)).toBe(true)
    expect(lines[0]!.sections.map(({ section }) => section)).toEqual(['fluxer', 'preheat', 'transport', 'pot'])
    expect((await plan())['now']).toMatchObject([{ line: 'line-b', work: 'lubricate-chain', reasonKey: 'now.half-done' }])
  })

  it('knows it all again after a restart', async () => {
    const before = [await ask('api/plan'), await ask('api/stops'), await ask('api/stock'), await ask('api/cost')].map(({ body }) => body)
    for (const line of ['line-a', 'line-b']) await site.closeLine(line, { archive: false })
    openLines()
    const after = [await ask('api/plan'), await ask('api/stops'), await ask('api/stock'), await ask('api/cost')].map(({ body }) => body)
    expect(after).toEqual(before)
    expect(NOW_MS).toBe(Date.UTC(2026, 10, 23) + 4 * HOUR_MS)
  })
})
