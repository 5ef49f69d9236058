import { copyFileSync, existsSync, mkdtempSync, rmSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { build } from 'esbuild'
import { chromium, type BrowserContext, type Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../src/line/line-definition.js'
import { HttpApi, type HostApplication } from '../../src/service/http/http-api.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'
import { CHECKOUT } from '../node-red-process.js'

const express = createRequire(import.meta.url)('express') as () => HostApplication & Parameters<typeof createServer>[1]
const CHROMIUM = '/usr/bin/chromium'
const START_MS = Date.UTC(2026, 0, 5)

let folder = ''
let site: Site
let server: Server
let base = ''
let context: BrowserContext
let page: Page
const faults: string[] = []

/** A line that runs day and night for 84 h; its dross is skimmed every 8 h with what was found. */
async function feed(): Promise<void> {
  const zones = [1, 2, 3]
  const parsed = parseLineDefinition({ line: 'north-1', title: 'North 1', simulated: true, channels: [...zones.map((zone) => ({ channel: `preheat.zone-${zone}.temperature`, periodS: 60 })), { channel: 'line.state', periodS: 60 }, { channel: 'conveyor.speed', periodS: 60 }] })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  const line = site.openLine({ definition: parsed.definition, stages: undefined, mqtt: false })
  const findings = [1, 2, 2, 2, 1, 2, 3, 2, 2, 1]
  // The queue of a line is bounded: a working shift at a time.
  let sent: Promise<unknown>[] = []
  const send = (channel: string, value: number | string, time: number): void => void sent.push(line.submit({ kind: 'value', channel, value, time }))
  for (let minute = 0; minute < 84 * 60; minute += 1) {
    const timeMs = START_MS + minute * 60_000
    send('line.state', 'production', timeMs)
    send('conveyor.speed', 20, timeMs)
    for (const zone of zones) send(`preheat.zone-${zone}.temperature`, 100 + 20 * zone + 0.3 * Math.sin(minute * 1.7 + zone), timeMs)
    if (minute % 480 === 0) {
      await Promise.all(sent)
      sent = []
    }
    const finding = findings[minute / 480 - 1]
    if (finding !== undefined) sent.push(line.submit({ kind: 'record', record: { id: `skim-${minute}`, timeMs, section: 'pot', work: 'skim-dross', finding } }))
  }
  await Promise.all(sent)
  const { seq } = await line.submit({ kind: 'record', record: { id: 'nozzle', timeMs: line.nowMs(), section: 'fluxer', work: 'clean-nozzle', handCheck: 'passed' } })
  await line.stepped(seq)
}

beforeAll(async () => {
  if (!existsSync(CHROMIUM)) throw new Error(`there is no ${CHROMIUM}: this test drives a real browser; on Debian: apt-get install chromium`)
  folder = mkdtempSync(join(tmpdir(), 'intervals-'))
  const pageFolder = join(folder, 'page')
  await build({ entryPoints: [join(CHECKOUT, 'src', 'page', 'main.tsx')], bundle: true, format: 'esm', target: 'es2022', jsx: 'automatic', jsxImportSource: 'preact', outdir: pageFolder, logLevel: 'silent' })
  copyFileSync(join(CHECKOUT, 'src', 'page', 'index.html'), join(pageFolder, 'index.html'))
  site = await acquireSite({ dataFolder: join(folder, 'data'), log: () => undefined })
  const api = new HttpApi({ site: () => site, pageFolder, version: '0.0.0', log: () => undefined })
  const application = express()
  api.mount(application)
  server = createServer(application)
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/wave-solder/`
  await feed()
  context = await chromium.launchPersistentContext(join(folder, 'profile'), { executablePath: CHROMIUM, args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'], locale: 'en-US', viewport: { width: 1280, height: 900 } })
  page = context.pages()[0] ?? (await context.newPage())
  page.on('pageerror', (error) => faults.push(error.message))
}, 120_000)

afterAll(async () => {
  await context?.close()
  server?.closeAllConnections()
  server?.close()
  if (site !== undefined) await releaseSite(site)
  rmSync(folder, { recursive: true, force: true })
})

describe('the intervals of a line in a real browser', () => {
  it('say how often each job is needed and why, in the order a board travels', async () => {
    await page.goto(`${base}#/intervals/north-1`)
    const dross = page.locator('[data-work="interval-skim-dross"]')
    await dross.waitFor()
    expect(await dross.textContent()).toMatch(/Skim the dross.*every .* running hours/)
    expect(await dross.getAttribute('data-verdict')).not.toBe('not-enough-history')
    expect(await dross.textContent()).toMatch(/, because (at this interval|it is about right|late cleanings)/)
    const headings = await page.locator('.interval-sections h3').allTextContents()
    expect(headings).toEqual(['Fluxer', 'Preheat', 'Transport', 'Pot'])
    expect(await page.locator('[data-work="interval-swap-exhaust-filter"]').textContent()).toContain('safety item')
  })

  it('show the curves behind a verdict on request', async () => {
    const dross = page.locator('[data-work="interval-skim-dross"]')
    await dross.locator('summary').click()
    await dross.locator('svg').first().waitFor()
    expect(await dross.locator('svg').count()).toBe(2)
    expect(await dross.textContent()).toMatch(/cleaned before any sign/)
    const path = await dross.locator('path.curve-line').first().getAttribute('d')
    expect(path).toMatch(/^M[\d.]+ [\d.]+(L[\d.]+ [\d.]+){20,}$/)
    expect(path).not.toContain('NaN')
  })

  it('say whether recorded work helped and what the references are worth', async () => {
    await page.locator('[data-proof="checked-by-hand"]').waitFor()
    expect(await page.locator('[data-proof="checked-by-hand"]').first().textContent()).toContain("The job's own check by hand was in order.")
    expect(await page.locator('.provisional').first().textContent()).toContain('Provisional. Missing for a full service')
  })

  it('speak Spanish, fit a phone, and break nothing', async () => {
    await page.evaluate(() => localStorage.setItem('wave-solder-language', 'es'))
    await page.setViewportSize({ width: 390, height: 800 })
    await page.reload()
    const dross = page.locator('[data-work="interval-skim-dross"]')
    await dross.waitFor()
    expect(await dross.textContent()).toMatch(/cada .* horas de marcha/)
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(391)
    expect(faults).toEqual([])
  })
})
