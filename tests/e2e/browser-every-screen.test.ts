import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { shortCode } from '../../src/maintenance/suggestion-id.js'
import type { Suggestion } from '../../src/maintenance/suggestion.js'
import type { Site } from '../../src/service/site.js'
import type { SiteLine, SiteView } from '../../src/service/site-view.js'
import { demoConfig } from '../../src/simulator/demo-line.js'
import { barriers, fits, FedLine, PageSite, picture, screensOf } from './page-site.js'

const DAY = 86_400_000
const START_MS = Date.UTC(2026, 0, 5)
/** A thermocouple of zone 1 gets a coat on day 4. */
const SEED = 2
const LONG = 'W'.repeat(80)
const HURT = '<img src=x onerror="window.hurt=1">'

let pages: PageSite
let fed: FedLine
let page: Page
/** How often the API is to show each open suggestion, each time under another id. */
let copies = 0

/** The site as it is, with its open suggestions many times over. */
function manyTimes(site: Site): SiteView {
  const multiplied = (line: SiteLine): SiteLine => {
    const projection = Object.create(line.projection, {
      allSuggestions: { value: (): readonly Suggestion[] => line.projection.allSuggestions().flatMap((one) => [one, ...Array.from({ length: copies }, (_, index) => ({ ...one, id: `${one.id}-${index}` }))]) },
      openSuggestions: { value: (): readonly Suggestion[] => line.projection.openSuggestions().flatMap((one) => [one, ...Array.from({ length: copies }, (_, index) => ({ ...one, id: `${one.id}-${index}` }))]) },
    }) as SiteLine['projection']
    return Object.create(line, { projection: { value: projection } }) as SiteLine
  }
  return Object.create(site, { lines: { value: () => site.lines().map(multiplied) }, line: { value: (id: string) => { const line = site.line(id); return line === undefined ? undefined : multiplied(line) } } }) as SiteView
}

beforeAll(async () => {
  pages = await PageSite.open(manyTimes)
  fed = FedLine.open(pages, demoConfig({ seed: SEED, line: 'faulty', startMs: START_MS }), { line: 'north-1', title: 'North 1' })
  const second = FedLine.open(pages, demoConfig({ seed: SEED + 1, line: 'healthy', startMs: START_MS }), { line: 'north-2', title: HURT })
  await second.feedTo(START_MS + 0.6 * DAY)
  pages.openLine({ line: 'north-3', title: LONG })
  await fed.feedUntil(() => fed.line.projection.openSuggestions().length > 0, 'a suggestion')
  // Text of people, in every field that takes it.
  await pages.send('lines/north-1/records', { section: 'pot', work: 'replace-pump-seal', remark: HURT, by: HURT, lot: HURT }).catch(() => undefined)
  await pages.send('lines/north-1/records', { section: 'transport', work: 'clean-rails', finding: 3, minutes: 20, remark: HURT, by: HURT, lot: HURT, product: HURT }).catch(() => undefined)
  // Half-done work: it stands on every screen.
  await pages.send('lines/north-2/records', { section: 'transport', work: 'clean-chain', finding: 3, by: HURT })
  await pages.send('lines/north-1/records', { section: 'transport', work: 'clean-fingers', remark: LONG, by: LONG })
  await pages.send('lines/north-1/entries', { type: 'change', change: 'recipe', what: HURT, text: HURT, by: HURT }).catch(() => undefined)
  await pages.send('lines/north-1/entries', { type: 'round', round: 'shift', by: HURT, items: [{ check: 'seals', ok: false, remark: HURT }] }).catch(() => undefined)
  const { seq } = await fed.line.submit({ kind: 'message', topic: 'wave-solder/north-1/telemetry', payload: JSON.stringify({ t: fed.simulation.timeMs, v: { 'line.recipe': HURT } }) })
  await fed.line.stepped(seq)
  page = await pages.page()
}, 240_000)

afterAll(async () => {
  await pages?.close()
})

async function show(hash: string): Promise<void> {
  await page.goto(`${pages.base}#/${hash}`, { waitUntil: 'domcontentloaded' })
  await page.locator('main h2, main .wall-lines, main [data-job-card], main [data-suggestion]').first().waitFor()
  // Every answer asked for has come: nothing says that it is being read.
  await expect.poll(() => page.getByText(/^(Loading|Reading|Cargando|Leyendo)/).count()).toBe(0)
}

const SCREENS = [...screensOf('north-1'), 'job', 'suggestion']

describe('every screen, with a suggestion, in both languages', { timeout: 180_000 }, () => {
  /** Addresses of the screens that show one thing. */
  const addresses: Record<string, string> = {}

  it('has a job and a suggestion to show, found by the codes of their cards', async () => {
    const { jobs } = await pages.ask<{ jobs: { id: string }[] }>('jobs')
    expect(jobs.length).toBeGreaterThan(0)
    addresses['job'] = `job?job=${jobs[0]!.id}`
    const { id } = fed.line.projection.openSuggestions()[0]!
    addresses['suggestion'] = `suggestion?suggestion=${id}`
    await show('shift')
    const open = async (code: string): Promise<void> => {
      await page.locator('input[name="card-code"]').fill(code)
      await page.getByRole('button', { name: 'Open the card' }).click()
    }
    // As somebody may read it from a smeared card.
    await open(shortCode(id).toLowerCase().replaceAll('d', 'o').replaceAll('7', 'l'))
    await page.locator(`h3:text-is(${JSON.stringify((await pages.ask<{ headline: string }>(`suggestions/${id}`)).headline)})`).waitFor()
    await page.getByRole('link', { name: 'Back' }).click()
    await open('345345')
    await page.getByText('There is no card with this code.').waitFor()
  })

  it.each([
    ['en', 'light'],
    ['es', 'dark'],
  ] as const)('can be used by everybody: %s, %s', async (language, colorScheme) => {
    await page.emulateMedia({ colorScheme })
    await page.goto(pages.base)
    await page.evaluate(`localStorage.setItem('wave-solder-language', '${language === 'es' ? 'es' : 'en-US'}')`)
    await page.reload()
    const found: string[] = []
    for (const screen of SCREENS) {
      await show(addresses[screen] ?? screen)
      const words = await page.locator('main').innerText()
      if (/undefined|NaN|\[object|\{\w+\}/.test(words)) found.push(`${screen}: ${/.{0,40}(undefined|NaN|\[object|\{\w+\}).{0,40}/.exec(words)?.[0]}`)
      found.push(...(await barriers(page)).map((barrier) => `${screen}: ${barrier}`))
      await picture(page, `desk-${language}-${colorScheme}-${screen.replace('/', '-')}`)
    }
    expect(found).toEqual([])
  })

  it.each([
    ['phone', 390, 844],
    ['desk', 1280, 900],
    ['panel', 1024, 600],
  ] as const)('cuts nothing off at the size of a %s, whatever the names are', async (size, width, height) => {
    await page.emulateMedia({ colorScheme: 'light' })
    await page.setViewportSize({ width, height })
    await page.evaluate("localStorage.setItem('wave-solder-language', 'en-US')")
    await page.reload()
    const wide: string[] = []
    for (const screen of [...SCREENS, 'charts/north-3', 'lines/north-3', 'hold/north-3', 'changes/north-3', 'start-up/north-3', 'intervals/north-3']) {
      await show(addresses[screen] ?? screen)
      if (!(await fits(page))) wide.push(`${screen}: ${await page.evaluate<string>(`[...document.querySelectorAll('main *, header *')].filter((one) => one.getBoundingClientRect().right > innerWidth + 1 && !one.closest('.scroll')).slice(0, 3).map((one) => one.tagName + '.' + one.className).join(' ')`)}`)
      await picture(page, `${size}-${screen.replace('/', '-')}`)
    }
    expect(wide).toEqual([])
  })

  it('runs nothing that people or machines wrote', async () => {
    expect(await page.evaluate('window.hurt')).toBeUndefined()
    expect(await page.locator('img[src="x"]').count()).toBe(0)
    await show('lines')
    expect(await page.locator('main').innerText()).toContain(HURT)
    expect(pages.faults).toEqual([])
  })

  it('stays quick with a thousand open suggestions', async () => {
    copies = 999
    await page.setViewportSize({ width: 1280, height: 900 })
    await show('shift')
    await page.reload()
    await page.locator('.suggestion').first().waitFor()
    await page.getByText('1000 suggestions are open; the first 20 stand here.').waitFor()
    expect(await page.locator('.suggestion').count()).toBe(20)
    await page.getByRole('button', { name: 'Show 20 more' }).click()
    await expect.poll(() => page.locator('.suggestion').count()).toBe(40)
    await picture(page, 'thousand')
    for (const screen of ['lines', 'wall', 'plan']) {
      await show(screen)
      expect(await fits(page)).toBe(true)
    }
    copies = 0
    expect(pages.faults).toEqual([])
  })
})
