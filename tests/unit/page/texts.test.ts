import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'

interface Texts {
  text(language: 'en-US' | 'es', key: string): string
}

/** The page is compiled for the browser, so it is loaded by its address and not by the compiler. */
const PAGE_TEXTS = new URL('../../../src/page/texts.ts', import.meta.url).href

/** Keys that charts give as the reason why they have no baseline, or none yet. */
function reasonKeys(): string[] {
  const sources = readdirSync('src/spc').filter((name) => name.endsWith('.ts')).map((name) => readFileSync(join('src/spc', name), 'utf8'))
  return [...new Set(sources.flatMap((source) => [...source.matchAll(/'(baseline\.[a-z-]+)'/g)].map(([, key]) => key as string)))]
}

describe('words of the page', () => {
  it('say every reason a chart may give, in both languages', async () => {
    const { text } = (await import(PAGE_TEXTS)) as Texts
    const keys = reasonKeys()
    expect(keys.length).toBeGreaterThan(10)
    for (const key of keys) {
      const shownAsKey = key.slice(key.lastIndexOf('.') + 1).replaceAll('-', ' ')
      expect(text('en-US', key), key).not.toBe(shownAsKey)
      expect(text('es', key), key).not.toBe(shownAsKey)
      expect(text('es', key), key).not.toBe(text('en-US', key))
    }
  })
})
