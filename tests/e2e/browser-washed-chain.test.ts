import type { Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { referenceSite } from '../../src/simulator/site-parameters.js'
import { FedLine, fits, PageSite, picture, screensOf } from './page-site.js'

const HOUR = 3_600_000
const START_MS = Date.UTC(2026, 0, 5)
/** After the late shift of the second day: the baselines stand, the line has stopped for the night. */
const WASH_MS = START_MS + 46.5 * HOUR
/** What people write down comes a little after the work. */
const NIGHT_MS = 2 * HOUR

const CURRENT = 'conveyor.current.warm'

let pages: PageSite
let fed: FedLine
let page: Page

beforeAll(async () => {
  pages = await PageSite.open()
  const site = referenceSite()
  fed = FedLine.open(
    pages,
    {
      seed: 7,
      startMs: START_MS,
      durationHours: 10 * 24,
      thermalStepS: 1,
      channels: ['preheat.zone-1.temperature', 'preheat.zone-2.temperature', 'preheat.zone-3.temperature', 'conveyor.speed', 'conveyor.setpoint', 'conveyor.current', 'pot.level', 'board.count', 'line.recipe'],
      periodsS: { 'preheat.zone-<n>.temperature': 20, 'conveyor.speed': 5, 'conveyor.current': 5, 'pot.level': 60, 'board.count': 60 },
      site: { ...site, habits: { ...site.habits, workdays: [0, 1, 2, 3, 4, 5, 6] } },
      faults: [],
      benign: { changeovers: false, breaks: false },
    },
    { line: 'north-1', title: 'North 1', costs: { labourPerHour: 40, cleanerPerJob: 12 } },
  )
  await fed.feedTo(WASH_MS)
  page = await pages.page()
  await page.addInitScript(keepDrawnWords)
}, 180_000)

afterAll(async () => {
  await pages?.close()
})

async function show(hash: string): Promise<void> {
  await page.goto(`${pages.base}#/${hash}`, { waitUntil: 'domcontentloaded' })
}

/** Runs in the browser before the page: keeps the words that are drawn on canvases, which no selector finds. */
function keepDrawnWords(): void {
  const browser = globalThis as unknown as { drawn: string[]; CanvasRenderingContext2D: { prototype: { fillText(words: string, ...rest: number[]): void } } }
  browser.drawn = []
  const { prototype } = browser.CanvasRenderingContext2D
  const draw = prototype.fillText
  prototype.fillText = function fillText(words: string, ...rest: number[]): void {
    browser.drawn.push(words)
    draw.call(this, words, ...rest)
  }
}

/** Mean of the drive current's points between two times, A. */
function currentBetween(fromMs: number, toMs: number): number {
  const points = fed.line.store.points({ line: 'north-1', feature: CURRENT, fromMs, toMs })
  return points.reduce((sum, { value }) => sum + value, 0) / points.length
}

function proofOf(work: string) {
  return fed.line.projection.factsOf('proof').find((fact) => fact.work === work)
}

describe('washed, not lubricated', { timeout: 120_000 }, () => {
  it('the late shift writes the wash down on the page, and every screen says that the line must not be started', async () => {
    await show('shift')
    await page.getByRole('button', { name: 'Record work' }).click()
    await page.locator('select[name="work"]').selectOption('clean-chain')
    await page.getByText('3 heavy').click()
    await page.locator('input[name="minutes"]').fill('60')
    await page.getByRole('button', { name: 'Send' }).click()
    const stop = page.locator('[data-stop="clean-chain"]')
    await stop.waitFor()
    for (const screen of screensOf('north-1')) {
      await show(screen)
      await expect.poll(() => page.locator('main').innerText(), { message: screen }).toMatch(/Chain washed, not lubricated: do not start/i)
      // The wall says it in its own size.
      if (screen !== 'wall') await stop.waitFor()
    }
    await fed.feedTo(WASH_MS + NIGHT_MS)
    await show('shift')
    await expect.poll(() => stop.innerText()).toMatch(/North 1: Chain washed, not lubricated: do not start[^]*\((for|since) \d h \d+ min\)/)
    expect(await stop.innerText()).toContain('Must follow: Lubricate the chain')
    expect(await stop.innerText()).not.toContain('The line ran')
    await picture(page, 'washed-stop')
  })

  it('the line runs anyway: motion grows uneven, the current climbs, and a suggestion comes of it', async () => {
    await fed.feedUntil(() => fed.line.projection.openSuggestions().length > 0, 'a suggestion')
    await fed.feedUntil(() => proofOf('clean-chain')?.verdict === 'did-not-help', 'the proof of the wash')
    const stop = page.locator('[data-stop="clean-chain"]')
    await expect.poll(() => stop.innerText()).toMatch(/The line ran on .* although this stood\./)
    expect(currentBetween(WASH_MS, fed.line.nowMs())).toBeGreaterThan(1.15 * currentBetween(START_MS + 24 * HOUR, WASH_MS))
    const [suggestion] = fed.line.projection.openSuggestions()
    expect(suggestion!.section).toBe('transport')
    expect(suggestion!.causes[0]?.members).toContain('dry-chain')
    expect(suggestion!.onsetMs).toBeGreaterThan(WASH_MS)
    const { after, before } = proofOf('clean-chain')!.compared.find(({ feature }) => feature === 'conveyor.speed.spread')!
    expect(after, 'the motion is more uneven').toBeGreaterThan(before)
  })

  it('the wash stands on the time axis of the current\'s chart', async () => {
    await show(`charts/north-1?features=${CURRENT}`)
    const chart = page.locator(`[data-feature="${CURRENT}"]`)
    await chart.locator('canvas').first().waitFor()
    await expect.poll(() => page.evaluate<string[]>('drawn')).toEqual(expect.arrayContaining([expect.stringMatching(/clean the chain|chain/i)]))
    await chart.scrollIntoViewIfNeeded()
    await picture(page, 'washed-chart')
  })

  it('the card can be read in Spanish by whoever needs it, on a phone too', async () => {
    await show('shift')
    const card = page.locator('.suggestion').first()
    await card.getByRole('button', { name: 'Español' }).click()
    await expect.poll(() => card.innerText()).toMatch(/Precauciones[^]*Comprobar primero/)
    expect(await card.getAttribute('lang')).toBe('es')
    expect(await card.innerText()).toMatch(/cadena/i)
    expect(await card.innerText()).not.toMatch(/undefined|NaN|\[object|\{\w+\}/)
    // The page around it stays in the language of the reader.
    await page.getByRole('heading', { name: 'Suggestions' }).waitFor()
    const { jobs } = await pages.ask<{ jobs: { id: string; work: string }[] }>('jobs')
    await page.setViewportSize({ width: 390, height: 844 })
    await show(`job?job=${jobs.find(({ work }) => work === 'lubricate-chain')!.id}`)
    const job = page.locator('[data-job-card]')
    await job.waitFor()
    await page.locator('main').getByRole('button', { name: 'Español' }).click()
    await expect.poll(() => job.innerText()).toContain('Lubricar la cadena')
    expect(await fits(page)).toBe(true)
    await picture(page, 'washed-job-es-phone')
    await page.setViewportSize({ width: 1280, height: 900 })
  })

  it('lubrication is written down; nothing stands in the way any more, and the current falls', async () => {
    const runningDryMs = fed.line.nowMs()
    await show('shift')
    await page.getByRole('button', { name: 'Record work' }).click()
    await page.locator('select[name="work"]').selectOption('lubricate-chain')
    await page.locator('input[name="minutes"]').fill('20')
    await page.getByRole('button', { name: 'Send' }).click()
    await page.locator('[data-stop="clean-chain"]').waitFor({ state: 'detached' })
    await fed.feedUntil(() => proofOf('lubricate-chain')?.verdict === 'helped', 'the proof of the lubrication')
    const dry = currentBetween(WASH_MS, runningDryMs)
    expect(currentBetween(runningDryMs + 2 * HOUR, fed.line.nowMs())).toBeLessThan(0.95 * dry)
    expect(fed.line.projection.openSuggestions()).toEqual([])
  })

  it('what came of it is told: the wash alone made it worse, the lubrication helped', async () => {
    await show('intervals/north-1')
    const helped = page.locator('[data-proof="helped"]')
    await helped.first().waitFor()
    expect(await helped.first().innerText()).toMatch(/Lubricate the chain[^]*helped/i)
    const worse = page.locator('[data-proof="did-not-help"]').first()
    expect(await worse.innerText()).toMatch(/chain[^]*(lubricat|follow)/i)
    await picture(page, 'washed-proof')
  })

  it('the episode has its cost, by its figures', async () => {
    await show('cost')
    // An hour of washing and twenty minutes of lubricating for as many people as the catalogue asks, and one cleaner.
    const { rows } = await pages.ask<{ rows: { section: string; kind: string; quantity: number; amount?: number }[] }>('cost?lang=en-US')
    const labour = rows.find(({ kind, section }) => kind === 'labour' && section === 'transport')!
    expect(labour.amount).toBeCloseTo(40 * labour.quantity, 6)
    expect(labour.quantity).toBeGreaterThanOrEqual(80 / 60)
    expect(rows.find(({ kind, section }) => kind === 'cleaner' && section === 'transport')).toMatchObject({ quantity: 1, amount: 12 })
    await page.getByText(/labor/).first().waitFor()
    await page.getByText('By month and section').click()
    const table = page.locator('table').first()
    await table.waitFor()
    expect(await table.innerText()).toContain('Transport')
    await picture(page, 'washed-cost')
    expect(pages.faults).toEqual([])
  })
})
