import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { build } from 'esbuild'
import { chromium, type Browser, type Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../src/line/line-definition.js'
import { HttpApi, type HostApplication } from '../../src/service/http/http-api.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'

const CHROMIUM = '/usr/bin/chromium'
const express = createRequire(import.meta.url)('express') as () => HostApplication & Parameters<typeof createServer>[1]
const EVERY_DAY = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'] as const
/** The smallest PNG: one pixel. */
const PIXEL = Buffer.from('iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==', 'base64')

let folder = ''
let site: Site
let server: Server
let base = ''
let browser: Browser
let page: Page
const faults: string[] = []

beforeAll(async () => {
  if (!existsSync(CHROMIUM)) throw new Error(`there is no ${CHROMIUM}: this test drives a real browser; on Debian: apt-get install chromium`)
  folder = mkdtempSync(join(tmpdir(), 'jobs-'))
  await build({ entryPoints: ['src/page/main.tsx'], bundle: true, format: 'esm', target: 'es2022', jsx: 'automatic', jsxImportSource: 'preact', outdir: join(folder, 'page'), logLevel: 'error' })
  writeFileSync(join(folder, 'page', 'index.html'), '<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>wave-solder-spc</title><link rel="stylesheet" href="./main.css"></head><body><div id="page"></div><script type="module" src="./main.js"></script></body></html>')
  site = await acquireSite({ dataFolder: join(folder, 'data'), log: () => undefined })
  const parsed = parseLineDefinition({
    line: 'line-a',
    title: 'Line A',
    timeZone: 'UTC',
    shifts: [{ name: 'all', days: [...EVERY_DAY], start: '00:00', end: '23:59', people: 1 }],
    siteWork: { products: [{ name: 'Shelf 2 cleaner', class: 'engineered-cleaner', flashPointC: 90 }, { name: 'Shelf 4 chain oil', class: 'ester-or-pao-oil', flashPointC: 240 }] },
  })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  site.openLine({ definition: parsed.definition, stages: undefined, mqtt: false })
  const api = new HttpApi({ site: () => site, pageFolder: join(folder, 'page'), version: '0.0.0', log: (message) => faults.push(message) })
  site.onOutput((stored) => api.stream.publish(stored))
  const application = express()
  api.mount(application)
  server = createServer(application)
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/wave-solder`
  browser = await chromium.launch({ executablePath: CHROMIUM, args: ['--no-sandbox', '--disable-gpu', '--no-first-run', '--disable-background-networking'] })
  page = await browser.newPage({ locale: 'en-US', viewport: { width: 1280, height: 900 } })
  page.on('pageerror', (error) => faults.push(error.message))
  await page.goto(`${base}/`)
}, 90_000)

afterAll(async () => {
  await browser?.close()
  server?.closeAllConnections()
  server?.close()
  if (site !== undefined) await releaseSite(site)
  rmSync(folder, { recursive: true, force: true })
})

/** Pictures for whoever wants to look: set the folder. */
async function picture(name: string): Promise<void> {
  const to = process.env['WAVE_SPC_PICTURES']
  if (to !== undefined) await page.screenshot({ path: join(to, `${name}.png`), fullPage: true })
}

async function send(path: string, body: unknown): Promise<{ status: number; body: Record<string, unknown> }> {
  const response = await fetch(`${base}/api/${path}`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })
  return { status: response.status, body: (await response.json()) as Record<string, unknown> }
}

describe('a chain washed and not lubricated', { timeout: 60_000 }, () => {
  it('is recorded on the page in seconds, and stands on every screen', async () => {
    await page.getByRole('heading', { name: 'Jobs' }).waitFor()
    await picture('1-no-jobs')
    await page.getByRole('button', { name: 'Record work' }).click()
    await page.locator('select[name="work"]').selectOption('clean-chain')
    await page.getByText('3 heavy').click()
    await page.locator('input[name="minutes"]').fill('120')
    await picture('2-record')
    await page.getByRole('button', { name: 'Send' }).click()
    const stop = page.locator('[data-stop="clean-chain"]')
    await stop.waitFor()
    expect(await stop.innerText()).toMatch(/Line A: Chain washed, not lubricated: do not start \(for \d+ min\).*Must follow: Lubricate the chain/s)
    await picture('3-stop')
    for (const view of ['charts/line-a', 'setup', 'plan', 'hold/line-a', 'own-history']) {
      await page.goto(`${base}/#/${view}`)
      await stop.waitFor()
    }
    await page.getByRole('button', { name: 'Español' }).first().click()
    await expect.poll(() => stop.innerText()).toContain('Cadena lavada, sin lubricar: no arrancar')
    await picture('4-stop-es')
    await page.getByRole('button', { name: 'English' }).first().click()
  })

  it('ends when the lubrication is recorded from its card, found by its code; one person alone does not get it', async () => {
    const { jobs } = (await (await fetch(`${base}/api/jobs`)).json()) as { jobs: { work: string; shortCode: string; id: string }[] }
    const job = jobs.find(({ work }) => work === 'lubricate-chain')!
    await page.goto(`${base}/#/shift`)
    await page.locator('input[name="card-code"]').fill(job.shortCode.toLowerCase())
    await page.getByRole('button', { name: 'Open the card' }).click()
    const card = page.locator(`[data-job-card="${job.id}"]`)
    await card.waitFor()
    // Cautions and isolation are read before any work; the work itself comes with taking it.
    expect(await card.locator('.cautions li').count()).toBeGreaterThan(8)
    expect(await card.innerText()).toMatch(/silicone[^]*lock and tag/i)
    expect(await card.locator('.work-steps').count()).toBe(0)
    expect(await card.innerText()).toContain('Not for one person alone')
    await card.locator('[data-action="take"]').click()
    await card.locator('input[name="people"]').fill('1')
    await card.getByRole('button', { name: 'Send' }).click()
    await card.getByRole('alert').waitFor()
    expect(await card.getByRole('alert').innerText()).toContain('This job needs 2 people; there is 1')
    await picture('5-card')
    await card.locator('input[name="people"]').fill('2')
    await card.getByRole('button', { name: 'Send' }).click()
    await card.locator('.work-steps').waitFor()
    await page.setViewportSize({ width: 390, height: 844 })
    await picture('6-card-phone')
    await page.setViewportSize({ width: 1280, height: 900 })
    await card.getByRole('button', { name: 'Record work' }).click()
    await card.locator('select[name="product"]').selectOption('Shelf 4 chain oil')
    await card.getByText('The check afterward is in order').click()
    await card.getByText('More', { exact: true }).click()
    await card.locator('input[name="photo"]').setInputFiles({ name: 'chain.png', mimeType: 'image/png', buffer: PIXEL })
    await card.getByRole('button', { name: 'Send' }).click()
    await page.locator('[data-stop]').waitFor({ state: 'detached' })
    const { facts } = (await (await fetch(`${base}/api/lines/line-a/facts?type=record`)).json()) as { facts: { record: { work: string; photo?: { sha256: string; type: string } } }[] }
    const photo = facts.find(({ record }) => record.work === 'lubricate-chain')?.record.photo
    expect(photo).toMatchObject({ type: 'image/png', size: PIXEL.length })
    const shown = await fetch(`${base}/api/lines/line-a/photos/${photo!.sha256}`)
    expect(shown.headers.get('content-type')).toBe('image/png')
    expect(Buffer.from(await shown.arrayBuffer())).toEqual(PIXEL)
  })
})

describe('isolation on the page', { timeout: 60_000 }, () => {
  it('goes from the lock to the empty run, each owner removing the own lock, in dark too', async () => {
    await send('lines/line-a/entries', { type: 'job', action: 'add', work: 'clean-fingers' })
    await page.emulateMedia({ colorScheme: 'dark' })
    await page.goto(`${base}/#/shift`)
    await page.getByRole('link', { name: 'Clean or swap the fingers' }).click()
    const card = page.locator('[data-job-card]')
    const act = async (name: string): Promise<void> => card.locator(`[data-action="${name}"]`).click()
    await act('take')
    await card.locator('input[name="by"]').fill('Robin')
    await card.getByRole('button', { name: 'Send' }).click()
    await act('isolate')
    await card.getByRole('button', { name: 'Send' }).click()
    await card.getByText('Isolation held by').waitFor()
    await page.locator('[data-stop="clean-fingers"]').waitFor()
    await act('start')
    await card.locator('select[name="product"]').selectOption('Shelf 2 cleaner')
    await card.locator('input[name="surfaceC"]').fill('85')
    await card.getByRole('button', { name: 'Send' }).click()
    await expect.poll(() => card.getByRole('alert').innerText()).toContain('flashes at 90 °C and the surface is at 85 °C: not before it is below 75 °C')
    await picture('7-flash-gate-dark')
    await card.locator('input[name="surfaceC"]').fill('30')
    await card.locator('input[name="dismantled"]').fill('left finger set')
    await card.getByRole('button', { name: 'Send' }).click()
    await card.getByText('left finger set').waitFor()
    await card.getByRole('button', { name: 'Record work' }).click()
    await card.getByText('2 dirty').click()
    await card.getByRole('button', { name: 'Send' }).click()
    await expect.poll(() => page.locator('[data-stop="clean-fingers"]').innerText()).toContain('not yet returned to service')
    for (const step of ['guards-on', 'tools-and-rags-out', 'people-clear']) {
      await card.locator(`[data-step="${step}"]`).click()
      await card.locator(`[data-step="${step}"]`).waitFor({ state: 'detached' })
    }
    expect(await card.locator('[data-step="isolation-removed-by-owner"]').count()).toBe(0)
    await picture('8-return-dark')
    await act('release-isolation')
    await card.getByRole('button', { name: 'Send' }).click()
    await card.locator('[data-step="empty-run"]').click()
    await page.locator('[data-stop="clean-fingers"]').waitFor({ state: 'detached' })
    await expect.poll(() => card.innerText()).toContain('· done ·')
    await page.emulateMedia({ colorScheme: 'light' })
  })

  it('takes hostile text as text, and the page has no fault', async () => {
    await send('lines/line-a/entries', { type: 'job', action: 'add', work: 'clean-rails' })
    const { jobs } = (await (await fetch(`${base}/api/jobs`)).json()) as { jobs: { work: string; id: string }[] }
    const { id } = jobs.find(({ work }) => work === 'clean-rails')!
    const nasty = '<img src=x onerror="document.title=1"><script>document.title=2</script>'
    for (const step of [{ action: 'take', by: nasty.slice(0, 70) }, { action: 'isolate', by: nasty.slice(0, 70) }, { action: 'wait-for-part', part: nasty.slice(0, 70), dismantled: nasty }]) expect(await send('lines/line-a/entries', { type: 'job', job: id, ...step })).toMatchObject({ status: 202 })
    await page.goto(`${base}/#/job?job=${id}`)
    await page.locator('[data-job-card]').getByText('Waits for').waitFor()
    expect(await page.locator('[data-job-card] img, [data-job-card] script').count()).toBe(0)
    expect(await page.title()).toBe('wave-solder-spc')
    expect(faults).toEqual([])
  })
})
