import type { Language } from './texts.js'

/** Formatters are dear to make and asked for at every tick of every chart: each is made once. */
const times = new Map<string, Intl.DateTimeFormat>()
const numbers = new Map<string, Intl.NumberFormat>()

function timeFormat(language: Language, timeZone: string, options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = `${language} ${timeZone} ${Object.entries(options).flat().join(' ')}`
  const known = times.get(key) ?? new Intl.DateTimeFormat(language, { ...options, timeZone })
  times.set(key, known)
  return known
}

function numberFormat(language: Language, options: Intl.NumberFormatOptions): Intl.NumberFormat {
  const key = `${language} ${Object.entries(options).flat().join(' ')}`
  const known = numbers.get(key) ?? new Intl.NumberFormat(language, options)
  numbers.set(key, known)
  return known
}

/** A time in the plant's time zone, in the reader's manner: the hour runs to 12 or to 24 as the language has it. */
export function timeText(iso: string | undefined, language: Language, timeZone: string): string {
  if (iso === undefined) return '–'
  return timeFormat(language, timeZone, { weekday: 'short', day: 'numeric', month: 'short', hour: 'numeric', minute: '2-digit' }).format(new Date(iso))
}

/** The hour alone, in the same manner. */
export function hourText(timeMs: number, language: Language, timeZone: string): string {
  return timeFormat(language, timeZone, { hour: 'numeric', minute: '2-digit' }).format(timeMs)
}

/** The day alone. */
export function dayText(timeMs: number, language: Language, timeZone: string): string {
  return timeFormat(language, timeZone, { day: 'numeric', month: 'short' }).format(timeMs)
}

/** A number with as many digits as its size calls for. */
export function numberText(value: number, language: Language): string {
  const size = Math.abs(value)
  const digits = size >= 100 ? 1 : size >= 1 ? 2 : 3
  return numberFormat(language, { maximumFractionDigits: digits }).format(value)
}

/** A number with so many significant digits, for rates and counts that span decades. */
export function roundText(value: number, language: Language, digits = 2): string {
  return numberFormat(language, { maximumSignificantDigits: digits }).format(value)
}

/** Units a reader has chosen. */
export interface UnitChoice {
  readonly temperature: '°C' | '°F'
  readonly speed: 'mm/s' | 'm/min' | 'ft/min'
}

export const TEMPERATURE_UNITS = ['°C', '°F'] as const
export const SPEED_UNITS = ['mm/s', 'm/min', 'ft/min'] as const

/** How a value in its own unit is shown: `shown = value * factor + offset`. */
export interface ShownUnit {
  readonly unit: string
  readonly factor: number
  readonly offset: number
}

/** The foot is exactly 304.8 mm. */
const SPEED_FACTORS: Readonly<Record<UnitChoice['speed'], number>> = { 'mm/s': 1, 'm/min': 0.06, 'ft/min': 60 / 304.8 }

/**
 * Unit a value is shown in. Only plain °C and mm/s have a choice; logarithms, shares and ratios stay as they are.
 *
 * @param isDifference a difference of temperatures has no zero of the scale: 5 °C off are 9 °F off
 */
export function shownUnit(unit: string, choice: UnitChoice, isDifference = false, language: Language = 'en-US'): ShownUnit {
  if (unit === '°C' && choice.temperature === '°F') return { unit: '°F', factor: 1.8, offset: isDifference ? 0 : 32 }
  if (unit === 'mm/s') return { unit: choice.speed, factor: SPEED_FACTORS[choice.speed], offset: 0 }
  return { unit: unitWords(unit, language), factor: 1, offset: 0 }
}

const UNIT_WORDS_ES: Readonly<Record<string, string>> = { per: 'por', share: 'parte', ratio: 'razón', count: 'número' }

/** Units are signs; the few words among them are said in the reader's language, and a value without a unit has none. */
function unitWords(unit: string, language: Language): string {
  if (unit === 'none') return ''
  return language === 'es' ? unit.replaceAll(/[a-z]{3,}/g, (word) => UNIT_WORDS_ES[word] ?? word) : unit
}

/** Units that need a word beside them. */
export function unitKind(unit: string): 'log' | 'share' | undefined {
  return unit.startsWith('ln ') ? 'log' : unit === 'share' ? 'share' : undefined
}

export function shownValue(value: number, { factor, offset }: ShownUnit): number {
  return value * factor + offset
}

const KEPT = 'wave-solder-units'

/** The reader's units, kept on the device. */
export function preferredUnits(): UnitChoice {
  const kept = (localStorage.getItem(KEPT) ?? '').split(' ')
  return { temperature: TEMPERATURE_UNITS.find((unit) => kept.includes(unit)) ?? '°C', speed: SPEED_UNITS.find((unit) => kept.includes(unit)) ?? 'mm/s' }
}

export function keepUnits({ temperature, speed }: UnitChoice): void {
  localStorage.setItem(KEPT, `${temperature} ${speed}`)
}
