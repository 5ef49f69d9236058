import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { INTERVAL_SCALES, INTERVAL_VERDICTS } from '../../../../src/maintenance/intervals/interval-fact.js'
import { amountWords, INTERVAL_REASON_KEYS, intervalWords, rangeWords } from '../../../../src/maintenance/intervals/interval-words.js'
import { PROOF_REASON_KEYS } from '../../../../src/maintenance/proof/proof-words.js'

/** Reason keys that the sources of a folder write, the words themselves left out. */
function keysIn(folder: string, prefix: string): string[] {
  const files = readdirSync(folder).filter((name) => name.endsWith('.ts') && !name.endsWith('-words.ts'))
  return [...new Set(files.flatMap((name) => [...readFileSync(join(folder, name), 'utf8').matchAll(new RegExp(`'(${prefix}\\.[a-z-]+)'`, 'g'))].map(([, key]) => key!)))]
}

describe('reasons in words', () => {
  it('has each reason of the proof and of the intervals its words, and no words without a reason', () => {
    const proof = keysIn('src/maintenance/proof', 'proof')
    const interval = keysIn('src/maintenance/intervals', 'interval')
    expect(proof.length).toBeGreaterThan(15)
    expect(interval.length).toBeGreaterThan(8)
    expect([...proof].sort()).toEqual([...PROOF_REASON_KEYS].sort())
    expect([...interval].sort()).toEqual([...INTERVAL_REASON_KEYS].sort())
  })

  it('are whole sentences in both languages, for every verdict', () => {
    const values = { age: 100, count: 3, cycles: 4, wanted: 5, events: 4, due: 12, lines: 2 }
    for (const language of ['en-US', 'es'] as const) {
      for (const verdict of INTERVAL_VERDICTS) {
        for (const key of INTERVAL_REASON_KEYS) {
          const words = intervalWords({ verdict, scale: 'running-hours', because: [{ key, values }] }, language)
          expect(words).toMatch(/^\p{Lu}.*\.$/u)
          expect(words).not.toMatch(/[{}]|undefined/)
        }
      }
    }
    expect(intervalWords({ verdict: 'shorten', scale: 'boards', because: [{ key: 'interval.found-due', values: { age: 12_345 } }, { key: 'interval.safety', values: {} }] }, 'en-US')).toBe('Shorten, because it was found due before its time, after 12,000 boards. Safety item: never lengthened.')
  })

  it('say amounts with their unit', () => {
    expect(amountWords(1234, 'flux-g', 'en-US')).toBe('1.2 kg of flux')
    expect(amountWords(160, 'running-hours', 'es')).toBe('160 horas de marcha')
    expect(rangeWords([900, 2400], 'flux-g', 'en-US')).toBe('0.9 – 2.4 kg of flux')
    for (const scale of INTERVAL_SCALES) expect(amountWords(5, scale, 'es')).toMatch(/^5 /)
  })
})
