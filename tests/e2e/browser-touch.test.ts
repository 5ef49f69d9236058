import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { demoConfig } from '../../src/simulator/demo-line.js'
import { barriers, fits, FedLine, PageSite, picture, screensOf } from './page-site.js'

/** A thermocouple of zone 1 gets a coat on day 4. */
const SEED = 2
const START_MS = Date.UTC(2026, 0, 5)
const DEVICES = [
  ['phone', { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true }],
  ['panel', { viewport: { width: 1024, height: 600 }, hasTouch: true }],
] as const

let pages: PageSite
let fed: FedLine
let suggestion = ''
let job = ''

beforeAll(async () => {
  pages = await PageSite.open()
  fed = FedLine.open(pages, demoConfig({ seed: SEED, line: 'faulty', startMs: START_MS }), { line: 'north-1', title: 'North 1' })
  await fed.feedUntil(() => fed.line.projection.openSuggestions().length > 0, 'a suggestion')
  suggestion = fed.line.projection.openSuggestions()[0]!.id
  await pages.send('lines/north-1/records', { section: 'transport', work: 'clean-chain', finding: 3, minutes: 120 })
  await pages.send('lines/north-1/records', { section: 'transport', work: 'clean-rails', finding: 2 })
  job = (await pages.ask<{ jobs: { id: string }[] }>('jobs')).jobs[0]!.id
}, 120_000)

afterAll(async () => {
  await pages?.close()
})

/**
 * What can be touched and is smaller than `smallest`, CSS pixels, in either direction. A radio button or a check box is
 * touched by its label; a link within a sentence is text (WCAG 2.2, 2.5.8, exception for inline targets).
 */
async function tooSmall(page: Page, smallest: number): Promise<string[]> {
  return page.evaluate((least) => {
    const found: string[] = []
    for (const one of Array.from(document.querySelectorAll<HTMLElement>('button, a[href], select, textarea, summary, input, label.choice'))) {
      if (one instanceof HTMLInputElement && ['radio', 'checkbox'].includes(one.type) && one.closest('label') !== null) continue
      const { width, height } = one.getBoundingClientRect()
      if (width === 0 || height === 0 || one.closest('.unseen-input') !== null || getComputedStyle(one).visibility === 'hidden') continue
      const isInSentence = one.tagName === 'A' && getComputedStyle(one).display === 'inline' && (one.parentElement?.innerText.trim().length ?? 0) > one.innerText.trim().length
      if (!isInSentence && (width < least - 0.5 || height < least - 0.5)) found.push(`${one.tagName.toLowerCase()}.${one.className} "${one.innerText.slice(0, 30)}" ${Math.round(width)} x ${Math.round(height)}`)
    }
    return found
  }, smallest)
}

async function show(page: Page, hash: string): Promise<void> {
  await page.goto(`${pages.base}#/${hash}`, { waitUntil: 'domcontentloaded' })
  await page.locator('main h2, main h3, main .wall-lines').first().waitFor()
  await expect.poll(() => page.getByText(/^(Loading|Reading)/).count()).toBe(0)
}

describe.each(DEVICES)('on a %s', { timeout: 90_000 }, (name, device) => {
  let page: Page

  beforeAll(async () => {
    page = await pages.page(device)
  })

  afterAll(async () => {
    await page?.context().close()
  })

  it('everything a gloved hand touches is at least 64 pixels high and wide, forms too', async () => {
    const found: string[] = []
    const look = async (what: string): Promise<void> => {
      found.push(...(await tooSmall(page, 64)).map((small) => `${what}: ${small}`))
      if (!(await fits(page))) found.push(`${what}: wider than the screen`)
    }
    await show(page, 'shift')
    await page.locator(`[data-suggestion="${suggestion}"]`).waitFor()
    await look('shift')
    for (const folded of await page.locator('main details:not([open]) > summary').all()) if (await folded.isVisible()) await folded.tap()
    await look('shift, unfolded')
    await page.getByRole('button', { name: 'Record work' }).tap()
    await page.locator('.record-form summary').first().tap()
    await look('record')
    await picture(page, `touch-${name}-record`)
    await page.getByRole('button', { name: 'Put off' }).tap()
    await page.locator('.reply input[type="radio"]').first().waitFor()
    await look('put off')
    for (const screen of [`suggestion?suggestion=${suggestion}`, `job?job=${job}`, 'hold/north-1', 'start-up/north-1', 'records/north-1']) {
      await show(page, screen)
      await look(screen)
      await picture(page, `touch-${name}-${screen.split(/[?/]/)[0]}`)
    }
    expect(found).toEqual([])
  })

  it('elsewhere at least 44', async () => {
    const found: string[] = []
    for (const screen of screensOf('north-1')) {
      await show(page, screen)
      found.push(...(await tooSmall(page, 44)).map((small) => `${screen}: ${small}`))
    }
    expect(found).toEqual([])
  })

  it('the check comes before the evidence, and nobody takes a suggestion without its cautions in full before the eyes', async () => {
    await show(page, `suggestion?suggestion=${suggestion}`)
    const card = page.locator(`[data-suggestion="${suggestion}"]`)
    await card.waitFor()
    const words = await card.innerText()
    expect(words.search(/Cautions: \d+/)).toBeLessThan(words.indexOf('Check first'))
    expect(words.indexOf('Check first')).toBeLessThan(words.indexOf('\nWhy'))
    const { cautions } = await pages.ask<{ cautions: string[] }>(`suggestions/${suggestion}`)
    // The signs stand before the check; their words are one tap away.
    expect(await card.locator('.caution-signs svg').count()).toBeGreaterThan(2)
    expect(await card.getByText(cautions[0]!).first().isVisible()).toBe(false)
    await card.getByRole('button', { name: 'Take', exact: true }).tap()
    for (const caution of cautions) expect(await card.locator('.reply').getByText(caution, { exact: true }).isVisible()).toBe(true)
    expect((await pages.ask<{ status: string }>(`suggestions/${suggestion}`)).status).toBe('open')
    expect(await barriers(page)).toEqual([])
    await picture(page, `touch-${name}-take`)
    await card.getByRole('button', { name: 'Back' }).tap()
    // Read in the card itself, they are not shown a second time.
    await card.locator('details.caution-box > summary').tap()
    for (const caution of cautions) expect(await card.locator('details.caution-box').getByText(caution, { exact: true }).isVisible()).toBe(true)
    await card.getByRole('button', { name: 'Put off' }).waitFor()
    expect(pages.faults).toEqual([])
  })
})
