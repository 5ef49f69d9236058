import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { connectAsync, type MqttClient } from 'mqtt'
import { chromium, type Browser, type Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { newSalt, pinHash } from '../../src/service/people/people.js'
import { startService, type StartedService } from './start-process.js'

const CHROMIUM = '/usr/bin/chromium'
const CHROMIUM_ARGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync']
const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')
const HOSTILE = '<img src=x onerror="window.hurt=1">'

let folder = ''
let service: StartedService
let client: MqttClient
let publishing: ReturnType<typeof setInterval>
let browser: Browser
let page: Page
const pageFaults: string[] = []

beforeAll(async () => {
  if (!existsSync(CHROMIUM)) throw new Error(`there is no ${CHROMIUM}: this test drives a real browser; on Debian: apt-get install chromium`)
  folder = mkdtempSync(join(tmpdir(), 'setup-'))
  const salt = newSalt()
  const people = join(folder, 'people.json')
  writeFileSync(people, JSON.stringify({ salt, people: [{ name: 'Process', role: 'engineer', pin: pinHash('1357', salt), language: 'es' }] }))
  service = await startService(['--empty', '--data', join(folder, 'data')], { WAVE_SPC_PEOPLE: people })
  client = await connectAsync(service.mqttUrl)
  publishing = setInterval(() => {
    client.publish('plant/b/zone/1/temperature', JSON.stringify({ t: Date.now(), v: 118.4 }))
    client.publish(`plant/b/${HOSTILE.replaceAll('/', '')}`, HOSTILE)
  }, 300)
  browser = await chromium.launch({ executablePath: CHROMIUM, args: CHROMIUM_ARGS })
  page = await (await browser.newContext({ locale: 'en-US', viewport: { width: 1280, height: 900 } })).newPage()
  page.on('pageerror', (error) => pageFaults.push(error.message))
  page.on('console', (message) => {
    // A PIN that nobody has is answered with 401, which the browser reports by itself.
    if (message.type() === 'error' && !message.text().includes('401')) pageFaults.push(message.text())
  })
}, 90_000)

afterAll(async () => {
  clearInterval(publishing)
  await browser?.close()
  await client?.endAsync(true)
  await service?.stop()
  rmSync(folder, { recursive: true, force: true })
})

/** What axe finds against WCAG 2.2 A and AA, with the elements. */
async function violations(): Promise<string[]> {
  await page.evaluate(AXE)
  return page.evaluate(async () => {
    const { axe } = window as unknown as { axe: { run(options: unknown): Promise<{ violations: { id: string; nodes: { html: string; failureSummary: string }[] }[] }> } }
    const found = await axe.run({ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] })
    return found.violations.flatMap(({ id, nodes }) => nodes.slice(0, 3).map(({ html, failureSummary }) => `${id}: ${html.slice(0, 160)} ${failureSummary}`))
  })
}

/** Waits for words on the page; where they do not come, says what the page said instead. */
async function seen(words: string): Promise<void> {
  try {
    await page.getByText(words).waitFor()
  } catch (error) {
    throw new Error(`"${words}" is not on the page at ${page.url()}; it says: ${(await page.locator('main').innerText()).slice(0, 2000)}`, { cause: error })
  }
}

describe('an installation without a line', () => {
  it('offers the demonstration, own history and a new line, and keeps entries to those with a PIN', { timeout: 60_000 }, async () => {
    await page.goto(`${service.url}/wave-solder/`)
    await page.getByRole('heading', { name: 'Set up a line' }).waitFor()
    for (const choice of ['The demonstration', 'Your own history', 'A new line']) await page.getByRole('heading', { name: choice }).waitFor()
    await page.getByRole('button', { name: 'Start the demonstration' }).click()
    await page.getByText('sign in first').waitFor()
    await page.getByRole('button', { name: 'Sign in' }).click()
    await page.getByLabel('PIN or badge').fill('0000')
    await page.keyboard.press('Enter')
    await page.getByText('Nobody here has this PIN').waitFor()
    await page.getByLabel('PIN or badge').fill('1357')
    await page.keyboard.press('Enter')
    // The page speaks the language of the person.
    await page.getByRole('heading', { name: 'Configurar una línea' }).waitFor()
    await page.getByRole('button', { name: 'English' }).click()
    expect(await violations()).toEqual([])
  })

  it('makes a line with a channel heard at the broker, checked at the field', { timeout: 60_000 }, async () => {
    await page.getByLabel('Id of the line').fill('Not An Id')
    await page.locator('.field-fault', { hasText: 'lower-case letters' }).waitFor()
    await page.getByLabel('Id of the line').fill('line-b')
    await page.getByLabel('Name', { exact: true }).fill(HOSTILE)
    await page.getByRole('button', { name: 'Listen to the broker' }).click()
    const row = page.locator('tr', { hasText: 'plant/b/zone/1/temperature' })
    await row.waitFor({ timeout: 20_000 })
    expect(await row.innerText()).toContain('118.4')
    expect(await row.locator('select').inputValue()).toBe('preheat.zone-1.temperature')
    await row.getByRole('button').click()
    await page.getByText('The definition is complete.').waitFor()
    await page.getByRole('button', { name: 'Make the line' }).click()
    await seen('Done. The line is at work')
    const line = async (): Promise<Record<string, unknown>> => (await (await fetch(`${service.url}/wave-solder/api/lines/line-b`)).json()) as Record<string, unknown>
    await expect.poll(async () => (await line())['dataTime'], { timeout: 20_000 }).toBeDefined()
    expect((await line())['rejected']).toMatchObject({ total: 0 })
    expect(await page.evaluate(() => 'hurt' in window)).toBe(false)
  })

  it('changes that line, refuses what cannot be, and goes on after a restart with what was made', { timeout: 90_000 }, async () => {
    await page.goto(`${service.url}/wave-solder/#/setup/line-b`)
    await page.getByLabel('Name', { exact: true }).fill('Bay line')
    await page.getByLabel('Cost of an hour of labour').fill('-4')
    await page.locator('.field-fault').first().waitFor()
    expect(await page.getByRole('button', { name: 'Keep the changes' }).isDisabled()).toBe(true)
    await page.getByLabel('Cost of an hour of labour').fill('38')
    await page.getByText('The definition is complete.').waitFor()
    await page.getByRole('button', { name: 'Keep the changes' }).click()
    await page.getByText('Done. The line is at work').waitFor()
    const title = async (): Promise<unknown> => ((await (await fetch(`${service.url}/wave-solder/api/lines`)).json()) as { lines: { title: string }[] }).lines[0]?.title
    await expect.poll(title).toBe('Bay line')
    await service.stop()
    service = await startService(['--empty', '--data', join(folder, 'data')])
    await expect.poll(title, { timeout: 30_000 }).toBe('Bay line')
    expect(pageFaults.filter((fault) => !/ERR_CONNECTION_REFUSED|ERR_INCOMPLETE_CHUNKED/.test(fault))).toEqual([])
  })
})
