import type { Language } from './catalogue-language.js'
import type { ChangeForm } from './wording-data-features.js'

/** Fills `{name}` parts of a sentence; `{name:one|many}` is the first where the value is 1. @throws Error if a part has no value */
export function fill(sentence: string, values: Readonly<Record<string, string>>): string {
  return sentence.replaceAll(/\{([a-z]+)(?::([^|{}]*)\|([^|{}]*))?\}/g, (_whole, name: string, one: string | undefined, many: string | undefined) => {
    const value = values[name]
    if (value === undefined) throw new Error(`sentence "${sentence}": no value for {${name}}`)
    return one === undefined || many === undefined ? value : value === '1' ? one : many
  })
}

/** "a, b and c". */
export function listText(items: readonly string[], and: string): string {
  return items.length < 2 ? (items[0] ?? '') : `${items.slice(0, -1).join(', ')}${and}${items.at(-1)!}`
}

/** A number in the language's own form, at most two significant decimals. */
export function numberText(value: number, language: Language): string {
  const size = Math.abs(value)
  const digits = size >= 20 ? 0 : size >= 2 ? 1 : 2
  return new Intl.NumberFormat(language, { maximumFractionDigits: digits }).format(value)
}

/** Day in the plant's own time zone, e.g. "Fri, Nov 27". */
export function dateText(timeMs: number, language: Language, timeZone: string): string {
  return new Intl.DateTimeFormat(language, { weekday: 'short', month: 'short', day: 'numeric', timeZone }).format(new Date(timeMs))
}

/**
 * Size of a change as people say it, signed: a logarithm or share as percent, the rest in its unit; empty where the
 * number says nothing to a person.
 *
 * @param shift change in the feature's unit
 * @param centre level learned as normal, in the feature's unit
 */
export function changeText(form: ChangeForm, shift: number, centre: number, language: Language): string {
  switch (form) {
    case 'log':
      return percent(Math.exp(shift) - 1, language)
    case 'share':
      return percent(shift, language)
    case 'relative':
      return Math.abs(centre) > 1e-9 ? percent(shift / Math.abs(centre), language) : ''
    case 'count':
      return signed(shift, language)
    case 'none':
      return ''
    default:
      return `${signed(shift, language)} ${form}`
  }
}

function percent(share: number, language: Language): string {
  // Beyond a thousand percent the number is no more than "many times".
  return `${signed(Math.min(share, 10) * 100, language)} %`
}

function signed(value: number, language: Language): string {
  const text = numberText(Math.abs(value), language)
  return value < 0 ? `−${text}` : `+${text}`
}
