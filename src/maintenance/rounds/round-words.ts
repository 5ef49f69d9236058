import type { HandValue } from '../../line/hand-values.js'
import type { LineDefinition } from '../../line/line-definition.js'
import type { Language } from '../catalogue-language.js'
import { checkWords } from '../catalogue-texts.js'
import type { CheckText } from '../work-catalogue-data-checks.js'
import { fill } from '../wording-format.js'
import { LOOK_TEXTS, ROUND_CHECK_TEXTS } from './round-texts-checks.js'
import { ROUND_EVENT_TEXTS, ROUND_PERIOD_TEXTS, ROUND_REASON_TEXTS, VALUE_TEXTS } from './round-texts-values.js'
import type { RoundEvent } from './round-catalogue.js'
import type { RoundPeriod } from '../../line/round-periods.js'

/**
 * A check of the rounds in one language: the site's own words, those of the rounds, or those of the diagnosis' checks.
 * @throws Error for a check that has no text
 */
export function roundCheckWords(definition: LineDefinition, check: string, language: Language): CheckText {
  const own = definition.rounds?.own.find((candidate) => candidate.check === check)
  if (own !== undefined) return { title: own.title[language], steps: own.steps[language] }
  return Object.hasOwn(ROUND_CHECK_TEXTS, check) ? ROUND_CHECK_TEXTS[check]![language] : checkWords(check, language)
}

/** What a look can find, in order, visible and bad; nothing for a check that only measures. */
export function lookWords(check: string, language: Language): readonly [string, string, string] | undefined {
  return Object.hasOwn(LOOK_TEXTS, check) ? LOOK_TEXTS[check]![language] : undefined
}

/** Name of a hand-measured value. */
export function handValueWords(definition: LineDefinition, { check, value, title }: Pick<HandValue, 'check' | 'value' | 'title'>, language: Language): string {
  const own = definition.rounds?.own.find((candidate) => candidate.check === check)?.values.find((candidate) => candidate.value === value)
  return own?.title[language] ?? VALUE_TEXTS[`${check}.${value}`]?.[language] ?? title
}

/** Why an entry was refused or a check is an exception. */
export function roundReasonWords(definition: LineDefinition, check: string, reason: string, values: Readonly<Record<string, number | string>>, language: Language): string {
  const text = ROUND_REASON_TEXTS[reason]?.[language]
  if (text === undefined) return reason
  const value = values['value']
  const name = typeof value === 'string' ? handValueWords(definition, { check, value, title: value }, language) : ''
  const format = new Intl.NumberFormat(language, { maximumFractionDigits: 3 })
  return fill(text, { name, ...Object.fromEntries(Object.entries(values).map(([key, item]) => [key, typeof item === 'number' ? format.format(item) : item === 'count' ? '' : item])) }).replaceAll(/ {2,}/g, ' ').replaceAll(' .', '.')
}

export function roundEventWords(event: RoundEvent, language: Language): string {
  return ROUND_EVENT_TEXTS[event]![language]
}

export function roundPeriodWords(period: RoundPeriod, language: Language): string {
  return ROUND_PERIOD_TEXTS[period]![language]
}
