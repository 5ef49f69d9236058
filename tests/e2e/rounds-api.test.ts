import { mkdtempSync, rmSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import { createRequire } from 'node:module'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../src/line/line-definition.js'
import { HttpApi, type HostApplication } from '../../src/service/http/http-api.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'

const express = createRequire(import.meta.url)('express') as () => HostApplication & Parameters<typeof createServer>[1]

let folder = ''
let site: Site
let server: Server
let base = ''

const OWN = { check: 'nitrogen', section: 'pot', every: 'shift', minutes: 1, title: { 'en-US': 'Read the nitrogen', es: 'Leer el nitrógeno' }, steps: { 'en-US': ['Read the gauge.'], es: ['Lea el manómetro.'] }, values: [{ value: 'oxygen', title: { 'en-US': 'Residual oxygen', es: 'Oxígeno residual' }, unit: 'ppm', possibleMin: 0, possibleMax: 10_000, upper: 100 }] }

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'rounds-'))
  site = await acquireSite({ dataFolder: join(folder, 'data'), log: () => undefined })
  const api = new HttpApi({ site: () => site, pageFolder: folder, version: '0.0.0', log: () => undefined })
  site.onOutput((stored) => api.stream.publish(stored))
  const application = express()
  api.mount(application)
  server = createServer(application)
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/wave-solder/api/lines/blind`
  // no sensor publishes anything: rounds are all there is
  const parsed = parseLineDefinition({ line: 'blind', title: 'Blind', channels: [{ channel: 'conveyor.speed' }], rounds: { values: { 'weigh-dose.grams': { target: 4.2 } }, own: [OWN] } })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  site.openLine({ definition: parsed.definition, stages: undefined, mqtt: false })
})

afterAll(async () => {
  server.closeAllConnections()
  server.close()
  await releaseSite(site)
  rmSync(folder, { recursive: true, force: true })
})

async function get(path: string): Promise<Record<string, unknown>> {
  return (await (await fetch(`${base}/${path}`)).json()) as Record<string, unknown>
}

async function enter(body: unknown, lang = 'en-US'): Promise<{ status: number; body: Record<string, unknown> }> {
  const response = await fetch(`${base}/entries?lang=${lang}`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })
  return { status: response.status, body: (await response.json()) as Record<string, unknown> }
}

const weight = (grams: number) => ({ type: 'round', round: 'week', items: [{ check: 'weigh-dose', ok: true, values: { grams } }] })

describe('a line without any sensor', () => {
  it('lists its checks, the site\'s own among them, each with cautions and limits', async () => {
    const { checks } = (await get('rounds')) as { checks: { check: string; status: string; cautions: string[]; values: { value: string; lower?: number; upper?: number; target?: number }[] }[] }
    expect(checks.find(({ check }) => check === 'weigh-dose')?.values).toMatchObject([{ value: 'grams', target: 4.2, lower: expect.closeTo(3.78, 9), upper: expect.closeTo(4.62, 9) }])
    expect(checks.find(({ check }) => check === 'nitrogen')).toMatchObject({ status: 'due', values: [{ value: 'oxygen', upper: 100 }] })
    expect(checks.every(({ cautions }) => cautions.length > 1)).toBe(true)
  })

  it('charts what people measure, from the first value where there is a target', async () => {
    for (const grams of [4.1, 4.3, 4.2, 3.2]) expect(await enter({ ...weight(grams), id: `w-${grams}` })).toMatchObject({ status: 202 })
    const { points } = (await get('points?feature=hand.weigh-dose.grams')) as { points: { value: number; centre: number; lower: number; chart: string }[] }
    expect(points.map(({ value }) => value)).toEqual([4.1, 4.3, 4.2, 3.2])
    expect(points[0]).toMatchObject({ chart: 'standards-given', centre: 4.2 })
    expect(points[3]!.value).toBeLessThan(points[3]!.lower)
    const { features } = (await get('features')) as { features: { feature: string; title: string; unit: string }[] }
    expect(features.find(({ feature }) => feature === 'hand.weigh-dose.grams')).toMatchObject({ unit: 'g' })
    const { exceptions } = (await get('rounds?lang=es')) as { exceptions: { text: string }[] }
    expect(exceptions.map(({ text }) => text)).toEqual(['Peso de pulverizado por placa: 3,2 g está por debajo de 3,78 g.'])
  })

  it('takes an entry once, however often it is sent', async () => {
    const before = (await get('points?feature=hand.weigh-dose.grams'))['points'] as unknown[]
    for (let times = 0; times < 3; times += 1) expect(await enter({ ...weight(4.15), id: 'sent-again' })).toMatchObject({ status: 202 })
    expect((await get('points?feature=hand.weigh-dose.grams'))['points'] as unknown[]).toHaveLength(before.length + 1)
  })

  it.each([
    ['en-US', weight(420), /Weigh the flux dose: 420 g cannot be: expected 0\.02 to 100 g/],
    ['es', weight(420), /Pesar la dosis de flux: 420 g no puede ser/],
    ['en-US', { type: 'round', round: 'week', items: [{ check: 'weigh-dose', ok: true }] }, /Enter the value you measured/],
    ['en-US', { type: 'round', round: 'week', items: [{ check: 'moon', ok: true }] }, /no check "moon"/],
    ['es', { type: 'hold', action: 'end-early', reason: 'x', by: 'y', until: '2030-01-01T00:00:00Z' }, /no están en espera/],
  ])('says why it does not take an entry (%s)', async (lang, body, words) => {
    const answer = await enter(body, lang)
    expect(answer.status).toBe(409)
    expect(answer.body['detail']).toMatch(words)
  })

  it('refuses what no entry can be with its path', async () => {
    expect(await enter({ type: 'round', round: 'week', items: [] })).toMatchObject({ status: 400 })
    expect(await enter({ type: 'change', change: 'moon' })).toMatchObject({ status: 400 })
  })

  it('keeps what changed in one list, escaped for a table', async () => {
    await enter({ type: 'change', change: 'flux-lot', text: '=F-22 <b>' })
    const { changes } = (await get('changes?lang=es')) as { changes: { title: string; text: string; section: string }[] }
    expect(changes).toMatchObject([{ title: 'Otro lote de flux', text: '=F-22 <b>', section: 'fluxer' }])
    const csv = await (await fetch(`${base}/boards.csv`)).text()
    expect(csv).toBe('line,from,until,boards,recipe,lot,order\r\n')
  })

  it('charts a check of the site\'s own, and judges it', async () => {
    await enter({ type: 'round', round: 'shift', items: [{ check: 'nitrogen', ok: true, values: { oxygen: 240 } }] })
    const { exceptions } = (await get('rounds')) as { exceptions: { check: string; text: string }[] }
    expect(exceptions.find(({ check }) => check === 'nitrogen')?.text).toBe('Residual oxygen: 240 ppm lies above 100 ppm.')
  })
})

describe('a line whose recipes want different weights', () => {
  it('judges and charts each recipe by its own target, and says which it is', async () => {
    const parsed = parseLineDefinition({ line: 'two-recipes', channels: [{ channel: 'conveyor.speed' }, { channel: 'line.recipe' }], rounds: { values: { 'weigh-dose.grams': { target: 4.2, recipes: { 'power-board': { target: 8 } } } } } })
    if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
    const line = site.openLine({ definition: parsed.definition, stages: undefined, mqtt: false })
    const call = async (path: string, body?: unknown): Promise<Record<string, unknown>> => (await (await fetch(`${base.replace('/blind', '/two-recipes')}/${path}`, body === undefined ? {} : { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })).json()) as Record<string, unknown>
    const dose = async (): Promise<unknown> => ((await call('rounds')) as { checks: { check: string; values: unknown[] }[] }).checks.find(({ check }) => check === 'weigh-dose')?.values
    let timeMs = Date.now() - 3_600_000
    // A recipe is said with the minute that has ended.
    const run = async (recipe: string): Promise<void> => {
      for (let count = 0; count < 20; count += 1) await line.stepped((await line.submit({ kind: 'value', channel: 'line.recipe', value: recipe, time: new Date((timeMs += 30_000)).toISOString() })).seq)
    }
    expect(await dose()).toMatchObject([{ target: 4.2 }])
    await run('power-board')
    expect(await dose()).toMatchObject([{ target: 8, lower: 7.2, recipe: 'power-board' }])
    await call('entries', weight(7.9))
    await run('control-board')
    await call('entries', weight(4.1))
    const { points } = (await call('points?feature=hand.weigh-dose.grams')) as { points: { value: number; centre: number; recipe: string }[] }
    expect(points).toMatchObject([{ value: 7.9, centre: 8, recipe: 'power-board' }, { value: 4.1, centre: 4.2, recipe: 'control-board' }])
    expect(((await call('rounds')) as { exceptions: unknown[] }).exceptions).toEqual([])
  })
})
