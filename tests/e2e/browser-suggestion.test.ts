import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { connectAsync, type MqttClient } from 'mqtt'
import { chromium, type BrowserContext, type Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { startMosquitto, type TestBroker } from '../brokers.js'
import { CHECKOUT, requireBuild, startNodeRed, type NodeRedProcess } from '../node-red-process.js'

const CHROMIUM = '/usr/bin/chromium'
const CHROMIUM_ARGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync']

/** A thermocouple of zone 1 gets a coat on day 4. */
const SEED = 2

interface SuggestionMessage {
  readonly id: string
  readonly status: string
  readonly section: string
  readonly cautions: readonly string[]
}

let folder = ''
let broker: TestBroker
let nodeRed: NodeRedProcess
let client: MqttClient
let context: BrowserContext
let page: Page
const onTopic: SuggestionMessage[] = []
const pageFaults: string[] = []

/** The demonstration's flow with its clock let loose: the first line runs as fast as the runtime takes it. */
function fastDemoFlow(): object[] {
  const nodes = JSON.parse(readFileSync(join(CHECKOUT, 'flows', 'demo.json'), 'utf8')) as { readonly id: string }[]
  return nodes.map((node) => (node.id === 'ws-north-1-sim' ? { ...node, speed: 100_000 } : node))
}

beforeAll(async () => {
  if (!existsSync(CHROMIUM)) throw new Error(`there is no ${CHROMIUM}: this test drives a real browser; on Debian: apt-get install chromium`)
  requireBuild('dist/page/main.js', 'dist/nodes/solder-line/solder-line.js')
  folder = mkdtempSync(join(tmpdir(), 'browser-'))
  broker = await startMosquitto()
  client = await connectAsync(broker.url, { clientId: 'somebody-else' })
  client.on('message', (_topic, payload) => onTopic.push(JSON.parse(payload.toString()) as SuggestionMessage))
  await client.subscribeAsync('wave-solder/north-1/suggestions', { qos: 1 })
  const env = { WAVE_SPC_BROKER: broker.url, WAVE_SPC_SEED: String(SEED), WAVE_SPC_DATA: join(folder, 'data') }
  nodeRed = await startNodeRed({ userDir: join(folder, 'node-red'), nodesDir: CHECKOUT, flow: fastDemoFlow(), env })
  context = await chromium.launchPersistentContext(join(folder, 'profile'), { executablePath: CHROMIUM, args: CHROMIUM_ARGS, locale: 'en-US', viewport: { width: 1280, height: 900 } })
  page = context.pages()[0] ?? (await context.newPage())
  page.on('pageerror', (error) => pageFaults.push(error.message))
  page.on('console', (message) => {
    if (message.type() === 'error') pageFaults.push(message.text())
  })
}, 90_000)

afterAll(async () => {
  await context?.close()
  await nodeRed?.stop()
  await client?.endAsync()
  await broker?.stop()
  rmSync(folder, { recursive: true, force: true })
})

describe('a fault of a simulated line', () => {
  it('comes over a real broker to a topic and to a page in a real browser, and is answered there', { timeout: 180_000 }, async () => {
    // The page is open before anything is wrong: the suggestion has to come to it by itself.
    await expect.poll(() => page.goto(`${nodeRed.url}/wave-solder/`, { waitUntil: 'domcontentloaded' }).then((response) => response?.status()), { timeout: 30_000 }).toBe(200)
    await page.locator('[data-line="north-1"]').waitFor({ timeout: 30_000 })
    await page.locator('[data-line="north-2"]').waitFor()
    expect(await page.locator('.line-card').allInnerTexts()).toEqual([expect.stringContaining('simulated'), expect.stringContaining('simulated')])
    await page.locator('footer', { hasText: 'never moves the machine' }).waitFor()

    await expect.poll(() => onTopic.length, { timeout: 120_000, interval: 200 }).toBeGreaterThan(0)
    const [suggestion] = onTopic
    expect(suggestion).toMatchObject({ status: 'open', line: 'north-1', section: 'preheat', zone: 1 })
    const card = page.locator(`[data-suggestion="${suggestion?.id}"]`)
    await card.waitFor({ timeout: 20_000 })
    expect(await card.locator('h3').innerText()).toMatch(/zone 1/i)
    expect(await card.locator('.causes li').first().innerText()).toMatch(/thermocouple/i)
    expect(await card.locator('.cautions li').count()).toBe(suggestion?.cautions.length)
    const words = await card.innerText()
    expect(words).toContain('Check first')
    expect(await card.locator('section', { hasText: 'Check first' }).locator('ol li').count()).toBeGreaterThan(0)
    expect(words).toContain('Cautions')
    expect(words).toContain('Preheat · zone 1')
    expect(words).not.toMatch(/undefined|NaN|\[object/)

    await card.getByRole('button', { name: 'Take', exact: true }).click()
    await expect.poll(() => onTopic.some(({ id, status }) => id === suggestion?.id && status === 'taken'), { timeout: 30_000 }).toBe(true)
    await card.getByText('· taken ·').waitFor()
    await card.getByRole('button', { name: 'Work is done' }).waitFor()
    expect(await card.getByRole('button', { name: 'Take', exact: true }).count()).toBe(0)
    expect(pageFaults).toEqual([])
  })

  it('is seen on its charts, which draw points', { timeout: 60_000 }, async () => {
    await page.getByRole('link', { name: 'Show the charts' }).click()
    await page.getByRole('heading', { name: /^Charts: North 1/ }).waitFor()
    const chart = page.locator('.feature').first()
    await chart.locator('canvas').first().waitFor()
    const shown = await page.locator('.feature').count()
    expect(shown).toBeGreaterThan(0)
    await expect.poll(async () => Number((await chart.locator('.plot-area').first().getAttribute('aria-label'))?.match(/(\d+)$/)?.[1] ?? 0)).toBeGreaterThan(100)
    // Some two hundred points of a few pixels each, drawn and not only announced.
    await expect.poll(() => chart.locator('canvas').first().evaluate(inkedPixels)).toBeGreaterThan(500)

    await page.getByRole('link', { name: 'All sections' }).click()
    await expect.poll(() => page.locator('.feature').count()).toBeGreaterThan(shown)
    const accepting = page.locator('.feature', { has: page.getByRole('button', { name: 'Accept baseline' }) }).first()
    const accepted = page.locator(`[data-feature="${await accepting.getAttribute('data-feature')}"]`)
    await accepted.getByRole('button', { name: 'Accept baseline' }).click()
    await accepted.getByText(/Rests on: accepted, \d+/).waitFor()
    expect(await accepted.getByRole('button', { name: 'Accept baseline' }).count()).toBe(0)
    for (const section of ['Preheat', 'Transport', 'Pot']) await page.getByRole('heading', { name: section, exact: true }).waitFor()
    expect(pageFaults).toEqual([])
  })

  it('is told in Spanish when the language is changed, and the choice is kept', { timeout: 60_000 }, async () => {
    await page.goto(`${nodeRed.url}/wave-solder/#/shift`)
    const heading = page.locator('.suggestion h3').first()
    const english = await heading.innerText()
    await page.getByRole('banner').getByRole('button', { name: 'Español' }).click()
    await page.getByRole('heading', { name: 'Sugerencias' }).waitFor()
    await expect.poll(() => heading.innerText()).not.toBe(english)
    const card = page.locator('.suggestion').first()
    expect(await card.innerText()).toMatch(/Precauciones[^]*Comprobar primero/)
    expect(await card.innerText()).toContain('tomada')
    await card.getByRole('link', { name: 'Ver las gráficas' }).click()
    // Names of charts and faults no sensor sees come from the service, in the language of the page.
    await page.locator('.feature h4', { hasText: 'zona 1' }).first().waitFor()
    expect(await page.locator('.feature h4', { hasText: /zone/i }).count()).toBe(0)
    await page.goto(`${nodeRed.url}/wave-solder/#/lines`)
    await page.locator('.unseen summary').first().click()
    expect(await page.locator('.unseen p').first().innerText()).toMatch(/sensor/)
    expect(await page.locator('.unseen p').first().innerText()).not.toMatch(/\b(the|this)\b/)
    await page.reload({ waitUntil: 'domcontentloaded' })
    await page.getByRole('heading', { name: 'Líneas', exact: true }).waitFor()
    expect(await page.locator('html').getAttribute('lang')).toBe('es')
    expect(pageFaults).toEqual([])
  })
})

/** Runs in the browser: how many pixels of a canvas have the full ink of points; axes and limits are drawn in a softer one. */
function inkedPixels(element: unknown): number {
  interface Context {
    fillStyle: string
    fillRect(x: number, y: number, width: number, height: number): void
    getImageData(x: number, y: number, width: number, height: number): { readonly data: Uint8ClampedArray }
  }
  interface Canvas {
    width: number
    height: number
    getContext(kind: '2d'): Context
    cloneNode(): Canvas
  }
  const browser = globalThis as unknown as { getComputedStyle(element: unknown): { getPropertyValue(name: string): string } }
  const canvas = element as Canvas
  const sample = canvas.cloneNode().getContext('2d')
  sample.fillStyle = browser.getComputedStyle(element).getPropertyValue('--ink').trim()
  sample.fillRect(0, 0, 1, 1)
  const ink = sample.getImageData(0, 0, 1, 1).data
  const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height)
  let count = 0
  for (let index = 0; index < data.length; index += 4) if ([0, 1, 2, 3].every((part) => data[index + part] === ink[part])) count += 1
  return count
}
