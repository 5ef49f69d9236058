import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { chromium, type Browser, type Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { startService, type StartedService } from './start-process.js'
import { twelveWeeks } from './weeks-table.js'

const CHROMIUM = '/usr/bin/chromium'
const CHROMIUM_ARGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync']

let folder = ''
let service: StartedService
let browser: Browser
let page: Page
const pageFaults: string[] = []
let weakFromMs = 0

beforeAll(async () => {
  if (!existsSync(CHROMIUM)) throw new Error(`there is no ${CHROMIUM}: this test drives a real browser; on Debian: apt-get install chromium`)
  folder = mkdtempSync(join(tmpdir(), 'weeks-'))
  const weeks = twelveWeeks()
  weakFromMs = weeks.weakFromMs
  writeFileSync(join(folder, 'our line.csv'), weeks.csv)
  service = await startService(['--empty', '--data', join(folder, 'data')])
  browser = await chromium.launch({ executablePath: CHROMIUM, args: CHROMIUM_ARGS })
  page = await (await browser.newContext({ locale: 'en-US', timezoneId: 'Europe/Madrid', viewport: { width: 1280, height: 900 } })).newPage()
  page.on('pageerror', (error) => pageFaults.push(error.message))
  page.on('console', (message) => {
    if (message.type() === 'error') pageFaults.push(message.text())
  })
}, 180_000)

afterAll(async () => {
  await browser?.close()
  await service?.stop()
  rmSync(folder, { recursive: true, force: true })
})

describe('twelve weeks of a line of one’s own', () => {
  it('are dropped, named, read, and tell what would have been said and what could not be seen', { timeout: 300_000 }, async () => {
    await page.goto(`${service.url}/wave-solder/#/own-history`)
    await page.locator('input[type=file]').setInputFiles(join(folder, 'our line.csv'))
    // What the columns are is proposed; nothing has to be typed.
    await page.getByRole('heading', { name: /our line\.csv/ }).waitFor()
    const chosen = await page.locator('tbody tr select[aria-label$="Channel"]').evaluateAll((selects) => selects.map((select) => (select as HTMLSelectElement).value))
    expect(chosen).toEqual(['time', 'preheat.zone-1.temperature', 'preheat.zone-2.temperature', 'preheat.zone-3.temperature', 'conveyor.speed', 'pot.level'])
    expect(await page.getByLabel('Seconds between two rows').inputValue()).toBe('60')
    await page.getByRole('button', { name: 'Read this history' }).click()
    await page.locator('progress').waitFor()
    await page.getByText(/Textbook rules: [\d,]+ episodes/).waitFor({ timeout: 240_000 })

    const findings = page.locator('article.suggestion')
    const count = await findings.count()
    expect(count).toBeGreaterThanOrEqual(1)
    expect(count).toBeLessThanOrEqual(3)
    const weak = findings.filter({ hasText: 'zone 2' }).first()
    const words = await weak.innerText()
    expect(words).toMatch(/heat/i)
    expect(words).toContain('Check first')
    expect(words).not.toMatch(/undefined|NaN|\[object/)
    await weak.locator('canvas').first().waitFor()
    // It was found while the zone was weakening, and not before.
    const { found } = (await (await fetch(`${service.url}/wave-solder/api/own-history/${new URL(page.url()).hash.match(/history=([0-9a-f-]+)/)?.[1]}/findings`)).json()) as { found: { suggestion: { zone?: number; raised: string; causes: { members?: string[] }[] } }[] }
    const said = found.find(({ suggestion }) => suggestion.zone === 2)?.suggestion
    expect(Date.parse(said?.raised ?? '')).toBeGreaterThan(weakFromMs)
    expect(said?.causes[0]?.members?.length).toBeGreaterThan(1)

    const textbook = Number((await page.locator('.big').innerText()).match(/([\d,]+) episodes/)?.[1]?.replaceAll(',', ''))
    expect(textbook).toBeGreaterThan(20 * count)
    await page.getByRole('heading', { name: 'What nothing here can see' }).waitFor()
    await page.getByText(/clogged flux nozzle: .*paper/).waitFor()
    await page.getByRole('button', { name: 'Español' }).click()
    await page.getByText('Lo que nada de esto puede ver').waitFor()
    expect(pageFaults).toEqual([])
  })

  it('stay at hand after a reload, on a phone too, and go when they are removed', { timeout: 60_000 }, async () => {
    await page.setViewportSize({ width: 390, height: 844 })
    await page.reload()
    await page.getByText(/Reglas de manual/).first().waitFor()
    expect(await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth + 1)).toBe(true)
    await page.getByRole('link', { name: 'Otro archivo' }).click()
    await page.getByText('our line.csv').waitFor()
    await page.getByRole('button', { name: 'Quitar' }).click()
    await expect.poll(async () => ((await (await fetch(`${service.url}/wave-solder/api/own-history`)).json()) as { histories: unknown[] }).histories.length).toBe(0)
  })
})
