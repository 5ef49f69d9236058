import { readFileSync, readdirSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { HAND_VALUES } from '../../../../src/line/hand-values.js'
import { LANGUAGES } from '../../../../src/maintenance/catalogue-language.js'
import { cautionText } from '../../../../src/maintenance/catalogue-texts.js'
import { CHANGE_KINDS } from '../../../../src/maintenance/changes/change-entry.js'
import { changeWords } from '../../../../src/maintenance/changes/change-texts.js'
import { HOLD_POINTS } from '../../../../src/maintenance/hold/hold-checks.js'
import { HOLD_BECAUSE_TEXTS, HOLD_POINT_TEXTS } from '../../../../src/maintenance/hold/hold-texts.js'
import { ROUND_CHECKS } from '../../../../src/maintenance/rounds/round-catalogue.js'
import { VALUE_TEXTS } from '../../../../src/maintenance/rounds/round-texts-values.js'
import { lookWords, roundCheckWords, roundEventWords, roundPeriodWords, roundReasonWords } from '../../../../src/maintenance/rounds/round-words.js'
import { isWork } from '../../../../src/maintenance/work-catalogue.js'
import { definitionWith } from './part-bench.js'

const LINE = definitionWith()
const SOURCE = join(import.meta.dirname, '../../../../src')

describe.each(LANGUAGES)('words of the rounds in %s', (language) => {
  it('exist for every check, its looks, its values and its cautions', () => {
    for (const check of ROUND_CHECKS) {
      const { title, steps } = roundCheckWords(LINE, check.check, language)
      expect(title.length, check.check).toBeGreaterThan(3)
      expect(steps.length, check.check).toBeGreaterThan(0)
      expect(check.cautions.length, check.check).toBeGreaterThanOrEqual(3)
      for (const caution of check.cautions) expect(cautionText(caution, language).length).toBeGreaterThan(10)
      expect(lookWords(check.check, language) !== undefined, check.check).toBe(check.looks)
      for (const event of check.after) expect(roundEventWords(event, language).length).toBeGreaterThan(3)
      expect(roundPeriodWords(check.every, language)).not.toBe('')
    }
    for (const { check, value } of HAND_VALUES) expect(VALUE_TEXTS[`${check}.${value}`]?.[language], `${check}.${value}`).toBeDefined()
  })

  it('exist for every kind of change and every point of the hold', () => {
    for (const kind of CHANGE_KINDS) expect(changeWords(kind, language).length).toBeGreaterThan(3)
    for (const { check } of HOLD_POINTS) expect(HOLD_POINT_TEXTS[check]?.[language], check).toBeDefined()
  })

  it('say an exception with its numbers', () => {
    const text = roundReasonWords(LINE, 'weigh-dose', 'round.below', { value: 'grams', measured: 3.2, limit: 3.78, unit: 'g' }, language)
    expect(text).toContain(language === 'es' ? '3,2 g' : '3.2 g')
    expect(text).not.toMatch(/[{}]|undefined|NaN/)
  })
})

describe('the catalogue of rounds', () => {
  it('knows every hand check and every work that the hold names', () => {
    const known = new Set(ROUND_CHECKS.map(({ check }) => check))
    for (const { handChecks, works } of HOLD_POINTS) {
      for (const check of handChecks) expect(known.has(check), check).toBe(true)
      for (const work of works) expect(isWork(work), work).toBe(true)
    }
  })

  it('has checks for every hand-measured value, and limits with their source', () => {
    const known = new Set(ROUND_CHECKS.map(({ check }) => check))
    for (const { check, source, possibleMin, possibleMax } of HAND_VALUES) {
      expect(known.has(check), check).toBe(true)
      expect(source).toMatch(/\[(?:S\w+|CP|MEM|ASM)\]/)
      expect(possibleMin).toBeLessThan(possibleMax)
    }
  })
})

describe('no text advises around a maintenance check', () => {
  /** Data files whose texts people read while checks may be open; page words too. */
  const files = ['maintenance', 'page'].flatMap((folder) =>
    readdirSync(join(SOURCE, folder), { recursive: true, encoding: 'utf8' })
      .filter((name) => /(?:text|wording|data|words)[^/]*\.ts$/.test(name))
      .map((name) => join(SOURCE, folder, name)),
  )
  // "Do not answer with more heat, less speed or a bypassed guard" forbids it and is wanted; an instruction to do it is not.
  const ADVICE = /(?:raise|increase|turn up)\s+(?:the\s+)?(?:preheat(?:ing)?|pot|zone|heat(?:er|ing)?|temperature|set-?points?|flux dose)\b|(?:add|use|give it|with) more heat|(?:lower|reduce|decrease)\s+(?:the\s+)?(?:conveyor(?: speed)?|speed)\b|slow(?: it)? down|(?:less|lower) speed|bypass(?:ed)? (?:the|a|guard)|(?:suba|aumente)\s+(?:la\s+|el\s+)?(?:temperatura|consigna|calor|potencia|dosis)|(?:baje|reduzca|disminuya)\s+(?:la\s+)?velocidad|con más calor|menos velocidad|puentee/gi
  const FORBIDS = /\b(?:not|no|never|nada|nunca|ni)\b/i

  it.each(files)('%s', (file) => {
    for (const text of readFileSync(file, 'utf8').match(/'(?:[^'\\\n]|\\.)*'|"(?:[^"\\\n]|\\.)*"|`[^`]*`/g) ?? []) {
      for (const sentence of text.split(/(?<=[.:;])\s/)) {
        for (const found of sentence.match(ADVICE) ?? []) expect(FORBIDS.test(sentence), `${found} in ${sentence}`).toBe(true)
      }
    }
  })

  it('and the test itself would find one', () => {
    for (const bad of ['Raise the temperature of zone 2.', 'Slow it down a little.', 'Suba la temperatura.', 'Reduce speed.', 'Add more heat.', 'Baje la velocidad.', 'Bypass the guard.']) expect(bad.match(ADVICE), bad).not.toBeNull()
    expect(Object.values(HOLD_BECAUSE_TEXTS).length).toBeGreaterThan(4)
  })
})
