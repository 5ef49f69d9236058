import { cpSync, existsSync, mkdtempSync, rmSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { build } from 'esbuild'
import { chromium, type BrowserContext, type Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../src/line/line-definition.js'
import type { MaintenanceEntry } from '../../src/maintenance/maintenance-entry.js'
import { HttpApi, type HostApplication } from '../../src/service/http/http-api.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'

const express = createRequire(import.meta.url)('express') as () => HostApplication & Parameters<typeof createServer>[1]

const CHROMIUM = '/usr/bin/chromium'
const CHROMIUM_ARGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync']
/** Monday 23 November 2026, 04:00 UTC. */
const NOW_MS = Date.UTC(2026, 10, 23, 4)
const DAYS = ['mon', 'tue', 'wed', 'thu', 'fri'] as const
const HOSTILE = '<img src=x onerror="document.title=1">'
const RECIPE = 'customer-part-4711'

let folder = ''
let site: Site
let server: Server
let base = ''
let context: BrowserContext
let page: Page
const faults: string[] = []

async function enter(line: string, entry: object): Promise<void> {
  const outcome = await site.line(line)!.enter({ timeMs: NOW_MS, ...entry } as MaintenanceEntry)
  if (outcome.kind === 'refused') throw new Error(outcome.message)
}

beforeAll(async () => {
  if (!existsSync(CHROMIUM)) throw new Error(`there is no ${CHROMIUM}: this test drives a real browser; on Debian: apt-get install chromium`)
  folder = mkdtempSync(join(tmpdir(), 'browser-plan-'))
  const pageFolder = join(folder, 'page')
  await build({ entryPoints: ['src/page/main.tsx', 'src/page/offline-worker.ts'], bundle: true, format: 'esm', target: 'es2022', jsx: 'automatic', jsxImportSource: 'preact', outdir: pageFolder, logLevel: 'warning' })
  cpSync('src/page/index.html', join(pageFolder, 'index.html'))
  site = await acquireSite({ dataFolder: join(folder, 'data'), log: () => undefined, clock: { nowMs: () => NOW_MS } })
  const api = new HttpApi({ site: () => site, pageFolder, version: '0.0.0', log: (message) => faults.push(message) })
  site.onOutput((stored) => api.stream.publish(stored))
  const application = express()
  api.mount(application)
  server = createServer(application)
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/wave-solder/`
  for (const [line, title] of [['line-a', 'Line A'], ['line-b', `Line B ${HOSTILE}`]] as const) {
    const parsed = parseLineDefinition({ line, title, timeZone: 'Europe/Madrid', shifts: [{ name: 'early', days: [...DAYS], start: '06:00', end: '14:00', people: 2 }], costs: { labourPerHour: 40, unplannedStopPerHour: 500 } })
    if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
    site.openLine({ definition: parsed.definition, stages: undefined, mqtt: false })
  }
  await enter('line-a', { type: 'job', id: 'j1', action: 'add', work: 'clean-nozzle', section: 'fluxer' })
  await enter('line-a', { type: 'job', id: 'j2', action: 'add', work: 'clean-rails', section: 'transport' })
  await enter('line-a', { type: 'job', id: 'j3', action: 'add', work: 'replace-seals', section: 'fluxer' })
  await enter('line-a', { type: 'stock', id: 'k1', item: 'seal-kit', ready: 0 })
  await enter('line-b', { type: 'change', id: 'c1', change: 'recipe', text: RECIPE })
  await site.line('line-b')!.submit({ kind: 'record', record: { id: 'r1', timeMs: NOW_MS, section: 'transport', work: 'clean-chain', minutes: 120, by: 'Robin Example' } })
  context = await chromium.launchPersistentContext(join(folder, 'profile'), { executablePath: CHROMIUM, args: CHROMIUM_ARGS, locale: 'en-US', viewport: { width: 1280, height: 900 } })
  page = context.pages()[0] ?? (await context.newPage())
  page.on('pageerror', (error) => faults.push(error.message))
  page.on('console', (message) => {
    if (message.type() === 'error') faults.push(message.text())
  })
}, 90_000)

afterAll(async () => {
  await context?.close()
  server?.closeAllConnections()
  server?.close()
  if (site !== undefined) await releaseSite(site)
  rmSync(folder, { recursive: true, force: true })
})

async function open(view: string): Promise<void> {
  await page.goto(`${base}#/${view}`, { waitUntil: 'domcontentloaded' })
  await page.locator('main section').first().waitFor({ timeout: 30_000 })
}

describe('the screens of a lead', () => {
  it('Lines: the one that must not run comes first, then one line in the board’s order', { timeout: 60_000 }, async () => {
    await open('lines')
    await page.locator('.line-card').nth(1).waitFor()
    expect(await page.locator('.line-card').evaluateAll((cards) => cards.map((card) => (card as unknown as { dataset: { line: string } }).dataset.line))).toEqual(['line-b', 'line-a'])
    expect(await page.locator('.line-card').first().innerText()).toMatch(/Do not start/)
    await page.locator('.line-card').nth(1).getByRole('link', { name: 'Look at this line' }).click()
    await page.locator('[data-section="pot"]').waitFor()
    expect(await page.locator('[data-section] h3').allInnerTexts()).toEqual(['Fluxer', 'Preheat', 'Transport', 'Solder pot'])
    expect(await page.locator('[data-section="transport"]').innerText()).toContain('Clean the rails')
  })

  it('Plan: one stop for several jobs, what has no place with its reason; agreed it stays, asked for it is in the ledger', { timeout: 90_000 }, async () => {
    await open('plan')
    const stop = page.locator('.stop-card').first()
    await stop.waitFor()
    expect(await stop.innerText()).toMatch(/Line A[^]*Clean the flux nozzle[^]*Clean the rails[^]*One stop for all/)
    expect(await page.locator('[data-reason="plan.part-missing"]').innerText()).toContain('Not in stock: seal kit')
    expect(await page.locator('[data-reason="now.half-done"]').first().innerText()).toContain('Lubricate the chain')

    await page.getByRole('button', { name: 'Agree on this week' }).click()
    await page.getByText('✓ Agreed with production').waitFor()
    await stop.getByRole('button', { name: 'Note that it was asked for' }).click()
    await page.locator('[data-ledger]').waitFor()
    await page.locator('[data-ledger]').getByRole('button', { name: 'Refused' }).click()
    await page.getByLabel('Why was it refused?').fill(`order first ${HOSTILE}`)
    await page.getByRole('button', { name: 'Save' }).click()
    await page.locator('[data-ledger]', { hasText: 'refused' }).waitFor()
    await page.locator('[data-ledger]').getByRole('button', { name: 'What followed' }).click()
    await page.getByLabel('Minutes it stood').fill('60')
    await page.getByRole('button', { name: 'Save' }).click()
    await page.locator('[data-ledger]', { hasText: '60 min unplanned stop' }).waitFor()

    const [request] = await Promise.all([context.waitForEvent('page'), stop.getByRole('link', { name: 'Request for this stop' }).click()])
    await request.getByRole('heading', { name: 'Request for a stop: Line A' }).waitFor()
    expect(await request.locator('ol li').count()).toBeGreaterThan(2)
    await request.close()

    await page.getByRole('button', { name: 'Open the week again' }).click()
    await page.getByLabel('Why is it opened again?').fill('urgent order')
    await page.locator('form').getByRole('button', { name: 'Open the week again' }).click()
    await page.getByText('Proposed. Nothing is fixed').waitFor()
    expect(faults).toEqual([])
  })

  it('Cost: what has a figure as a bar, what lacks one says which', { timeout: 60_000 }, async () => {
    await open('cost')
    await page.getByText('Sum of what has a figure: 660 EUR').waitFor()
    expect(await page.locator('.bar-list').innerText()).toMatch(/no figure: .*cleanerPerJob missing/)
    expect(await page.locator('.bar-none').count()).toBeGreaterThan(0)
  })

  it('Report: shown as it prints, in the language chosen, without names', { timeout: 60_000 }, async () => {
    await open('report')
    const sheet = page.frameLocator('.report-frame')
    await sheet.getByRole('heading', { name: 'Hand-over of the shift' }).waitFor()
    expect(await sheet.locator('body').innerText()).toContain('Do not start: Clean the chain')
    await page.getByLabel('Language').selectOption('es')
    await page.getByLabel(/^For/).selectOption('audit')
    await sheet.getByRole('heading', { name: 'Evidencias para una auditoría' }).waitFor()
    await page.getByRole('button', { name: 'Enter one' }).click()
    await page.getByLabel('Revision or certificate').fill('rev 3')
    await page.getByLabel('In force since').fill('2026-01-01')
    await page.getByRole('button', { name: 'Save' }).click()
    await sheet.getByText('rev 3').waitFor()
    expect(await sheet.locator('body').innerText()).not.toContain('Robin')
    expect(faults).toEqual([])
  })

  it('Wall: every line in one sentence, large, with nothing of customers; Spanish at one tap elsewhere', { timeout: 60_000 }, async () => {
    await page.goto(`${base}#/plan`, { waitUntil: 'domcontentloaded' })
    await page.getByRole('button', { name: 'Español' }).click()
    await page.getByRole('heading', { name: /^Plan: Semana/ }).waitFor()
    await page.setViewportSize({ width: 1920, height: 1080 })
    await open('wall')
    const first = page.locator('.wall-line').first()
    await first.waitFor()
    expect(await first.innerText()).toMatch(/Line B[^]*Cadena lavada, sin lubricar: no arrancar/)
    expect(await page.locator('nav').isVisible()).toBe(false)
    const size = await first.locator('.wall-first').evaluate((element) => (globalThis as unknown as { getComputedStyle(of: unknown): { fontSize: string } }).getComputedStyle(element).fontSize)
    expect(Number.parseFloat(size)).toBeGreaterThanOrEqual(40)
    expect(await page.locator('body').innerText()).not.toMatch(new RegExp(`${RECIPE}|Robin`))
    // The hostile title is shown as what it is, and has done nothing.
    expect(await first.innerText()).toContain(HOSTILE)
    expect(await page.title()).toBe('wave-solder-spc')
    await page.setViewportSize({ width: 390, height: 844 })
    for (const view of ['wall', 'lines', 'plan', 'cost', 'report']) {
      await open(view)
      expect(await page.evaluate('document.documentElement.scrollWidth - window.innerWidth'), view).toBeLessThanOrEqual(0)
    }
    expect(faults).toEqual([])
  })
})
