import { mkdtempSync, rmSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { connectAsync, type MqttClient } from 'mqtt'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { parseLineDefinition, type LineDefinition } from '../../src/line/line-definition.js'
import { HttpApi, type HostApplication } from '../../src/service/http/http-api.js'
import { ROUTES } from '../../src/service/http/routes.js'
import type { RunningLine } from '../../src/service/running-line.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'
import { startMosquitto, type TestBroker } from '../brokers.js'

const express = createRequire(import.meta.url)('express') as () => HostApplication & Parameters<typeof createServer>[1]

const TRAY = { title: 'Empty the drip tray', steps: ['Empty it into a closed container.'], tools: ['container'], verification: 'Tray dry.' }
const OWN_JOB = { id: 'empty-drip-tray', section: 'fluxer', kind: 'cleaning', minutesByHand: [5, 10], isolation: ['stop-and-note'], cautions: ['fire-flux'], texts: { 'en-US': TRAY, es: { ...TRAY, title: 'Vaciar la bandeja' } } }

let folder = ''
let site: Site
let server: Server
let base = ''
let broker: TestBroker
let client: MqttClient
let line: RunningLine
const rejected: { where: string; expected: string }[] = []

function definition(id: string, more: object = {}): LineDefinition {
  const parsed = parseLineDefinition({ line: id, siteWork: { products: [{ name: 'Shelf 2', class: 'engineered-cleaner', flashPointC: 90 }] }, ...more })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  return parsed.definition
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'records-'))
  site = await acquireSite({ dataFolder: join(folder, 'data'), log: () => undefined })
  line = site.openLine({ definition: definition('line-a'), stages: undefined, mqtt: true })
  site.openLine({ definition: definition('line-c', { siteWork: { jobs: [OWN_JOB] } }), stages: undefined, mqtt: false })
  site.openLine({ definition: definition('line-b', { people: { names: 'none' } }), stages: undefined, mqtt: false })
  const api = new HttpApi({ site: () => site, pageFolder: folder, version: '0.0.0', log: () => undefined })
  const application = express()
  api.mount(application)
  server = createServer(application)
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/wave-solder/api`
  broker = await startMosquitto()
  site.connectLine('line-a', { url: broker.url })
  client = await connectAsync(broker.url, { clientId: 'somebody' })
  client.on('message', (_topic, payload) => rejected.push(JSON.parse(payload.toString()) as { where: string; expected: string }))
  await client.subscribeAsync('wave-solder/line-a/rejected', { qos: 1 })
}, 60_000)

afterAll(async () => {
  await client?.endAsync()
  server?.closeAllConnections()
  server?.close()
  if (site !== undefined) await releaseSite(site)
  await broker?.stop()
  rmSync(folder, { recursive: true, force: true })
})

interface Answer {
  readonly status: number
  readonly body: Record<string, unknown>
}

async function post(path: string, body: unknown): Promise<Answer> {
  const response = await fetch(`${base}/${path}`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })
  return { status: response.status, body: (await response.json()) as Record<string, unknown> }
}

async function upload(path: string, body: string | Uint8Array<ArrayBuffer>): Promise<Answer> {
  const response = await fetch(`${base}/${path}`, { method: 'POST', headers: { 'content-type': 'application/octet-stream' }, body })
  return { status: response.status, body: (await response.json()) as Record<string, unknown> }
}

async function jobs(query = ''): Promise<Record<string, unknown>[]> {
  return ((await (await fetch(`${base}/jobs${query}`)).json()) as { jobs: Record<string, unknown>[] }).jobs
}

async function csv(id: string): Promise<string> {
  return (await fetch(`${base}/lines/${id}/records.csv`)).text()
}

describe('records over HTTP', () => {
  it.each([
    [{ section: 'pot', work: 'paint-it' }, /no job or check "paint-it".*skim-dross/],
    [{ section: 'pot', work: 'clean-chain' }, /belongs to the section transport/],
    [{ section: 'preheat', work: 'clean-vents', zone: 9 }, /no zone 9; the line has 3/],
    [{ section: 'transport', work: 'lubricate-chain', product: 'silicone-lubricant' }, /holds silicone/],
    [{ section: 'transport', work: 'lubricate-chain', product: 'Shelf 2' }, /not approved for this job/],
    [{ section: 'transport', work: 'lubricate-chain', product: 'something blue' }, /not on the site’s list/],
    [{ section: 'preheat', work: 'clean-vents', zone: 1, product: 'Shelf 2' }, /measure the hottest surface within reach by hand/],
    [{ section: 'preheat', work: 'clean-vents', zone: 1, product: 'Shelf 2', surfaceC: 80 }, /flashes at 90 °C and the surface is at 80 °C: not before it is below 75 °C/],
  ])('refuses %j with what was expected, and it has no effect', async (record, words) => {
    expect(await post('lines/line-a/records', record)).toMatchObject({ status: 409, body: { detail: expect.stringMatching(words) } })
    expect(line.projection.factsOf('record')).toEqual([])
  })

  it('takes what was done with another product all the same, with its reason; then correct and late ones', async () => {
    expect(await post('lines/line-a/records', { id: 'r-1', section: 'transport', work: 'lubricate-chain', product: 'mineral-grease', deviation: 'nothing else was there' })).toMatchObject({ status: 202 })
    expect(await post('lines/line-a/records', { id: 'r-2', time: '2026-01-05T10:00:00Z', section: 'preheat', work: 'clean-vents', zone: 1, product: 'Shelf 2', surfaceC: 30, finding: 2, minutes: 55, passes: 2, values: { airSpread: 9 }, handCheck: 'passed', parts: ['plate'], lot: 'L-7', by: 'Robin' })).toMatchObject({ status: 202 })
    expect(line.projection.factsOf('record').find(({ id }) => id === 'r-2')).toMatchObject({ record: { values: { airSpread: 9 }, parts: ['plate'] }, withdrawn: false })
    // Sent again, it counts once; with another content under a refused id, the new one counts.
    await post('lines/line-a/records', { id: 'r-2', section: 'preheat', work: 'clean-vents', zone: 1 })
    expect(line.projection.factsOf('record')).toHaveLength(2)
    expect(await post('lines/line-a/records?lang=es', { id: 'r-3', section: 'pot', work: 'nonsense' })).toMatchObject({ status: 409, body: { detail: expect.stringContaining('El catálogo no tiene') } })
    expect(await post('lines/line-a/records', { id: 'r-3', section: 'pot', work: 'skim-dross' })).toMatchObject({ status: 202 })
  })

  it('corrects a record and keeps what it said; in words of the language asked for when it cannot', async () => {
    expect(await post('lines/line-a/entries', { type: 'correction', of: 'r-2', reason: 'wrong zone', record: { section: 'preheat', work: 'clean-vents', zone: 2, finding: 2, time: '2026-01-05T10:00:00Z' } })).toMatchObject({ status: 202 })
    expect(line.projection.factsOf('record').find(({ id }) => id === 'r-2')).toMatchObject({ record: { id: 'r-2', zone: 2 }, earlier: [{ record: { zone: 1, passes: 2 }, reason: 'wrong zone' }] })
    expect(await post('lines/line-a/entries?lang=es', { type: 'correction', of: 'r-99', reason: 'x x x' })).toMatchObject({ status: 409, body: { detail: 'No hay ningún registro «r-99» que se pueda corregir.' } })
  })

  it('gives CSV that can be read in again, and takes the rows that are right', async () => {
    const text = await csv('line-a')
    expect(text.split('\r\n')[0]).toMatch(/^time,section,zone,work,finding/)
    expect(text).toContain('2026-01-05T10:00:00.000Z,preheat,2,clean-vents,2')
    expect(await upload('lines/line-b/records.csv', text)).toMatchObject({ status: 202, body: { taken: 3, refused: [] } })
    expect(await upload('lines/line-b/records.csv', 'section,work,zone,finding\npot,skim-dross,,1\npot,paint-it,,1\npreheat,clean-vents,1,9\n')).toMatchObject({ status: 202, body: { taken: 1, refused: [{ row: 3, message: expect.stringContaining('paint-it') }, { row: 4, message: expect.stringContaining('finding') }] } })
    expect(await upload('lines/line-b/records.csv', 'a,b\n1,2\n')).toMatchObject({ status: 400, body: { detail: expect.stringContaining('section and work') } })
  })

  it('keeps no names where the site keeps none, but whose lock is on', async () => {
    await post('lines/line-b/records', { section: 'pot', work: 'top-up-pot', by: 'Robin' })
    await post('lines/line-b/entries', { type: 'job', action: 'add', work: 'clean-rails', by: 'Robin' })
    const id = (await jobs('?line=line-b')).find(({ work }) => work === 'clean-rails')!['id']
    await post('lines/line-b/entries', { type: 'job', job: id, action: 'take', by: 'Robin' })
    expect(JSON.stringify(site.line('line-b')!.store.readJournal('line-b', 0, 1000).events)).not.toContain('Robin')
    await post('lines/line-b/entries', { type: 'job', job: id, action: 'isolate', by: 'Robin' })
    expect((await jobs('?line=line-b')).find(({ work }) => work === 'clean-rails')).toMatchObject({ holders: [{ holder: 'Robin' }] })
  })

  it('takes photos by what they are, not by what they say', async () => {
    expect(await upload('lines/line-a/photos?name=x.png', '<svg onload="alert(1)">')).toMatchObject({ status: 415 })
    expect(await upload('lines/line-a/photos', new Uint8Array(6_000_001))).toMatchObject({ status: 413 })
    // What was not read of it does not come in the way of what follows on the connection.
    expect(await upload('lines/line-a/photos', new Uint8Array(9_000_000))).toMatchObject({ status: 413 })
    for (let time = 0; time < 4; time += 1) expect(await upload('lines/line-a/records.csv', '"unclosed')).toMatchObject({ status: 400 })
    const taken = await upload('lines/line-a/photos?name=chain.jpg', new Uint8Array([0xff, 0xd8, 0xff, 0xe0, 1, 2, 3]))
    expect(taken).toMatchObject({ status: 202, body: { name: 'chain.jpg', type: 'image/jpeg', size: 7, sha256: expect.stringMatching(/^[0-9a-f]{64}$/) } })
    expect((await fetch(`${base}/lines/line-a/photos/${'0'.repeat(64)}`)).status).toBe(404)
    expect((await fetch(`${base}/lines/line-a/photos/..%2f..%2fx`)).status).toBe(404)
  })
})

describe('jobs over HTTP', () => {
  it('tells the card in both languages, refuses others, and finds it by its code', async () => {
    const [english] = await jobs('?line=line-b')
    const [spanish] = await jobs('?line=line-b&lang=es-MX')
    expect(spanish!['title']).not.toBe(english!['title'])
    expect((spanish!['cautions'] as unknown[]).length).toBe((english!['cautions'] as unknown[]).length)
    expect((await fetch(`${base}/jobs?lang=de`)).status).toBe(400)
    const one = (await (await fetch(`${base}/jobs/${String(english!['shortCode']).toLowerCase()}`)).json()) as { id: string }
    expect(one.id).toBe(english!['id'])
    expect((await fetch(`${base}/jobs/ZZZZZZ`)).status).toBe(404)
  })

  it('plans two days for a chain never recorded here, and learns from records', async () => {
    await post('lines/line-b/entries', { type: 'job', action: 'add', work: 'clean-chain' })
    const minutes = async (): Promise<{ planned: number; basis: string; records: number }> => (await jobs('?line=line-b')).find(({ work }) => work === 'clean-chain')!['minutes'] as never
    const before = await minutes()
    expect(before.basis).toBe('neglected')
    // Two days by hand: more than any one shift of eight or twelve hours.
    expect(before.planned).toBeGreaterThan(12 * 60)
    for (let day = 1; day <= 8; day += 1) await post('lines/line-b/records', { id: `chain-${day}`, time: `2026-02-0${day}T08:00:00Z`, section: 'transport', work: 'clean-chain', minutes: 60, finding: 1 })
    await post('lines/line-b/entries', { type: 'job', action: 'add', work: 'clean-chain' })
    const after = await minutes()
    expect(after).toMatchObject({ basis: 'hand', records: 8 })
    expect(after.planned).toBeLessThan(4 * 60)
  })
})

describe('a job of the site’s own', () => {
  it('goes through everything like any other, and so does a record of a check', async () => {
    expect(await post('lines/line-c/entries', { type: 'job', action: 'add', work: 'empty-drip-tray' })).toMatchObject({ status: 202 })
    expect((await jobs('?line=line-c&lang=es'))[0]).toMatchObject({ work: 'empty-drip-tray', title: 'Vaciar la bandeja' })
    const whole = async (): Promise<void> => {
      const gets = ROUTES.filter(({ method, path, contentType }) => method === 'GET' && contentType === undefined && !/:(?!line)|own-history/.test(path))
      for (const { path } of gets) {
        const asked = path.replace(':line', 'line-c')
        // Some ask for more than a line and say so; none may fail for a job it does not know.
        expect((await fetch(`${base}/${asked.replace(/^api\//, '')}`)).status, asked).toBeLessThan(500)
      }
    }
    await whole()
    expect(await post('lines/line-c/records', { section: 'fluxer', work: 'empty-drip-tray', minutes: 7, finding: 2 })).toMatchObject({ status: 202 })
    expect(await post('lines/line-c/records', { section: 'fluxer', work: 'paper-test', finding: 0 })).toMatchObject({ status: 202 })
    expect(await jobs('?line=line-c')).toEqual([])
    await whole()
    expect(site.line('line-c')!.projection.rejected().total).toBe(0)
  })
})

describe('records and entries over MQTT', () => {
  it('are taken from their topics, and what is refused is told on another', async () => {
    const before = line.projection.factsOf('record').length
    // Sent again until the line has subscribed; under one id it counts once.
    await expect
      .poll(async () => {
        await client.publishAsync('wave-solder/line-a/records', JSON.stringify({ id: 'm-1', section: 'transport', work: 'clean-chain', finding: 3 }), { qos: 1 })
        return line.projection.factsOf('record').length
      }, { timeout: 20_000 })
      .toBe(before + 1)
    const half = line.projection.factsOf('job').find((job) => job.work === 'clean-chain' && job.status === 'half-done')
    expect(half).toMatchObject({ doNotStart: 'washed-not-lubricated' })
    await client.publishAsync('wave-solder/line-a/entries', JSON.stringify({ type: 'job', action: 'add', work: 'clean-fingers' }), { qos: 1 })
    await expect.poll(() => line.projection.factsOf('job').some((job) => job.work === 'clean-fingers')).toBe(true)
    await client.publishAsync('wave-solder/line-a/records', JSON.stringify({ section: 'transport', work: 'lubricate-chain', product: 'silicone-lubricant' }), { qos: 1 })
    await client.publishAsync('wave-solder/line-a/entries', JSON.stringify({ type: 'job', action: 'fly' }), { qos: 1 })
    await expect.poll(() => rejected.length).toBe(2)
    expect([...rejected].sort((a, b) => (a.where < b.where ? 1 : -1))).toEqual([
      expect.objectContaining({ where: 'wave-solder/line-a/records', expected: expect.stringContaining('silicone') }),
      expect.objectContaining({ where: 'wave-solder/line-a/entries', expected: expect.stringContaining('action') }),
    ])
  })
  it('are not taken anew with every connection because the broker retains one', async () => {
    const { definition: kept } = line
    await client.publishAsync('wave-solder/line-a/records', JSON.stringify({ section: 'pot', work: 'top-up-pot' }), { qos: 1, retain: true })
    await expect.poll(() => line.projection.factsOf('record').filter(({ record }) => record.work === 'top-up-pot').length).toBe(1)
    const refusedBefore = rejected.length
    await site.closeLine('line-a', { archive: false })
    const again = site.openLine({ definition: kept, stages: undefined, mqtt: true })
    site.connectLine('line-a', { url: broker.url })
    await expect.poll(() => rejected.slice(refusedBefore), { timeout: 20_000 }).toEqual([expect.objectContaining({ expected: expect.stringContaining('not retained') })])
    expect(again.projection.factsOf('record').filter(({ record }) => record.work === 'top-up-pot')).toHaveLength(1)
  })
})
