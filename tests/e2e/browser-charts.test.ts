import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import { createRequire } from 'node:module'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { build } from 'esbuild'
import { chromium, type Browser, type Locator, type Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { parseLineDefinition } from '../../src/line/line-definition.js'
import { HttpApi, type HostApplication } from '../../src/service/http/http-api.js'
import type { RunningLine } from '../../src/service/running-line.js'
import { acquireSite, releaseSite, type Site } from '../../src/service/site.js'
import { demoConfig, samplesAsMessage } from '../../src/simulator/demo-line.js'
import { describeLine } from '../../src/simulator/line-description.js'
import { createSimulation, type Simulation } from '../../src/simulator/simulation.js'

const CHROMIUM = '/usr/bin/chromium'
const express = createRequire(import.meta.url)('express') as () => HostApplication & Parameters<typeof createServer>[1]
const DAYS = 4
const START_MS = Date.UTC(2026, 0, 5)

let folder = ''
let site: Site
let line: RunningLine
let simulation: Simulation
let server: Server
let browser: Browser
let page: Page
let base = ''
const faults: string[] = []

/** Four days of a simulated line, with a name that would run if it could. */
async function openLine(): Promise<void> {
  const config = { ...demoConfig({ seed: 7, line: 'faulty' as const, startMs: START_MS }), durationHours: (DAYS + 1) * 24 }
  const parsed = parseLineDefinition({ ...describeLine(config, { line: 'north-1', title: 'North <img src=x onerror=alert(1)>' }), timeZone: 'Europe/Madrid', rules: { supplementary: ['nine-on-one-side'] } })
  if (parsed.kind === 'faults') throw new Error(JSON.stringify(parsed.faults))
  line = site.openLine({ definition: parsed.definition, stages: undefined, mqtt: false })
  simulation = createSimulation(config)
  await feedTo(START_MS + DAYS * 24 * 3_600_000)
  const { seq } = await line.submit({ kind: 'record', record: { id: 'cleaned', timeMs: line.nowMs() - 30 * 3_600_000, section: 'preheat', zone: 1, work: 'clean-vents' } })
  await line.stepped(seq)
}

async function feedTo(untilMs: number): Promise<void> {
  while (simulation.timeMs < untilMs) {
    const ticks: string[] = []
    while (ticks.length < 2000 && simulation.timeMs < untilMs) {
      const sample = simulation.next()
      if (sample === undefined) throw new Error('the simulated line has ended too soon')
      ticks.push(samplesAsMessage(sample))
    }
    const { seq } = await line.submit({ kind: 'message', topic: 'wave-solder/north-1/telemetry', payload: `[${ticks.join(',')}]` })
    await line.stepped(seq)
  }
}

beforeAll(async () => {
  if (!existsSync(CHROMIUM)) throw new Error(`there is no ${CHROMIUM}: this test drives a real browser; on Debian: apt-get install chromium`)
  folder = mkdtempSync(join(tmpdir(), 'charts-'))
  const pageFolder = join(folder, 'page')
  await build({ entryPoints: ['src/page/main.tsx'], bundle: true, minify: true, format: 'esm', target: 'es2022', jsx: 'automatic', jsxImportSource: 'preact', outdir: pageFolder, logLevel: 'warning' })
  cpSync('src/page/index.html', join(pageFolder, 'index.html'))
  site = await acquireSite({ dataFolder: join(folder, 'data'), log: () => undefined })
  const api = new HttpApi({ site: () => site, pageFolder, version: '0.0.0', log: (message) => faults.push(message) })
  site.onOutput((stored) => api.stream.publish(stored))
  const application = express()
  api.mount(application)
  server = createServer(application)
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}/wave-solder`
  await openLine()
  browser = await chromium.launch({ executablePath: CHROMIUM, args: ['--no-sandbox', '--disable-gpu'] })
  const context = await browser.newContext({ locale: 'en-US', viewport: { width: 1280, height: 1400 }, acceptDownloads: true })
  page = await context.newPage()
  page.on('pageerror', (error) => faults.push(error.message))
  page.on('dialog', (dialog) => {
    faults.push(`dialog: ${dialog.message()}`)
    void dialog.dismiss()
  })
}, 180_000)

afterAll(async () => {
  await browser?.close()
  server?.closeAllConnections()
  server?.close()
  if (site !== undefined) await releaseSite(site)
  rmSync(folder, { recursive: true, force: true })
})

const OFFSET = 'preheat.zone-1.temperature.offset'

async function pointsOf(card: Locator): Promise<number> {
  return Number((await card.locator('.plot-area').first().getAttribute('aria-label'))?.match(/(\d+)$/)?.[1] ?? 0)
}

describe('the charts in a real browser', () => {
  it('show a feature over the time asked for, and a point opens what stands behind it', { timeout: 60_000 }, async () => {
    await page.goto(`${base}/#/charts/north-1?features=${OFFSET},pot.level.offset`)
    const card = page.locator(`[data-feature="${OFFSET}"]`)
    await card.locator('canvas').first().waitFor()
    const all = await pointsOf(card)
    expect(all).toBeGreaterThan(100)
    await page.getByRole('button', { name: '24 hours' }).click()
    await expect.poll(() => pointsOf(card)).toBeLessThan(all)
    await page.getByRole('button', { name: 'Since last cleaning' }).click()
    await expect.poll(async () => (await pointsOf(card)) > 0 && (await pointsOf(card)) < all).toBe(true)
    // The pot has not been cleaned: it says so and shows everything.
    await page.locator('[data-feature="pot.level.offset"]').getByText('No cleaning is recorded').waitFor()

    const area = card.locator('.plot-area').first()
    await area.focus()
    await page.keyboard.press('ArrowLeft')
    const readout = card.locator('.readout').first()
    await expect.poll(() => readout.innerText()).toMatch(/°C .*centre .*limit .*…/)
    await page.keyboard.press('Enter')
    const panel = card.locator('.point-panel')
    await panel.waitFor()
    expect(await panel.innerText()).toMatch(/Readings from .* to [^]*Value[^]*°C[^]*Limits[^]*Recipe[^]*State[^]*not kept/)
    await panel.getByRole('button', { name: 'Close' }).click()
    expect(await panel.count()).toBe(0)
  })

  it('show rule hits in words, made charts, and values in the unit chosen', { timeout: 60_000 }, async () => {
    await page.goto(`${base}/#/charts/north-1?features=${OFFSET},preheat.zone-1.temperature.fast,preheat.zone-2.temperature.fast,conveyor.speed.spread`)
    const card = page.locator(`[data-feature="${OFFSET}"]`)
    await page.getByRole('button', { name: 'All', exact: true }).click()
    await page.getByLabel('Rule hits').check()
    const told = page.getByText(/Rule hits in words: [1-9]/).first()
    await told.waitFor()
    await told.click()
    await page.locator('li', { hasText: /(one beyond three sigma|2 of 3|4 of 5|8 on one side|9 on one side), (above|below)/ }).first().waitFor()
    // each with its begin, and its end once it has one
    await page.locator('li', { hasText: /^(since .+|.+ to .+): (one beyond three sigma|2 of 3|4 of 5|8 on one side|9 on one side)/ }).first().waitFor()
    const before = await card.locator('canvas').count()
    await page.getByLabel('Moving average').check()
    await page.getByLabel('Spread').check()
    await page.getByLabel('Cumulative sums').check()
    await expect.poll(() => card.locator('canvas').count()).toBe(before + 4)
    await page.getByLabel('Units').first().selectOption('°F')
    await card.locator('.plot-area').first().focus()
    await page.keyboard.press('ArrowLeft')
    await expect.poll(() => card.locator('.readout').first().innerText()).toContain('°F')
    await page.getByRole('button', { name: 'Closer' }).click()
    await page.getByRole('button', { name: 'All of it' }).click()
    await expect.poll(() => page.getByRole('button', { name: 'All of it' }).isDisabled()).toBe(true)
  })

  it('list the marks on the time axis for whoever reads by ear or steers by keys; one leads to its time', { timeout: 60_000 }, async () => {
    const card = page.locator(`[data-feature="${OFFSET}"]`)
    const list = card.locator('.mark-list')
    await list.locator('summary').focus()
    await page.keyboard.press('Enter')
    const cleaned = list.getByRole('button', { name: /Jan.*vents/ })
    await cleaned.focus()
    const all = await pointsOf(card)
    await page.keyboard.press('Enter')
    await expect.poll(() => page.getByRole('button', { name: 'All of it' }).isDisabled()).toBe(false)
    // A day around it is shown, and of the marks only what lies in it; the points stay what they are.
    expect(await list.locator('li').count()).toBeGreaterThan(0)
    expect(await pointsOf(card)).toBe(all)
    await page.getByRole('button', { name: 'All of it' }).click()
  })

  it('show what is new by themselves', { timeout: 60_000 }, async () => {
    await page.goto(`${base}/#/charts/north-1?features=${OFFSET}`)
    await page.getByRole('button', { name: 'All', exact: true }).click()
    const card = page.locator(`[data-feature="${OFFSET}"]`)
    const before = await pointsOf(card)
    await feedTo(START_MS + (DAYS * 24 + 14) * 3_600_000)
    await expect.poll(() => pointsOf(card), { timeout: 15_000 }).toBeGreaterThan(before)
    // Drawn, not only counted: the newest point of the plot is of the fifth day.
    await expect
      .poll(async () => {
        await card.locator('.plot-area').first().focus()
        for (const key of ['ArrowRight', 'ArrowRight', 'ArrowRight']) await page.keyboard.press(key)
        return card.locator('.readout').first().innerText()
      })
      .toContain(`Jan ${5 + DAYS}`)
  })

  it('give a picture and a table, and capability in words or the reason against it', { timeout: 60_000 }, async () => {
    const card = page.locator(`[data-feature="${OFFSET}"]`)
    await card.scrollIntoViewIfNeeded()
    const [picture] = await Promise.all([page.waitForEvent('download'), card.getByRole('button', { name: 'Picture' }).click()])
    expect(readFileSync(await picture.path()).subarray(1, 4).toString()).toBe('PNG')
    const [table] = await Promise.all([page.waitForEvent('download'), card.getByRole('link', { name: 'Table (CSV)' }).click()])
    expect(readFileSync(await table.path(), 'utf8')).toMatch(/^time,window_start,feature/)
    await card.getByText('Capability', { exact: true }).click()
    await card.getByRole('button', { name: 'Work it out' }).click()
    await card.getByText('Give at least one limit').waitFor()
    await card.getByLabel(/Upper limit/).fill('50')
    await card.getByRole('button', { name: 'Work it out' }).click()
    await card.getByText(/Not stated|Ppk/).first().waitFor()
  })

  it('baselines show their picture and cost, and take an engineer’s word, in Spanish too', { timeout: 60_000 }, async () => {
    await page.goto(`${base}/#/baselines/north-1`)
    await page.getByText(/All limits of this line together: about/).waitFor()
    await page.getByText(/Textbook rules on the same points would give about \d+/).waitFor()
    const card = page.locator('.baseline-card', { has: page.getByRole('button', { name: 'Accept', exact: true }) }).first()
    const id = await card.getAttribute('data-baseline')
    await card.scrollIntoViewIfNeeded()
    await card.locator('canvas').waitFor()
    expect(await card.innerText()).toMatch(/Centre .*sigma[^]*no full service[^]*about one in \d+ weeks[^]*Three sigma/)
    await card.getByLabel('By').fill('Robin')
    await card.getByLabel('Reason').fill('after the service')
    await card.getByRole('button', { name: 'Accept', exact: true }).click()
    const accepted = page.locator(`section[aria-label="Accepted"] [data-baseline="${id}"]`)
    await accepted.waitFor()
    await page.getByRole('button', { name: 'Español' }).click()
    await page.getByText(/Las reglas de manual sobre los mismos puntos/).waitFor()
    expect(await page.locator('main').innerText()).not.toMatch(/undefined|NaN|\[object/)
    expect(await page.locator('main img').count()).toBe(0)
    expect(faults).toEqual([])
  })
})
