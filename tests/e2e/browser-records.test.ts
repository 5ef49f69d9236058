import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { barriers, fits, PageSite, picture } from './page-site.js'

/** The smallest PNG: one pixel. */
const PIXEL = Buffer.from('iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg==', 'base64')
const HURT = '<img src=x onerror="window.hurt=1">'

interface Records {
  readonly total: number
  readonly records: readonly { readonly id: string; readonly withdrawn: boolean; readonly record: Readonly<Record<string, unknown>>; readonly earlier: readonly { readonly reason: string; readonly by?: string; readonly record: Readonly<Record<string, unknown>> }[] }[]
}

let pages: PageSite
let page: Page

beforeAll(async () => {
  pages = await PageSite.open()
  pages.openLine({ line: 'line-a', title: 'Line A', timeZone: 'America/Chicago' })
  pages.openLine({ line: 'line-b', title: 'Line B' })
  const response = await fetch(`${pages.base}api/lines/line-a/photos?name=chain.png`, { method: 'POST', headers: { 'content-type': 'application/octet-stream' }, body: PIXEL })
  const photo = (await response.json()) as Record<string, unknown>
  await pages.send('lines/line-a/records', { id: 'r-nozzle', time: '2026-03-02T15:00:00Z', section: 'fluxer', work: 'clean-nozzle', finding: 3, minutes: 20, values: { flowChange: 1.5 }, remark: HURT, by: 'Robin', parts: ['nozzle tip'], lot: 'L7' })
  await pages.send('lines/line-a/records', { id: 'r-check', time: '2026-03-03T15:00:00Z', section: 'fluxer', work: 'pressure-hold', finding: 0 })
  await pages.send('lines/line-a/records', { id: 'r-chain', time: '2026-03-04T15:00:00Z', section: 'transport', work: 'clean-chain', finding: 2, minutes: 120, photo })
  await pages.send('lines/line-b/records', { id: 'r-other', section: 'pot', work: 'clean-level-probe', finding: 1 }).catch(() => undefined)
  page = await pages.page()
}, 90_000)

afterAll(async () => {
  await pages?.close()
})

const list = (): Promise<Records> => pages.ask<Records>('lines/line-a/records')
const cardOf = (id: string): ReturnType<Page['locator']> => page.locator(`[data-record="${id}"]`)

describe('records of work on the page', { timeout: 60_000 }, () => {
  it('stand newest first, with all that was written down, reached from the shift', async () => {
    await page.goto(pages.base)
    await page.getByRole('link', { name: 'Records of work' }).click()
    await cardOf('r-chain').waitFor()
    expect(await page.locator('[data-record]').evaluateAll((cards) => cards.map((card) => card.getAttribute('data-record')))).toEqual(['r-chain', 'r-check', 'r-nozzle'])
    const nozzle = await cardOf('r-nozzle').innerText()
    expect(nozzle).toMatch(/Mar 2.*9:00 AM/)
    expect(nozzle).toMatch(/As found:?\s*3 heavy/)
    for (const said of ['20 min', '1.5 %', 'Robin', 'nozzle tip', 'L7', HURT]) expect(nozzle).toContain(said)
    expect(await page.evaluate('window.hurt')).toBeUndefined()
    await expect.poll(() => cardOf('r-chain').locator('img').evaluate((image) => (image as unknown as { naturalWidth: number }).naturalWidth)).toBe(1)
    await page.locator('select[name="section"]').selectOption('transport')
    await expect.poll(() => page.locator('[data-record]').count()).toBe(1)
    await page.locator('select[name="section"]').selectOption('')
    await page.locator('select[name="work-done"]').selectOption('pressure-hold')
    await cardOf('r-chain').waitFor({ state: 'detached' })
    expect(await page.locator('[data-record]').count()).toBe(1)
    await page.locator('select[name="work-done"]').selectOption('')
    await cardOf('r-nozzle').waitFor()
  })

  it('is corrected in the form it was entered in; what it said before stays, and who did the work', async () => {
    const card = cardOf('r-nozzle')
    await card.getByRole('button', { name: 'Correct' }).click()
    const form = card.locator('form')
    await form.locator('select[name="work"]').waitFor()
    await expect.poll(() => form.locator('select[name="work"]').inputValue()).toBe('clean-nozzle')
    expect(await form.locator('input[name="minutes"]').inputValue()).toBe('20')
    expect(await form.locator('input[name="when"]').inputValue()).toBe('2026-03-02T09:00')
    expect(await form.locator('input[name="remark"]').inputValue()).toBe(HURT)
    expect(await form.getByRole('button', { name: 'Send' }).isDisabled()).toBe(true)
    await form.locator('input[name="minutes"]').fill('35')
    await form.getByText('2 dirty').click()
    await form.locator('input[name="when"]').fill('2026-03-02T08:30')
    await form.locator('input[name="why"]').fill('read from the wrong sheet')
    expect(await barriers(page)).toEqual([])
    await picture(page, 'record-correct')
    await form.getByRole('button', { name: 'Send' }).click()
    await form.waitFor({ state: 'detached' })
    await card.getByText('Corrected (1)').click()
    const words = await card.locator('.corrections').innerText()
    expect(words).toContain('read from the wrong sheet')
    expect(words).toMatch(/Minutes: 35 min \(before: 20 min\)/)
    expect(words).toMatch(/As found: 2 dirty \(before: 3 heavy\)/)
    const { total, records } = await list()
    const nozzle = records.find(({ id }) => id === 'r-nozzle')!
    expect(total).toBe(3)
    expect(nozzle.record).toMatchObject({ time: '2026-03-02T14:30:00.000Z', minutes: 35, finding: 2, by: 'Robin', lot: 'L7', parts: ['nozzle tip'], values: { flowChange: 1.5 } })
    expect(nozzle.earlier).toMatchObject([{ reason: 'read from the wrong sheet', record: { minutes: 20, finding: 3 } }])
  })

  it('of a check by itself can be corrected although no list of jobs holds it', async () => {
    const card = cardOf('r-check')
    await card.getByRole('button', { name: 'Correct' }).click()
    await expect.poll(() => card.locator('select[name="work"]').inputValue()).toBe('pressure-hold')
    await card.getByText('4 blocked').click()
    await card.locator('input[name="why"]').fill('misread')
    await card.getByRole('button', { name: 'Send' }).click()
    await card.locator('form').waitFor({ state: 'detached' })
    expect((await list()).records.find(({ id }) => id === 'r-check')).toMatchObject({ record: { work: 'pressure-hold', section: 'fluxer', finding: 4 } })
  })

  it('is taken back with a reason, and its warning goes with it', async () => {
    const stop = page.locator('[data-stop="clean-chain"]')
    await stop.waitFor()
    const card = cardOf('r-chain')
    await card.getByRole('button', { name: 'Take back' }).click()
    await card.locator('input[name="why-back"]').fill('was on the other line')
    await card.getByRole('button', { name: 'Take back now' }).click()
    await card.getByText('Taken back: it does not count').waitFor()
    await stop.waitFor({ state: 'detached' })
    expect(await card.getByRole('button', { name: 'Correct', exact: true }).count()).toBe(0)
    await card.getByText('Corrected (1)').click()
    expect(await card.locator('.corrections').innerText()).toContain('was on the other line')
    expect((await list()).records.find(({ id }) => id === 'r-chain')).toMatchObject({ withdrawn: true })
  })

  it.each(['en-US', 'es'] as const)('can be read and used by everybody, on a phone too: %s', async (language) => {
    await page.evaluate(`localStorage.setItem('wave-solder-language', '${language}')`)
    await page.reload()
    await cardOf('r-nozzle').waitFor()
    for (const [width, height] of [[390, 844], [1280, 900]] as const) {
      await page.setViewportSize({ width, height })
      const correct = cardOf('r-nozzle').getByRole('button', { name: language === 'es' ? 'Corregir' : 'Correct' })
      await correct.click()
      await cardOf('r-nozzle').locator('input[name="why"]').waitFor()
      await cardOf('r-nozzle').locator('.corrections summary').click()
      expect(await barriers(page)).toEqual([])
      expect(await fits(page)).toBe(true)
      expect(await page.locator('main').innerText()).not.toMatch(/undefined|NaN|\[object/)
      await picture(page, `records-${language}-${width}`)
      await page.reload()
      await cardOf('r-nozzle').waitFor()
    }
    expect(pages.faults).toEqual([])
  })

  it('belongs to its job: the card leads to its records', async () => {
    await page.evaluate("localStorage.setItem('wave-solder-language', 'en-US')")
    const { entry } = (await pages.send('lines/line-a/entries', { type: 'job', action: 'add', work: 'clean-fingers' })) as { entry: string }
    expect(entry).not.toBe('')
    await pages.send('lines/line-a/records', { id: 'r-fingers', section: 'transport', work: 'clean-fingers', finding: 1 })
    const { jobs } = await pages.ask<{ jobs: { id: string; work: string }[] }>('jobs?all=true')
    await page.goto(`${pages.base}#/job?job=${jobs.find(({ work }) => work === 'clean-fingers')!.id}`)
    await page.reload()
    await page.getByRole('link', { name: 'Records of this job' }).click()
    await cardOf('r-fingers').waitFor()
    expect(await page.locator('[data-record]').count()).toBe(1)
    await page.getByRole('link', { name: 'Show all records' }).click()
    await cardOf('r-nozzle').waitFor()
    expect(pages.faults).toEqual([])
  })

  it('come from a table too; what is not taken is told with its row', async () => {
    await page.getByText('Take from a table').click()
    const csv = (rows: readonly string[]): { name: string; mimeType: string; buffer: Buffer } => ({ name: 'records.csv', mimeType: 'text/csv', buffer: Buffer.from(rows.join('\n')) })
    const head = 'id,time,section,work,finding,minutes'
    await page.locator('input[name="records-csv"]').setInputFiles(csv([head, 'r-csv,2026-03-01T10:00:00Z,pot,skim-dross,2,10', 'r-bad,2026-03-01T10:00:00Z,pot,no-such-work,2,10']))
    await page.getByText('Taken: 1. Not taken: 1.').waitFor()
    expect(await page.locator('main').innerText()).toMatch(/Row 3: .*no-such-work/)
    await cardOf('r-csv').waitFor()
    expect(await barriers(page)).toEqual([])
    await page.locator('input[name="records-csv"]').setInputFiles(csv(['not,a,table']))
    await page.getByRole('alert').getByText(/expected a header row/).waitFor()
    // The refusal of the whole table is the only answer that stands in the console.
    expect(pages.faults.splice(0)).toEqual([expect.stringContaining('400')])
  })
})
