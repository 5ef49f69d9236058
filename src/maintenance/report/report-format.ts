import { featureParts } from '../../line/diagnosis/symptom-map.js'
import type { Language } from '../catalogue-language.js'
import type { CostAmount } from '../cost/cost-table.js'
import { FEATURE_WORDS } from '../wording-data-features.js'
import { fill, numberText } from '../wording-format.js'
import type { LineBook } from '../plan/line-book.js'
import { reportText } from './report-words.js'

/** Day and time in the plant's zone, in the manner of the language, e.g. "Mon, Nov 23, 6:10 AM" and "lun, 23 nov, 6:10". */
export function timeText(timeMs: number, language: Language, timeZone: string): string {
  return new Intl.DateTimeFormat(language, { timeZone, weekday: 'short', month: 'short', day: 'numeric', hour: 'numeric', minute: '2-digit' }).format(timeMs)
}

/** Day with its year. */
export function dayText(timeMs: number, language: Language, timeZone: string): string {
  return new Intl.DateTimeFormat(language, { timeZone, year: 'numeric', month: 'short', day: 'numeric' }).format(timeMs)
}

/** Money without decimals from a hundred on; the currency is whatever the site writes, so it stands behind the number. */
export function moneyText(amount: number, currency: string, language: Language): string {
  const digits = Math.abs(amount) >= 100 ? 0 : 2
  return `${new Intl.NumberFormat(language, { minimumFractionDigits: digits, maximumFractionDigits: digits }).format(amount)} ${currency}`
}

/**
 * Money, or which figure of the site is missing for it.
 *
 * @param titleOf how the site calls a job, for a figure that belongs to one
 */
export function costText(cost: CostAmount, currency: string, language: Language, titleOf?: (work: string) => string): string {
  return cost.kind === 'amount' ? moneyText(cost.amount, currency, language) : reportText('cost.no-figure', language, { figures: cost.missing.map((figure) => figureText(figure, titleOf)).join(', ') })
}

/** A figure by its name in the line definition; one of a job with the job's name. */
export function figureText(figure: string, titleOf?: (work: string) => string): string {
  const work = /^partsPerWork\.(.+)$/.exec(figure)?.[1]
  return work === undefined || titleOf === undefined ? figure : `${figure} (${titleOf(work)})`
}

/** Name of a feature; one the wording does not know keeps its id. */
export function featureName(feature: string, language: Language): string {
  const { pattern, zone } = featureParts(feature)
  const words = FEATURE_WORDS[pattern]?.words[language].name
  if (words === undefined) return feature
  const name = fill(words, { zone: String(zone ?? ''), kind: /^board\.defects\.([^.]+)\./.exec(feature)?.[1] ?? '' })
  return name.charAt(0).toUpperCase() + name.slice(1)
}

export function amountText(value: number, language: Language): string {
  return numberText(value, language)
}

/** Leaves names of people out of texts: all that stand as such anywhere in the book. */
export function withoutNames(book: LineBook, language: Language): (text: string) => string {
  const names = [...new Set(namesIn([book.facts, book.suggestions]))].filter((name) => name.trim().length >= 2).sort((a, b) => b.length - a.length)
  if (names.length === 0) return (text) => text
  const pattern = new RegExp(`(?<![\\p{L}\\p{N}])(?:${names.map((name) => name.replaceAll(/[.*+?^${}()|[\]\\]/g, '\\$&')).join('|')})(?![\\p{L}\\p{N}])`, 'giu')
  return (text) => text.replaceAll(pattern, reportText('name', language))
}

const NAME_FIELDS = new Set(['by', 'holder', 'engineer'])

function namesIn(value: unknown): string[] {
  if (Array.isArray(value)) return value.flatMap(namesIn)
  if (typeof value !== 'object' || value === null) return []
  return Object.entries(value).flatMap(([name, inner]) => (NAME_FIELDS.has(name) && typeof inner === 'string' ? [inner] : namesIn(inner)))
}
