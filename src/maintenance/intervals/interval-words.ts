import type { InLanguages, Language } from '../catalogue-language.js'
import { fill } from '../wording-format.js'
import type { IntervalFact, IntervalScale, IntervalVerdict } from './interval-fact.js'

const VERDICTS: Readonly<Record<IntervalVerdict, InLanguages<string>>> = {
  shorten: { 'en-US': 'Shorten', es: 'Acortar' },
  keep: { 'en-US': 'Keep', es: 'Mantener' },
  'may-lengthen': { 'en-US': 'May lengthen', es: 'Se puede alargar' },
  'use-condition': { 'en-US': 'Go by its condition', es: 'Guiarse por su estado' },
  'not-enough-history': { 'en-US': 'Not enough history', es: 'Falta historial' },
}

const REASONS: Readonly<Record<string, InLanguages<string>>> = {
  'interval.found-due': { 'en-US': 'it was found due before its time, after {age}.', es: 'se encontró vencido antes de tiempo, tras {age}.' },
  'interval.three-clean': { 'en-US': 'it was clean {count} times in a row at nearly the full interval; lengthened by a quarter at most.', es: 'estaba limpio {count} veces seguidas casi al intervalo completo; se alarga como mucho una cuarta parte.' },
  'interval.few-cycles': { 'en-US': '{cycles} of {wanted} cycles, from one time to the next, {cycles:is|are} recorded; until then the interval stays.', es: '{cycles:consta|constan} {cycles} de {wanted} ciclos, de una vez a la siguiente; hasta entonces el intervalo se mantiene.' },
  'interval.age-says-little': { 'en-US': 'it fouls at random: after {events} events its age predicts little.', es: 'se ensucia al azar: tras {events} sucesos la edad predice poco.' },
  'interval.longer-again': { 'en-US': 'Early cleaning saves little then, so what single findings had shortened grows again, never past where it began.', es: 'Limpiar antes ahorra poco en ese caso, así que lo que acortaron hallazgos sueltos vuelve a crecer, nunca más allá del comienzo.' },
  'interval.due-too-often': { 'en-US': 'at this interval it would be found due about {due} times in 100.', es: 'con este intervalo se encontraría vencido unas {due} veces de cada 100.' },
  'interval.cheaper-sooner': { 'en-US': 'late cleanings cost more than the ones saved; at this interval about {due} in 100 come too late.', es: 'las limpiezas tardías cuestan más que las ahorradas; con este intervalo llegan tarde unas {due} de cada 100.' },
  'interval.rarely-due': { 'en-US': 'at this interval it would be found due only about {due} times in 100.', es: 'con este intervalo se encontraría vencido solo unas {due} veces de cada 100.' },
  'interval.in-steps': { 'en-US': 'Lengthened in steps.', es: 'Se alarga por pasos.' },
  'interval.fifth-only': { 'en-US': 'Lengthened by a fifth at most until more is known.', es: 'Se alarga como mucho una quinta parte hasta saber más.' },
  'interval.about-right': { 'en-US': 'it is about right: found due about {due} times in 100.', es: 'es más o menos el adecuado: vencido unas {due} veces de cada 100.' },
  'interval.sisters': { 'en-US': 'Sister lines count with its own short history ({lines}).', es: 'Las líneas hermanas cuentan junto con su corto historial ({lines}).' },
  'interval.safety': { 'en-US': 'Safety item: never lengthened.', es: 'Elemento de seguridad: nunca se alarga.' },
}

const BECAUSE: InLanguages<string> = { 'en-US': ', because ', es: ', porque ' }

const AMOUNTS: Readonly<Record<IntervalScale, InLanguages<string>>> = {
  'running-hours': { 'en-US': '{value} running hours', es: '{value} horas de marcha' },
  boards: { 'en-US': '{value} boards', es: '{value} placas' },
  'flux-g': { 'en-US': '{value} of flux', es: '{value} de fundente' },
  'calendar-hours': { 'en-US': '{value} hours by the clock', es: '{value} horas de reloj' },
}

const CALENDAR_DAYS: InLanguages<string> = { 'en-US': '{value} days by the calendar', es: '{value} días naturales' }
/** Times by the calendar are told in days from here on. */
const DAYS_FROM_H = 48

/** Every reason that an interval can give: held complete by a test. */
export const INTERVAL_REASON_KEYS: readonly string[] = Object.keys(REASONS)

/** An age or interval with its unit, e.g. "about 160 running hours". */
export function amountWords(value: number, scale: IntervalScale, language: Language): string {
  // Below ten a decimal is enough: nobody counts a job in seconds.
  const number = (size: number, digits: number): string => new Intl.NumberFormat(language, size < 10 ? { maximumFractionDigits: 1 } : { maximumSignificantDigits: digits }).format(size)
  if (scale === 'calendar-hours' && value >= DAYS_FROM_H) return fill(CALENDAR_DAYS[language], { value: number(value / 24, 2) })
  const text = scale !== 'flux-g' ? number(value, 2) : value >= 1000 ? `${number(value / 1000, 2)} kg` : `${number(value, 2)} g`
  return fill(AMOUNTS[scale][language], { value: text })
}

/** Two ages with one unit: "4.1 – 6.1 running hours". */
export function rangeWords([from, to]: readonly [number, number], scale: IntervalScale, language: Language): string {
  const number = (size: number): string => new Intl.NumberFormat(language, { maximumSignificantDigits: 2 }).format(size)
  const kg = scale === 'flux-g' && to >= 1000
  const days = scale === 'calendar-hours' && to >= DAYS_FROM_H
  const size = kg ? 1000 : days ? 24 : 1
  return fill((days ? CALENDAR_DAYS : AMOUNTS[scale])[language], { value: `${number(from / size)} – ${number(to / size)}${scale === 'flux-g' ? (kg ? ' kg' : ' g') : ''}` })
}

export function intervalVerdictWords(verdict: IntervalVerdict, language: Language): string {
  return VERDICTS[verdict][language]
}

/** "Shorten, because at this interval it would be found due about 30 times in 100." */
export function intervalWords(fact: Pick<IntervalFact, 'verdict' | 'because' | 'scale'>, language: Language): string {
  const sentences = fact.because.map(({ key, values }) => {
    const sentence = REASONS[key]?.[language]
    if (sentence === undefined) throw new Error(`interval: no words for the reason "${key}" in ${language}`)
    const words = Object.fromEntries(Object.entries(values).map(([name, value]) => [name, name === 'age' && typeof value === 'number' ? amountWords(value, fact.scale, language) : String(value)]))
    return fill(sentence, words)
  })
  const [first = '', ...rest] = sentences
  const head = VERDICTS[fact.verdict][language]
  // What begins with a capital stands alone.
  const start = first === '' ? `${head}.` : first[0] === first[0]?.toUpperCase() && /[A-ZÁÉÍÓÚ]/.test(first[0] ?? '') ? `${head}. ${first}` : `${head}${BECAUSE[language]}${first}`
  return [start, ...rest].join(' ')
}
