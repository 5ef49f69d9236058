import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { PageSite } from './page-site.js'

let pages: PageSite

beforeAll(async () => {
  pages = await PageSite.open()
  const line = pages.openLine({ line: 'north-1', title: 'North 1', timeZone: 'Europe/Madrid' })
  await line.stepped((await line.submit({ kind: 'message', topic: 'wave-solder/north-1/telemetry/pot.level', payload: '118' })).seq)
}, 60_000)

afterAll(() => pages.close())

describe('times typed on a device that is set to another zone', () => {
  it('are the plant’s: half past eight in Madrid is half past seven UTC in March', { timeout: 60_000 }, async () => {
    const page = await pages.page({ timezoneId: 'America/New_York' })
    await page.goto(`${pages.base}#/report/north-1`)
    await page.locator('input[type="datetime-local"]').first().fill('2026-03-02T08:30')
    await expect.poll(() => page.locator('a[href*="report.csv"]').getAttribute('href')).toContain('from=2026-03-02T07%3A30%3A00.000Z')
    await page.goto(`${pages.base}#/changes/north-1`)
    await page.locator('.add-change summary').click()
    await page.locator('.add-change input[type="text"]').fill('Flux lot 7')
    await page.locator('.add-change input[type="datetime-local"]').fill('2026-03-02T08:30')
    const sent = page.waitForRequest((request) => request.method() === 'POST' && request.url().includes('/entries'))
    await page.locator('.add-change button.main').click()
    expect((await sent).postDataJSON()).toMatchObject({ type: 'change', text: 'Flux lot 7', time: '2026-03-02T07:30:00.000Z' })
    expect(pages.faults).toEqual([])
  })
})
