import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { PageSite, picture } from './page-site.js'

const EVERY_DAY = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'] as const
/** What the browser itself says of a network that is not there. */
const NO_NETWORK = /ERR_INTERNET_DISCONNECTED|ERR_CONNECTION_REFUSED|ERR_EMPTY_RESPONSE|ERR_INCOMPLETE_CHUNKED_ENCODING|ERR_CONNECTION_RESET|Failed to fetch/

let pages: PageSite
let page: Page

beforeAll(async () => {
  pages = await PageSite.open()
  pages.openLine({ line: 'line-a', title: 'Line A', timeZone: 'UTC', shifts: [{ name: 'all', days: [...EVERY_DAY], start: '00:00', end: '23:59', people: 2 }] })
  page = await pages.page({}, NO_NETWORK)
  await page.goto(pages.base)
  await page.locator('[data-round="line-a"]').waitFor()
  // The worker keeps what is asked for after it is in charge.
  await page.evaluate('navigator.serviceWorker.ready')
  await page.reload()
  await page.locator('[data-round="line-a"]').waitFor()
}, 90_000)

afterAll(async () => {
  await pages?.close()
})

interface Facts {
  readonly facts: readonly Record<string, unknown>[]
}

const factsOf = async (type: string): Promise<readonly Record<string, unknown>[]> => (await pages.ask<Facts>(`lines/line-a/facts?type=${type}`)).facts

async function record(work: string, remark: string): Promise<void> {
  if ((await page.locator('.record-form').count()) > 0) await page.locator('.jobs').getByRole('button', { name: 'Close' }).click()
  await page.getByRole('button', { name: 'Record work' }).click()
  await page.locator('select[name="work"]').selectOption(work)
  await page.locator('.record-form summary').click()
  await page.locator('input[name="remark"]').fill(remark)
  await page.getByRole('button', { name: 'Send' }).click()
}

it('the page comes compressed to whoever takes it, and is small', async () => {
  const script = await fetch(`${pages.base}main.js`, { headers: { 'accept-encoding': 'gzip' } })
  expect(script.headers.get('content-encoding')).toBe('gzip')
  expect(Number(script.headers.get('content-length'))).toBeLessThan(150_000)
  expect(await script.text()).toContain('data-round')
  const plain = await fetch(`${pages.base}main.js`, { headers: { 'accept-encoding': 'identity' } })
  expect(plain.headers.get('content-encoding')).toBeNull()
})

describe('a device without network', { timeout: 60_000 }, () => {
  let madeMs = 0

  it('keeps what is entered, and says so', async () => {
    await page.context().setOffline(true)
    madeMs = Date.now()
    await record('clean-rails', 'made without network')
    await page.getByText('1 entry waits on this device').waitFor()
    await page.locator('.record-form[role="status"]').waitFor()
    const round = page.locator('[data-round="line-a"]')
    for (const check of await round.locator('.checks').first().locator('> li[data-asks="look"]').all()) await check.locator('[data-finding="0"]').click()
    for (const check of await round.locator('.checks').first().locator('> li[data-asks="value"]').all()) await check.locator('input[type="text"]').first().fill('3')
    const fine = round.getByRole('button', { name: 'All fine' })
    await expect.poll(() => fine.isDisabled()).toBe(false)
    await fine.click()
    await page.getByText('2 entries wait on this device').waitFor()
    await picture(page, 'offline')
    expect(await factsOf('record')).toEqual([])
  })

  it('opens the page again with what was known, and what waits still waits', async () => {
    await page.reload()
    await page.getByRole('heading', { name: 'Jobs' }).waitFor()
    await page.locator('[data-round="line-a"]').waitFor()
    await page.getByText('2 entries wait on this device').waitFor()
    await page.getByText('The service does not answer').waitFor()
    await picture(page, 'offline-reloaded')
  })

  it('sends each once when the network is back, with the time it was made', async () => {
    await page.context().setOffline(false)
    await page.getByText(/on this device and/).waitFor({ state: 'detached' })
    await expect.poll(async () => (await factsOf('record')).length).toBe(1)
    await expect.poll(async () => (await factsOf('round')).length).toBe(1)
    const [kept] = await factsOf('record')
    expect(kept).toMatchObject({ record: { work: 'clean-rails', remark: 'made without network' } })
    const times = (kept!['record'] as { time: string }).time
    expect(Math.abs(Date.parse(times) - madeMs)).toBeLessThan(20_000)
    await page.locator('[data-round="line-a"]').getByText('This round is done.').waitFor()
  })

  it('doubles nothing when an answer is lost on its way: the same entry sent again is the same entry', async () => {
    // The service takes the record; the device never hears of it.
    let lost = 0
    await page.route('**/api/lines/line-a/records*', async (route) => {
      if (lost > 0) return route.continue()
      lost += 1
      await route.fetch()
      return route.abort('internetdisconnected')
    })
    await page.reload()
    await record('clean-fingers', 'answer lost')
    await page.getByText(/on this device and/).waitFor()
    expect(lost).toBe(1)
    // Two comings and goings of the network later there is still one of it.
    for (const offline of [true, false, true, false]) await page.context().setOffline(offline)
    await page.getByText(/on this device and/).waitFor({ state: 'detached' })
    const of = (await factsOf('record')).filter(({ record }) => (record as { work: string }).work === 'clean-fingers')
    expect(of).toHaveLength(1)
    expect(await factsOf('record')).toHaveLength(2)
    expect(await factsOf('round')).toHaveLength(1)
    expect(await page.locator('[role="alert"]').allInnerTexts()).toEqual([])
  })

  it('lives through a restart of the service', async () => {
    await pages.shut()
    await page.getByText('The service does not answer').waitFor()
    await record('clean-vents', 'while the service was away')
    await page.getByText('1 entry waits on this device').waitFor()
    await pages.listen()
    await page.getByText(/on this device and/).waitFor({ state: 'detached' })
    await page.getByText('The service does not answer').waitFor({ state: 'detached' })
    await expect.poll(async () => (await factsOf('record')).filter(({ record }) => (record as { work: string }).work === 'clean-vents').length).toBe(1)
    expect(pages.faults).toEqual([])
  })
})
