import type { LineDefinition } from '../../line/line-definition.js'
import type { InLanguages, Language } from '../catalogue-language.js'
import { jobWords } from '../catalogue-texts.js'
import { dateText, fill, numberText } from '../wording-format.js'
import { SECTION_TITLES } from '../wording-data-sentences.js'
import { siteCatalogue } from '../site-catalogue.js'
import { isWork } from '../work-catalogue.js'
import type { DueItem, PlanReason } from './due-items.js'
import type { StockItem } from './plan-entry.js'
import { STOCK_TITLES } from './stock-titles.js'

/** Reasons of the plan in words; `{…}` are filled in. */
const REASON_TEXTS: Readonly<Record<string, InLanguages<string>>> = {
  'because.suggestion': { 'en-US': 'a suggestion is open', es: 'hay una sugerencia abierta' },
  'because.job-open': { 'en-US': 'the job is open', es: 'el trabajo está abierto' },
  'because.job-taken': { 'en-US': 'somebody has taken it', es: 'alguien lo ha tomado' },
  'because.job-started': { 'en-US': 'it has been started', es: 'está empezado' },
  'because.job-paused': { 'en-US': 'it was started and paused', es: 'se empezó y está en pausa' },
  'because.job-waiting-for-part': { 'en-US': 'it waits for a part', es: 'espera una pieza' },
  'because.job-put-off': { 'en-US': 'it was put off', es: 'se aplazó' },
  'because.job-half-done': { 'en-US': 'it is half done', es: 'está a medias' },
  'because.interval-over': { 'en-US': 'its interval is used up ({percent} %)', es: 'su intervalo está agotado ({percent} %)' },
  'because.interval-soon': { 'en-US': '{percent} % of its interval is used', es: 'lleva el {percent} % de su intervalo' },
  'because.follows': { 'en-US': 'it must follow at once: {work}', es: 'debe seguir enseguida a: {work}' },
  'because.agreed': { 'en-US': 'agreed with production', es: 'acordado con producción' },
  'now.half-done': { 'en-US': 'Half done: finish it before the line runs. This does not wait for a plan.', es: 'A medias: termínelo antes de que la línea funcione. Esto no espera a un plan.' },
  'now.urgent': { 'en-US': 'Urgent: look now. This does not wait for a plan.', es: 'Urgente: mire ahora. Esto no espera a un plan.' },
  'plan.no-shifts': { 'en-US': 'The line has no shifts in its definition: nobody knows when people are here.', es: 'La línea no tiene turnos en su definición: no se sabe cuándo hay gente.' },
  'plan.week-over': { 'en-US': 'No shift of this week is left.', es: 'No queda ningún turno de esta semana.' },
  'plan.too-few-people': { 'en-US': 'It takes {people} people; no shift has more than {most}.', es: 'Hacen falta {people} personas; ningún turno tiene más de {most}.' },
  'plan.longer-than-a-shift': { 'en-US': 'It takes about {hours} h; the longest shift has {longest} h. It needs shifts in a row without production, such as a weekend, or a washing machine.', es: 'Lleva unas {hours} h; el turno más largo tiene {longest} h. Necesita turnos seguidos sin producción, como un fin de semana, o una lavadora.' },
  'plan.no-room': { 'en-US': 'It fits into a shift, but none of this week has time and people left.', es: 'Cabe en un turno, pero en ninguno de esta semana quedan tiempo y gente.' },
  'plan.waits-for-part': { 'en-US': 'It waits for a part.', es: 'Espera una pieza.' },
  'plan.waits-for': { 'en-US': 'It waits for: {part}.', es: 'Espera: {part}.' },
  'plan.part-missing': { 'en-US': 'Not in stock: {stock}.', es: 'Sin existencias: {stock}.' },
  'plan.week-agreed': { 'en-US': 'The week is agreed and stays as it is; open it again, or take it next week.', es: 'La semana está acordada y no se cambia; reábrala, o hágalo la próxima.' },
  'plan.put-off': { 'en-US': 'Put off until {until}.', es: 'Aplazado hasta {until}.' },
  'plan.not-due': { 'en-US': 'Due about {due}.', es: 'Toca hacia el {due}.' },
  'plan.no-date': { 'en-US': 'Nothing gives a date yet.', es: 'Aún nada da una fecha.' },
}

/** Where a job lies: "Preheat, zone 2". */
export function placeText({ section, zone }: Pick<DueItem, 'section' | 'zone'>, language: Language): string {
  const place = SECTION_TITLES[section][language]
  return zone === undefined ? place : `${place}, ${language === 'es' ? 'zona' : 'zone'} ${zone}`
}

/**
 * Title of a job as a site calls it; one that no catalogue holds keeps its id.
 *
 * @param site the line's definition; without it only the package's own jobs have a title
 */
export function workTitle(work: string, language: Language, site?: Pick<LineDefinition, 'siteWork'>): string {
  if (site !== undefined && siteCatalogue(site).item(work) !== undefined) return siteCatalogue(site).words(work, language).title
  return isWork(work) ? jobWords(work, language).title : work
}

/** Title of a job in a plan, by the name the site gives it. */
export function itemTitle({ work, ownTitle }: Pick<DueItem, 'work' | 'ownTitle'>, language: Language): string {
  return ownTitle?.[language] ?? workTitle(work, language)
}

/** A reason of the plan as a sentence. @throws Error for a key without text */
export function planReasonText({ key, values }: PlanReason, language: Language, timeZone: string): string {
  const text = REASON_TEXTS[key]
  if (text === undefined || !Object.hasOwn(REASON_TEXTS, key)) throw new Error(`no text for reason "${key}"; expected one of ${Object.keys(REASON_TEXTS).join(', ')}`)
  const words = Object.fromEntries(
    Object.entries(values).map(([name, value]): [string, string] => {
      if (name.endsWith('Ms')) return [name.slice(0, -2), dateText(Number(value), language, timeZone)]
      if (name === 'work') return [name, String(values[`work ${language}`] ?? workTitle(String(value), language))]
      if (name === 'stock') return [name, STOCK_TITLES[value as StockItem]?.[language] ?? String(value)]
      return [name, typeof value === 'number' ? numberText(value, language) : value]
    }),
  )
  return fill(text[language], words)
}

/** Keys that have a text, for the test that holds them against the plan. */
export const PLAN_REASON_KEYS: readonly string[] = Object.keys(REASON_TEXTS)
