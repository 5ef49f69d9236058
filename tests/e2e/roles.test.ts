import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import { createRequire } from 'node:module'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../src/line/line-definition.js'
import { HttpApi, type HostApplication } from '../../src/service/http/http-api.js'
import { ROUTES } from '../../src/service/http/routes.js'
import { newSalt, personWith, pinHash, readPeopleFile } from '../../src/service/people/people.js'
import { Sessions } from '../../src/service/people/sessions.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'

const express = createRequire(import.meta.url)('express') as () => HostApplication & Parameters<typeof createServer>[1]

const SALT = newSalt()
const PEOPLE = {
  salt: SALT,
  people: [
    { name: 'Late shift', role: 'technician' as const, pin: pinHash('2468', SALT), language: 'es' as const },
    { name: 'Process', role: 'engineer' as const, pin: pinHash('BADGE-0099887766', SALT) },
  ],
}

let folder = ''
let site: Site
let server: Server
let base = ''

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'roles-'))
  mkdirSync(join(folder, 'page'))
  site = await acquireSite({ dataFolder: join(folder, 'data'), log: () => undefined })
  const parsed = parseLineDefinition({ line: 'line-a' })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  site.openLine({ definition: parsed.definition, stages: undefined, mqtt: false })
  const api = new HttpApi({ site: () => site, pageFolder: join(folder, 'page'), version: '0.0.0', log: () => undefined, people: PEOPLE })
  const application = express()
  api.mount(application)
  server = createServer(application)
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/wave-solder/api`
})

afterAll(async () => {
  server.closeAllConnections()
  server.close()
  await releaseSite(site)
  rmSync(folder, { recursive: true, force: true })
})

interface Answer {
  readonly status: number
  readonly body: Record<string, unknown>
  readonly cookie: string | undefined
}

async function send(method: string, path: string, body: unknown, cookie?: string): Promise<Answer> {
  const response = await fetch(`${base}/${path}`, { method, headers: { 'content-type': 'application/json', ...(cookie === undefined ? {} : { cookie }) }, ...(body === undefined ? {} : { body: JSON.stringify(body) }) })
  return { status: response.status, body: (await response.json()) as Record<string, unknown>, cookie: response.headers.get('set-cookie') ?? undefined }
}

async function signIn(pin: string): Promise<string> {
  const { status, cookie } = await send('POST', 'session', { pin })
  expect(status).toBe(200)
  expect(cookie).toMatch(/HttpOnly; SameSite=Strict/)
  return cookie!.split(';')[0]!
}

const RECORD = { section: 'pot', work: 'skim-dross', finding: 1 }

describe('roles', () => {
  it('let everybody look on and nobody enter without a PIN', async () => {
    expect(await send('GET', 'session', undefined)).toMatchObject({ status: 200, body: { required: true, role: 'wall' } })
    expect((await send('GET', 'lines', undefined)).status).toBe(200)
    for (const route of ROUTES.filter(({ method, path }) => method !== 'GET' && path !== 'api/session')) {
      const path = route.path.replace(/^api\//, '').replace(':line', 'line-a').replace(':id', 'x')
      expect((await send(route.method, path, {})).status, `${route.method} ${path}`).toBe(401)
    }
  })

  it('put the name of who is signed in on what they enter, and leave decisions to an engineer', async () => {
    const technician = await signIn('2468')
    expect(await send('GET', 'session', undefined, technician)).toMatchObject({ body: { role: 'technician', name: 'Late shift', language: 'es' } })
    expect((await send('POST', 'lines/line-a/records', { ...RECORD, by: 'somebody else' }, technician)).status).toBe(202)
    const records = async (): Promise<unknown> => (await send('GET', 'lines/line-a/facts?type=record', undefined)).body['facts']
    await expect.poll(records).toEqual([expect.objectContaining({ record: expect.objectContaining({ by: 'Late shift' }) })])
    expect((await send('POST', 'lines/line-a/baselines', { feature: 'pot.level.offset', decision: 'accept' }, technician)).status).toBe(403)
    expect((await send('POST', 'lines/line-a/entries', { type: 'hold', action: 'end-early', reason: 'trial', until: '2030-01-01T00:00:00Z' }, technician)).status).toBe(403)
    const engineer = await signIn('BADGE-0099887766')
    // Nothing has been learned yet, so the decision itself is not possible; the person may make it.
    expect((await send('POST', 'lines/line-a/baselines', { feature: 'pot.level.offset', decision: 'accept' }, engineer)).status).toBe(409)
    expect(await send('DELETE', 'session', undefined, technician)).toMatchObject({ status: 200, body: { role: 'wall' } })
    expect((await send('POST', 'lines/line-a/records', RECORD, technician)).status).toBe(401)
  })

  it('let nobody but an engineer who is signed in answer for putting off safety work', async () => {
    const putOff = { type: 'job', job: 'j-1', action: 'put-off', reason: 'no-time-now', until: '2030-01-01T00:00:00Z', engineer: 'Process' }
    expect((await send('POST', 'lines/line-a/entries', putOff, await signIn('2468'))).status).toBe(403)
    expect((await send('POST', 'lines/line-a/entries', putOff, await signIn('BADGE-0099887766'))).status).toBe(409)
  })

  it('leave the name of who did the work when somebody else corrects the record, and keep who corrected it', async () => {
    expect((await send('POST', 'lines/line-a/records', { ...RECORD, id: 'r-1' }, await signIn('2468'))).status).toBe(202)
    const correction = { type: 'correction', of: 'r-1', reason: 'misread', record: { ...RECORD, finding: 3, by: 'somebody else' } }
    expect((await send('POST', 'lines/line-a/entries', correction, await signIn('BADGE-0099887766'))).status).toBe(202)
    const { records } = (await send('GET', 'lines/line-a/records', undefined)).body as { records: { id: string; record: unknown; earlier: unknown }[] }
    expect(records.find(({ id }) => id === 'r-1')).toMatchObject({ record: { finding: 3, by: 'Late shift' }, earlier: [{ by: 'Process', reason: 'misread', record: { finding: 1 } }] })
  })

  it('make whoever guesses wait', () => {
    let now = 0
    const sessions = new Sessions(PEOPLE, () => now)
    for (let tries = 0; tries < 5; tries += 1) expect(sessions.signIn('0000', 'a').kind).toBe('wrong')
    expect(sessions.signIn('2468', 'a')).toEqual({ kind: 'wait', seconds: 60 })
    expect(sessions.signIn('2468', 'b').kind).toBe('session')
    now = 60_000
    expect(sessions.signIn('2468', 'a').kind).toBe('session')
  })

  it('end a session after a long shift, and let everybody in where no file of people is', () => {
    let now = 0
    const sessions = new Sessions(PEOPLE, () => now)
    const signed = sessions.signIn('2468', 'a')
    const token = signed.kind === 'session' ? signed.token : ''
    expect(sessions.readerOf(token).role).toBe('technician')
    now = 12 * 3_600_000
    expect(sessions.readerOf(token).role).toBe('wall')
    expect(new Sessions(undefined, () => 0).readerOf(undefined)).toEqual({ role: 'engineer' })
  })
})

describe('a file of people', () => {
  const write = (body: unknown): string => {
    const path = join(folder, 'people.json')
    writeFileSync(path, typeof body === 'string' ? body : JSON.stringify(body))
    return path
  }

  it('is read back, and a PIN finds its person', () => {
    const file = readPeopleFile(write(PEOPLE))
    expect(personWith(' 2468 ', file)?.name).toBe('Late shift')
    expect(personWith('2469', file)).toBeUndefined()
    expect(JSON.stringify(file)).not.toContain('2468"')
  })

  it('says what is wrong and where', () => {
    expect(() => readPeopleFile(write('{'))).toThrow(/line 1/)
    expect(() => readPeopleFile(write({ salt: SALT, people: [{ name: 'x', role: 'boss', pin: '1234' }] }))).toThrow(/people\.0\.role[\s\S]*people\.0\.pin/)
    expect(() => readPeopleFile(write({ salt: SALT, people: [PEOPLE.people[0], { ...PEOPLE.people[0], name: 'Twin' }] }))).toThrow(/"Twin" has the same PIN|same PIN/)
  })
})
