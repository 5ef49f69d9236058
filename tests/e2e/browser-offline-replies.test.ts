import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { acquireSite, releaseSite } from '../../src/service/site.js'
import { demoConfig } from '../../src/simulator/demo-line.js'
import { describeLine } from '../../src/simulator/line-description.js'
import { barriers, FedLine, PageSite, picture } from './page-site.js'

/** A thermocouple of zone 1 gets a coat on day 4. */
const SEED = 2
const START_MS = Date.UTC(2026, 0, 5)
/** What the browser itself says of a network that is not there. */
const NO_NETWORK = /status of 404|ERR_INTERNET_DISCONNECTED|ERR_CONNECTION_REFUSED|ERR_EMPTY_RESPONSE|ERR_INCOMPLETE_CHUNKED_ENCODING|ERR_CONNECTION_RESET|Failed to fetch/
/** One white pixel. */
const PHOTO = Buffer.from('iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mP8/5+hHgAHggJ/PchI7wAAAABJRU5ErkJggg==', 'base64')

interface SuggestionAnswer {
  readonly status: string
  readonly history: readonly { readonly status: string }[]
}

let pages: PageSite
let fed: FedLine
let page: Page
let id = ''

const suggestion = (): Promise<SuggestionAnswer> => pages.ask(`suggestions/${id}?lang=en-US`)
const card = () => page.locator(`[data-suggestion="${id}"]`)
/** A page that is loaded anew can slip through the browser's own switch for a moment, so what is sent is cut off by hand too. */
let isCut = false
const offline = (cut: boolean): Promise<void> => {
  isCut = cut
  return page.context().setOffline(cut)
}
const allSent = (): Promise<void> => page.getByText(/on this device and/).waitFor({ state: 'detached' })

beforeAll(async () => {
  pages = await PageSite.open()
  fed = FedLine.open(pages, demoConfig({ seed: SEED, line: 'faulty', startMs: START_MS }), { line: 'north-1', title: 'North 1' })
  await fed.feedUntil(() => fed.line.projection.openSuggestions().length > 0, 'a suggestion')
  id = fed.line.projection.openSuggestions()[0]!.id
  page = await pages.page({}, NO_NETWORK)
  await page.route('**/api/**', (route) => (isCut && route.request().method() === 'POST' ? route.abort('internetdisconnected') : route.continue()))
  await page.goto(pages.base)
  await card().waitFor()
  // The worker keeps what is asked for after it is in charge.
  await page.evaluate('navigator.serviceWorker.ready')
  await page.reload()
  await card().getByRole('button', { name: 'Decline' }).click()
  await card().getByRole('button', { name: 'Back' }).click()
}, 120_000)

afterAll(async () => {
  await pages?.close()
})

describe('a suggestion answered without network', { timeout: 60_000 }, () => {
  it('says on its card that the answer is kept here and not sent yet, also after a reload', async () => {
    await offline(true)
    await card().getByRole('button', { name: 'Take' }).click()
    await card().getByText('kept on this device, not sent yet').waitFor()
    expect(await card().locator('.reply').innerText()).toContain('Take')
    await page.reload()
    await card().getByText('kept on this device, not sent yet').waitFor()
    expect(await barriers(page)).toEqual([])
    await picture(page, 'offline-reply')
    expect((await suggestion()).status).toBe('open')
  })

  it('can be taken back as long as it waits', async () => {
    await card().getByRole('button', { name: 'Take back' }).click()
    await card().getByRole('button', { name: 'Put off' }).waitFor()
    expect(await page.getByText(/on this device and/).count()).toBe(0)
    await card().getByRole('button', { name: 'Take', exact: true }).click()
    await card().getByText('not sent yet').waitFor()
  })

  it('is sent once when the network is back', async () => {
    await offline(false)
    await allSent()
    await card().getByRole('button', { name: 'Work is done' }).waitFor()
    const { status, history } = await suggestion()
    expect(status).toBe('taken')
    expect(history.map((change) => change.status)).toEqual(['open', 'taken'])
  })

  it('counts once when the answer to it is lost on its way', async () => {
    let lost = 0
    await page.route('**/api/suggestions/*/replies', async (route) => {
      if (lost > 0) return route.continue()
      lost += 1
      await route.fetch()
      return route.abort('internetdisconnected')
    })
    await card().getByRole('button', { name: 'Put off' }).click()
    await card().locator('input[type="radio"]').first().check()
    await card().locator('input[type="datetime-local"]').fill(new Date(fed.simulation.timeMs + 86_400_000).toISOString().slice(0, 16))
    await card().getByRole('button', { name: 'Send' }).click()
    await page.getByText(/on this device and/).waitFor()
    await allSent()
    await page.unroute('**/api/suggestions/*/replies')
    expect(lost).toBe(1)
    const { history } = await suggestion()
    expect(history.map((change) => change.status)).toEqual(['open', 'taken', 'put-off'])
    expect(fed.line.projection.suggestion(id)?.history[2]?.reply).toMatch(/^[0-9a-f]{32}$/)
    expect(await page.locator('[role="alert"]').allInnerTexts()).toEqual([])
  })
})

describe('a record with a photo', { timeout: 60_000 }, () => {
  it('waits with its photo through a dead network, a reload and a restart of the service, and both arrive once', async () => {
    await offline(true)
    await page.getByRole('button', { name: 'Record work' }).click()
    await page.locator('select[name="work"]').selectOption('clean-rails')
    await page.locator('.record-form summary').click()
    await page.locator('input[name="photo"]').setInputFiles({ name: 'rails.png', mimeType: 'image/png', buffer: PHOTO })
    await page.locator('.record-form').getByRole('button', { name: 'Send' }).click()
    await page.getByText('1 entry waits on this device').waitFor()
    await page.reload()
    await page.getByText('1 entry waits on this device').waitFor()

    // The whole service goes and comes back with what it has on disk; its lines come a little after its page.
    await pages.shut()
    await releaseSite(pages.site)
    pages.site = await acquireSite({ dataFolder: `${pages.folder}/data`, log: () => undefined })
    await pages.listen()
    const unknown = page.waitForResponse((response) => response.status() === 404 && response.request().method() === 'POST')
    await offline(false)
    await unknown
    const line = pages.openLine({ ...describeLine(fed.simulation, { line: 'north-1' }), title: 'North 1' })
    await allSent()

    const records = line.projection.factsOf('record').filter(({ record }) => record.work === 'clean-rails')
    expect(records).toHaveLength(1)
    const photo = records[0]!.record.photo
    expect(photo).toMatchObject({ name: 'rails.png', type: 'image/png', size: PHOTO.length })
    const kept = await fetch(`${pages.base}api/lines/north-1/photos/${photo!.sha256}`)
    expect(Buffer.from(await kept.arrayBuffer()).equals(PHOTO)).toBe(true)
    expect(await page.locator('[role="alert"]').allInnerTexts()).toEqual([])
    expect((await suggestion()).status).toBe('put-off')
    expect(pages.faults).toEqual([])
  })

  it('is sent without the photo where the device has lost it, and says so', async () => {
    await offline(true)
    await page.getByRole('button', { name: 'Record work' }).click()
    await page.locator('select[name="work"]').selectOption('clean-fingers')
    await page.locator('.record-form summary').click()
    await page.locator('input[name="photo"]').setInputFiles({ name: 'fingers.png', mimeType: 'image/png', buffer: PHOTO })
    await page.locator('.record-form').getByRole('button', { name: 'Send' }).click()
    await page.getByText('1 entry waits on this device').waitFor()
    await page.evaluate(`new Promise((done) => { const asked = indexedDB.deleteDatabase('wave-solder-photos'); asked.onsuccess = done })`)
    await offline(false)
    await allSent()
    await page.getByText('its photo is no longer on this device').waitFor()
    const facts = (await pages.ask<{ facts: { record: { work: string; photo?: unknown } }[] }>('lines/north-1/facts?type=record')).facts.filter(({ record }) => record.work === 'clean-fingers')
    expect(facts).toHaveLength(1)
    expect(facts[0]!.record.photo).toBeUndefined()
    expect(pages.faults).toEqual([])
  })
})
