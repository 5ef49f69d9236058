import type { Language } from './texts.js'

/** A time in the plant's time zone, in the reader's manner. */
export function timeText(iso: string | undefined, language: Language, timeZone: string): string {
  if (iso === undefined) return '–'
  return new Intl.DateTimeFormat(language, { timeZone, weekday: 'short', day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit' }).format(new Date(iso))
}

/** A number with as many digits as its size calls for. */
export function numberText(value: number, language: Language): string {
  const size = Math.abs(value)
  const digits = size >= 100 ? 1 : size >= 1 ? 2 : 3
  return new Intl.NumberFormat(language, { maximumFractionDigits: digits }).format(value)
}
