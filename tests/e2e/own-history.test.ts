import { existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import { createRequire } from 'node:module'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { HttpApi, type HostApplication } from '../../src/service/http/http-api.js'
import { OwnHistory } from '../../src/service/own-history/own-history.js'
import { packageRoot } from '../../src/service/node-red/host.js'
import { demoConfig } from '../../src/simulator/demo-line.js'
import { createSimulation } from '../../src/simulator/simulation.js'

const express = createRequire(import.meta.url)('express') as () => HostApplication & Parameters<typeof createServer>[1]

/** The page's work is done by the built command line, as in an installed package. */
const commandLine = process.env['WAVE_SPC_COMMAND_LINE'] ?? join(packageRoot(), 'dist', 'src', 'service', 'command-line.js')

let folder = ''
let server: Server
let history: OwnHistory
let base = ''

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'own-history-'))
  mkdirSync(join(folder, 'page'))
  history = new OwnHistory(join(folder, 'data', 'own-history'), commandLine)
  const api = new HttpApi({ site: () => undefined, pageFolder: join(folder, 'page'), version: '0.0.0', log: (message) => void process.stderr.write(message), ownHistory: () => history })
  const application = express()
  api.mount(application)
  server = createServer(application)
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/wave-solder/api/own-history`
})

afterAll(() => {
  history.close()
  server.closeAllConnections()
  server.close()
  rmSync(folder, { recursive: true, force: true })
})

interface Answer {
  readonly status: number
  readonly body: Record<string, unknown>
}

async function ask(path: string, init?: RequestInit): Promise<Answer> {
  const response = await fetch(`${base}${path}`, init)
  return { status: response.status, body: (await response.json()) as Record<string, unknown> }
}

const begin = (body: unknown): Promise<Answer> => ask('', { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })
const sendFile = (id: string, body: string): Promise<Answer> => ask(`/${id}/file`, { method: 'PUT', headers: { 'content-type': 'application/octet-stream' }, body })

/** A line that gets a fault, as a plant's own table: own column names, °F in one column, minute by minute. */
function plantTable(seed: number): string {
  const simulation = createSimulation({ ...demoConfig({ seed, line: 'faulty', startMs: Date.UTC(2026, 0, 5) }) })
  const rows = ['Stamp;Zone 1 [F];Zone 2;Zone 3;Chain;Solder level;Note']
  let last = -Infinity
  const known = new Map<string, number>()
  for (let sample = simulation.next(); sample !== undefined; sample = simulation.next()) {
    for (const [channel, value] of sample.values) if (typeof value === 'number') known.set(channel, value)
    if (sample.timeMs - last < 10_000) continue
    last = sample.timeMs
    const number = (channel: string): number | undefined => known.get(channel)
    const zone1 = number('preheat.zone-1.temperature')
    const cells = [zone1 === undefined ? undefined : zone1 * 1.8 + 32, number('preheat.zone-2.temperature'), number('preheat.zone-3.temperature'), number('conveyor.speed'), number('pot.level')]
    rows.push([new Date(sample.timeMs).toISOString(), ...cells.map((cell) => (cell === undefined ? '' : String(cell.toFixed(3)).replace('.', ','))), '<b>x</b>'].join(';'))
  }
  return `${rows.join('\n')}\n`
}

const COLUMNS = [
  { column: 'Zone 1 [F]', channel: 'preheat.zone-1.temperature', unit: '°F' },
  { column: 'Zone 2', channel: 'preheat.zone-2.temperature' },
  { column: 'Zone 3', channel: 'preheat.zone-3.temperature' },
  { column: 'Chain', channel: 'conveyor.speed' },
  { column: 'Solder level', channel: 'pot.level' },
]

async function finished(id: string): Promise<Record<string, unknown>> {
  for (;;) {
    const { body } = await ask(`/${id}`)
    if (body['status'] === 'done' || body['status'] === 'failed') return body
    await new Promise((resolve) => setTimeout(resolve, 100))
  }
}

describe('a history dropped on the page', () => {
  it('is worked through in a process of its own and tells what it would have said, in the language of the reader', { timeout: 120_000 }, async () => {
    expect(existsSync(commandLine), `${commandLine} is built`).toBe(true)
    const table = plantTable(4)
    const { status, body } = await begin({ fileName: 'plant.csv', timeZone: 'Europe/Madrid', timeColumn: 'Stamp', periodS: 10, columns: COLUMNS })
    expect(status, JSON.stringify(body)).toBe(202)
    const id = String(body['id'])
    expect((await ask(`/${id}/findings`)).status).toBe(409)
    expect(await sendFile(id, table)).toMatchObject({ status: 202, body: { status: 'running' } })
    expect(await finished(id)).toMatchObject({ status: 'done', share: 1 })
    const { body: findings } = await ask(`/${id}/findings?lang=es`)
    const found = findings['found'] as { suggestion: { headline: string; section: string }; charts: { points: unknown[]; title: string }[] }[]
    expect(found.length).toBeGreaterThan(0)
    expect(found[0]!.suggestion.section).toBe('transport')
    expect(found[0]!.charts[0]!.points.length).toBeGreaterThan(20)
    const textbook = findings['textbook'] as { episodes: number; byChannel: unknown[]; share: number }
    expect(textbook.byChannel).toHaveLength(5)
    expect(textbook.episodes).toBeGreaterThan(5 * found.length)
    expect(textbook.share).toBeGreaterThan(0.2)
    expect(findings['ignoredColumns']).toEqual(['Note'])
    const unseen = findings['unseen'] as { causes: { cause: string; checks: { title: string }[] }[] }
    const nozzle = unseen.causes.find(({ cause }) => cause === 'clogged-nozzle')
    expect(nozzle?.checks.length).toBeGreaterThan(0)
    const english = (await ask(`/${id}/findings`)).body['found'] as typeof found
    expect(english[0]!.suggestion.headline).not.toBe(found[0]!.suggestion.headline)
    // A service that starts anew still has it.
    expect(new OwnHistory(join(folder, 'data', 'own-history'), commandLine).state(id)).toMatchObject({ status: 'done', fileName: 'plant.csv' })
    expect((await ask(`/${id}`, { method: 'DELETE' })).status).toBe(200)
    expect((await ask(`/${id}`)).status).toBe(404)
  })

  it('says what is wrong with the columns, the file or the request', { timeout: 60_000 }, async () => {
    expect(await begin({ fileName: 'a.csv', timeColumn: 't', periodS: 60, columns: [{ column: 'x', channel: 'nothing.known' }] })).toMatchObject({ status: 422, body: { detail: expect.stringContaining('nothing.known') } })
    expect(await begin({ fileName: 'a.csv', timeColumn: 't', periodS: 60, columns: [{ column: 'x', channel: 'pot.level' }, { column: 'y', channel: 'pot.level' }] })).toMatchObject({ status: 422, body: { detail: expect.stringContaining('already') } })
    expect(await begin({ fileName: 'a.csv', timeColumn: 't', periodS: 60, timeZone: 'Nowhere', columns: [{ column: 'x', channel: 'pot.level' }] })).toMatchObject({ status: 400 })
    const { body } = await begin({ fileName: 'a.csv', timeColumn: 'when', periodS: 60, columns: [{ column: 'x', channel: 'pot.level' }] })
    const id = String(body['id'])
    expect((await ask(`/${id}/file`, { method: 'PUT', headers: { 'content-type': 'text/plain' }, body: 'x' })).status).toBe(415)
    await sendFile(id, 'other,x\n1,2\n')
    const failed = await finished(id)
    expect(failed['status']).toBe('failed')
    expect(String(failed['message'])).toContain('"when"')
    expect(String(failed['message'])).not.toContain(folder)
    expect(await sendFile(id, 'when,x\n')).toMatchObject({ status: 422 })
    expect((await sendFile('00000000-0000-0000-0000-000000000000', 'x')).status).toBe(404)
  })
})
