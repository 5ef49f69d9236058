import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { LineStore } from '../../src/ports/line-store.js'
import { barriers, PageSite } from './page-site.js'

let pages: PageSite

beforeAll(async () => {
  pages = await PageSite.open()
  const { store } = pages.site as unknown as { readonly store: LineStore }
  // Saved by the line itself, then made as old as an earlier program would have left it.
  const line = pages.openLine({ line: 'old-1' })
  await line.stepped((await line.submit({ kind: 'message', topic: 'wave-solder/old-1/telemetry/pot.level', payload: '118' })).seq)
  await pages.site.closeLine('old-1', { archive: false })
  const { snapshot } = store.latestSnapshot('old-1')
  const body = snapshot?.body as { readonly monitor: object }
  store.saveSnapshot({ line: 'old-1', seq: snapshot!.seq + 1, body: { ...body, monitor: { ...body.monitor, version: 1 } } })
}, 60_000)

afterAll(() => pages.close())

const health = async (): Promise<{ status: number; body: unknown }> => {
  const response = await fetch(`${pages.base}healthz`)
  return { status: response.status, body: await response.json() }
}

describe('a line that was saved in a form this program cannot go on from', () => {
  it('is told of by health, API and page, beside the lines that run, until its node is gone', { timeout: 60_000 }, async () => {
    expect((await health()).status).toBe(200)
    expect(() => pages.openLine({ line: 'old-1', title: 'Old <b>1</b>' })).toThrow('goes on from form')
    pages.openLine({ line: 'new-1', title: 'New 1' })
    const refused = [{ line: 'old-1', title: 'Old <b>1</b>', reason: expect.stringContaining('nothing was changed') }]
    expect(await health()).toMatchObject({ status: 503, body: { status: 'refused', refused } })
    expect(await (await fetch(`${pages.base}api/lines`)).json()).toMatchObject({ lines: [{ line: 'new-1' }], refused })
    const page = await pages.page()
    await page.goto(`${pages.base}#/lines`)
    const notice = page.getByRole('alert')
    await notice.waitFor()
    expect(await notice.innerText()).toMatch(/^Old <b>1<\/b> could not be opened and is not watched: .*begin the line anew in another data folder/)
    expect(await barriers(page)).toEqual([])
    pages.site.forgetRefused('old-1')
    expect((await health()).status).toBe(200)
    expect(pages.faults).toEqual([])
  })
})
